//! What the next dose hangs on: one model for degrees that are not wrapped, one for those that are.

use super::cooks::{On, Pace, Paced, State, Step};
use stats::{GroupedFit, GroupedRidge, GroupedRow, StatsError};

/// Knots of the core's broken line, °C: closest where stalls are.
const KNOTS_C: [f64; 9] = [55.0, 60.0, 64.0, 67.0, 70.0, 73.0, 77.0, 82.0, 88.0];
/// Columns of both models.
const COMMON: usize = 21;
/// Columns of the wrapped model that no method has for itself.
const SINCE: usize = COMMON + 5;
/// Each method's level, and its own line in core and in time since.
const OF_METHOD: usize = 3;
/// Penalties that are tried: of slopes of columns whose spread is about 1.
pub(super) const PENALTIES: [f64; 5] = [0.5, 2.0, 8.0, 32.0, 128.0];
/// Residuals are taken from degrees within so many °C.
const NEAR_C: f64 = 4.0;
/// Fewest residuals of which a distribution is made.
const FEWEST_RESIDUALS: usize = 40;
/// Points of a distribution of residuals.
const POINTS: usize = 33;

/// Most columns of either model.
pub(super) const MOST: usize = SINCE + OF_METHOD * 8;

/// A row of either model.
pub(super) type Row = [f64; MOST];

/// Columns of the wrapped model.
pub(super) fn wrapped_columns(methods: usize) -> usize {
    (SINCE + OF_METHOD * methods).min(MOST)
}

/// The row of a state.
pub(super) fn row(cook: &Paced, state: &State, gap_c: f64) -> Row {
    let mut x = [0.0; MOST];
    x[0] = 1.0;
    let core_c = state.core_c.clamp(KNOTS_C[0], KNOTS_C[8]);
    let above = KNOTS_C[1..8].partition_point(|knot| *knot <= core_c);
    let (from, to) = (KNOTS_C[above], KNOTS_C[above + 1]);
    let part = (core_c - from) / (to - from);
    x[1 + above] = 2.0 * (1.0 - part);
    x[2 + above] = 2.0 * part;
    let high = (core_c - 70.0) / 8.0;
    let running = state.running();
    let last = state.wrap.map_or(state.bare.last(), |on| on.since.last());
    x[10] = last.unwrap_or(0.0);
    x[11] = running.unwrap_or(0.0);
    x[12] = x[10] * high;
    x[13] = x[11] * high;
    let hours = state.at_60_min.map_or(0.0, |since| (state.minute - since).max(0.0) / 60.0);
    x[14] = (1.0 + hours).ln() * 2.0 - 1.0;
    x[15] = ((state.dose_since_60 + 1.0) / ((state.core_c - 60.0).max(0.0) + 1.0)).ln();
    x[16] = 4.0 * (cook.log_weight - 1.7);
    x[17] = 2.0 * (gap_c.max(3.0) / 45.0).ln();
    x[18] = 4.0 * (cook.k_ref_per_h / 0.2).ln();
    if let Some(bark) = state.bark {
        x[19] = 1.0;
        x[20] = bark;
    }
    if let Some(on) = &state.wrap {
        let since = since(on, state.minute);
        x[COMMON] = since;
        x[COMMON + 1] = on.before;
        x[COMMON + 2] = (on.at_core_c - 70.0) / 4.0;
        x[COMMON + 3] = f64::from(u8::from(running.is_none()));
        x[COMMON + 4] = on.there;
        let own = SINCE + OF_METHOD * on.level;
        if own + OF_METHOD <= MOST {
            x[own] = 2.0;
            x[own + 1] = (core_c - 75.0) / 5.0;
            x[own + 2] = since;
        }
    }
    x
}

fn since(on: &On, minute: f64) -> f64 {
    (1.0 + (minute - on.at_min).max(0.0) / 20.0).ln() - 1.0
}

/// How doses lie about a model: parts of a cook and of a step, and the shape of the latter.
#[derive(Debug, Clone)]
pub(super) struct Scatter {
    /// Standard deviation between cooks.
    pub(super) between: f64,
    /// Standard deviation within.
    pub(super) within: f64,
    /// Sorted residuals of steps about each degree from 55 °C, in units of `within`.
    shapes: Vec<[f64; POINTS]>,
}

/// One model with its rows.
#[derive(Debug)]
pub(super) struct Model {
    ridge: GroupedRidge,
    pub(super) fit: GroupedFit,
    pub(super) scatter: Scatter,
    columns: usize,
}

