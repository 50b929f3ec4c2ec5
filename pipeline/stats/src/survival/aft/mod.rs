//! Accelerated failure time, and other location-scale regressions with censored outcomes.

mod likelihood;
mod standard;

use super::censored_times::{CensoredTimes, Knowledge};
use super::curve::SurvivalPoint;
use super::followup::case_weights;
use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_finite, require_length};
use crate::estimates::{Estimate, Estimates};
use crate::least_squares::Clusters;
use crate::orthogonal::Orthogonal;
use likelihood::{Failure, Likelihood};
use nalgebra::{DMatrix, DVector};
use standard::Standard;

/// Distribution of the outcome about its location x′β.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeDistribution {
    /// ln T = x′β + σ·W with exp(W) standard exponential: hazards are proportional too, with log
    /// hazard ratios −β/σ, and 1/σ is Weibull's shape.
    Weibull,
    /// Weibull with σ = 1: constant hazard.
    Exponential,
    /// ln T normal with standard deviation σ.
    LogNormal,
    /// ln T logistic with scale σ: odds of having survived are proportional.
    LogLogistic,
    /// T itself normal with standard deviation σ.
    Normal,
    /// T itself logistic with scale σ.
    Logistic,
}

impl TimeDistribution {
    fn standard(self) -> Standard {
        match self {
            Self::Weibull | Self::Exponential => Standard::SmallestExtreme,
            Self::LogNormal | Self::Normal => Standard::Normal,
            Self::LogLogistic | Self::Logistic => Standard::Logistic,
        }
    }

    fn of_logarithm(self) -> bool {
        !matches!(self, Self::Normal | Self::Logistic)
    }
}

/// A fitted regression of an outcome or its logarithm, y = x′β + σW, with outcomes that may be
/// known exactly, to lie above, below or between bounds; by maximum likelihood.
///
/// For times, exp(β) is the factor by which a covariate stretches them: the accelerated failure
/// time model, Kalbfleisch & Prentice (2002), The Statistical Analysis of Failure Time Data, 2nd
/// ed., chapter 3. With an intercept only it fits a distribution. Fitted in β/σ and 1/σ, in which
/// the log-likelihood is concave.
///
/// Assumes the distribution, one σ for all rows, and that bounds tell nothing of the outcome but
/// that it lies between them.
///
/// ```
/// use stats::{AcceleratedFailureTime, CensoredTimes, Design, TimeDistribution};
///
/// let hours = [4.0, 6.0, 7.0, 9.0, 10.0, 14.0];
/// let done = [true, true, true, true, false, true];
/// let large = [0.0, 0.0, 1.0, 0.0, 1.0, 1.0];
/// let design = Design::new(6).intercept()?.numeric("large", &large)?;
/// let times = CensoredTimes::right_censored(&hours, &done)?;
/// let fit =
///     AcceleratedFailureTime::fit(&design, &times, TimeDistribution::Weibull, None, None)?;
/// assert!(fit.estimates.term("large")?.estimate > 0.0);
/// let median = fit.quantile(&[1.0, 1.0], 0.5)?;
/// let there = fit.survival(&[1.0, 1.0], &[median.estimate])?[0];
/// assert!((there.survival - 0.5).abs() < 1e-12);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct AcceleratedFailureTime {
    /// Coefficients, covariance, predictions of the location, log-likelihood of the outcome itself
    /// (not of its logarithm). Degrees of freedom are infinite (the normal) for the model-based
    /// covariance and G − 1 for G clusters.
    pub estimates: Estimates,
    /// The distribution.
    pub distribution: TimeDistribution,
    /// Rows.
    pub n: usize,
    /// Rows whose outcome is known exactly.
    pub exact: usize,
    /// Clusters, if the covariance is clustered.
    pub clusters: Option<usize>,
    /// σ; one for the exponential.
    pub scale: f64,
    /// ln σ, whose sampling distribution is nearer to normal than that of σ. Zero without error for
    /// the exponential.
    pub log_scale: Estimate,
    joint_covariance: DMatrix<f64>,
}

