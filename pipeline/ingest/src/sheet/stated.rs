//! Times as a sheet states them, before they can be resolved.

use super::code::SheetCode;
use super::writing::Writing;
use crate::time::{self, DAY_MS};
use crate::zone::{instant_of, local_ms};
use jiff::tz::TimeZone;
use serde::Serialize;

/// A time in a sheet's cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub(super) enum Time {
    /// A date and time, as an instant in ms UTC.
    Instant(i64),
    /// A time of the day, ms.
    Clock(i64),
    /// Since meat-on, ms.
    Since(i64),
}

/// Reads a date and time, a clock time (`7:15`, `5:40 pm`, `10 pm`, `noon`) or a time since
/// meat-on (`+6:30`, `+6h30`, `+90 min`).
pub(super) fn parse(text: &str, zone: &TimeZone, writing: &Writing) -> Result<Time, SheetCode> {
    let text = without_remark(text);
    let bytes = text.as_bytes();
    let lower = text.to_lowercase();
    let clock = time::parse_clock_only(bytes).or_else(|| spoken_clock(&lower));
    if let Some(clock) = clock {
        return Ok(Time::Clock(clock));
    }
    if let Some(since) = time::parse_since(bytes).or_else(|| spoken_since(&lower)) {
        return Ok(Time::Since(since));
    }
    let stamp = writing.moment(text).map_err(|code| match code {
        SheetCode::AmbiguousDate => code,
        _ => SheetCode::BadTime,
    })?;
    Ok(Time::Instant(match stamp.offset {
        Some(offset) => stamp.ms - i64::from(offset) * 1000,
        None => instant_of(zone, stamp.ms),
    }))
}

/// A text without what says that it is a guess (`about`, `~`, `ish`, `or so`) and without a remark in
/// brackets behind it: `4:24 (late!)`.
pub(super) fn without_remark(text: &str) -> &str {
    let mut bare = text.trim();
    if let Some((before, inside)) = bare.strip_suffix(')').and_then(|open| open.split_once('('))
        && !says_a_unit_or_half(inside)
    {
        bare = before.trim_end();
    }
    let cut = |text: &str, word: &str, front: bool| -> Option<usize> {
        let part = if front {
            text.get(..word.len())?
        } else {
            text.get(text.len().checked_sub(word.len())?..)?
        };
        part.eq_ignore_ascii_case(word).then_some(word.len())
    };
    for word in ["about ", "around ", "approx. ", "approx ", "circa ", "ca. ", "ca ", "~", "≈"] {
        if let Some(length) = cut(bare, word, true) {
            bare = bare[length..].trim_start();
        }
    }
    for word in ["ish", " or so", " approx.", " approx", " about", "?"] {
        if let Some(length) = cut(bare, word, false) {
            bare = bare[..bare.len() - length].trim_end_matches(['-', ' ', ',']);
        }
    }
    bare
}

/// Whether what stands in brackets changes what stands before them: `5 (kg)`, `5:15 (pm)`.
fn says_a_unit_or_half(inside: &str) -> bool {
    const WORDS: [&str; 26] = [
        "am",
        "pm",
        "a.m.",
        "p.m.",
        "a",
        "p",
        "c",
        "f",
        "°c",
        "°f",
        "celsius",
        "fahrenheit",
        "kg",
        "kgs",
        "g",
        "lb",
        "lbs",
        "pounds",
        "oz",
        "in",
        "inch",
        "mm",
        "cm",
        "m",
        "ft",
        "h",
    ];
    WORDS.contains(&inside.trim().to_lowercase().as_str())
}

/// Whether a time hangs on the zone: a clock time, or a date and time without an offset.
pub(super) fn is_local(text: &str, writing: &Writing) -> bool {
    match parse(text, &TimeZone::UTC, writing) {
        Ok(Time::Clock(_)) => true,
        Ok(Time::Instant(utc)) => {
            let hour_off = TimeZone::fixed(jiff::tz::offset(1));
            parse(text, &hour_off, writing) != Ok(Time::Instant(utc))
        }
        _ => false,
    }
}

