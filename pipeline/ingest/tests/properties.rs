//! What must hold of every log.

use cook::season::TemperatureUnit;
use ingest::{Log, ReadOptions, read_log_bytes};
use proptest::prelude::*;
use std::fmt::Write as _;

/// One reading: minute since the log began, pit and meat in tenths of a °C, or none.
type Row = (Option<i32>, Option<i32>);

fn rows() -> impl Strategy<Value = Vec<Row>> {
    prop::collection::vec(
        (prop::option::weighted(0.9, 200..4000_i32), prop::option::weighted(0.9, -50..1000_i32)),
        8..60,
    )
    .prop_filter("a reading in each", |rows| {
        rows.iter().any(|row| row.0.is_some()) && rows.iter().any(|row| row.1.is_some())
    })
}

fn number(tenths: Option<i32>, decimal: char) -> String {
    tenths.map_or(String::new(), |t| {
        let sign = if t < 0 { "-" } else { "" };
        format!("{sign}{}{decimal}{}", t.abs() / 10, t.abs() % 10)
    })
}

fn time(minute: usize) -> String {
    format!("2026-05-{:02}T{:02}:{:02}:00Z", 2 + minute / 1440, minute / 60 % 24, minute % 60)
}

fn lines(rows: &[Row], delimiter: char, decimal: char) -> Vec<String> {
    rows.iter()
        .enumerate()
        .map(|(i, row)| {
            format!(
                "{}{delimiter}{}{delimiter}{}",
                time(i),
                number(row.0, decimal),
                number(row.1, decimal)
            )
        })
        .collect()
}

fn log(header: &str, lines: &[String]) -> String {
    format!("{header}\n{}\n", lines.join("\n"))
}

fn read(text: &str) -> Log {
    let log = read_log_bytes(text.as_bytes(), "a.csv", &ReadOptions::default())
        .unwrap_or_else(|error| panic!("{error}\n{text}"));
    assert!(log.record.account.closes(), "{}", log.record.account);
    log
}

/// Whether chance has put lines as a clock that was put back would: few falls, one of them between
/// two runs of five. The reader must ask then.
fn looks_put_back(lines: &[String]) -> bool {
    let minutes: Vec<&str> = lines.iter().map(|line| &line[..16]).collect();
    let falls: Vec<usize> = (1..minutes.len()).filter(|&i| minutes[i] < minutes[i - 1]).collect();
    let ends: Vec<usize> =
        [0].into_iter().chain(falls.iter().copied()).chain([lines.len()]).collect();
    falls.len() * 4 < lines.len() && ends.windows(3).any(|w| w[1] - w[0] >= 5 && w[2] - w[1] >= 5)
}

