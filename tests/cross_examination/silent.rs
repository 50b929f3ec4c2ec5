//! What was once taken as it was written although the curve, the events or the team's other cooks speak
//! against it.

use super::*;

/// Marks of a row: meat-on, wrap, method, pull.
fn sheet(on: &str, wrap: &str, method: &str, pull: &str) -> String {
    format!("{HEAD}a,2025-05-01,a.csv,brisket,17.8,12.4,8,250,{on},{wrap},{method},{pull}\n")
}

const CLEAN: [&str; 4] = ["11:00", "16:00", "paper", "21:00"];

pub(super) fn clean_but(at: usize, text: &str) -> String {
    let mut cells = CLEAN;
    cells[at] = text;
    sheet(cells[0], cells[1], cells[2], cells[3])
}

pub(super) fn folder_with_log() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "logs/a.csv", &log("2025-05-01T10:00:00Z", 0.16, false));
    folder
}

#[test]
fn a_pull_that_the_core_alone_speaks_against_is_asked_about() {
    // Neither a lid nor a shut-down fire: the pit goes on, and the core's turn tells when the meat came off.
    let shown =
        ["mark-against-curve/", "pull: is `18:00` right? The curve shows pull at 2025-05-01"];
    under_a_steady_pit(usize::MAX, &shown, "curve");
    // The log ends before it turns.
    let said = ["mark-against-curve/", "pull: is `18:00` right? The curve does not bear it out"];
    under_a_steady_pit(650, &said, "as-written");
}

/// A log of so many minutes under a pit that shows no lid; a right pull is not asked about, one three hours early is.
fn under_a_steady_pit(minutes: usize, said: &[&str], answer: &str) {
    let folder = folder_with_log();
    let folder = folder.path();
    let lines = log("2025-05-01T10:00:00Z", 0.16, false);
    let mut minute = -1;
    let smooth = |line: &str| {
        minute += 1;
        let cells: Vec<&str> = line.split(',').collect();
        match minute {
            0 => format!("{line}\n"),
            _ => format!("{},121.0,{}\n", cells[0], cells[2]),
        }
    };
    let text: String = lines.lines().take(minutes).map(smooth).collect();
    write(folder, "logs/a.csv", &text);
    season(folder, "UTC", &clean_but(3, "21:00"), "");
    not_asked(folder);
    season(folder, "UTC", &clean_but(3, "18:00"), "");
    asked(folder, said, answer);
}

#[test]
fn a_pull_an_hour_before_the_fire_is_shut_down_is_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    season(folder, "UTC", &clean_but(3, "20:40"), "");
    not_asked(folder);
    season(folder, "UTC", &clean_but(3, "20:00"), "");
    asked(folder, &["mark-against-curve/", "pull: is `20:00` right?"], "curve");
}

#[test]
fn a_meat_on_hours_before_a_log_that_begins_raw_is_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    season(folder, "UTC", &clean_but(0, "11:00"), "");
    not_asked(folder);
    season(folder, "UTC", &clean_but(0, "07:30"), "");
    asked(folder, &["mark-against-curve/", "meat_on: is `07:30` right?"], "curve");
}

#[test]
fn marks_of_one_cook_an_hour_early_are_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    season(folder, "UTC", &sheet("10:00", "15:00", "paper", "20:00"), "");
    let said = ["marks-shifted/", "cook `a`: all marks lie 1 h before its curve"];
    let measured = asked(folder, &said, "move");
    assert_eq!(measured[0]["total_min"], "600");
}

