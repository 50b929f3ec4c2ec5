//! Logs of many kinds: values, rejections, evidence, questions.

use cook::season::TemperatureUnit;
use cook::{Flag, Role};
use ingest::{IngestError, Log, ReadOptions, TimeBase, read_log_bytes};
use jiff::tz::TimeZone;
use std::fmt::Write as _;

fn options() -> ReadOptions {
    ReadOptions { zone: TimeZone::get("America/Chicago").unwrap(), ..Default::default() }
}

fn read(text: &str) -> Log {
    read_with(text, &options())
}

fn read_with(text: &str, options: &ReadOptions) -> Log {
    let log =
        read_log_bytes(text.as_bytes(), "logs/a.csv", options).unwrap_or_else(|e| panic!("{e}"));
    assert!(log.record.account.closes(), "{}", log.record.account);
    log
}

fn error(text: &str) -> String {
    read_log_bytes(text.as_bytes(), "logs/a.csv", &options()).unwrap_err().to_string()
}

fn utc(text: &str) -> i64 {
    text.parse::<jiff::Timestamp>().unwrap().as_millisecond()
}

fn codes(log: &Log) -> Vec<(u64, &str)> {
    log.rejected.iter().map(|row| (row.line, row.code.as_str())).collect()
}

#[test]
fn a_wide_log_in_fahrenheit() {
    let log = read(
        "Time,Pit (°F),Brisket [F],Fan %\n2026-05-02 06:00:00,225,41,30\n2026-05-02 06:00:30,226.4,---,35\n",
    );
    assert_eq!(log.time, TimeBase::Absolute);
    assert_eq!(log.channels.len(), 2);
    let pit = &log.channels[0];
    assert_eq!(
        (pit.name.as_str(), pit.role, pit.unit),
        ("Pit", Role::Pit, Some(TemperatureUnit::Fahrenheit))
    );
    assert_eq!(pit.at_ms, [utc("2026-05-02T11:00:00Z"), utc("2026-05-02T11:00:30Z")]);
    // 225 °F is 107.222 °C and 226.4 °F is 108 °C by t/°F = 1.8 t/°C + 32.
    assert!((pit.temp_c[0] - 107.222_22).abs() < 1e-4 && (pit.temp_c[1] - 108.0).abs() < 1e-4);
    assert_eq!(log.channels[1].temp_c, [5.0]);
    assert_eq!(log.channels[1].role, Role::Meat);
    let account = &log.record.account;
    assert_eq!((account.header, account.data, account.readings, account.missing), (1, 2, 3, 1));
}

#[test]
fn a_long_log_with_units() {
    let log = read(
        "time,channel,value,unit\n2026-05-02T06:00:00Z,Pit,225,F\n2026-05-02T06:00:00Z,Flat,5,C\n2026-05-02T06:01:00Z,Pit,107,C\n2026-05-02T06:01:00Z,Flat,oops,C\n",
    );
    assert_eq!(log.record.layout, "plain-long");
    assert_eq!(log.channels[0].at_ms.len(), 2);
    assert!((log.channels[0].temp_c[0] - 107.222_22).abs() < 1e-4);
    assert_eq!(log.channels[1].temp_c, [5.0]);
    assert_eq!(codes(&log), [(5, "bad-number")]);
}

#[test]
fn semicolons_decimal_commas_and_two_time_columns() {
    let log = read(
        "Date;Clock;Pit (C);Meat (C);\n2026-05-02;06:00;107,5;4,25;\n2026-05-02;06:01;108,0;4,5;\n",
    );
    assert_eq!(log.channels[0].temp_c, [107.5, 108.0]);
    assert_eq!(log.channels[1].temp_c, [4.25, 4.5]);
    assert_eq!(log.channels[1].at_ms[1], utc("2026-05-02T11:01:00Z"));
}

