//! Marks and weights that stand in another's row or in another unit, where the row alone does not tell.

use super::silent::{clean_but, folder_with_log};
use super::*;

#[test]
fn a_meat_on_before_a_log_that_shows_the_meat_go_on_is_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    // The logger is switched on over a hot pit, half an hour before the meat is seen to go on.
    let text = log("2025-05-01T10:00:00Z", 0.16, false);
    let late: String = text
        .lines()
        .enumerate()
        .filter(|(line, _)| *line == 0 || *line > 30)
        .map(|(_, line)| format!("{line}\n"))
        .collect();
    write(folder, "logs/a.csv", &late);
    for on in ["11:00", "10:20"] {
        season(folder, "UTC", &clean_but(0, on), "");
        not_asked(folder);
    }
    season(folder, "UTC", &clean_but(0, "09:25"), "");
    let said = ["mark-against-curve/", "meat_on: is `09:25` right? The curve shows meat_on at"];
    asked(folder, &said, "curve");
}

/// Two rows with marks.
fn two(a: (&str, [&str; 3]), b: (&str, [&str; 3])) -> String {
    let row = |name: &str, date: &str, log: &str, [on, wrap, pull]: [&str; 3]| {
        format!("{name},{date},{log},brisket,17.8,12.4,8,250,{on},{wrap},paper,{pull}\n")
    };
    format!("{HEAD}{}{}", row("a", "2025-05-01", a.0, a.1), row("b", "2025-05-08", b.0, b.1))
}

const EXCHANGED: [&str; 2] =
    ["marks-of-another/", "have the cooks `a` and `b` each other's marks?"];

#[test]
fn marks_of_a_twelve_hour_clock_in_each_others_row_are_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    // One cook by day, one by night: what the one's log made of the other's times is twelve hours off.
    write(folder, "logs/b.csv", &log("2025-05-08T21:10:00Z", 0.19, false));
    let (of_a, of_b) = (["11:02", "4:03", "8:55"], ["10:12", "3:10", "8:08"]);
    season(folder, "UTC", &two(("a.csv", of_a), ("b.csv", of_b)), "");
    not_asked(folder);
    season(folder, "UTC", &two(("a.csv", of_b), ("b.csv", of_a)), "");
    let measured = asked(folder, &EXCHANGED, "exchange");
    assert_eq!((&*measured[0]["total_min"], &*measured[1]["total_min"]), ("593", "596"));
}

#[test]
fn marks_of_one_that_came_off_before_the_last_of_its_fire_are_told_from_anothers() {
    let folder = folder_with_log();
    let folder = folder.path();
    write(folder, "logs/b.csv", &log("2025-05-08T09:10:00Z", 0.19, false));
    // Two meats on one pit: the lid is opened when the first comes off, and the fire is shut down an hour later.
    let fire: String = log("2025-05-01T10:00:00Z", 0.16, false)
        .lines()
        .enumerate()
        .map(|(line, text)| {
            let cells: Vec<&str> = text.split(',').collect();
            if line == 0 {
                return "time,Pit (C),Meat 1 (C),Meat 2 (C)\n".to_owned();
            }
            let pit: f64 = cells[1].parse().unwrap();
            let since = line as f64 - (PULL - 59) as f64;
            let lid = if since < 0.0 { 0.0 } else { 35.0 * (-since / 7.0).exp() };
            let core: f64 = cells[2].parse().unwrap();
            format!("{},{:.1},{core},{:.1}\n", cells[0], pit - lid, core - 3.0)
        })
        .collect();
    write(folder, "logs/a.csv", &fire);
    let with_mate = |rows: String| {
        let mate = "mate,2025-05-01,a.csv#Meat 2,brisket,17.8,12.4,8,250,11:00,16:00,paper,21:00\n";
        rows + mate
    };
    let (of_a, of_b) = (["11:02", "16:03", "19:58"], ["10:12", "15:10", "20:08"]);
    let rows = |a, b| with_mate(two(("a.csv#Meat 1", a), ("b.csv", b)));
    season(folder, "UTC", &rows(of_a, of_b), "");
    not_asked(folder);
    season(folder, "UTC", &rows(of_b, of_a), "");
    let measured = asked(folder, &EXCHANGED, "exchange");
    // Its mate went on two minutes before it.
    assert_eq!((&*measured[1]["total_min"], &*measured[2]["total_min"]), ("536", "596"));
}

