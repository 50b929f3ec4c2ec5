//! One cook on the study clock: a row every ten minutes.

use crate::clock::StudyClock;
use crate::handling::{self, Handling, last_until};
use columns::history::HistoryRow;
use cook::{Card, Event, EventKind, PhaseDefinition, WrapMethod};
use phases::{Marks, Samples, Segmentation};

/// Time between rows, min.
const EVERY_MIN: i64 = 10;

/// What the history of a cook is made of.
#[derive(Debug, Clone, Copy)]
pub struct HistoryInput<'a> {
    /// The card.
    pub card: &'a Card,
    /// The cook's own events.
    pub events: &'a [Event],
    /// Events of the other cooks on its fire: they have the set-point and the lid in common.
    pub on_fire: &'a [Event],
    /// The marks.
    pub marks: &'a Marks,
    /// The phases.
    pub segmentation: &'a Segmentation,
    /// The pit's usable readings between meat-on and pull.
    pub pit: Samples<'a>,
    /// The constants of the phase definition.
    pub definition: &'a PhaseDefinition,
}

/// The rows of one cook, from clock zero to the finish, or to the last sample before the
/// pull; none where the log does not show the core passing clock zero.
pub fn history(input: HistoryInput<'_>) -> Vec<HistoryRow> {
    let HistoryInput { card, events, marks, segmentation, definition, .. } = input;
    let Some(clock) = StudyClock::of(segmentation, definition.stall_from_c, definition.finish_c)
    else {
        return Vec::new();
    };
    let heating = &segmentation.judgement.heating;
    let judged = segmentation.judgement.not_judged.is_none();
    let wrap_known = wrap_time_known(card, marks);
    let card_setpoint_c = card.pit_setpoint.map(cook::Celsius::value);
    let handling = Handling::new(events, input.on_fire, input.pit);
    (0..)
        .map(|row| row * EVERY_MIN)
        .map_while(|minute| {
            let at_ms = clock.zero_ms + minute * 60_000;
            let until_ms = at_ms + EVERY_MIN * 60_000;
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
                setpoint_c: handling.setpoint_c(at_ms).or(card_setpoint_c),
                lid_open: handling.lid_is_open(at_ms),
                bark: handling::last_bark(events, at_ms).map(|bark| bark.to_string()),
                spritzes: handling.spritzes(at_ms, until_ms),
                lid_noted_min: handling.lid_noted_min(at_ms, until_ms),
                lid_falls: handling.lid_falls(at_ms, until_ms),
                lid_fall_c: handling.deepest(at_ms, until_ms).map(|lid| lid.depth_c),
                lid_back_min: handling
                    .deepest(at_ms, until_ms)
                    .map(|lid| (lid.end_ms - lid.start_ms) as f64 / 60_000.0),
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
    let last_unwrap = last_until(events, EventKind::Unwrap, at_ms).map(|event| event.at_ms);
    last_wrap.is_some_and(|wrap| last_unwrap.is_none_or(|unwrap| *wrap > unwrap))
}
