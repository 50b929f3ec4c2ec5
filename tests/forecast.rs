//! Forecasts from the command line: logs that still grow, typed readings, and what has no answer.
#![allow(clippy::format_collect, reason = "a log of a few lines")]

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
    assert!(ended.contains("The log ended at 05:00"), "{ended}");
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

#[test]
fn a_page_is_whole_in_itself_and_draws_past_cooks_alike() {
    let folder = tempfile::tempdir().unwrap();
    growing(folder.path());
    let page = ["forecast", "now.csv", "--page", "now.html", "--turn-in", "14:00"];
    expect_exit(&cookstudy(folder.path(), &page), 0);
    let html = std::fs::read_to_string(folder.path().join("now.html")).unwrap();
    for outside in ["http:", "https:", "src=\"", "@import", "fetch("] {
        assert!(!html.contains(outside), "{outside}");
    }
    assert!(html.contains("class=\"past\""), "past cooks in grey");
    assert!(html.contains("class=\"band\"") && html.contains("turn-in"));
    assert!(html.contains("neither tenderness nor that the food is fit to eat"));
}

#[test]
fn a_cook_that_is_done_gets_its_pull_from_failed_probe_tests_on() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "done.csv", &steady_log(500));
    let output = cookstudy(folder.path(), &["forecast", "done.csv", "--format", "csv"]);
    expect_exit(&output, 2);
    let row = &rows(&stdout(&output))[0];
    assert_eq!(row["finish_at"], "");
    assert!(row["pull_at"].as_str() > "2025-05-01T08:00", "{row:?}");
}

fn planned(folder: &Path, arguments: &[&str], code: i32) -> (Vec<[String; 4]>, String) {
    let now = ["--now", "2026-05-01T12:00Z", "--format", "csv"];
    let output = cookstudy(folder, &[&["plan"], arguments, &now[..]].concat());
    expect_exit(&output, code);
    let cells = ["cook", "milestone", "at", "conflict"];
    let rows = rows(&stdout(&output));
    (rows.iter().map(|row| cells.map(|cell| row[cell].clone())).collect(), stderr(&output))
}

#[test]
fn a_typed_cook_is_planned_without_any_log() {
    let folder = tempfile::tempdir().unwrap();
    let typed = ["--weight", "12lb", "--setpoint", "250F", "--turn-in", "2026-05-02T17:00Z"];
    let wrap = ["--wrap", "foil@165F"];
    let (rows, said) = planned(folder.path(), &[&typed[..], &wrap[..]].concat(), 0);
    let order: Vec<&str> = rows.iter().map(|row| row[1].as_str()).collect();
    assert_eq!(order, ["light", "meat_on", "wrap", "finish", "pull", "slice", "turn_in"]);
    let instants: Vec<&str> = rows.iter().map(|row| row[2].as_str()).collect();
    assert!(instants.is_sorted(), "{instants:?}");
    assert_eq!(instants[6], "2026-05-02T17:00:00Z");
    assert!(said.contains("not your cooks") && said.contains("neither tenderness nor"), "{said}");
    assert!(said.contains("90 times in 100"), "{said}");
    // Surer is earlier; a heavier piece too.
    let sure = [&typed[..], &["--certainty", "93"]].concat();
    assert!(planned(folder.path(), &sure, 0).0[1][2] < rows[1][2]);
    // The bundled cooks count as ten of one's own: 10 / 10.6 is all that they can promise.
    let surer = [&typed[..], &["--certainty", "97"]].concat();
    let (_, refused) = planned(folder.path(), &surer, 2);
    assert!(refused.contains("cannot promise 97 %, at most 94 %"), "{refused}");
    let heavy = ["--weight", "20lb", "--setpoint", "250F", "--turn-in", "2026-05-02T17:00Z"];
    assert!(planned(folder.path(), &heavy, 0).0[1][2] < rows[1][2]);
    // Too late is a conflict.
    let soon = ["--weight", "12lb", "--setpoint", "250F", "--turn-in", "2026-05-01T14:00Z"];
    let (late, _) = planned(folder.path(), &soon, 1);
    assert!(late[0][3].starts_with("too late by"), "{late:?}");
}

#[test]
fn conflicts_on_a_pit_are_named_and_the_page_for_the_pit_gets_the_milestones() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let header = "cook,date,pit,trimmed_weight_kg,pit_setpoint_c,turn_in_at";
    let row = |cook: &str, setpoint: u32, at: &str| {
        format!("{cook},2026-05-02,big,6,{setpoint},2026-05-02T{at}:00Z\n")
    };
    let sheet = [row("first", 110, "17:00"), row("second", 130, "18:00")].concat();
    write(folder.path(), "sheet.csv", &format!("{header}\n{sheet}"));
    write(
        folder.path(),
        "season.toml",
        "team = \"Test\"\ntime_zone = \"UTC\"\n[pits.big]\nholds_kg = 10\nlight_min = 30\n",
    );
    let (rows, said) = planned(folder.path(), &[], 1);
    assert_eq!(rows.len(), 12);
    let conflict = &rows[0][3];
    assert!(
        conflict.contains("big holds 22.0\u{a0}lb and would have 26.5\u{a0}lb on it"),
        "{conflict}"
    );
    assert!(
        conflict.contains("big is to be at 230 °F for it and at 266 °F for second"),
        "{conflict}"
    );
    assert!(said.contains("wrote the milestones into"), "{said}");
    let page = std::fs::read_to_string(folder.path().join("pit.html")).unwrap();
    assert!(page.contains("Light the fire") && page.contains("Core at 190 °F"));
    assert_eq!(page.matches("\"label\":\"Turn-in\"").count(), 2);
}

