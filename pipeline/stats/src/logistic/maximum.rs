//! Newton's method for the logistic likelihood, plain or penalised, in the columns Q√n.

use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::StatsError;
use crate::likelihood_errors::{ln_one_plus_exp, logistic, moved_terms};
use crate::orthogonal::Orthogonal;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

const MOST_STEPS: usize = 500;
/// Information about one direction, a row, below which the likelihood counts as flat: all rows that
/// bear on it have fitted probabilities within about 1e-10 of zero or one.
const FLAT: f64 = 1e-10;

pub(crate) struct Binomial<'a> {
    /// Row by row, one value a term.
    rows: &'a [f64],
    terms: usize,
    outcome: &'a [bool],
    weights: &'a [f64],
    total: f64,
}

pub(crate) struct Maximum {
    pub(crate) parameters: DVector<f64>,
    pub(super) fitted: Vec<f64>,
    pub(super) log_likelihood: f64,
    /// Inverse information.
    pub(super) inverse: DMatrix<f64>,
}

/// The parameters reached when the likelihood went flat, and the last step.
pub(crate) struct Failure {
    parameters: DVector<f64>,
    step: DVector<f64>,
}

impl Failure {
    /// Names the terms that run off.
    pub(super) fn into_error(
        self,
        binomial: &Binomial<'_>,
        design: &Design,
        basis: &Orthogonal,
    ) -> StatsError {
        // Rows that still overlap stay put while separated ones move on by about one a step.
        let complete =
            (0..binomial.outcome.len()).filter(|&row| binomial.weights[row] > 0.0).all(|row| {
                let log_odds = binomial.log_odds(row, &self.parameters);
                (log_odds > 10.0 && binomial.outcome[row])
                    || (log_odds < -10.0 && !binomial.outcome[row])
            });
        let direction: Vec<DoubleDouble> =
            self.step.iter().map(|&value| DoubleDouble::from(value)).collect();
        let direction: Vec<f64> =
            basis.coefficients(&direction).into_iter().map(DoubleDouble::value).collect();
        StatsError::Separation {
            terms: moved_terms(
                &direction,
                design.columns(),
                design.terms(),
                design.intercept_position(),
            ),
            extent: if complete { "all" } else { "some" },
        }
    }
}

/// Value and derivatives at some parameters.
struct State {
    parameters: DVector<f64>,
    fitted: Vec<f64>,
    log_likelihood: f64,
    score: DVector<f64>,
    information: Cholesky<f64, Dyn>,
    half_ln_information: f64,
}

/// The columns Q√n of a basis, row by row, one value a term.
pub(crate) fn scaled_rows(basis: &Orthogonal) -> Vec<f64> {
    let terms = basis.len();
    let n = basis.q.first().map_or(0, Vec::len);
    let root = (n as f64).sqrt();
    let mut rows = vec![0.0; terms * n];
    for (column, q) in basis.q.iter().enumerate() {
        for (row, value) in q.iter().enumerate() {
            rows[row * terms + column] = value.value() * root;
        }
    }
    rows
}

impl<'a> Binomial<'a> {
    /// `rows` as [`scaled_rows`] gives them.
    pub(crate) fn new(rows: &'a [f64], outcome: &'a [bool], weights: &'a [f64]) -> Self {
        let terms = rows.len() / outcome.len().max(1);
        Self { rows, terms, outcome, weights, total: weights.iter().sum() }
    }

    fn row(&self, row: usize) -> &[f64] {
        &self.rows[row * self.terms..(row + 1) * self.terms]
    }

    fn log_odds(&self, row: usize, parameters: &DVector<f64>) -> f64 {
        self.row(row).iter().zip(parameters).map(|(x, b)| x * b).sum()
    }

    /// Outcome less probability, without cancellation in the tails.
    fn residual(&self, row: usize, log_odds: f64) -> f64 {
        if self.outcome[row] { logistic(-log_odds) } else { -logistic(log_odds) }
    }

    /// Score of one row at its fitted probability.
    pub(super) fn score(&self, row: usize, fitted: f64) -> DVector<f64> {
        let residual = if self.outcome[row] { 1.0 - fitted } else { -fitted };
        DVector::from_column_slice(self.row(row)) * (self.weights[row] * residual)
    }

    /// Information of some rows, without the penalty.
    pub(super) fn information(&self, rows: &[usize], parameters: &DVector<f64>) -> DMatrix<f64> {
        let mut information = DMatrix::zeros(self.terms, self.terms);
        for &row in rows {
            let own = self.log_odds(row, parameters);
            let bend = self.weights[row] * logistic(own) * logistic(-own);
            let x = DVector::from_column_slice(self.row(row));
            information.ger(bend, &x, &x, 1.0);
        }
        information
    }

    fn log_likelihood(&self, parameters: &DVector<f64>) -> f64 {
        (0..self.outcome.len())
            .filter(|&row| self.weights[row] > 0.0)
            .map(|row| {
                let log_odds = self.log_odds(row, parameters);
                let against = if self.outcome[row] { -log_odds } else { log_odds };
                -self.weights[row] * ln_one_plus_exp(against)
            })
            .sum()
    }

