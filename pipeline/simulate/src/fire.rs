//! One fire and all cooks on it, step by step.

mod hands;
mod piece;

use crate::GRID_STEP_S;
use crate::decision::CookPlan;
use crate::error::SimulateError;
use crate::pit::{Pit, PitState};
use crate::strategy::SetpointRule;
use crate::surface::Vapour;
use crate::truth::{CookMarks, FireTruth};
use piece::{Keep, Piece};
use std::sync::Arc;

/// Step of the heat in the meat and of every decision, s: a multiple of the grid's.
pub(crate) const MEAT_STEP_S: i64 = 30;
/// Cells from the middle of the meat to its surface.
pub(crate) const CELLS: usize = 16;
/// Grid steps in one of those.
const GRID_STEPS: usize = (MEAT_STEP_S / GRID_STEP_S) as usize;
/// Longest fire simulated, h.
const LONGEST_FIRE_H: i64 = 48;

/// Runs a fire from its lighting until its last cook is sliced.
///
/// `seed` decides the wander of the pit and the latent draws of each cook's habit; the rest
/// follows from the plans. The same seed under other strategies gives the counterfactual
/// cooks.
///
/// # Errors
/// [`SimulateError::NoCook`], [`SimulateError::OutOfRange`] for a setting,
/// [`SimulateError::NeverPulled`].
pub fn run_fire(pit: &Pit, plans: &[CookPlan], seed: u64) -> Result<FireTruth, SimulateError> {
    let mut fire = Fire::light(pit, plans, seed, Keep::Curves)?;
    while fire.pieces.iter().any(|piece| !piece.is_over(fire.now_s)) {
        fire.step()?;
    }
    let Fire { pieces, pit_c, setpoints, .. } = fire;
    let cooks = pieces
        .into_iter()
        .enumerate()
        .map(|(index, piece)| piece.truth(index, &pit_c, LONGEST_FIRE_H))
        .collect::<Result<Vec<_>, SimulateError>>()?;
    Ok(FireTruth { pit_c, setpoints, cooks })
}

/// Runs the same fire only until every cook has passed the finish or been pulled, and keeps
/// no curves: for many thousands of cooks. The marks are those of [`run_fire`].
///
/// # Errors
/// As [`run_fire`].
pub fn run_marks(
    pit: &Pit,
    plans: &[CookPlan],
    seed: u64,
) -> Result<Vec<CookMarks>, SimulateError> {
    let mut fire = Fire::light(pit, plans, seed, Keep::Marks)?;
    while fire.pieces.iter().any(|piece| !piece.is_marked()) {
        fire.step()?;
    }
    Ok(fire.pieces.into_iter().map(Piece::marks).collect())
}

struct Fire<'a> {
    pit: &'a Pit,
    state: PitState,
    vapour: Arc<Vapour>,
    pieces: Vec<Piece<'a>>,
    now_s: i64,
    lid_until_s: i64,
    pit_c: Vec<f64>,
    walls_c: Vec<f64>,
    setpoints: Vec<(i64, cook::Celsius)>,
}

impl<'a> Fire<'a> {
    fn light(
        pit: &'a Pit,
        plans: &'a [CookPlan],
        seed: u64,
        keep: Keep,
    ) -> Result<Self, SimulateError> {
        if plans.is_empty() {
            return Err(SimulateError::NoCook);
        }
        // One fire has one set-point: where a single cook needs it left alone, it is.
        let keeps_setpoint =
            plans.iter().any(|plan| plan.strategy.setpoint == SetpointRule::Unchanged);
        let state = PitState::new(pit, seed, keeps_setpoint)?;
        let mut pieces = Vec::with_capacity(plans.len());
        for (index, plan) in plans.iter().enumerate() {
            plan.check()?;
            pieces.push(Piece::new(plan, seed, index, keep));
        }
        Ok(Self {
            pit,
            vapour: Vapour::shared(state.pressure_pa()),
            state,
            pieces,
            now_s: 0,
            lid_until_s: i64::MIN,
            pit_c: Vec::with_capacity(8_000),
            walls_c: Vec::with_capacity(8_000),
            setpoints: Vec::new(),
        })
    }

    /// What is due now, then the pit until the next grid instant.
    fn step(&mut self) -> Result<(), SimulateError> {
        let now_s = self.now_s;
        if now_s > LONGEST_FIRE_H * 3_600
            && let Some(cook) = self.pieces.iter().position(|piece| !piece.is_pulled())
        {
            return Err(SimulateError::NeverPulled { cook, hours: LONGEST_FIRE_H });
        }
        self.pit_c.push(self.state.air_c());
        self.walls_c.push(self.state.walls_c());
        let mut tended = false;
        for piece in &mut self.pieces {
            if piece.is_due(now_s) {
                let around = |curve: &[f64]| mean_since(curve, GRID_STEPS);
                let in_pit =
                    self.state.surroundings(self.pit, around(&self.pit_c), around(&self.walls_c));
                let done = piece.step_to(now_s, &in_pit, &self.vapour);
                self.lid_until_s = self.lid_until_s.max(done.lid_until_s);
                if let Some(by) = done.asks_for {
                    let celsius = self.pit.setpoint.value() + by.value();
                    if let Some(raised) = self.state.ask(self.pit, now_s, celsius) {
                        piece.note_setpoint(now_s, raised);
                        self.setpoints.push((now_s, raised));
                    }
                }
            }
            tended |= !piece.is_pulled();
        }
        self.state.step(self.pit, now_s, GRID_STEP_S as f64, now_s < self.lid_until_s, tended);
        self.now_s += GRID_STEP_S;
        Ok(())
    }
}

/// Mean of a curve over its last steps, by the trapezoidal rule; from the start where it is
/// shorter.
fn mean_since(curve: &[f64], steps: usize) -> f64 {
    let last = curve.len() - 1;
    let steps = steps.min(last);
    if steps == 0 {
        return curve[last];
    }
    let part = &curve[last - steps..];
    (part.iter().sum::<f64>() - 0.5 * (part[0] + part[steps])) / steps as f64
}
