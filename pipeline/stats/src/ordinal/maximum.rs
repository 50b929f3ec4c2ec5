//! Newton's method for the cumulative logistic likelihood, in thresholds and slopes of the columns
//! Q√n without the constant one.

use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::StatsError;
use crate::likelihood_errors::{ln_one_plus_exp, logistic, moved_terms};
use crate::orthogonal::Orthogonal;
use nalgebra::{DMatrix, DVector};

const MOST_STEPS: usize = 300;
/// Information about one direction, a row, below which the likelihood counts as flat.
const FLAT: f64 = 1e-10;

pub(super) struct Cumulative<'a> {
    /// Row by row, one value a slope.
    rows: Vec<f64>,
    slopes: usize,
    borders: usize,
    categories: Vec<usize>,
    weights: &'a [f64],
    total: f64,
}

pub(super) struct Maximum {
    /// Thresholds, then slopes.
    pub(super) parameters: DVector<f64>,
    pub(super) log_likelihood: f64,
    pub(super) inverse: DMatrix<f64>,
}

pub(super) struct Failure {
    parameters: DVector<f64>,
    step: DVector<f64>,
}

impl Failure {
    pub(super) fn into_error(
        self,
        model: &Cumulative<'_>,
        full: &Design,
        basis: &Orthogonal,
    ) -> StatsError {
        let complete = (0..model.categories.len())
            .filter(|&row| model.weights[row] > 0.0)
            .all(|row| model.ln_probability(row, &self.parameters) > -1e-4);
        let mut direction = vec![DoubleDouble::ZERO; basis.len()];
        for (slope, value) in direction[1..].iter_mut().zip(self.step.iter().skip(model.borders)) {
            *slope = DoubleDouble::from(*value);
        }
        let direction: Vec<f64> =
            basis.coefficients(&direction).into_iter().map(DoubleDouble::value).collect();
        let terms =
            moved_terms(&direction, full.columns(), full.terms(), full.intercept_position());
        StatsError::Separation { terms, extent: if complete { "all" } else { "some" } }
    }
}

/// Derivatives of ln P by the upper and lower end, and second derivatives.
struct Ends {
    upper: f64,
    lower: f64,
    upper_upper: f64,
    lower_lower: f64,
    upper_lower: f64,
}

impl<'a> Cumulative<'a> {
    pub(super) fn new(
        basis: &Orthogonal,
        categories: Vec<usize>,
        weights: &'a [f64],
        borders: usize,
    ) -> Self {
        let slopes = basis.len() - 1;
        let root = (categories.len() as f64).sqrt();
        let mut rows = vec![0.0; slopes * categories.len()];
        for (column, q) in basis.q[1..].iter().enumerate() {
            for (row, value) in q.iter().enumerate() {
                rows[row * slopes + column] = value.value() * root;
            }
        }
        Self { rows, slopes, borders, categories, weights, total: weights.iter().sum() }
    }

    fn row(&self, row: usize) -> &[f64] {
        &self.rows[row * self.slopes..(row + 1) * self.slopes]
    }

    /// Upper and lower end of the row's category on the latent scale.
    fn ends(&self, row: usize, parameters: &DVector<f64>) -> (f64, f64) {
        let shift: f64 = self
            .row(row)
            .iter()
            .zip(parameters.iter().skip(self.borders))
            .map(|(x, b)| x * b)
            .sum();
        let category = self.categories[row].min(self.borders);
        let upper =
            if category == self.borders { f64::INFINITY } else { parameters[category] - shift };
        let lower =
            if category == 0 { f64::NEG_INFINITY } else { parameters[category - 1] - shift };
        (upper, lower)
    }

    /// ln(F(u) − F(l)) = ln F(u) + ln(1 − F(l)) + ln(1 − e^(l−u)): nothing cancels.
    fn ln_probability(&self, row: usize, parameters: &DVector<f64>) -> f64 {
        let (upper, lower) = self.ends(row, parameters);
        let mut value = 0.0;
        if upper.is_finite() {
            value -= ln_one_plus_exp(-upper);
        }
        if lower.is_finite() {
            value -= ln_one_plus_exp(lower);
        }
        if upper.is_finite() && lower.is_finite() {
            if upper <= lower {
                return f64::NEG_INFINITY;
            }
            value += (-(lower - upper).exp_m1()).ln();
        }
        value
    }

    fn derivatives(&self, row: usize, parameters: &DVector<f64>) -> Ends {
        let (upper, lower) = self.ends(row, parameters);
        let mut ends =
            Ends { upper: 0.0, lower: 0.0, upper_upper: 0.0, lower_lower: 0.0, upper_lower: 0.0 };
        if upper.is_finite() {
            ends.upper = logistic(-upper);
            ends.upper_upper = -logistic(upper) * logistic(-upper);
        }
        if lower.is_finite() {
            ends.lower = -logistic(lower);
            ends.lower_lower = -logistic(lower) * logistic(-lower);
        }
        if upper.is_finite() && lower.is_finite() {
            let rest = 1.0 / (upper - lower).exp_m1();
            // e^d/(e^d − 1)² with d = u − l.
            let bend = rest * (1.0 + rest);
            ends.upper += rest;
            ends.lower -= rest;
            ends.upper_upper -= bend;
            ends.lower_lower -= bend;
            ends.upper_lower = bend;
        }
        ends
    }

