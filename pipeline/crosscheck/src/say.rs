//! Numbers and times as people read them.

use columns::Quantity;
use cook::Units;
use jiff::tz::TimeZone;

pub(crate) const MINUTE_MS: i64 = 60_000;
pub(crate) const HOUR_MS: i64 = 60 * MINUTE_MS;

pub(crate) fn quantity(quantity: Quantity, si: f64, units: Units) -> String {
    let decimals = quantity.decimals(units);
    format!("{:.decimals$} {}", quantity.value(si, units), quantity.unit(units))
}

pub(crate) fn temperature(celsius: f64, units: Units) -> String {
    quantity(Quantity::Temperature, celsius, units)
}

pub(crate) fn mass(kilograms: f64, units: Units) -> String {
    quantity(Quantity::Mass, kilograms, units)
}

/// `2026-05-02 14:00`, on the zone's clock.
pub(crate) fn instant(at_ms: i64, zone: &TimeZone) -> String {
    jiff::Timestamp::from_millisecond(at_ms).map_or_else(
        |_| at_ms.to_string(),
        |at| zone.to_datetime(at).strftime("%Y-%m-%d %H:%M").to_string(),
    )
}

/// `2026-11-01 01:30 CST`, with what the zone's clock is called then.
pub(crate) fn instant_in_zone(at_ms: i64, zone: &TimeZone) -> String {
    let at = jiff::Timestamp::from_millisecond(at_ms).unwrap_or_default();
    format!("{} {}", instant(at_ms, zone), zone.to_offset_info(at).abbreviation())
}

/// The second instant at which the zone's clock showed what it shows at this one, where it did so twice and this is
/// the first.
pub(crate) fn second_pass(at_ms: i64, zone: &TimeZone) -> Option<i64> {
    let local = zone.to_datetime(jiff::Timestamp::from_millisecond(at_ms).ok()?);
    let ambiguous = zone.to_ambiguous_timestamp(local);
    let later = ambiguous.is_ambiguous().then(|| ambiguous.later().ok())??.as_millisecond();
    (later > at_ms).then_some(later)
}

/// `5 h`, `3 h 25`, `50 min`.
pub(crate) fn span(ms: i64) -> String {
    let minutes = (ms.abs() + MINUTE_MS / 2) / MINUTE_MS;
    match (minutes / 60, minutes % 60) {
        (hours, 0) if hours >= 72 && hours % 24 == 0 => format!("{} days", hours / 24),
        (hours, 0) if hours > 0 => format!("{hours} h"),
        _ if minutes < 100 => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes:02}"),
    }
}

/// `a, b and 3 more`.
pub(crate) fn some_of(names: &[&str]) -> String {
    const SHOWN: usize = 4;
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        _ if names.len() <= SHOWN => {
            let (last, first) = (names[names.len() - 1], &names[..names.len() - 1]);
            format!("{} and {last}", first.join(", "))
        }
        _ => format!("{} and {} more", names[..SHOWN].join(", "), names.len() - SHOWN),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_told_as_people_do() {
        let told = [50, 60, 99, 205, 300, -1440, 4320].map(|minutes| span(minutes * MINUTE_MS));
        assert_eq!(told, ["50 min", "1 h", "99 min", "3 h 25", "5 h", "24 h", "3 days"]);
    }

    #[test]
    fn an_hour_that_the_clock_showed_twice_has_a_second_pass() {
        // Summer time ends in New York on 2 November 2025 at 06:00 UTC.
        let zone = TimeZone::get("America/New_York").unwrap();
        let ms = |text: &str| text.parse::<jiff::Timestamp>().unwrap().as_millisecond();
        let first = ms("2025-11-02T05:30:00Z");
        assert_eq!(second_pass(first, &zone), Some(first + HOUR_MS));
        assert_eq!(second_pass(first + HOUR_MS, &zone), None);
        assert_eq!(second_pass(first - HOUR_MS, &zone), None);
    }

    #[test]
    fn a_long_list_is_cut() {
        assert_eq!(some_of(&["a"]), "a");
        assert_eq!(some_of(&["a", "b", "c"]), "a, b and c");
        assert_eq!(some_of(&["a", "b", "c", "d", "e", "f"]), "a, b, c, d and 2 more");
    }
}
