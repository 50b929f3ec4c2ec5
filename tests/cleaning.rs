//! What cleaning did is stored, exported and shown; probe tests on the card; moved constants.

mod support;

use std::collections::HashMap;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, files_below, rows, small_season, stderr, stdout, write};

/// Eleven hours, a reading a minute, of a pit and two meats: a spike at minute 100, a lid and a dip
/// of the flat at minute 240, the flat unplugged from 400 to 440.
fn polluted_log() -> String {
    let mut text = String::from("time,Pit (C),Flat (C),Point (C)\n");
    for minute in 0..660_i32 {
        let course = |rate: f64| 120.0 - 115.0 * (-rate * f64::from(minute) / 60.0).exp();
        let after = |at: i32| {
            if minute >= at { (-f64::from(minute - at) / 12.0).exp() } else { 0.0 }
        };
        let ripple = f64::from(minute % 7) * 0.1;
        let pit = 120.0 + ripple - 35.0 * after(240);
        let spike = if minute == 100 { 30.0 } else { 0.0 };
        let flat = course(0.16) - 9.0 * after(240) + spike;
        let flat = if (400..440).contains(&minute) { String::new() } else { format!("{flat:.2}") };
        let (hour, rest) = (minute / 60, minute % 60);
        let point = course(0.19);
        writeln!(text, "2025-05-01T{hour:02}:{rest:02}:00Z,{pit:.2},{flat},{point:.2}").unwrap();
    }
    text
}

/// A season with that log, the wrap stated at `wrap`.
fn polluted_season(folder: &Path, wrap: &str) {
    small_season(folder);
    write(folder, "logs/one.csv", &polluted_log());
    write(
        folder,
        "sheet.csv",
        &format!(
            "cook,date,logs,pit,altitude_m,meat_ice_c,meat_boiling_c,pit_ice_f,wrap_method,wrap_at,meat_on,pull\n\
             one,2025-05-01,one.csv,big,1524,0.5,94.9,33.8,foil,{wrap},2025-05-01T00:00:00Z,2025-05-01T10:30:00Z\n"
        ),
    );
}

fn data(folder: &Path, name: &str) -> Vec<HashMap<String, String>> {
    rows(&fs::read_to_string(folder.join("out/data").join(name)).unwrap())
}

#[test]
fn what_cleaning_did_is_stored_exported_and_shown() {
    let folder = tempfile::tempdir().unwrap();
    let season = folder.path();
    polluted_season(season, "2025-05-01T04:02:00Z");
    expect_exit(&cookstudy(season, &["run"]), 0);

    let flags = data(season, "flags.csv");
    let found: Vec<(&str, &str, &str, &str)> = flags
        .iter()
        .map(|row| {
            let cell = |name: &str| row[name].as_str();
            (cell("channel"), cell("flag"), cell("start_at"), cell("readings"))
        })
        .collect();
    for expected in [
        ("Flat", "spike", "2025-05-01T01:40:00Z", "1"),
        ("Flat", "wrap-dip", "2025-05-01T04:00:00Z", "20"),
        ("Flat", "unplugged", "2025-05-01T06:39:00Z", "0"),
        ("Pit", "lid-open", "2025-05-01T03:59:00Z", "10"),
    ] {
        assert!(found.contains(&expected), "{expected:?} is not in {found:#?}");
    }
    assert_eq!(found.len(), 4, "{found:#?}");

    let channels = data(season, "channels.csv");
    let of = |name: &str| channels.iter().find(|row| row["channel"] == name).unwrap();
    let number = |name: &str, column: &str| of(name)[column].parse::<f64>().unwrap();
    assert_eq!(
        (of("Flat")["part"].as_str(), of("Flat")["lead_reason"].as_str()),
        ("lead", "last-to-arrive")
    );
    assert_eq!(of("Flat")["calibration"], "ice-and-boiling");
    // 94.90 °C at 1524 m: tests/reference/physics/boiling_altitude.csv.
    assert!((number("Flat", "boils_c") - 94.9).abs() < 0.05);
    assert!((number("Pit", "offset_c") + 1.0).abs() < 1e-9, "33.8 °F in ice is 1 °C high");
    assert_eq!(of("Point")["part"], "other-meat");
    assert!(number("Point", "mean_difference_c") > 0.0);
    assert!(number("Point", "finish_after_lead_min") < 0.0);

    let page = fs::read_to_string(season.join("out/cooks/one.html")).unwrap();
    for said in [
        "spike left out",
        "dip at a wrap bridged",
        "lid open, marked",
        "probe unplugged while others went on",
        "“Flat” is taken for the core: of 2 meat channels it is the last to arrive",
        "in water that boils at 202.8",
        "slanted crosses: spikes",
        "class=\"removed\"",
        "class=\"track\"",
    ] {
        assert!(page.contains(said), "the page does not say `{said}`");
    }
    assert!(!page.contains("To check"), "nothing is odd about this cook");

    // The tables follow the readings: a clean log has no flags.
    write(season, "logs/one.csv", &support::steady_log(660));
    expect_exit(&cookstudy(season, &["run"]), 0);
    assert_eq!(data(season, "flags.csv").len(), 0);
    let again = cookstudy(season, &["run"]);
    assert!(stderr(&again).contains("Nothing to do"), "{}", stderr(&again));
    // A table that was lost is made again.
    fs::remove_file(season.join("store/flags.parquet")).unwrap();
    expect_exit(&cookstudy(season, &["run"]), 0);
    assert!(season.join("store/flags.parquet").is_file());
}

