//! Logs alone: what `run LOG…` shows of them, and the season folder that `new --from` makes of them.

mod support;

use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, rows, stderr, stdout, write};

/// Four logs of the bundled seasons, copied into a folder of their own.
fn some_logs(folder: &Path) {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/logs");
    for name in ["2024-04-06-long-tom.csv", "2024-04-13-rumble.csv", "2025-04-12-rumble.tsv"] {
        write(
            folder,
            &format!("downloads/{name}"),
            &fs::read_to_string(sample.join(name)).unwrap(),
        );
    }
}

#[test]
fn logs_alone_give_curves_phases_and_pull_on_the_first_page() {
    let folder = tempfile::tempdir().unwrap();
    some_logs(folder.path());
    let output = cookstudy(folder.path(), &["run", "downloads", "--tz", "America/Chicago"]);
    expect_exit(&output, 0);
    let out = folder.path().join("cookstudy-out/out");
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    for section in ["first-look", "phases", "curves", "cooks"] {
        assert!(page.contains(&format!("id=\"{section}\"")), "no section {section}");
    }
    for section in ["claims", "answers", "wrap", "levers", "cost", "groups", "effects"] {
        assert!(!page.contains(&format!("id=\"{section}\"")), "section {section} says nothing");
    }
    assert!(page.contains("What a season sheet would add"));
    let phases = cookstudy(
        folder.path(),
        &[
            "query",
            "SELECT cook, phase, pull_from FROM phases",
            "--store",
            "cookstudy-out/store",
            "--format",
            "csv",
        ],
    );
    let phases = rows(&stdout(&phases));
    let stalled = phases.iter().filter(|row| row["phase"] == "stall");
    assert!(stalled.count() >= 3, "{phases:?}");
    assert!(phases.iter().all(|row| row["pull_from"] == "log"), "{phases:?}");

    let again = cookstudy(folder.path(), &["run", "downloads", "--tz", "America/Chicago"]);
    expect_exit(&again, 0);
    assert!(stderr(&again).contains("Nothing to do"), "{}", stderr(&again));
}

#[test]
fn what_logs_alone_leave_open_is_asked_once_and_answered_in_the_folder_of_results() {
    let folder = tempfile::tempdir().unwrap();
    some_logs(folder.path());
    let output = cookstudy(folder.path(), &["run", "downloads", "--out", "look"]);
    expect_exit(&output, 1);
    let path = folder.path().join("look/questions.toml");
    let questions = fs::read_to_string(&path).unwrap();
    assert_eq!(questions.matches("[[question]]").count(), 1, "{questions}");
    fs::write(&path, questions.replace("answer = \"\"", "answer = \"America/Chicago\"")).unwrap();
    let output = cookstudy(folder.path(), &["run", "downloads", "--out", "look"]);
    expect_exit(&output, 0);
    let page = fs::read_to_string(folder.path().join("look/out/report.html")).unwrap();
    // The first log's meat went on at nine past six by its own clock.
    assert!(page.contains("2024-04-06 06:09"), "local times are not those of the logs");
}

#[test]
fn a_log_that_counts_from_its_own_zero_is_asked_when_that_was() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = String::from("minutes,Pit (C),Meat (C)\n");
    for minute in 0..600 {
        let core = 120.0 - 115.0 * (-0.16 * f64::from(minute) / 60.0_f64).exp();
        log += &format!("{minute},120.0,{core:.2}\n");
    }
    write(folder.path(), "night.csv", &log);
    let output = cookstudy(folder.path(), &["run", "night.csv", "--tz", "Europe/Prague"]);
    expect_exit(&output, 1);
    let path = folder.path().join("cookstudy-out/questions.toml");
    let questions = fs::read_to_string(&path).unwrap();
    assert!(questions.contains("start-of-elapsed/"), "{questions}");
    fs::write(&path, questions.replace("answer = \"\"", "answer = \"2026-05-02 21:30\"")).unwrap();
    let output = cookstudy(folder.path(), &["run", "night.csv", "--tz", "Europe/Prague"]);
    expect_exit(&output, 0);
    let cooks = cookstudy(
        folder.path(),
        &[
            "query",
            "SELECT cook, date FROM cooks",
            "--store",
            "cookstudy-out/store",
            "--format",
            "csv",
        ],
    );
    assert_eq!(rows(&stdout(&cooks))[0]["date"], "2026-05-02", "{}", stdout(&cooks));
}

#[test]
fn a_season_made_from_logs_has_a_sheet_with_what_they_show_and_runs() {
    let folder = tempfile::tempdir().unwrap();
    some_logs(folder.path());
    let output = cookstudy(
        folder.path(),
        &["new", "season", "--tz", "America/Chicago", "--units", "us", "--from", "downloads"],
    );
    expect_exit(&output, 0);
    let sheet = rows(&fs::read_to_string(folder.path().join("season/sheet.csv")).unwrap());
    assert_eq!(sheet.len(), 3);
    assert_eq!(sheet[0]["logs"], "2024-04-06-long-tom.csv");
    assert_eq!(sheet[0]["date"], "2024-04-06");
    assert_eq!(sheet[0]["meat_on"], "2024-04-06 06:09");
    assert_eq!(sheet[0]["guessed"], "meat_on; pull");
    let output = cookstudy(folder.path(), &["run", "season"]);
    expect_exit(&output, 0);
    assert!(stderr(&output).contains("nobody has confirmed"), "{}", stderr(&output));

    // Without a zone nothing is guessed: it is asked, and each log has its row all the same.
    let output = cookstudy(folder.path(), &["new", "open", "--from", "downloads"]);
    expect_exit(&output, 1);
    let sheet = rows(&fs::read_to_string(folder.path().join("open/sheet.csv")).unwrap());
    assert_eq!(sheet.len(), 3);
    assert!(sheet.iter().all(|row| row["meat_on"].is_empty() && !row["logs"].is_empty()));
    let path = folder.path().join("open/questions.toml");
    let questions = fs::read_to_string(&path).unwrap();
    fs::write(&path, questions.replace("answer = \"\"", "answer = \"America/Chicago\"")).unwrap();
    expect_exit(&cookstudy(folder.path(), &["run", "open"]), 0);
}

#[test]
fn what_cannot_be_run_is_said_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    some_logs(folder.path());
    write(folder.path(), "letter.txt", "Dear team,\nthe fire was good.\n");
    fs::create_dir_all(folder.path().join("empty")).unwrap();
    let said = |arguments: &[&str], code: i32| {
        let output = cookstudy(folder.path(), arguments);
        expect_exit(&output, code);
        stderr(&output)
    };
    assert!(said(&["run"], 2).contains("no season.toml in this folder"));
    assert!(said(&["run", "letter.txt", "--out", "a"], 2).contains("letter.txt: no header"));
    assert!(said(&["run", "empty", "--out", "b"], 2).contains("could be read as a log"));
    assert!(said(&["run", "missing.csv", "--out", "c"], 2).contains("missing.csv"));
    assert!(said(&["run", "downloads", "--out", "downloads/x"], 2).contains("beside it"));
    let zone = ["--tz", "America/Chicago"];
    let mixed = ["run", "letter.txt", "downloads", "--out", "d", zone[0], zone[1]];
    assert!(said(&mixed, 1).contains("letter.txt: no header"));
    let both = ["new", "e", zone[0], zone[1], "--from", "letter.txt"];
    assert!(said(&both, 1).contains("letter.txt"));
}