#[test]
fn a_pull_an_hour_early_is_asked_about_though_nobody_opened_a_lid() {
    let folder = folder_with_log();
    let folder = folder.path();
    // The probe comes out at the pull, over a pit that burns on; no lid is seen.
    let lines = log("2025-05-01T10:00:00Z", 0.13, false);
    let mut minute = -1;
    let smooth = |line: &str| {
        minute += 1;
        let cells: Vec<&str> = line.split(',').collect();
        if minute == 0 {
            return format!("{line}\n");
        }
        let core: f64 = cells[2].parse().unwrap();
        let after = (minute - 1 - PULL).max(0) as f64;
        let core = 22.0 + (core - 22.0) * (-after / 6.0).exp();
        format!("{},{:.1},{core:.1}\n", cells[0], 121.0 + (minute % 7) as f64 * 0.1)
    };
    let text: String = lines.lines().map(smooth).collect();
    write(folder, "logs/a.csv", &text);
    season(folder, "UTC", &clean_but(3, "20:58"), "");
    not_asked(folder);
    season(folder, "UTC", &clean_but(3, "20:00"), "");
    asked(folder, &["mark-against-curve/", "pull: is `20:00` right?"], "curve");
}

#[test]
fn events_that_say_otherwise_than_the_card_are_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    let clean = clean_but(0, "11:00");
    season(folder, "UTC", &clean, "a,16:05,wrap,paper,\na,21:05,pull,,\n");
    not_asked(folder);
    season(folder, "UTC", &clean, "a,16:50,wrap,foil,\n");
    let said = [
        "card-against-events/",
        "paper at 2025-05-01 16:00 on the card, foil at 2025-05-01 16:50 among the events",
    ];
    let measured = asked(folder, &said, "events");
    assert_eq!(measured[0]["wrap_method"], "foil");
    season(folder, "UTC", &clean, "a,16:02,wrap,foil,\n");
    let measured = asked(folder, &["card-against-events/", "wrap paper on the card"], "card");
    assert_eq!(measured[0]["wrap_method"], "paper");
    // A clock time of an event is of the day of the card's meat-on, and no echo of it.
    season(folder, "UTC", &clean, "a,09:00,meat_on,,\n");
    asked(folder, &["card-against-events/", "meat_on at 2025-05-01 11:00 on the card"], "card");
}

#[test]
fn a_reading_by_hand_that_the_log_is_far_from_is_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    let clean = clean_but(0, "11:00");
    // Seven hours on, the core is at 83 °C.
    season(folder, "UTC", &clean, "a,18:00,core,176F flat,\n");
    not_asked(folder);
    season(folder, "UTC", &clean, "a,18:00,core,82F flat,\n");
    let said = ["hand-against-curve/", "is `82F flat` right?", "in the other unit it would fit"];
    asked(folder, &said, "as-written");
}

#[test]
fn two_cooks_one_after_the_other_in_a_log_are_asked_about_or_shared_out() {
    let folder = folder_with_log();
    let folder = folder.path();
    let mut text = log("2025-05-01T10:00:00Z", 0.16, false);
    // The probe lies in a cold place until the next morning.
    for hour in 0..8 {
        writeln!(text, "2025-05-01T{:02}:30:00Z,18.0,12.0", 22 + hour % 2).unwrap();
    }
    let next = log("2025-05-02T10:00:00Z", 0.2, false);
    text.extend(next.lines().skip(1).map(|line| format!("{line}\n")));
    write(folder, "logs/a.csv", &text);
    season(folder, "UTC", &clean_but(0, "11:00"), "");
    let measured = asked(folder, &["two-cooks-in-a-log/", "are there two cooks"], "first");
    assert_eq!(measured[0]["total_min"], "600");
    let both = format!(
        "{}b,2025-05-02,a.csv,brisket,17,12,7.9,250,11:00,16:00,paper,21:00\n",
        clean_but(0, "11:00")
    );
    season(folder, "UTC", &both, "");
    not_asked(folder);
}

