//! Times: dates, zones, and clocks that go wrong.

use super::{at, cook_log, error, options, read, read_with, utc, with_layout};
use cook::Flag;
use ingest::{Log, ReadOptions, TimeBase, read_log_bytes};
use std::fmt::Write as _;

#[test]
fn elapsed_logs() {
    let log = read("Elapsed (min),Pit (C),Meat (C)\n0,107,4\n1.5,108,5\n");
    assert_eq!(log.time, TimeBase::Elapsed);
    assert_eq!(log.channels[0].at_ms, [0, 90_000]);
    let log = read("elapsed_s;pit_c;meat_c\n0;107,5;4\n30;108,5;5\n");
    assert_eq!(log.channels[0].at_ms, [0, 30_000]);
    assert_eq!(log.channels[0].temp_c, [107.5, 108.5]);
    let log = read(
        "Start time: 2026-05-02 06:00\nElapsed,Pit (C),Meat (C)\n0:00:00,107,4\n25:00:30,108,5\n",
    );
    assert_eq!(log.time, TimeBase::Absolute);
    assert_eq!(log.channels[0].at_ms.at(1), utc("2026-05-03T12:00:30Z"));
}

#[test]
fn day_orders_are_proven_or_asked() {
    let log = read("Time,Pit (C),Meat (C)\n05/13/2026 6:00 PM,107,4\n05/13/2026 6:01 PM,107,4\n");
    assert_eq!(log.channels[0].at_ms.at(0), utc("2026-05-13T23:00:00Z"));
    let log = read("Time,Pit (C),Meat (C)\n05/04/2026 23:59,107,4\n06/04/2026 00:01,107,4\n");
    assert_eq!(log.channels[0].at_ms.at(0), utc("2026-04-06T04:59:00Z"));
    assert!(
        error("Time,Pit (C),Meat (C)\n05/05/2026 23:59,107,4\n05/06/2026 10:01,107,4\n")
            .contains("logs/a.csv:3, column `Time`")
    );
}

#[test]
fn a_fold_is_followed_through_a_whole_night() {
    let mut text = String::from("Time,Pit (C),Meat (C)\n");
    for minute in 0..240 {
        // 2026-11-01T05:00Z is midnight in Chicago; the clock goes back at 07:00Z.
        let local = if minute < 120 { minute } else { minute - 60 };
        let (hour, minute_of_hour, tenth) = (local / 60, local % 60, minute % 90);
        writeln!(text, "2026-11-01 {hour:02}:{minute_of_hour:02}:00,107,{tenth}.5").unwrap();
    }
    let log = read(&text);
    assert_eq!(log.channels[0].len(), 240);
    assert!(log.rejected.is_empty());
    assert_eq!(log.channels[0].at_ms.at(239) - log.channels[0].at_ms.at(0), 239 * 60_000);
}

#[test]
fn a_start_that_cannot_be_read_is_not_passed_over() {
    let error = read_log_bytes(
        b"start: late morning\nelapsed,Pit (C),Meat (C)\n0:00:00,41.4,6.1\n0:02:00,48.8,5.7\n0:04:00,56.0,5.9\n",
        "logs/a.csv",
        &ReadOptions::default(),
    )
    .unwrap_err()
    .to_string();
    assert!(error.contains("start: late morning") && error.contains("time.start"), "{error}");
}

#[test]
fn a_log_without_dates_takes_its_day_from_elsewhere_or_asks() {
    // From 18:00 over midnight.
    let text = cook_log("Clock,Pit (C),Meat (C)", |m| at(m + 720, "%H:%M:%S"));
    let message = error(&text);
    assert!(message.contains("no date") && message.contains("[log.dates] \"a.csv\""), "{message}");
    let mut settings = options();
    settings.dates = vec![("a*.csv".to_owned(), jiff::civil::date(2026, 5, 2))];
    let log = read_with(&text, &settings);
    assert_eq!(log.channels[0].at_ms.at(0), utc("2026-05-02T23:00:00Z"));
    assert_eq!(log.channels[0].at_ms.at(599), utc("2026-05-03T08:59:00Z"));
    // The sheet's cook was put on at half past eleven in the evening.
    let mut sheet = options();
    sheet.sheet.meat_on_ms = vec![utc("2026-05-03T04:30:00Z")];
    assert_eq!(read_with(&text, &sheet).channels, log.channels);
    let dated = format!("Date: 2026-05-02\n{text}");
    assert_eq!(read(&dated).channels[0].at_ms, log.channels[0].at_ms);
}

