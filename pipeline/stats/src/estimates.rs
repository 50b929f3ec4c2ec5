//! The result that every regression shares: named coefficients with a covariance.

use crate::cluster_robust::ClusterRobust;
use crate::distribution::{f_upper_tail, two_sided_p, two_sided_quantile};
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_finite, require_length, require_level};
use nalgebra::{DMatrix, DVector};
use std::sync::Arc;

/// An estimated number with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The estimate.
    pub estimate: f64,
    /// Its standard error, in the unit of the estimate.
    pub std_error: f64,
    /// Degrees of freedom of Student's t for tests and intervals; infinite means the normal.
    pub df: f64,
}

/// The two ends of an interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
}

impl Estimate {
    /// Estimate over standard error. Without error it is infinite, or zero where the estimate is
    /// zero.
    pub fn statistic(&self) -> f64 {
        if self.estimate == 0.0 { 0.0 } else { self.estimate / self.std_error }
    }

    /// Two-sided p value of the hypothesis that the true value is zero.
    pub fn p_value(&self) -> f64 {
        two_sided_p(self.statistic(), self.df)
    }

    /// Two-sided interval, estimate ± t · standard error; `level` is 0.95 for 95 %.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `level` lies strictly between 0 and 1.
    pub fn interval(&self, level: f64) -> Result<Interval, StatsError> {
        require_level(level)?;
        let reach = two_sided_quantile(level, self.df) * self.std_error;
        Ok(Interval { lo: self.estimate - reach, hi: self.estimate + reach })
    }
}

/// A coefficient with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// Name of the term, as in the design.
    pub name: String,
    /// The coefficient.
    pub coefficient: Estimate,
}

/// A test that several coefficients are zero together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JointTest {
    /// Wald's statistic b′V⁻¹b over its degrees of freedom.
    pub f: f64,
    /// Number of coefficients.
    pub df: f64,
    /// Degrees of freedom of the errors; infinite means that f · df is χ².
    pub residual_df: f64,
    /// Probability of an f at least as large if all of them are zero.
    pub p_value: f64,
}

/// Coefficients of a fitted regression with their covariance and log-likelihood.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimates {
    names: Vec<String>,
    // Kept in extended precision: a prediction far from the origin subtracts large, nearly equal
    // numbers.
    coefficients: Vec<DoubleDouble>,
    covariance: Vec<DoubleDouble>,
    freedom: Freedom,
    log_likelihood: f64,
}

/// Where degrees of freedom come from.
#[derive(Debug, Clone, PartialEq)]
enum Freedom {
    /// The same for all; infinite means the normal.
    Same(f64),
    Satterthwaite(Satterthwaite),
    Clusters {
        clusters: Arc<ClusterRobust>,
        /// From weights of the terms to coordinates of `clusters`.
        to_coordinates: DMatrix<f64>,
    },
}

impl Freedom {
    fn of(&self, variance: f64, weights: &[f64]) -> f64 {
        match self {
            Self::Same(df) => *df,
            Self::Satterthwaite(own) => own.df(variance, weights),
            Self::Clusters { clusters, to_coordinates } => {
                clusters.df(&(to_coordinates * DVector::from_column_slice(weights)))
            }
        }
    }
}

/// What degrees of freedom of their own for every linear combination are computed from:
/// Satterthwaite (1946), "An approximate distribution of estimates of variance components",
/// Biometrics Bulletin 2, 110–114; in this form Giesbrecht & Burns (1985), Biometrics 41, 477–486.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Satterthwaite {
    /// Derivative of the covariance of the coefficients by each variance parameter, row by row.
    pub(crate) gradients: Vec<Vec<DoubleDouble>>,
    /// Covariance of the estimated variance parameters.
    pub(crate) parameters: DMatrix<f64>,
}

impl Satterthwaite {
    /// 2v²/(g′Ag) with v the variance of the combination, g its derivative by the variance
    /// parameters and A their covariance.
    fn df(&self, variance: f64, weights: &[f64]) -> f64 {
        let gradient: Vec<f64> =
            self.gradients.iter().map(|matrix| quadratic(matrix, weights).value()).collect();
        let mut spread = 0.0;
        for (a, &x) in gradient.iter().enumerate() {
            for (b, &y) in gradient.iter().enumerate() {
                spread += x * self.parameters[(a, b)] * y;
            }
        }
        if spread > 0.0 { 2.0 * variance * variance / spread } else { f64::INFINITY }
    }
}

/// w′Mw.
fn quadratic(matrix: &[DoubleDouble], weights: &[f64]) -> DoubleDouble {
    let k = weights.len();
    weights.iter().enumerate().fold(DoubleDouble::ZERO, |total, (row, &weight)| {
        let inner = weights.iter().enumerate().fold(DoubleDouble::ZERO, |sum, (column, &other)| {
            sum + DoubleDouble::from(other) * matrix[row * k + column]
        });
        total + DoubleDouble::from(weight) * inner
    })
}

