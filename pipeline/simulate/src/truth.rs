//! The curves, marks and true phases that come out of a simulated fire.

use crate::GRID_STEP_S;
use crate::conduction::Ledger;
use crate::decision::Trigger;
use cook::{Celsius, EventKind, PhaseDefinition, WrapMethod};
use phases::{CookBounds, GridCurves, Judgement};

/// Something that happened at one piece of meat.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueEvent {
    /// Seconds since the fire was lit.
    pub at_s: i64,
    /// What.
    pub kind: EventKind,
    /// The value, as the events sheet has it.
    pub value: Option<String>,
}

/// One cook without noise. Curves have a value every [`GRID_STEP_S`] seconds from the
/// instant the fire was lit to the slice.
#[derive(Debug, Clone, PartialEq)]
pub struct CookTruth {
    /// Temperature at the probe, °C; the starting temperature until meat-on.
    pub core_c: Vec<f64>,
    /// Temperature of the surface, °C: the mean of each half minute.
    pub surface_c: Vec<f64>,
    /// Meat-on, seconds since the fire was lit.
    pub meat_on_s: i64,
    /// Wraps and unwrappings.
    pub wraps: Vec<(i64, WrapMethod)>,
    /// Pull.
    pub pull_s: i64,
    /// Slice: the end of the curves.
    pub slice_s: i64,
    /// Everything that was done, in order.
    pub events: Vec<TrueEvent>,
    /// Heat and water across the surface from meat-on to the pull, per m². The water counts
    /// what boiled out of a wrap.
    pub ledger: Ledger,
    /// When the surface first had no liquid left, seconds since the fire was lit. Until then
    /// it is never hotter than boiling water.
    pub dry_from_s: Option<i64>,
    /// Water evaporated from the meat until the pull, kg; what boiled out of a wrap had left
    /// it before.
    pub evaporated_kg: f64,
    /// Share of the surface's moisture left at the first wrap, or else the pull, 0–1.
    pub moisture_left_at_wrap: f64,
    /// Softening at the pull over what tenderness needs; 1 is just tender.
    pub softness: f64,
    /// Weight at the pull, kg.
    pub cooked_kg: f64,
    /// The marks of the study clock, and what ended the cook.
    pub marks: CookMarks,
    /// Phases and stall length by the phase definition.
    pub judgement: Judgement,
    /// Stall delay by the phase definition, min; `None` where 60 °C is not reached or the
    /// model never finishes.
    pub stall_delay: Option<StallDelay>,
}

/// The marks of one cook, seconds since the fire was lit: what statistics of wrap timing
/// need, and no curve.
#[derive(Debug, Clone, PartialEq)]
pub struct CookMarks {
    /// Meat-on.
    pub meat_on_s: i64,
    /// First core at or above [`PhaseDefinition::stall_from_c`] before the pull: zero of the
    /// study clock.
    pub clock_zero_s: Option<i64>,
    /// First core at or above [`PhaseDefinition::finish_c`] before the pull.
    pub finish_s: Option<i64>,
    /// The first wrap, where there is one.
    pub wrap: Option<(i64, WrapMethod)>,
    /// When this cook first had the set-point raised.
    pub bump_s: Option<i64>,
    /// The pull; `None` where the run ended at the finish.
    pub pull_s: Option<i64>,
    /// What it was pulled for.
    pub pulled_by: Option<Trigger>,
}

impl CookMarks {
    pub(crate) fn new(meat_on_s: i64) -> Self {
        Self {
            meat_on_s,
            clock_zero_s: None,
            finish_s: None,
            wrap: None,
            bump_s: None,
            pull_s: None,
            pulled_by: None,
        }
    }

    /// Minutes from the study clock's zero to the finish; `None` where either is missing.
    pub fn clock_to_finish_min(&self) -> Option<f64> {
        Some((self.finish_s? - self.clock_zero_s?) as f64 / 60.0)
    }

