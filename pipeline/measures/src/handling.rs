//! What was done at a pit that is no wrap: set-points, sprays, an open lid.

use cook::{Bark, Event, EventKind};
use phases::Samples;
use phases::clean::LidOpening;
use phases::clean::lid::openings;

/// What was done around one cook, in the order of time.
#[derive(Debug)]
pub(crate) struct Handling {
    /// Set-points, °C.
    setpoints: Vec<(i64, f64)>,
    sprays: Vec<i64>,
    /// When the lid stood open by the events, from and until ms UTC; may overlap.
    open: Vec<(i64, i64)>,
    /// What the pit's readings show; `None` without any.
    seen: Option<Vec<LidOpening>>,
}

impl Handling {
    /// `own` are the cook's events; of `others`, those of cooks on its fire, set-points and lids
    /// count: the pit is the same.
    pub(crate) fn new(own: &[Event], others: &[Event], pit: Samples<'_>) -> Self {
        let mut of_pit: Vec<&Event> = own.iter().chain(others).collect();
        of_pit.sort_by_key(|event| event.at_ms);
        let setpoints = of_pit
            .iter()
            .filter(|event| event.kind == EventKind::Setpoint)
            .filter_map(|event| Some((event.at_ms, event.temperature()?.value())))
            .collect();
        let sprays = own.iter().filter(|event| event.kind == EventKind::Spritz);
        let mut sprays: Vec<i64> = sprays.map(|event| event.at_ms).collect();
        sprays.sort_unstable();
        Self {
            setpoints,
            sprays,
            open: open_stretches(&of_pit),
            seen: (!pit.is_empty()).then(|| openings(pit)),
        }
    }

    /// The set-point of the last event up to then that gives one with its unit.
    pub(crate) fn setpoint_c(&self, at_ms: i64) -> Option<f64> {
        let after = self.setpoints.partition_point(|(event_ms, _)| *event_ms <= at_ms);
        Some(self.setpoints[after.checked_sub(1)?].1)
    }

    /// Whether the lid is open, by the events.
    pub(crate) fn lid_is_open(&self, at_ms: i64) -> bool {
        self.open.iter().any(|(from, until)| (*from..*until).contains(&at_ms))
    }

    /// Sprays after `from_ms`, up to `until_ms`.
    pub(crate) fn spritzes(&self, from_ms: i64, until_ms: i64) -> i64 {
        let until = |ms: i64| self.sprays.partition_point(|spray| *spray <= ms);
        (until(until_ms) - until(from_ms)) as i64
    }

    /// Minutes between the two that the lid stood open, by the events.
    pub(crate) fn lid_noted_min(&self, from_ms: i64, until_ms: i64) -> f64 {
        let (mut open_ms, mut from_ms) = (0, from_ms);
        // In the order of their beginnings, so that what overlaps counts once.
        for (from, until) in &self.open {
            let (from, until) = ((*from).max(from_ms), (*until).min(until_ms));
            if until > from {
                open_ms += until - from;
                from_ms = until;
            }
        }
        open_ms as f64 / 60_000.0
    }

    fn seen(&self, from_ms: i64, until_ms: i64) -> Option<impl Iterator<Item = &LidOpening>> {
        let seen = self.seen.as_ref()?.iter();
        Some(seen.filter(move |lid| lid.start_ms > from_ms && lid.start_ms <= until_ms))
    }

    /// Openings that the pit's readings show to begin after `from_ms`, up to `until_ms`.
    pub(crate) fn lid_falls(&self, from_ms: i64, until_ms: i64) -> Option<i64> {
        self.seen(from_ms, until_ms).map(|seen| seen.count() as i64)
    }

    /// The deepest of them.
    pub(crate) fn deepest(&self, from_ms: i64, until_ms: i64) -> Option<&LidOpening> {
        self.seen(from_ms, until_ms)?.max_by(|a, b| a.depth_c.total_cmp(&b.depth_c))
    }
}

/// The last event of a kind up to then.
pub(crate) fn last_until(events: &[Event], kind: EventKind, at_ms: i64) -> Option<&Event> {
    let before = events.iter().filter(|event| event.kind == kind && event.at_ms <= at_ms);
    before.max_by_key(|event| event.at_ms)
}

/// What the last note of the bark up to then says.
pub(crate) fn last_bark(events: &[Event], at_ms: i64) -> Option<Bark> {
    let said = events.iter().filter_map(|event| Some((event.at_ms, event.bark()?)));
    said.filter(|(said_ms, _)| *said_ms <= at_ms).max_by_key(|(said_ms, _)| *said_ms).map(|it| it.1)
}