#[test]
fn the_order_of_day_and_month_is_told_by_settings_sheet_and_siblings() {
    let text = cook_log("Time,Pit (C),Meat (C)", |m| at(m, "%d/%m/%Y %H:%M"));
    let asked = read_log_bytes(text.as_bytes(), "a.csv", &options()).unwrap_err();
    assert!(asked.asks_siblings(), "{asked}");
    let first = utc("2026-05-02T11:00:00Z");
    let set = ReadOptions { date_order: Some(cook::season::DateOrder::DayFirst), ..options() };
    assert_eq!(read_with(&text, &set).channels[0].at_ms.at(0), first);
    let mut sheet = options();
    sheet.sheet.dates = vec![jiff::civil::date(2026, 5, 2)];
    assert_eq!(read_with(&text, &sheet).channels[0].at_ms.at(0), first);
    // Eleven days later the dates prove themselves.
    let sibling = read(&cook_log("Time,Pit (C),Meat (C)", |m| at(m + 11 * 1440, "%d/%m/%Y %H:%M")));
    let mut siblings = ingest::SiblingOrders::default();
    siblings.add(&sibling);
    let kind = ingest::log_kind(text.as_bytes(), "a.csv", &options()).unwrap();
    let told = ReadOptions { sibling_order: siblings.of(&kind), ..options() };
    assert_eq!(read_with(&text, &told).channels[0].at_ms.at(0), first);
    // What a log proves itself is not overruled.
    let wrong = ReadOptions { date_order: Some(cook::season::DateOrder::MonthFirst), ..options() };
    let proven = cook_log("Time,Pit (C),Meat (C)", |m| at(m + 11 * 1440, "%d/%m/%Y %H:%M"));
    assert_eq!(read_with(&proven, &wrong).channels[0].at_ms.at(0), utc("2026-05-13T11:00:00Z"));
}

#[test]
fn a_clock_that_was_put_back_is_asked_and_answered() {
    let moved = |m: i64| at(if m < 300 { m } else { m - 37 }, "%Y-%m-%dT%H:%MZ");
    let text = cook_log("Time,Pit (C),Meat (C)", moved);
    let message = error(&text);
    assert!(
        message.contains("logs/a.csv:302: the clock goes back by 38 min")
            || message.contains("goes back by 37 min"),
        "{message}"
    );
    for (jump, first) in [
        (cook::season::ClockJump::FirstIsRight, "2026-05-02T06:00:00Z"),
        (cook::season::ClockJump::LastIsRight, "2026-05-02T05:23:00Z"),
    ] {
        let log = read_with(&text, &ReadOptions { clock_jump: Some(jump), ..options() });
        let pit = &log.channels[0];
        assert_eq!((pit.len(), pit.at_ms.at(0)), (600, utc(first)));
        assert!(pit.at_ms.pairs().all(|(one, next)| next - one == 60_000));
        assert_eq!(pit.flag.iter().filter(|flag| *flag == Flag::Retimed).count(), 300);
    }
}

#[test]
fn a_clock_that_was_put_forward_is_asked_and_answered() {
    let moved = |m: i64| at(if m < 120 { m } else { m + 60 }, "%Y-%m-%dT%H:%MZ");
    let text = cook_log("Time,Pit (C),Meat (C)", moved);
    let refused = read_log_bytes(text.as_bytes(), "logs/a.csv", &options()).unwrap_err();
    assert!(
        refused.to_string().contains("logs/a.csv:122: the clock goes on by 1 h 0 min"),
        "{refused}"
    );
    let id = &refused.question().unwrap().id;
    for (take, first, whole) in [
        ("first-is-right", "2026-05-02T06:00:00Z", true),
        ("last-is-right", "2026-05-02T07:00:00Z", true),
        ("gap", "2026-05-02T06:00:00Z", false),
    ] {
        let answer = format!(
            "schema = \"cookstudy/questions/1\"\n[[question]]\nid = \"{id}\"\nanswer = \"{take}\"\n"
        );
        let answers = cook::Questions::parse(&answer, "q".as_ref()).unwrap().answers();
        let log = read_with(&text, &ReadOptions { answers, ..options() });
        let pit = &log.channels[0];
        assert_eq!((pit.len(), pit.at_ms.at(0)), (600, utc(first)), "{take}");
        let steps = pit.at_ms.pairs().all(|(one, next)| next - one == 60_000);
        assert_eq!(steps, whole, "{take}");
    }
}

