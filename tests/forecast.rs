//! Forecasts from the command line: logs that still grow, typed readings, and what has no answer.

mod support;

use std::path::Path;
use support::{cookstudy, expect_exit, rows, small_season, stderr, stdout, steady_log, write};

/// The log of a cook that is five hours on, its last line half written.
fn growing(folder: &Path) {
    let mut log: String = steady_log(301);
    log.push_str("2025-05-01T05:0");
    write(folder, "now.csv", &log);
}

fn answer(
    folder: &Path,
    arguments: &[&str],
    code: i32,
) -> Vec<std::collections::HashMap<String, String>> {
    let output = cookstudy(folder, &[&["forecast"], arguments, &["--format", "csv"]].concat());
    expect_exit(&output, code);
    rows(&stdout(&output))
}

#[test]
fn a_log_that_grows_is_answered_by_the_bundled_past_and_it_is_said() {
    let folder = tempfile::tempdir().unwrap();
    growing(folder.path());
    let output = cookstudy(folder.path(), &["forecast", "now.csv", "--format", "csv"]);
    expect_exit(&output, 0);
    assert!(stderr(&output).contains("not your cooks"), "{}", stderr(&output));
    assert!(stderr(&output).contains("neither tenderness nor"), "{}", stderr(&output));
    let row = &rows(&stdout(&output))[0];
    assert_eq!(row["cook"], "now.csv#Brisket");
    assert_eq!(row["asked_at"], "2025-05-01T05:00:00Z");
    assert_eq!((row["option"].as_str(), row["basis"].as_str()), ("as-is", "bundled"));
    let (lo, middle, hi) = (&row["finish_at_lo80"], &row["finish_at"], &row["finish_at_hi80"]);
    assert!(row["asked_at"] < *lo && lo < middle && middle < hi, "{row:?}");
    assert!(row["pull_at"] > *middle && row["slice_at"] > row["pull_at"]);
    assert_eq!(row["latest_wrap_at"], "");
    // Wider at a higher level; the same twice.
    let wide = answer(folder.path(), &["now.csv", "--level", "95"], 0);
    assert!(wide[0]["finish_at_hi95"] > *hi, "{wide:?}");
    assert_eq!(answer(folder.path(), &["now.csv"], 0), answer(folder.path(), &["now.csv"], 0));
    let people = cookstudy(folder.path(), &["forecast", "now.csv", "--explain"]);
    assert!(stderr(&people).contains("(simulated)"), "{}", stderr(&people));
}

/// Two steady cooks on two fires, run into a store.
fn two_past_cooks(folder: &Path) {
    small_season(folder);
    write(folder, "logs/two.csv", &steady_log(660).replace("2025-05-01", "2025-05-08"));
    let header = "cook,date,logs,pit,trimmed_weight_kg,meat_on,pull";
    let row = |cook: &str, day: &str| {
        format!("{cook},{day},{cook}.csv,big,5.5,{day}T00:00:00Z,{day}T10:30:00Z")
    };
    let (one, two) = (row("one", "2025-05-01"), row("two", "2025-05-08"));
    write(folder, "sheet.csv", &format!("{header}\n{one}\n{two}\n"));
    expect_exit(&cookstudy(folder, &["run"]), 0);
}

#[test]
fn the_past_in_a_store_is_used_and_the_cook_itself_is_not() {
    let folder = tempfile::tempdir().unwrap();
    two_past_cooks(folder.path());
    growing(folder.path());
    let later = steady_log(301).replace("2025-05-01", "2025-06-01");
    write(folder.path(), "later.csv", &later);
    let row = &answer(folder.path(), &["later.csv", "--prior", "none"], 0)[0];
    assert_eq!((row["basis"].as_str(), row["alike"].as_str()), ("own", "2"));
    // By Newton's law the core is at 88 °C after ln(115 / 32) / 0.16 h: 480 min, three hours from now.
    assert!(("2025-06-01T07:50".."2025-06-01T08:10").contains(&&row["finish_at"][..16]), "{row:?}");
    // The cook of the sheet is past only for others; before it ended nobody can have known it.
    let none = cookstudy(folder.path(), &["forecast", "now.csv", "--prior", "none"]);
    expect_exit(&none, 2);
    assert!(stdout(&none).contains("No past cook can be used"), "{}", stdout(&none));
    let between = steady_log(301).replace("2025-05-01", "2025-05-04");
    write(folder.path(), "between.csv", &between);
    let one = cookstudy(folder.path(), &["forecast", "between.csv", "--prior", "none"]);
    expect_exit(&one, 2);
    assert!(stdout(&one).contains("Only one past fire can be used"), "{}", stdout(&one));
}

#[test]
fn each_meat_of_a_log_is_answered_and_half_a_number_is_none() {
    let folder = tempfile::tempdir().unwrap();
    let mut log: String = steady_log(301)
        .lines()
        .map(|line| {
            let point = line.rsplit(',').next().unwrap();
            format!("{line},{}\n", if point.starts_with('B') { "Point (C)" } else { point })
        })
        .collect();
    // The logger is at the last of these digits: 68.42.
    log.push_str("2025-05-01T05:01:00Z,120.0,68.40,6");
    write(folder.path(), "now.csv", &log);
    let found = answer(folder.path(), &["now.csv"], 0);
    let cooks: Vec<&str> = found.iter().map(|row| row["cook"].as_str()).collect();
    assert_eq!(cooks, ["now.csv#Brisket", "now.csv#Point"]);
    assert_eq!(found[1]["asked_at"], "2025-05-01T05:00:00Z");
    assert_eq!(found[0]["finish_at"], found[1]["finish_at"]);
}