/// `open` until the next event of the lid, seconds for that long or until then. Events are in order.
fn open_stretches(events: &[&Event]) -> Vec<(i64, i64)> {
    let lids: Vec<&&Event> = events.iter().filter(|event| event.kind == EventKind::Lid).collect();
    let mut open = Vec::new();
    for (place, event) in lids.iter().enumerate() {
        let next_ms = lids.get(place + 1).map_or(i64::MAX, |next| next.at_ms);
        let Some(value) = event.value.as_deref() else { continue };
        let value = value.trim().to_lowercase();
        let until_ms = if value == "open" {
            next_ms
        } else {
            let seconds = value.trim_end_matches(['s', ' ']).parse::<f64>();
            let Some(seconds) = seconds.ok().filter(|seconds| *seconds > 0.0) else { continue };
            event.at_ms.saturating_add((seconds * 1000.0).round() as i64).min(next_ms)
        };
        open.push((event.at_ms, until_ms));
    }
    open
}

#[cfg(test)]
mod tests {
    use super::*;

    fn event(at_ms: i64, kind: EventKind, value: &str) -> Event {
        Event { cook: "a".into(), at_ms, kind, value: Some(value.to_owned()), note: None }
    }

    fn lid(at_ms: i64, value: &str) -> Event {
        event(at_ms, EventKind::Lid, value)
    }

    fn handling(own: &[Event], others: &[Event]) -> Handling {
        Handling::new(own, others, Samples::default())
    }

    #[test]
    fn a_lid_is_open_until_closed_or_for_its_seconds() {
        let handling = handling(&[lid(0, "open"), lid(60_000, "close"), lid(100_000, "30 s")], &[]);
        assert!(handling.lid_is_open(59_999));
        assert!(!handling.lid_is_open(60_000));
        assert!(handling.lid_is_open(129_999));
        assert!(!handling.lid_is_open(130_000));
        assert!((handling.lid_noted_min(0, 600_000) - 1.5).abs() < 1e-12);
        assert!((handling.lid_noted_min(30_000, 110_000) - 40.0 / 60.0).abs() < 1e-12);
        assert_eq!(handling.lid_noted_min(200_000, 600_000), 0.0);
        assert_eq!(handling.lid_falls(0, 600_000), None);
    }

    #[test]
    fn a_lid_left_open_is_open_in_every_step_after() {
        let handling = handling(&[lid(0, "open")], &[]);
        assert_eq!(handling.lid_noted_min(6_000_000, 6_600_000), 10.0);
        assert!(!self::handling(&[], &[]).lid_is_open(0));
    }

    #[test]
    fn the_pit_is_shared_and_the_spray_is_not() {
        let others =
            [event(5, EventKind::Setpoint, "275 F"), event(6, EventKind::Spritz, ""), lid(7, "2")];
        let own = [event(3, EventKind::Setpoint, "120 C"), event(9, EventKind::Spritz, "")];
        let handling = handling(&own, &others);
        assert_eq!(handling.setpoint_c(2), None);
        assert_eq!(handling.setpoint_c(4), Some(120.0));
        assert!((handling.setpoint_c(5).unwrap() - 135.0).abs() < 1e-9);
        // After the row, up to the next.
        let counts = [(0, 8), (8, 9), (9, 20)].map(|(from, until)| handling.spritzes(from, until));
        assert_eq!(counts, [0, 1, 0]);
        assert!(handling.lid_is_open(8));
    }

    #[test]
    fn what_the_pit_shows_counts_where_it_begins() {
        let at_ms: Vec<i64> = (0..240).map(|i| i * 60_000).collect();
        let fall = |i: usize| 30.0 * (-(i as f64 - 60.0) / 6.0).exp();
        let temp_c: Vec<f64> =
            (0..240).map(|i| 120.0 - if i < 60 { 0.0 } else { fall(i) }).collect();
        let handling = Handling::new(&[], &[], Samples { at_ms: &at_ms, temp_c: &temp_c });
        assert_eq!(handling.lid_falls(50 * 60_000, 60 * 60_000), Some(1));
        assert_eq!(handling.lid_falls(60 * 60_000, 70 * 60_000), Some(0));
        let deepest = handling.deepest(50 * 60_000, 60 * 60_000).unwrap();
        assert!((deepest.depth_c - 30.0).abs() < 1e-9);
    }
}