    /// Minutes from the study clock's zero to the first wrap, 0 if wrapped before; `None`
    /// where either is missing.
    pub fn clock_to_wrap_min(&self) -> Option<f64> {
        let (wrap_s, _) = self.wrap.as_ref()?;
        Some(((wrap_s - self.clock_zero_s?) as f64 / 60.0).max(0.0))
    }
}

/// How much longer than its own reference coefficient foretells the core took from
/// [`PhaseDefinition::delay_from_c`] to [`PhaseDefinition::finish_c`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StallDelay {
    /// The delay, min; a lower bound where `censored`.
    pub minutes: f64,
    /// The core did not reach the finish before the pull.
    pub censored: bool,
}

/// One fire without noise, and the cooks on it.
#[derive(Debug, Clone, PartialEq)]
pub struct FireTruth {
    /// Air at the grate, °C, every [`GRID_STEP_S`] seconds from the instant it was lit.
    pub pit_c: Vec<f64>,
    /// Set-points that cooks had raised: when, seconds since it was lit, and to what.
    pub setpoints: Vec<(i64, Celsius)>,
    /// The cooks, in the order of their plans.
    pub cooks: Vec<CookTruth>,
}

impl CookTruth {
    /// First instant (seconds since the fire was lit) at or after meat-on and before the
    /// pull at which the core is at or above a temperature in °C.
    pub fn first_at(&self, core_c: f64) -> Option<i64> {
        let from = (self.meat_on_s / GRID_STEP_S) as usize;
        let until = (self.pull_s / GRID_STEP_S) as usize;
        self.core_c[from..until.min(self.core_c.len())]
            .iter()
            .position(|&t| t >= core_c)
            .map(|index| (from + index) as i64 * GRID_STEP_S)
    }

    /// Hours from meat-on to the pull.
    pub fn hours(&self) -> f64 {
        (self.pull_s - self.meat_on_s) as f64 / 3_600.0
    }
}

/// Judges a noise-free cook by the phase definition; instants in ms since the fire was lit.
pub(crate) fn judge(
    core_c: &[f64],
    pit_c: &[f64],
    meat_on_s: i64,
    pull_s: i64,
    slice_s: i64,
) -> (Judgement, Option<StallDelay>) {
    let definition = PhaseDefinition::default();
    let count = core_c.len().min(pit_c.len());
    let curves = GridCurves {
        start_ms: 0,
        step_ms: GRID_STEP_S * 1_000,
        core_c: &core_c[..count],
        pit_c: &pit_c[..count],
    };
    let bounds = CookBounds {
        meat_on_known: true,
        meat_on_ms: meat_on_s * 1_000,
        pull_ms: pull_s * 1_000,
        end_ms: slice_s * 1_000,
        pull_known: true,
        slice_known: true,
    };
    let judgement = phases::judge(&curves, &bounds, &definition, None);
    let delay = stall_delay(&judgement, &definition);
    (judgement, delay)
}

/// Stall delay on the grid of the curves: measured time less the time that a core with the
/// reference coefficient throughout would need under the same lagged pit, by Euler steps.
fn stall_delay(judgement: &Judgement, definition: &PhaseDefinition) -> Option<StallDelay> {
    let k_per_h = judgement.reference.as_ref()?.k_per_h;
    let heating = &judgement.heating;
    let from = heating.first_index_at(definition.delay_from_c)?;
    let step_h = heating.step_ms as f64 / 3_600_000.0;
    let mut model_c = definition.delay_from_c;
    let mut steps = 0_usize;
    while model_c < definition.finish_c {
        if steps as f64 * step_h > definition.delay_model_limit_h {
            return None;
        }
        let lagged =
            heating.lagged_pit_c.get(from + steps).or(heating.lagged_pit_c.last()).copied()?;
        model_c += step_h * k_per_h * (lagged - model_c).max(0.0);
        steps += 1;
    }
    let finish = heating.first_index_at(definition.finish_c);
    let taken = finish.unwrap_or(heating.len()) - from;
    let minutes = (taken as f64 - steps as f64) * step_h * 60.0;
    Some(StallDelay { minutes, censored: finish.is_none() })
}
