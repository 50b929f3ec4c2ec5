//! The natural course: cooks of fires that the models have not seen, run from 60 °C as the team does,
//! beside what they did. It measures how well the pace is foretold under the team's own habit, and
//! nothing of what would come of another.

use super::cooks::{Pace, Place};
use super::habit::Habit;
use super::model::Model;
use super::run::{self, Coefficients, Draws, From, Rules, Then};
use super::shown::held;
use super::support::{FOLDS, without};
use crate::result::g_formula::{Held, NATURAL_FROM_C};

/// Runs of each cook.
const RUNS: usize = 8;

pub(super) fn course(
    pace: &Pace,
    models: &[Vec<Model>; 2],
    horizon_min: f64,
    seed: u64,
) -> Vec<Held> {
    let (mut observed, mut simulated) = (Vec::new(), Vec::new());
    #[allow(clippy::needless_range_loop, reason = "a fold indexes more than the models")]
    for fold in 0..FOLDS {
        let weights = without(pace, fold);
        let habit = Habit::fit(pace, &weights);
        let own = [0, 1].map(|which: usize| {
            let model = &models[which][fold];
            Coefficients::of(model, &model.fit.coefficients)
        });
        let rules = Rules {
            bare: &own[0],
            wrapped: Some(&own[1]),
            habit: &habit,
            bark_per_min: pace.bark_per_min,
            horizon_min,
        };
        for (place, cook) in pace.cooks.iter().enumerate() {
            if cook.fire % FOLDS != fold || !cook.finished {
                continue;
            }
            let Some(minute) = cook.first_at(NATURAL_FROM_C) else { continue };
            let Place { state, spent, .. } = cook.at(minute);
            let from = From { cook, state, now_min: minute, spent };
            for draws in Draws::of(place, RUNS, seed) {
                let ran = run::run(from, Then::Habit, &rules, &draws, &mut |_| {});
                simulated.push((ran.wrapped, ran.finish_min));
            }
            observed.push((cook.wrap.is_some(), cook.end_min.min(horizon_min)));
        }
    }
    let of = |which: Option<bool>, all: &[(bool, f64)]| -> Vec<f64> {
        let inside = all.iter().filter(|(wrapped, _)| which.is_none_or(|which| which == *wrapped));
        inside.map(|(_, minutes)| *minutes).collect()
    };
    [(None, "all"), (Some(true), "wrapped"), (Some(false), "not wrapped")]
        .into_iter()
        .map(|(which, group)| held(group, &of(which, &observed), &of(which, &simulated)))
        .filter(|row| row.cooks > 1 && row.simulated > 1)
        .collect()
}
