//! Logs of many kinds: values, rejections, evidence, questions.

mod clocks;
mod columns;
mod layouts;
mod lines;
mod messages;

use ingest::{Log, ReadOptions, read_log_bytes};
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

fn with_layout(text: &str, layout: &str) -> Log {
    let layout = ingest::Layout::parse(layout, "l.toml").unwrap();
    read_with(text, &ReadOptions { layouts: vec![layout], ..options() })
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
