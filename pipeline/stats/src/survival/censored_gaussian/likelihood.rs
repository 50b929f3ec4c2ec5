//! The log-likelihood of normal outcomes known exactly or by bounds, and its maximum.

use crate::climb::{Climb, Stepped};
use crate::survival::censored_times::Knowledge;
use crate::survival::normal;
use nalgebra::{DMatrix, DVector};

/// Width of an interval in units of the scale below which it counts as a point: the probability is
/// then density times width to 1e-11, and closer than differences of the distribution are.
const NARROW: f64 = 1e-5;
const MOST_ITERATIONS: usize = 200;
/// Information about one direction, a row, below which the likelihood counts as flat.
const FLAT: f64 = 1e-10;
/// Scale as a part of the spread about the starting line below which the fit counts as exact.
const EXACT: f64 = 1e-6;

/// The log-likelihood in δ and θ, with z = θ·(outcome less the starting line) − row·δ the outcome
/// less its location in units of the scale. It is concave in them: Burridge (1981), "A note on
/// maximum likelihood estimation for regression models using grouped data", JRSS B 43, 41–45.
pub(super) struct Likelihood {
    /// Orthogonal columns of mean square one.
    pub(super) rows: DMatrix<f64>,
    /// Middle of what is known of each outcome, less the starting line, in units of the spread.
    pub(super) middle: Vec<f64>,
    /// Half the width of what is known, in units of the spread.
    pub(super) half_width: Vec<f64>,
    pub(super) knowledge: Vec<Knowledge>,
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

    /// Number of parameters: δ and θ.
    pub(super) fn parameters(&self) -> usize {
        self.terms() + 1
    }

    fn contribution(&self, row: usize, parameters: &DVector<f64>) -> Contribution {
        let k = self.terms();
        let fit: f64 = (0..k).map(|j| self.rows[(row, j)] * parameters[j]).sum();
        let c = parameters[k] * self.middle[row] - fit;
        let h = parameters[k] * self.half_width[row];
        let density = |width: f64| Contribution {
            value: normal::ln_density(c) + width,
            by_middle: -c,
            second_middle: -1.0,
            density: true,
            ..Contribution::default()
        };
        match self.knowledge[row] {
            Knowledge::Exact => density(0.0),
            Knowledge::Between if h < NARROW => density((2.0 * self.half_width[row]).ln()),
            Knowledge::Above => {
                let hazard = normal::hazard(c);
                Contribution {
                    value: normal::ln_survival(c),
                    by_middle: -hazard,
                    second_middle: -hazard * (-c + hazard),
                    ..Contribution::default()
                }
            }
            Knowledge::Below => {
                let ratio = normal::reverse_hazard(c);
                Contribution {
                    value: normal::ln_distribution(c),
                    by_middle: ratio,
                    second_middle: ratio * (-c - ratio),
                    ..Contribution::default()
                }
            }
            Knowledge::Between => {
                let (low, high) = (c - h, c + h);
                let value = normal::ln_interval(low, high);
                let part = |z: f64| (normal::ln_density(z) - value).exp();
                let (at_low, at_high) = (part(low), part(high));
                let (slope_low, slope_high) = (at_low * -low, at_high * -high);
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
        for row in 0..self.middle.len() {
            let own = self.contribution(row, parameters);
            sum += own.value + if own.density { ln_theta } else { 0.0 };
        }
        if sum.is_nan() { f64::NEG_INFINITY } else { sum }
    }

    /// Derivative of the middle of z by the parameters.
    fn gradient_of_middle(&self, row: usize) -> DVector<f64> {
        let k = self.terms();
        let at = |j: usize| if j < k { -self.rows[(row, j)] } else { self.middle[row] };
        DVector::from_fn(self.parameters(), |j, _| at(j))
    }

    /// Score of a row.
    pub(super) fn score(&self, row: usize, parameters: &DVector<f64>) -> DVector<f64> {
        let own = self.contribution(row, parameters);
        let mut score = self.gradient_of_middle(row) * own.by_middle;
        let by_theta = &mut score[self.terms()];
        *by_theta += own.by_width * self.half_width[row];
        if own.density {
            *by_theta += 1.0 / parameters[self.terms()];
        }
        score
    }

    /// Score and observed information.
    pub(super) fn derivatives(&self, parameters: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        self.derivatives_of(0..self.middle.len(), parameters)
    }

    /// The same, of some rows.
    pub(super) fn derivatives_of(
        &self,
        rows: impl Iterator<Item = usize>,
        parameters: &DVector<f64>,
    ) -> (DVector<f64>, DMatrix<f64>) {
        let (k, count) = (self.terms(), self.parameters());
        let theta = parameters[k];
        let mut score = DVector::zeros(count);
        let mut information = DMatrix::zeros(count, count);
        for row in rows {
            score += self.score(row, parameters);
            let own = self.contribution(row, parameters);
            let gradient = self.gradient_of_middle(row);
            information.ger(-own.second_middle, &gradient, &gradient, 1.0);
            let half = self.half_width[row];
            for j in 0..count {
                let cross = -own.second_both * half * gradient[j];
                information[(j, k)] += cross;
                information[(k, j)] += cross;
            }
            information[(k, k)] -= own.second_width * half * half;
            if own.density {
                information[(k, k)] += 1.0 / (theta * theta);
            }
        }
        (score, information)
    }

    /// Newton's method with step halving.
    pub(super) fn maximum(&self) -> Result<Maximum, Failure> {
        let k = self.terms();
        let n = self.middle.len() as f64;
        let mut parameters = DVector::zeros(k + 1);
        parameters[k] = 1.0;
        let mut value = self.value(&parameters);
        // A far starting line may have probability zero in doubles; a wider scale has not.
        while value == f64::NEG_INFINITY && parameters[k] > 1e-6 {
            parameters[k] *= 0.5;
            value = self.value(&parameters);
        }
        let mut climb = Climb::from(parameters, value);
        let mut last_step = DVector::zeros(k + 1);
        for _ in 0..MOST_ITERATIONS {
            let theta: f64 = climb.parameters[k];
            // Everything that is known has probability one: the scale runs to zero.
            let certain = climb.value > -1e-6 * n && !self.has_density();
            let lost = |direction: DVector<f64>| {
                if certain || theta > 1e-2 / EXACT {
                    Failure::Exact
                } else if theta < EXACT {
                    Failure::Wide
                } else {
                    Failure::Flat(direction)
                }
            };
            if !(EXACT * EXACT..=1.0 / EXACT).contains(&theta) {
                return Err(lost(last_step));
            }
            let (score, information) = self.derivatives(&climb.parameters);
            let Some(factor) = information.cholesky() else {
                return Err(lost(last_step));
            };
            if (0..k).any(|j| factor.l_dirty()[(j, j)].powi(2) < FLAT * n) {
                return Err(lost(last_step));
            }
            let step = factor.solve(&score);
            match climb.step(&step, score.dot(&step), |parameters| self.value(parameters)) {
                Stepped::Nowhere => return Err(lost(step)),
                Stepped::Settled => {
                    let Climb { parameters, value, .. } = climb;
                    let (_, information) = self.derivatives(&parameters);
                    return Ok(Maximum { parameters, value, information });
                }
                Stepped::On => last_step = step,
            }
        }
        Err(Failure::Flat(last_step))
    }
}
