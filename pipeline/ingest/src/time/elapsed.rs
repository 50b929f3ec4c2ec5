//! Elapsed times as they are written.

use super::clock::fraction_ms;
use super::date::DAY_MS;
use super::digits::digits;

/// `h:mm:ss` (three parts) or two parts of which the first counts `unit` ms; hours and
/// leading minutes may exceed their clock range. Perhaps a sign and days before (`1d`,
/// `1 day,`, `1.`, `1:` with three parts behind) and decimals after.
pub(super) fn parse_elapsed(text: &[u8], parts: usize, unit: i64) -> Option<i64> {
    let (sign, text) = match text.first()? {
        b'-' => (-1, &text[1..]),
        b'+' => (1, &text[1..]),
        _ => (1, text),
    };
    let (days, text) = if parts == 3 { days(text) } else { (0, text) };
    let (first, first_digits, rest) = digits(text)?;
    if first_digits > 6 || (days > 0 && first > 23) {
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
    if step == 1000 {
        let (fraction, after) = fraction_ms(rest)?;
        ms += fraction;
        rest = after;
    }
    rest.is_empty().then_some(sign * (days * DAY_MS + ms))
}

/// Days before `h:mm:ss`, and the rest.
fn days(text: &[u8]) -> (i64, &[u8]) {
    let Some((days, count, rest)) = digits(text) else { return (0, text) };
    if count > 3 {
        return (0, text);
    }
    let spaced = rest.trim_ascii_start();
    let length = spaced.iter().take_while(|b| b.is_ascii_alphabetic()).count();
    let word = spaced[..length].to_ascii_lowercase();
    let after = match &word[..] {
        b"d" | b"day" | b"days" => spaced[length..].trim_ascii_start(),
        b"" if rest.first() == Some(&b' ') => return (days, spaced),
        b"" if matches!(rest.first(), Some(b'.')) => &rest[1..],
        b"" if memchr::memchr_iter(b':', rest).count() == 3 => &rest[1..],
        _ => return (0, text),
    };
    (days, after.strip_prefix(b",").unwrap_or(after).trim_ascii_start())
}

/// `1h 23m 45s`, `1 h 23 min`, `83m`, `1d 2h`: parts of falling units, in ms.
pub(super) fn parse_parts(text: &[u8]) -> Option<i64> {
    let mut rest = text.trim_ascii();
    let mut total = 0;
    let mut last = i64::MAX;
    while !rest.is_empty() {
        let (number, _, after) = digits(rest)?;
        let (fraction, after) = fraction_ms(after)?;
        let after = after.trim_ascii_start();
        let length = after.iter().take_while(|b| b.is_ascii_alphabetic()).count();
        let unit = match &after[..length].to_ascii_lowercase()[..] {
            b"d" | b"day" | b"days" => DAY_MS,
            b"h" | b"hr" | b"hrs" | b"hour" | b"hours" => 3_600_000,
            b"m" | b"min" | b"mins" | b"minute" | b"minutes" => 60_000,
            b"s" | b"sec" | b"secs" | b"second" | b"seconds" => 1000,
            _ => return None,
        };
        if unit >= last || number >= 1_000_000 || (fraction > 0 && unit != 1000) {
            return None;
        }
        last = unit;
        total += number * unit + fraction;
        rest = after[length..].trim_ascii_start();
        rest = rest.strip_prefix(b",").unwrap_or(rest).trim_ascii_start();
    }
    (last < i64::MAX).then_some(total)
}

/// Elapsed time of a sheet, `+6:30` or `+6:30:00`, in ms.
pub(crate) fn parse_since(text: &[u8]) -> Option<i64> {
    let text = crate::text::trim(text).strip_prefix(b"+")?;
    parse_elapsed(text, 3, 3_600_000).or_else(|| parse_elapsed(text, 2, 3_600_000))
}
