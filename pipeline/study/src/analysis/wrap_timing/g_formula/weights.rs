//! What a step weighs where the models of doses are fitted. Weights hang on what was known at the step's
//! beginning alone, so that they move no model that is right; they say where one that is not right is to be
//! right first.
//!
//! Cooks that stall long are wrapped, so that the unwrapped degrees late in a cook are those of quick ones, while
//! strategies ask what slow ones would do there. Each unwrapped step therefore stands for the cooks like
//! it that were wrapped before (inverse probability of censoring: Robins & Finkelstein 2000, Biometrics
//! 56, 779–788; in a regression of outcomes: Bang & Robins 2005, Biometrics 61, 962–973); and since answers
//! are minutes and models are of logarithms, the square of its error counts by the square of its foretold dose.
//! Wrapped degrees lack no slow cooks, and weigh the same.

use super::cooks::{Pace, State};
use super::habit::Habit;
use super::model::row;

/// No step stands for more than so many. Common practice, no source.
const MOST: f64 = 10.0;
/// Doses beyond these, in logs, count as they do.
const DOSES: (f64, f64) = (-0.5, 2.5);

/// Weighs every step of all cooks, by what the habit says of being unwrapped there.
pub(super) fn weigh(pace: &mut Pace, habit: &Habit) {
    for cook in &mut pace.cooks {
        let mut wrapped_before = 0.0;
        let mut weights = Vec::with_capacity(cook.steps.len());
        for step in &cook.steps {
            if step.state.wrap.is_some() {
                weights.push(1.0);
                continue;
            }
            weights.push(foretold(&step.state) * f64::exp(wrapped_before).min(MOST));
            let x = row(cook, &step.state, step.gap_c);
            wrapped_before += habit.rate_per_min(&step.state, &x) * step.minutes;
        }
        for (step, weight) in cook.steps.iter_mut().zip(weights) {
            step.weight = weight;
        }
    }
}

/// The square of the dose that the last ones foretell.
fn foretold(state: &State) -> f64 {
    let bounded = |y: Option<f64>| y.unwrap_or(0.0).clamp(DOSES.0, DOSES.1);
    (bounded(state.bare.last()) + bounded(state.bare.mean())).exp()
}
