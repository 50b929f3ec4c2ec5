//! Normal regression with outcomes known exactly or only by bounds, by maximum likelihood.

mod likelihood;

use super::censored_times::{CensoredTimes, Knowledge};
use crate::cluster_robust::ClusterRobust;
use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_length};
use crate::estimates::{Estimate, Estimates};
use crate::likelihood_errors::{LikelihoodErrors, Middle};
use crate::orthogonal::Orthogonal;
use likelihood::{Failure, Likelihood};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, Normal};
use std::sync::Arc;

/// A fitted regression y = x′β + σe with normal errors e, of outcomes that may be known exactly, to lie
/// above, below or between bounds. With an intercept only it fits a normal distribution.
///
/// Lower bounds: Tobin (1958), "Estimation of relationships for limited dependent variables",
/// Econometrica 26, 24–36, with a limit of its own in every row; intervals: Stewart (1983), "On least
/// squares estimation when the dependent variable is grouped", Review of Economic Studies 50,
/// 737–753. Fitted in the parameters β/σ and 1/σ of Olsen (1978), "Note on the uniqueness of the
/// maximum likelihood estimator for the Tobit model", Econometrica 46, 1211–1215, in which the
/// log-likelihood is concave, by Newton's method with a line search.
///
/// Assumes the distribution, one σ for all rows, and that bounds tell nothing of the outcome but
/// that it lies between them.
///
/// ```
/// use stats::{CensoredGaussian, CensoredTimes, Design, LikelihoodErrors};
///
/// let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
/// let minutes = [12.0, 19.0, 33.0, 41.0, 45.0, 50.0];
/// let observed = [true, true, true, true, true, false]; // the last went on beyond 50
/// let design = Design::new(6).intercept()?.numeric("x", &x)?;
/// let times = CensoredTimes::right_censored(&minutes, &observed)?;
/// let fit = CensoredGaussian::fit(&design, &times, LikelihoodErrors::Model)?;
/// assert_eq!(fit.exact, 5);
/// let slope = fit.estimates.term("x")?.estimate;
/// assert!(slope > 8.0);
/// let halves = [fit.quantile(&[1.0, 2.0], 0.5)?, fit.quantile(&[1.0, 3.0], 0.5)?];
/// assert!((halves[1].estimate - halves[0].estimate - slope).abs() < 1e-9);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CensoredGaussian {
    /// Coefficients, covariance, predictions of the mean, log-likelihood. Degrees of freedom are
    /// infinite (the normal) for the model-based covariance, G − 1 for G clusters, or the jackknife's
    /// own.
    pub estimates: Estimates,
    /// Number of rows.
    pub n: usize,
    /// Rows whose outcome is known exactly.
    pub exact: usize,
    /// Clusters, if the covariance is clustered.
    pub clusters: Option<usize>,
    /// Standard deviation σ of the errors, by maximum likelihood (divisor n, not n − k), in the unit
    /// of the outcome.
    pub sigma: f64,
    /// Covariance of the coefficients and, last, ln σ; (terms + 1) × (terms + 1).
    joint_covariance: DMatrix<f64>,
    /// Clusters with degrees of freedom of their own, and the way to their coordinates from weights of
    /// the terms, and from ln σ.
    freedom: Option<(Arc<ClusterRobust>, DMatrix<f64>, DVector<f64>)>,
}

