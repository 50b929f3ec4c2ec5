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
    insta::assert_snapshot!(error(
        "Time,Channel 1 (F),Channel 2 (F)\n2026-05-02T06:00Z,225,41\n2026-05-02T06:01Z,226,41\n"
    ));
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
