//! Numbers, units behind numbers, and texts that mean "no value".

use cook::season::TemperatureUnit;

/// Words for "no value" and for readings beyond the instrument's range.
const SENTINEL_WORDS: [&str; 48] = [
    "n/a",
    "na",
    "nan",
    "#n/a",
    "null",
    "none",
    "nil",
    "open",
    "short",
    "off",
    "err",
    "error",
    "fault",
    "fail",
    "disconnected",
    "unplugged",
    "not connected",
    "no probe",
    "absent",
    "missing",
    "hi",
    "lo",
    "high",
    "low",
    "ol",
    "over",
    "under",
    "overrange",
    "inf",
    "-inf",
    "n.a.",
    "n/c",
    "nc",
    "no data",
    "no signal",
    "no reading",
    "invalid",
    "undef",
    "undefined",
    "opn",
    "open circuit",
    "short circuit",
    "probe error",
    "sensor error",
    "over range",
    "under range",
    "ovf",
    "out of range",
];

/// Powers of ten that an `f64` holds exactly.
const TENS: [f64; 19] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18,
];

/// A decimal number, without thousands separators. Up to 15 digits (all that a logger
/// writes) the quotient of two exact numbers is the correctly rounded one (Clinger 1990);
/// the rest goes to the standard library.
pub(crate) fn parse(cell: &[u8], decimal: u8) -> Option<f64> {
    let (value, rest) = parse_prefix(cell, decimal)?;
    rest.is_empty().then_some(value)
}

/// A number of a time column, by its decimal sign; see [`time_decimal`].
pub(crate) fn parse_time(cell: &[u8], decimal: u8) -> Option<f64> {
    let (value, rest) = parse_grouped(cell, decimal)?;
    rest.is_empty().then_some(value)
}

/// What a number's signs say of its decimal sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Signs {
    /// It has none.
    None,
    /// Its decimal sign is this.
    Decimal(u8),
    /// One to three digits, one sign, three digits: thousands, or three decimals.
    Either(u8),
}

/// What the signs of a number (with or without a unit behind) say; `None` for what is no
/// number under either decimal sign.
pub(crate) fn signs(cell: &[u8]) -> Option<Signs> {
    let point = parse_with_unit(cell, b'.').is_some();
    let comma = parse_with_unit(cell, b',').is_some();
    let has = |sign: u8| memchr::memchr(sign, cell).is_some();
    match (point, comma) {
        (false, false) => None,
        (true, false) => {
            Some(if has(b'.') || has(b',') { Signs::Decimal(b'.') } else { Signs::None })
        }
        (false, true) => Some(Signs::Decimal(b',')),
        (true, true) if has(b'.') => Some(Signs::Either(b'.')),
        (true, true) if has(b',') => Some(Signs::Either(b',')),
        (true, true) => Some(Signs::None),
    }
}

/// The number at the head of a cell, its thousands perhaps marked, and the rest.
fn parse_grouped(cell: &[u8], decimal: u8) -> Option<(f64, &[u8])> {
    let (value, rest) = match parse_prefix(cell, decimal) {
        Some((value, rest)) if rest.is_empty() => return Some((value, rest)),
        other => other.unwrap_or((0.0, cell)),
    };
    let whole = &cell[..cell.len() - rest.len()];
    let digits = whole.iter().filter(|b| b.is_ascii_digit()).count();
    // A group that begins with a zero is none: `0,500` is a half.
    let zero = whole.iter().find(|b| b.is_ascii_digit()) == Some(&b'0');
    if !(1..=3).contains(&digits) || zero || whole.contains(&decimal) {
        return parse_prefix(cell, decimal).is_some().then_some((value, rest));
    }
    let mut plain = whole.to_vec();
    let mut tail = rest;
    let mut groups = 0;
    while let Some(length) = group_mark(tail, decimal)
        && let Some(three) = tail.get(length..length + 3)
        && three.iter().all(u8::is_ascii_digit)
        && !tail.get(length + 3).is_some_and(u8::is_ascii_digit)
    {
        plain.extend_from_slice(three);
        tail = &tail[length + 3..];
        groups += 1;
    }
    if groups == 0 {
        return parse_prefix(cell, decimal).is_some().then_some((value, rest));
    }
    let decimals = match tail.split_first() {
        Some((&sign, after)) if sign == decimal => {
            1 + after.iter().take_while(|b| b.is_ascii_digit()).count()
        }
        _ => 0,
    };
    plain.extend_from_slice(&tail[..decimals]);
    let (value, end) = parse_prefix(&plain, decimal)?;
    end.is_empty().then_some((value, &tail[decimals..]))
}

