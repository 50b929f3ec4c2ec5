//! Times as somebody at the pit writes them, who means a night that has a beginning.

use super::halves;
use super::stated::{self, Time};
use super::writing::Writing;
use jiff::tz::TimeZone;

/// A time as it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WrittenTime {
    /// A date and time, ms UTC.
    Instant(i64),
    /// A time of the day, ms.
    Clock(i64),
    /// Since meat-on, ms.
    Since(i64),
}

impl WrittenTime {
    /// Reads a date and time (local without an offset), a clock time (`3:12`, `5:40 pm`) or a time
    /// since meat-on (`+6:30`). `None` for anything else, and for a date that could be two.
    pub fn parse(text: &str, zone: &TimeZone) -> Option<Self> {
        stated::parse(text, zone, &Writing::default()).ok().map(|time| match time {
            Time::Instant(ms) => Self::Instant(ms),
            Time::Clock(clock) => Self::Clock(clock),
            Time::Since(since) => Self::Since(since),
        })
    }

    /// Whether a text is a clock time that says neither half of the day and could be of either.
    pub fn is_bare(self, text: &str) -> bool {
        let Self::Clock(ms) = self else { return false };
        halves::is_bare(Time::Clock(ms), text)
    }

    /// Whether a text is a clock time that only a 24-hour clock shows.
    pub fn is_of_24_hours(self, text: &str) -> bool {
        let Self::Clock(ms) = self else { return false };
        halves::is_of_24_hours(Time::Clock(ms), text)
    }

    /// The same clock time in the other half of the day.
    #[must_use]
    pub fn other_half(self) -> Self {
        match self {
            Self::Clock(ms) => Self::Clock(halves::other_half(ms)),
            other => other,
        }
    }

    /// The instant, ms UTC, of what happened up to `now_ms`: a clock time is the last such time.
    /// `None` for a time since a meat-on that is not known.
    pub fn up_to(self, now_ms: i64, meat_on_ms: Option<i64>, zone: &TimeZone) -> Option<i64> {
        match self {
            Self::Instant(ms) => Some(ms),
            Self::Clock(clock) => Some(stated::last_before(zone, now_ms, clock)),
            Self::Since(since) => Some(meat_on_ms? + since),
        }
    }

    /// The instant, ms UTC, of what happened after something else: a clock time is the first such
    /// time at or after `after_ms`. `None` where that, or meat-on, is not known.
    pub fn following(
        self,
        after_ms: Option<i64>,
        meat_on_ms: Option<i64>,
        zone: &TimeZone,
    ) -> Option<i64> {
        match self {
            Self::Instant(ms) => Some(ms),
            Self::Clock(clock) => Some(stated::first_after(zone, after_ms?, clock)),
            Self::Since(since) => Some(meat_on_ms? + since),
        }
    }

    /// The instant on a local date, for a clock time.
    pub fn on(self, date: &str, zone: &TimeZone) -> Option<i64> {
        match self {
            Self::Instant(ms) => Some(ms),
            Self::Clock(clock) => {
                let day = crate::time::parse_iso_date(date.as_bytes())?;
                Some(crate::zone::instant_of(zone, day * crate::time::DAY_MS + clock))
            }
            Self::Since(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_time_is_the_last_before_now_or_the_first_after_another() {
        let zone = TimeZone::UTC;
        let at = |text: &str| match WrittenTime::parse(text, &zone) {
            Some(WrittenTime::Instant(ms)) => ms,
            other => panic!("{text}: {other:?}"),
        };
        let night = WrittenTime::parse("3:12", &zone).unwrap();
        let (evening, morning) = (at("2026-05-01T22:10Z"), at("2026-05-02T05:00Z"));
        assert_eq!(night.up_to(morning, None, &zone), Some(at("2026-05-02T03:12Z")));
        assert_eq!(night.following(Some(evening), None, &zone), Some(at("2026-05-02T03:12Z")));
        assert_eq!(night.following(None, None, &zone), None);
        let since = WrittenTime::parse("+6:30", &zone).unwrap();
        assert_eq!(since.up_to(morning, Some(evening), &zone), Some(evening + 23_400_000));
        assert_eq!(since.up_to(morning, None, &zone), None);
        assert_eq!(night.on("2026-05-02", &zone), Some(at("2026-05-02T03:12Z")));
        for none in ["wrap", "165", "4/5/2025 22:10"] {
            assert_eq!(WrittenTime::parse(none, &zone), None, "{none}");
        }
    }
}