    fn log_likelihood(&self, parameters: &DVector<f64>) -> f64 {
        (0..self.categories.len())
            .filter(|&row| self.weights[row] > 0.0)
            .map(|row| self.weights[row] * self.ln_probability(row, parameters))
            .sum()
    }

    /// Score of one row.
    pub(super) fn score(&self, row: usize, parameters: &DVector<f64>) -> DVector<f64> {
        let mut score = DVector::zeros(self.borders + self.slopes);
        let weight = self.weights[row];
        if weight == 0.0 {
            return score;
        }
        let ends = self.derivatives(row, parameters);
        let category = self.categories[row];
        if category < self.borders {
            score[category] += weight * ends.upper;
        }
        if category > 0 {
            score[category - 1] += weight * ends.lower;
        }
        for (slope, x) in self.row(row).iter().enumerate() {
            score[self.borders + slope] = -weight * (ends.upper + ends.lower) * x;
        }
        score
    }

    /// Observed information of some rows.
    pub(super) fn information(&self, rows: &[usize], parameters: &DVector<f64>) -> DMatrix<f64> {
        self.score_and_information(rows.iter().copied(), parameters).1
    }

    fn score_and_information(
        &self,
        rows: impl Iterator<Item = usize>,
        parameters: &DVector<f64>,
    ) -> (DVector<f64>, DMatrix<f64>) {
        let size = self.borders + self.slopes;
        let mut score = DVector::zeros(size);
        let mut information = DMatrix::zeros(size, size);
        for row in rows {
            let weight = self.weights[row];
            if weight == 0.0 {
                continue;
            }
            let ends = self.derivatives(row, parameters);
            let category = self.categories[row];
            let upper = (category < self.borders).then_some(category);
            let lower = category.checked_sub(1);
            let x = self.row(row);
            if let Some(u) = upper {
                score[u] += weight * ends.upper;
                information[(u, u)] -= weight * ends.upper_upper;
            }
            if let Some(l) = lower {
                score[l] += weight * ends.lower;
                information[(l, l)] -= weight * ends.lower_lower;
            }
            if let (Some(u), Some(l)) = (upper, lower) {
                information[(u, l)] -= weight * ends.upper_lower;
                information[(l, u)] -= weight * ends.upper_lower;
            }
            let both = ends.upper_upper + ends.lower_lower + 2.0 * ends.upper_lower;
            for a in 0..self.slopes {
                let at = self.borders + a;
                score[at] -= weight * (ends.upper + ends.lower) * x[a];
                for (end, second) in [(upper, ends.upper_upper), (lower, ends.lower_lower)] {
                    if let Some(end) = end {
                        let value = weight * (second + ends.upper_lower) * x[a];
                        information[(end, at)] += value;
                        information[(at, end)] += value;
                    }
                }
                for b in 0..self.slopes {
                    information[(at, self.borders + b)] -= weight * both * x[a] * x[b];
                }
            }
        }
        (score, information)
    }

    pub(super) fn maximum(&self) -> Result<Maximum, Failure> {
        let size = self.borders + self.slopes;
        let mut parameters = DVector::zeros(size);
        // Start from the shares of the categories.
        let mut below = 0.0;
        for border in 0..self.borders {
            below += self
                .categories
                .iter()
                .zip(self.weights)
                .filter(|(category, _)| **category == border)
                .map(|(_, weight)| weight)
                .sum::<f64>();
            parameters[border] = (below / (self.total - below)).ln();
        }
        let mut value = self.log_likelihood(&parameters);
        let mut last = DVector::zeros(size);
        for _ in 0..MOST_STEPS {
            let (score, information) =
                self.score_and_information(0..self.categories.len(), &parameters);
            let lost = |step: DVector<f64>| Failure { parameters: parameters.clone(), step };
            let Some(factor) = information.cholesky() else { return Err(lost(last)) };
            if (0..size).any(|j| factor.l_dirty()[(j, j)].powi(2) < FLAT * self.total) {
                return Err(lost(last));
            }
            let step = factor.solve(&score);
            let slope = score.dot(&step);
            let mut part = 1.0;
            loop {
                let trial = &parameters + &step * part;
                let there = self.log_likelihood(&trial);
                if there >= value + 1e-4 * part * slope - 1e-13 * value.abs() {
                    parameters = trial;
                    value = there;
                    break;
                }
                part *= 0.5;
                if part < 1e-12 {
                    return Err(lost(step));
                }
            }
            if part == 1.0 && step.amax() <= 1e-12 * parameters.amax().max(1.0) {
                let (_, information) =
                    self.score_and_information(0..self.categories.len(), &parameters);
                let Some(factor) = information.cholesky() else {
                    return Err(Failure { parameters, step });
                };
                return Ok(Maximum {
                    log_likelihood: value,
                    inverse: factor.inverse(),
                    parameters,
                });
            }
            last = step;
        }
        Err(Failure { parameters, step: last })
    }
}
