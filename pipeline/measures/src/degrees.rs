//! One cook degree by degree of its core: how much heat it was offered for each.
//!
//! The **dose** of a degree is the integral of the lagged pit less the core over the time that the
//! core is in it, K·h. At the cook's reference heating coefficient `k_ref` a degree takes a dose of
//! 1 °C / `k_ref`.
//!
//! # When a core is in a degree
//! Cores fall back: where a probe was moved, after a wrap, in a sagging fire. The clock is the *highest
//! core so far*. A degree begins when the core first reaches it and ends when it first reaches the
//! next; time in which the core lies below its own highest counts to the degree that it fell from,
//! and so does the heat that it was offered then, on the gap to the core as it is.
//!
//! # A pit below the core
//! It offers no heat: the time passes, the dose does not grow. What the meat loses then is not
//! counted, so that a fire that was out for an hour shows as minutes and not as a slow pace.
//!
//! # Wraps
//! A wrap and an unwrapping end a row inside its degree, and the next part of the same degree begins
//! there. Such a row, and the last of a log that ends before the finish, was not passed: its dose is a
//! lower bound of what the degree would have taken.

use crate::clock::StudyClock;
use crate::handling;
use crate::history::wrap_time_known;
use columns::degrees::DegreeRow;
use cook::{Card, Event, EventKind, PhaseDefinition, WrapMethod};
use phases::{HeatingCurves, Marks};

/// What the degrees of a cook are made of.
#[derive(Debug, Clone, Copy)]
pub struct DegreesInput<'a> {
    /// The cook.
    pub cook: &'a str,
    /// Its own events, for what was noted of the bark.
    pub events: &'a [Event],
    /// When it was wrapped and unwrapped: [`wrappings`]; `None` where that is not known.
    pub wrappings: Option<&'a [Wrapping]>,
    /// The heating curves.
    pub heating: &'a HeatingCurves,
    /// The core with the sides of each wrap smoothed apart, on the grid of the curves; `None` takes
    /// theirs.
    pub core_apart_c: Option<&'a [f64]>,
    /// The study clock; without one there are no degrees.
    pub clock: Option<StudyClock>,
    /// The constants of the phase definition.
    pub definition: &'a PhaseDefinition,
}

/// From when on the meat is wrapped in what, or not.
#[derive(Debug, Clone, PartialEq)]
pub struct Wrapping {
    /// Since when, ms UTC.
    pub from_ms: i64,
    /// In what; `None` for not any more.
    pub method: Option<WrapMethod>,
}

/// Wraps and unwrappings in order; `None` where it is not known when it was wrapped. A card that says
/// `none` is believed.
pub fn wrappings(card: &Card, marks: &Marks, events: &[Event]) -> Option<Vec<Wrapping>> {
    if card.wrap_method == Some(WrapMethod::None) {
        return Some(Vec::new());
    }
    if !wrap_time_known(card, marks) {
        return None;
    }
    let unstated = || WrapMethod::Other("unstated".into());
    let noted = |at_ms: i64| {
        let event = events.iter().find(|e| e.kind == EventKind::Wrap && e.at_ms == at_ms)?;
        WrapMethod::parse(event.value.as_deref()?)
    };
    let wraps = marks.wraps_ms.iter().map(|&from_ms| {
        let method = noted(from_ms).or_else(|| card.wrap_method.clone()).unwrap_or_else(unstated);
        Wrapping { from_ms, method: Some(method) }
    });
    let unwraps = events.iter().filter(|event| event.kind == EventKind::Unwrap);
    let mut all: Vec<Wrapping> =
        wraps.chain(unwraps.map(|e| Wrapping { from_ms: e.at_ms, method: None })).collect();
    all.sort_by_key(|wrapping| wrapping.from_ms);
    Some(all)
}

/// The rows of one cook, from clock zero to the finish, or to the last sample before the pull; none
/// where the log does not show the core passing clock zero.
pub fn degrees(input: DegreesInput<'_>) -> Vec<DegreeRow> {
    let DegreesInput { heating, definition, .. } = input;
    let Some(clock) = input.clock else { return Vec::new() };
    let core = input.core_apart_c.filter(|core| core.len() == heating.len());
    let core = core.unwrap_or(&heating.core_c);
    let Some(zero) = heating.index_at(clock.zero_ms) else { return Vec::new() };
    let mut walk = Walk {
        input: &input,
        clock,
        wrappings: input.wrappings.unwrap_or_default(),
        known: input.wrappings.is_some(),
        highest: core[zero].max(definition.stall_from_c),
        row: None,
        rows: Vec::new(),
    };
    // A long gap of the log has no core that was smoothed apart.
    let core_at =
        |index: usize| if core[index].is_finite() { core[index] } else { heating.core_c[index] };
    for index in zero..heating.len().saturating_sub(1) {
        walk.step(index, core_at(index), core_at(index + 1));
        if walk.highest >= definition.finish_c {
            break;
        }
    }
    walk.close(false);
    walk.rows
}

