//! Times as they are written in logs and sheets, read from bytes without allocation.

use crate::layout::TimeFormat;

pub(crate) const DAY_MS: i64 = 86_400_000;

/// A written time: milliseconds since 1970-01-01T00:00:00 of its own clock, or since the
/// log's zero; with the clock's offset from UTC in seconds where it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Stamp {
    pub(crate) ms: i64,
    pub(crate) offset: Option<i32>,
}

/// Reads `cell` (for two columns: date, with `clock` the other) in a format.
pub(crate) fn parse(format: TimeFormat, cell: &[u8], clock: Option<&[u8]>) -> Option<Stamp> {
    use TimeFormat as F;
    let elapsed = |ms: Option<i64>| ms.map(|ms| Stamp { ms, offset: None });
    match format {
        F::Iso | F::DayFirst | F::MonthFirst | F::YearFirst | F::MonthName => {
            parse_dated(format, cell, clock)
        }
        F::ElapsedHms => elapsed(parse_elapsed(cell, 3, 3_600_000)),
        F::ElapsedHm => elapsed(parse_elapsed(cell, 2, 3_600_000)),
        F::ElapsedMs => elapsed(parse_elapsed(cell, 2, 60_000)),
        F::ElapsedHours => elapsed(scaled(cell, 3_600_000.0)),
        F::ElapsedMinutes => elapsed(scaled(cell, 60_000.0)),
        F::ElapsedSeconds => elapsed(scaled(cell, 1000.0)),
        F::ElapsedMilliseconds => elapsed(scaled(cell, 1.0)),
        F::UnixSeconds => scaled(cell, 1000.0).map(|ms| Stamp { ms, offset: Some(0) }),
        F::UnixMilliseconds => scaled(cell, 1.0).map(|ms| Stamp { ms, offset: Some(0) }),
    }
}

/// A number with either decimal sign, times `scale`, in whole milliseconds.
fn scaled(cell: &[u8], scale: f64) -> Option<i64> {
    let decimal = if cell.contains(&b',') { b',' } else { b'.' };
    let value = crate::number::parse(cell, decimal)? * scale;
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

/// The date at the head of a text, as days since 1970-01-01, and the rest.
pub(crate) fn parse_date(format: TimeFormat, text: &[u8]) -> Option<(i64, &[u8])> {
    if format == TimeFormat::MonthName {
        return parse_month_name(text);
    }
    let (first, first_digits, rest) = digits(text)?;
    let separator = *rest.first()?;
    if !matches!(separator, b'-' | b'/' | b'.') {
        return None;
    }
    let (second, second_digits, rest) = digits(&rest[1..])?;
    let rest = rest.strip_prefix(&[separator])?;
    let (third, third_digits, rest) = digits(rest)?;
    if second_digits > 2 {
        return None;
    }
    let two_thousands = |year: i64, digits: usize| match digits {
        4 => Some(year),
        2 => Some(2000 + year),
        _ => None,
    };
    let (year, month, day) = match format {
        TimeFormat::Iso => {
            if first_digits != 4 || third_digits > 2 {
                return None;
            }
            (first, second, third)
        }
        TimeFormat::YearFirst => {
            if first_digits != 2 || third_digits > 2 {
                return None;
            }
            (2000 + first, second, third)
        }
        TimeFormat::DayFirst | TimeFormat::MonthFirst => {
            if first_digits > 2 {
                return None;
            }
            let year = two_thousands(third, third_digits)?;
            if format == TimeFormat::DayFirst {
                (year, second, first)
            } else {
                (year, first, second)
            }
        }
        _ => return None,
    };
    Some((days_of(year, month, day)?, rest))
}

/// `2 May 2026`, `02-May-2026`, `May 2, 2026`.
fn parse_month_name(text: &[u8]) -> Option<(i64, &[u8])> {
    const MONTHS: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let gap = |text: &'_ [u8]| -> usize {
        text.iter().take_while(|b| matches!(b, b' ' | b'-' | b',' | b'.' | b'/')).count()
    };
    let word = |text: &[u8]| -> Option<(i64, usize)> {
        let length = text.iter().take_while(|b| b.is_ascii_alphabetic()).count();
        let word = text[..length].to_ascii_lowercase();
        let word = std::str::from_utf8(&word).ok()?;
        let month = MONTHS.iter().position(|month| {
            word.len() >= 3
                && (month.starts_with(word) || (word == "sept" && *month == "september"))
        })?;
        Some((month as i64 + 1, length))
    };
    let (month, day, rest) = if text.first()?.is_ascii_digit() {
        let (day, _, rest) = digits(text)?;
        let rest = &rest[gap(rest)..];
        let (month, length) = word(rest)?;
        (month, day, &rest[length..])
    } else {
        let (month, length) = word(text)?;
        let rest = &text[length..];
        let rest = &rest[gap(rest)..];
        let (day, _, rest) = digits(rest)?;
        (month, day, rest)
    };
    let rest = &rest[gap(rest)..];
    let (year, year_digits, rest) = digits(rest)?;
    if year_digits != 4 {
        return None;
    }
    Some((days_of(year, month, day)?, rest))
}