#[test]
fn preamble_units_row_repeats_and_footer() {
    let log = read(
        "Device: logger 7\nUnits: C\n\nTime,Pit,Meat\n,°C,°C\n2026-05-02T06:00Z,107,4\nTime,Pit,Meat\n2026-05-02T06:01Z,108,5\n\nAverage,107.5,4.5\nEnd of log\n",
    );
    assert_eq!(log.metadata[0], ("Device".to_owned(), "logger 7".to_owned()));
    let account = &log.record.account;
    assert_eq!(
        (account.preamble, account.header, account.blank, account.data, account.footer),
        (2, 3, 2, 2, 2)
    );
    assert!(log.rejected.is_empty());
}

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
    assert_eq!(log.channels[0].at_ms[1], utc("2026-05-03T12:00:30Z"));
}

#[test]
fn ragged_truncated_and_corrupt_lines_are_rejected_one_by_one() {
    let mut text = String::from("Time,Pit (C),Meat (C),Point (C)\n");
    for minute in 0..20 {
        writeln!(text, "2026-05-02T06:{minute:02}Z,107.{},4.5,5.5", minute % 10).unwrap();
    }
    text.push_str("2026-05-02T06:20Z,107.5,4.5\n2026-05-02T06:21Z,107.5,4.5,5.5,9\nx!,1,2,3\n2026-05-02T06:22Z,1o7,4.5,5.5\n2026-05-02T06:23Z,107.5,4.5,5.5\n2026-05-02T06:24Z,107.5,\"4.5,5.5\n2026-05-02T06:25Z,107.5,4.5,5");
    let log = read(&text);
    assert_eq!(
        codes(&log),
        [
            (22, "too-few-cells"),
            (23, "too-many-cells"),
            (24, "bad-time"),
            (25, "bad-number"),
            (27, "unclosed-quote"),
            (28, "truncated-cell")
        ]
    );
    assert_eq!(log.rejected[3].column.as_deref(), Some("Pit (C)"));
    assert_eq!(log.rejected[3].text, "1o7");
    assert_eq!(log.channels[1].len(), 23);
}

#[test]
fn twice_told_and_disordered_times() {
    let log = read(
        "Time,Pit (C),Meat (C)\n2026-05-02T06:00Z,107,4\n2026-05-02T06:02Z,109,6\n2026-05-02T06:01Z,108,5\n2026-05-02T06:02Z,109,6\n2026-05-02T06:02Z,110,6\n2026-05-02T06:03Z,,7\n2026-05-02T06:03Z,111,7\n2026-05-02T06:04Z,111,7\n",
    );
    assert_eq!(
        codes(&log),
        [(5, "duplicate-time"), (6, "conflicting-time"), (8, "duplicate-time")]
    );
    assert_eq!(log.rejected[2].column.as_deref(), Some("Meat (C)"));
    assert_eq!(log.channels[0].temp_c, [107.0, 108.0, 109.0, 111.0, 111.0]);
    assert_eq!(log.channels[0].line, [2, 4, 3, 8, 9]);
    assert_eq!(log.channels[0].flag.iter().filter(|f| **f == Flag::Reordered).count(), 1);
}

#[test]
fn day_orders_are_proven_or_asked() {
    let log = read("Time,Pit (C),Meat (C)\n05/13/2026 6:00 PM,107,4\n05/13/2026 6:01 PM,107,4\n");
    assert_eq!(log.channels[0].at_ms[0], utc("2026-05-13T23:00:00Z"));
    let log = read("Time,Pit (C),Meat (C)\n05/04/2026 23:59,107,4\n06/04/2026 00:01,107,4\n");
    assert_eq!(log.channels[0].at_ms[0], utc("2026-04-06T04:59:00Z"));
    assert!(
        error("Time,Pit (C),Meat (C)\n05/05/2026 23:59,107,4\n05/06/2026 10:01,107,4\n")
            .contains("logs/a.csv:3, column `Time`")
    );
}

#[test]
fn a_label_is_not_a_unit_and_a_setpoint_not_a_pit() {
    let settings = ReadOptions { unit: Some(TemperatureUnit::Fahrenheit), ..options() };
    let log = read_with(
        "time,probe_a,probe_b,probe_c,Pit Set\n2026-05-02T06:00Z,41,41,41,225\n2026-05-02T06:01Z,41,41,41,225\n",
        &settings,
    );
    assert_eq!(log.channels[2].name, "probe_c");
    assert_eq!(log.channels[2].temp_c[0], 5.0);
    assert_eq!(log.channels[3].role, Role::Other);
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
    assert_eq!(log.channels[0].at_ms[239] - log.channels[0].at_ms[0], 239 * 60_000);
}

