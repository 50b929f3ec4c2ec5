//! One cell of a sheet: what it holds, and how that is written.

use crate::time::DAY_MS;
use std::fmt::Write as _;

/// Milliseconds of an hour.
const HOUR_MS: i64 = 3_600_000;

/// The error that says that there is no value.
pub(super) const NOT_AVAILABLE: &str = "#N/A";
/// Errors of formulas.
const ERRORS: [&str; 7] =
    ["#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", NOT_AVAILABLE];

/// What a cell holds. CSV has text only; workbooks have the rest.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) enum Cell {
    /// Nothing.
    #[default]
    Empty,
    /// Text as written, without outer space.
    Text(String),
    /// A number.
    Number(f64),
    /// A date without a time, in days since 1970-01-01.
    Date(i64),
    /// A date and time on the sheet's own clock, ms since 1970-01-01T00:00.
    DateTime(i64),
    /// A time of the day, ms.
    Clock(i64),
    /// A duration, ms.
    Duration(i64),
    /// Yes or no.
    Boolean(bool),
    /// A formula's error, such as `#REF!`.
    Error(String),
}

impl Cell {
    /// Text without outer space; nothing left is an empty cell. The words of a formula's
    /// error (ECMA-376 part 1, 18.17.3) are one here too, since exports keep them.
    pub(super) fn from_text(text: &str) -> Self {
        match crate::text::trim(text.as_bytes()) {
            b"" => Self::Empty,
            trimmed => {
                let text = String::from_utf8_lossy(trimmed).into_owned();
                if ERRORS.contains(&text.as_str()) { Self::Error(text) } else { Self::Text(text) }
            }
        }
    }

    /// A spreadsheet's serial date or time that is formatted as such: whole days since the
    /// system's day zero, and the fraction of a day (ECMA-376 part 1, 18.17.4). `None`
    /// before 1 March 1900, where the 1900 system has a day that never was.
    ///
    /// A value below one day is a time of the day. A whole number is a date where its
    /// format shows no hours.
    pub(super) fn from_serial(value: f64, is_1904: bool, shows_hours: bool) -> Option<Self> {
        if !(0.0..2_958_466.0).contains(&value) {
            return None;
        }
        let ms = (value * DAY_MS as f64).round() as i64;
        if ms < DAY_MS {
            return Some(Self::Clock(ms));
        }
        let (zero, first) = if is_1904 { (24_107, 1) } else { (25_569, 61) };
        let day = ms.div_euclid(DAY_MS);
        (day >= first).then(|| {
            if !shows_hours && ms % DAY_MS == 0 {
                Self::Date(day - zero)
            } else {
                Self::DateTime(ms - zero * DAY_MS)
            }
        })
    }

    /// A duration in days.
    pub(super) fn from_days(value: f64) -> Self {
        let ms = (value * DAY_MS as f64).round();
        if ms.abs() < 1e13 { Self::Duration(ms as i64) } else { Self::Number(value) }
    }

    /// Whether there is nothing in it.
    pub(super) fn is_empty(&self) -> bool {
        matches!(self, Self::Empty)
    }

    /// The cell as it would be typed: ISO 8601 dates and times, `+h:mm:ss` for a duration,
    /// the shortest decimal that is the number, `true` and `false`. Reading this text
    /// gives the same value again, so CSV and workbooks are read by the same rules.
    pub(super) fn text(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) | Self::Error(text) => text.clone(),
            Self::Number(value) => value.to_string(),
            Self::Date(day) => super::stated::date_text(*day),
            Self::DateTime(ms) => {
                let day = super::stated::date_text(ms.div_euclid(DAY_MS));
                format!("{day} {}", clock(ms.rem_euclid(DAY_MS)))
            }
            Self::Clock(ms) => clock(*ms),
            Self::Duration(ms) => {
                let sign = if *ms < 0 { '-' } else { '+' };
                let ms = ms.abs();
                let mut text = format!("{sign}{}:", ms / HOUR_MS);
                push_minutes(&mut text, ms % HOUR_MS, true);
                text
            }
            Self::Boolean(value) => value.to_string(),
        }
    }
}

fn clock(ms: i64) -> String {
    let mut text = format!("{:02}:", ms / HOUR_MS);
    push_minutes(&mut text, ms % HOUR_MS, false);
    text
}

/// `mm`, `mm:ss` or `mm:ss.fff`, the shortest that says it.
fn push_minutes(text: &mut String, ms: i64, seconds_always: bool) {
    let (minutes, seconds, rest) = (ms / 60_000, ms / 1000 % 60, ms % 1000);
    // Writing into memory cannot fail.
    let _ = write!(text, "{minutes:02}");
    if seconds_always || seconds != 0 || rest != 0 {
        let _ = write!(text, ":{seconds:02}");
    }
    if rest != 0 {
        let _ = write!(text, ".{rest:03}");
    }
}

/// A column's letters as spreadsheets show them: 0 is `A`, 26 is `AA`.
pub(super) fn column_letters(mut index: usize) -> String {
    let mut letters = Vec::new();
    loop {
        letters.push(b'A' + (index % 26) as u8);
        index /= 26;
        if index == 0 {
            break;
        }
        index -= 1;
    }
    letters.iter().rev().map(|&letter| char::from(letter)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // ECMA-376 part 1, 18.17.4: day 1 of the 1900 system is 1 January 1900 and 1900 counts
    // as a leap year; day 0 of the 1904 system is 1 January 1904. Serial 45781 is
    // 4 May 2025: 45781 − 25569 = 20212 days after 1970-01-01.
    #[test]
    fn serial_dates_of_both_systems() {
        let text =
            |value, is_1904, hours| Cell::from_serial(value, is_1904, hours).map(|c| c.text());
        assert_eq!(text(45_781.0, false, false).as_deref(), Some("2025-05-04"));
        assert_eq!(text(45_781.0, false, true).as_deref(), Some("2025-05-04 00:00"));
        assert_eq!(text(45_781.0 - 1462.0, true, false).as_deref(), Some("2025-05-04"));
        assert_eq!(text(45_781.923_611_111_11, false, true).as_deref(), Some("2025-05-04 22:10"));
        assert_eq!(text(0.736_111_111_111_111, false, true).as_deref(), Some("17:40"));
        assert_eq!(text(0.999_999_999_99, false, true), None, "rounds up to day 1, 1900-01-01");
        assert_eq!(text(60.0, false, false), None, "29 February 1900 never was");
        assert_eq!(text(61.0, false, false).as_deref(), Some("1900-03-01"));
        for bad in [-1.0, f64::NAN, f64::INFINITY, 3e6] {
            assert_eq!(text(bad, false, true), None);
        }
    }

    #[test]
    fn cells_are_written_as_they_would_be_typed() {
        assert_eq!(Cell::Number(14.2).text(), "14.2");
        assert_eq!(Cell::Number(12.0).text(), "12");
        assert_eq!(Cell::Duration(23_400_000).text(), "+6:30:00");
        assert_eq!(Cell::Duration(109_800_500).text(), "+30:30:00.500");
        assert_eq!(Cell::Clock(20_400_000).text(), "05:40");
        assert_eq!(Cell::Clock(20_401_007).text(), "05:40:01.007");
        assert_eq!(Cell::from_text(" \u{a0}x\t"), Cell::Text("x".into()));
        assert_eq!(Cell::from_text("  "), Cell::Empty);
    }

    #[test]
    fn letters_of_columns() {
        let letters: Vec<String> = [0, 25, 26, 51, 52, 701, 702, 16_383].map(column_letters).into();
        assert_eq!(letters, ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA", "XFD"]);
    }
}