impl Estimates {
    /// `covariance` is square, row by row.
    ///
    /// # Errors
    /// [`StatsError::Overflow`] names the first term whose coefficient or variance is not finite.
    pub(crate) fn new(
        names: Vec<String>,
        coefficients: Vec<DoubleDouble>,
        covariance: Vec<DoubleDouble>,
        df: f64,
        log_likelihood: f64,
    ) -> Result<Self, StatsError> {
        let k = names.len();
        debug_assert_eq!(k, coefficients.len());
        debug_assert_eq!(k * k, covariance.len());
        for (position, name) in names.iter().enumerate() {
            let row = &covariance[position * k..(position + 1) * k];
            let finite = coefficients[position].is_finite() && row.iter().all(|v| v.is_finite());
            if !finite {
                return Err(StatsError::Overflow { what: format!("the estimate of {name}") });
            }
        }
        let freedom = Freedom::Same(df);
        Ok(Self { names, coefficients, covariance, freedom, log_likelihood })
    }

    /// Gives every term, linear combination and prediction its own degrees of freedom.
    pub(crate) fn with_satterthwaite(self, satterthwaite: Satterthwaite) -> Self {
        Self { freedom: Freedom::Satterthwaite(satterthwaite), ..self }
    }

    /// The same, from clusters; `to_coordinates` × weights of the terms is the direction in theirs.
    pub(crate) fn with_clusters(
        self,
        clusters: Arc<ClusterRobust>,
        to_coordinates: DMatrix<f64>,
    ) -> Self {
        Self { freedom: Freedom::Clusters { clusters, to_coordinates }, ..self }
    }

    /// The direction of a combination in the coordinates of its clusters.
    pub(crate) fn direction(&self, weights: &[f64]) -> Option<DVector<f64>> {
        match &self.freedom {
            Freedom::Clusters { to_coordinates, .. } => {
                Some(to_coordinates * DVector::from_column_slice(weights))
            }
            _ => None,
        }
    }

    /// Names of the terms, in the order of the design.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// All terms, in the order of the design.
    pub fn terms(&self) -> Vec<Term> {
        self.names
            .iter()
            .enumerate()
            .map(|(position, name)| Term { name: name.clone(), coefficient: self.at(position) })
            .collect()
    }

    /// The coefficient of one term.
    ///
    /// # Errors
    /// [`StatsError::UnknownName`] if there is no such term.
    pub fn term(&self, name: &str) -> Result<Estimate, StatsError> {
        self.names
            .iter()
            .position(|other| other == name)
            .map(|position| self.at(position))
            .ok_or_else(|| StatsError::UnknownName {
                name: format!("term {name}"),
                known: self.names.clone(),
            })
    }

    fn at(&self, position: usize) -> Estimate {
        let variance = self.covariance[position * self.names.len() + position];
        let mut weights = vec![0.0; self.names.len()];
        weights[position] = 1.0;
        let df = self.freedom.of(variance.value(), &weights);
        Estimate {
            estimate: self.coefficients[position].value(),
            std_error: variance.sqrt().value(),
            df,
        }
    }

    /// The coefficients, in the order of the design.
    pub fn coefficients(&self) -> Vec<f64> {
        self.coefficients.iter().map(|c| c.value()).collect()
    }

    /// Covariance matrix of the coefficients, terms × terms.
    pub fn covariance(&self) -> DMatrix<f64> {
        let k = self.names.len();
        DMatrix::from_fn(k, k, |row, column| self.covariance[row * k + column].value())
    }

    /// Degrees of freedom of the t distribution of the terms; infinite means the normal. Where
    /// terms have their own, the smallest of them.
    pub fn df(&self) -> f64 {
        match self.freedom {
            Freedom::Same(df) => df,
            _ => (0..self.names.len()).map(|at| self.at(at).df).fold(f64::INFINITY, f64::min),
        }
    }

    /// Log-likelihood at its maximum, natural logarithm. Infinite where the model fits exactly.
    pub fn log_likelihood(&self) -> f64 {
        self.log_likelihood
    }