impl CensoredGaussian {
    /// Fits; the information is the observed one.
    ///
    /// # Errors
    /// Wrong lengths; too few rows; constant or collinear columns; [`StatsError::AllCensored`] where
    /// all outcomes are censored on the same side; [`StatsError::NoMaximum`] where a coefficient or
    /// the scale runs off; [`StatsError::ExactFit`]; fewer than two clusters; for the jackknife
    /// [`StatsError::FullLeverage`], where one cluster alone determines a coefficient.
    pub fn fit(
        design: &Design,
        times: &CensoredTimes,
        errors: LikelihoodErrors<'_>,
    ) -> Result<Self, StatsError> {
        let n = design.rows();
        let k = design.terms().len();
        require_length("the outcome", n, times.rows())?;
        if n < k + 1 {
            return Err(StatsError::TooFewRows {
                what: format!("a fit of {k} terms and a distribution"),
                needed: k + 1,
                found: n,
            });
        }
        let knowledge: Vec<Knowledge> = (0..n).map(|row| times.knowledge(row)).collect();
        for side in [Knowledge::Above, Knowledge::Below] {
            if knowledge.iter().all(|&own| own == side) {
                return Err(StatsError::AllCensored { rows: n });
            }
        }
        let kind = Middle::new(errors, n)?;
        let basis = Orthogonal::new(design)?;

        // Start from least squares on the middle of what is known; all else is relative to it.
        let middle: Vec<f64> = (0..n)
            .map(|row| match knowledge[row] {
                Knowledge::Exact | Knowledge::Above => times.lower[row],
                Knowledge::Below => times.upper[row],
                Knowledge::Between => 0.5 * times.lower[row] + 0.5 * times.upper[row],
            })
            .collect();
        let half_width: Vec<f64> = (0..n)
            .map(|row| match knowledge[row] {
                Knowledge::Between => 0.5 * (times.upper[row] - times.lower[row]),
                _ => 0.0,
            })
            .collect();
        let mut residuals: Vec<DoubleDouble> =
            middle.iter().map(|&v| DoubleDouble::from(v)).collect();
        let mut coordinates = basis.project_out(&mut residuals);
        let root_n = (n as f64).sqrt();
        let largest = middle.iter().fold(0.0, |size: f64, v| size.max(v.abs()));
        let mut spread = crate::orthogonal::norm(&residuals).value() / root_n;
        if spread <= 1e-14 * largest {
            let widest = half_width.iter().fold(0.0, |size: f64, h| size.max(*h));
            if widest == 0.0 {
                return Err(StatsError::ExactFit);
            }
            spread = widest;
        }
        let likelihood = Likelihood {
            rows: DMatrix::from_fn(n, k, |row, column| basis.q[column][row].value() * root_n),
            middle: residuals.iter().map(|r| r.value() / spread).collect(),
            half_width: half_width.iter().map(|h| h / spread).collect(),
            knowledge,
        };
        let maximum = likelihood.maximum().map_err(|failure| match failure {
            Failure::Exact => StatsError::ExactFit,
            Failure::Wide => StatsError::NoMaximum { term: "the scale".to_owned() },
            Failure::Flat(direction) => {
                StatsError::NoMaximum { term: leading_term(design, &basis, &direction) }
            }
        })?;

        let scale_of_delta = root_n * spread;
        let theta = maximum.parameters[k];
        for (coordinate, delta) in coordinates.iter_mut().zip(maximum.parameters.iter()) {
            *coordinate += DoubleDouble::from(scale_of_delta * delta / theta);
        }
        let bread = maximum.information.try_inverse().ok_or(StatsError::ExactFit)?;
        let robust = kind.covariance(
            bread,
            n,
            |row| likelihood.score(row, &maximum.parameters),
            |rows| likelihood.derivatives_of(rows.iter().copied(), &maximum.parameters).1,
        )?;
        let jacobian = to_coordinates(&maximum.parameters, scale_of_delta);
        let joint = &jacobian * &robust.covariance * jacobian.transpose();
        // From the residual in units of the spread to the outcome itself.
        let of_spread: f64 = (0..n)
            .filter(|&row| times.knowledge(row) == Knowledge::Exact)
            .map(|_| spread.ln())
            .sum();
        let (covariance, joint_covariance) = to_terms(&basis, &joint, k);
        let mut estimates = Estimates::new(
            design.terms().to_vec(),
            basis.coefficients(&coordinates),
            covariance,
            robust.df,
            maximum.value - of_spread,
        )?;
        // From weights of the terms to δ and θ, and on to the coordinates of the clusters.
        let freedom = robust.clusters.map(|(clusters, to_own)| {
            let of_place = jacobian.rows(0, k).transpose() * basis.to_coordinates();
            let of_scale = jacobian.row(k).transpose();
            (clusters, &to_own * of_place, to_own * of_scale)
        });
        if let Some((clusters, of_place, _)) = &freedom {
            estimates = estimates.with_clusters(clusters.clone(), of_place.clone());
        }
        Ok(Self {
            estimates,
            n,
            exact: times.exact(),
            clusters: kind.clusters(),
            sigma: spread / theta,
            joint_covariance,
            freedom,
        })
    }