#[test]
fn columns_that_change_are_refused() {
    let text = "Time,Pit (C),Meat (C)\n2026-05-02T06:00Z,107,4\nTime,Meat (C),Pit (C)\n2026-05-02T06:01Z,4,107\n";
    assert!(matches!(
        read_log_bytes(text.as_bytes(), "a", &options()),
        Err(IngestError::Contradiction { .. })
    ));
}

#[test]
fn a_suggested_layout_reads_the_same() {
    for text in [
        "Time,Pit (°F),Brisket [F],Fan %\n2026-05-02 06:00:00,225,41,30\n2026-05-02 06:00:30,226.4,---,35\n",
        "Date;Clock;Pit (C);Meat (C);\n2026-05-02;06:00;107,5;4,25;\n2026-05-02;06:01;108,0;4,5;\n",
        "When\tSensor\tReading (F)\n2026-05-02 06:00\tPit\t225\n2026-05-02 06:00\tFlat\t41\n2026-05-02 06:01\tPit\t226\n",
        "Device: x\nUnits: F\nTime,Pit,Meat\n05/13/2026 6:00 PM,225,41\n05/13/2026 6:01 PM,226,41\n",
        "elapsed_s,pit_f,meat_f\n0,225,41\n30,226,41\n",
    ] {
        let log = read(text);
        let layout = ingest::Layout::parse(&log.suggested_layout().to_toml(), "l.toml").unwrap();
        let again = read_with(text, &ReadOptions { layouts: vec![layout], ..options() });
        assert_eq!(again.channels, log.channels);
        assert_eq!(
            (again.time, again.record.account, &again.rejected),
            (log.time, log.record.account, &log.rejected)
        );
    }
}

#[test]
fn messages_that_people_read() {
    insta::assert_snapshot!(error(
        "Time,Pit,Brisket\n2026-05-02T06:00Z,225,41\n2026-05-02T06:01Z,226,41\n"
    ));
    insta::assert_snapshot!(error(
        "Time,Pit (F),Meat (F)\n05/06/2026 06:00,225,41\n05/06/2026 06:01,226,41\n"
    ));
    insta::assert_snapshot!(error("Time,Pit (F),Meat (F)\n6:00:00,225,41\n6:01:00,226,41\n"));
    insta::assert_snapshot!(error("Elapsed,Pit (F),Meat (F)\n0,225,41\n1,226,41\n"));
    insta::assert_snapshot!(
        read(
            "Time,Channel 1 (F),Channel 2 (F)\n2026-05-02T06:00Z,225,41\n2026-05-02T06:01Z,226,41\n"
        )
        .warnings
        .join("\n")
    );
    insta::assert_snapshot!(error("Dear diary\ntoday we cooked\n"));
    insta::assert_snapshot!(error("PK\u{3}\u{4}rest"));
    insta::assert_snapshot!(error(
        "Time,Pit (F),Meat (F)\n2026-05-02T06:00Z,225,41\n2026-05-02T06:01Z,225,41\n2026-05-02T06:02Z,225,41,3\n2026-05-02T06:03Z,225,41,3\n2026-05-02T06:04Z,225,41,3\n2026-05-02T06:05Z,225,41\n2026-05-02T06:06Z,225,41,4\n"
    ));
    insta::assert_snapshot!(error(
        "Time,Pit (F),Meat (F)\n2026-03-08 01:58,225,41\n2026-03-08 02:05,225,41\n2026-03-08 02:58,225,41\n2026-03-08 03:02,225,41\n"
    ));
}

fn with_layout(text: &str, layout: &str) -> Log {
    let layout = ingest::Layout::parse(layout, "l.toml").unwrap();
    read_with(text, &ReadOptions { layouts: vec![layout], ..options() })
}