/// Length of a mark between thousands at the head of a text: the other one of point and
/// comma, an apostrophe, a space, a no-break space (also the narrow one).
fn group_mark(text: &[u8], decimal: u8) -> Option<usize> {
    match text {
        [b'\'' | b' ', ..] => Some(1),
        [b',', ..] if decimal == b'.' => Some(1),
        [b'.', ..] if decimal == b',' => Some(1),
        [0xC2, 0xA0, ..] => Some(2),
        [0xE2, 0x80, 0xAF | 0x99, ..] => Some(3),
        _ => None,
    }
}

/// The number at the head of a cell, and the rest.
fn parse_prefix(cell: &[u8], decimal: u8) -> Option<(f64, &[u8])> {
    let (negative, body) = match cell.first()? {
        b'-' => (true, &cell[1..]),
        b'+' => (false, &cell[1..]),
        0xE2 => (true, cell.strip_prefix("−".as_bytes())?),
        _ => (false, cell),
    };
    let mut mantissa = 0_u64;
    let mut count = 0_usize;
    let mut decimals = 0_usize;
    let mut seen_decimal = false;
    let mut length = 0;
    for &byte in body {
        if byte.is_ascii_digit() {
            if count < 19 {
                mantissa = mantissa * 10 + u64::from(byte - b'0');
            }
            count += 1;
            decimals += usize::from(seen_decimal);
        } else if byte == decimal && !seen_decimal {
            seen_decimal = true;
        } else {
            break;
        }
        length += 1;
    }
    // A number has digits on both sides of its decimal sign: `103.` may be a cut line.
    if count == 0 || (seen_decimal && (decimals == 0 || decimals == count)) {
        return None;
    }
    let exponent = exponent_length(&body[length..]);
    let value = if count <= 15 && exponent == 0 {
        mantissa as f64 / TENS[decimals]
    } else {
        let text: String = body[..length + exponent]
            .iter()
            .map(|&b| if b == decimal { '.' } else { char::from(b) })
            .collect();
        text.parse().ok()?
    };
    let value = if negative { -value } else { value };
    value.is_finite().then(|| (value, &body[length + exponent..]))
}

/// Length of an exponent (`e+02`) at the head of a text.
fn exponent_length(text: &[u8]) -> usize {
    let [b'e' | b'E', rest @ ..] = text else { return 0 };
    let sign = usize::from(matches!(rest.first(), Some(b'+' | b'-')));
    let digits = rest[sign..].iter().take_while(|b| b.is_ascii_digit()).count();
    if digits == 0 { 0 } else { 1 + sign + digits }
}

/// A number and the unit written behind it, if any.
pub(crate) fn parse_with_unit(cell: &[u8], decimal: u8) -> Option<(f64, Option<TemperatureUnit>)> {
    let (value, rest) = match parse_prefix(cell, decimal) {
        Some((value, [])) => return Some((value, None)),
        _ => parse_grouped(cell, decimal)?,
    };
    let rest = crate::text::trim(rest);
    if rest.is_empty() { Some((value, None)) } else { Some((value, Some(unit_word(rest)?))) }
}

/// A unit as a word of its own: `°F`, `deg C`, `Celsius`, `f`.
pub(crate) fn unit_word(text: &[u8]) -> Option<TemperatureUnit> {
    // `degrees Fahrenheit` and room for signs: what is longer is no unit.
    if text.len() > 24 {
        return None;
    }
    let text = std::str::from_utf8(text).ok()?.trim().to_lowercase();
    let text = text.trim_start_matches(['°', 'º', '˚']).trim();
    let text = text.strip_prefix("degrees").or_else(|| text.strip_prefix("deg")).unwrap_or(text);
    match text.trim_matches(|c: char| c == ' ' || c == '.' || c == '_') {
        "f" | "fahrenheit" | "℉" => Some(TemperatureUnit::Fahrenheit),
        "c" | "celsius" | "centigrade" | "℃" => Some(TemperatureUnit::Celsius),
        _ => None,
    }
}

/// Whether a cell says that there is no value.
pub(crate) fn is_missing(cell: &[u8], own: &[String]) -> bool {
    if cell.is_empty() || cell.iter().all(|b| matches!(b, b'-' | b'.' | b'_' | b'*' | b'?' | b'#'))
    {
        return true;
    }
    if let Ok(text) = std::str::from_utf8(cell) {
        if matches!(text, "–" | "—") {
            return true;
        }
        let bare = text.trim_matches(|c: char| "<>[]()".contains(c)).trim().replace('_', " ");
        if SENTINEL_WORDS.iter().any(|word| word.eq_ignore_ascii_case(&bare))
            || own.iter().any(|word| word.trim().eq_ignore_ascii_case(text))
        {
            return true;
        }
    }
    false
}

