//! One cook on the study clock: a row every ten minutes.

use crate::clock::StudyClock;
use crate::column::columns;
use cook::{Card, Event, EventKind, PhaseDefinition, WrapMethod};
use phases::{Marks, Segmentation};

/// Time between rows, min.
const EVERY_MIN: i64 = 10;

columns! {
    /// One cook at one instant of the study clock.
    struct HistoryRow, docs HISTORY_COLUMN_DOCS;
    /// The cook.
    cook: String, "";
    /// Minutes since clock zero.
    minute: i64, "min";
    /// Core temperature.
    core_c: f64, "°C";
    /// Heating coefficient; null where it cannot be formed.
    k_per_h: f64, "1/h";
    /// Pit temperature; null where there is none.
    pit_c: f64, "°C";
    /// Pit temperature behind its lag; null where there is none.
    lagged_pit_c: f64, "°C";
    /// Whether the meat is in a stall; null where not judged.
    in_stall: Option<bool>, "";
    /// Whether the meat is wrapped; null where a wrap's time is not known.
    wrapped: Option<bool>, "";
    /// Set-point of the pit: the last event's, else the card's.
    setpoint_c: Option<f64>, "°C";
    /// Whether the lid is open, by the events.
    lid_open: bool, "";
}

/// The rows of one cook, from clock zero to the finish, or to the last sample before the
/// pull; none where the log does not show the core passing clock zero.
pub fn history(
    card: &Card,
    events: &[Event],
    marks: &Marks,
    segmentation: &Segmentation,
    definition: &PhaseDefinition,
) -> Vec<HistoryRow> {
    let Some(clock) = StudyClock::of(segmentation, definition.stall_from_c, definition.finish_c)
    else {
        return Vec::new();
    };
    let heating = &segmentation.judgement.heating;
    let judged = segmentation.judgement.not_judged.is_none();
    let wrap_known = wrap_time_known(card, marks);
    let card_setpoint_c = card.pit_setpoint.map(cook::Celsius::value);
    (0..)
        .map(|row| row * EVERY_MIN)
        .map_while(|minute| {
            let at_ms = clock.zero_ms + minute * 60_000;
            let index = heating.index_at(at_ms).filter(|_| at_ms <= clock.end_ms())?;
            Some(HistoryRow {
                cook: card.cook.clone(),
                minute,
                core_c: heating.core_c[index],
                k_per_h: heating.k_per_h[index],
                pit_c: heating.pit_c[index],
                lagged_pit_c: heating.lagged_pit_c[index],
                in_stall: judged.then(|| heating.in_stall[index]),
                wrapped: wrap_known.then(|| wrapped(card, marks, events, at_ms)),
                setpoint_c: setpoint_c(events, at_ms).or(card_setpoint_c),
                lid_open: lid_open(events, at_ms),
            })
        })
        .collect()
}

/// Whether it is known when the cook was wrapped: unwrapped cooks count as known; a wrap
/// without a time, or a card that says nothing of wrapping and no wrap event, does not.
pub(crate) fn wrap_time_known(card: &Card, marks: &Marks) -> bool {
    !marks.wraps_ms.is_empty() || card.wrap_method == Some(WrapMethod::None)
}

/// The last wrap or unwrap up to then decides; a card that says `none` is believed.
fn wrapped(card: &Card, marks: &Marks, events: &[Event], at_ms: i64) -> bool {
    if card.wrap_method == Some(WrapMethod::None) {
        return false;
    }
    let last_wrap = marks.wraps_ms.iter().filter(|wrap| **wrap <= at_ms).max();
    let last_unwrap = events
        .iter()
        .filter(|event| event.kind == EventKind::Unwrap && event.at_ms <= at_ms)
        .map(|event| event.at_ms)
        .max();
    last_wrap.is_some_and(|wrap| last_unwrap.is_none_or(|unwrap| *wrap > unwrap))
}

/// The set-point of the last event up to then that gives one with its unit.
fn setpoint_c(events: &[Event], at_ms: i64) -> Option<f64> {
    events
        .iter()
        .filter(|event| event.kind == EventKind::Setpoint && event.at_ms <= at_ms)
        .filter_map(|event| Some((event.at_ms, event.temperature()?)))
        .max_by_key(|(event_ms, _)| *event_ms)
        .map(|(_, setpoint)| setpoint.value())
}

/// The last lid event up to then decides: `open` until the next one, seconds for that long.
fn lid_open(events: &[Event], at_ms: i64) -> bool {
    let last = events
        .iter()
        .filter(|event| event.kind == EventKind::Lid && event.at_ms <= at_ms)
        .max_by_key(|event| event.at_ms);
    let Some((event, value)) = last.and_then(|event| Some((event, event.value.as_deref()?))) else {
        return false;
    };
    let value = value.trim().to_lowercase();
    if value == "open" {
        return true;
    }
    value
        .trim_end_matches(['s', ' '])
        .parse::<f64>()
        .is_ok_and(|seconds| ((at_ms - event.at_ms) as f64) < seconds * 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Value;

    fn lid(at_ms: i64, value: &str) -> Event {
        let value = Some(value.to_owned());
        Event { cook: "a".into(), at_ms, kind: EventKind::Lid, value, note: None }
    }

    #[test]
    fn a_lid_is_open_until_closed_or_for_its_seconds() {
        let events = [lid(0, "open"), lid(60_000, "close"), lid(100_000, "30 s")];
        assert!(lid_open(&events, 59_999));
        assert!(!lid_open(&events, 60_000));
        assert!(lid_open(&events, 129_999));
        assert!(!lid_open(&events, 130_000));
        assert!(!lid_open(&[], 0));
    }

    #[test]
    fn cells_stand_under_the_names_of_the_docs() {
        let row = HistoryRow { k_per_h: f64::NAN, ..HistoryRow::default() };
        let names: Vec<&str> = row.cells().iter().map(|cell| cell.0).collect();
        let documented: Vec<&str> = HISTORY_COLUMN_DOCS.iter().map(|doc| doc.name).collect();
        assert_eq!(names, documented);
        assert!(row.cells().contains(&("k_per_h", Value::Null)));
    }
}
