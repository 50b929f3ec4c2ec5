//! Cooks of known truth, what the outlook says of them at many moments, and how far off it was.
#![allow(dead_code, unreachable_pub, missing_docs, reason = "each user takes a part of it")]

pub mod profiles;
pub mod score;

use cook::PhaseDefinition;
use outlook::Course;

/// Courses of a profile team's fires.
pub fn profiled(team: &profiles::Team, fires: std::ops::Range<u64>) -> Vec<(Course, f64)> {
    let definition = PhaseDefinition::default();
    fires
        .flat_map(|fire| team.fire(fire, profiles::Decision::AsTheTeam))
        .map(|run| (run.recorded.course(&definition).expect("a course"), run.finish_min))
        .collect()
}