#[test]
fn a_layout_answers_what_a_log_leaves_open() {
    let log = with_layout(
        "Time,Pit,Meat\n05/06/2026 06:00,225,41\n05/06/2026 06:01,225,41\n",
        "name = \"a\"\nheader = [\"Time\", \"Pit\"]\nunit = \"F\"\ntime.format = \"month-first\"\n",
    );
    assert_eq!(log.record.layout, "a");
    assert_eq!(log.channels[0].at_ms[0], utc("2026-05-06T11:00:00Z"));
    assert_eq!(log.channels[1].temp_c, [5.0, 5.0]);
    let log = with_layout(
        "2026-05-02T06:00Z,107,4\n2026-05-02T06:01Z,108,5\n",
        "name = \"b\"\ncolumns = [\"Time\", \"Pit\", \"Meat\"]\nunit = \"C\"\n",
    );
    assert_eq!(log.record.account.data, 2);
    assert_eq!((log.channels[0].name.as_str(), log.channels[0].role), ("Pit", Role::Pit));
    let log = with_layout(
        "Time,Pit (C),Meat (C)\n2026-03-08 01:58,107,4\n2026-03-08 02:05,107,4\n2026-03-08 02:58,107,4\n2026-03-08 03:02,107,4\n",
        "name = \"c\"\nheader = [\"Time\"]\ntime.utc_offset = \"-06:00\"\n",
    );
    assert_eq!(log.channels[0].at_ms[3], utc("2026-03-08T09:02:00Z"));
    let log = with_layout(
        "Elapsed,Pit (C),Meat (C)\n0:00:00,107,4\n0:01:00,107,4\n",
        "name = \"d\"\nheader = [\"Elapsed\"]\ntime.start = \"2026-05-02T06:00\"\n",
    );
    assert_eq!(
        (log.time, log.channels[0].at_ms[1]),
        (TimeBase::Absolute, utc("2026-05-02T11:01:00Z"))
    );
}

#[test]
fn a_layout_that_asks_for_another_column_is_refused_with_the_nearest() {
    let layout = ingest::Layout::parse(
        "name = \"a\"\nheader = [\"Time\"]\ntime.columns = [\"Tyme\"]\n",
        "l.toml",
    )
    .unwrap();
    let options = ReadOptions { layouts: vec![layout], ..options() };
    let text = "Time,Pit (C),Meat (C)\n2026-05-02T06:00Z,107,4\n";
    let message = read_log_bytes(text.as_bytes(), "a.csv", &options).unwrap_err().to_string();
    assert!(message.contains("`Tyme`") && message.contains("try: `Time`"), "{message}");
}

#[test]
fn settings_name_roles_that_words_do_not() {
    let roles = [("Channel 1".to_owned(), Role::Pit), ("channel 2".to_owned(), Role::Meat)].into();
    let settings = ReadOptions { roles, ..options() };
    let log = read_with("Time,Channel 1 (C),Channel 2 (C)\n2026-05-02T06:00Z,107,4\n", &settings);
    assert_eq!((log.channels[0].role, log.channels[1].role), (Role::Pit, Role::Meat));
    assert!(log.record.evidence.iter().any(|e| e.what == "role of `Channel 1`"));
}

#[test]
fn a_date_beside_the_clock_is_not_overlooked() {
    let log = read(
        "Date,Time,Pit (F),Meat (F)\n5/14/2026,6:00:00 PM,225,41\n5/14/2026,6:00:30 PM,225,41\n",
    );
    assert_eq!(log.channels[0].at_ms[0], utc("2026-05-14T23:00:00Z"));
    let log =
        read("Date,Time,Pit (F),Meat (F)\n2026-05-14,0:00:00,225,41\n2026-05-14,0:00:30,225,41\n");
    assert_eq!(log.channels[0].at_ms[0], utc("2026-05-14T05:00:00Z"));
}

