//! Logs in which the probe waits in the air of a room, is put into the meat, and comes out of it at the
//! pull over a pit that burns on.

use super::{END, ON, PULL, WRAP, asked, measures, not_asked, season, write};
use std::fmt::Write as _;

/// Core of such a cook and pit of it, °C, at a minute; the meat takes heat with `k` an hour until `off`. A
/// lid is opened 40 min before that.
fn readings(minute: i64, k: f64, off: i64) -> (f64, f64) {
    let after = |at: i64, tau: f64| {
        if minute < at { 0.0 } else { (-((minute - at) as f64) / tau).exp() }
    };
    let ripple = (minute % 10) as f64 * 0.1 - 0.45;
    let warm_up = 100.0 * (-(minute as f64) / 9.0).exp();
    let lids = 35.0 * after(ON, 7.0) + 25.0 * (after(WRAP, 7.0) + after(off - 40, 7.0));
    let pit = 121.0 + ripple - warm_up - lids;
    let in_meat = |minute: i64| 121.0 - 117.0 * (-k * (minute - ON) as f64 / 60.0).exp();
    let core = if minute < ON {
        22.0
    } else if minute <= off {
        in_meat(minute) - 5.0 * after(WRAP, 5.0)
    } else {
        22.0 + (in_meat(off) - 22.0) * after(off, 8.0)
    };
    (pit, core)
}

fn log(start: &str, heading: &str, channels: impl Fn(i64) -> Vec<f64>) -> String {
    let mut text = format!("{heading}\n");
    lines(&mut text, start, channels);
    text
}

fn lines(text: &mut String, start: &str, channels: impl Fn(i64) -> Vec<f64>) {
    let start: jiff::Timestamp = start.parse().unwrap();
    for minute in 0..END {
        let at = start.checked_add(jiff::SignedDuration::from_mins(minute)).unwrap();
        let values: Vec<String> = channels(minute).iter().map(|c| format!("{c:.1}")).collect();
        writeln!(text, "{at},{}", values.join(",")).unwrap();
    }
}

const HEAD: &str = "cook,date,logs,cut,meat_on,wrap_at,wrap_method,pull,slice\n";
const MEAT: &str = "time,Pit (C),Brisket (C)";

fn one_meat(minute: i64) -> Vec<f64> {
    let (pit, core) = readings(minute, 0.16, PULL);
    vec![pit, core]
}

fn minutes(measured: &std::collections::HashMap<String, String>) -> f64 {
    measured["total_min"].parse().unwrap()
}

#[test]
fn without_a_card_the_pull_is_the_fall_of_the_core() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", MEAT, one_meat));
    season(folder, "UTC", &format!("{HEAD}a,2025-05-01,a.csv,brisket,,,,,\n"), "");
    not_asked(folder);
    assert!((minutes(&measures(folder)[0]) - 600.0).abs() < 8.0);
}

#[test]
fn a_probe_put_in_at_the_wrap_is_not_judged_before_it() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let late = |minute: i64| {
        let (pit, core) = readings(minute, 0.16, PULL);
        vec![pit, if minute < WRAP { 22.0 } else { core }]
    };
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", MEAT, late));
    let row = "a,2025-05-01,a.csv,brisket,11:00,16:00,foil,21:00,22:00\n";
    season(folder, "UTC", &format!("{HEAD}{row}"), "");
    not_asked(folder);
    let measured = &measures(folder)[0];
    assert_eq!(measured["not_judged_reason"], "late-core");
    assert!((minutes(measured) - 600.0).abs() < 1.0);
}

#[test]
fn without_a_meat_on_a_log_that_begins_warm_gives_a_lower_bound() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    // The probe is put into warm meat; or the logger is switched on then. After the pull it cools to the room.
    let in_air = |from: i64, minute: i64| {
        let (pit, core) = readings(minute, 0.16, PULL);
        vec![pit, if minute < from { 22.0 } else { core }]
    };
    let only_late = |from: i64| {
        let all = log("2025-05-01T10:00:00Z", MEAT, one_meat);
        let mut lines = all.lines();
        let heading = lines.next().unwrap();
        let late: Vec<&str> = lines.skip(usize::try_from(from).unwrap()).collect();
        format!("{heading}\n{}\n", late.join("\n"))
    };
    let logs = [
        log("2025-05-01T10:00:00Z", MEAT, |minute| in_air(WRAP, minute)),
        only_late(WRAP - 60),
        only_late(PULL - 180),
    ];
    for (log, begins) in logs.iter().zip([WRAP, WRAP - 60, PULL - 180]) {
        write(folder, "logs/a.csv", log);
        season(folder, "UTC", &format!("{HEAD}a,2025-05-01,a.csv,brisket,,,,21:00,22:00\n"), "");
        let output = super::cookstudy(folder, &["run", "."]);
        assert!(super::stderr(&output).contains("log-begins-warm"), "{}", super::stderr(&output));
        let measured = &measures(folder)[0];
        assert_eq!((&*measured["total_min_censored"], &*measured["rest_min"]), ("true", "60"));
        assert!((minutes(measured) - (PULL - begins) as f64).abs() < 12.0, "{measured:?}");
        assert_eq!((&*measured["clock_zero_min"], &*measured["ramp_min"]), ("", ""));
    }
}

