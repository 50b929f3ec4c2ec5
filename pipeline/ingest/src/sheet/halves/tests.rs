use super::*;
use crate::sheet::{SheetOptions, SheetReading, read_season_sheet};

fn read(rows: &str, answers: &Answers) -> SheetReading {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s.csv");
    std::fs::write(&path, format!("cook,date,meat_on,wrap_at,pull,slice,turn_in_at\n{rows}"))
        .unwrap();
    let options = SheetOptions { answers: answers.clone(), ..SheetOptions::from(&TimeZone::UTC) };
    read_season_sheet(&path, "s.csv", &options).unwrap()
}

fn logged(first_ms: i64, last_ms: i64) -> Logged {
    Logged { first_ms, last_ms, meat_on_ms: None, pull_ms: None }
}

/// Minutes from meat-on to wrap, pull and slice of the first cook.
fn minutes(reading: &SheetReading) -> [Option<i64>; 3] {
    let marks = reading.cards[0].marks;
    [marks.wrap_ms, marks.pull_ms, marks.slice_ms]
        .map(|at| Some((at? - marks.meat_on_ms?) / 60_000))
}

fn questions(reading: &SheetReading) -> Vec<Question> {
    let cooks = reading.cards.iter().zip(&reading.rows);
    Question::merged(cooks.filter_map(|(card, row)| row.open_halves(card)))
}

#[test]
fn one_half_on_a_row_makes_the_others_suspects() {
    for (row, expected) in [
        ("a,2026-07-10,7 am,1:30,5:00,,\n", [Some(390), Some(600), None]),
        ("a,2026-07-10,10:00 pm,6:15,10:30,,\n", [Some(495), Some(750), None]),
        // The turn-in decides on the slice, which at night would come after it.
        ("a,2026-07-10,12:15 am,7:30,11:00,1:30,2 pm\n", [Some(435), Some(645), Some(795)]),
    ] {
        let reading = read(row, &Answers::default());
        assert_eq!(minutes(&reading), expected, "{row}");
        assert_eq!(questions(&reading), [], "{row}");
    }
}

#[test]
fn clean_rows_are_left_alone() {
    for (row, expected) in [
        ("a,2026-07-10,22:05,06:10,10:01,,\n", [Some(485), Some(716), None]),
        ("a,2026-07-10,5:00,12:24,16:40,17:40,\n", [Some(444), Some(700), Some(760)]),
        ("a,2026-07-10,5:00 am,12:24 pm,4:40 pm,10:00 am,\n", [Some(444), Some(700), Some(1740)]),
        ("a,2026-07-10,6:00,,11:00,,\n", [None, Some(300), None]),
    ] {
        let reading = read(row, &Answers::default());
        assert_eq!(minutes(&reading), expected, "{row}");
        assert_eq!(questions(&reading), [], "{row}");
    }
}

#[test]
fn a_slice_of_the_next_morning_is_asked_about() {
    let row = "k,2026-07-22,6:30,13:48,17:03,6:30,\n";
    let reading = read(row, &Answers::default());
    assert_eq!(minutes(&reading), [Some(438), Some(633), None]);
    let asked = questions(&reading);
    let takes: Vec<&str> = asked[0].answers.iter().map(|answer| answer.take.as_str()).collect();
    assert_eq!((asked.len(), takes), (1, vec!["next", "later"]));
    assert!(asked[0].answers[0].then.contains("1 h 27 on to the slice"), "{asked:?}");
    let toml = format!(
        "schema = \"cookstudy/questions/1\"\n[[question]]\nid = \"{}\"\nanswer = \"next\"\n",
        asked[0].id
    );
    let answers = cook::Questions::parse(&toml, "q".as_ref()).unwrap().answers();
    let answered = read(row, &answers);
    assert_eq!(minutes(&answered), [Some(438), Some(633), Some(720)]);
    assert_eq!(questions(&answered), []);
}

#[test]
fn a_habit_is_one_question_and_the_log_comes_first() {
    let rows = "a,2026-06-06,5:15,1:02,4:42,,\nb,2026-06-13,5:45,12:59,4:16,,\n";
    let mut reading = read(rows, &Answers::default());
    let asked = questions(&reading);
    assert_eq!((asked.len(), asked[0].places.len()), (1, 2), "{asked:?}");
    assert!(asked[0].asks.contains("2 rows"), "{asked:?}");
    // A log of the day from 4:50 to 17:10, and one of the night.
    let day = 20_610 * DAY_MS;
    assert_eq!(reading.rows[0].day, Some(20_610));
    let at = |minutes: i64| day + minutes * 60_000;
    let mut settle = |first: i64, last: i64| {
        let mut row = reading.rows[0].clone();
        row.settle_halves(&TimeZone::UTC, &logged(at(first), at(last)));
        resolve_card(&mut reading.cards[0], &row, &TimeZone::UTC, None, false, None);
        (minutes(&reading), row.open_halves(&reading.cards[0]).is_some())
    };
    assert_eq!(settle(290, 1030), ([Some(467), Some(687), None], false));
    assert_eq!(settle(16 * 60 + 50, 1440 + 310), ([Some(467), Some(687), None], false));
    // A log of both days, or of neither, leaves it open.
    assert!(settle(0, 4 * 1440).1);
    assert!(settle(5 * 1440, 6 * 1440).1);
}

