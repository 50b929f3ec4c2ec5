//! Times in every format that a log may have.

use super::clock::{parse_clock, parse_clock_only, parse_offset};
use super::date::{DAY_MS, parse_date};
use super::elapsed::{parse_elapsed, parse_parts};
use super::format::TimeFormat;

/// A written time: milliseconds since 1970-01-01T00:00:00 of its own clock, or since the
/// log's zero; with the clock's offset from UTC in seconds where it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Stamp {
    pub(crate) ms: i64,
    pub(crate) offset: Option<i32>,
}

/// Reads `cell` (for two columns: date, with `clock` the other) in a format; numbers with
/// either decimal sign, and without marks between thousands.
pub(crate) fn parse(format: TimeFormat, cell: &[u8], clock: Option<&[u8]>) -> Option<Stamp> {
    use TimeFormat as F;
    let elapsed = |ms: Option<i64>| ms.map(|ms| Stamp { ms, offset: None });
    match format {
        F::Iso | F::DayFirst | F::MonthFirst | F::YearFirst | F::MonthName => {
            parse_dated(format, cell, clock)
        }
        F::Clock => elapsed(parse_clock_only(cell)),
        F::ElapsedHms => elapsed(parse_elapsed(cell, 3, 3_600_000).or_else(|| parse_parts(cell))),
        F::ElapsedHm => elapsed(parse_elapsed(cell, 2, 3_600_000)),
        F::ElapsedMs => elapsed(parse_elapsed(cell, 2, 60_000)),
        _ => parse_number(format, cell, if cell.contains(&b',') { b',' } else { b'.' }),
    }
}

/// Reads a time that is written as a number with this decimal sign.
pub(crate) fn parse_number(format: TimeFormat, cell: &[u8], decimal: u8) -> Option<Stamp> {
    use TimeFormat as F;
    let of = |scale: f64, offset| scaled(cell, decimal, scale).map(|ms| Stamp { ms, offset });
    match format {
        F::ElapsedDays => of(DAY_MS as f64, None),
        F::ElapsedHours => of(3_600_000.0, None),
        F::ElapsedMinutes => of(60_000.0, None),
        F::ElapsedSeconds => of(1000.0, None),
        F::ElapsedMilliseconds => of(1.0, None),
        F::UnixSeconds => of(1000.0, Some(0)),
        F::UnixMilliseconds => of(1.0, Some(0)),
        F::UnixMicroseconds => of(1e-3, Some(0)),
        F::SerialDays => serial(cell, decimal).map(|ms| Stamp { ms, offset: None }),
        _ => None,
    }
}

/// 1899-12-30 in days since 1970-01-01: day zero of spreadsheets' serial dates.
const SERIAL_ZERO: i64 = -25_569;

/// A spreadsheet's serial date: days since 1899-12-30. The fraction is a time of day,
/// which a double holds to about a microsecond, but files often to a second only.
fn serial(cell: &[u8], decimal: u8) -> Option<i64> {
    let ms = scaled(cell, decimal, DAY_MS as f64)? + SERIAL_ZERO * DAY_MS;
    // What the last decimal cannot tell from a whole second is one.
    let decimals = cell.iter().rev().take_while(|b| b.is_ascii_digit()).count().min(18) as i32;
    let second = (ms + 500).div_euclid(1000) * 1000;
    let resolution = DAY_MS as f64 * 10_f64.powi(-decimals) / 2.0 + 1.0;
    Some(if ((ms - second).abs() as f64) <= resolution { second } else { ms })
}

/// A number times `scale`, in whole milliseconds.
fn scaled(cell: &[u8], decimal: u8, scale: f64) -> Option<i64> {
    let value = crate::number::parse_time(cell, decimal)? * scale;
    // Beyond ±300 years it is no time of a cook, whatever it is.
    (value.abs() < 1e13).then(|| value.round() as i64)
}

fn parse_dated(format: TimeFormat, cell: &[u8], clock: Option<&[u8]>) -> Option<Stamp> {
    let (days, rest) = parse_date(format, cell)?;
    let clock_text = if let Some(clock) = clock {
        rest.is_empty().then_some(clock)?
    } else {
        match rest.first()? {
            b'T' | b't' | b',' => rest[1..].trim_ascii_start(),
            b' ' => rest.trim_ascii_start(),
            _ => return None,
        }
    };
    let (clock_ms, rest) = parse_clock(clock_text)?;
    let rest = rest.trim_ascii();
    let offset = if rest.is_empty() { None } else { Some(parse_offset(rest)?) };
    Some(Stamp { ms: days * DAY_MS + clock_ms, offset })
}

/// ISO 8601 date and time.
pub(crate) fn parse_iso(text: &[u8]) -> Option<Stamp> {
    parse_dated(TimeFormat::Iso, crate::text::trim(text), None)
}

/// An ISO 8601 date alone, as days since 1970-01-01.
pub(crate) fn parse_iso_date(text: &[u8]) -> Option<i64> {
    let (days, rest) = parse_date(TimeFormat::Iso, crate::text::trim(text))?;
    rest.is_empty().then_some(days)
}
