//! Card, events and curves that tell two stories: asked, or used with exit 1, and never in silence;
//! and beside each the clean neighbour, which is not asked about.

mod support;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, rows, stderr, stdout, write};

/// Minutes from the log's beginning: the meat goes on over a hot pit, is wrapped, comes off.
const ON: i64 = 60;
const WRAP: i64 = ON + 300;
const PULL: i64 = ON + 600;
const END: i64 = PULL + 70;

/// A log of one cook, a reading a minute, from an instant on. The pit runs at 121 °C; the core warms
/// by Newton's law with `k` an hour. Lids open at all three marks, the core dips at the wrap, and the
/// fire is shut down at the pull.
fn log(start: &str, k: f64, fahrenheit: bool) -> String {
    let start: jiff::Timestamp = start.parse().unwrap();
    let unit = if fahrenheit { "F" } else { "C" };
    let mut text = format!("time,Pit ({unit}),Brisket ({unit})\n");
    let after = |minute: i64, at: i64, tau: f64| {
        if minute < at { 0.0 } else { (-((minute - at) as f64) / tau).exp() }
    };
    let core_of = |minute: i64| {
        let hours = (minute - ON).max(0) as f64 / 60.0;
        121.0 - 116.0 * (-k * hours).exp()
    };
    for minute in 0..END {
        // A saw-tooth of half a degree: a pit is never quite still.
        let ripple = (minute % 10) as f64 * 0.1 - 0.45;
        let lids = 35.0 * (after(minute, ON, 7.0) + after(minute, WRAP, 7.0));
        let warm_up = 100.0 * (-(minute as f64) / 9.0).exp();
        let mut pit = 121.0 + ripple - lids - warm_up;
        let mut core = core_of(minute.min(PULL)) - 5.0 * after(minute, WRAP, 5.0);
        if minute > PULL {
            pit = 20.0 + 75.0 * after(minute, PULL, 25.0);
            core -= 0.05 * (minute - PULL) as f64;
        }
        let shown = |celsius: f64| if fahrenheit { celsius * 1.8 + 32.0 } else { celsius };
        let at = start.checked_add(jiff::SignedDuration::from_mins(minute)).unwrap();
        writeln!(text, "{at},{:.1},{:.1}", shown(pit), shown(core)).unwrap();
    }
    text
}

/// A season of these rows under the sheet's heading.
fn season(folder: &Path, zone: &str, sheet: &str, events: &str) {
    write(folder, "sheet.csv", sheet);
    write(folder, "events.csv", &format!("cook,time,event,value,note\n{events}"));
    write(folder, "claims.toml", "");
    write(folder, "season.toml", &format!("team = \"Test\"\ntime_zone = \"{zone}\"\n"));
}

/// Writes the same answer to every open question.
fn answer(folder: &Path, take: &str) {
    let path = folder.join("questions.toml");
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains("answer = \"\""), "{text}");
    fs::write(&path, text.replace("answer = \"\"", &format!("answer = \"{take}\""))).unwrap();
}

/// The measures of a season's cooks.
fn measures(folder: &Path) -> Vec<std::collections::HashMap<String, String>> {
    let output = cookstudy(folder, &["measures", "--store", "store", "--format", "csv"]);
    expect_exit(&output, 0);
    rows(&stdout(&output))
}

/// Runs, expects what is said, answers, and expects silence and exit 0; gives the measures then.
#[track_caller]
fn asked(
    folder: &Path,
    said: &[&str],
    take: &str,
) -> Vec<std::collections::HashMap<String, String>> {
    let output = cookstudy(folder, &["run", "."]);
    expect_exit(&output, 1);
    let told = stderr(&output);
    for part in said {
        assert!(told.contains(part), "`{part}` is not said:\n{told}");
    }
    // The same on every run until it is settled.
    expect_exit(&cookstudy(folder, &["run", "."]), 1);
    answer(folder, take);
    let output = cookstudy(folder, &["run", "."]);
    expect_exit(&output, 0);
    measures(folder)
}

#[track_caller]
fn not_asked(folder: &Path) {
    let output = cookstudy(folder, &["run", "."]);
    expect_exit(&output, 0);
    assert!(!stderr(&output).contains("question "), "{}", stderr(&output));
}

const HEAD: &str = "cook,date,logs,cut,raw_weight_lb,trimmed_weight_lb,cooked_weight_lb,pit_setpoint_f,meat_on,wrap_at,wrap_method,pull\n";

#[test]
fn a_set_point_in_the_other_unit_is_asked_about_once_for_its_column() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", 0.16, false));
    write(folder, "logs/b.csv", &log("2025-05-08T10:00:00Z", 0.19, false));
    let rows = |a: &str, b: &str| {
        format!(
            "{HEAD}a,2025-05-01,a.csv,brisket,17.8,12.4,8,{a},11:00,16:00,paper,21:00\nb,2025-05-08,b.csv,brisket,16,12,8,{b},11:00,16:00,foil,21:00\n"
        )
    };
    season(folder, "UTC", &rows("250", "275"), "");
    not_asked(folder);
    season(folder, "UTC", &rows("121", "122"), "");
    let said = [
        "set-point-against-pit/",
        "column `pit_setpoint_f`: is 121 and 122 in °F",
        "sheet.csv:3 pit_setpoint_f",
    ];
    let measured = asked(folder, &said, "C");
    assert_eq!((&*measured[0]["pit_setpoint_c"], &*measured[1]["pit_setpoint_c"]), ("121", "122"));
}

