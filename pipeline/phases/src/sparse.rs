//! A core that was read by hand a few times in a night.
//!
//! A smoother has nothing to lean on between two readings an hour apart: what the core did there is told
//! by what meat does on a pit. So curves are drawn from a small model of it (module `model`), as the
//! readings leave them possible (module `chains`), and each is judged by the definition like any other.
//! The estimate is the drawn curve whose stall lies in the middle of all; the intervals are those of the
//! draws, and are as wide as few readings deserve. `docs/accuracy.md` scores both.

mod chains;
mod model;

use crate::borrow::BorrowedReference;
use crate::clean::CleaningReport;
use crate::definition::{CookBounds, Judgement, judge};
use crate::error::PhasesError;
use crate::heating::GridCurves;
use crate::samples::{OwnedSamples, Samples};
use crate::segment::{SegmentOptions, Segmentation, intervals};
use cook::{Card, Event, EventKind, PhaseDefinition, PhaseKind, WrapMethod};
use model::{Model, Night, STEP_MS};

/// A core whose probe went in at this temperature or above, °C, may have left its stall behind: what the
/// log shows of it is no stall's length.
pub(crate) const LATE_CORE_C: f64 = 62.0;
/// Fewest readings by hand between meat-on and pull that are judged.
pub(crate) const FEWEST_BY_HAND: usize = 3;
/// Step of the curves that are judged, ms.
const JUDGED_STEP_MS: i64 = 60_000;
/// How far a set-point may lie from the pit that it stands for, °C, and a logged pit from the truth:
/// one standard deviation. Common practice, no source.
const SETPOINT_SD_C: f64 = 6.0;
const LOGGED_PIT_SD_C: f64 = 0.75;

/// What the pit was, where no probe logged it: its set-points, each from its event until the next.
/// Empty where none is known.
pub(crate) fn pit_from_setpoints(
    card: &Card,
    events: &[Event],
    bounds: &CookBounds,
) -> OwnedSamples {
    let mut set: Vec<(i64, f64)> = events
        .iter()
        .filter(|event| event.kind == EventKind::Setpoint)
        .filter_map(|event| Some((event.at_ms, event.temperature()?.value())))
        .collect();
    set.sort_by_key(|(at_ms, _)| *at_ms);
    let at_start = card.pit_setpoint.map(cook::Celsius::value).or(set.first().map(|set| set.1));
    let Some(at_start) = at_start else { return OwnedSamples::default() };
    let mut pit = OwnedSamples::default();
    let mut at_ms = bounds.meat_on_ms;
    while at_ms <= bounds.pull_ms {
        let last = set.partition_point(|(set_ms, _)| *set_ms <= at_ms).checked_sub(1);
        pit.at_ms.push(at_ms);
        pit.temp_c.push(last.map_or(at_start, |last| set[last].1));
        at_ms += STEP_MS;
    }
    pit
}

/// One cook whose core was read by hand: curves drawn from what its readings leave possible.
#[derive(Debug)]
pub(crate) struct SparseCook {
    bounds: CookBounds,
    readings: usize,
    /// Drawn cores, °C, each a step of [`JUDGED_STEP_MS`] from meat-on.
    cores: Vec<Vec<f64>>,
    /// The pit of each, °C.
    pits: Vec<Vec<f64>>,
    /// Which of them is the estimate.
    middle: usize,
    pit_from_setpoint: bool,
}