    /// Wald's test that the coefficients of these terms are all zero. For least squares with
    /// classical errors it is the F test. Where terms have degrees of freedom of their own, the
    /// fewest are taken; with clusters as those of Hotelling's T²: for η of them and q terms, F times
    /// (η − q + 1)/η with η − q + 1 (Pustejovsky & Tipton 2018, section 3.2).
    ///
    /// # Errors
    /// [`StatsError::UnknownName`], [`StatsError::DuplicateTerm`] or no names;
    /// [`StatsError::SingularCovariance`] where fewer clusters than terms leave it undefined.
    pub fn joint_test(&self, names: &[&str]) -> Result<JointTest, StatsError> {
        if names.is_empty() {
            return Err(StatsError::Empty { what: "the list of terms to test".to_owned() });
        }
        let mut df = f64::INFINITY;
        let mut positions = Vec::with_capacity(names.len());
        for &name in names {
            df = df.min(self.term(name)?.df);
            let position = self.names.iter().position(|other| other == name).unwrap_or(0);
            if positions.contains(&position) {
                return Err(StatsError::DuplicateTerm { term: name.to_owned() });
            }
            positions.push(position);
        }
        let k = self.names.len();
        let count = names.len();
        // In units of the standard errors, so that scales do not matter.
        let unit = |position: usize| self.covariance[position * k + position].sqrt().value();
        let correlation = DMatrix::from_fn(count, count, |a, b| {
            let (a, b) = (positions[a], positions[b]);
            self.covariance[a * k + b].value() / (unit(a) * unit(b))
        });
        let scaled = DVector::from_fn(count, |a, _| {
            self.coefficients[positions[a]].value() / unit(positions[a])
        });
        let singular = || StatsError::SingularCovariance {
            terms: names.iter().map(|&name| name.to_owned()).collect(),
        };
        if correlation.iter().any(|v| !v.is_finite()) {
            return Err(singular());
        }
        let factor = correlation.cholesky().ok_or_else(singular)?;
        if (0..count).any(|j| factor.l_dirty()[(j, j)] < 1e-7) {
            return Err(singular());
        }
        let mut f = scaled.dot(&factor.solve(&scaled)) / count as f64;
        let df_terms = count as f64;
        if matches!(self.freedom, Freedom::Clusters { .. }) && df.is_finite() {
            let left = df - df_terms + 1.0;
            if left <= 0.0 {
                return Err(singular());
            }
            f *= left / df;
            df = left;
        }
        Ok(JointTest { f, df: df_terms, residual_df: df, p_value: f_upper_tail(f, df_terms, df) })
    }

    /// Σ weightᵢ · coefficientᵢ with its standard error √(w′Vw); one weight a term.
    ///
    /// # Errors
    /// Wrong number of weights, or a weight that is not finite.
    pub fn linear_combination(&self, weights: &[f64]) -> Result<Estimate, StatsError> {
        let k = self.names.len();
        require_length("the weights of the terms", k, weights.len())?;
        require_finite("the weights of the terms", weights)?;
        let estimate = self.combined(weights);
        let variance = quadratic(&self.covariance, weights);
        if !(estimate.is_finite() && variance.is_finite()) {
            return Err(StatsError::Overflow { what: "the linear combination".to_owned() });
        }
        let df = self.freedom.of(variance.value(), weights);
        Ok(Estimate { estimate: estimate.value(), std_error: variance.sqrt().value(), df })
    }

    fn combined(&self, weights: &[f64]) -> DoubleDouble {
        weights
            .iter()
            .zip(&self.coefficients)
            .fold(DoubleDouble::ZERO, |sum, (&w, &c)| sum + DoubleDouble::from(w) * c)
    }

    /// Mean outcome in each row, without its error: for residuals, of which nobody asks how far off their
    /// means are, and whose degrees of freedom would take a pass over all clusters each.
    ///
    /// # Errors
    /// A row of the wrong length, or a value that is not finite.
    pub fn means<R: AsRef<[f64]>>(&self, rows: &[R]) -> Result<Vec<f64>, StatsError> {
        let mean = |row: &R| {
            let weights = row.as_ref();
            require_length("the weights of the terms", self.names.len(), weights.len())?;
            require_finite("the weights of the terms", weights)?;
            let mean = self.combined(weights);
            if !mean.is_finite() {
                return Err(StatsError::Overflow { what: "a mean outcome".to_owned() });
            }
            Ok(mean.value())
        };
        rows.iter().map(mean).collect()
    }

    /// Mean outcome in new rows, with its standard error (for a confidence band; it does not hold
    /// the scatter of single outcomes). Each row has one value a term; [`crate::Design::encode`]
    /// makes them.
    ///
    /// # Errors
    /// A row of the wrong length, or a value that is not finite.
    pub fn predict<R: AsRef<[f64]>>(&self, rows: &[R]) -> Result<Vec<Estimate>, StatsError> {
        rows.iter().map(|row| self.linear_combination(row.as_ref())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_error_there_is_no_nan() {
        let zero = Estimate { estimate: 0.0, std_error: 0.0, df: 5.0 };
        assert_eq!((zero.statistic(), zero.p_value()), (0.0, 1.0));
        let sure = Estimate { estimate: -2.0, ..zero };
        assert_eq!((sure.statistic(), sure.p_value()), (f64::NEG_INFINITY, 0.0));
        assert_eq!(sure.interval(0.95).unwrap(), Interval { lo: -2.0, hi: -2.0 });
    }

    #[test]
    fn level_must_be_a_probability() {
        let any = Estimate { estimate: 1.0, std_error: 1.0, df: 5.0 };
        for level in [0.0, 1.0, -0.1, 95.0, f64::NAN] {
            assert!(any.interval(level).is_err(), "{level}");
        }
    }
}