/// `h:mm`, `h:mm:ss`, `h:mm:ss.fff`, perhaps with AM or PM: milliseconds of the day, and
/// the rest.
pub(crate) fn parse_clock(text: &[u8]) -> Option<(i64, &[u8])> {
    let (mut hour, hour_digits, rest) = digits(text)?;
    let rest = rest.strip_prefix(b":")?;
    let (minute, minute_digits, mut rest) = digits(rest)?;
    if hour_digits > 2 || minute_digits != 2 || minute > 59 {
        return None;
    }
    let mut ms = 0;
    if let Some(after) = rest.strip_prefix(b":") {
        let (second, second_digits, after) = digits(after)?;
        if second_digits != 2 || second > 59 {
            return None;
        }
        ms = second * 1000;
        rest = after;
        if let Some(after) = rest.strip_prefix(b".").or_else(|| rest.strip_prefix(b",")) {
            let count = after.iter().take_while(|b| b.is_ascii_digit()).count();
            if count == 0 {
                return None;
            }
            let mut fraction = 0;
            for i in 0..3 {
                fraction = fraction * 10 + after[..count].get(i).map_or(0, |b| i64::from(b - b'0'));
            }
            ms += fraction;
            rest = &after[count..];
        }
    }
    let word = rest.trim_ascii_start();
    let half = |letter: u8| {
        let lower = [letter, b'm'];
        let dotted = [letter, b'.', b'm', b'.'];
        if word.len() >= 4 && word[..4].eq_ignore_ascii_case(&dotted) {
            Some(4)
        } else if word.len() >= 2 && word[..2].eq_ignore_ascii_case(&lower) {
            Some(2)
        } else {
            None
        }
    };
    if let Some((afternoon, length)) =
        half(b'a').map(|l| (false, l)).or_else(|| half(b'p').map(|l| (true, l)))
    {
        if !(1..=12).contains(&hour) {
            return None;
        }
        hour = hour % 12 + if afternoon { 12 } else { 0 };
        rest = &word[length..];
    }
    (hour <= 23).then_some((hour * 3_600_000 + minute * 60_000 + ms, rest))
}

/// A clock time alone, in ms of the day.
pub(crate) fn parse_clock_only(text: &[u8]) -> Option<i64> {
    let (ms, rest) = parse_clock(crate::text::trim(text))?;
    rest.is_empty().then_some(ms)
}

/// `h:mm:ss` (three parts) or two parts of which the first counts `unit` ms; hours and
/// leading minutes may exceed their clock range. Perhaps a sign before and decimals after.
fn parse_elapsed(text: &[u8], parts: usize, unit: i64) -> Option<i64> {
    let (sign, text) = match text.first()? {
        b'-' => (-1, &text[1..]),
        b'+' => (1, &text[1..]),
        _ => (1, text),
    };
    let (first, first_digits, rest) = digits(text)?;
    if first_digits > 6 {
        return None;
    }
    let mut ms = first * unit;
    let mut rest = rest;
    let mut step = unit;
    for _ in 1..parts {
        let (part, part_digits, after) = digits(rest.strip_prefix(b":")?)?;
        if part_digits != 2 || part > 59 {
            return None;
        }
        step /= 60;
        ms += part * step;
        rest = after;
    }
    if step == 1000
        && let Some(after) = rest.strip_prefix(b".").or_else(|| rest.strip_prefix(b","))
    {
        let count = after.iter().take_while(|b| b.is_ascii_digit()).count();
        if count == 0 {
            return None;
        }
        for (i, scale) in [100, 10, 1].into_iter().enumerate() {
            ms += after[..count].get(i).map_or(0, |b| i64::from(b - b'0')) * scale;
        }
        rest = &after[count..];
    }
    rest.is_empty().then_some(sign * ms)
}

/// Elapsed time of a sheet, `+6:30` or `+6:30:00`, in ms.
pub(crate) fn parse_since(text: &[u8]) -> Option<i64> {
    let text = crate::text::trim(text).strip_prefix(b"+")?;
    parse_elapsed(text, 3, 3_600_000).or_else(|| parse_elapsed(text, 2, 3_600_000))
}

/// `Z`, `+02:00`, `-0500`, `+02`, `UTC`: seconds east of UTC.
pub(crate) fn parse_offset(text: &[u8]) -> Option<i32> {
    let text = crate::text::trim(text);
    if text.eq_ignore_ascii_case(b"z")
        || text.eq_ignore_ascii_case(b"utc")
        || text.eq_ignore_ascii_case(b"gmt")
    {
        return Some(0);
    }
    let sign = match text.first()? {
        b'+' => 1,
        b'-' => -1,
        _ => return None,
    };
    let (number, count, rest) = digits(&text[1..])?;
    let (hours, minutes) = match (count, rest) {
        (1 | 2, b"") => (number, 0),
        (4, b"") => (number / 100, number % 100),
        (1 | 2, rest) => {
            let (minutes, 2, b"") = digits(rest.strip_prefix(b":")?)? else { return None };
            (number, minutes)
        }
        _ => return None,
    };
    (hours <= 15 && minutes <= 59).then(|| sign * (hours * 3600 + minutes * 60) as i32)
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

/// Days from 1970-01-01 to a date of the proleptic Gregorian calendar; `None` where there
/// is no such date. Algorithm: H. Hinnant, "chrono-Compatible Low-Level Date Algorithms"
/// (2013), `days_from_civil`.
pub(crate) fn days_of(year: i64, month: i64, day: i64) -> Option<i64> {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let length = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 => 28 + i64::from(leap),
        _ => return None,
    };
    if !(1..=length).contains(&day) || !(1900..=2200).contains(&year) {
        return None;
    }
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let year_of_era = year.rem_euclid(400);
    let day_of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    Some(era * 146_097 + day_of_era - 719_468)
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
    }

    #[test]
    fn elapsed_times() {
        let at = |format, text: &str| parse(format, text.as_bytes(), None).map(|s| s.ms);
        assert_eq!(at(TimeFormat::ElapsedHms, "26:00:30"), Some(93_630_000));
        assert_eq!(at(TimeFormat::ElapsedHms, "0:00:01.5"), Some(1500));
        assert_eq!(at(TimeFormat::ElapsedHms, "-0:00:01.5"), Some(-1500));
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
