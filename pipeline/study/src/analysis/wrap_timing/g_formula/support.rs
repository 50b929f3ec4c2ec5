//! What a run rests on: how much of it goes through states that no other fire has seen, and whether
//! the models foretell the pace of fires that they have not seen.

use super::cooks::{Pace, State};
use super::model::{Model, row};
use stats::StatsError;

/// A state was seen where so many cooks of other fires were in one like it.
const FEWEST_SEEN: usize = 3;
/// How far a state may be from one like it: core, °C; running dose, in logs; weight, in logs; gap, K;
/// time since the wrap, in logs of a third of an hour and more.
const LIKE: [f64; 5] = [4.0, 0.6, 0.3, 15.0, 0.7];
/// Parts of the fires that are left out in turn.
pub(super) const FOLDS: usize = 5;

/// What a state is like.
#[derive(Debug, Clone, Copy)]
pub(super) struct Like {
    level: Option<usize>,
    at: [f64; 5],
}

impl Like {
    pub(super) fn of(state: &State, gap_c: f64, log_weight: f64) -> Self {
        let since = state.wrap.map_or(0.0, |on| (1.0 + (state.minute - on.at_min) / 20.0).ln());
        Self {
            level: state.wrap.map(|on| on.level),
            at: [state.core_c, state.running().unwrap_or(0.0), log_weight, gap_c, since],
        }
    }

    fn is_like(&self, other: &Self) -> bool {
        self.level == other.level
            && self.at.iter().zip(&other.at).zip(LIKE).all(|((a, b), most)| (a - b).abs() <= most)
    }
}

/// All states that were seen, by degree from 55 °C.
#[derive(Debug)]
pub(super) struct Seen {
    /// Fire, cook and state.
    degrees: Vec<Vec<(usize, usize, Like)>>,
}

fn degree(core_c: f64) -> usize {
    (core_c - 55.0).clamp(0.0, 32.0) as usize
}

impl Seen {
    pub(super) fn of(pace: &Pace) -> Self {
        let mut degrees = vec![Vec::new(); 33];
        for (place, cook) in pace.cooks.iter().enumerate() {
            for step in cook.steps.iter().filter(|step| step.is_learnt) {
                let like = Like::of(&step.state, step.gap_c, cook.log_weight);
                degrees[degree(step.state.core_c)].push((cook.fire, place, like));
            }
        }
        Self { degrees }
    }

    /// Whether cooks enough of other fires were in such a state.
    pub(super) fn holds(&self, fire: usize, like: &Like) -> bool {
        let mut cooks = [usize::MAX; FEWEST_SEEN];
        let mut found = 0;
        let near = degree(like.at[0] - LIKE[0])..=degree(like.at[0] + LIKE[0]);
        for (other, cook, state) in self.degrees[near].iter().flatten() {
            if *other != fire && !cooks[..found].contains(cook) && like.is_like(state) {
                cooks[found] = *cook;
                found += 1;
                if found == FEWEST_SEEN {
                    return true;
                }
            }
        }
        false
    }
}

/// Weights of the fires without one part of them.
pub(super) fn without(pace: &Pace, fold: usize) -> Vec<f64> {
    (0..pace.fires).map(|fire| f64::from(u8::from(fire % FOLDS != fold))).collect()
}

/// How the errors one degree ahead, on fires left out, go with the cook's own running dose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tilt {
    pub(super) slope: f64,
    pub(super) std_error: f64,
    /// Steps.
    pub(super) steps: usize,
}

/// Fire, running dose, error and weight of a step.
type Point = (usize, f64, f64, f64);

/// The tilt of unwrapped or wrapped steps; `models` are fitted without each part of the fires.
pub(super) fn tilt(pace: &Pace, wrapped: bool, models: &[Model]) -> Option<Tilt> {
    let mut points: Vec<Point> = Vec::new();
    for cook in &pace.cooks {
        let model = &models[cook.fire % FOLDS];
        for step in &cook.steps {
            let usable = step.is_learnt && step.passed && step.state.core_c >= 60.0;
            if !usable || step.state.wrap.is_some() != wrapped {
                continue;
            }
            let Some(running) = step.state.running() else { continue };
            let x = row(cook, &step.state, step.gap_c);
            let error = step.y() - model.fit.predict(&x[..model.columns()]);
            points.push((cook.fire, running, error, step.weight));
        }
    }
    if points.len() < 30 {
        return None;
    }
    // Weighed as in the fit, which is right there first.
    let weight: f64 = points.iter().map(|p| p.3).sum();
    let mean =
        |of: &dyn Fn(&Point) -> f64| points.iter().map(|p| p.3 * of(p)).sum::<f64>() / weight;
    let (mx, my) = (mean(&|p| p.1), mean(&|p| p.2));
    let sxx = weight * mean(&|p| (p.1 - mx).powi(2));
    if sxx <= 1e-9 {
        return None;
    }
    let slope = weight * mean(&|p| (p.1 - mx) * (p.2 - my)) / sxx;
    // By fire: the errors of one hang together.
    let mut scores = vec![0.0; pace.fires];
    for (fire, x, y, weight) in &points {
        scores[*fire] += weight * (x - mx) * (y - my - slope * (x - mx));
    }
    let std_error = scores.iter().map(|score| score * score).sum::<f64>().sqrt() / sxx;
    Some(Tilt { slope, std_error, steps: points.len() })
}

/// A model for each part of the fires, fitted without it.
pub(super) fn held_out(pace: &Pace, wrapped: bool) -> Result<Vec<Model>, StatsError> {
    (0..FOLDS).map(|fold| Model::fit(pace, wrapped, &without(pace, fold))).collect()
}