/// `10 pm`, `6.30am`, `500`, `noon`.
fn spoken_clock(lower: &str) -> Option<i64> {
    match lower {
        "noon" => return Some(DAY_MS / 2),
        "midnight" => return Some(0),
        _ => {}
    }
    let digits = lower.len() - lower.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let (hour, half) = lower.split_at(digits);
    // `500`, `0500` and `1730`, perhaps with the half of the day.
    if matches!(digits, 3 | 4) {
        let (hour, minute) = hour.split_at(digits - 2);
        return time::parse_clock_only(format!("{hour}:{minute}{half}").as_bytes());
    }
    // `6.30am`, `22.05`, `12h52`, `4:55 p`: two digits of minutes behind the hour. A column of clock times
    // has no hours and parts of them; `0.25` is the quarter of a day that a cell without its format holds.
    // Before ten, `6h30` may as well be six hours and a half.
    let may_be_a_length = half.starts_with('h') && hour.parse::<u8>().is_ok_and(|hour| hour < 10);
    if matches!(digits, 1 | 2)
        && !(hour == "0" && half.starts_with('.'))
        && !may_be_a_length
        && let Some(rest) = half.strip_prefix(['.', ':', 'h'])
        && let Some((minutes, rest)) = rest.split_at_checked(2)
        && minutes.bytes().all(|byte| byte.is_ascii_digit())
        && (rest.is_empty() || is_half(rest))
    {
        let half = rest.trim().chars().next().map_or(String::new(), |half| format!("{half}m"));
        return time::parse_clock_only(format!("{hour}:{minutes}{half}").as_bytes());
    }
    (digits > 0 && is_half(half))
        .then(|| time::parse_clock_only(format!("{hour}:00{half}").as_bytes()))?
}

fn is_half(text: &str) -> bool {
    matches!(text.trim(), "am" | "pm" | "a.m." | "p.m." | "a" | "p")
}

/// `+6h`, `+6h30`, `+6 h 30 min`, `+90 min`, `+6.5 h`.
fn spoken_since(lower: &str) -> Option<i64> {
    let text: String = lower.strip_prefix('+')?.split_whitespace().collect();
    let minutes_of = |text: &str| -> Option<f64> {
        let bare = ["minutes", "mins", "min", "m"].iter().find_map(|end| text.strip_suffix(end));
        bare.unwrap_or(text).parse().ok()
    };
    let minutes = match ["hours", "hour", "hrs", "hr", "h"].iter().find_map(|h| text.split_once(h))
    {
        Some((hours, "")) => hours.parse::<f64>().ok()? * 60.0,
        Some((hours, minutes)) => {
            let minutes = minutes_of(minutes).filter(|minutes| *minutes < 60.0)?;
            f64::from(hours.parse::<u16>().ok()?) * 60.0 + minutes
        }
        // A bare number could be hours as well.
        None if text.ends_with(|c: char| c.is_ascii_digit()) => return None,
        None => minutes_of(&text)?,
    };
    (0.0..1e6).contains(&minutes).then(|| (minutes * 60_000.0).round() as i64)
}

/// How a time that cannot be read may have been meant.
pub(super) fn meant(text: &str) -> Option<String> {
    let text = text.trim();
    if time::parse_iso_date(text.as_bytes()).is_some() {
        return Some(format!("{text} 22:00` (with the time of day)"));
    }
    let (hour, minute) = match text.len() {
        1 | 2 if text.bytes().all(|byte| byte.is_ascii_digit()) => (text, "00"),
        4 if text.bytes().all(|byte| byte.is_ascii_digit()) => text.split_at(2),
        _ => text.split_once(['.', ',', 'h', 'H', '-', ';'])?,
    };
    let clock = format!("{}:{}", hour.trim(), minute.trim());
    time::parse_clock_only(clock.as_bytes())?;
    Some(format!("{clock}` (on the clock) or `+{clock}` (since meat-on)"))
}

