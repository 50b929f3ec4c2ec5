//! The house stays a house: dependencies point one way, and no room reaches past its own.

use cargo_metadata::{DependencyKind, Metadata, MetadataCommand};
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// Workspace crates that each room may use.
const ALLOWED: &[(&str, &[&str])] = &[
    ("cook", &[]),
    ("columns", &["cook"]),
    ("physics", &["cook"]),
    ("stats", &[]),
    ("phases", &["cook", "physics", "stats"]),
    ("measures", &["cook", "columns", "physics", "phases"]),
    ("ingest", &["cook", "columns", "physics"]),
    ("crosscheck", &["cook", "columns", "phases"]),
    ("rows", &["cook", "columns", "phases", "measures"]),
    ("store", &["cook", "columns", "rows"]),
    ("query", &["cook", "columns"]),
    ("study", &["cook", "columns", "stats", "measures"]),
    ("simulate", &["cook", "physics", "phases"]),
    ("outlook", &["cook", "columns", "phases", "measures", "stats", "study", "simulate"]),
    ("samples", &["cook", "simulate"]),
    ("report", &["cook", "columns", "study"]),
    (
        "stages",
        &[
            "cook",
            "columns",
            "physics",
            "stats",
            "phases",
            "measures",
            "ingest",
            "crosscheck",
            "rows",
            "store",
            "query",
            "study",
            "simulate",
            "outlook",
            "report",
        ],
    ),
    ("cookstudy", &["cook", "stages", "samples"]),
    ("one-build", &[]),
];

/// The heavy engines, by the beginning of their crates' names, and the rooms that may reach them.
/// All others build in seconds.
const ENGINES: &[(&[&str], &[&str])] = &[
    (&["polars"], &["query", "stages", "cookstudy"]),
    (&["arrow", "parquet"], &["rows", "store", "stages", "cookstudy"]),
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
fn engines_are_reached_by_their_rooms_alone() {
    let metadata = metadata();
    for package in metadata.workspace_packages() {
        let needed = closure(&metadata, &package.name);
        for (crates, rooms) in ENGINES {
            let is_engine = |name: &&String| crates.iter().any(|begin| name.starts_with(begin));
            let heavy: Vec<&String> = needed.iter().filter(is_engine).collect();
            let may = rooms.contains(&package.name.as_str());
            assert!(may || heavy.is_empty(), "`{}` builds {heavy:?}", package.name);
        }
    }
}

/// Names of all packages that are compiled for anything in the workspace, on any platform.
///
/// `cargo metadata` and the lock also name what a feature of polars would switch on in a crate that is
/// itself switched off (`polars-stream?/…`); `cargo tree` names what is built.
fn built() -> BTreeSet<String> {
    let tree = ["tree", "--locked", "--workspace", "--target", "all", "--prefix", "none"];
    let output = Command::new(env!("CARGO"))
        .args(tree)
        .args(["--edges", "normal,build,dev", "--format", "{p}"])
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines().filter_map(|line| line.split(' ').next()).map(str::to_owned).collect()
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
fn no_network_crate_is_built() {
    let built = built();
    assert!(built.contains("polars-sql") && built.contains("cook"), "{built:?}");
    let found: Vec<&str> = NETWORK.into_iter().filter(|name| built.contains(*name)).collect();
    assert!(found.is_empty(), "{found:?}");
}

/// Rooms that the Python package may use. It stands outside the workspace, with a lock of its own.
const PYTHON: &[&str] =
    &["columns", "cook", "ingest", "outlook", "rows", "simulate", "store", "study"];

/// Names and versions in the text of a lock.
fn locked(path: &str) -> BTreeMap<String, String> {
    let text = std::fs::read_to_string(path).unwrap();
    let quoted = |line: &str, key: &str| {
        line.strip_prefix(key).map(|rest| rest.trim_matches('"').to_owned())
    };
    let names = text.lines().filter_map(|line| quoted(line, "name = "));
    let versions = text.lines().filter_map(|line| quoted(line, "version = \""));
    names.zip(versions).collect()
}

#[test]
fn the_python_package_has_no_engine_no_network_and_the_workspace_s_arrow() {
    let locks = (locked("Cargo.lock"), locked("pipeline/python/Cargo.lock"));
    let (workspace, package) = &locks;
    assert!(package.contains_key("pyo3") && package.contains_key("rows"), "{package:?}");
    let is_unwanted = |name: &&String| {
        name.starts_with("polars") || NETWORK.contains(&name.as_str()) || *name == "tokio"
    };
    assert_eq!(package.keys().filter(is_unwanted).collect::<Vec<_>>(), [""; 0]);
    for (name, version) in package.iter().filter(|(name, _)| name.starts_with("arrow-")) {
        assert!(workspace.get(name).is_none_or(|known| known == version), "{name} {version}");
    }
    assert_eq!(package["arrow-pyarrow"], workspace["arrow-array"], "they move together");
    let manifest = std::fs::read_to_string("pipeline/python/Cargo.toml").unwrap();
    let rooms: Vec<&str> = manifest
        .lines()
        .filter(|line| line.contains("path = \"../"))
        .filter_map(|line| line.split(' ').next())
        .collect();
    assert_eq!(rooms, PYTHON);
    assert!(manifest.contains("unsafe_code = \"forbid\""));
}
