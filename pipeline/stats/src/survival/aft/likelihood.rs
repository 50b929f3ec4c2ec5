//! The log-likelihood of a location-scale family with censored outcomes, and its maximum.

use super::standard::Standard;
use crate::survival::censored_times::Knowledge;
use nalgebra::{DMatrix, DVector};

/// Width of an interval in units of the scale below which it counts as a point: the probability is
/// then density times width to 1e-11, and closer than differences of the distribution are.
const NARROW: f64 = 1e-5;
const MOST_ITERATIONS: usize = 200;
/// Information about one direction, a row, below which the likelihood counts as flat.
const FLAT: f64 = 1e-10;
/// Scale as a part of the spread about the starting line below which the fit counts as exact.
const EXACT: f64 = 1e-6;
/// Size of a full Newton step after which the next would drown in rounding.
const SMALL_STEP: f64 = 1e-10;
/// A step below this that is no smaller than the one before it is rounding.
const STALLED_STEP: f64 = 1e-7;

/// The log-likelihood in δ and θ, with z = θ·(outcome less the starting line) − row·δ the outcome
/// less its location in units of the scale. It is concave in them for every distribution whose
/// density is log-concave: Burridge (1981), "A note on maximum likelihood estimation for regression
/// models using grouped data", JRSS B 43, 41–45; for the normal Olsen (1978), Econometrica 46,
/// 1211–1215.
pub(super) struct Likelihood {
    pub(super) standard: Standard,
    /// Orthogonal columns of mean square one.
    pub(super) rows: DMatrix<f64>,
    /// Middle of what is known of each outcome, less the starting line, in units of the spread.
    pub(super) middle: Vec<f64>,
    /// Half the width of what is known, in units of the spread.
    pub(super) half_width: Vec<f64>,
    pub(super) knowledge: Vec<Knowledge>,
    pub(super) weights: Vec<f64>,
    /// θ where the scale is given and not estimated.
    pub(super) fixed: Option<f64>,
}

/// Derivatives of the contribution of a row by the middle c of z and by half the width h.
#[derive(Default)]
struct Contribution {
    value: f64,
    by_middle: f64,
    by_width: f64,
    second_middle: f64,
    second_both: f64,
    second_width: f64,
    /// Whether ln θ is to be added, as for a density.
    density: bool,
}

pub(super) struct Maximum {
    /// δ, then θ.
    pub(super) parameters: DVector<f64>,
    pub(super) value: f64,
    /// Of the free parameters.
    pub(super) information: DMatrix<f64>,
}

/// Why there is no maximum.
pub(super) enum Failure {
    /// θ grows without end.
    Exact,
    /// θ falls to zero.
    Wide,
    /// δ grows without end, in this direction.
    Flat(DVector<f64>),
}

impl Likelihood {
    fn terms(&self) -> usize {
        self.rows.ncols()
    }

    /// Number of parameters that are estimated.
    pub(super) fn free(&self) -> usize {
        self.terms() + usize::from(self.fixed.is_none())
    }

    fn contribution(&self, row: usize, parameters: &DVector<f64>) -> Contribution {
        let k = self.terms();
        let fit: f64 = (0..k).map(|j| self.rows[(row, j)] * parameters[j]).sum();
        let c = parameters[k] * self.middle[row] - fit;
        let h = parameters[k] * self.half_width[row];
        let standard = self.standard;
        let density = |width: f64| {
            let ln = standard.ln_density(c);
            Contribution {
                value: ln.value + width,
                by_middle: ln.first,
                second_middle: ln.second,
                density: true,
                ..Contribution::default()
            }
        };
        match self.knowledge[row] {
            Knowledge::Exact => density(0.0),
            Knowledge::Between if h < NARROW => density((2.0 * self.half_width[row]).ln()),
            Knowledge::Above => {
                let hazard = standard.hazard(c);
                Contribution {
                    value: standard.ln_survival(c),
                    by_middle: -hazard,
                    second_middle: -hazard * (standard.ln_density(c).first + hazard),
                    ..Contribution::default()
                }
            }
            Knowledge::Below => {
                let ratio = standard.reverse_hazard(c);
                Contribution {
                    value: standard.ln_distribution(c),
                    by_middle: ratio,
                    second_middle: ratio * (standard.ln_density(c).first - ratio),
                    ..Contribution::default()
                }
            }
            Knowledge::Between => {
                let value = standard.ln_interval(c - h, c + h);
                let (low, high) = (standard.ln_density(c - h), standard.ln_density(c + h));
                let (at_low, at_high) = ((low.value - value).exp(), (high.value - value).exp());
                let (slope_low, slope_high) = (at_low * low.first, at_high * high.first);
                // By middle and half width, not by the two ends: those nearly cancel where an
                // interval is narrow.
                let (by_middle, by_width) = (at_high - at_low, at_high + at_low);
                Contribution {
                    value,
                    by_middle,
                    by_width,
                    second_middle: slope_high - slope_low - by_middle * by_middle,
                    second_both: slope_high + slope_low - by_middle * by_width,
                    second_width: slope_high - slope_low - by_width * by_width,
                    density: false,
                }
            }
        }
    }

    fn has_density(&self) -> bool {
        self.knowledge.contains(&Knowledge::Exact)
    }