#[test]
fn a_meat_on_or_pull_that_the_probe_contradicts_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/a.csv", &log("2025-05-01T10:00:00Z", MEAT, one_meat));
    let row = |on: &str, wrap: &str, pull: &str| {
        format!("{HEAD}a,2025-05-01,a.csv,brisket,{on},{wrap},foil,{pull},22:30\n")
    };
    season(folder, "UTC", &row("11:00", "16:00", "21:00"), "");
    not_asked(folder);
    // Twelve hours and one hour off, and a wrap around meat that is hardly warm.
    for (row, asks, take) in [
        (
            row("2025-04-30 23:00", "16:00", "21:00"),
            "meat_on: is `2025-04-30 23:00` right?",
            "curve",
        ),
        (row("12:10", "16:00", "21:00"), "meat_on: is `12:10` right?", "curve"),
        (row("11:00", "16:00", "20:00"), "pull: is `20:00` right?", "curve"),
        (row("11:00", "12:20", "21:00"), "wrap_at: is `12:20` right?", "leave-out"),
    ] {
        season(folder, "UTC", &row, "");
        // Another season, of which nothing was answered.
        let _ = std::fs::remove_file(folder.join("questions.toml"));
        let _ = std::fs::remove_dir_all(folder.join("store"));
        let measured = asked(folder, &[asks], take);
        assert!((minutes(&measured[0]) - 600.0).abs() < 8.0, "{asks}: {:?}", minutes(&measured[0]));
    }
}

#[test]
fn the_second_night_of_a_log_goes_to_the_card_whose_marks_lie_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mut text = log("2025-05-01T10:00:00Z", MEAT, one_meat);
    lines(&mut text, "2025-05-08T10:00:00Z", |minute| {
        let (pit, core) = readings(minute, 0.15, PULL);
        vec![pit, core]
    });
    write(folder, "logs/may.csv", &text);
    let sheet = format!(
        "{HEAD}a,2025-05-01,may.csv,brisket,11:00,16:00,foil,21:00,22:00\nb,2025-05-08,,brisket,11:00,16:00,foil,21:00,22:00\n"
    );
    season(folder, "UTC", &sheet, "");
    not_asked(folder);
    let measured = measures(folder);
    assert_eq!(measured.len(), 2);
    for measured in &measured {
        assert!((minutes(measured) - 600.0).abs() < 1.0, "{measured:?}");
        assert!(!measured["pull_core_c"].is_empty());
    }
}

#[test]
fn meats_of_one_log_without_a_channel_or_with_each_others_are_asked_about_once() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let two = |minute: i64| {
        let (pit, one) = readings(minute, 0.16, PULL - 70);
        let (_, other) = readings(minute, 0.14, PULL);
        vec![pit, one, other]
    };
    let heading = "time,Pit (C),Meat 1 (C),Meat 2 (C)";
    write(folder, "logs/two.csv", &log("2025-05-01T10:00:00Z", heading, two));
    let sheet = |one: &str, other: &str| {
        format!(
            "{HEAD}a,2025-05-01,two.csv{one},brisket,11:00,16:00,foil,19:50,21:00\nb,2025-05-01,two.csv{other},brisket,11:00,,none,21:00,22:00\n"
        )
    };
    season(folder, "UTC", &sheet("#Meat 1", "#Meat 2"), "");
    not_asked(folder);
    for (one, other, asks) in [
        ("", "", "which meat channel is whose"),
        ("#Meat 2", "#Meat 1", "name each other's channel?"),
    ] {
        season(folder, "UTC", &sheet(one, other), "");
        // Another season, of which nothing was answered.
        let _ = std::fs::remove_file(folder.join("questions.toml"));
        let _ = std::fs::remove_dir_all(folder.join("store"));
        asked(folder, &["whose-channel/", asks], "leave-out");
        let text = std::fs::read_to_string(folder.join("questions.toml")).unwrap();
        assert_eq!(text.matches("[[question]]").count(), 1, "{text}");
    }
}