#[test]
fn a_sheet_to_plan_is_asked_what_a_run_would_ask() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    small_season(folder);
    write(folder, "season.toml", "team = \"Test\"\ntime_zone = \"America/Chicago\"\n");
    let header = "cook,date,pit,cut,trimmed_weight_lb,pit_setpoint_f,turn_in_at,wrap_method\n";
    let sheet = |rows: &str| write(folder, "sheet.csv", &format!("{header}{rows}"));
    // A clock time has no day without a meat-on, and half a time none at all.
    sheet(
        "a,2026-05-03,A,brisket,12,250,12:00,foil\nb,2026-05-03,A,brisket,12,250,2026-05-03 12,foil\n",
    );
    let (_, said) = planned(folder, &["a"], 2);
    assert!(said.contains("its `turn_in_at` `12:00` cannot be placed: write date and time, such as 2026-05-03 12:00"), "{said}");
    let (_, said) = planned(folder, &["b"], 2);
    assert!(said.contains("`2026-05-03 12` cannot be placed"), "{said}");
    assert_eq!(planned(folder, &["a", "--turn-in", "2026-05-03 12:00"], 0).0.len(), 6);

    let day = "2026-05-03 12:00";
    sheet(&format!("good,2026-05-03,A,brisket,12,250,{day},foil\n"));
    let (rows, said) = planned(folder, &[], 0);
    assert!(rows[0][3].is_empty() && !said.contains("open:"), "{said}");
    // The others are planned, and the one that is left out is named.
    sheet(&format!(
        "good,2026-05-03,A,brisket,12,250,{day},foil\na,2026-05-03,B,brisket,12,250,12:00,foil\n"
    ));
    let (rows, said) = planned(folder, &[], 1);
    assert!(rows.iter().all(|row| row[0] == "good") && said.contains("cook `a`"), "{said}");
    sheet(&format!("odd,2026-05-03,A,brisket,120,,{day},foyl\n"));
    let (rows, said) = planned(folder, &[], 1);
    assert!(rows[0][3].contains("a brisket weighs between"), "{rows:?}");
    for what in ["are `foyl` and `foil` one wrap_method?", "odd: no set-point is known"] {
        assert!(said.contains(what), "{said}");
    }
}

#[test]
fn the_study_tries_forecasts_on_the_past_and_an_edited_claim_does_not_make_them_anew() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let mut sheet = String::from("cook,date,logs,pit,trimmed_weight_kg,meat_on,pull\n");
    for day in 1..7 {
        // Four days apart: the very same curve a day later would be asked about.
        let day = 4 * day;
        let log = steady_log(660).replace("2025-05-01", &format!("2025-06-{day:02}"));
        write(folder.path(), &format!("logs/c{day}.csv"), &log);
        let date = format!("2025-06-{day:02}");
        sheet.push_str(&format!(
            "c{day},{date},c{day}.csv,big,5.5,{date}T00:00:00Z,{date}T10:30:00Z\n"
        ));
    }
    std::fs::remove_file(folder.path().join("logs/one.csv")).unwrap();
    write(folder.path(), "sheet.csv", &sheet);
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let read = |name: &str| std::fs::read_to_string(folder.path().join(name)).unwrap();
    let study: serde_json::Value = serde_json::from_str(&read("out/study.json")).unwrap();
    let found = &study["forecast_backtest"];
    assert_eq!((&found["cooks"], &found["fires"]), (&6.into(), &6.into()));
    let all = found["bands"].as_array().unwrap().last().unwrap();
    // Six times the same cook: no forecast is off by more than the grid of five minutes.
    assert!(all["off_min"].as_f64().unwrap() < 6.0, "{all}");
    assert!(all["same_core_off_min"].as_f64().unwrap() < 6.0, "{all}");
    assert!(read("out/report.md").contains("How good forecasts would have been"));
    // What is kept is used as it is: an edited claim leaves the file alone.
    let kept = folder.path().join("store/forecasts.json");
    let made = std::fs::metadata(&kept).unwrap().modified().unwrap();
    write(
        folder.path(),
        "claims.toml",
        "[[claim]]\nid = \"a\"\nsays = \"A\"\nkind = \"trend\"\noutcome = \"stall_delay_min\"\nbetter = \"lower\"\nby = \"pit_early_c\"\nper = 5.0\nmatters = 10\n",
    );
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    assert_eq!(std::fs::metadata(&kept).unwrap().modified().unwrap(), made);
    // Damaged, it is made anew.
    let whole = read("store/forecasts.json");
    write(folder.path(), "store/forecasts.json", &whole.replace("\"cooks\":6", "\"cooks\":7"));
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    assert_eq!(read("store/forecasts.json"), whole);
}