impl SparseCook {
    /// Draws the curves. `core` are readings by hand, `pit` what is known of the pit, and whether from set-points.
    ///
    /// # Errors
    /// A pull that is not after meat-on, or too few readings between the two.
    pub(crate) fn new(
        core: Samples<'_>,
        (pit, pit_from_setpoint): (Samples<'_>, bool),
        (bounds, wraps_ms): (&CookBounds, &[i64]),
        card: &Card,
        definition: &PhaseDefinition,
    ) -> Result<Self, PhasesError> {
        if bounds.pull_ms <= bounds.meat_on_ms {
            return Err(PhasesError::PullBeforeMeatOn {
                meat_on_ms: bounds.meat_on_ms,
                pull_ms: bounds.pull_ms,
            });
        }
        let inside = core.within(bounds.meat_on_ms, bounds.pull_ms + 1);
        if inside.len() < FEWEST_BY_HAND {
            return Err(PhasesError::TooFewReadings {
                found: inside.len(),
                needed: FEWEST_BY_HAND,
            });
        }
        let unwrapped = card.wrap_method == Some(WrapMethod::None);
        let night = Night {
            readings: (0..inside.len())
                .map(|i| ((inside.at_ms[i] - bounds.meat_on_ms) as f64 / 3.6e6, inside.temp_c[i]))
                .collect(),
            pit_c: on_grid(pit, bounds, STEP_MS),
            pit_sd_c: if pit_from_setpoint { SETPOINT_SD_C } else { LOGGED_PIT_SD_C },
            wrap_h: wraps_ms
                .first()
                .filter(|_| !unwrapped)
                .map(|wrap_ms| (wrap_ms - bounds.meat_on_ms) as f64 / 3.6e6),
            in_foil: card.wrap_method == Some(WrapMethod::Foil),
            lag_h: definition.pit_lag_min / 60.0,
        };
        let model = Model::new(&night);
        let drawn = chains::draw(&model);
        let (mut cores, mut pits) = (Vec::new(), Vec::new());
        for parameters in &drawn {
            let (core, pit) = model.curves(parameters);
            cores.push(finer(&core));
            pits.push(finer(&pit));
        }
        let mut cook = Self {
            bounds: *bounds,
            readings: inside.len(),
            cores,
            pits,
            middle: 0,
            pit_from_setpoint,
        };
        cook.middle = cook.most_central(definition);
        Ok(cook)
    }

    fn judge(
        &self,
        draw: usize,
        definition: &PhaseDefinition,
        borrowed: Option<&BorrowedReference>,
    ) -> Judgement {
        let curves = GridCurves {
            start_ms: self.bounds.meat_on_ms,
            step_ms: JUDGED_STEP_MS,
            core_c: &self.cores[draw],
            pit_c: &self.pits[draw],
        };
        judge(&curves, &self.bounds, definition, borrowed)
    }

    /// The draw whose stall is nearest to the middle of all, in length, beginning and end.
    fn most_central(&self, definition: &PhaseDefinition) -> usize {
        let of = |draw: usize| {
            let judgement = self.judge(draw, definition, None);
            let mut stalls = judgement.phases_of(PhaseKind::Stall);
            let first = stalls.next().map(|span| (span.start_ms, span.end_ms));
            let end = stalls.next_back().map(|span| span.end_ms).or(first.map(|span| span.1));
            let since = |at_ms: Option<i64>| {
                at_ms.map_or(f64::NAN, |at| (at - self.bounds.meat_on_ms) as f64 / 60_000.0)
            };
            [judgement.stall_min.unwrap_or(f64::NAN), since(first.map(|span| span.0)), since(end)]
        };
        let all: Vec<[f64; 3]> = (0..self.cores.len()).map(of).collect();
        let middle = [0, 1, 2].map(|part| {
            let known: Vec<f64> =
                all.iter().map(|of| of[part]).filter(|value| value.is_finite()).collect();
            stats::describe::median(&known).unwrap_or(f64::NAN)
        });
        let weights = [1.0, 0.5, 0.5];
        let far = |of: &[f64; 3]| -> f64 {
            (0..3)
                .filter(|&part| middle[part].is_finite())
                .map(|part| {
                    let off = (of[part] - middle[part]).abs();
                    weights[part] * if off.is_finite() { off } else { middle[part].abs() }
                })
                .sum()
        };
        let nearest = (0..all.len()).min_by(|&a, &b| far(&all[a]).total_cmp(&far(&all[b])));
        nearest.unwrap_or(0)
    }

    /// What a definition says of the estimate.
    pub(crate) fn judged(
        &self,
        definition: &PhaseDefinition,
        borrowed: Option<&BorrowedReference>,
    ) -> Judgement {
        self.judge(self.middle, definition, borrowed)
    }

    /// The whole segmentation; its intervals are those of all draws, whatever number is asked for.
    pub(crate) fn segmented(self, options: &SegmentOptions) -> Segmentation {
        let (definition, borrowed) = (&options.definition, options.borrowed.as_ref());
        let judgement = self.judged(definition, borrowed);
        let mut segmentation = Segmentation {
            noise_sd_c: model::READING_SD_C,
            stall_min_90: None,
            stall_delay_90: None,
            boundaries: Vec::new(),
            core_after_pull: OwnedSamples::default(),
            bounds: self.bounds,
            cleaning: CleaningReport { core_readings: self.readings, ..CleaningReport::default() },
            by_hand: true,
            pit_from_setpoint: self.pit_from_setpoint,
            judgement,
        };
        if options.draws > 0 && segmentation.judgement.not_judged.is_none() {
            let drawn: Vec<Judgement> =
                (0..self.cores.len()).map(|draw| self.judge(draw, definition, borrowed)).collect();
            intervals::of_draws(&mut segmentation, &drawn, definition);
        }
        segmentation
    }
}

/// Readings on a regular grid from meat-on to the pull, straight between them and level beyond.
fn on_grid(samples: Samples<'_>, bounds: &CookBounds, step_ms: i64) -> Vec<f64> {
    let steps = (bounds.pull_ms - bounds.meat_on_ms).div_euclid(step_ms) + 2;
    let (Some(&first), Some(&last)) = (samples.at_ms.first(), samples.at_ms.last()) else {
        return vec![f64::NAN; usize::try_from(steps).unwrap_or(0)];
    };
    (0..steps)
        .map(|step| {
            let at = (bounds.meat_on_ms + step * step_ms).clamp(first, last);
            samples.at(at).unwrap_or(f64::NAN)
        })
        .collect()
}

/// From the model's step to that of what is judged, on the straight line.
fn finer(values: &[f64]) -> Vec<f64> {
    let parts = STEP_MS / JUDGED_STEP_MS;
    let mut out = Vec::with_capacity(values.len() * parts as usize);
    for pair in values.windows(2) {
        for part in 0..parts {
            out.push(pair[0] + (pair[1] - pair[0]) * part as f64 / parts as f64);
        }
    }
    out.extend(values.last());
    out
}

#[cfg(test)]
mod tests;
