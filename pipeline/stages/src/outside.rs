//! Events that lie outside their cook: nothing can rest on them.

use cook::{Card, Event, EventKind};
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// Longest cook that is believed where nobody wrote when it ended, ms (36 h).
pub(crate) const LONGEST_MS: i64 = 129_600_000;
/// Longest time from lighting the fire to meat-on that is believed, ms (12 h).
const LONGEST_LIT_MS: i64 = 43_200_000;

/// When the meat went on, and when it was sliced, else pulled.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct OnThePit {
    pub(crate) meat_on_ms: Option<i64>,
    pub(crate) end_ms: Option<i64>,
}

impl OnThePit {
    pub(crate) fn of(card: &Card) -> Self {
        let marks = &card.marks;
        Self { meat_on_ms: marks.meat_on_ms, end_ms: marks.slice_ms.or(marks.pull_ms) }
    }

    /// `before` or `after` for an event that lies outside the cook; `None` for one inside, or where
    /// nobody says when the meat went on.
    pub(crate) fn side(&self, kind: EventKind, at_ms: i64) -> Option<&'static str> {
        let meat_on_ms = self.meat_on_ms.filter(|_| kind != EventKind::MeatOn)?;
        let (from_ms, until_ms) = match kind {
            // Fuel goes in and a set-point is chosen while the fire comes up; one that went out is lit again.
            EventKind::Lit | EventKind::Fuel | EventKind::Setpoint => {
                (meat_on_ms - LONGEST_LIT_MS, self.end_ms.unwrap_or(meat_on_ms + LONGEST_MS))
            }
            EventKind::Pull | EventKind::Slice => (meat_on_ms, meat_on_ms + LONGEST_MS),
            _ => (meat_on_ms, self.end_ms.unwrap_or(meat_on_ms + LONGEST_MS)),
        };
        match at_ms {
            at if at < from_ms => Some("before"),
            at if at > until_ms => Some("after"),
            _ => None,
        }
    }
}

/// An instant on the season's clock, with its offset.
pub(crate) fn on_clock(at_ms: i64, zone: &TimeZone) -> String {
    jiff::Timestamp::from_millisecond(at_ms).map_or_else(
        |_| at_ms.to_string(),
        |at| at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string(),
    )
}

/// A warning for each cook with events outside it: the first of them, and how many more.
pub(crate) fn warnings<'a>(
    cards: impl Iterator<Item = &'a Card>,
    events: &[Event],
    sheets: &str,
    zone: &TimeZone,
) -> Vec<String> {
    let spans: BTreeMap<&str, OnThePit> =
        cards.map(|card| (card.cook.as_str(), OnThePit::of(card))).collect();
    let mut found: BTreeMap<&str, Vec<(&Event, &str)>> = BTreeMap::new();
    for event in events {
        let side = spans.get(event.cook.as_str()).and_then(|on| on.side(event.kind, event.at_ms));
        if let Some(side) = side {
            found.entry(&event.cook).or_default().push((event, side));
        }
    }
    found
        .into_iter()
        .map(|(cook, outside)| {
            let (event, side) = outside[0];
            let on = spans[cook];
            let more = match outside.len() - 1 {
                0 => String::new(),
                more => format!(", and {more} more events do"),
            };
            format!(
                "{} at {} lies {side} {cook}, which was on from {}{}{more}\n  try: mend the time in {sheets}, or the marks on the card",
                event.kind,
                on_clock(event.at_ms, zone),
                on_clock(on.meat_on_ms.unwrap_or_default(), zone),
                on.end_ms.map_or_else(String::new, |end| format!(" to {}", on_clock(end, zone))),
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_event_outside_is_told_and_the_others_counted() {
        const HOUR_MS: i64 = 3_600_000;
        let mut card = Card { cook: "may-1".into(), ..Card::default() };
        (card.marks.meat_on_ms, card.marks.pull_ms) = (Some(20 * HOUR_MS), Some(30 * HOUR_MS));
        let event = |kind, hour: i64| Event {
            cook: "may-1".into(),
            at_ms: hour * HOUR_MS,
            kind,
            value: None,
            note: None,
        };
        let inside = [
            event(EventKind::Lit, 18),
            event(EventKind::Fuel, 19),
            event(EventKind::MeatOn, 20),
            event(EventKind::Wrap, 25),
            event(EventKind::Slice, 32),
        ];
        let told = |events: &[Event]| {
            warnings(std::iter::once(&card), events, "events.csv", &TimeZone::UTC)
        };
        assert_eq!(told(&inside), [""; 0]);
        let outside =
            [event(EventKind::Spritz, 10), event(EventKind::Wrap, 31), event(EventKind::Lit, 31)];
        let [said] = &told(&outside)[..] else { panic!("{:?}", told(&outside)) };
        assert!(
            said.starts_with("spritz at 1970-01-01T10:00:00+00:00 lies before may-1"),
            "{said}"
        );
        assert!(said.contains("and 2 more events do") && said.contains("events.csv"), "{said}");
    }
}