#[test]
fn marks_that_lie_in_each_others_logs_are_exchanged_where_that_is_answered() {
    let folder = folder_with_log();
    let folder = folder.path();
    write(folder, "logs/b.csv", &log("2025-05-08T22:00:00Z", 0.19, false));
    let rows = |a: [&str; 3], b: [&str; 3]| {
        format!(
            "{HEAD}a,2025-05-01,a.csv,brisket,17.8,12.4,8,250,{},{},paper,{}\nb,2025-05-08,b.csv,brisket,16,12,8,250,{},{},foil,{}\n",
            a[0], a[1], a[2], b[0], b[1], b[2]
        )
    };
    // As quick as their writers are: with one lag alone it would be a clock that is wrong.
    let (of_a, of_b) = (["10:20", "16:00", "21:00"], ["22:25", "04:00", "09:00"]);
    season(folder, "UTC", &rows(of_a, of_b), "");
    not_asked(folder);
    season(folder, "UTC", &rows(of_b, of_a), "");
    let said = ["marks-of-another/", "have the cooks `a` and `b` each other's marks?"];
    let measured = asked(folder, &said, "exchange");
    assert_eq!((&*measured[0]["total_min"], &*measured[1]["total_min"]), ("640", "635"));
    // A date that is a week off, and nobody to exchange with.
    let later = sheet("2025-05-03 23:00", "", "none", "2025-05-04 06:00");
    season(folder, "UTC", &later.replace("a,2025-05-01", "a,2025-05-03"), "");
    asked(folder, &["marks-of-another/", "lie outside its log"], "leave-out");
}

#[test]
fn a_set_point_two_steps_from_the_pit_is_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    for (set, is_asked) in [("275", false), ("300", true)] {
        let text = clean_but(0, "11:00").replace(",250,", &format!(",{set},"));
        season(folder, "UTC", &text, "");
        if is_asked {
            asked(folder, &["set-point-against-pit/", "300"], "as-written");
        } else {
            not_asked(folder);
        }
    }
}

#[test]
fn a_row_in_kilograms_among_pounds_is_asked_about_once() {
    let folder = folder_with_log();
    let folder = folder.path();
    let row = |name: usize, weights: &str| {
        format!("c{name},2025-05-0{name},,brisket,{weights},250,,,,\n")
    };
    let mut text = HEAD.to_owned();
    for (at, weights) in
        ["17.8,12.4,8", "16.2,11.8,7.4", "17,12.9,8.1", "15.5,11.1,7"].into_iter().enumerate()
    {
        text += &row(at + 2, weights);
    }
    // A small one is one of them.
    season(folder, "UTC", &(text.clone() + &row(1, "11.9,8.8,5.6")), "");
    not_asked(folder);
    season(folder, "UTC", &(text + &row(1, "7.9,5.6,2.9")), "");
    let output = cookstudy(folder, &["run", "."]);
    expect_exit(&output, 1);
    let told = stderr(&output);
    assert!(
        told.contains("are the weights (7.9, 5.6, 2.9) in lb, as they were read, or in kg?"),
        "{told}"
    );
    assert_eq!(told.matches("weight-in-doubt/").count(), 1, "{told}");
}

#[test]
fn a_cook_that_may_be_left_out_is_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    let text = |why: &str| {
        clean_but(0, "11:00")
            .replace("pull\n", "pull,exclude\n")
            .replace("21:00", &format!("21:00,{why}"))
    };
    season(folder, "UTC", &text("no"), "");
    not_asked(folder);
    season(folder, "UTC", &text("maybe"), "");
    let measured = asked(folder, &["left-out-or-not/", "is cook `a` to be left out?"], "leave-out");
    assert_eq!(measured[0]["exclude"], "maybe");
}