    /// The value that a share `p` of outcomes with the covariates `row` (one value a term) stays
    /// below, with standard error by the delta method.
    ///
    /// # Errors
    /// A row of the wrong length or not finite; [`StatsError::BadArgument`] unless `p` lies strictly
    /// between 0 and 1; [`StatsError::Overflow`].
    pub fn quantile(&self, row: &[f64], p: f64) -> Result<Estimate, StatsError> {
        if !(p > 0.0 && p < 1.0) {
            return Err(StatsError::BadArgument {
                name: "p",
                value: p,
                expected: "the probability of a quantile lies strictly between 0 and 1",
            });
        }
        let place = self.estimates.linear_combination(row)?;
        let z = Normal::new(0.0, 1.0).map_or(f64::NAN, |normal| normal.inverse_cdf(p));
        let estimate = place.estimate + self.sigma * z;
        let std_error = self.error_along(row, self.sigma * z);
        if !(estimate.is_finite() && std_error.is_finite()) {
            return Err(StatsError::Overflow { what: "the quantile".to_owned() });
        }
        let df = self.freedom.as_ref().map_or(place.df, |(clusters, of_place, of_scale)| {
            let along = of_place * DVector::from_column_slice(row) + of_scale * (self.sigma * z);
            clusters.df(&along)
        });
        Ok(Estimate { estimate, std_error, df })
    }

    /// Standard error of row·β + weight · ln σ.
    fn error_along(&self, row: &[f64], weight: f64) -> f64 {
        let k = row.len();
        let along = DVector::from_fn(k + 1, |j, _| if j < k { row[j] } else { weight });
        along.dot(&(&self.joint_covariance * &along)).max(0.0).sqrt()
    }
}

/// From δ and θ to the coordinates scale · δ/θ and ln σ = constant − ln θ. The score is zero at the
/// maximum, so the information changes by this Jacobian alone.
fn to_coordinates(parameters: &DVector<f64>, scale: f64) -> DMatrix<f64> {
    let k = parameters.len() - 1;
    let theta = parameters[k];
    let mut jacobian = DMatrix::zeros(k + 1, k + 1);
    for j in 0..k {
        jacobian[(j, j)] = scale / theta;
        jacobian[(j, k)] = -scale * parameters[j] / (theta * theta);
    }
    jacobian[(k, k)] = -1.0 / theta;
    jacobian
}

/// Covariance of the terms, and of the terms with ln σ.
fn to_terms(
    basis: &Orthogonal,
    joint: &DMatrix<f64>,
    k: usize,
) -> (Vec<DoubleDouble>, DMatrix<f64>) {
    let block: Vec<DoubleDouble> =
        (0..k * k).map(|i| DoubleDouble::from(joint[(i / k, i % k)])).collect();
    let covariance = basis.covariance(&block);
    let with_scale: Vec<DoubleDouble> = (0..k).map(|j| DoubleDouble::from(joint[(j, k)])).collect();
    let with_scale = basis.coefficients(&with_scale);
    let whole = DMatrix::from_fn(k + 1, k + 1, |row, column| match (row == k, column == k) {
        (false, false) => covariance[row * k + column].value(),
        (false, true) => with_scale[row].value(),
        (true, false) => with_scale[column].value(),
        (true, true) => joint[(k, k)],
    });
    (covariance, whole)
}

/// The term that moves the fit most along a direction of δ.
fn leading_term(design: &Design, basis: &Orthogonal, direction: &DVector<f64>) -> String {
    let coordinates: Vec<DoubleDouble> =
        direction.iter().take(basis.len()).map(|&d| DoubleDouble::from(d)).collect();
    let coefficients = basis.coefficients(&coordinates);
    let reach = |position: usize| {
        let column = &design.columns()[position];
        let middle = column.iter().sum::<f64>() / column.len() as f64;
        let centre = if design.intercept_position() == Some(position) { 0.0 } else { middle };
        let widest = column.iter().fold(0.0, |size: f64, x| size.max((x - centre).abs()));
        coefficients[position].value().abs() * widest
    };
    let lead = (1..basis.len()).fold(0, |best, j| if reach(j) > reach(best) { j } else { best });
    design.terms()[lead].clone()
}

#[cfg(test)]
mod right_censored_tests;
#[cfg(test)]
mod tests;
