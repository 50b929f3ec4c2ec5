//! Card, events and curves that tell two stories: asked, or used with exit 1, and never in silence;
//! and beside each the clean neighbour, which is not asked about.
#![allow(clippy::format_collect, reason = "logs of a few hundred lines")]

#[path = "cross_examination/follow.rs"]
mod follow;
#[path = "cross_examination/probe_out.rs"]
mod probe_out;
#[path = "cross_examination/rows.rs"]
mod rows_of_others;
#[path = "cross_examination/silent.rs"]
mod silent;
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
    let measured = asked(folder, &["is 5.6 in lb, as it was read, or in kg?"], "kg");
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
fn a_mark_among_the_events_is_asked_about_with_its_row() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let sheet = "cook,date,logs,meat_on\na,2025-06-01,a.csv,2025-06-01T07:00:00Z\n";
    let events = "a,2025-06-01T09:00:00Z,spritz,,\na,2025-06-02T17:00:00Z,pull,,\n";
    season(folder, "UTC", sheet, events);
    write(folder, "logs/a.csv", &log("2025-06-01T06:00:00Z", 0.16, false));
    let output = cookstudy(folder, &["run"]);
    expect_exit(&output, 1);
    let asked = fs::read_to_string(folder.join("questions.toml")).unwrap();
    assert!(asked.contains("events.csv:3 time: is `2025-06-02 17:00` right?"), "{asked}");
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

/// A log of two meats on one pit; in the minutes `swapped` each is recorded as the other.
fn two_meats(swapped: std::ops::Range<i64>) -> String {
    let start: jiff::Timestamp = "2025-05-01T10:00:00Z".parse().unwrap();
    let mut text = "time,Pit (C),Meat 1 (C),Meat 2 (C)\n".to_owned();
    for minute in 0..END {
        let core = |k: f64| {
            let hours = (minute.min(PULL) - ON).max(0) as f64 / 60.0;
            121.0 - 116.0 * (-k * hours).exp()
        };
        let (one, two) = (core(0.16), core(0.13));
        let (one, two) = if swapped.contains(&minute) { (two, one) } else { (one, two) };
        let pit = if minute > PULL {
            20.0 + 75.0 * (-((minute - PULL) as f64) / 25.0).exp()
        } else {
            121.0 - 100.0 * (-(minute as f64) / 9.0).exp()
        };
        let at = start.checked_add(jiff::SignedDuration::from_mins(minute)).unwrap();
        writeln!(text, "{at},{pit:.1},{one:.1},{two:.1}").unwrap();
    }
    text
}

#[test]
fn meats_of_a_fire_that_change_places_are_asked_about_and_put_right() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let sheet = "cook,date,logs,cut,meat_on,pull\na,2025-05-01,two.csv#Meat 1,brisket,11:00,21:00\nb,2025-05-01,two.csv#Meat 2,brisket,11:00,21:00\n";
    season(folder, "UTC", sheet, "");
    write(folder, "logs/two.csv", &two_meats(0..0));
    not_asked(folder);
    let clean = measures(folder);
    write(folder, "logs/two.csv", &two_meats(330..420));
    let said = ["meats-exchanged/", "change places 5 h 30 into the log, for 90 min"];
    let mended = asked(folder, &said, "exchanged");
    for (clean, mended) in clean.iter().zip(&mended) {
        for column in ["total_min", "pull_core_c", "clock_to_finish_min", "stall_min"] {
            assert_eq!(clean[column], mended[column], "{column} of {}", clean["cook"]);
        }
    }
}