#[test]
fn of_two_weights_that_cannot_both_be_the_one_is_asked_about_that_its_unit_would_mend() {
    let folder = folder_with_log();
    let folder = folder.path();
    let with = |weights: &str| clean_but(0, "11:00").replace("17.8,12.4,8", weights);
    season(folder, "UTC", &with("17.8,12.4,"), "");
    not_asked(folder);
    season(folder, "UTC", &with("8.1,12.4,"), "");
    let said = ["weight-in-doubt/", "is 8.1 in lb, as it was read, or in kg?"];
    let measured = asked(folder, &said, "kg");
    let weight = |name: &str| measured[0][name].parse::<f64>().unwrap();
    assert!((weight("raw_weight_kg") - 8.1).abs() < 1e-6, "{measured:?}");
    assert!((weight("trimmed_weight_kg") - 5.62).abs() < 0.01, "{measured:?}");
    // Where the unit is right, the other weight is the wrong one.
    fs::remove_file(folder.join("questions.toml")).unwrap();
    fs::remove_dir_all(folder.join("store")).unwrap();
    let measured = asked(folder, &said, "lb");
    assert!((measured[0]["raw_weight_kg"].parse::<f64>().unwrap() - 3.67).abs() < 0.01);
    assert!(measured[0]["trimmed_weight_kg"].is_empty(), "{measured:?}");
}

#[test]
fn a_row_of_which_one_weight_is_in_the_other_unit_has_an_answer_that_says_so() {
    let folder = folder_with_log();
    let folder = folder.path();
    let mut text = HEAD.to_owned();
    let rows = [",4.8,,4.9", "17.8,12.4,8", "16.2,11.8,7.4", "17,12.9,8.1", "15.5,11.1,7"];
    for (at, weights) in rows.into_iter().enumerate() {
        let weights = weights.trim_start_matches(',');
        text += &format!("c{at},2025-05-0{},,brisket,{weights},250,,,,\n", at + 1);
    }
    season(folder, "UTC", &text, "");
    let said = [
        "are the weights (4.8, 4.9) in lb, as they were read, or in kg?",
        "raw-in-kg: 4.8 kg, the others lb",
    ];
    let measured = asked(folder, &said, "raw-in-kg");
    let weight = |name: &str| measured[0][name].parse::<f64>().unwrap();
    assert!((weight("raw_weight_kg") - 4.8).abs() < 1e-6, "{measured:?}");
    assert!((weight("cooked_weight_kg") - 2.22).abs() < 0.01, "{measured:?}");
}

#[test]
fn a_wrap_in_the_hour_that_the_clock_showed_twice_is_asked_about_where_no_lid_tells() {
    let folder = folder_with_log();
    let folder = folder.path();
    // The clock goes from 3:00 back to 2:00; the lid is opened at 3:00 of the winter's time.
    write(folder, "logs/a.csv", &log("2025-10-25T20:00:00Z", 0.16, false));
    let with = |wrap: &str| {
        let rows = clean_but(1, wrap).replace("2025-05-01", "2025-10-25");
        season(
            folder,
            "Europe/Prague",
            &rows.replace("11:00", "23:00").replace("21:00", "8:00"),
            "",
        );
    };
    for clean in ["3:00", "+3:35"] {
        with(clean);
        not_asked(folder);
    }
    with("2:30");
    let said =
        ["mark-against-curve/", "is `2:30` the first or the second time that the clock showed it?"];
    asked(folder, &said, "curve");
}