#[test]
fn scores_that_stand_twice_or_have_no_scale_are_told() {
    let folder = folder_with_log();
    let folder = folder.path();
    let scale = "score_sheets = [\"scores.csv\"]\n[scores.taste]\nlowest = 1\nhighest = 9\nbetter = \"higher\"\n";
    let with = |rows: &str, settings: &str| {
        season(folder, "UTC", &clean_but(0, "11:00"), "");
        write(folder, "scores.csv", &format!("cook,panel,judge,attribute,value\n{rows}"));
        let base = "team = \"Test\"\ntime_zone = \"UTC\"\n";
        write(folder, "season.toml", &format!("{base}{settings}"));
        cookstudy(folder, &["run", "."])
    };
    let once = with("a,judges,Vera,taste,8\na,judges,Vera,taste,8\na,judges,Bo,taste,5\n", scale);
    expect_exit(&once, 0);
    assert!(
        stderr(&once).contains("scores.csv:3: it says what scores.csv:2 says"),
        "{}",
        stderr(&once)
    );
    assert_eq!(measures(folder)[0]["score_taste"], "6.5");
    let unlike = with("a,judges,Vera,taste,8\na,judges,Vera,taste,5\n", scale);
    expect_exit(&unlike, 1);
    assert!(stderr(&unlike).contains("by judge Vera"), "{}", stderr(&unlike));
    let none = with("a,judges,Vera,taste,8\n", "score_sheets = [\"scores.csv\"]\n");
    expect_exit(&none, 1);
    assert!(stderr(&none).contains("add `[scores.taste]`"), "{}", stderr(&none));
}

#[test]
fn marks_less_than_an_hour_apart_in_each_others_row_are_asked_about() {
    let folder = folder_with_log();
    let folder = folder.path();
    write(folder, "logs/b.csv", &log("2025-05-08T09:10:00Z", 0.19, false));
    let rows = |a: [&str; 3], b: [&str; 3]| {
        format!(
            "{HEAD}a,2025-05-01,a.csv,brisket,17.8,12.4,8,250,{},{},paper,{}\nb,2025-05-08,b.csv,brisket,16,12,8,250,{},{},foil,{}\n",
            a[0], a[1], a[2], b[0], b[1], b[2]
        )
    };
    let (of_a, of_b) = (["11:02", "16:03", "20:55"], ["10:12", "15:10", "20:08"]);
    season(folder, "UTC", &rows(of_a, of_b), "");
    not_asked(folder);
    season(folder, "UTC", &rows(of_b, of_a), "");
    let said = ["marks-of-another/", "have the cooks `a` and `b` each other's marks?"];
    let measured = asked(folder, &said, "exchange");
    assert_eq!((&*measured[0]["total_min"], &*measured[1]["total_min"]), ("593", "596"));
}

#[test]
fn a_date_that_is_days_from_its_marks_is_asked_about_without_a_log() {
    let folder = folder_with_log();
    let folder = folder.path();
    let other = |date: &str, on: &str, pull: &str| {
        format!("{}b,{date},,brisket,16,12,8,250,{on},,foil,{pull}\n", clean_but(0, "11:00"))
    };
    // The morning after the date is one night's cook.
    season(folder, "UTC", &other("2025-05-08", "2025-05-09 00:10", "2025-05-09 10:00"), "");
    not_asked(folder);
    season(folder, "UTC", &other("2025-05-08", "2025-05-14 06:10", "2025-05-14 17:00"), "");
    let said = ["marks-of-another/", "cook `b`: its marks are of another day than its date"];
    asked(folder, &said, "leave-out");
}

#[test]
fn an_event_of_a_cook_without_a_meat_on_is_told_and_the_rest_is_done() {
    let folder = folder_with_log();
    let folder = folder.path();
    let text = format!("{}b,2025-05-08,,brisket,16,12,8,250,,,foil,\n", clean_but(0, "11:00"));
    season(folder, "UTC", &text, "b,16:05,wrap,foil,\na,16:05,wrap,paper,\n");
    let output = cookstudy(folder, &["run", "."]);
    expect_exit(&output, 0);
    assert!(stderr(&output).contains("events.csv:2"), "{}", stderr(&output));
    assert!(measures(folder).iter().any(|row| row["cook"] == "a" && row["total_min"] == "600"));
}
