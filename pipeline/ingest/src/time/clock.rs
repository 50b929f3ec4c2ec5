//! Times of day and offsets from UTC as they are written.

use super::digits::digits;

/// `h:mm`, `h:mm:ss`, `h:mm:ss.fff`, perhaps with AM or PM, or the basic form `hhmm`,
/// `hhmmss`: milliseconds of the day, and the rest.
pub(crate) fn parse_clock(text: &[u8]) -> Option<(i64, &[u8])> {
    let (mut hour, hour_digits, rest) = digits(text)?;
    if matches!(hour_digits, 4 | 6) && rest.first() != Some(&b':') {
        return parse_basic(hour, hour_digits, rest);
    }
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
        let (fraction, after) = fraction_ms(after)?;
        ms = second * 1000 + fraction;
        rest = after;
    }
    if let Some((afternoon, after)) = half_of_day(rest.trim_ascii_start()) {
        if !(1..=12).contains(&hour) {
            return None;
        }
        hour = hour % 12 + if afternoon { 12 } else { 0 };
        rest = after;
    }
    (hour <= 23).then_some((hour * 3_600_000 + minute * 60_000 + ms, rest))
}

/// `hhmm` or `hhmmss` of ISO 8601's basic form.
fn parse_basic(number: i64, count: usize, rest: &[u8]) -> Option<(i64, &[u8])> {
    let (clock, second) = if count == 6 { (number / 100, number % 100) } else { (number, 0) };
    let (hour, minute) = (clock / 100, clock % 100);
    let (fraction, rest) = fraction_ms(rest)?;
    (hour <= 23 && minute <= 59 && second <= 59)
        .then_some((hour * 3_600_000 + minute * 60_000 + second * 1000 + fraction, rest))
}

/// Decimals of a second, in ms; none where there is no decimal sign.
pub(super) fn fraction_ms(text: &[u8]) -> Option<(i64, &[u8])> {
    let Some(after) = text.strip_prefix(b".").or_else(|| text.strip_prefix(b",")) else {
        return Some((0, text));
    };
    let count = after.iter().take_while(|b| b.is_ascii_digit()).count();
    if count == 0 {
        return None;
    }
    let digit = |i: usize| after[..count].get(i).map_or(0, |b| i64::from(b - b'0'));
    Some((digit(0) * 100 + digit(1) * 10 + digit(2), &after[count..]))
}

/// `AM`, `pm`, `a.m.`, `p. m.` at the head of a text: whether it is the afternoon, and the
/// rest.
fn half_of_day(text: &[u8]) -> Option<(bool, &[u8])> {
    let afternoon = match text.first()? {
        b'a' | b'A' => false,
        b'p' | b'P' => true,
        _ => return None,
    };
    let rest = &text[1..];
    let rest = rest.strip_prefix(b".").unwrap_or(rest);
    // Some languages put a space, or a narrow no-break space, between the two.
    let rest = crate::text::trim(rest);
    let rest = rest.strip_prefix(b"\xE2\x80\xAF").unwrap_or(rest);
    let rest = rest.strip_prefix(b"m").or_else(|| rest.strip_prefix(b"M"))?;
    Some((afternoon, rest.strip_prefix(b".").unwrap_or(rest)))
}

/// A clock time alone, in ms of the day.
pub(crate) fn parse_clock_only(text: &[u8]) -> Option<i64> {
    let text = crate::text::trim(text);
    let (ms, rest) = parse_clock(text)?;
    (rest.is_empty() && text.contains(&b':')).then_some(ms)
}

/// A clock time alone, perhaps with its offset from UTC: ms of the day on its own clock.
pub(crate) fn parse_clock_with_offset(text: &[u8]) -> Option<i64> {
    let text = crate::text::trim(text);
    let (ms, rest) = parse_clock(text)?;
    let rest = rest.trim_ascii();
    (text.contains(&b':') && (rest.is_empty() || parse_offset(rest).is_some())).then_some(ms)
}

/// An offset as [`parse_offset`] reads it: `-05:00`.
pub(crate) fn offset_text(ms: i64) -> String {
    let minutes = ms.abs() / 60_000;
    format!("{}{:02}:{:02}", if ms < 0 { '-' } else { '+' }, minutes / 60, minutes % 60)
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
