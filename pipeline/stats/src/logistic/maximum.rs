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
/// No step moves the log odds of any row by more than this.
const LONGEST_STEP: f64 = 5.0;

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

/// Sums over rows: the score, and of the information the lower triangle row by row.
struct Sums {
    score: DVector<f64>,
    information: Triangle,
}

struct Triangle {
    terms: usize,
    values: Vec<f64>,
}

impl Sums {
    fn new(terms: usize) -> Self {
        let values = vec![0.0; terms * (terms + 1) / 2];
        Self { score: DVector::zeros(terms), information: Triangle { terms, values } }
    }

    fn add(&mut self, x: &[f64], residual: f64, bend: f64) {
        let mut rest = self.information.values.as_mut_slice();
        for (a, (sum, own)) in self.score.iter_mut().zip(x).enumerate() {
            *sum += residual * own;
            let (line, below) = rest.split_at_mut(a + 1);
            for (value, other) in line.iter_mut().zip(x) {
                *value += bend * own * other;
            }
            rest = below;
        }
    }
}

impl Triangle {
    /// The symmetric matrix.
    fn square(&self) -> DMatrix<f64> {
        let k = self.terms;
        let mut matrix = DMatrix::zeros(k, k);
        for a in 0..k {
            for b in 0..=a {
                let value = self.values[a * (a + 1) / 2 + b];
                matrix[(a, b)] = value;
                matrix[(b, a)] = value;
            }
        }
        matrix
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

    /// What Firth's penalty adds to the score for one row, but for the row itself.
    fn penalty(&self, row: usize, log_odds: f64, inverse: &DMatrix<f64>) -> f64 {
        let x = self.row(row);
        let of_column = |column: &[f64]| column.iter().zip(x).map(|(own, x)| own * x).sum::<f64>();
        // The inverse is symmetric, so its columns are its rows.
        let columns = inverse.as_slice().chunks_exact(self.terms);
        let form: f64 = columns.zip(x).map(|(column, x)| x * of_column(column)).sum();
        let fitted = logistic(log_odds);
        self.weights[row] * fitted * logistic(-log_odds) * form * (0.5 - fitted)
    }

    fn log_likelihood(&self, log_odds: &[f64]) -> f64 {
        (0..self.outcome.len())
            .filter(|&row| self.weights[row] > 0.0)
            .map(|row| {
                let against = if self.outcome[row] { -log_odds[row] } else { log_odds[row] };
                -self.weights[row] * ln_one_plus_exp(against)
            })
            .sum()
    }

    /// None where the information is not positive definite or flat.
    fn state(&self, parameters: DVector<f64>, firth: bool) -> Option<State> {
        let k = self.terms;
        let n = self.outcome.len();
        let mut sums = Sums::new(k);
        let mut fitted = Vec::with_capacity(n);
        let mut log_odds = Vec::with_capacity(n);
        for row in 0..n {
            let own = self.log_odds(row, &parameters);
            let (above, below) = (logistic(own), logistic(-own));
            let weight = self.weights[row];
            fitted.push(above);
            log_odds.push(own);
            // A resample counts a third of the rows not at all.
            if weight > 0.0 {
                let residual = if self.outcome[row] { below } else { -above };
                sums.add(self.row(row), weight * residual, weight * above * below);
            }
        }
        let (mut score, information) = (sums.score, sums.information.square());
        let factor = information.cholesky()?;
        let least = (0..k).map(|j| factor.l_dirty()[(j, j)].powi(2)).fold(f64::INFINITY, f64::min);
        if least < FLAT * self.total {
            return None;
        }
        let half_ln_information = (0..k).map(|j| factor.l_dirty()[(j, j)].ln()).sum();
        if firth {
            let inverse = factor.inverse();
            for row in (0..n).filter(|&row| self.weights[row] > 0.0) {
                let push = self.penalty(row, log_odds[row], &inverse);
                for (sum, x) in score.iter_mut().zip(self.row(row)) {
                    *sum += push * x;
                }
            }
        }
        let log_likelihood = self.log_likelihood(&log_odds);
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
    /// flat. With Firth's penalty each row keeps the share of it that it has among all, and a step as
    /// long as the search itself would cut is none.
    pub(crate) fn step_without(
        &self,
        parameters: &DVector<f64>,
        group: impl Fn(usize) -> usize,
        groups: usize,
        firth: bool,
    ) -> Option<Vec<DVector<f64>>> {
        let k = self.terms;
        let counted = || (0..self.outcome.len()).filter(|&row| self.weights[row] > 0.0);
        let mut sums: Vec<Sums> = (0..groups).map(|_| Sums::new(k)).collect();
        for row in counted() {
            let own = self.log_odds(row, parameters);
            let bend = self.weights[row] * logistic(own) * logistic(-own);
            let residual = self.weights[row] * self.residual(row, own);
            sums[group(row)].add(self.row(row), residual, bend);
        }
        let information: Vec<DMatrix<f64>> =
            sums.iter().map(|sums| sums.information.square()).collect();
        let all: DMatrix<f64> = information.iter().sum();
        let mut scores: Vec<DVector<f64>> = sums.into_iter().map(|sums| sums.score).collect();
        if firth {
            let inverse = all.clone().cholesky()?.inverse();
            for row in counted() {
                let push = self.penalty(row, self.log_odds(row, parameters), &inverse);
                for (sum, x) in scores[group(row)].iter_mut().zip(self.row(row)) {
                    *sum += push * x;
                }
            }
        }
        let score: DVector<f64> = scores.iter().sum();
        if score.amax() > 1e-6 * self.total {
            return None;
        }
        let without = |group: usize| {
            let factor = (&all - &information[group]).cholesky()?;
            let least =
                (0..k).map(|j| factor.l_dirty()[(j, j)].powi(2)).fold(f64::INFINITY, f64::min);
            if least < FLAT * self.total {
                return None;
            }
            let step = factor.solve(&(&score - &scores[group]));
            (!firth || self.longest(&step) <= LONGEST_STEP).then(|| parameters + step)
        };
        (0..groups).map(without).collect()
    }

    /// How far a step moves the log odds of the row that it moves most.
    fn longest(&self, step: &DVector<f64>) -> f64 {
        (0..self.outcome.len()).map(|row| self.log_odds(row, step).abs()).fold(0.0, f64::max)
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
            let longest = self.longest(&step);
            if longest > LONGEST_STEP {
                step *= LONGEST_STEP / longest;
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
