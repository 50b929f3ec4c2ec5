//! Wrong input is answered with file, line, column, the offending text and what to try,
//! and nothing is left half written.

mod support;

use std::fs;
use support::{cookstudy, expect_exit, files_below, small_season, stderr, write};

#[track_caller]
fn expect_words(text: &str, words: &[&str]) {
    for word in words {
        assert!(text.contains(word), "`{word}` is missing from:\n{text}");
    }
}

#[test]
fn a_sheet_row_that_names_a_missing_log() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let sheet = fs::read_to_string(folder.path().join("sheet.csv")).unwrap();
    let two = sheet.clone()
        + "two,2025-05-03,onee.csv,big,5.0,2025-05-03T00:00:00Z,2025-05-03T09:00:00Z\n";
    write(folder.path(), "sheet.csv", &two);
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 1);
    expect_words(&stderr(&output), &["two", "sheet.csv:3", "`logs`", "onee.csv", "one.csv"]);
    // The rest was done.
    assert!(folder.path().join("out/report.html").is_file());
}

#[test]
fn a_log_without_a_time_column() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    write(folder.path(), "logs/one.csv", "Pit (C),Brisket (C)\n120.0,5.0\n121.0,5.5\n119.5,6.0\n");
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 1);
    expect_words(&stderr(&output), &["logs/one.csv", "time", "try:"]);
}

#[test]
fn a_log_without_a_unit_needs_an_answer() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let log = fs::read_to_string(folder.path().join("logs/one.csv")).unwrap();
    let log = log.replace(" (C)", "");
    // The numbers of a whole cook can be of one unit only.
    write(folder.path(), "logs/one.csv", &log);
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    // Those of its first hour can be of either.
    let first: Vec<&str> = log.lines().take(60).collect();
    write(folder.path(), "logs/one.csv", &(first.join("\n") + "\n"));
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 1);
    expect_words(&stderr(&output), &["logs/one.csv", "F: ", "C: ", "unit", "questions.toml"]);
    write(
        folder.path(),
        "season.toml",
        "team = \"Test\"\ntime_zone = \"UTC\"\n[log]\nunit = \"C\"\n",
    );
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
}

#[test]
fn files_and_folders_that_are_not_there() {
    let folder = tempfile::tempdir().unwrap();
    let output = cookstudy(folder.path(), &["run", "nowhere"]);
    expect_exit(&output, 2);
    expect_words(&stderr(&output), &["nowhere", "season.toml", "cookstudy new"]);

    let output = cookstudy(
        folder.path(),
        &["ingest", "--logs", "nothing", "--sheet", "none.csv", "--store", "store"],
    );
    expect_exit(&output, 2);
    expect_words(&stderr(&output), &["none.csv"]);
    assert!(files_below(folder.path()).is_empty(), "something was written");

    let output = cookstudy(folder.path(), &["phases", "--store", "store"]);
    expect_exit(&output, 2);
    expect_words(&stderr(&output), &["store", "cookstudy ingest"]);

    let output = cookstudy(folder.path(), &["study", "--table", "no.csv", "--out", "out"]);
    expect_exit(&output, 2);
    expect_words(&stderr(&output), &["no.csv"]);
    assert!(files_below(folder.path()).is_empty(), "something was written");
}

#[test]
fn a_stage_before_its_time_names_the_command_it_needs() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let ingest =
        ["ingest", "--logs", "logs", "--sheet", "sheet.csv", "--store", "store", "--tz", "UTC"];
    expect_exit(&cookstudy(folder.path(), &ingest), 0);
    let output = cookstudy(folder.path(), &["study", "--store", "store", "--out", "out"]);
    expect_exit(&output, 2);
    expect_words(&stderr(&output), &["measures.parquet", "cookstudy measures --store"]);
}

#[test]
fn a_claim_on_a_measure_that_does_not_exist() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    write(
        folder.path(),
        "claims.toml",
        "[[claim]]\nid = \"hot\"\nsays = \"hot is fast\"\nkind = \"trend\"\noutcome = \"stall_dely_min\"\nbetter = \"lower\"\nby = \"pit_early_c\"\nper = 5\nmatters = 10\n",
    );
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 2);
    expect_words(&stderr(&output), &["claims.toml", "hot", "stall_dely_min", "stall_delay_min"]);
    assert!(!folder.path().join("store").exists(), "the store was begun");
    assert!(!folder.path().join("claims.lock").exists(), "the lock was taken");
}

#[test]
fn an_unknown_key_in_the_settings() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    write(folder.path(), "season.toml", "team = \"Test\"\ntimezone = \"UTC\"\n");
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 2);
    expect_words(
        &stderr(&output),
        &["season.toml:2:1", "timezone = \"UTC\"", "did you mean `time_zone`?"],
    );
    assert!(!folder.path().join("store").exists(), "the store was begun");
}

#[test]
fn a_bad_cell_in_the_sheet_is_listed_and_strict_minds() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let sheet = fs::read_to_string(folder.path().join("sheet.csv")).unwrap();
    write(folder.path(), "sheet.csv", &sheet.replace(",5.5,", ",5.5 stone,"));
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 0);
    expect_words(
        &stderr(&output),
        &["rejected: sheet.csv:2, column `trimmed_weight_kg`", "5.5 stone"],
    );
    let output = cookstudy(folder.path(), &["run", "--strict"]);
    expect_exit(&output, 1);
    let rejected = fs::read_to_string(folder.path().join("out/data/rejected.csv")).unwrap();
    expect_words(&rejected, &["sheet.csv", "trimmed_weight_kg", "5.5 stone"]);
}