#[test]
fn a_clock_that_started_anew_is_mended_or_its_lines_are_rejected() {
    let reset = |m: i64| {
        if m < 300 {
            at(m, "%Y-%m-%dT%H:%MZ")
        } else {
            format!("2000-01-01T{:02}:{:02}Z", (m - 300) / 60, m % 60)
        }
    };
    let log = read(&cook_log("Time,Pit (C),Meat (C)", reset));
    let pit = &log.channels[0];
    assert_eq!(pit.len(), 600);
    assert!(pit.at_ms.pairs().all(|(one, next)| next - one == 60_000));
    assert_eq!(pit.flag.iter().filter(|flag| *flag == Flag::Retimed).count(), 300);
    // The meat is 40 °C warmer: the logger was off for hours.
    let mut text = cook_log("Time,Pit (C),Meat (C)", |m| at(m, "%Y-%m-%dT%H:%MZ"));
    for minute in 0..20 {
        writeln!(text, "2000-01-01T00:{minute:02}Z,107.0,40.0").unwrap();
    }
    let log = read(&text);
    assert_eq!((log.channels[0].len(), log.rejected.len()), (600, 20));
    assert!(log.rejected.iter().all(|row| row.code == "clock-reset"));
    let never =
        cook_log("Time,Pit (C),Meat (C)", |m| format!("2000-01-01T{:02}:{:02}Z", m / 60, m % 60));
    assert!(error(&never).contains("never set"));
    let log = with_layout(
        &never,
        "name = \"a\"\nheader = [\"Time\", \"Pit*\"]\ntime.start = \"2026-05-02T06:00:00Z\"\n",
    );
    assert_eq!(log.channels[0].at_ms.at(0), utc("2026-05-02T06:00:00Z"));
}

#[test]
fn a_log_with_its_newest_line_first_is_turned_round() {
    // Through the night in which the clock goes back, at 07:00Z.
    let local = |m: i64| {
        let m = if m < 120 { m } else { m - 60 };
        format!("2026-11-01 {:02}:{:02}", m / 60, m % 60)
    };
    let text = cook_log("Time,Pit (C),Meat (C)", local);
    let straight = read(&text);
    let (header, lines) = text.split_once('\n').unwrap();
    let mut lines: Vec<&str> = lines.lines().collect();
    lines.reverse();
    let reversed = read(&format!("{header}\n{}\n", lines.join("\n")));
    assert_eq!(reversed.channels[0].at_ms, straight.channels[0].at_ms);
    assert_eq!(reversed.channels[1].temp_c, straight.channels[1].temp_c);
    assert!(reversed.channels[0].flag.iter().all(|flag| flag == Flag::Good));
    assert_eq!(straight.channels[0].at_ms.at(599) - straight.channels[0].at_ms.at(0), 599 * 60_000);
}

#[test]
fn shifting_all_clocks_changes_no_duration() {
    let steps = |log: &Log| -> Vec<i64> {
        log.channels[0].at_ms.pairs().map(|(one, next)| next - one).collect()
    };
    let first = read(&cook_log("Time,Pit (C),Meat (C)", |m| at(m, "%Y-%m-%dT%H:%MZ")));
    for minutes in [1, 77, 100_000, -3_000_000] {
        let shifted =
            read(&cook_log("Time,Pit (C),Meat (C)", |m| at(m + minutes, "%Y-%m-%dT%H:%MZ")));
        assert_eq!(steps(&first), steps(&shifted));
        assert_eq!(first.channels[1].temp_c, shifted.channels[1].temp_c);
    }
}

#[test]
fn a_twelve_hour_clock_without_its_halves_is_refused() {
    let text = cook_log("Time,Pit (C),Meat (C)", |m| at(m, "05/13/2026 %I:%M"));
    assert!(error(&text).contains("twelve hours without AM or PM"), "{}", error(&text));
}

#[test]
fn a_heading_or_a_line_above_says_the_zone() {
    let first = |text: &str| read(text).channels[0].at_ms.at(0);
    let utc = "2026-05-02T06:00:00Z".parse::<jiff::Timestamp>().unwrap().as_millisecond();
    for name in ["utc_time", "Time (UTC)", "Date/Time GMT"] {
        let text =
            format!("{name},Pit (F),Meat (F)\n2026-05-02 06:00,225,41\n2026-05-02 06:01,226,41\n");
        assert_eq!(first(&text), utc, "{name}");
    }
    for (line, hours) in
        [("Time zone: UTC", 0), ("Timezone: Europe/Prague", -2), ("UTC offset: -05:00", 5)]
    {
        let text = format!(
            "{line}\nTime,Pit (F),Meat (F)\n2026-05-02 06:00,225,41\n2026-05-02 06:01,226,41\n"
        );
        assert_eq!(first(&text), utc + hours * 3_600_000, "{line}");
    }
}

#[test]
fn without_a_zone_a_time_that_hangs_on_it_is_asked() {
    let options = ingest::ReadOptions { zone_known: false, ..super::options() };
    let read = |text: &str| ingest::read_log_bytes(text.as_bytes(), "a.csv", &options);
    let error = read("Time,Pit (F),Meat (F)\n2026-05-02 06:00,225,41\n2026-05-02 06:01,226,41\n")
        .unwrap_err();
    assert_eq!(error.question().unwrap().id, cook::Question::time_zone().id);
    assert!(
        read("Time,Pit (F),Meat (F)\n2026-05-02T06:00Z,225,41\n2026-05-02T06:01Z,226,41\n").is_ok()
    );
}