#[test]
fn a_weight_that_the_others_speak_against_waits() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", 0.16, false));
    let row = |trimmed: &str, cooked: &str| {
        format!(
            "{HEAD}a,2025-05-01,a.csv,brisket,17.8,{trimmed},{cooked},250,11:00,16:00,paper,21:00\n"
        )
    };
    season(folder, "UTC", &row("12.4", "8"), "");
    not_asked(folder);
    season(folder, "UTC", &row("76.9", "8"), "");
    let measured =
        asked(folder, &["weight-in-doubt/", "76.9", "sheet.csv:2 trimmed_weight_lb"], "leave-out");
    assert_eq!(measured[0]["trimmed_weight_kg"], "");
    // In kg under a heading of lb: the cooked weight tells.
    season(folder, "UTC", &row("5.6", "8"), "");
    let measured = asked(folder, &["is 5.6 in lb, as the heading says, or in kg?"], "kg");
    assert_eq!(measured[0]["trimmed_weight_kg"], "5.6");
}

#[test]
fn a_pull_while_the_core_goes_on_rising_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", 0.16, false));
    let row = |pull: &str| {
        format!("{HEAD}a,2025-05-01,a.csv,brisket,17.8,12.4,8,250,11:00,16:00,paper,{pull}\n")
    };
    season(folder, "UTC", &row("20:48"), "");
    not_asked(folder);
    season(folder, "UTC", &row("17:00"), "");
    let measured =
        asked(folder, &["mark-against-curve/", "sheet.csv:2 pull: is `17:00` right?"], "curve");
    let minutes: f64 = measured[0]["total_min"].parse().unwrap();
    assert!((minutes - 600.0).abs() < 15.0, "{minutes} min");
}

#[test]
fn a_wrap_hours_from_the_only_hands_at_the_meat_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", 0.16, false));
    let row = |wrap: &str| {
        format!("{HEAD}a,2025-05-01,a.csv,brisket,17.8,12.4,8,250,11:00,{wrap},paper,21:00\n")
    };
    season(folder, "UTC", &row("16:10"), "");
    not_asked(folder);
    season(folder, "UTC", &row("19:00"), "");
    asked(folder, &["mark-against-curve/", "sheet.csv:2 wrap_at: is `19:00` right?"], "curve");
    // A note at the sign explains it: then the stated wrap has no sign, which is a warning.
    season(folder, "UTC", &row("19:00"), "a,2025-05-01 16:00,probe_moved,,\n");
    not_asked(folder);
}

#[test]
fn a_zone_that_is_wrong_is_named_once_for_all_its_cooks() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mut sheet = HEAD.to_owned();
    for (day, k) in [(1, 0.16), (8, 0.19), (15, 0.175)] {
        let name = format!("logs/{day}.csv");
        write(folder, &name, &log(&format!("2025-05-{day:02}T15:00:00Z"), k, false));
        writeln!(
            sheet,
            "c{day},2025-05-{day:02},{day}.csv,brisket,17.8,12.4,8,250,11:00,16:00,paper,21:00"
        )
        .unwrap();
    }
    season(folder, "America/Chicago", &sheet, "");
    not_asked(folder);
    season(folder, "UTC", &sheet, "");
    let said =
        ["marks-shifted/", "3 cooks: all marks lie 5 h before their curves: is the zone wrong"];
    let measured = asked(folder, &said, "move");
    for row in measured {
        let minutes: f64 = row["total_min"].parse().unwrap();
        assert!((minutes - 600.0).abs() < 1.0, "{minutes} min");
    }
}

#[test]
fn one_curve_under_two_names_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", 0.16, false));
    write(folder, "logs/b.csv", &log("2025-05-08T10:00:00Z", 0.165, false));
    let rows = format!(
        "{HEAD}a,2025-05-01,a.csv,brisket,17.8,12.4,8,250,11:00,16:00,paper,21:00\nb,2025-05-08,b.csv,brisket,16,12,8,250,11:00,16:00,foil,21:00\n"
    );
    season(folder, "UTC", &rows, "");
    not_asked(folder);
    // The same in °F, by a clock that was 40 min fast, cut at both ends.
    let again = log("2025-05-01T10:40:00Z", 0.16, true);
    let lines: Vec<&str> = again.lines().collect();
    let cut = [&lines[..1], &lines[30..lines.len() - 40]].concat().join("\n");
    write(folder, "logs/again.csv", &cut);
    let measured =
        asked(folder, &["same-curve-twice/", "are the cooks `a` and `again` one?"], "one");
    let again = measured.iter().find(|row| row["cook"] == "again").unwrap();
    assert_eq!(again["exclude"], "the same curve as a");
}
