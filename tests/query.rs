//! Questions in SQL from the command line: what is data, what is shown, what is refused.

mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, files_below, rows, small_season, stderr, stdout, write};

/// A season of one steady cook, wrapped at nine, by the clock of Berlin (two hours before UTC in May).
fn season(folder: &Path, units: &str) {
    small_season(folder);
    let settings = format!("team = \"Test\"\ntime_zone = \"Europe/Berlin\"\nunits = \"{units}\"\n");
    write(folder, "season.toml", &settings);
    let event = "cook,time,event,value,note\none,2025-05-01T07:00:00Z,wrap,foil,\n";
    write(folder, "events.csv", event);
    expect_exit(&cookstudy(folder, &["run"]), 0);
}

fn ask(folder: &Path, arguments: &[&str]) -> String {
    let output = cookstudy(folder, &[&["query"], arguments].concat());
    expect_exit(&output, 0);
    assert_eq!(stderr(&output), "");
    stdout(&output)
}

#[track_caller]
fn refused(folder: &Path, arguments: &[&str], words: &[&str]) {
    let output = cookstudy(folder, &[&["query"], arguments].concat());
    expect_exit(&output, 2);
    assert_eq!(stdout(&output), "");
    for word in words {
        assert!(stderr(&output).contains(word), "`{word}` is missing from {}", stderr(&output));
    }
}

#[test]
fn data_is_si_in_utc_and_people_are_shown_their_units_and_clock() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path(), "us");
    let sql = "SELECT cook, at, value, note FROM events";
    let csv = ask(folder.path(), &[sql, "--store", "store", "--format", "csv"]);
    assert_eq!(csv, "cook,at,value,note\none,2025-05-01T07:00:00Z,foil,\n");
    let json = ask(folder.path(), &[sql, "--store", "store", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let row = serde_json::json!({
        "cook": "one", "at": "2025-05-01T07:00:00Z", "value": "foil", "note": null
    });
    assert_eq!(json, serde_json::json!([row]));
    // Every column asked for, also one without a value; the season folder stands for its store.
    assert_eq!(
        ask(folder.path(), &[sql, "--store", "."]),
        "cook  at                value  note\none   2025-05-01 09:00  foil   –\n"
    );

    // 5.5 kg are 12.125 lb; the pit stands at 120 °C, which are 248 °F. A spread has no zero of a scale.
    let sql = "SELECT trimmed_weight_kg, pit_mean_c AS pit, pit_sd_c, 2 * pit_mean_c FROM measures";
    assert_eq!(
        ask(folder.path(), &[sql, "--store", "store"]),
        "trimmed_weight_lb  pit in °F  pit_sd_f  2 * pit_mean_c\n             12.1      248.0     0.000           240.0\n"
    );
    let metric = ask(folder.path(), &[sql, "--store", "store", "--units", "metric"]);
    assert!(metric.starts_with("trimmed_weight_kg    pit  pit_sd_c"), "{metric}");
    let csv = ask(folder.path(), &[sql, "--store", "store", "--format", "csv"]);
    assert_eq!(csv, "trimmed_weight_kg,pit,pit_sd_c,2 * pit_mean_c\n5.5,120,0,240\n");
}

#[test]
fn readings_are_read_where_they_are_named() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path(), "metric");
    let ask = |sql: &str| ask(folder.path(), &[sql, "--store", "store", "--format", "csv"]);
    assert_eq!(ask("SELECT COUNT(*) AS n FROM readings"), "n\n1320\n");
    assert_eq!(
        ask(
            "SELECT role, MIN(temp_c) AS temp_c, MAX(elapsed_ms) AS ms FROM readings WHERE cook = 'one' GROUP BY role"
        ),
        "role,temp_c,ms\nmeat,5,39540000\npit,120,39540000\n"
    );
    assert_eq!(ask("SELECT COUNT(*) AS n FROM readings WHERE cook = 'none'"), "n\n0\n");
    assert_eq!(
        ask(
            "SELECT season, channel, at, line, flag, source FROM readings ORDER BY at, channel LIMIT 1"
        ),
        "season,channel,at,line,flag,source\n2025,Brisket,2025-05-01T00:00:00Z,2,good,logs/one.csv\n"
    );
    assert_eq!(
        ask(
            "SELECT m.cook, COUNT(*) AS above FROM measures m JOIN readings r ON m.cook = r.cook WHERE r.role = 'pit' AND r.at < '2025-05-01T00:10:00Z' GROUP BY m.cook"
        ),
        "cook,above\none,10\n"
    );
}

