//! Times as they are written in logs and sheets, read from bytes without allocation.

mod clock;
mod date;
mod elapsed;

use clock::parse_clock;
pub(crate) use clock::{parse_clock_only, parse_clock_with_offset, parse_offset};
pub(crate) use date::{days_of, parse_date};
use elapsed::parse_elapsed;
pub(crate) use elapsed::parse_since;

use crate::layout::TimeFormat;

pub(crate) const DAY_MS: i64 = 86_400_000;

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
        F::ElapsedHms => {
            elapsed(parse_elapsed(cell, 3, 3_600_000).or_else(|| elapsed::parse_parts(cell)))
        }
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

/// The number at the head of a text, its count of digits (at most 9), and the rest.
fn digits(text: &[u8]) -> Option<(i64, usize, &[u8])> {
    let mut value = 0;
    let mut count = 0;
    while let Some(digit) = text.get(count).filter(|b| b.is_ascii_digit()) {
        value = value * 10 + i64::from(digit - b'0');
        count += 1;
        if count > 9 {
            return None;
        }
    }
    (count > 0).then(|| (value, count, &text[count..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ms(text: &str) -> i64 {
        text.parse::<jiff::Timestamp>().unwrap().as_millisecond()
    }

    #[test]
    fn iso_times_agree_with_jiff() {
        for (written, meant) in [
            ("2026-05-02T06:00:00Z", "2026-05-02T06:00:00Z"),
            ("2026-05-02 06:00", "2026-05-02T06:00:00Z"),
            ("2026/05/02 6:00:30.25", "2026-05-02T06:00:30.25Z"),
            ("2024-02-29T23:59:59.999", "2024-02-29T23:59:59.999Z"),
            ("2026-05-02 06:00:00 PM", "2026-05-02T18:00:00Z"),
        ] {
            let stamp = parse_iso(written.as_bytes()).unwrap();
            assert_eq!(stamp.ms, ms(meant), "{written}");
        }
        let stamp = parse_iso(b"2026-05-02T06:00:00-05:00").unwrap();
        assert_eq!((stamp.ms, stamp.offset), (ms("2026-05-02T06:00:00Z"), Some(-18_000)));
        for bad in ["2026-02-29T06:00", "2026-05-02", "2026-05-02T25:00", "2026-05-02T06:00:00x"] {
            assert_eq!(parse_iso(bad.as_bytes()), None, "{bad}");
        }
    }

    #[test]
    fn dates_in_other_orders() {
        let at = |format, text: &str| parse(format, text.as_bytes(), None).map(|s| s.ms);
        let may = Some(ms("2026-05-02T18:30:00Z"));
        assert_eq!(at(TimeFormat::DayFirst, "02.05.2026 18:30"), may);
        assert_eq!(at(TimeFormat::MonthFirst, "5/2/2026 6:30 PM"), may);
        assert_eq!(at(TimeFormat::YearFirst, "26/05/02 18:30"), may);
        assert_eq!(at(TimeFormat::MonthName, "2 May 2026 18:30"), may);
        assert_eq!(at(TimeFormat::MonthName, "May 2, 2026 6:30 pm"), may);
        assert_eq!(at(TimeFormat::DayFirst, "05/14/2026 18:30"), None);
        assert_eq!(parse(TimeFormat::DayFirst, b"02/05/26", Some(b"18:30:00")).map(|s| s.ms), may);
        for written in [
            "02-May-26 18:30:00",
            "2026-May-02 18:30",
            "Sat, 2 May 2026 6:30 p. m.",
            "Saturday May 2 2026 18:30",
            "2. Mai 2026 18:30",
            "2 maggio 2026 18:30",
        ] {
            assert_eq!(at(TimeFormat::MonthName, written), may, "{written}");
        }
        assert_eq!(at(TimeFormat::Iso, "20260502T1830"), may);
        assert_eq!(at(TimeFormat::Iso, "20260502T183000Z"), may);
        // Day 46144 of the 1900 system is 2026-05-02 (by hand: 46 022 is 2025-12-31).
        assert_eq!(at(TimeFormat::SerialDays, "46144.7708333"), may);
        assert_eq!(at(TimeFormat::SerialDays, "46144,770833333336"), may);
        assert_eq!(at(TimeFormat::UnixMicroseconds, "1777746600000000"), may);
    }

    #[test]
    fn elapsed_times() {
        let at = |format, text: &str| parse(format, text.as_bytes(), None).map(|s| s.ms);
        assert_eq!(at(TimeFormat::ElapsedHms, "26:00:30"), Some(93_630_000));
        assert_eq!(at(TimeFormat::ElapsedHms, "0:00:01.5"), Some(1500));
        assert_eq!(at(TimeFormat::ElapsedHms, "-0:00:01.5"), Some(-1500));
        for written in [
            "1d 02:00:30",
            "1 day, 2:00:30",
            "1 02:00:30",
            "1.02:00:30",
            "1:02:00:30",
            "1d 2h 30s",
            "26h 0m 30s",
        ] {
            assert_eq!(at(TimeFormat::ElapsedHms, written), Some(93_630_000), "{written}");
        }
        assert_eq!(at(TimeFormat::ElapsedHm, "1:30"), Some(5_400_000));
        assert_eq!(at(TimeFormat::ElapsedMs, "75:30"), Some(4_530_000));
        assert_eq!(at(TimeFormat::ElapsedMinutes, "1,5"), Some(90_000));
        assert_eq!(at(TimeFormat::ElapsedHms, "0:75:00"), None);
        assert_eq!(parse_since(b"+6:30"), Some(23_400_000));
        assert_eq!(parse_since(b"+0:00:10"), Some(10_000));
        assert_eq!(parse_since(b"6:30"), None);
    }

    #[test]
    fn days_agree_with_jiff_over_two_centuries() {
        let mut date = jiff::civil::date(1950, 1, 1);
        for _ in 0..73_000 {
            let at = jiff::tz::TimeZone::UTC.to_timestamp(date.at(0, 0, 0, 0)).unwrap().as_second();
            assert_eq!(
                days_of(date.year().into(), date.month().into(), date.day().into()),
                Some(at / 86_400 - i64::from(at % 86_400 < 0))
            );
            date = date.tomorrow().unwrap();
        }
    }

    #[test]
    fn offsets() {
        assert_eq!(parse_offset(b"+05:30"), Some(19_800));
        assert_eq!(parse_offset(b"-0500"), Some(-18_000));
        assert_eq!(parse_offset(b"Z"), Some(0));
        assert_eq!(parse_offset(b"CST"), None);
    }
}