/// The first instant at or after `after` at which the zone's clock shows `clock`.
pub(super) fn first_after(zone: &TimeZone, after: i64, clock: i64) -> i64 {
    let day = local_ms(zone, after).div_euclid(DAY_MS);
    let today = instant_of(zone, day * DAY_MS + clock);
    if today >= after { today } else { instant_of(zone, (day + 1) * DAY_MS + clock) }
}

/// The last instant at or before `before` at which the zone's clock shows `clock`.
pub(super) fn last_before(zone: &TimeZone, before: i64, clock: i64) -> i64 {
    let day = local_ms(zone, before).div_euclid(DAY_MS);
    let today = instant_of(zone, day * DAY_MS + clock);
    if today <= before { today } else { instant_of(zone, (day - 1) * DAY_MS + clock) }
}

/// Local midnight of a day (days since 1970-01-01).
pub(super) fn midnight(zone: &TimeZone, day: i64) -> i64 {
    instant_of(zone, day * DAY_MS)
}

/// ISO date of a day (days since 1970-01-01).
pub(crate) fn date_text(day: i64) -> String {
    jiff::Timestamp::from_millisecond(day * DAY_MS)
        .map_or_else(|_| String::new(), |t| t.strftime("%Y-%m-%d").to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_as_people_write_them() {
        let read = |text: &str| parse(text, &TimeZone::UTC, &Writing::default());
        let hour = 3_600_000;
        for (text, clock) in [
            ("7:15", 7.25),
            ("07:15:00", 7.25),
            ("5:40 pm", 17.0 + 40.0 / 60.0),
            ("5:40 P.M.", 17.0 + 40.0 / 60.0),
            ("10 pm", 22.0),
            ("12am", 0.0),
            ("noon", 12.0),
            ("6.30am", 6.5),
            ("6.30 pm", 18.5),
            ("500", 5.0),
            ("0500", 5.0),
            ("1730", 17.5),
            ("530 pm", 17.5),
            ("22.05", 22.0 + 5.0 / 60.0),
            ("7.15", 7.25),
            ("12h30", 12.5),
            ("4:45 p", 16.75),
            ("4:15 (late!)", 4.25),
            ("12.30 ish", 12.5),
            ("about 6:30am", 6.5),
            ("~17:30", 17.5),
        ] {
            let ms = (clock * f64::from(hour)).round() as i64;
            assert_eq!(read(text), Ok(Time::Clock(ms)), "{text}");
        }
        for (text, hours) in [
            ("+6:30", 6.5),
            ("+6:30:00", 6.5),
            ("+6h30", 6.5),
            ("+6 h 30 min", 6.5),
            ("+6.5 h", 6.5),
            ("+390 min", 6.5),
            ("+30:00", 30.0),
        ] {
            let ms = (hours * f64::from(hour)).round() as i64;
            assert_eq!(read(text), Ok(Time::Since(ms)), "{text}");
        }
        for text in ["2025-05-04 22:10", "2025-05-04T22:10Z", "May 4, 2025 10:10 pm"] {
            assert_eq!(read(text), Ok(Time::Instant(1_746_396_600_000)), "{text}");
        }
        for bad in [
            "later",
            "6h3",
            "7.5",
            "7.75",
            "575",
            "6",
            "2460",
            "+6",
            "25:00",
            "13 pm",
            "2025-05-04",
            "+1h75",
        ] {
            assert_eq!(read(bad), Err(SheetCode::BadTime), "{bad}");
        }
        assert_eq!(read("4/5/2025 22:10"), Err(SheetCode::AmbiguousDate));
        assert_eq!(
            meant("7,15").as_deref(),
            Some("7:15` (on the clock) or `+7:15` (since meat-on)")
        );
        assert_eq!(meant("6").as_deref(), Some("6:00` (on the clock) or `+6:00` (since meat-on)"));
        assert_eq!(meant("later"), None);
    }
}
