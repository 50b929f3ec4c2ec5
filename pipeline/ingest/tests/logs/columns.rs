//! Which columns a log has, and what they are.

use super::{at, codes, cook_log, options, read, read_with, utc};
use cook::Role;
use cook::season::TemperatureUnit;
use ingest::{IngestError, ReadOptions, TimeBase, read_log_bytes};

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
    assert!(
        (pit.temp_c.at(0) - 107.222_22).abs() < 1e-4 && (pit.temp_c.at(1) - 108.0).abs() < 1e-4
    );
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
    assert!((log.channels[0].temp_c.at(0) - 107.222_22).abs() < 1e-4);
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
    assert_eq!(log.channels[1].at_ms.at(1), utc("2026-05-02T11:01:00Z"));
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
fn a_label_is_not_a_unit_and_a_setpoint_not_a_pit() {
    let settings = ReadOptions { unit: Some(TemperatureUnit::Fahrenheit), ..options() };
    let log = read_with(
        "time,probe_a,probe_b,probe_c,Pit Set\n2026-05-02T06:00Z,41,41,41,225\n2026-05-02T06:01Z,41,41,41,225\n",
        &settings,
    );
    assert_eq!(log.channels[2].name, "probe_c");
    assert_eq!(log.channels[2].temp_c.at(0), 5.0);
    assert_eq!(log.channels[3].role, Role::Other);
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
    assert_eq!(log.channels[0].at_ms.at(0), utc("2026-05-14T23:00:00Z"));
    let log =
        read("Date,Time,Pit (F),Meat (F)\n2026-05-14,0:00:00,225,41\n2026-05-14,0:00:30,225,41\n");
    assert_eq!(log.channels[0].at_ms.at(0), utc("2026-05-14T05:00:00Z"));
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
    assert_eq!(log.channels[0].at_ms.at(0), 1_744_523_410_000);
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

/// A cook of 12 h: a pit about 110 °C, meat from 4 to 95 °C, in a unit, ten times over if asked.
fn whole_cook(header: &str, fahrenheit: impl Fn(u32) -> bool, times: f64) -> String {
    let mut text = format!("{header}\n");
    for minute in 0..720_u32 {
        let pit = 110.0 + 4.0 * f64::from(minute % 40 / 10);
        let meat = 4.0 + 91.0 * (1.0 - (-f64::from(minute) / 240.0).exp()) / 0.95;
        let of = |celsius: f64| {
            let value = if fahrenheit(minute) { celsius * 1.8 + 32.0 } else { celsius };
            value * times
        };
        let time = super::at(minute.into(), "%Y-%m-%dT%H:%MZ");
        text.push_str(&format!("{time},{:.1},{:.1}\n", of(pit), of(meat)));
    }
    text
}

fn question_of(text: &str) -> cook::Question {
    let Err(error) = read_log_bytes(text.as_bytes(), "logs/a.csv", &options()) else {
        panic!("nothing is asked");
    };
    error.question().unwrap_or_else(|| panic!("{error}")).clone()
}

#[test]
fn the_physics_of_a_whole_cook_tell_the_unit() {
    for fahrenheit in [true, false] {
        let log = read(&whole_cook("Time,Pit,Brisket", |_| fahrenheit, 1.0));
        assert!(
            (log.channels[0].temp_c.at(0) - 110.0).abs() < 0.1,
            "{}",
            log.channels[0].temp_c.at(0)
        );
        let why = log.record.evidence.iter().find(|e| e.what.starts_with("unit where")).unwrap();
        assert!(why.because.contains("only so is it a cook"), "{}", why.because);
    }
}

#[test]
fn a_default_never_overrules_what_a_cook_shows() {
    let options = ingest::ReadOptions {
        unit: Some(cook::season::TemperatureUnit::Fahrenheit),
        ..super::options()
    };
    let text = whole_cook("Time,Pit,Brisket", |_| false, 1.0);
    let log = ingest::read_log_bytes(text.as_bytes(), "a.csv", &options).unwrap();
    assert!((log.channels[0].temp_c.at(0) - 110.0).abs() < 0.1);
    let text = whole_cook("Time,Pit F,Brisket F", |_| true, 1.0);
    let options = ingest::ReadOptions {
        unit: Some(cook::season::TemperatureUnit::Celsius),
        ..super::options()
    };
    let log = ingest::read_log_bytes(text.as_bytes(), "a.csv", &options).unwrap();
    assert!((log.channels[0].temp_c.at(0) - 110.0).abs() < 0.1);
    assert_eq!(log.channels[0].name, "Pit");
}

#[test]
fn a_unit_that_no_cook_has_is_asked() {
    for (header, fahrenheit, times, likely) in [
        ("Time,Pit (F),Brisket (F)", false, 1.0, "C"),
        ("Time,Pit (C),Brisket (C)", true, 1.0, "F"),
        ("Time,Pit (F),Brisket (F)", true, 10.0, "tenths-of-F"),
        ("Time,Pit (C),Brisket (C)", false, 10.0, "tenths-of-C"),
        ("Time,Pit temp [F],IT [F]", true, 10.0, "tenths-of-F"),
        ("Time,One (F),Two (F)", true, 10.0, "tenths-of-F"),
    ] {
        let text = whole_cook(header, |_| fahrenheit, times);
        let question = question_of(&text);
        assert_eq!(question.code, cook::QuestionCode::UnitAgainstPhysics, "{header}");
        assert_eq!(question.answers[0].take, likely);
        let answers = [(question.id, likely.to_owned())].into_iter().collect();
        let options = ingest::ReadOptions { answers, ..super::options() };
        let log = ingest::read_log_bytes(text.as_bytes(), "logs/a.csv", &options).unwrap();
        assert!(
            (log.channels[0].temp_c.at(0) - 110.0).abs() < 0.2,
            "{}",
            log.channels[0].temp_c.at(0)
        );
    }
}

#[test]
fn a_unit_in_each_cell_is_held_against_a_cook_too() {
    let plain = whole_cook("Time,Pit,Brisket", |_| true, 10.0);
    let with_units = |unit: &str| {
        let mut lines = plain.lines();
        let mut text = format!("{}\n", lines.next().unwrap());
        for line in lines {
            text +=
                &line.replacen(',', "#", 1).replace(',', &format!("{unit},")).replacen('#', ",", 1);
            text += unit;
            text.push('\n');
        }
        text
    };
    let question = question_of(&with_units("F"));
    assert_eq!(question.code, cook::QuestionCode::UnitAgainstPhysics);
    assert_eq!(question.answers[0].take, "tenths-of-F");
    let answers = [(question.id, "tenths-of-F".to_owned())].into_iter().collect();
    let options = ingest::ReadOptions { answers, ..super::options() };
    let log = ingest::read_log_bytes(with_units("F").as_bytes(), "logs/a.csv", &options).unwrap();
    assert!((log.channels[0].temp_c.at(0) - 110.0).abs() < 0.2, "{}", log.channels[0].temp_c.at(0));
    assert!(log.channels[0].flag.iter().all(|flag| flag == cook::Flag::Good));
}

#[test]
fn a_unit_that_changes_in_the_middle_is_asked() {
    let text = whole_cook("Time,Pit (F),Brisket (F)", |minute| minute < 305, 1.0);
    let question = question_of(&text);
    assert_eq!(question.code, cook::QuestionCode::UnitChanges);
    assert_eq!(question.places, ["logs/a.csv:307"]);
    let answers = [(question.id, "C-from-here".to_owned())].into_iter().collect();
    let options = ingest::ReadOptions { answers, ..super::options() };
    let log = ingest::read_log_bytes(text.as_bytes(), "logs/a.csv", &options).unwrap();
    assert!(log.channels[0].temp_c.iter().all(|celsius| (105.0..125.0).contains(&celsius)));
}

#[test]
fn a_column_of_units_is_that_of_each_line() {
    let text =
        "Time,Pit,Unit,Meat,Unit\n2026-05-02T06:00Z,225,F,5,C\n2026-05-02T06:01Z,107.5,C,41,F\n";
    let log = read(text);
    assert!((log.channels[0].temp_c.at(1) - 107.5).abs() < 1e-3);
    assert!((log.channels[0].temp_c.at(0) - 107.222).abs() < 1e-2);
    assert!(
        (log.channels[1].temp_c.at(0) - 5.0).abs() < 1e-3 && log.channels[1].temp_c.at(1) == 5.0
    );
}

#[test]
fn a_target_without_a_unit_and_a_signal_strength_refuse_no_log() {
    let log = read(
        "Time,Pit (F),Meat (F),Target,Outside (dBm)\n2026-05-02T06:00Z,225,41,203,-67\n2026-05-02T06:01Z,226,41,203,-66\n",
    );
    assert_eq!(log.channels.len(), 3);
    assert!((log.channels[2].temp_c.at(0) - 95.0).abs() < 1e-3);
}

#[test]
fn numbers_without_bounds_are_no_temperatures_and_break_nothing() {
    let log = read(
        "time,Pit (C),Meat (C)\n2026-05-02T06:00:00Z,107.5,4.5\n2026-05-02T06:01:00Z,1e308,4.5\n\
         2026-05-02T06:02:00Z,107.5,-1e39\n2026-05-02T06:03:00Z,107.5,4.5\n",
    );
    let rejected: Vec<(u64, &str)> =
        log.rejected.iter().map(|row| (row.line, row.code.as_str())).collect();
    assert_eq!(rejected, [(3, "bad-number"), (4, "bad-number")]);
    assert!(log.channels.iter().all(|channel| channel.temp_c.iter().all(f32::is_finite)));
    // A column of whole numbers that lie further apart than a number can tell.
    let (least, most) = (i64::MIN, i64::MAX);
    let count = format!(
        "time,Count,Pit (C),Meat (C)\n2026-05-02T06:00Z,{least},107,4\n2026-05-02T06:01Z,{most},107,4\n\
         2026-05-02T06:02Z,1,107,4\n2026-05-02T06:03Z,2,107,4\n"
    );
    assert!(read(&count).channels.iter().any(|channel| channel.name == "Pit"));
}
