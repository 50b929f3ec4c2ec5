//! Dates as they are written.

use super::digits::digits;
use super::format::TimeFormat;

/// Milliseconds of a day.
pub(crate) const DAY_MS: i64 = 86_400_000;

/// Month words besides the English ones, in lower case: the words of these languages, and
/// their first three letters (Unicode CLDR; the list is from memory). No word of one
/// language means another month in another.
const OTHER_MONTHS: [&[&str]; 12] = [
    &["januar", "janvier", "enero", "gennaio", "januari", "janeiro", "ene", "gen"],
    &[
        "februar",
        "février",
        "fevrier",
        "febrero",
        "febbraio",
        "februari",
        "fevereiro",
        "fév",
        "fev",
    ],
    &["märz", "maerz", "mars", "marzo", "maart", "março", "marco", "mär", "mrz", "mrt"],
    &["avril", "abril", "aprile", "avr", "abr"],
    &["mai", "mayo", "maggio", "mei", "maio", "mag"],
    &["juni", "juin", "junio", "giugno", "junho", "giu"],
    &["juli", "juillet", "julio", "luglio", "julho", "juil", "lug"],
    &["août", "aout", "agosto", "augustus", "ago", "aoû"],
    &["septembre", "septiembre", "settembre", "setembro", "set"],
    &["oktober", "octobre", "octubre", "ottobre", "outubro", "okt", "ott", "out"],
    &["novembre", "noviembre", "novembro"],
    &["dezember", "décembre", "decembre", "diciembre", "dicembre", "dezembro", "dez", "déc", "dic"],
];

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

const WEEKDAYS: [&str; 7] =
    ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

/// A year as it is written with this many digits: of two, 69 to 99 are of the twentieth
/// century and 00 to 68 of this one (POSIX.1-2017, `strptime`, `%y`).
fn year_of(year: i64, digits: usize) -> Option<i64> {
    match digits {
        4 => Some(year),
        2 if year >= 69 => Some(1900 + year),
        2 => Some(2000 + year),
        _ => None,
    }
}

/// The date at the head of a text, as days since 1970-01-01, and the rest.
pub(crate) fn parse_date(format: TimeFormat, text: &[u8]) -> Option<(i64, &[u8])> {
    if format == TimeFormat::MonthName {
        return parse_month_name(text);
    }
    let (first, first_digits, rest) = digits(text)?;
    if format == TimeFormat::Iso && first_digits == 8 {
        // ISO 8601 basic form, `20260502T0600`; without a clock it could be any number.
        let (year, month, day) = (first / 10_000, first / 100 % 100, first % 100);
        return match rest.first() {
            Some(b'T' | b't' | b' ') => Some((days_of(year, month, day)?, rest)),
            _ => None,
        };
    }
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
    let (year, month, day) = match format {
        TimeFormat::Iso if first_digits == 4 && third_digits <= 2 => (first, second, third),
        TimeFormat::YearFirst if first_digits == 2 && third_digits <= 2 => {
            (year_of(first, first_digits)?, second, third)
        }
        TimeFormat::DayFirst if first_digits <= 2 => (year_of(third, third_digits)?, second, first),
        TimeFormat::MonthFirst if first_digits <= 2 => {
            (year_of(third, third_digits)?, first, second)
        }
        _ => return None,
    };
    Some((days_of(year, month, day)?, rest))
}

/// The word at the head of a text, in lower case, and its length in bytes.
fn word(text: &[u8]) -> (String, usize) {
    let length = text.iter().take_while(|b| b.is_ascii_alphabetic() || **b >= 0x80).count();
    (String::from_utf8_lossy(&text[..length]).to_lowercase(), length)
}

fn month_of(word: &str) -> Option<i64> {
    let whole = |month: &&str| word.len() >= 3 && month.starts_with(word);
    let month = MONTHS
        .iter()
        .position(whole)
        .or_else(|| (word == "sept").then_some(8))
        .or_else(|| OTHER_MONTHS.iter().position(|words| words.contains(&word)))?;
    Some(month as i64 + 1)
}

/// `2 May 2026`, `02-May-26`, `May 2, 2026`, `Sat, 2 May 2026`, `2026-May-02`, `2. Mai 2026`.
fn parse_month_name(text: &[u8]) -> Option<(i64, &[u8])> {
    fn gap(text: &[u8]) -> &[u8] {
        let count =
            text.iter().take_while(|b| matches!(b, b' ' | b'-' | b',' | b'.' | b'/')).count();
        &text[count..]
    }
    let (first, length) = word(text);
    let text = if first.len() >= 3 && WEEKDAYS.iter().any(|day| day.starts_with(&first)) {
        gap(&text[length..])
    } else {
        text
    };
    let (year, month, day, rest);
    if text.first()?.is_ascii_digit() {
        let (number, count, after) = digits(text)?;
        let after = gap(after);
        let (name, length) = word(after);
        month = month_of(&name)?;
        let (other, other_count, end) = digits(gap(&after[length..]))?;
        (year, day) =
            if count == 4 { (number, other) } else { (year_of(other, other_count)?, number) };
        rest = end;
    } else {
        let (name, length) = word(text);
        month = month_of(&name)?;
        let (number, _, after) = digits(gap(&text[length..]))?;
        day = number;
        let (number, count, end) = digits(gap(after))?;
        year = year_of(number, count)?;
        rest = end;
    }
    Some((days_of(year, month, day)?, rest))
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