/// Channel values by time.
fn values(log: &Log) -> Vec<Vec<(i64, f32)>> {
    log.channels.iter().map(|c| c.at_ms.iter().zip(&c.temp_c).collect()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn no_sample_is_lost_from_csv_to_readings_and_back(rows in rows()) {
        let text = log("Time,Pit (C),Meat (C)", &lines(&rows, ',', '.'));
        let first = read(&text);
        let mut again = String::from("time,channel,value,unit\n");
        for channel in &first.channels {
            for (at, temp) in channel.at_ms.iter().zip(&channel.temp_c) {
                let at = jiff::Timestamp::from_millisecond(at).unwrap();
                writeln!(again, "{at},{},{temp},C", channel.name).unwrap();
            }
        }
        let second = read(&again);
        let written: usize = rows.iter().map(|r| usize::from(r.0.is_some()) + usize::from(r.1.is_some())).sum();
        prop_assert_eq!(values(&first).iter().map(Vec::len).sum::<usize>(), written);
        for channel in &first.channels {
            let other = second.channels.iter().find(|c| c.name == channel.name).unwrap();
            prop_assert_eq!(&channel.at_ms, &other.at_ms);
            prop_assert_eq!(&channel.temp_c, &other.temp_c);
        }
        for (i, row) in rows.iter().enumerate() {
            if let Some(tenths) = row.0 {
                let at = time(i).parse::<jiff::Timestamp>().unwrap().as_millisecond();
                let index = first.channels[0].at_ms.iter().position(|ms| ms == at).unwrap();
                prop_assert_eq!(first.channels[0].temp_c.at(index), (f64::from(tenths) / 10.0) as f32);
            }
        }
    }

    #[test]
    fn fahrenheit_and_celsius_agree(rows in rows()) {
        let celsius = read(&log("Time,Pit (C),Meat (C)", &lines(&rows, ',', '.')));
        // Exact in °F with two decimals: 0.1 °C is 0.18 °F.
        let fahrenheit: Vec<String> = rows.iter().enumerate().map(|(i, row)| {
            let f = |t: Option<i32>| t.map_or(String::new(), |t| format!("{:.2}", f64::from(t) * 0.18 + 32.0));
            format!("{},{},{}", time(i), f(row.0), f(row.1))
        }).collect();
        let fahrenheit = read(&log("Time,Pit (F),Meat (F)", &fahrenheit));
        for (a, b) in celsius.channels.iter().zip(&fahrenheit.channels) {
            prop_assert_eq!(&a.at_ms, &b.at_ms);
            for (x, y) in a.temp_c.iter().zip(&b.temp_c) {
                prop_assert!((x - y).abs() <= 1e-6 * x.abs().max(32.0), "{} {}", x, y);
            }
        }
    }

    #[test]
    fn the_order_of_rows_does_not_matter(
        (rows, shuffled) in rows().prop_flat_map(|rows| {
            let lines = lines(&rows, ',', '.');
            (Just(rows), Just(lines).prop_shuffle())
        })
    ) {
        prop_assume!(!looks_put_back(&shuffled));
        let straight = read(&log("Time,Pit (C),Meat (C)", &lines(&rows, ',', '.')));
        let mixed = read(&log("Time,Pit (C),Meat (C)", &shuffled));
        prop_assert_eq!(values(&straight), values(&mixed));
        let moved = |log: &Log| log.channels.iter().any(|c| c.flag.iter().any(|flag| flag == cook::Flag::Reordered));
        prop_assert!(!moved(&straight));
        // A row is marked exactly where times go back, unless the log has its newest line
        // first; a row without values has none.
        let full = rows.iter().all(|row| row.0.is_some());
        let sorted = shuffled.is_sorted();
        let turned = mixed.record.evidence.iter().any(|e| e.what == "order of lines");
        prop_assert!(!full || turned || moved(&mixed) != sorted);
    }

    #[test]
    fn one_corrupt_row_changes_no_other(rows in rows(), at in any::<prop::sample::Index>(), garbage in "[ -~]{0,40}") {
        let clean = lines(&rows, ',', '.');
        let at = at.index(clean.len());
        let mut dirty = clean.clone();
        dirty[at] = garbage;
        let clean = values(&read(&log("Time,Pit (C),Meat (C)", &clean)));
        let read_dirty = read(&log("Time,Pit (C),Meat (C)", &dirty));
        let lost = time(at).parse::<jiff::Timestamp>().unwrap().as_millisecond();
        for (channel, known) in read_dirty.channels.iter().zip(&clean) {
            let others: Vec<(i64, f32)> = known.iter().copied().filter(|(ms, _)| *ms != lost).collect();
            let line = at as u32 + 2;
            let seen: Vec<(i64, f32)> = (0..channel.len())
                .filter(|&i| channel.line.at(i) != line)
                .map(|i| (channel.at_ms.at(i), channel.temp_c.at(i)))
                .collect();
            prop_assert_eq!(others, seen);
        }
    }

    #[test]
    fn delimiters_are_equivalent(rows in rows()) {
        let comma = read(&log("Time,Pit (C),Meat (C)", &lines(&rows, ',', '.')));
        for (delimiter, decimal) in
            [(';', ','), (';', '.'), ('\t', ','), ('\t', '.'), ('|', ','), ('|', '.')]
        {
            let header = format!("Time{delimiter}Pit (C){delimiter}Meat (C)");
            let other = read(&log(&header, &lines(&rows, delimiter, decimal)));
            prop_assert_eq!(values(&comma), values(&other));
        }
        let quoted: Vec<String> = lines(&rows, ',', '.')
            .iter()
            .map(|line| line.split(',').map(|cell| format!("\"{cell}\"")).collect::<Vec<_>>().join(","))
            .collect();
        prop_assert_eq!(values(&comma), values(&read(&log("\"Time\",\"Pit (C)\",\"Meat (C)\"", &quoted))));
    }

    #[test]
    fn line_ends_and_a_byte_order_mark_are_equivalent(rows in rows()) {
        let text = log("Time,Pit (C),Meat (C)", &lines(&rows, ',', '.'));
        let plain = read(&text);
        for other in [text.replace('\n', "\r\n"), text.replace('\n', "\r"), format!("\u{feff}{text}")] {
            let other = read(&other);
            prop_assert_eq!(values(&plain), values(&other));
            prop_assert_eq!(plain.record.account, other.record.account);
        }
    }

    #[test]
    fn encodings_are_equivalent(rows in rows(), mark in any::<bool>()) {
        let text = log("Time,Pit (°C),Meat (°C)", &lines(&rows, ',', '.'));
        let plain = read(&text);
        let marked = if mark { format!("\u{feff}{text}") } else { text.clone() };
        let units: Vec<u16> = marked.encode_utf16().collect();
        let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
        for bytes in [
            units.iter().flat_map(|unit| unit.to_le_bytes()).collect(),
            units.iter().flat_map(|unit| unit.to_be_bytes()).collect(),
            latin,
        ] as [Vec<u8>; 3] {
            let other = read_log_bytes(&bytes, "a.csv", &ReadOptions::default()).unwrap();
            prop_assert_eq!(values(&plain), values(&other));
            prop_assert_eq!(plain.record.account, other.record.account);
        }
    }

    /// Copies of one log that were rounded in °F and in °C agree within half the coarser
    /// quantum, which is a tenth of a °C.
    #[test]
    fn rounded_copies_agree_within_half_a_quantum(rows in rows()) {
        let celsius = read(&log("Time,Pit (C),Meat (C)", &lines(&rows, ',', '.')));
        let rounded: Vec<String> = rows.iter().enumerate().map(|(i, row)| {
            let f = |t: Option<i32>| t.map_or(String::new(), |t| format!("{:.1}", f64::from(t) * 0.18 + 32.0));
            format!("{},{},{}", time(i), f(row.0), f(row.1))
        }).collect();
        let fahrenheit = read(&log("Time,Pit (F),Meat (F)", &rounded));
        for (a, b) in celsius.channels.iter().zip(&fahrenheit.channels) {
            for (x, y) in a.temp_c.iter().zip(&b.temp_c) {
                prop_assert!((x - y).abs() <= 0.05 + 1e-4, "{} {}", x, y);
            }
        }
    }

    #[test]
    fn shifting_all_clocks_changes_no_duration(rows in rows(), minutes in 0..500_000_usize) {
        let shifted = |by: usize| -> Vec<String> {
            rows.iter().enumerate().map(|(i, row)| {
                let at = jiff::civil::date(2026, 5, 2).at(0, 0, 0, 0)
                    + jiff::SignedDuration::from_mins((i + by) as i64);
                format!("{}Z,{},{}", at, number(row.0, '.'), number(row.1, '.'))
            }).collect()
        };
        let first = read(&log("Time,Pit (C),Meat (C)", &shifted(0)));
        let other = read(&log("Time,Pit (C),Meat (C)", &shifted(minutes)));
        let by = minutes as i64 * 60_000;
        for (a, b) in first.channels.iter().zip(&other.channels) {
            prop_assert!(a.at_ms.iter().zip(&b.at_ms).all(|(x, y)| y - x == by));
            prop_assert_eq!(&a.temp_c, &b.temp_c);
        }
    }

    #[test]
    fn the_suggested_layout_reads_the_same(rows in rows(), fahrenheit in any::<bool>()) {
        let unit = if fahrenheit { TemperatureUnit::Fahrenheit } else { TemperatureUnit::Celsius };
        let options = ReadOptions { unit: Some(unit), ..Default::default() };
        let text = log("Stamp;Grill;Probe 1", &lines(&rows, ';', ','));
        let first = read_log_bytes(text.as_bytes(), "a", &options).unwrap();
        let layouts = vec![first.suggested_layout()];
        let second = read_log_bytes(text.as_bytes(), "a", &ReadOptions { layouts, ..Default::default() }).unwrap();
        prop_assert_eq!(first.channels, second.channels);
    }
}

/// Pieces of which logs are made, so that garbage gets past the first checks.
fn garbage() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop_oneof![
        Just(b"Time,Pit (F),Meat (F)\n".to_vec()),
        Just(b"time;channel;value;unit\n".to_vec()),
        Just(b"2026-05-02 06:00,225,41\n".to_vec()),
        Just(b"2026-11-01 01:30,225,41\r\n".to_vec()),
        Just(b"2026-03-08 02:30,225,41\r".to_vec()),
        Just(b"05/06/2026 06:00;225,5;41,5\n".to_vec()),
        Just(b"0:00:30,225,---\n".to_vec()),
        Just(b"2000-01-01 00:00,225,999\n".to_vec()),
        Just(b"46144.25|1,225|1.050\n".to_vec()),
        Just(b"1777701600  225F  41F\n".to_vec()),
        Just(b",Socket 1,Socket 2\n".to_vec()),
        Just(b"11:59:00 PM;1'225,5;\\\"41\\\"\n".to_vec()),
        Just(b"\"a\nb\",\"".to_vec()),
        Just(b"\n,,,\n".to_vec()),
        Just(b"# note: x\n".to_vec()),
        Just("Pit °F\t".as_bytes().to_vec()),
        Just(b"\xB0".to_vec()),
        prop::collection::vec(any::<u8>(), 0..12),
        "[0-9:;,./ \"TZ+-]{0,20}\n".prop_map(String::into_bytes),
    ];
    prop::collection::vec(piece, 0..24).prop_map(|pieces| pieces.concat())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn garbage_gives_an_error_or_a_closed_account(bytes in garbage()) {
        let options = ReadOptions {
            zone: jiff::tz::TimeZone::get("America/Chicago").unwrap(),
            unit: Some(TemperatureUnit::Fahrenheit),
            ..Default::default()
        };
        if let Ok(log) = read_log_bytes(&bytes, "a.csv", &options) {
            let account = log.record.account;
            prop_assert!(account.closes(), "{}", account);
            let mut lines = 0_u64;
            let text = String::from_utf8_lossy(&bytes).into_owned();
            let mut rest = text.trim_start_matches('\u{feff}');
            while !rest.is_empty() {
                lines += 1;
                let end = rest.find(['\n', '\r']).unwrap_or(rest.len());
                rest = &rest[end..];
                rest = rest.strip_prefix("\r\n").or_else(|| rest.strip_prefix(['\n', '\r'])).unwrap_or(rest);
            }
            prop_assert_eq!(account.lines, lines);
            for channel in &log.channels {
                prop_assert!(channel.at_ms.pairs().all(|(one, next)| one < next));
                prop_assert!(channel.temp_c.iter().all(f32::is_finite));
            }
        }
    }

    #[test]
    fn garbage_sheets_give_an_error_or_a_closed_account(bytes in prop::collection::vec(prop_oneof![
        Just("cook,date,meat_on,pull,raw_weight_kg\n".to_owned()),
        Just("a,2026-05-02,06:00,+9:00,3\n".to_owned()),
        Just("b,2026-11-01,01:30,+1:00,-3\n".to_owned()),
        "[a-z0-9:,.+\" -]{0,30}\n",
    ], 0..12)) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.csv");
        std::fs::write(&path, bytes.concat()).unwrap();
        if let Ok(reading) = ingest::read_season_sheet(&path, "sheet.csv", &(&jiff::tz::TimeZone::UTC).into()) {
            prop_assert!(reading.account.closes());
            prop_assert_eq!(reading.cards.len(), reading.rows.len());
        }
    }
}
