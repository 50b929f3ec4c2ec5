//! What the lines around a table say: key and value, and the day of a log.

use crate::log::words;
use crate::time::{self, TimeFormat};

/// A line of the preamble as key and value.
pub(crate) fn key_and_value(raw: &[u8], line: u32, delimiter: u8) -> (String, String) {
    let text = String::from_utf8_lossy(raw);
    let bare = text.trim().trim_start_matches(['#', '/', ' ']).trim();
    let bare = bare.trim_end_matches([char::from(delimiter), ' ']);
    let clean = |part: &str| part.trim().trim_matches('"').trim().to_owned();
    // The first separator of the line: later ones belong to the value, as in a clock time.
    let parts = if matches!(delimiter, b' ' | crate::text::GAP) { b':' } else { delimiter };
    let separators = [':', '=', char::from(parts)];
    // `start 2025-08-12 06:00`: the colon is the clock's.
    if let Some((key, value)) = bare.split_once(' ')
        && !key.contains(separators)
        && (words::is_date(key) || words::is_start(key))
        && value.starts_with(|c: char| c.is_ascii_digit())
    {
        return (clean(key), clean(value));
    }
    if let Some((key, value)) = bare.split_once(separators)
        && !key.trim().is_empty()
        && key.len() <= 60
        && !key.trim_start().starts_with(|c: char| c.is_ascii_digit())
    {
        return (clean(key), clean(value.trim_start_matches(char::from(parts))));
    }
    (format!("line {line}"), clean(bare))
}

/// What a date of numbers alone is where every order that reads it reads the same.
fn only(read: impl Fn(TimeFormat) -> Option<i64>) -> Option<i64> {
    let orders = [TimeFormat::DayFirst, TimeFormat::MonthFirst, TimeFormat::YearFirst];
    let mut found = orders.into_iter().filter_map(read);
    let first = found.next()?;
    found.all(|other| other == first).then_some(first)
}

/// A day that a preamble names.
pub(crate) struct PreambleDay {
    /// Days since 1970-01-01.
    pub(crate) day: i64,
    /// The line.
    pub(crate) text: String,
    /// The time of day that stands with it, where a log began, ms.
    pub(crate) clock_ms: Option<i64>,
}

/// The day that the preamble gives the log: a line about a date or a start.
pub(crate) fn day<'r>(
    remarks: impl IntoIterator<Item = &'r (String, String)>,
) -> Option<PreambleDay> {
    remarks.into_iter().find_map(|(key, value)| {
        if !words::is_date(key) && !words::is_start(key) {
            return None;
        }
        let bytes = value.as_bytes();
        let whole = time::parse_iso(bytes)
            .map(|stamp| stamp.ms)
            .or_else(|| only(|order| time::parse(order, bytes, None).map(|stamp| stamp.ms)));
        let day = time::parse_iso_date(bytes)
            .or_else(|| Some(time::parse_date(TimeFormat::MonthName, bytes)?.0))
            .or_else(|| only(|order| Some(time::parse_date(order, bytes)?.0)));
        Some(PreambleDay {
            day: whole.map(|ms| ms.div_euclid(time::DAY_MS)).or(day)?,
            text: format!("{key}: {value}"),
            clock_ms: whole.map(|ms| ms.rem_euclid(time::DAY_MS)),
        })
    })
}
