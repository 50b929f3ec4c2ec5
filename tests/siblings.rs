//! Logs of one layout prove the order of day and month for each other, and nothing that is
//! in the folder is passed over in silence.

mod support;

use std::fmt::Write;
use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, rows, stderr, stdout, write};

/// Eleven hours of a steady cook on one day, written as it stands.
fn log_of(day: &str) -> String {
    let mut text = String::from("Date,Time,Pit (C),Brisket (C)\n");
    for minute in 0..660 {
        let core = 120.0 - 115.0 * (-0.16 * f64::from(minute) / 60.0_f64).exp();
        let (hour, rest) = (minute / 60, minute % 60);
        writeln!(text, "{day},{hour:02}:{rest:02}:00,120.0,{core:.2}").unwrap();
    }
    text
}

fn season(folder: &Path, sheet: &str) {
    write(folder, "sheet.csv", &format!("cook,date,logs\n{sheet}"));
    write(folder, "events.csv", "cook,time,event,value,note\n");
    write(folder, "claims.toml", "");
    write(folder, "season.toml", "team = \"Test\"\ntime_zone = \"UTC\"\n");
}

/// Start of a cook's first phase, by the listing of `phases`.
fn starts(folder: &Path, cook: &str) -> String {
    let output = cookstudy(folder, &["phases", "--store", "store", "--format", "csv"]);
    let listed = rows(&stdout(&output));
    let row = listed.iter().find(|row| row["cook"] == cook);
    row.map(|row| row["start_at"].clone()).unwrap_or_default()
}

#[test]
fn an_order_of_day_and_month_is_proved_by_a_sibling() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/open.csv", &log_of("03/05/2025"));
    season(folder, "open,,open.csv\n");
    let alone = cookstudy(folder, &["run"]);
    expect_exit(&alone, 1);
    assert!(stderr(&alone).contains("date-order/"), "{}", stderr(&alone));

    write(folder, "logs/proves.csv", &log_of("25/05/2025"));
    season(folder, "open,,open.csv\nproves,2025-05-25,proves.csv\n");
    expect_exit(&cookstudy(folder, &["run"]), 0);
    assert!(starts(folder, "open").starts_with("2025-05-03"));
    let again = cookstudy(folder, &["run"]);
    expect_exit(&again, 0);
    assert!(stderr(&again).contains("Nothing to do"), "{}", stderr(&again));

    // A sibling that turns out otherwise turns the log round.
    write(folder, "logs/proves.csv", &log_of("05/25/2025"));
    expect_exit(&cookstudy(folder, &["run"]), 0);
    assert!(starts(folder, "open").starts_with("2025-03-05"));

    // Siblings that disagree prove nothing: it is asked again, and the old reading is gone.
    write(folder, "logs/other.csv", &log_of("26/05/2025"));
    season(folder, "open,,open.csv\nproves,2025-05-25,proves.csv\nother,2025-05-26,other.csv\n");
    let output = cookstudy(folder, &["run"]);
    expect_exit(&output, 1);
    assert!(stderr(&output).contains("question date-order/"), "{}", stderr(&output));
    assert_eq!(starts(folder, "open"), "");
}

#[test]
fn a_sibling_of_another_layout_proves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/open.csv", &log_of("03/05/2025"));
    write(folder, "logs/proves.csv", &log_of("25/05/2025").replace(',', ";"));
    season(folder, "open,,open.csv\nproves,2025-05-25,proves.csv\n");
    expect_exit(&cookstudy(folder, &["run"]), 1);
}

#[test]
fn a_log_without_a_card_takes_its_siblings_order_too() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/open.csv", &log_of("03/05/2025"));
    write(folder, "logs/proves.csv", &log_of("25/05/2025"));
    season(folder, "proves,2025-05-25,proves.csv\n");
    let output = cookstudy(folder, &["run"]);
    expect_exit(&output, 0);
    assert!(stderr(&output).contains("logs/open.csv: no card fits"), "{}", stderr(&output));
    let names = cookstudy(folder, &["inspect", "logs", "--tz", "UTC", "--format", "json"]);
    expect_exit(&names, 0);
    assert!(stdout(&names).contains("other logs of the same layout prove it"));
}

#[test]
fn a_log_without_a_card_that_cannot_be_read_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/one.csv", &log_of("25/05/2025"));
    season(folder, "one,2025-05-25,one.csv\n");
    for (text, words) in [
        (log_of("03/05/2025").replace("Date,", "Day,"), "date-order/"),
        ("no log at all\n".to_owned(), "logs/two.csv"),
        ("minutes,Pit (C),Brisket (C)\n0,120,5\n1,120,5.5\n2,120,6\n".to_owned(), "column `logs`"),
    ] {
        write(folder, "logs/two.csv", &text);
        let output = cookstudy(folder, &["run"]);
        expect_exit(&output, 1);
        let said = stderr(&output);
        assert!(
            said.contains("a log that no row of a sheet names") && said.contains(words),
            "{said}"
        );
        // The rest was done.
        assert!(folder.join("out/report.html").is_file());
    }
    fs::remove_file(folder.join("logs/two.csv")).unwrap();
    expect_exit(&cookstudy(folder, &["run"]), 0);
}
