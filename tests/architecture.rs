//! The house stays a house: dependencies point one way, and no room reaches past its own.

use cargo_metadata::{DependencyKind, Metadata, MetadataCommand};
use std::collections::{BTreeMap, BTreeSet};

/// Workspace crates that each room may use.
const ALLOWED: &[(&str, &[&str])] = &[
    ("cook", &[]),
    ("columns", &["cook"]),
    ("physics", &["cook"]),
    ("stats", &[]),
    ("phases", &["cook", "physics", "stats"]),
    ("measures", &["cook", "columns", "physics", "phases"]),
    ("ingest", &["cook", "columns", "physics"]),
    ("rows", &["cook", "columns", "phases", "measures"]),
    ("store", &["cook", "columns", "rows"]),
    ("study", &["cook", "columns", "stats", "measures"]),
    ("simulate", &["cook", "physics", "phases"]),
    ("samples", &["cook", "simulate"]),
    ("report", &["cook", "columns", "study"]),
    (
        "stages",
        &[
            "cook", "columns", "physics", "stats", "phases", "measures", "ingest", "rows", "store",
            "study", "simulate", "report",
        ],
    ),
    ("cookstudy", &["cook", "stages", "samples"]),
    ("one-build", &[]),
];

/// Rooms that build in seconds and know neither polars nor arrow.
const LIGHT: &[&str] = &[
    "cook", "columns", "physics", "stats", "phases", "measures", "simulate", "ingest", "study",
    "report",
];

/// Crates that open connections. Private logs need no network.
const NETWORK: [&str; 10] = [
    "reqwest",
    "rustls",
    "native-tls",
    "openssl",
    "hyper",
    "h2",
    "ureq",
    "curl",
    "isahc",
    "object_store",
];

fn metadata() -> Metadata {
    MetadataCommand::new().other_options(vec!["--locked".into()]).exec().unwrap()
}

#[test]
fn rooms_use_only_the_rooms_they_may() {
    let metadata = metadata();
    let rooms: BTreeSet<String> =
        metadata.workspace_packages().iter().map(|p| p.name.to_string()).collect();
    let allowed: BTreeMap<&str, &[&str]> = ALLOWED.iter().copied().collect();
    assert_eq!(
        rooms.iter().map(String::as_str).collect::<BTreeSet<_>>(),
        allowed.keys().copied().collect(),
        "a room was added or removed: say here what it may use"
    );
    for package in metadata.workspace_packages() {
        let may_use = allowed[package.name.as_str()];
        for dependency in package
            .dependencies
            .iter()
            .filter(|d| d.kind == DependencyKind::Normal && rooms.contains(&d.name))
        {
            assert!(
                may_use.contains(&dependency.name.as_str()),
                "`{}` must not use `{}`",
                package.name,
                dependency.name
            );
        }
    }
}

/// Names of all packages that `root` needs, at any depth, to be built (not tested).
fn closure(metadata: &Metadata, root: &str) -> BTreeSet<String> {
    let resolve = metadata.resolve.as_ref().unwrap();
    let name_of = |id| metadata.packages.iter().find(|p| &p.id == id).unwrap().name.to_string();
    let start = metadata.workspace_packages().into_iter().find(|p| p.name == root).unwrap();
    let mut open = vec![start.id.clone()];
    let mut seen = BTreeSet::new();
    while let Some(id) = open.pop() {
        if !seen.insert(id.clone()) {
            continue;
        }
        let node = resolve.nodes.iter().find(|node| node.id == id).unwrap();
        open.extend(
            node.deps
                .iter()
                .filter(|d| d.dep_kinds.iter().any(|k| k.kind != DependencyKind::Development))
                .map(|d| d.pkg.clone()),
        );
    }
    seen.iter().map(name_of).collect()
}

#[test]
fn light_rooms_build_without_polars_and_arrow() {
    let metadata = metadata();
    for room in LIGHT {
        let heavy: Vec<String> = closure(&metadata, room)
            .into_iter()
            .filter(|name| {
                name.starts_with("polars") || name.starts_with("arrow") || name == "parquet"
            })
            .collect();
        assert!(heavy.is_empty(), "`{room}` builds {heavy:?}");
    }
}

#[test]
fn the_command_that_people_get_holds_no_writer_of_samples() {
    let metadata = metadata();
    let shipped = closure(&metadata, "cookstudy");
    for writer in ["samples", "rust_xlsxwriter"] {
        assert!(!shipped.contains(writer), "the command builds `{writer}`");
    }
    let made = closure(&metadata, "samples");
    assert!(
        made.contains("rust_xlsxwriter"),
        "the sheets of the samples are written by another crate"
    );
    let simulated = closure(&metadata, "simulate");
    for container in ["zip", "flate2", "ruzstd", "encoding_rs", "quick-xml", "rust_xlsxwriter"] {
        assert!(!simulated.contains(container), "`simulate` builds `{container}`");
    }
}

#[test]
fn one_build_names_every_crate_that_tests_alone_use() {
    let metadata = metadata();
    let members = metadata.workspace_packages();
    let rooms: BTreeSet<&str> = members.iter().map(|package| package.name.as_str()).collect();
    let used = |kind: DependencyKind, by: &dyn Fn(&str) -> bool| -> BTreeSet<&str> {
        members
            .iter()
            .filter(|package| by(&package.name))
            .flat_map(|package| &package.dependencies)
            .filter(|dependency| dependency.kind == kind && !rooms.contains(&*dependency.name))
            .map(|dependency| dependency.name.as_str())
            .collect()
    };
    let in_tests = used(DependencyKind::Development, &|_| true);
    let elsewhere = used(DependencyKind::Normal, &|name| name != "one-build");
    let named = used(DependencyKind::Normal, &|name| name == "one-build");
    assert_eq!(named, in_tests.difference(&elsewhere).copied().collect());
}

#[test]
fn no_network_crate_is_in_the_tree() {
    let metadata = metadata();
    let found: Vec<&str> = metadata
        .packages
        .iter()
        .map(|p| p.name.as_str())
        .filter(|name| NETWORK.contains(name))
        .collect();
    assert!(found.is_empty(), "{found:?}");
}