#[test]
fn a_wrap_that_the_log_does_not_show_is_warned_of_and_one_that_cannot_be_is_not_used() {
    let folder = tempfile::tempdir().unwrap();
    let season = folder.path();
    polluted_season(season, "2025-05-01T08:20:00Z");
    let output = cookstudy(season, &["run"]);
    // A dip that nobody noted, hours before, makes it a question.
    expect_exit(&output, 1);
    assert!(stderr(&output).contains("question mark-against-curve"), "{}", stderr(&output));
    assert!(stderr(&output).contains("no-sign-of-mark: one (wrap)"), "{}", stderr(&output));
    let page = fs::read_to_string(season.join("out/cooks/one.html")).unwrap();
    assert!(page.contains("To check") && page.contains("260 min earlier the lid opens"));
    assert!(!data(season, "measures.csv")[0]["wrap_at_core_c"].is_empty(), "it is used as stated");

    // A sheet with its pull before its wrap is rejected when it is read; an event is not.
    polluted_season(season, "");
    write(
        season,
        "events.csv",
        "cook,time,event,value,note\none,2025-05-01T10:50:00Z,wrap,foil,\n",
    );
    let output = cookstudy(season, &["run"]);
    // The dip that nobody noted is asked about here as well.
    expect_exit(&output, 1);
    assert!(stderr(&output).contains("question mark-against-curve"), "{}", stderr(&output));
    let warnings = data(season, "warnings.csv");
    assert_eq!((warnings.len(), warnings[0]["code"].as_str()), (1, "wrap-after-pull"));
    assert!(data(season, "measures.csv")[0]["wrap_at_core_c"].is_empty(), "it is not used");
}

#[test]
fn a_probe_test_that_no_probe_gives_is_rejected_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let season = folder.path();
    small_season(season);
    write(
        season,
        "sheet.csv",
        "cook,date,logs,pit,meat_ice_c,meat_boiling_c,meat_on,pull\none,2025-05-01,one.csv,big,32,89,2025-05-01T00:00:00Z,2025-05-01T10:30:00Z\n",
    );
    let output = cookstudy(season, &["run", "--strict"]);
    expect_exit(&output, 1);
    let said = stderr(&output);
    assert!(said.contains("sheet.csv:2, column `meat_ice_c`"), "{said}");
    // At sea level 89 °C is no boiling water.
    assert!(said.contains("sheet.csv:2, column `meat_boiling_c`"), "{said}");
    assert!(said.contains("within 8 °C"), "{said}");
    assert_eq!(data(season, "channels.csv")[1]["calibration"], "none");
}

#[test]
fn moved_constants_are_listed_and_the_store_keeps_the_seasons_own() {
    let folder = tempfile::tempdir().unwrap();
    let season = folder.path();
    small_season(season);
    expect_exit(&cookstudy(season, &["run"]), 0);
    let before = files_below(&season.join("store"));
    let listing = |format: &str| {
        let arguments = [
            "phases",
            "--store",
            "store",
            "--settings",
            "season.toml",
            "--sensitivity",
            "--format",
            format,
        ];
        let output = cookstudy(season, &arguments);
        expect_exit(&output, 0);
        (stdout(&output), stderr(&output))
    };
    let (csv, said) = listing("csv");
    let found = rows(&csv);
    let settings: Vec<(&str, &str)> =
        found.iter().map(|row| (row["constant"].as_str(), row["moved_to"].as_str())).collect();
    assert_eq!(
        settings,
        [
            ("definition", ""),
            ("stall_fraction", "0.35"),
            ("stall_fraction", "0.45"),
            ("pit_lag_min", "20"),
            ("pit_lag_min", "30"),
            ("smoothing_min", "10"),
            ("smoothing_min", "40"),
        ]
    );
    // Newton's law has no stall under any of them.
    assert!(found.iter().all(|row| row["stalls"] == "0" && row["stall_min_highest"] == "0"));
    assert!(found[1..].iter().all(|row| row["change"] == "same"));
    assert!(said.contains("1 cooks judged, one constant moved at a time"), "{said}");
    assert!(said.contains("stalls appear in 0 and disappear in 0 cooks"), "{said}");
    let json: serde_json::Value = serde_json::from_str(&listing("json").0).unwrap();
    assert_eq!(json.as_array().map(Vec::len), Some(7));
    assert!(listing("table").0.starts_with("cook"));
    assert_eq!(listing("csv").0, csv);
    assert!(files_below(&season.join("store")) == before, "the store changed");

    let missing = cookstudy(season, &["phases", "--store", "nowhere", "--sensitivity"]);
    expect_exit(&missing, 2);
    assert!(stdout(&missing).is_empty() && stderr(&missing).contains("nowhere"));
}

#[test]
fn in_the_sample_seasons_the_constants_move_stalls_as_they_should() {
    let folder = tempfile::tempdir().unwrap();
    expect_exit(&cookstudy(folder.path(), &["demo", "--out", "d"]), 0);
    let output = cookstudy(
        folder.path(),
        &[
            "phases",
            "--store",
            "d/store",
            "--settings",
            "d/season.toml",
            "--sensitivity",
            "--format",
            "csv",
        ],
    );
    expect_exit(&output, 0);
    let found = rows(&stdout(&output));
    let moves = |to: &str| -> Vec<f64> {
        found
            .iter()
            .filter(|row| row["constant"] == "stall_fraction" && row["moved_to"] == to)
            .filter_map(|row| row["length_moves_min"].parse().ok())
            .collect()
    };
    // A lower threshold is passed by less of the curve, a higher one by more.
    let (lower, higher) = (moves("0.35"), moves("0.45"));
    assert!(lower.len() > 50 && lower.len() == higher.len());
    let sum = |values: &[f64]| values.iter().sum::<f64>();
    assert!(sum(&lower) < 0.0 && sum(&higher) > 0.0, "{} {}", sum(&lower), sum(&higher));
}