#[test]
fn two_devices_under_one_name_are_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let one = log("2025-05-01T10:00:00Z", 0.16, false);
    let other = log("2025-05-01T10:00:30Z", 0.11, false);
    let mut text = "time,device,Pit (C),Brisket (C)\n".to_owned();
    for (a, b) in one.lines().zip(other.lines()).skip(1) {
        for (device, line) in [("A", a), ("B", b)] {
            let (time, rest) = line.split_once(',').unwrap();
            writeln!(text, "{time},{device},{rest}").unwrap();
        }
    }
    let sheet =
        format!("{HEAD}a,2025-05-01,a.csv,brisket,17.8,12.4,8,250,11:00,16:00,paper,21:00\n");
    season(folder, "UTC", &sheet, "");
    let one_device: Vec<&str> = text.lines().filter(|line| !line.contains(",B,")).collect();
    write(folder, "logs/a.csv", &one_device.join("\n"));
    not_asked(folder);
    write(folder, "logs/a.csv", &text);
    let measured = asked(folder, &["two-sources/", "is Brisket one probe?"], "leave-out");
    assert_eq!(measured[0]["exclude"], "its log holds two sources under one name");
}

#[test]
fn a_cell_with_its_own_unit_wins_over_its_heading_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", 0.16, false));
    let sheet =
        format!("{HEAD}a,2025-05-01,a.csv,brisket,17.8,5.6 kg,8,121 C,11:00,16:00,paper,21:00\n");
    season(folder, "UTC", &sheet, "");
    let output = cookstudy(folder, &["run", "."]);
    expect_exit(&output, 0);
    let told = stderr(&output);
    for part in ["`121 C` is read in C, as the cell says", "`5.6 kg` is read in kg"] {
        assert!(told.contains(part), "{told}");
    }
    let row = &measures(folder)[0];
    assert_eq!((&*row["pit_setpoint_c"], &*row["trimmed_weight_kg"]), ("121", "5.6"));
}

#[test]
fn a_start_in_numbers_is_read_where_one_order_fits() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let elapsed = |started: &str| {
        let lines = log("2026-06-06T04:50:00Z", 0.16, false);
        let rows = lines.lines().skip(1).enumerate();
        let rows: Vec<String> = rows
            .map(|(minute, line)| format!("{minute},{}", line.split_once(',').unwrap().1))
            .collect();
        format!("Started: {started}\n\nElapsed (min),Pit (C),Brisket (C)\n{}\n", rows.join("\n"))
    };
    let sheet = |date: &str| {
        format!("{HEAD}a,{date},a.csv,brisket,17.8,12.4,8,250,05:50,10:50,paper,15:50\n")
    };
    // The same day in either order; and in two, of which the sheet has one.
    for (started, date) in
        [("06/06/2026 04:50 AM", "2026-06-06"), ("06/05/2026 04:50 AM", "2026-06-05")]
    {
        write(folder, "logs/a.csv", &elapsed(started));
        season(folder, "UTC", &sheet(date), "");
        let output = cookstudy(folder, &["run", "."]);
        expect_exit(&output, 0);
        assert!(!stderr(&output).contains("log-begins-late"), "{}", stderr(&output));
        assert_eq!(measures(folder)[0]["total_min"], "600", "{started}");
    }
}

#[test]
fn a_zero_that_is_not_meat_on_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    // The probe lies in the air until the meat goes on, an hour after the log's zero.
    let lines = log("2026-06-06T04:50:00Z", 0.16, false);
    let rows = lines.lines().skip(1).enumerate().map(|(minute, line)| {
        let mut cells = line.split(',').skip(1);
        let (pit, core) = (cells.next().unwrap(), cells.next().unwrap());
        let core = if (minute as i64) < ON { "22.0" } else { core };
        format!("{minute},{pit},{core}\n")
    });
    let rows: String = rows.collect();
    write(folder, "logs/a.csv", &format!("Elapsed (min),Pit (C),Brisket (C)\n{rows}"));
    let sheet =
        |pull: &str| format!("{HEAD}a,2026-06-06,a.csv,brisket,17.8,12.4,8,250,05:50,,,{pull}\n");
    season(folder, "UTC", &sheet("15:50"), "");
    let said = ["zero-before-meat-on/", "begin before meat-on?", "60 min"];
    let measured = asked(folder, &said, "curve");
    assert_eq!(measured[0]["total_min"], "600");
    // Without a pull meat-on alone tells; what was answered of the logs holds.
    season(folder, "UTC", &sheet(""), "");
    not_asked(folder);
}