/// The steps that a model learns from: cook, step and row.
fn learnt(pace: &Pace, wrapped: bool) -> Vec<(usize, usize, Row)> {
    let mut rows = Vec::new();
    for (place, cook) in pace.cooks.iter().enumerate() {
        for (at, step) in cook.steps.iter().enumerate() {
            if step.is_learnt && step.state.wrap.is_some() == wrapped {
                rows.push((place, at, row(cook, &step.state, step.gap_c)));
            }
        }
    }
    rows
}

impl Model {
    /// Fits the model to the cooks of the fires of weight above zero.
    pub(super) fn fit(pace: &Pace, wrapped: bool, weights: &[f64]) -> Result<Self, StatsError> {
        let columns = if wrapped { wrapped_columns(pace.methods.len()) } else { COMMON };
        let rows = learnt(pace, wrapped);
        let of = |(place, at, x): &(usize, usize, Row)| -> (usize, &Step, Row) {
            (pace.cooks[*place].fire, &pace.cooks[*place].steps[*at], *x)
        };
        let given: Vec<(usize, &Step, Row)> = rows.iter().map(of).collect();
        // Of mean 1, since the penalty is set against them.
        let middle =
            given.iter().map(|(_, step, _)| step.weight).sum::<f64>() / given.len().max(1) as f64;
        let ridge = GroupedRidge::new(
            pace.fires,
            columns,
            given.iter().map(|(fire, step, x)| GroupedRow {
                group: *fire,
                x: &x[..columns],
                y: step.y(),
                censored: !step.passed,
                weight: step.weight / middle * if step.passed { step.part } else { 1.0 },
            }),
        )?;
        let fit = ridge.fit(weights, &PENALTIES, None)?;
        let known: Vec<Residual> = rows
            .iter()
            .filter(|(place, at, _)| {
                let cook = &pace.cooks[*place];
                let step = &cook.steps[*at];
                weights[cook.fire] > 0.0 && (!step.passed || step.part > 0.99)
            })
            .map(|(place, at, x)| {
                let step = &pace.cooks[*place].steps[*at];
                Residual {
                    cook: *place,
                    core_c: step.state.core_c,
                    value: step.y() - fit.predict(&x[..columns]),
                    weight: step.weight / middle,
                    passed: step.passed,
                }
            })
            .collect();
        let scatter = Scatter::of(&known, fit.scatter);
        Ok(Self { ridge, fit, scatter, columns })
    }

    /// Its coefficients under other weights of the fires.
    pub(super) fn again(&self, weights: &[f64]) -> Result<Vec<f64>, StatsError> {
        Ok(self.ridge.fit(weights, &PENALTIES, Some(&self.fit))?.coefficients)
    }

    pub(super) fn columns(&self) -> usize {
        self.columns
    }
}

/// How far a step was from its model.
#[derive(Debug, Clone, Copy)]
struct Residual {
    cook: usize,
    core_c: f64,
    value: f64,
    /// As in the fit: where weights go with the state, only so weighed residuals have a mean of nothing.
    weight: f64,
    /// Otherwise the value is a lower bound.
    passed: bool,
}

/// Weighed mean, and sum of weights.
fn mean_of(residuals: &[&Residual]) -> (f64, f64) {
    let (sum, weight) = residuals
        .iter()
        .fold((0.0, 0.0), |(sum, weight), r| (sum + r.weight * r.value, weight + r.weight));
    (if weight > 0.0 { sum / weight } else { 0.0 }, weight)
}

impl Scatter {
    fn of(known: &[Residual], all: f64) -> Self {
        let mut by_cook = std::collections::BTreeMap::<usize, Vec<&Residual>>::new();
        for residual in known.iter().filter(|residual| residual.passed) {
            by_cook.entry(residual.cook).or_default().push(residual);
        }
        // One-way analysis of variance: between cooks and within.
        let (mut within, mut freedom) = (0.0, 0.0);
        let (mut total, mut squares, mut between_squares) = (0.0, 0.0, 0.0);
        for residuals in by_cook.values() {
            let (middle, weight) = mean_of(residuals);
            within += residuals.iter().map(|r| r.weight * (r.value - middle).powi(2)).sum::<f64>();
            freedom += weight * (1.0 - 1.0 / residuals.len() as f64);
            total += weight;
            squares += weight * weight;
            between_squares += weight * middle * middle;
        }
        let within = if freedom > 0.0 { within / freedom } else { all * all };
        let others = (by_cook.len() as f64 - 1.0).max(1.0);
        let size = (total - squares / total.max(1.0)) / others;
        let between = ((between_squares / others - within) / size.max(1.0)).max(0.0).sqrt();
        let within = within.sqrt().max(1e-6);
        let of_cook: std::collections::BTreeMap<usize, f64> = by_cook
            .iter()
            .map(|(cook, residuals)| {
                let (middle, weight) = mean_of(residuals);
                let own = between * between;
                (*cook, middle * own / (own + within * within / weight.max(1e-6)).max(1e-12))
            })
            .collect();
        let shapes = (55..88)
            .map(|degree| {
                let centre = f64::from(degree) + 0.5;
                let mut reach = NEAR_C;
                let mut near: Vec<Residual>;
                loop {
                    near = known
                        .iter()
                        .filter(|residual| (residual.core_c - centre).abs() <= reach)
                        .map(|r| {
                            let own = of_cook.get(&r.cook).copied().unwrap_or(0.0);
                            Residual { value: (r.value - own) / within, ..*r }
                        })
                        .collect();
                    if near.len() >= FEWEST_RESIDUALS || reach > 40.0 {
                        break;
                    }
                    reach += 2.0;
                }
                shape(product_limit(near))
            })
            .collect();
        Self { between, within, shapes }
    }

