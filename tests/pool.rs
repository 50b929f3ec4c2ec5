//! Effects of several teams: what one gives away, and what comes of them together.

mod support;

use serde_json::Value;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Output;
use support::{cookstudy, expect_exit, stderr, stdout, write};

const CLAIMS: &str = r#"
[[claim]]
id = "oak-or-hickory"
says = "Oak cooks faster than hickory"
kind = "compare"
outcome = "stall_delay_min"
better = "lower"
by = "wood"
levels = ["oak", "hickory"]
matters = 10
"#;

/// A team's table: twelve fires of two cooks, oak quicker by so many minutes.
fn team(folder: &Path, name: &str, minutes: f64) {
    let mut table = "cook,fire,wood,stall_delay_min\n".to_owned();
    for cook in 0..24_usize {
        let oak = (cook / 2 + name.len()).is_multiple_of(2);
        let own = ((cook * 37 + name.len() * 11) % 17) as f64 - 8.0;
        let value = 150.0 + own - if oak { minutes } else { 0.0 };
        let wood = if oak { "oak" } else { "hickory" };
        writeln!(table, "secret-{cook},night-{},{wood},{value}", cook / 2).unwrap();
    }
    write(folder, &format!("{name}.csv"), &table);
    write(folder, &format!("{name}.toml"), &format!("team = \"{name}\"\n"));
    write(folder, "claims.toml", CLAIMS);
}

fn give(folder: &Path, name: &str) -> String {
    let [table, settings, file] = ["csv", "toml", "json"].map(|ending| format!("{name}.{ending}"));
    let from = ["study", "--table", &table, "--claims", "claims.toml", "--settings", &settings];
    let output = cookstudy(folder, &[&from[..], &["--effects-only", &file]].concat());
    expect_exit(&output, 0);
    std::fs::read_to_string(folder.join(file)).unwrap()
}

fn pool(folder: &Path, names: &[&str]) -> Output {
    let files: Vec<String> = names.iter().map(|name| format!("{name}.json")).collect();
    let files = files.iter().map(String::as_str);
    let asked: Vec<&str> =
        std::iter::once("pool").chain(files).chain(["--out", "pooled"]).collect();
    cookstudy(folder, &asked)
}

fn refused(folder: &Path, names: &[&str]) -> String {
    let output = pool(folder, names);
    expect_exit(&output, 2);
    assert!(!folder.join("pooled").exists());
    stderr(&output)
}

fn json(path: &Path) -> Value {
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

#[test]
fn teams_give_effects_away_and_are_pooled() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    for (name, minutes) in [("oakley", 40.0), ("mill", 46.0), ("river-smoke", 35.0)] {
        team(folder, name, minutes);
        let given = give(folder, name);
        assert!(!given.contains("secret") && !given.contains("night"), "{given}");
    }
    let output = pool(folder, &["oakley", "mill", "river-smoke"]);
    expect_exit(&output, 0);
    let table = stdout(&output);
    assert!(table.contains("oak-or-hickory") && table.contains("yes"), "{table}");
    let found = json(&folder.join("pooled/pool.json"));
    let claim = &found["claims"][0];
    assert_eq!(claim["n"], 72);
    let mean = claim["teams"]["mean"]["estimate"].as_f64().unwrap();
    assert!((-46.0..-35.0).contains(&mean), "{mean}");
    assert_eq!(claim["teams"]["without"].as_array().unwrap().len(), 3);
    let page = std::fs::read_to_string(folder.join("pooled/pool.html")).unwrap();
    assert!(page.contains("A new team") && page.contains("Mean without mill"));
    let rows = std::fs::read_to_string(folder.join("pooled/pool.csv")).unwrap();
    assert_eq!(rows.lines().count(), 1 + 3 + 1 + 1 + 3);
    // The schemas say what stands in both files.
    for (file, schema) in [("oakley.json", "effects.json"), ("pooled/pool.json", "pool.json")] {
        let schemas = Path::new(env!("CARGO_MANIFEST_DIR")).join("schemas");
        let schema = jsonschema::validator_for(&json(&schemas.join(schema))).unwrap();
        let errors: Vec<_> =
            schema.iter_errors(&json(&folder.join(file))).map(|e| e.to_string()).collect();
        assert!(errors.is_empty(), "{file}: {errors:?}");
    }
    // The order of the files changes no byte.
    let before = std::fs::read(folder.join("pooled/pool.json")).unwrap();
    expect_exit(&pool(folder, &["river-smoke", "oakley", "mill"]), 0);
    assert_eq!(std::fs::read(folder.join("pooled/pool.json")).unwrap(), before);
}

#[test]
fn what_cannot_be_pooled_is_refused_and_nothing_written() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    team(folder, "oakley", 40.0);
    let given = give(folder, "oakley");
    team(folder, "mill", 46.0);
    give(folder, "mill");
    write(folder, "empty.json", "");
    write(folder, "half.json", &given[..given.len() / 2]);
    write(folder, "other.json", "{\"schema\": \"cookstudy/pit/1\"}");
    for (names, expected) in [
        (&["oakley"][..], "name the files of two teams"),
        (&["oakley", "oakley"], "team `oakley` is in"),
        (&["oakley", "empty"], "empty.json: is empty"),
        (&["oakley", "half"], "half.json: cannot be read"),
        (&["oakley", "other"], "`schema` is `cookstudy/pit/1`"),
        (&["oakley", "nowhere"], "nowhere.json: "),
    ] {
        let said = refused(folder, names);
        assert!(said.contains(expected), "{names:?}: {said}");
    }
    write(folder, "claims.toml", &CLAIMS.replace("matters = 10", "matters = 20"));
    give(folder, "mill");
    let said = refused(folder, &["oakley", "mill"]);
    assert!(said.contains("`matters` is 10.0 here and 20.0 there"), "{said}");
}

#[test]
fn effects_need_a_team_and_one_alone() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    team(folder, "oakley", 40.0);
    let ask = |table: &str| {
        let from = ["study", "--table", table, "--claims", "claims.toml"];
        let output = cookstudy(folder, &[&from[..], &["--effects-only", "effects.json"]].concat());
        expect_exit(&output, 2);
        assert!(!folder.join("effects.json").exists());
        stderr(&output)
    };
    assert!(ask("oakley.csv").contains("nobody says whose effects these are"));
    let table = std::fs::read_to_string(folder.join("oakley.csv")).unwrap();
    let with_team = |(place, line): (usize, &str)| match place {
        0 => format!("team,{line}\n"),
        place => format!("{},{line}\n", if place % 2 == 0 { "a" } else { "b" }),
    };
    write(folder, "two.csv", &table.lines().enumerate().map(with_team).collect::<String>());
    let said = ask("two.csv");
    assert!(said.contains("several teams (`a`, `b`)"), "{said}");
}
