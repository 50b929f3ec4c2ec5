//! Numbers as people say them: hours in quarters, two figures.

use crate::units::number;

/// From here on times are said in hours, min.
const HOURS_FROM_MIN: f64 = 100.0;

/// A length of time as it would be said: `45 min`, `1 h 40`, `2½ h`.
pub(crate) fn spoken(minutes: f64) -> String {
    let size = minutes.abs();
    let sign = if minutes.round() < 0.0 { "\u{2212}" } else { "" };
    if (size / 5.0).round() * 5.0 < HOURS_FROM_MIN {
        return format!("{sign}{}\u{a0}min", number(size, 0));
    }
    // Nobody means the single minute of half a day.
    let step = if size < 600.0 { 5.0 } else { 15.0 };
    let whole = ((size / step).round() * step) as i64;
    match (whole / 60, whole % 60) {
        (hours, 0) => format!("{sign}{hours}\u{a0}h"),
        (hours, 15) => format!("{sign}{hours}¼\u{a0}h"),
        (hours, 30) => format!("{sign}{hours}½\u{a0}h"),
        (hours, 45) => format!("{sign}{hours}¾\u{a0}h"),
        (hours, minutes) => format!("{sign}{hours}\u{a0}h\u{a0}{minutes:02}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_said_in_minutes_then_in_hours_and_quarters() {
        let said = |minutes: f64| spoken(minutes).replace('\u{a0}', " ");
        assert_eq!([0.4, 47.6, 97.4].map(said), ["0 min", "48 min", "97 min"]);
        assert_eq!([99.2, 150.0, 285.0, 329.0].map(said), ["1 h 40", "2½ h", "4¾ h", "5½ h"]);
        assert_eq!([534.0, 586.0, 700.0, -120.0].map(said), ["8 h 55", "9¾ h", "11¾ h", "−2 h"]);
    }
}