/// What a number may stand for besides a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Code {
    /// It is no such number.
    None,
    /// "No value", and no probe, meat or fire has such a temperature.
    Missing,
    /// "No value", or a hot fire's temperature: its neighbours tell.
    Suspect,
}

/// Numbers that loggers write for "no probe": rows of nines, and the ends of sixteen-bit
/// integers in whole degrees, tenths and hundredths (common practice, no source).
pub(crate) fn code_of(value: f64) -> Code {
    const MISSING: [f64; 14] = [
        -999.0, -999.9, -9999.0, -9999.9, 9999.0, 9999.9, 32_767.0, -32_768.0, 65_535.0, 6553.5,
        3276.7, -3276.8, -327.68, -99_999.0,
    ];
    const SUSPECT: [f64; 4] = [999.0, 999.9, 327.67, 655.35];
    // Nearly all readings are neither, and end here.
    if (-327.0..327.0).contains(&value) {
        Code::None
    } else if MISSING.contains(&value) {
        Code::Missing
    } else if SUSPECT.contains(&value) {
        Code::Suspect
    } else {
        Code::None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_units_and_neither() {
        assert_eq!(parse(b"103.5", b'.'), Some(103.5));
        assert_eq!(parse(b"-3,25", b','), Some(-3.25));
        assert_eq!(parse("−4.0".as_bytes(), b'.'), Some(-4.0));
        assert_eq!(parse(b"1.5e2", b'.'), Some(150.0));
        for bad in ["", "103.", ".5", "1.2.3", "1,234.5", "0x10", "12a", "-"] {
            assert_eq!(parse(bad.as_bytes(), b'.'), None, "{bad}");
        }
        let fahrenheit = Some(TemperatureUnit::Fahrenheit);
        assert_eq!(parse_with_unit("225 °F".as_bytes(), b'.'), Some((225.0, fahrenheit)));
        assert_eq!(parse_with_unit(b"225F", b'.'), Some((225.0, fahrenheit)));
        assert_eq!(parse_with_unit(b"225 %", b'.'), None);
    }

    #[test]
    fn words_for_no_value() {
        for word in ["", "---", "N/A", "NaN", "OPEN", "<no probe>", "—"] {
            assert!(is_missing(word.as_bytes(), &[]), "{word}");
        }
        assert!(is_missing(b"out", &["OUT".into()]));
        assert!(!is_missing(b"103", &[]));
        assert_eq!(code_of(-999.0), Code::Missing);
        assert_eq!(code_of(-3276.8), Code::Missing);
        assert_eq!(code_of(999.9), Code::Suspect);
        assert_eq!(code_of(225.0), Code::None);
    }

    #[test]
    fn thousands_may_be_marked() {
        let value = |text: &str, decimal| parse_with_unit(text.as_bytes(), decimal).map(|v| v.0);
        for text in ["1,234.5", "1'234.5", "1 234.5", "1\u{a0}234.5", "1\u{202f}234.5 F"] {
            assert_eq!(value(text, b'.'), Some(1234.5), "{text}");
        }
        assert_eq!(value("1.234,5", b','), Some(1234.5));
        assert_eq!(value("-1,234,567", b'.'), Some(-1_234_567.0));
        for bad in ["1,23", "1,2345", "1234,567", "1,234,5", "1.5,000", "12 3", ",123"] {
            assert_eq!(value(bad, b'.'), None, "{bad}");
        }
        assert_eq!(signs(b"1,5"), Some(Signs::Decimal(b',')));
        assert_eq!(signs(b"1,500"), Some(Signs::Either(b',')));
        assert_eq!(signs(b"1.234,5"), Some(Signs::Decimal(b',')));
        assert_eq!(signs(b"1500 F"), Some(Signs::None));
        assert_eq!(signs(b"x"), None);
    }

    proptest! {
        #[test]
        fn the_fast_path_agrees_with_the_standard_library(text in "-?[0-9]{1,12}(\\.[0-9]{1,8})?(e[+-]?[0-9])?") {
            prop_assert_eq!(parse(text.as_bytes(), b'.'), Some(text.parse::<f64>().unwrap()));
        }
    }
}