#[test]
fn halves_that_differ_are_answered_by_cook() {
    let rows = "a,2026-06-06,5:15,1:02,4:42,,\nb,2026-06-13,5:45,12:59,4:16,,\nc, late,2026-06-20,5:20,1:10,4:50,,\n"
        .replace("c, late", "\"c, late\"");
    let asked = questions(&read(&rows, &Answers::default()));
    assert_eq!((asked.len(), asked[0].places.len()), (1, 3), "{asked:?}");
    assert!(asked[0].asks.ends_with("`pm in` and the names of those cooks"), "{asked:?}");
    let answer = |text: &str| {
        let reading = read(&rows, &Answers::default().with(&asked[0].id, text));
        let hours = reading.cards.iter().map(|card| Some(card.marks.meat_on_ms? / HOUR_MS % 24));
        (hours.collect::<Vec<_>>(), questions(&reading))
    };
    assert_eq!(answer("pm in B, c, late"), (vec![Some(5), Some(17), Some(17)], Vec::new()));
    assert_eq!(answer("am in c, late; b"), (vec![Some(17), Some(5), Some(5)], Vec::new()));
    // A name that nobody has settles nothing, and is said.
    let (hours, open) = answer("pm in b, d");
    assert_eq!(hours, [None; 3]);
    assert!(open[0].because.ends_with("names `d`, and no cook of the sheet has that name"));
}

#[test]
fn a_slice_without_its_half_does_not_keep_the_log_from_telling() {
    // By day it would be a cook as well, of nineteen hours.
    let mut reading = read("a,2026-06-06,10:20,3:00,5:30,6:30,\n", &Answers::default());
    assert_eq!(minutes(&reading), [Some(1000), Some(1150), Some(1210)]);
    let at = |minutes: i64| 20_610 * DAY_MS + minutes * 60_000;
    let mut row = reading.rows[0].clone();
    row.settle_halves(&TimeZone::UTC, &logged(at(22 * 60), at(30 * 60)));
    resolve_card(&mut reading.cards[0], &row, &TimeZone::UTC, None, false, None);
    assert_eq!(minutes(&reading), [Some(280), Some(430), Some(490)]);
}

#[test]
fn a_row_of_a_twelve_hour_clock_makes_the_sheet_one() {
    let night = "a,2026-06-06,10:20,3:00,5:30,,\n";
    // Alone it is a cook as it is written.
    assert_eq!(questions(&read(night, &Answers::default())), []);
    let of_twelve = format!("{night}b,2026-06-13,5:45,12:59,4:16,,\n");
    assert_eq!(questions(&read(&of_twelve, &Answers::default()))[0].places.len(), 2);
    // A row that only a 24-hour clock can have written speaks for the others.
    let mixed = format!("{of_twelve}c,2026-06-20,22:10,03:00,08:16,,\n");
    assert_eq!(questions(&read(&mixed, &Answers::default()))[0].places.len(), 1);
}

#[test]
fn the_pull_that_a_log_shows_tells_the_half_of_the_day() {
    let at = |minutes: i64| 20_610 * DAY_MS + minutes * 60_000;
    // Twenty-one hours, where the wrap may be of either half, and a night of a clock that writes a zero before the hour.
    for (row, off, expected) in [
        ("a,2026-06-06,6:00,6:48,2:59,12:59,\n", 38 * 60 + 59, [None, Some(1259)]),
        ("a,2026-06-06,10:21,01:54,03:15,04:15,\n", 15 * 60 + 15, [Some(213), Some(294)]),
    ] {
        let mut reading = read(row, &Answers::default());
        let mut row = reading.rows[0].clone();
        let logged =
            Logged { pull_ms: Some(at(off)), ..logged(at(off) - 22 * 60 * 60_000, at(off + 60)) };
        row.settle_halves(&TimeZone::UTC, &logged);
        resolve_card(&mut reading.cards[0], &row, &TimeZone::UTC, None, false, None);
        assert_eq!(minutes(&reading)[..2], expected, "{row:?}");
    }
    // Once any time of the sheet is past noon on a 24-hour clock, a zero is one of it.
    let sheet = "a,2026-06-06,10:21,01:54,03:15,04:15,\nb,2026-06-08,21:00,04:00,08:00,09:00,\n";
    let mut row = read(sheet, &Answers::default()).rows[0].clone();
    let logged = Logged { pull_ms: Some(at(915)), ..logged(at(540), at(2400)) };
    let before = row.clone();
    row.settle_halves(&TimeZone::UTC, &logged);
    assert_eq!(row.stated, before.stated);
}
