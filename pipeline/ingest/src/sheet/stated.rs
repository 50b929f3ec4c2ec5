//! Times as a sheet states them, before they can be resolved.

use crate::time::{self, DAY_MS};
use crate::zone::{instant_of, local_ms};
use jiff::tz::TimeZone;

/// A time in a sheet's cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Time {
    /// A date and time, as an instant in ms UTC.
    Instant(i64),
    /// A time of the day, ms.
    Clock(i64),
    /// Since meat-on, ms.
    Since(i64),
}

/// Reads an ISO date-time, a clock time or `+h:mm[:ss]`.
pub(super) fn parse(text: &str, zone: &TimeZone) -> Option<Time> {
    let bytes = text.as_bytes();
    if let Some(stamp) = time::parse_iso(bytes) {
        return Some(Time::Instant(match stamp.offset {
            Some(offset) => stamp.ms - i64::from(offset) * 1000,
            None => instant_of(zone, stamp.ms),
        }));
    }
    time::parse_clock_only(bytes)
        .map(Time::Clock)
        .or_else(|| time::parse_since(bytes).map(Time::Since))
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
pub(super) fn date_text(day: i64) -> String {
    jiff::Timestamp::from_millisecond(day * DAY_MS)
        .map_or_else(|_| String::new(), |t| t.strftime("%Y-%m-%d").to_string())
}
