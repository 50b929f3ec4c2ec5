//! Values as they stand in questions and evidence.

use cook::season::TemperatureUnit;
use jiff::Timestamp;

/// A unit's letter, as a layout has it.
pub(crate) fn letter(unit: TemperatureUnit) -> &'static str {
    match unit {
        TemperatureUnit::Celsius => "C",
        TemperatureUnit::Fahrenheit => "F",
    }
}

/// An instant, ms UTC.
pub(crate) fn instant(ms: i64) -> String {
    Timestamp::from_millisecond(ms).map_or_else(|_| ms.to_string(), |at| at.to_string())
}

/// A time, ms on its own clock, in a format of `strftime`; as a number where no calendar has it.
pub(crate) fn date(ms: i64, format: &str) -> String {
    Timestamp::from_millisecond(ms)
        .map_or_else(|_| ms.to_string(), |at| at.strftime(format).to_string())
}

/// A span of time, to the minute.
pub(crate) fn span(ms: i64) -> String {
    let minutes = (ms + 30_000) / 60_000;
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

/// A span of time as people say it: `40 s`, `25 min`, `9 h 46`, `3 days`.
pub(crate) fn duration(ms: i64) -> String {
    let minutes = (ms + 30_000) / 60_000;
    match minutes {
        0..=1 => format!("{} s", ms / 1000),
        2..100 => format!("{minutes} min"),
        100..6000 => format!("{} h {:02}", minutes / 60, minutes % 60),
        _ => format!("{} days", minutes / 1440),
    }
}