    pub(super) fn value(&self, parameters: &DVector<f64>) -> f64 {
        let theta = parameters[self.terms()];
        if theta <= 0.0 {
            return f64::NEG_INFINITY;
        }
        let ln_theta = theta.ln();
        let mut sum = 0.0;
        for (row, &weight) in self.weights.iter().enumerate().filter(|(_, weight)| **weight > 0.0) {
            let own = self.contribution(row, parameters);
            sum += weight * (own.value + if own.density { ln_theta } else { 0.0 });
        }
        if sum.is_nan() { f64::NEG_INFINITY } else { sum }
    }

    /// Derivative of the middle of z by the parameters.
    fn gradient_of_middle(&self, row: usize) -> DVector<f64> {
        let k = self.terms();
        let at = |j: usize| if j < k { -self.rows[(row, j)] } else { self.middle[row] };
        DVector::from_fn(self.free(), |j, _| at(j))
    }

    /// Score of a row, with its weight.
    pub(super) fn score(&self, row: usize, parameters: &DVector<f64>) -> DVector<f64> {
        let own = self.contribution(row, parameters);
        let mut score = self.gradient_of_middle(row) * own.by_middle;
        if let Some(by_theta) = score.get_mut(self.terms()) {
            *by_theta += own.by_width * self.half_width[row];
            if own.density {
                *by_theta += 1.0 / parameters[self.terms()];
            }
        }
        score * self.weights[row]
    }

    /// Score and observed information.
    pub(super) fn derivatives(&self, parameters: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let (k, free) = (self.terms(), self.free());
        let theta = parameters[k];
        let mut score = DVector::zeros(free);
        let mut information = DMatrix::zeros(free, free);
        for (row, &weight) in self.weights.iter().enumerate().filter(|(_, weight)| **weight > 0.0) {
            score += self.score(row, parameters);
            let own = self.contribution(row, parameters);
            let gradient = self.gradient_of_middle(row);
            information.ger(-weight * own.second_middle, &gradient, &gradient, 1.0);
            if free > k {
                let half = self.half_width[row];
                for j in 0..free {
                    let cross = -weight * own.second_both * half * gradient[j];
                    information[(j, k)] += cross;
                    information[(k, j)] += cross;
                }
                information[(k, k)] -= weight * own.second_width * half * half;
                if own.density {
                    information[(k, k)] += weight / (theta * theta);
                }
            }
        }
        (score, information)
    }

    /// Newton's method with step halving.
    pub(super) fn maximum(&self) -> Result<Maximum, Failure> {
        let (k, free) = (self.terms(), self.free());
        let n: f64 = self.weights.iter().sum();
        let mut parameters = DVector::zeros(k + 1);
        parameters[k] = self.fixed.unwrap_or(1.0);
        let mut value = self.value(&parameters);
        // A far starting line may have probability zero in doubles; a wider scale has not.
        while value == f64::NEG_INFINITY && self.fixed.is_none() && parameters[k] > 1e-6 {
            parameters[k] *= 0.5;
            value = self.value(&parameters);
        }
        let mut last_step = DVector::zeros(free);
        let mut last_size = f64::INFINITY;
        for _ in 0..MOST_ITERATIONS {
            let theta: f64 = parameters[k];
            // Everything that is known has probability one: the scale runs to zero.
            let certain = self.fixed.is_none() && value > -1e-6 * n && !self.has_density();
            let lost = |direction: DVector<f64>| {
                if certain || self.fixed.is_none() && theta > 1e-2 / EXACT {
                    Failure::Exact
                } else if self.fixed.is_none() && theta < EXACT {
                    Failure::Wide
                } else {
                    Failure::Flat(direction)
                }
            };
            if self.fixed.is_none() && !(EXACT * EXACT..=1.0 / EXACT).contains(&theta) {
                return Err(lost(last_step));
            }
            let (score, information) = self.derivatives(&parameters);
            let Some(factor) = information.cholesky() else {
                return Err(lost(last_step));
            };
            if (0..k).any(|j| factor.l_dirty()[(j, j)].powi(2) < FLAT * n) {
                return Err(lost(last_step));
            }
            let step = factor.solve(&score);
            let size = parameters.amax().max(1.0);
            let slope = score.dot(&step);
            let mut part = 1.0;
            loop {
                let mut trial = parameters.clone();
                trial.rows_mut(0, free).axpy(part, &step, 1.0);
                let trial_value = self.value(&trial);
                // Close to the maximum the gain drowns in rounding, and the full step is right.
                if trial_value >= value + 1e-4 * part * slope - 1e-12 * value.abs() {
                    parameters = trial;
                    value = trial_value;
                    break;
                }
                part *= 0.5;
                if part < 1e-12 {
                    return Err(lost(step));
                }
            }
            let moved = step.amax() / size;
            let stalled = moved <= STALLED_STEP && moved >= last_size;
            last_size = moved;
            if part == 1.0 && (moved <= SMALL_STEP || stalled) {
                let (_, information) = self.derivatives(&parameters);
                return Ok(Maximum { value: self.value(&parameters), parameters, information });
            }
            last_step = step;
        }
        Err(Failure::Flat(last_step))
    }
}