impl AcceleratedFailureTime {
    /// Fits. `weights` (one a row, not negative) multiply log-likelihoods. With `clusters` (one
    /// label a row) the covariance is the sandwich H⁻¹(Σ sₘsₘ′)H⁻¹ · G/(G − 1) with sₘ the score
    /// summed over a cluster, as in [`crate::CensoredGaussian::fit`]; without, it is the inverse of
    /// the observed information H.
    ///
    /// # Errors
    /// Wrong lengths; bad weights; too few rows; constant or collinear columns;
    /// [`StatsError::NotPositive`] under a logarithm; [`StatsError::AllCensored`] where all outcomes
    /// are censored on the same side; [`StatsError::NoMaximum`] where a coefficient or the scale
    /// runs off; [`StatsError::ExactFit`]; fewer than two clusters.
    pub fn fit(
        design: &Design,
        times: &CensoredTimes,
        distribution: TimeDistribution,
        weights: Option<&[f64]>,
        clusters: Option<&[usize]>,
    ) -> Result<Self, StatsError> {
        let n = design.rows();
        let k = design.terms().len();
        require_length("the outcome", n, times.rows())?;
        let weights = case_weights(weights, n)?;
        let scales = usize::from(distribution != TimeDistribution::Exponential);
        if n < k + scales {
            return Err(StatsError::TooFewRows {
                what: format!("a fit of {k} terms and a distribution"),
                needed: k + scales,
                found: n,
            });
        }
        let outcome = if distribution.of_logarithm() { times.ln()? } else { times.clone() };
        let knowledge: Vec<Knowledge> = (0..n).map(|row| outcome.knowledge(row)).collect();
        for side in [Knowledge::Above, Knowledge::Below] {
            if knowledge.iter().zip(&weights).all(|(&own, &weight)| own == side || weight == 0.0) {
                return Err(StatsError::AllCensored { rows: n });
            }
        }
        let clusters = clusters.map(|labels| Clusters::new(labels, n)).transpose()?;
        let basis = Orthogonal::new(design)?;

        // Start from least squares on the middle of what is known; all else is relative to it.
        let middle: Vec<f64> = (0..n)
            .map(|row| match knowledge[row] {
                Knowledge::Exact | Knowledge::Above => outcome.lower[row],
                Knowledge::Below => outcome.upper[row],
                Knowledge::Between => 0.5 * outcome.lower[row] + 0.5 * outcome.upper[row],
            })
            .collect();
        let half_width: Vec<f64> = (0..n)
            .map(|row| match knowledge[row] {
                Knowledge::Between => 0.5 * (outcome.upper[row] - outcome.lower[row]),
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
        let exponential = distribution == TimeDistribution::Exponential;
        let likelihood = Likelihood {
            standard: distribution.standard(),
            rows: DMatrix::from_fn(n, k, |row, column| basis.q[column][row].value() * root_n),
            middle: residuals.iter().map(|r| r.value() / spread).collect(),
            half_width: half_width.iter().map(|h| h / spread).collect(),
            knowledge,
            weights,
            fixed: exponential.then_some(spread),
        };
        let found = likelihood.maximum().map_err(|failure| match failure {
            Failure::Exact => StatsError::ExactFit,
            Failure::Wide => StatsError::NoMaximum { term: "the scale".to_owned() },
            Failure::Flat(direction) => {
                StatsError::NoMaximum { term: leading_term(design, &basis, &direction) }
            }
        })?;

        let scale_of_delta = root_n * spread;
        let theta = found.parameters[k];
        for (coordinate, delta) in coordinates.iter_mut().zip(found.parameters.iter()) {
            *coordinate += DoubleDouble::from(scale_of_delta * delta / theta);
        }
        let bread = found.information.try_inverse().ok_or(StatsError::ExactFit)?;
        let inner = match &clusters {
            None => bread,
            Some(clusters) => {
                let mut scores = DMatrix::zeros(likelihood.free(), clusters.count);
                for (row, &cluster) in clusters.positions.iter().enumerate() {
                    let score = likelihood.score(row, &found.parameters);
                    scores.column_mut(cluster).axpy(1.0, &score, 1.0);
                }
                let groups = clusters.count as f64;
                let half = &bread * scores;
                &half * half.transpose() * (groups / (groups - 1.0))
            }
        };
        let joint = to_coordinates(&inner, &found.parameters, scale_of_delta);
        let df = clusters.as_ref().map_or(f64::INFINITY, |c| (c.count - 1) as f64);
        let scale = if exponential { 1.0 } else { spread / theta };
        let log_scale = Estimate {
            estimate: scale.ln(),
            std_error: if exponential { 0.0 } else { joint[(k, k)].max(0.0).sqrt() },
            df,
        };
        // From the residual in units of the spread to the outcome itself.
        let jacobian: f64 = (0..n)
            .filter(|&row| times.knowledge(row) == Knowledge::Exact)
            .map(|row| {
                let stretch = if distribution.of_logarithm() { outcome.lower[row] } else { 0.0 };
                likelihood.weights[row] * (spread.ln() + stretch)
            })
            .sum();
        let (covariance, joint_covariance) = to_terms(&basis, &joint, k);
        Ok(Self {
            estimates: Estimates::new(
                design.terms().to_vec(),
                basis.coefficients(&coordinates),
                covariance,
                df,
                found.value - jacobian,
            )?,
            distribution,
            n,
            exact: times.exact(),
            clusters: clusters.map(|c| c.count),
            scale,
            log_scale,
            joint_covariance,
        })
    }

    /// Covariance of the coefficients and, last, ln σ; (terms + 1) × (terms + 1). For the
    /// exponential, which has no ln σ to estimate, its row and column are zero.
    pub fn joint_covariance(&self) -> &DMatrix<f64> {
        &self.joint_covariance
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
        let z = self.distribution.standard().quantile(p);
        let y = place.estimate + self.scale * z;
        let error = self.error_along(row, self.scale * z);
        let (estimate, std_error) =
            if self.distribution.of_logarithm() { (y.exp(), y.exp() * error) } else { (y, error) };
        if !(estimate.is_finite() && std_error.is_finite()) {
            return Err(StatsError::Overflow { what: "the quantile".to_owned() });
        }
        Ok(Estimate { estimate, std_error, df: place.df })
    }

    /// Probability that an outcome with the covariates `row` exceeds each of `times`, with standard
    /// error by the delta method.
    ///
    /// # Errors
    /// A row of the wrong length or not finite; a time that is not finite.
    pub fn survival(&self, row: &[f64], times: &[f64]) -> Result<Vec<SurvivalPoint>, StatsError> {
        let place = self.estimates.linear_combination(row)?.estimate;
        if !times.is_empty() {
            require_finite("the times", times)?;
        }
        let standard = self.distribution.standard();
        let point = |&time: &f64| {
            if self.distribution.of_logarithm() && time <= 0.0 {
                return SurvivalPoint { time, survival: 1.0, std_error: 0.0 };
            }
            let y = if self.distribution.of_logarithm() { time.ln() } else { time };
            let z = (y - place) / self.scale;
            // z moves by −(x′dβ + (y − location) d ln σ)/σ.
            let error = self.error_along(row, y - place) / self.scale;
            let density = standard.ln_density(z).value.exp();
            SurvivalPoint {
                time,
                survival: standard.ln_survival(z).exp(),
                std_error: if density > 0.0 { density * error } else { 0.0 },
            }
        };
        Ok(times.iter().map(point).collect())
    }

    /// Standard error of row·β + weight · ln σ.
    fn error_along(&self, row: &[f64], weight: f64) -> f64 {
        let k = row.len();
        let along = DVector::from_fn(k + 1, |j, _| if j < k { row[j] } else { weight });
        along.dot(&(&self.joint_covariance * &along)).max(0.0).sqrt()
    }
}

/// Covariance in δ and θ to the coordinates scale · δ/θ and ln σ = constant − ln θ. The score is
/// zero at the maximum, so the information changes by the Jacobian alone.
fn to_coordinates(inner: &DMatrix<f64>, parameters: &DVector<f64>, scale: f64) -> DMatrix<f64> {
    let k = parameters.len() - 1;
    let theta = parameters[k];
    let mut jacobian = DMatrix::zeros(k + 1, inner.nrows());
    for j in 0..k {
        jacobian[(j, j)] = scale / theta;
        if inner.nrows() > k {
            jacobian[(j, k)] = -scale * parameters[j] / (theta * theta);
        }
    }
    if inner.nrows() > k {
        jacobian[(k, k)] = -1.0 / theta;
    }
    &jacobian * inner * jacobian.transpose()
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
#[path = "tests.rs"]
mod tests;