#[test]
fn a_cook_read_by_hand_alone_is_asked_about_without_a_log() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let mut events = String::from("cook,time,event,value,note\n");
    for (clock, event, value) in [
        ("00:00", "meat_on", ""),
        ("03:10", "core", "65C flat"),
        ("04:00", "wrap", "foil"),
        ("04:30", "core", "71C flat"),
        ("05:00", "core", "74C flat"),
    ] {
        events.push_str(&format!("hand,2025-07-01T{clock}:00Z,{event},{value},\n"));
    }
    write(folder.path(), "events.csv", &events);
    let header = "cook,date,logs,pit,trimmed_weight_kg,pit_setpoint_c";
    write(folder.path(), "sheet.csv", &format!("{header}\nhand,2025-07-01,,big,5.5,121\n"));
    let row = &answer(folder.path(), &["--now", "2025-07-01T05:10Z"], 0)[0];
    assert_eq!(row["cook"], "hand");
    assert!(row["finish_at"] > row["asked_at"], "{row:?}");
    let over = cookstudy(folder.path(), &["forecast"]);
    expect_exit(&over, 2);
    assert!(stderr(&over).contains("read by hand alone is on"), "{}", stderr(&over));
}

#[test]
fn changes_are_tried_and_a_turn_in_gets_its_latest_moments() {
    let folder = tempfile::tempdir().unwrap();
    growing(folder.path());
    let tried = answer(
        folder.path(),
        &[
            "now.csv",
            "--what-if",
            "foil-now",
            "--what-if",
            "setpoint+25F",
            "--what-if",
            "paper-now",
        ],
        0,
    );
    let options: Vec<&str> = tried.iter().map(|row| row["option"].as_str()).collect();
    assert_eq!(options, ["as-is", "foil-now", "setpoint+25F", "paper-now"]);
    for row in &tried[1..] {
        let told = !row["minus_as_is_min"].is_empty();
        assert_ne!(told, !row["reason"].is_empty(), "a number or a reason: {row:?}");
    }
    let early = &answer(folder.path(), &["now.csv", "--turn-in", "06:00"], 0)[0];
    assert!(early["reason"].starts_with("Neither foil now nor"), "{early:?}");
    let late = &answer(folder.path(), &["now.csv", "--turn-in", "2025-05-02T12:00Z"], 0)[0];
    assert_eq!(late["reason"], "As it is, it will be in time.");
}

#[test]
fn readings_typed_by_hand_are_answered_wider() {
    let folder = tempfile::tempdir().unwrap();
    let now = ["--now", "2026-05-02T10:00Z"];
    let typed =
        ["--pit", "250F", "--core", "165F@3:10", "--core", "172F@4:05", "--wrapped", "foil@1:40"];
    let row = &answer(folder.path(), &[&typed[..], &now[..]].concat(), 0)[0];
    assert_eq!(row["cook"], "typed");
    assert_eq!(row["asked_at"], "2026-05-02T10:00:00Z");
    assert!(row["finish_at_lo80"] > row["asked_at"] && row["finish_at"] < row["finish_at_hi80"]);
    let blind = cookstudy(
        folder.path(),
        &["forecast", "--core", "165F@3:10", "--now", "2026-05-02T10:00Z"],
    );
    expect_exit(&blind, 2);
    assert!(stdout(&blind).contains("no pit reading and no set-point"), "{}", stdout(&blind));
    for (wrong, said) in [
        (["--pit", "250", "--core", "165F@3:10"], "250F or 121C"),
        (["--pit", "250F", "--core", "165F"], "165F@3:10"),
    ] {
        let output = cookstudy(folder.path(), &[&["forecast"], &wrong[..]].concat());
        expect_exit(&output, 2);
        assert!(stderr(&output).contains(said), "{}", stderr(&output));
    }
}

#[test]
fn what_has_no_answer_has_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let ask = |log: &str, text: &str, more: &[&str]| {
        write(folder.path(), log, text);
        let output = cookstudy(folder.path(), &[&["forecast", log], more].concat());
        expect_exit(&output, 2);
        stdout(&output)
    };
    let done = ask("done.csv", &steady_log(600), &[]);
    assert!(done.contains("It is done as far as a thermometer tells"), "{done}");
    let ended = ask("ended.csv", &steady_log(301), &["--now", "2025-05-01T12:00Z"]);
    assert!(
        ended.contains("The log ended at 05:00") || ended.contains("The log ended at"),
        "{ended}"
    );
    let ahead = ask("ahead.csv", &steady_log(301).replace("2025-", "2095-"), &[]);
    assert!(ahead.contains("ahead of this computer's clock"), "{ahead}");
    let later = ask("later.csv", &steady_log(301), &["--now", "2025-04-30T12:00Z"]);
    assert!(later.contains("after the moment asked about"), "{later}");
    let no_pit: String = steady_log(301)
        .lines()
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            format!("{},{}\n", cells[0], cells[2])
        })
        .collect();
    let no_pit = ask("no-pit.csv", &no_pit, &[]);
    assert!(no_pit.contains("no pit reading and no set-point"), "{no_pit}");
}