    /// None where the information is not positive definite or flat.
    fn state(&self, parameters: DVector<f64>, firth: bool) -> Option<State> {
        let k = self.terms;
        let n = self.outcome.len();
        let mut score = DVector::zeros(k);
        let mut information = DMatrix::<f64>::zeros(k, k);
        let mut fitted = Vec::with_capacity(n);
        let mut log_odds = Vec::with_capacity(n);
        for row in 0..n {
            let own = self.log_odds(row, &parameters);
            let probability = logistic(own);
            let weight = self.weights[row];
            let bend = weight * probability * logistic(-own);
            let residual = weight * self.residual(row, own);
            let x = self.row(row);
            for a in 0..k {
                score[a] += residual * x[a];
                for b in 0..=a {
                    information[(a, b)] += bend * x[a] * x[b];
                }
            }
            fitted.push(probability);
            log_odds.push(own);
        }
        let factor = information.cholesky()?;
        let least = (0..k).map(|j| factor.l_dirty()[(j, j)].powi(2)).fold(f64::INFINITY, f64::min);
        if least < FLAT * self.total {
            return None;
        }
        let half_ln_information = (0..k).map(|j| factor.l_dirty()[(j, j)].ln()).sum();
        if firth {
            let inverse = factor.inverse();
            for row in 0..n {
                let x = self.row(row);
                let mut form = 0.0;
                for a in 0..k {
                    let inner: f64 = (0..k).map(|b| inverse[(a, b)] * x[b]).sum();
                    form += x[a] * inner;
                }
                let leverage = self.weights[row] * fitted[row] * logistic(-log_odds[row]) * form;
                for a in 0..k {
                    score[a] += leverage * (0.5 - fitted[row]) * x[a];
                }
            }
        }
        let log_likelihood = self.log_likelihood(&parameters);
        Some(State {
            parameters,
            fitted,
            log_likelihood,
            score,
            information: factor,
            half_ln_information,
        })
    }

    /// One Newton step from the maximum to that without each group of rows (Pregibon 1981, Annals of
    /// Statistics 9, 705–724); `None` where `parameters` are no maximum, or where a group's rest is
    /// flat.
    pub(crate) fn step_without(
        &self,
        parameters: &DVector<f64>,
        group: impl Fn(usize) -> usize,
        groups: usize,
    ) -> Option<Vec<DVector<f64>>> {
        let k = self.terms;
        let mut scores = vec![DVector::<f64>::zeros(k); groups];
        let mut information = vec![DMatrix::<f64>::zeros(k, k); groups];
        for row in (0..self.outcome.len()).filter(|&row| self.weights[row] > 0.0) {
            let own = self.log_odds(row, parameters);
            let bend = self.weights[row] * logistic(own) * logistic(-own);
            let residual = self.weights[row] * self.residual(row, own);
            let x = self.row(row);
            let (score, information) = (&mut scores[group(row)], &mut information[group(row)]);
            for a in 0..k {
                score[a] += residual * x[a];
                for b in 0..=a {
                    information[(a, b)] += bend * x[a] * x[b];
                }
            }
        }
        let score: DVector<f64> = scores.iter().sum();
        let all: DMatrix<f64> = information.iter().sum();
        if score.amax() > 1e-6 * self.total {
            return None;
        }
        let without = |group: usize| {
            let factor = (&all - &information[group]).cholesky()?;
            let least =
                (0..k).map(|j| factor.l_dirty()[(j, j)].powi(2)).fold(f64::INFINITY, f64::min);
            (least >= FLAT * self.total)
                .then(|| parameters + factor.solve(&(&score - &scores[group])))
        };
        (0..groups).map(without).collect()
    }

    pub(crate) fn maximum(&self, firth: bool) -> Result<Maximum, Failure> {
        self.maximum_from(&DVector::zeros(self.terms), firth)
    }

    /// The maximum, sought from parameters that may be near it.
    pub(crate) fn maximum_from(
        &self,
        start: &DVector<f64>,
        firth: bool,
    ) -> Result<Maximum, Failure> {
        let objective = |state: &State| {
            state.log_likelihood + if firth { state.half_ln_information } else { 0.0 }
        };
        let lost = |parameters: &DVector<f64>, step: &DVector<f64>| Failure {
            parameters: parameters.clone(),
            step: step.clone(),
        };
        let Some(mut state) = self.state(start.clone(), firth) else {
            return Err(lost(start, start));
        };
        for _ in 0..MOST_STEPS {
            let mut step = state.information.solve(&state.score);
            // Where nearly all weight lies on one outcome a full step may leave the region in which
            // the information can be inverted.
            let longest = (0..self.outcome.len())
                .map(|row| self.log_odds(row, &step).abs())
                .fold(0.0, f64::max);
            if longest > 5.0 {
                step *= 5.0 / longest;
            }
            let slope = state.score.dot(&step);
            let value = objective(&state);
            let noise = 1e-13 * value.abs();
            let mut part = 1.0;
            let next = loop {
                let trial = self.state(&state.parameters + &step * part, firth);
                if let Some(trial) = trial {
                    if objective(&trial) >= value + 1e-4 * part * slope - noise {
                        break trial;
                    }
                } else if !firth {
                    return Err(lost(&state.parameters, &step));
                }
                part *= 0.5;
                if part < 1e-12 {
                    return Err(lost(&state.parameters, &step));
                }
            };
            let moved = part * step.amax();
            state = next;
            if moved <= 1e-12 * state.parameters.amax().max(1.0) {
                return Ok(Maximum {
                    inverse: state.information.inverse(),
                    log_likelihood: state.log_likelihood,
                    fitted: state.fitted,
                    parameters: state.parameters,
                });
            }
        }
        let last = state.parameters.clone();
        Err(lost(&state.parameters, &last))
    }
}
