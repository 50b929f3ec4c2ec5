//! Cooks that lie in two stores, exported once more at another step, in another unit, by another clock: each
//! counts once, and no other does, whether it lay on the same fire or on another.

mod support;

use simulate::TeamModel;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, rows, stderr, stdout};

/// Reads the logs of an orderly season into a store beside it, and returns how many cooks there are.
fn ingested(folder: &Path, cooks: usize) -> usize {
    let arguments = ["ingest", "--logs", "logs", "--sheet", "sheet.csv", "--events", "events.csv"];
    let to = ["--store", "store", "--settings", "season.toml"];
    let output = cookstudy(folder, &[&arguments[..], &to].concat());
    assert!(stderr(&output).contains(&cooks.to_string()), "{}", stderr(&output));
    cooks
}

fn orderly(folder: &Path, seed: u64, cooks: usize) -> usize {
    let team = TeamModel { fires: 9, ..TeamModel::middling() };
    let written = samples::write_orderly(folder, &team, (seed, cooks), "").unwrap();
    ingested(folder, written.cooks)
}

/// The same season from a coarser export: every so many readings, whole or tenths of °C, a clock that is off.
fn exported_again(from: &Path, to: &Path, every: usize, decimals: usize, clock_min: i64) {
    fs::create_dir_all(to.join("logs")).unwrap();
    for name in ["season.toml", "sheet.csv", "events.csv"] {
        fs::copy(from.join(name), to.join(name)).unwrap();
    }
    for log in fs::read_dir(from.join("logs")).unwrap() {
        let log = log.unwrap();
        let text = fs::read_to_string(log.path()).unwrap();
        let mut lines = text.lines();
        let mut again = lines.next().unwrap().replace('F', "C") + "\n";
        for line in lines.step_by(every) {
            let (at, cells) = line.split_once(',').unwrap();
            let at: jiff::civil::DateTime = at.parse().unwrap();
            let at = at.checked_add(jiff::Span::new().minutes(clock_min)).unwrap();
            write!(again, "{at}").unwrap();
            for cell in cells.split(',') {
                match cell.parse::<f64>() {
                    Ok(fahrenheit) => {
                        write!(again, ",{:.decimals$}", (fahrenheit - 32.0) / 1.8).unwrap();
                    }
                    Err(_) => again.push(','),
                }
            }
            again.push('\n');
        }
        fs::write(to.join("logs").join(log.file_name()), again).unwrap();
    }
}

/// Pairs that `merge` says are one, by their names at home.
fn said_to_be_one(folder: &Path, one: &str, other: &str) -> Vec<(String, String)> {
    let stores = [format!("A={one}/store"), format!("B={other}/store")];
    let out = format!("{one}-{other}");
    let output =
        cookstudy(folder, &["merge", &stores[0], &stores[1], "--out", &out, "--format", "csv"]);
    expect_exit(&output, 0);
    assert!(!rows(&stdout(&output)).is_empty());
    let said = stderr(&output);
    let pairs = said.lines().filter(|line| line.contains(" are one cook ("));
    pairs
        .map(|line| {
            let names: Vec<&str> = line.split('`').skip(1).step_by(2).take(2).collect();
            let home = |team: &str| {
                names.iter().find_map(|name| name.strip_prefix(team)).unwrap_or("").to_owned()
            };
            (home("A."), home("B."))
        })
        .collect()
}

#[test]
fn each_counts_once_however_coarse_its_second_export() {
    let folder = tempfile::tempdir().unwrap();
    let fine = folder.path().join("fine");
    let cooks = orderly(&fine, 7, 24);
    for (name, every, decimals, clock_min) in
        [("two", 2, 1, 0), ("five", 5, 1, 60), ("whole", 3, 0, -7), ("quarter", 15, 1, 0)]
    {
        let coarse = folder.path().join(name);
        exported_again(&fine, &coarse, every, decimals, clock_min);
        ingested(&coarse, cooks);
        let pairs = said_to_be_one(folder.path(), "fine", name);
        let wrong: Vec<_> = pairs.iter().filter(|(one, other)| one != other).collect();
        assert!(wrong.is_empty(), "{name}: {wrong:?}");
        assert_eq!(pairs.len(), cooks, "{name}: {pairs:?}");
    }
}

#[test]
fn cooks_of_other_fires_are_two() {
    let folder = tempfile::tempdir().unwrap();
    orderly(&folder.path().join("one"), 7, 24);
    orderly(&folder.path().join("other"), 107, 24);
    assert_eq!(said_to_be_one(folder.path(), "one", "other"), []);
}

#[test]
fn a_coarse_backup_among_the_logs_is_asked_about_and_coarse_logs_alone_are_not() {
    let folder = tempfile::tempdir().unwrap();
    let (fine, coarse) = (folder.path().join("fine"), folder.path().join("coarse"));
    orderly(&fine, 7, 24);
    exported_again(&fine, &coarse, 5, 1, 0);
    expect_exit(&cookstudy(&coarse, &["run"]), 0);
    assert!(!coarse.join("questions.toml").exists());

    // The last fire of one meat: its log has one meat channel, as a backup would.
    let mut logs: Vec<_> =
        fs::read_dir(fine.join("logs")).unwrap().map(|log| log.unwrap().file_name()).collect();
    logs.sort();
    let is_of_one = |name: &&std::ffi::OsString| {
        let text = fs::read_to_string(coarse.join("logs").join(name)).unwrap();
        text.lines().next().unwrap().split(',').count() == 3
    };
    let one = logs.iter().find(is_of_one).expect("a fire with one meat");
    fs::copy(coarse.join("logs").join(one), fine.join("logs/backup.csv")).unwrap();
    expect_exit(&cookstudy(&fine, &["run"]), 1);
    let asked = fs::read_to_string(fine.join("questions.toml")).unwrap();
    assert_eq!(asked.matches("[[question]]").count(), 1, "{asked}");
    assert!(asked.contains("same-curve-twice/") && asked.contains("`backup` one?"), "{asked}");
}
