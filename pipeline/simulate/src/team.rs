//! A team that cooks seasons: what goes on, on which pit, in what weather, and by what habits.
//!
//! Everything of a fire is drawn from a stream of its own, so a fire is known by the season's
//! seed and its place in the season, and a season by its seed. Habits are parameters, not
//! draws: changing one moves neither meat nor weather.

mod draw;
mod model;

pub use model::{Climate, MeatSpread, PitModel, Randomised, TeamModel, WeightModel};

use crate::decision::CookPlan;
use crate::error::SimulateError;
use crate::fire::{run_fire, run_marks};
use crate::meat::Cut;
use crate::pit::Pit;
use crate::strategy::Strategy;
use crate::truth::{CookMarks, FireTruth};

/// One fire that a team lights, with all that is known before it is run.
#[derive(Debug, Clone, PartialEq)]
pub struct TeamFire {
    /// Its place in the season, from 0.
    pub index: usize,
    /// Day of the year on which the meat goes on, 1–365.
    pub day: u16,
    /// Which of the team's pits.
    pub pit_name: String,
    /// A contest; else practice.
    pub contest: bool,
    /// Whether a water pan is in the pit.
    pub water_pan: bool,
    /// The pit as it is run, with the weather.
    pub pit: Pit,
    /// A randomised block: its number, counted over the season's fires.
    pub block: Option<usize>,
    /// The cooks.
    pub cooks: Vec<TeamCook>,
    /// Seed of the wander and of the cooks' latent draws.
    pub seed: u64,
}

/// One cook of a team's fire.
#[derive(Debug, Clone, PartialEq)]
pub struct TeamCook {
    /// The cut.
    pub cut: Cut,
    /// Thickness as a ruler has it, mm: more than the effective one of `plan.meat`, with the
    /// ruler's error.
    pub thickness_mm: f64,
    /// Which arm of [`Randomised::arms`] the toss gave it; its plan follows that strategy.
    pub arm: Option<usize>,
    /// What is done with it.
    pub plan: CookPlan,
}

impl TeamFire {
    /// Runs it as the team does.
    ///
    /// # Errors
    /// As [`run_fire`].
    pub fn run(&self) -> Result<FireTruth, SimulateError> {
        run_fire(&self.pit, &self.plans(), self.seed)
    }

    /// Runs it with every cook under a strategy.
    ///
    /// # Errors
    /// As [`run_fire`].
    pub fn under(&self, strategy: &Strategy) -> Result<FireTruth, SimulateError> {
        run_fire(&self.pit, &self.plans_under(strategy), self.seed)
    }

    /// Runs it with one cook under a strategy, the others as the team does.
    ///
    /// # Errors
    /// As [`run_fire`].
    pub fn cook_under(&self, cook: usize, strategy: &Strategy) -> Result<FireTruth, SimulateError> {
        let mut plans = self.plans();
        if let Some(plan) = plans.get_mut(cook) {
            plan.strategy = strategy.clone();
        }
        run_fire(&self.pit, &plans, self.seed)
    }

    /// The marks of [`TeamFire::run`], without curves.
    ///
    /// # Errors
    /// As [`run_fire`].
    pub fn marks(&self) -> Result<Vec<CookMarks>, SimulateError> {
        run_marks(&self.pit, &self.plans(), self.seed)
    }

    /// The marks of [`TeamFire::under`], without curves.
    ///
    /// # Errors
    /// As [`run_fire`].
    pub fn marks_under(&self, strategy: &Strategy) -> Result<Vec<CookMarks>, SimulateError> {
        run_marks(&self.pit, &self.plans_under(strategy), self.seed)
    }

    fn plans(&self) -> Vec<CookPlan> {
        self.cooks.iter().map(|cook| cook.plan.clone()).collect()
    }

    fn plans_under(&self, strategy: &Strategy) -> Vec<CookPlan> {
        self.cooks.iter().map(|cook| cook.plan.clone().under(strategy)).collect()
    }
}

#[cfg(test)]
mod tests;
