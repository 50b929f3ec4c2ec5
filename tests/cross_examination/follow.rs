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

#[test]
fn an_overnight_cook_without_a_meat_on_keeps_its_times() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "logs/a.csv", &log("2025-05-01T21:00:00Z", 0.16, false));
    let row = |date: &str, wrap: &str, pull: &str| {
        format!("{WITH_SLICE}a,{date},a.csv,brisket,12.4,250,,{wrap},paper,{pull},09:30\n")
    };
    for date in ["2025-05-01", ""] {
        season(folder.path(), "UTC", &row(date, "03:00", "08:00"), "");
        let output = cookstudy(folder.path(), &["run", "."]);
        expect_exit(&output, 0);
        assert!(!stderr(&output).contains("no-meat-on"), "{}", stderr(&output));
        let measured = measures(folder.path());
        assert_eq!((&*measured[0]["rest_min"], &*measured[0]["wrap_method"]), ("90", "paper"));
    }
    // As any other pull it is held against the curve.
    season(folder.path(), "UTC", &row("2025-05-01", "03:00", "06:30"), "");
    asked(folder.path(), &["mark-against-curve/", "pull: is `06:30` right?"], "curve");
}

/// A log of three nights, three days apart.
fn three_nights() -> String {
    let mut text = String::new();
    for (nth, day) in ["2025-05-01", "2025-05-04", "2025-05-07"].into_iter().enumerate() {
        let night = log(&format!("{day}T20:00:00Z"), 0.16, false);
        text += if nth == 0 { &night } else { night.split_once('\n').unwrap().1 };
    }
    text
}

#[test]
fn dates_name_the_nights_of_a_log() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/all.csv", &three_nights());
    let row = |cook: &str, date: &str, pull: &str, slice: &str| {
        format!("{cook},{date},all.csv,brisket,12.4,250,,,,{pull},{slice}\n")
    };
    let dated = ["2025-05-01", "2025-05-04", "2025-05-07"];
    for (pull, slice) in [("", ""), ("07:00", "08:30")] {
        let rows: String = ["a", "b", "c"]
            .into_iter()
            .zip(dated)
            .map(|(cook, date)| row(cook, date, pull, slice))
            .collect();
        season(folder, "UTC", &format!("{WITH_SLICE}{rows}"), "");
        not_asked(folder);
        for (measured, date) in measures(folder).iter().zip(dated) {
            let number = |column: &str| measured[column].parse::<f64>().unwrap();
            assert!((number("total_min") - 600.0).abs() <= 6.0, "{measured:?}");
            assert!(number("rest_min") <= 90.0, "{measured:?}");
            assert_eq!(measured["date"], date);
        }
    }
    // A meat-on parts the log as well, and no rest lasts until the next night.
    let rows = "a,2025-05-01,all.csv,brisket,12.4,250,21:00,,,,\nc,2025-05-07,all.csv,brisket,12.4,250,21:00,,,,\n";
    season(folder, "UTC", &format!("{WITH_SLICE}{rows}"), "");
    let _ = cookstudy(folder, &["run", "."]);
    let rest: f64 = measures(folder)[0]["rest_min"].parse().unwrap();
    assert!(rest <= 90.0, "{rest}");
}

#[test]
fn a_log_of_three_nights_without_a_row_is_three_cooks() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(folder, "logs/all.csv", &three_nights());
    season(folder, "UTC", WITH_SLICE, "");
    let output = cookstudy(folder, &["run", "."]);
    expect_exit(&output, 0);
    let told = stderr(&output);
    assert!(told.contains("cooks follow each other in it"), "{told}");
    let totals: Vec<f64> =
        measures(folder).iter().map(|cook| cook["total_min"].parse().unwrap()).collect();
    assert_eq!(totals.len(), 3);
    assert!(totals.iter().all(|total| (total - 600.0).abs() <= 6.0), "{totals:?}");
    let again = cookstudy(folder, &["run", "."]);
    expect_exit(&again, 0);
    assert!(stdout(&again).contains("up to date") || stderr(&again).contains("up to date"));
}

#[test]
fn a_slice_of_the_other_half_of_the_day_is_asked_about_where_all_others_rest_alike() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mut rows = String::new();
    for (cook, day) in [("a", 1), ("b", 8), ("c", 15), ("d", 22)] {
        write(
            folder,
            &format!("logs/{cook}.csv"),
            &log(&format!("2025-05-{day:02}T23:00:00Z"), 0.16, false),
        );
        let slice = if cook == "c" { "23:30" } else { "11:30" };
        rows += &format!(
            "{cook},2025-05-{:02},{cook}.csv,brisket,12.4,250,00:00,05:00,paper,10:00,{slice}\n",
            day + 1
        );
    }
    season(folder, "UTC", &format!("{WITH_SLICE}{rows}"), "");
    let said = ["long-rest/", "slice: is `23:30` right?", "earlier: slice at 2025-05-16 11:30"];
    let measured = asked(folder, &said, "earlier");
    assert!(measured.iter().all(|cook| cook["rest_min"] == "90"), "{measured:?}");
    season(
        folder,
        "UTC",
        &format!("{WITH_SLICE}{}", rows.replace("23:30", "2025-05-16 23:30")),
        "",
    );
    not_asked(folder);
}
