//! How the bundled past is simulated: a fixed set that covers more than any one team cooks.

use crate::course::Course;
use crate::error::OutlookError;
use crate::simulated::Recorded;
use cook::{Celsius, PhaseDefinition, WrapMethod};
use simulate::{SimulateError, TeamModel};
use thiserror::Error;

/// Seed of the bundled set; no test uses it.
const SEED: u64 = 4_711;
/// Fires of each kind of team.
const FIRES: usize = 34;

/// Why the bundled set could not be made.
#[derive(Debug, Error)]
pub enum BundleError {
    /// A fire could not be simulated.
    #[error(transparent)]
    Simulate(#[from] SimulateError),
    /// A simulated cook could not be followed.
    #[error(transparent)]
    Follow(#[from] OutlookError),
    /// The file could not be compressed.
    #[error(transparent)]
    Write(std::io::Error),
}

/// Simulates the bundled past: teams that wrap in foil, in paper or either, early or late, or seldom at
/// all, on pieces that differ more than one team's do.
///
/// # Errors
/// None that the fixed settings could lead to.
pub fn simulate_bundle() -> Result<Vec<Course>, BundleError> {
    let definition = PhaseDefinition::default();
    let mut courses = Vec::new();
    for (kind, team) in teams().iter().enumerate() {
        for index in 0..team.fires {
            let fire = team.fire(SEED + kind as u64, index)?;
            let truth = fire.run()?;
            for cook in Recorded::of_fire(&fire, &truth, &format!("bundled-{kind}")) {
                courses.push(cook.course(&definition)?);
            }
        }
    }
    Ok(courses)
}

fn teams() -> Vec<TeamModel> {
    // Share of foil (the rest is paper), core about which they wrap, °C, and how readily, 1/h.
    let kinds = [(1.0, 70.0, 1.5), (0.0, 72.0, 1.5), (0.5, 67.0, 2.5), (0.5, 76.0, 0.15)];
    kinds
        .into_iter()
        .map(|(foil, around, rate)| {
            let mut team = TeamModel::middling();
            team.fires = FIRES;
            team.meat.moisture = 0.22;
            team.meat.wetness = 0.15;
            team.meat.thickness = 0.09;
            team.contest_share = 0.0;
            team.practice_pull_min = 1_800.0;
            for (pit, _) in &mut team.pits {
                pit.convective.1 = 0.08;
            }
            if let Some(wrap) = &mut team.habit.wrap {
                wrap.methods = vec![(WrapMethod::Foil, foil), (WrapMethod::Paper, 1.0 - foil)];
                wrap.around_core = Celsius(around);
                wrap.rate_per_h = rate;
            }
            team
        })
        .collect()
}
