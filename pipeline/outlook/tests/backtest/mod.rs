//! Cooks of known truth, what the outlook says of them at many moments, and how far off it was.
#![allow(dead_code, unreachable_pub, missing_docs, reason = "each user takes a part of it")]

pub mod profiles;
pub mod score;

use cook::PhaseDefinition;
use outlook::Course;
use outlook::simulated::Recorded;
use simulate::TeamModel;

/// Courses of a team of `simulate`, with the true finish where it lies beyond the pull unknown.
pub fn simulated(seed: u64, fires: usize, change: impl Fn(&mut TeamModel)) -> Vec<Course> {
    let mut team = TeamModel::middling();
    team.fires = fires;
    change(&mut team);
    let definition = PhaseDefinition::default();
    let mut courses = Vec::new();
    for index in 0..fires {
        let fire = team.fire(seed, index).expect("a team that can be simulated");
        let truth = fire.run().expect("a fire that can be run");
        for cook in Recorded::of_fire(&fire, &truth, &format!("sim-{seed}")) {
            courses.push(cook.course(&definition).expect("a course"));
        }
    }
    courses
}

/// Courses of a profile team's fires.
pub fn profiled(team: &profiles::Team, fires: std::ops::Range<u64>) -> Vec<(Course, f64)> {
    let definition = PhaseDefinition::default();
    fires
        .flat_map(|fire| team.fire(fire, profiles::Decision::AsTheTeam))
        .map(|run| (run.recorded.course(&definition).expect("a course"), run.finish_min))
        .collect()
}