#[test]
fn the_first_separator_of_a_preamble_line_splits_it() {
    let log = read_log_bytes(
        b"temperature log\nstart;2025-04-13 05:50:10\nelapsed;Pit (C);Meat (C)\n0:00:00;41,4;6,1\n0:02:00;48,8;5,7\n0:04:00;56,0;5,9\n",
        "logs/a.csv",
        &ReadOptions::default(),
    )
    .unwrap();
    assert_eq!(log.time, TimeBase::Absolute);
    // 2025-04-13T05:50:10Z.
    assert_eq!(log.channels[0].at_ms[0], 1_744_523_410_000);
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
fn noise_that_begins_like_a_header_costs_its_own_line() {
    let log = read_log_bytes(
        b"Time,Pit (C),Meat (C)\n2025-04-13T05:50:00Z,100.0,5.0\nAt</xdv/h2@,G<}&j3TNq&~\n2025-04-13T05:51:00Z,101.0,5.1\n2025-04-13T05:52:00Z,102.0,5.2\n",
        "logs/a.csv",
        &ReadOptions::default(),
    )
    .unwrap();
    assert_eq!(log.channels[0].temp_c, [100.0, 101.0, 102.0]);
    assert_eq!(log.rejected.len(), 1);
    assert!(log.record.account.closes());
}

/// A cook of 10 hours, a line a minute: minutes, pit and meat in tenths of a °C.
fn cook() -> Vec<(i64, i64, i64)> {
    (0..600)
        .map(|m| {
            let minute = m as f64;
            let pit = 1070.0 + 40.0 * (minute / 6.0).sin();
            let meat = 50.0 + 880.0 * (1.0 - (-minute / 250.0).exp());
            (m, pit as i64, meat as i64)
        })
        .collect()
}

fn tenths(value: i64) -> String {
    format!("{}.{}", value / 10, value % 10)
}

fn cook_log(header: &str, time: impl Fn(i64) -> String) -> String {
    let mut text = format!("{header}\n");
    for (minute, pit, meat) in cook() {
        writeln!(text, "{},{},{}", time(minute), tenths(pit), tenths(meat)).unwrap();
    }
    text
}

/// Minutes since 2026-05-02T06:00 in a format of jiff's.
fn at(minute: i64, format: &str) -> String {
    let start = jiff::civil::date(2026, 5, 2).at(6, 0, 0, 0);
    (start + jiff::SignedDuration::from_mins(minute)).strftime(format).to_string()
}

#[test]
fn roles_are_guessed_by_behaviour_where_it_is_clear() {
    let log = read(&cook_log("Time,Channel 1 (C),Channel 2 (C)", |m| at(m, "%Y-%m-%dT%H:%M")));
    assert_eq!((log.channels[0].role, log.channels[1].role), (Role::Pit, Role::Meat));
    let guess = log.record.evidence.iter().find(|e| e.what == "role of `Channel 1`").unwrap();
    assert!(guess.taken_as.contains("guess") && guess.setting.contains("Channel 1"));
    assert_eq!(log.suggested_layout().roles["Channel 1 (C)"], Role::Pit);
    let swapped = read(&cook_log("Time,Meat (C),Pit (C)", |m| at(m, "%Y-%m-%dT%H:%M")));
    assert_eq!((swapped.channels[0].role, swapped.channels[1].role), (Role::Meat, Role::Pit));
    assert!(swapped.warnings[0].contains("were the probes swapped"), "{:?}", swapped.warnings);
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
    assert_eq!(log.channels[0].at_ms[0], utc("2026-05-02T23:00:00Z"));
    assert_eq!(log.channels[0].at_ms[599], utc("2026-05-03T08:59:00Z"));
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
    assert!(asked.asks_date_order(), "{asked}");
    let first = utc("2026-05-02T11:00:00Z");
    let set = ReadOptions { date_order: Some(cook::season::DateOrder::DayFirst), ..options() };
    assert_eq!(read_with(&text, &set).channels[0].at_ms[0], first);
    let mut sheet = options();
    sheet.sheet.dates = vec![jiff::civil::date(2026, 5, 2)];
    assert_eq!(read_with(&text, &sheet).channels[0].at_ms[0], first);
    // Eleven days later the dates prove themselves.
    let sibling = read(&cook_log("Time,Pit (C),Meat (C)", |m| at(m + 11 * 1440, "%d/%m/%Y %H:%M")));
    let mut siblings = ingest::SiblingOrders::default();
    siblings.add(&sibling);
    let kind = ingest::log_kind(text.as_bytes(), "a.csv", &options()).unwrap();
    let told = ReadOptions { sibling_order: siblings.of(&kind), ..options() };
    assert_eq!(read_with(&text, &told).channels[0].at_ms[0], first);
    // What a log proves itself is not overruled.
    let wrong = ReadOptions { date_order: Some(cook::season::DateOrder::MonthFirst), ..options() };
    let proven = cook_log("Time,Pit (C),Meat (C)", |m| at(m + 11 * 1440, "%d/%m/%Y %H:%M"));
    assert_eq!(read_with(&proven, &wrong).channels[0].at_ms[0], utc("2026-05-13T11:00:00Z"));
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
        assert_eq!((pit.len(), pit.at_ms[0]), (600, utc(first)));
        assert!(pit.at_ms.windows(2).all(|pair| pair[1] - pair[0] == 60_000));
        assert_eq!(pit.flag.iter().filter(|flag| **flag == Flag::Retimed).count(), 300);
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
    assert!(pit.at_ms.windows(2).all(|pair| pair[1] - pair[0] == 60_000));
    assert_eq!(pit.flag.iter().filter(|flag| **flag == Flag::Retimed).count(), 300);
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
    assert_eq!(log.channels[0].at_ms[0], utc("2026-05-02T06:00:00Z"));
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
    assert!(reversed.channels[0].flag.iter().all(|flag| *flag == Flag::Good));
    assert_eq!(straight.channels[0].at_ms[599] - straight.channels[0].at_ms[0], 599 * 60_000);
}

#[test]
fn shifting_all_clocks_changes_no_duration() {
    let steps = |log: &Log| -> Vec<i64> {
        log.channels[0].at_ms.windows(2).map(|pair| pair[1] - pair[0]).collect()
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
fn sentinels_are_counted_and_told_from_temperatures() {
    let mut text = String::from("Time,Pit (F),Meat (F)\n");
    for minute in 0..40 {
        // A firebox that passes through 999 °F, and meat unplugged at 999.
        let pit = 980 + minute;
        let meat = match minute {
            10..14 => "999".to_owned(),
            20 => "HI".to_owned(),
            21 => "-3276.8".to_owned(),
            _ => (41 + minute / 10).to_string(),
        };
        writeln!(text, "2026-05-02T06:{minute:02}Z,{pit},{meat}").unwrap();
    }
    let log = read(&text);
    assert_eq!((log.channels[0].len(), log.channels[1].len()), (40, 34));
    let missing = log.record.evidence.iter().find(|e| e.what == "missing values").unwrap();
    assert_eq!(missing.taken_as, "4 `999`, 1 `-3276.8`, 1 `HI`");
    assert!(missing.because.contains("1 cells of the same numbers are"), "{}", missing.because);
    let measured =
        with_layout(&text, "name = \"a\"\nheader = [\"Time\", \"Pit*\"]\nmeasured = [999.0]\n");
    assert_eq!(measured.channels[1].len(), 38);
}

#[test]
fn a_decimal_sign_in_doubt_is_asked() {
    let text = "Time;Pit (F);Firebox (F)\n2026-05-02T06:00Z;225;1,050\n2026-05-02T06:01Z;226;1,051\n2026-05-02T06:02Z;226;990\n";
    let message = error(text);
    assert!(message.contains("either: 1.05") && message.contains("1050"), "{message}");
    let log = with_layout(text, "name = \"a\"\nheader = [\"Time\"]\ndecimal = \"point\"\n");
    assert!((log.channels[1].temp_c[0] - 565.555_5).abs() < 1e-3);
}

#[test]
fn an_inspection_shows_it_in_few_lines() {
    let mut text = cook_log("Time;Channel 1 (C);Channel 2 (C)", |m| at(m, "%d.%m.%Y %H:%M"));
    text = text.replace(',', ";");
    text.push_str("02.05.2026 1x:00;107.0;93.0\n02.05.2026 16:00;107.0;---\n");
    insta::assert_snapshot!(read(&text).describe(&jiff::tz::TimeZone::UTC));
}
