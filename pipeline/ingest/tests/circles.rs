//! No file of this room uses one that uses it, directly or by way of others.
//!
//! Files are modules; one uses another where its text names the other by a path (`crate::…`,
//! `super::…`, or a child's name). Tests and comments do not count, nor does `mod`, which only
//! says that a child is there.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// A module's path from the crate's root; empty for the root.
type Module = Vec<String>;

/// Folders that still have circles of their own: what is inside one counts as one file.
const ONE: [&str; 1] = ["sheet"];

fn files(folder: &Path) -> Vec<PathBuf> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .flat_map(|path| if path.is_dir() { files(&path) } else { vec![path] })
        .filter(|path| path.extension().is_some_and(|end| end == "rs"))
        .collect()
}

fn module(file: &Path) -> Module {
    let mut parts: Module =
        file.with_extension("").iter().map(|part| part.to_str().unwrap().to_owned()).collect();
    if parts.last().is_some_and(|last| last == "mod" || last == "lib") {
        parts.pop();
    }
    parts
}

/// The text without its tests and comments.
fn product(text: &str) -> String {
    let end = text.find("#[cfg(test)]\nmod tests").unwrap_or(text.len());
    let lines = text[..end].lines().filter(|line| !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

/// The paths of a `use` tree or a path in code: `a::{b::c, d}` is `a::b::c` and `a::d`.
fn paths(text: &str) -> Vec<Vec<String>> {
    /// Reads one tree from `at`; returns where it ends.
    fn tree(text: &str, mut at: usize, before: &[String], found: &mut Vec<Vec<String>>) -> usize {
        let mut path = before.to_vec();
        loop {
            at += text[at..].len() - text[at..].trim_start().len();
            if text[at..].starts_with('{') {
                at += 1;
                loop {
                    let rest =
                        text[at..].trim_start_matches(|c: char| c.is_whitespace() || c == ',');
                    at = text.len() - rest.len();
                    if rest.is_empty() || rest.starts_with('}') {
                        return at + usize::from(!rest.is_empty());
                    }
                    at = tree(text, at, &path, found);
                }
            }
            let name: String =
                text[at..].chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            at += name.len();
            if name.is_empty() {
                found.push(path);
                return (at + 1).min(text.len());
            }
            path.push(name);
            if !text[at..].starts_with("::") {
                found.push(path);
                return at;
            }
            at += 2;
        }
    }
    let mut found = Vec::new();
    tree(text, 0, &[], &mut found);
    found
}

/// The modules that a module's text names.
fn used(own: &Module, text: &str, all: &BTreeSet<Module>) -> BTreeSet<Module> {
    let mut used = BTreeSet::new();
    let mut note = |path: &[String]| {
        let mut base = own.clone();
        let mut rest = path;
        if rest[0] == "crate" {
            base.clear();
            rest = &rest[1..];
        } else if rest[0] == "self" {
            rest = &rest[1..];
        }
        while rest.first().is_some_and(|part| part == "super") {
            base.pop();
            rest = &rest[1..];
        }
        for part in rest {
            let mut longer = base.clone();
            longer.push(part.clone());
            if !all.contains(&longer) {
                break;
            }
            base = longer;
        }
        if base != *own {
            used.insert(base);
        }
    };
    let is_name = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
    let mut from = 0;
    while let Some(at) = text[from..].find("::").map(|at| from + at) {
        let start = text[..at]
            .rfind(|c| !is_name(c))
            .map_or(0, |before| before + text[before..].chars().next().map_or(0, char::len_utf8));
        let first = &text[start..at];
        from = at + 2;
        let mut child = own.clone();
        child.push(first.to_owned());
        if matches!(first, "crate" | "super" | "self") || all.contains(&child) {
            let end = text[at..].find(';').map_or(text.len(), |end| at + end);
            for path in paths(&text[start..end]) {
                note(&path);
            }
        }
    }
    used
}

/// Whether `to` can be reached from `from`.
fn reaches(graph: &BTreeMap<Module, BTreeSet<Module>>, from: &Module, to: &Module) -> bool {
    let mut seen = BTreeSet::new();
    let mut open: Vec<&Module> = graph[from].iter().collect();
    while let Some(module) = open.pop() {
        if module == to {
            return true;
        }
        if seen.insert(module) {
            open.extend(&graph[module]);
        }
    }
    false
}

fn graph(sources: &[(Module, String)]) -> BTreeMap<Module, BTreeSet<Module>> {
    let all: BTreeSet<Module> = sources.iter().map(|(module, _)| module.clone()).collect();
    let whole = |module: &Module| match module.first() {
        Some(first) if ONE.contains(&first.as_str()) => vec![first.clone()],
        _ => module.clone(),
    };
    let mut graph: BTreeMap<Module, BTreeSet<Module>> = BTreeMap::new();
    for (module, text) in sources {
        let own = whole(module);
        let others = used(module, &product(text), &all);
        let others = others.iter().map(whole).filter(|other| *other != own);
        graph.entry(own.clone()).or_default().extend(others);
    }
    graph
}

fn circles(graph: &BTreeMap<Module, BTreeSet<Module>>) -> Vec<String> {
    let round = graph.keys().filter(|module| reaches(graph, module, module));
    round.map(|module| module.join("::")).collect()
}

#[test]
fn no_file_uses_itself_by_way_of_others() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let sources: Vec<(Module, String)> = files(&root)
        .iter()
        .map(|file| (module(file.strip_prefix(&root).unwrap()), fs::read_to_string(file).unwrap()))
        .collect();
    let graph = graph(&sources);
    assert!(graph.len() > 60, "{} files were read", graph.len());
    assert_eq!(circles(&graph), Vec::<String>::new());
    // A fact is what the log itself shows; no season's settings may stand behind it.
    let settings: Module = vec!["log".into(), "options".into()];
    for module in graph.keys().filter(|module| module.starts_with(&["log".into(), "facts".into()]))
    {
        assert!(!reaches(&graph, module, &settings), "`{}` knows settings", module.join("::"));
    }
}

#[test]
fn a_circle_is_seen() {
    let sources = |texts: [(&str, &str); 4]| -> Vec<(Module, String)> {
        let of = |(path, text): (&str, &str)| {
            let parts = path.split('/').filter(|part| !part.is_empty());
            (parts.map(str::to_owned).collect(), text.to_owned())
        };
        texts.into_iter().map(of).collect()
    };
    let straight = sources([
        ("", "pub mod a;\npub use a::b::B;"),
        ("a", "pub mod b;\npub mod c;\n// use crate::a::b::B;"),
        ("a/b", "pub struct B;\n#[cfg(test)]\nmod tests {\n    use crate::a::c::C;\n}"),
        ("a/c", "use super::b::{self, B};\nfn f() { crate::a::b::g(); }"),
    ]);
    assert_eq!(circles(&graph(&straight)), Vec::<String>::new());
    let mut round = straight.clone();
    round[2].1 = "use std::{fmt, crate_of::C};\nfn g() -> u8 { super::c::f() }".to_owned();
    assert_eq!(circles(&graph(&round)), ["a::b", "a::c"]);
    let mut by_parent = straight;
    by_parent[1].1 = "pub use b::B;".to_owned();
    by_parent[2].1 = "use super::D;".to_owned();
    assert_eq!(circles(&graph(&by_parent)), ["a", "a::b"]);
}