struct Walk<'a> {
    input: &'a DegreesInput<'a>,
    clock: StudyClock,
    wrappings: &'a [Wrapping],
    known: bool,
    highest: f64,
    row: Option<Open>,
    rows: Vec<DegreeRow>,
}

/// A row that is being filled.
struct Open {
    row: DegreeRow,
    gap_min: f64,
    seen_min: f64,
}

impl Walk<'_> {
    /// From one sample to the next.
    fn step(&mut self, index: usize, core_c: f64, next_c: f64) {
        let heating = self.input.heating;
        let (at_ms, step_min) = (heating.at_ms(index) as f64, heating.step_ms as f64 / 60_000.0);
        if self.turns(heating.at_ms(index)) {
            self.close(false);
        }
        let reached = self.highest.max(next_c);
        let mut done = 0.0;
        loop {
            let degree = self.highest.floor();
            let finish = self.input.definition.finish_c;
            let ends = (degree + 1.0).min(finish.max(self.highest));
            let passes = reached >= ends && next_c > core_c;
            // The part of the step after which the core is at the degree's end.
            let until =
                if passes { ((ends - core_c) / (next_c - core_c)).clamp(done, 1.0) } else { 1.0 };
            self.add(
                index,
                at_ms + done * heating.step_ms as f64,
                core_c,
                (until - done) * step_min,
            );
            done = until;
            if !passes {
                self.highest = reached;
                return;
            }
            self.close(true);
            self.highest = ends;
            if self.highest >= finish {
                return;
            }
        }
    }

    /// Whether a wrap or an unwrapping falls on this sample.
    fn turns(&self, at_ms: i64) -> bool {
        let step_ms = self.input.heating.step_ms;
        self.wrappings.iter().any(|w| (at_ms - step_ms + 1..=at_ms).contains(&w.from_ms))
    }

    fn add(&mut self, index: usize, at_ms: f64, core_c: f64, minutes: f64) {
        let heating = self.input.heating;
        let gap = heating.lagged_pit_c[index] - core_c;
        let open = match self.row.take() {
            Some(open) => open,
            None => self.open(index, at_ms),
        };
        let open = self.row.insert(open);
        open.row.time_min += minutes;
        open.row.dose_kh += gap.max(0.0) * minutes / 60.0;
        open.gap_min += gap * minutes;
        open.seen_min += if heating.observed[index] { minutes } else { 0.0 };
    }

    fn open(&self, index: usize, at_ms: f64) -> Open {
        let heating = self.input.heating;
        let sample_ms = heating.at_ms(index);
        let wrapping = self.wrappings.iter().rev().find(|w| w.from_ms <= sample_ms);
        let method = wrapping.and_then(|wrapping| wrapping.method.as_ref());
        let since = wrapping.filter(|_| method.is_some()).map(|wrapping| wrapping.from_ms as f64);
        let degree_c = self.highest.floor();
        let piece = self.rows.last().filter(|row| row.degree_c == degree_c);
        let bark = handling::last_bark(self.input.events, sample_ms);
        let row = DegreeRow {
            cook: self.input.cook.to_owned(),
            degree_c,
            piece: piece.map_or(0, |row| row.piece + 1),
            start_min: (at_ms - self.clock.zero_ms as f64) / 60_000.0,
            from_core_c: self.highest,
            time_min: 0.0,
            dose_kh: 0.0,
            gap_c: f64::NAN,
            lagged_pit_c: heating.lagged_pit_c[index],
            wrapped: self.known.then_some(method.is_some()),
            method: method.map(WrapMethod::to_string).filter(|_| self.known),
            since_wrap_min: since.map(|since| ((at_ms - since) / 60_000.0).max(0.0)),
            passed: false,
            seen: 0.0,
            bark: bark.map(|bark| bark.to_string()),
        };
        Open { row, gap_min: 0.0, seen_min: 0.0 }
    }

    /// Ends the row that is open, if it lasted at all.
    fn close(&mut self, passed: bool) {
        let Some(Open { mut row, gap_min, seen_min }) = self.row.take() else { return };
        if row.time_min <= 0.0 {
            return;
        }
        row.gap_c = gap_min / row.time_min;
        row.seen = (seen_min / row.time_min).clamp(0.0, 1.0);
        row.passed = passed;
        self.rows.push(row);
    }
}

#[cfg(test)]
mod tests;