#[test]
fn a_folder_of_tables_answers_like_the_store() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path(), "us");
    let sql = "SELECT cook, total_min, finish_reached, end_reason FROM measures";
    let store = ask(folder.path(), &[sql, "--store", "store", "--format", "csv"]);
    assert_eq!(ask(folder.path(), &[sql, "--data", "out/data", "--format", "csv"]), store);
    assert_eq!(ask(folder.path(), &[sql, "--data", ".", "--format", "csv"]), store);
    // From CSV alone: numbers, yes or no and instants are what they were.
    let csv = folder.path().join("csv");
    fs::create_dir(&csv).unwrap();
    for name in ["measures.csv", "events.csv"] {
        fs::copy(folder.path().join("out/data").join(name), csv.join(name)).unwrap();
    }
    assert_eq!(ask(folder.path(), &[sql, "--data", "csv", "--format", "csv"]), store);
    let sql = "SELECT event, at FROM events WHERE at < '2025-05-01T07:00:01Z'";
    assert_eq!(
        ask(folder.path(), &[sql, "--data", "csv", "--format", "csv"]),
        "event,at\nwrap,2025-05-01T07:00:00Z\n"
    );
    fs::create_dir(folder.path().join("empty")).unwrap();
    refused(folder.path(), &[sql, "--data", "empty"], &["no .parquet or .csv"]);
}

#[test]
fn tables_are_listed_with_kind_unit_and_meaning() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path(), "us");
    let listing = ask(folder.path(), &["--tables", "--store", "store", "--format", "csv"]);
    let listing = rows(&listing);
    let of = |table: &str, column: &str| {
        let row = listing.iter().find(|row| row["table"] == table && row["column"] == column);
        row.unwrap_or_else(|| panic!("{table}.{column} is not listed")).clone()
    };
    let stall = of("measures", "stall_delay_min");
    assert_eq!((&*stall["kind"], &*stall["unit"]), ("floating-point numbers", "min"));
    assert!(stall["meaning"].contains("60 °C"), "{stall:?}");
    assert_eq!(of("events", "at")["kind"], "instants");
    assert_eq!(of("readings", "temp_c")["unit"], "°C");
    assert_eq!(of("cooks", "water_pan")["kind"], "yes or no");
    // What is listed can be asked, whatever it is called.
    let mut tables: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for row in &listing {
        tables.entry(&row["table"]).or_default().push(format!("\"{}\"", row["column"]));
    }
    for table in ["cooks", "events", "phases", "measures", "history", "sources", "readings"] {
        assert!(tables.contains_key(table), "`{table}` is not listed");
    }
    for (table, columns) in tables {
        let sql = format!("SELECT {} FROM {table}", columns.join(", "));
        let answer = ask(folder.path(), &[&sql, "--store", "store", "--format", "csv"]);
        assert_eq!(answer.lines().next().unwrap(), columns.join(",").replace('"', ""));
    }
}

#[test]
fn an_answer_without_rows_has_its_header() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path(), "us");
    let sql = "SELECT cook, at FROM events WHERE event = 'spritz'";
    let ask = |format: &str| ask(folder.path(), &[sql, "--store", "store", "--format", format]);
    assert_eq!(ask("table"), "cook  at\n");
    assert_eq!(ask("csv"), "cook,at\n");
    assert_eq!(ask("json"), "[]\n");
}

#[test]
fn what_is_wrong_is_said_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path(), "us");
    let before = files_below(folder.path());
    let ask = |sql: &str, words: &[&str]| {
        refused(folder.path(), &[sql, "--store", "store"], words);
    };
    ask("SELECT * FROM measure", &["no table `measure`", "did you mean `measures`?"]);
    ask("SELECT stal_min FROM measures", &["`stal_min`", "did you mean `stall_min`?"]);
    ask("SELEKT * FROM measures", &["did you mean `SELECT`?"]);
    ask("DROP TABLE measures", &["`DROP`", "never changed"]);
    ask("SELECT * FROM read_csv('season.toml')", &["`read_csv(…)`", "no files"]);
    refused(folder.path(), &["--store", "store"], &["SELECT …"]);
    refused(folder.path(), &["SELECT 1"], &["--store"]);
    refused(folder.path(), &["SELECT 1", "--store", "nowhere"], &["nowhere"]);
    assert!(before == files_below(folder.path()), "a question changed files");
    // A table that is not made yet names the command that makes it.
    fs::remove_file(folder.path().join("store/phases.parquet")).unwrap();
    ask("SELECT * FROM phases", &["cookstudy phases --store"]);
}
