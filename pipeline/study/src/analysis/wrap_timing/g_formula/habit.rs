//! How readily a team wraps, degree by degree: a rate that goes with what the model of the dose knows.

use super::cooks::{Pace, State};
use super::model::{Row, row};
use stats::{Exposed, RateRidge};

/// Columns of [`Row`] that the rate goes with: the core, the last and the running dose, the hours,
/// the dose since 60 °C, the weight, whether the bark was noted and what it was like.
const OF_ROW: [usize; 7] = [10, 11, 14, 15, 16, 19, 20];
const COLUMNS: usize = 3 + OF_ROW.len();
/// Penalty of every slope, in wraps.
const PENALTY: f64 = 2.0;
/// Nobody wraps within seconds.
const FASTEST_PER_MIN: f64 = 1.0;

/// The rate of wrapping.
#[derive(Debug, Clone)]
pub(super) struct Habit {
    /// The lowest core at which any was wrapped, °C.
    from_core_c: f64,
    /// None where no cook had a degree in which it could have been wrapped.
    rate: Option<RateRidge>,
    /// Place of the method that is used most.
    pub(super) usual: Option<usize>,
}

fn columns(state: &State, x: &Row) -> Vec<f64> {
    let high = (state.core_c - 70.0) / 5.0;
    let mut out = vec![0.0; COLUMNS];
    out[0] = 1.0;
    out[1] = high;
    out[2] = high * high;
    for (place, column) in OF_ROW.iter().enumerate() {
        out[3 + place] = x[*column];
    }
    out
}

impl Habit {
    /// Of the wraps over the minutes of unwrapped steps, by fires of weight above zero.
    pub(super) fn fit(pace: &Pace, weights: &[f64]) -> Self {
        let wrapped = pace.cooks.iter().filter(|cook| weights[cook.fire] > 0.0);
        let mut used = vec![0.0; pace.methods.len()];
        let mut from_core_c = f64::INFINITY;
        for cook in wrapped {
            let Some((_, level)) = cook.wrap else { continue };
            used[level] += weights[cook.fire];
            let first = cook.steps.iter().find(|step| step.state.wrap.is_some());
            from_core_c = from_core_c.min(first.map_or(88.0, |step| step.state.core_c));
        }
        let usual = (0..used.len())
            .filter(|&level| used[level] > 0.0)
            .max_by(|&a, &b| used[a].total_cmp(&used[b]));
        let mut rows: Vec<Exposed> = Vec::new();
        for cook in pace.cooks.iter().filter(|cook| weights[cook.fire] > 0.0) {
            for (place, step) in cook.steps.iter().enumerate() {
                if step.state.wrap.is_some() {
                    break;
                }
                let ends_c = step.state.core_c + step.part;
                // A wrap at the very beginning of a degree ends the one before.
                if ends_c < from_core_c - 1e-9 {
                    continue;
                }
                let next = cook.steps.get(place + 1);
                let wraps = next.is_some_and(|next| next.state.wrap.is_some());
                let x = row(cook, &step.state, step.gap_c);
                rows.push(Exposed {
                    x: columns(&step.state, &x),
                    time: step.minutes.max(0.1),
                    events: f64::from(u8::from(wraps)),
                    weight: weights[cook.fire],
                });
            }
        }
        Self { from_core_c, rate: RateRidge::fit(&rows, PENALTY).ok(), usual }
    }

    /// The rate a minute at a state.
    pub(super) fn rate_per_min(&self, state: &State, x: &Row) -> f64 {
        if state.core_c + 1.0 < self.from_core_c - 1e-9 {
            return 0.0;
        }
        self.rate.as_ref().map_or(0.0, |rate| rate.at(&columns(state, x)).min(FASTEST_PER_MIN))
    }
}