#[test]
fn a_broken_row_spoils_nothing_but_itself() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let log = fs::read_to_string(folder.path().join("logs/one.csv")).unwrap();
    let broken = log.replacen("2025-05-01T01:00:00Z,120.0", "2025-05-01T01:00:00Z,12x.0", 1);
    assert_ne!(log, broken);
    write(folder.path(), "logs/one.csv", &broken);
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let rejected = fs::read_to_string(folder.path().join("out/data/rejected.csv")).unwrap();
    expect_words(&rejected, &["logs/one.csv,62", "12x.0"]);
}

#[cfg(unix)]
#[test]
fn a_log_that_is_no_file_is_refused_by_name() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    fs::remove_file(folder.path().join("logs/one.csv")).unwrap();
    // Permissions would not stop root, which is who tests run as in a container.
    std::os::unix::fs::symlink("nowhere", folder.path().join("logs/one.csv")).unwrap();
    let output = cookstudy(folder.path(), &["run"]);
    assert_ne!(output.status.code(), Some(0));
    expect_words(&stderr(&output), &["one.csv"]);
}

#[test]
fn a_second_writer_is_turned_away() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let held = fs::OpenOptions::new().write(true).open(folder.path().join("store/.lock")).unwrap();
    held.try_lock().unwrap();
    write(folder.path(), "logs/one.csv", &support::steady_log(650));
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 2);
    expect_words(&stderr(&output), &["another cookstudy is writing"]);
}

#[test]
fn a_meat_on_that_cannot_be_read_stops_its_cook() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let sheet = fs::read_to_string(folder.path().join("sheet.csv")).unwrap();
    write(folder.path(), "sheet.csv", &sheet.replace("2025-05-01T00:00:00Z", "dusk"));
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 1);
    expect_words(
        &stderr(&output),
        &["cook `one`", "sheet.csv:2, column `meat_on`", "dusk", "try:"],
    );
}

#[test]
fn a_stage_on_an_older_store_names_the_command_that_renews_it() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let ingest =
        ["ingest", "--logs", "logs", "--sheet", "sheet.csv", "--store", "store", "--tz", "UTC"];
    let stages: [&[&str]; 3] = [
        &["phases", "--store", "store"],
        &["measures", "--store", "store"],
        &["study", "--store", "store", "--out", "out"],
    ];
    let report = ["report", "--store", "store", "--study", "out/study.json", "--out", "out"];
    expect_exit(&cookstudy(folder.path(), &ingest), 0);
    for stage in stages {
        expect_exit(&cookstudy(folder.path(), stage), 0);
    }
    expect_exit(&cookstudy(folder.path(), &report), 0);

    write(folder.path(), "logs/one.csv", &support::steady_log(655));
    expect_exit(&cookstudy(folder.path(), &ingest), 0);
    for (stage, next) in [(stages[1], "phases"), (stages[2], "measures"), (&report[..], "phases")] {
        let output = cookstudy(folder.path(), stage);
        expect_exit(&output, 2);
        expect_words(&stderr(&output), &[&format!("cookstudy {next} --store store")]);
    }
    for stage in &stages[..2] {
        expect_exit(&cookstudy(folder.path(), stage), 0);
    }
    let output = cookstudy(folder.path(), &report);
    expect_exit(&output, 2);
    expect_words(&stderr(&output), &["out/study.json", "cookstudy study"]);
    expect_exit(&cookstudy(folder.path(), stages[2]), 0);
    expect_exit(&cookstudy(folder.path(), &report), 0);
}

#[test]
fn damaged_and_deleted_files_are_made_again() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let whole = files_below(folder.path());
    let damages: [&dyn Fn(&std::path::Path); 5] = [
        &|season| fs::write(season.join("store/phases.parquet"), "x").unwrap(),
        &|season| fs::write(season.join("store/cooks.parquet"), "x").unwrap(),
        &|season| fs::write(season.join("store/measures.parquet"), "x").unwrap(),
        &|season| fs::remove_dir_all(season.join("out/data")).unwrap(),
        &|season| fs::remove_dir_all(season.join("out/cooks")).unwrap(),
    ];
    for (index, damage) in damages.iter().enumerate() {
        damage(folder.path());
        expect_exit(&cookstudy(folder.path(), &["run"]), 0);
        assert!(files_below(folder.path()) == whole, "damage {index} was not mended");
    }
}

#[test]
fn cooks_that_share_a_meat_channel_are_told() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let sheet = fs::read_to_string(folder.path().join("sheet.csv")).unwrap();
    let twice = sheet.clone() + &sheet.lines().nth(1).unwrap().replacen("one", "two", 1) + "\n";
    write(folder.path(), "sheet.csv", &twice);
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 1);
    expect_words(
        &stderr(&output),
        &["same-curve-twice", "cooks one, two all read the meat channel `Brisket`"],
    );
}
