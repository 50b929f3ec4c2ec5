//! Marks that follow others: what is stated by the clock counts from the mark before it, also where that is not the
//! one that was stated.

use super::*;

const WITH_SLICE: &str =
    "cook,date,logs,cut,trimmed_weight_lb,pit_setpoint_f,meat_on,wrap_at,wrap_method,pull,slice\n";

fn row(cook: &str, date: &str, on: &str, pull: &str, slice: &str) -> String {
    format!("{cook},{date},{cook}.csv,brisket,12.4,250,{on},16:00,paper,{pull},{slice}\n")
}

/// A season folder of these rows whose cooks `a` and `b` were on 1 and 8 May from 11:00 to 21:00.
fn folder_of(rows: &[String]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "logs/a.csv", &log("2025-05-01T10:00:00Z", 0.16, false));
    write(folder.path(), "logs/b.csv", &log("2025-05-08T10:00:00Z", 0.19, false));
    season(folder.path(), "UTC", &format!("{WITH_SLICE}{}", rows.concat()), "");
    folder
}

fn clean_b() -> String {
    row("b", "2025-05-08", "11:00", "21:00", "22:30")
}

#[test]
fn a_slice_that_comes_out_on_the_day_after_is_asked_about() {
    let folder = folder_of(&[row("a", "2025-05-01", "11:00", "21:00", "20:30"), clean_b()]);
    let said = ["long-rest/", "slice: is `20:30` right? The rest would last 23 h 30"];
    let measured = asked(folder.path(), &said, "leave-out");
    assert_eq!(measured[0]["total_min"], "600");
    assert_ne!(measured[0]["rest_min"], "1410");
    let folder = folder_of(&[row("a", "2025-05-01", "11:00", "21:00", "07:00"), clean_b()]);
    not_asked(folder.path());
    assert_eq!(measures(folder.path())[0]["rest_min"], "600");
}

#[test]
fn a_slice_follows_the_pull_that_the_curve_shows() {
    // Nine in the morning for nine in the evening.
    let folder = folder_of(&[row("a", "2025-05-01", "11:00", "09:00", "22:30"), clean_b()]);
    let said = ["mark-against-curve/", "morning and afternoon were taken for each other"];
    let measured = asked(folder.path(), &said, "curve");
    assert_eq!((&*measured[0]["total_min"], &*measured[0]["rest_min"]), ("600", "90"));
}

#[test]
fn clock_times_count_from_the_meat_on_that_the_log_shows() {
    let folder = folder_of(&[row("a", "2025-05-01", "", "21:00", "22:30"), clean_b()]);
    let output = cookstudy(folder.path(), &["run", "."]);
    expect_exit(&output, 0);
    assert!(!stderr(&output).contains("no-meat-on"), "{}", stderr(&output));
    let measured = measures(folder.path());
    assert_eq!(measured[0]["rest_min"], "90");
    let total: f64 = measured[0]["total_min"].parse().unwrap();
    assert!((total - 600.0).abs() <= 6.0, "{total}");
}

#[test]
fn logs_that_stand_in_each_others_row_are_told_from_marks_that_do() {
    let name = |cook: &str, log: &str, date: &str| {
        row(cook, date, "11:00", "21:00", "22:30").replace(&format!("{cook}.csv"), log)
    };
    let folder = folder_of(&[name("a", "b.csv", "2025-05-01"), name("b", "a.csv", "2025-05-08")]);
    let output = cookstudy(folder.path(), &["run", "."]);
    expect_exit(&output, 1);
    let told = stderr(&output);
    for part in ["have the cooks `a` and `b` each other's log?", "exchange the two cells of `logs`"]
    {
        assert!(told.contains(part), "{told}");
    }
    assert!(!told.contains("exchange: each has"), "{told}");
}

#[test]
fn a_date_moves_with_its_marks() {
    let folder = folder_of(&[row("a", "2025-05-02", "11:00", "21:00", "22:30"), clean_b()]);
    let measured = asked(folder.path(), &["marks-shifted/", "is the date wrong?"], "move");
    assert_eq!(measured[0]["total_min"], "600");
    let select = "select date from cooks where cook = 'a'";
    let output =
        cookstudy(folder.path(), &["query", "--store", "store", "--format", "csv", select]);
    assert!(stdout(&output).contains("2025-05-01"), "{}", stdout(&output));
    // A season that is the year of the date cannot move with it.
    let folder = folder_of(&[row("a", "2026-05-01", "11:00", "21:00", "22:30"), clean_b()]);
    let output = cookstudy(folder.path(), &["run", "."]);
    expect_exit(&output, 1);
    let told = stderr(&output);
    assert!(told.contains("all marks lie 365 days after"), "{told}");
    assert!(
        told.contains("write the right dates into the sheet") && !told.contains("move:"),
        "{told}"
    );
}