    fn shape_at(&self, core_c: f64) -> &[f64; POINTS] {
        let place = ((core_c - 55.0).max(0.0) as usize).min(self.shapes.len() - 1);
        &self.shapes[place]
    }

    /// The residual of a step at this rank among all, 0 to 1.
    pub(super) fn residual(&self, core_c: f64, rank: f64) -> f64 {
        let shape = self.shape_at(core_c);
        let place = rank.clamp(0.0, 1.0) * (POINTS - 1) as f64;
        let below = (place as usize).min(POINTS - 2);
        self.within * (shape[below] + (place - below as f64) * (shape[below + 1] - shape[below]))
    }

    /// The rank of a residual.
    pub(super) fn rank(&self, core_c: f64, residual: f64) -> f64 {
        let (shape, value) = (self.shape_at(core_c), residual / self.within);
        let above = shape.partition_point(|point| *point <= value);
        if above == 0 {
            return 0.0;
        }
        if above >= POINTS {
            return 1.0;
        }
        let (low, high) = (shape[above - 1], shape[above]);
        let part = if high > low { (value - low) / (high - low) } else { 0.0 };
        (above as f64 - 1.0 + part) / (POINTS - 1) as f64
    }
}

/// Residuals with the weights that the product-limit estimator gives them. The largest is taken as seen (Efron
/// 1967, Proc. 5th Berkeley Symp. 4, 831–853). A degree in which a cook was wrapped is one that went
/// slowly: without these the distribution would lack its slow end.
fn product_limit(mut near: Vec<Residual>) -> Vec<(f64, f64)> {
    near.sort_unstable_by(|a, b| a.value.total_cmp(&b.value).then(b.passed.cmp(&a.passed)));
    if let Some(largest) = near.last_mut() {
        largest.passed = true;
    }
    let mut at_risk: f64 = near.iter().map(|residual| residual.weight).sum();
    let mut left = 1.0;
    let mut out = Vec::with_capacity(near.len());
    for residual in &near {
        if residual.passed {
            let mass = left * (residual.weight / at_risk.max(1e-12)).min(1.0);
            out.push((residual.value, mass));
            left -= mass;
        }
        at_risk -= residual.weight;
    }
    out
}

/// Points of a distribution of values with weights at even ranks: means of what lies within half a rank, so
/// that one odd step does not stand for a thirtieth of them.
fn shape(mut values: Vec<(f64, f64)>) -> [f64; POINTS] {
    let mut out = [0.0; POINTS];
    let total: f64 = values.iter().map(|(_, weight)| weight).sum();
    if total <= 0.0 {
        return out;
    }
    values.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let ranks = (POINTS - 1) as f64;
    let mut masses = [0.0; POINTS];
    let mut began = 0.0;
    for (value, weight) in &values {
        let ended = began + weight / total;
        let mut from = began;
        while from < ended - 1e-12 {
            let place = ((from * ranks + 0.5 + 1e-9) as usize).min(POINTS - 1);
            let until =
                if place + 1 < POINTS { ((place as f64 + 0.5) / ranks).min(ended) } else { ended };
            out[place] += value * (until - from);
            masses[place] += until - from;
            from = until.max(from + 1e-9);
        }
        began = ended;
    }
    for (point, mass) in out.iter_mut().zip(masses) {
        *point /= f64::max(mass, 1e-12);
    }
    // The mean of the residuals is to be that of the points between which ranks fall.
    let mean = (out.iter().sum::<f64>() - 0.5 * (out[0] + out[POINTS - 1])) / ranks;
    let aim = values.iter().map(|(value, weight)| value * weight).sum::<f64>() / total;
    for point in &mut out {
        *point += aim - mean;
    }
    out
}
