//! Gaussian regression with right-censored outcomes, by maximum likelihood.

use crate::design::Design;
use crate::distribution::{ln_sqrt_two_pi, upper_tail};
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_finite, require_length};
use crate::estimates::{Estimate, Estimates};
use crate::least_squares::Clusters;
use crate::orthogonal::Orthogonal;
use nalgebra::{DMatrix, DVector};

/// A fitted regression y = Xβ + σe with normal errors e, where some outcomes are only known to
/// exceed the value given.
///
/// Model: Tobin (1958), "Estimation of relationships for limited dependent variables", Econometrica
/// 26, 24–36, with a limit of its own in every row. Fitted in the parameters β/σ and 1/σ of Olsen
/// (1978), "Note on the uniqueness of the maximum likelihood estimator for the Tobit model",
/// Econometrica 46, 1211–1215, in which the log-likelihood is concave, by Newton's method with a
/// line search.
///
/// ```
/// use stats::{CensoredGaussian, Design};
///
/// let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
/// let minutes = [12.0, 19.0, 33.0, 41.0, 45.0, 50.0];
/// let observed = [true, true, true, true, true, false]; // the last went on beyond 50
/// let design = Design::new(6).intercept()?.numeric("x", &x)?;
/// let fit = CensoredGaussian::fit(&design, &minutes, &observed, None)?;
/// assert_eq!(fit.events, 5);
/// assert!(fit.estimates.term("x")?.estimate > 8.0);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CensoredGaussian {
    /// Coefficients, covariance, predictions, log-likelihood. Degrees of freedom are infinite (the
    /// normal) for the model-based covariance and G − 1 for G clusters.
    pub estimates: Estimates,
    /// Rows.
    pub n: usize,
    /// Rows whose outcome was observed.
    pub events: usize,
    /// Clusters, if the covariance is clustered.
    pub clusters: Option<usize>,
    /// Standard deviation σ of the errors, by maximum likelihood (divisor n, not n − k).
    pub sigma: f64,
    /// ln σ, whose sampling distribution is nearer to normal than that of σ.
    pub log_sigma: Estimate,
    joint_covariance: DMatrix<f64>,
}

const MOST_ITERATIONS: usize = 200;
/// Information about one direction, a row, below which the likelihood counts as flat. Reached where
/// the rows that bear on a coefficient are all censored more than about seven σ below the fit.
const FLAT: f64 = 1e-10;
/// σ as a part of the spread about the starting line below which the fit counts as exact: the
/// information about σ then drowns in rounding.
const EXACT: f64 = 1e-6;

impl CensoredGaussian {
    /// Fits; `observed[i]` is false where the true outcome is only known to be at least `y[i]`.
    ///
    /// With `clusters` (one label a row) the covariance is the sandwich H⁻¹(Σ sₘsₘ′)H⁻¹ · G/(G −
    /// 1), with sₘ the score summed over a cluster and H the observed information: Huber (1967),
    /// Proceedings of the Fifth Berkeley Symposium 1, 221–233, and Rogers (1993), Stata Technical
    /// Bulletin 13, 19–23; without, it is H⁻¹.
    ///
    /// # Errors
    /// Those of [`crate::LeastSquares::fit`]; [`StatsError::AllCensored`];
    /// [`StatsError::NoMaximum`] where a coefficient runs off because only censored rows bear on
    /// it; [`StatsError::ExactFit`].
    pub fn fit(
        design: &Design,
        y: &[f64],
        observed: &[bool],
        clusters: Option<&[usize]>,
    ) -> Result<Self, StatsError> {
        let n = design.rows();
        let k = design.terms().len();
        require_length("the outcome", n, y.len())?;
        require_length("the flags of observation", n, observed.len())?;
        require_finite("the outcome", y)?;
        if n < k + 1 {
            return Err(StatsError::TooFewRows {
                what: format!("a censored regression with {k} terms"),
                needed: k + 1,
                found: n,
            });
        }
        let events = observed.iter().filter(|&&flag| flag).count();
        if events == 0 {
            return Err(StatsError::AllCensored { rows: n });
        }
        let clusters = clusters.map(|labels| Clusters::new(labels, n)).transpose()?;
        let basis = Orthogonal::new(design)?;

        // Start from least squares as if nothing were censored; everything after is relative to it.
        let mut residuals: Vec<DoubleDouble> = y.iter().map(|&v| DoubleDouble::from(v)).collect();
        let mut coordinates = basis.project_out(&mut residuals);
        let largest = y.iter().fold(0.0, |size: f64, v| size.max(v.abs()));
        let root_n = (n as f64).sqrt();
        let spread = crate::orthogonal::norm(&residuals).value() / root_n;
        if spread <= 1e-14 * largest {
            return Err(StatsError::ExactFit);
        }
        let likelihood = Likelihood {
            rows: DMatrix::from_fn(n, k, |row, column| basis.q[column][row].value() * root_n),
            residuals: residuals.iter().map(|r| r.value() / spread).collect(),
            observed,
        };
        let Maximum { parameters, log_likelihood, information } =
            likelihood.maximum().map_err(|reason| reason.into_error(design, &basis))?;

        let scale = root_n * spread;
        let theta = parameters[k];
        for (coordinate, delta) in coordinates.iter_mut().zip(parameters.iter()) {
            *coordinate += DoubleDouble::from(scale * delta / theta);
        }
        let bread = information.try_inverse().ok_or(StatsError::ExactFit)?;
        let inner = match &clusters {
            None => bread,
            Some(clusters) => {
                let mut scores = DMatrix::zeros(k + 1, clusters.count);
                for (row, &cluster) in clusters.positions.iter().enumerate() {
                    let score = likelihood.score(row, &parameters);
                    scores.column_mut(cluster).axpy(1.0, &score, 1.0);
                }
                let groups = clusters.count as f64;
                let half = &bread * scores;
                &half * half.transpose() * (groups / (groups - 1.0))
            }
        };
        // To the coordinates scale · δ/θ and ln σ = ln spread − ln θ. The score is zero at the
        // maximum, so the information changes by the Jacobian alone.
        let mut jacobian = DMatrix::zeros(k + 1, k + 1);
        for j in 0..k {
            jacobian[(j, j)] = scale / theta;
            jacobian[(j, k)] = -scale * parameters[j] / (theta * theta);
        }
        jacobian[(k, k)] = -1.0 / theta;
        let joint = &jacobian * inner * jacobian.transpose();

        let block: Vec<DoubleDouble> =
            (0..k * k).map(|i| DoubleDouble::from(joint[(i / k, i % k)])).collect();
        let covariance = basis.covariance(&block);
        let with_log_sigma: Vec<DoubleDouble> =
            (0..k).map(|j| DoubleDouble::from(joint[(j, k)])).collect();
        let with_log_sigma = basis.coefficients(&with_log_sigma);
        let joint_covariance =
            DMatrix::from_fn(k + 1, k + 1, |row, column| match (row == k, column == k) {
                (false, false) => covariance[row * k + column].value(),
                (false, true) => with_log_sigma[row].value(),
                (true, false) => with_log_sigma[column].value(),
                (true, true) => joint[(k, k)],
            });
        let df = clusters.as_ref().map_or(f64::INFINITY, |c| (c.count - 1) as f64);
        let sigma = spread / theta;
        Ok(Self {
            estimates: Estimates::new(
                design.terms().to_vec(),
                basis.coefficients(&coordinates),
                covariance,
                df,
                log_likelihood - events as f64 * spread.ln(),
            )?,
            n,
            events,
            clusters: clusters.map(|c| c.count),
            sigma,
            log_sigma: Estimate {
                estimate: sigma.ln(),
                std_error: joint[(k, k)].max(0.0).sqrt(),
                df,
            },
            joint_covariance,
        })
    }

    /// Covariance of the coefficients and, last, ln σ; (terms + 1) × (terms + 1).
    pub fn joint_covariance(&self) -> &DMatrix<f64> {
        &self.joint_covariance
    }
}

/// The log-likelihood in δ and θ: zᵢ = θ·residualᵢ − rowᵢ·δ is the outcome less its mean, in units
/// of σ.
struct Likelihood<'a> {
    rows: DMatrix<f64>,
    residuals: Vec<f64>,
    observed: &'a [bool],
}

struct Maximum {
    /// δ, then θ.
    parameters: DVector<f64>,
    log_likelihood: f64,
    information: DMatrix<f64>,
}

/// Why there is no maximum.
enum Reason {
    /// θ grows without end.
    Exact,
    /// δ grows without end, in this direction.
    Flat(DVector<f64>),
}

impl Reason {
    fn into_error(self, design: &Design, basis: &Orthogonal) -> StatsError {
        match self {
            Self::Exact => StatsError::ExactFit,
            Self::Flat(direction) => {
                let coordinates: Vec<DoubleDouble> =
                    direction.iter().take(basis.len()).map(|&d| DoubleDouble::from(d)).collect();
                // Name the term that moves the fit most.
                let reach = |(position, coefficient): (usize, &DoubleDouble)| {
                    let column = &design.columns()[position];
                    let middle = column.iter().sum::<f64>() / column.len() as f64;
                    let centre =
                        if design.intercept_position() == Some(position) { 0.0 } else { middle };
                    let widest =
                        column.iter().fold(0.0, |size: f64, x| size.max((x - centre).abs()));
                    coefficient.value().abs() * widest
                };
                let coefficients = basis.coefficients(&coordinates);
                let mut term = 0;
                let mut most = f64::NEG_INFINITY;
                for item in coefficients.iter().enumerate() {
                    let position = item.0;
                    let size = reach(item);
                    if size > most {
                        (term, most) = (position, size);
                    }
                }
                StatsError::NoMaximum { term: design.terms()[term].clone() }
            }
        }
    }
}

impl Likelihood<'_> {
    fn z(&self, row: usize, parameters: &DVector<f64>) -> f64 {
        let k = self.rows.ncols();
        let fit: f64 = (0..k).map(|j| self.rows[(row, j)] * parameters[j]).sum();
        parameters[k] * self.residuals[row] - fit
    }

    fn value(&self, parameters: &DVector<f64>) -> f64 {
        let theta = parameters[self.rows.ncols()];
        if theta <= 0.0 {
            return f64::NEG_INFINITY;
        }
        let constant = theta.ln() - ln_sqrt_two_pi();
        (0..self.residuals.len())
            .map(|row| {
                let z = self.z(row, parameters);
                if self.observed[row] {
                    constant - 0.5 * z * z
                } else {
                    upper_tail(z).ln_probability
                }
            })
            .sum()
    }

    /// Derivative of zᵢ by the parameters.
    fn gradient_of_z(&self, row: usize) -> DVector<f64> {
        let k = self.rows.ncols();
        DVector::from_fn(
            k + 1,
            |j, _| {
                if j < k { -self.rows[(row, j)] } else { self.residuals[row] }
            },
        )
    }

    fn score(&self, row: usize, parameters: &DVector<f64>) -> DVector<f64> {
        let k = self.rows.ncols();
        let z = self.z(row, parameters);
        if self.observed[row] {
            let mut score = self.gradient_of_z(row) * -z;
            score[k] += 1.0 / parameters[k];
            score
        } else {
            self.gradient_of_z(row) * -upper_tail(z).hazard
        }
    }

    /// Score and observed information.
    fn derivatives(&self, parameters: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let k = self.rows.ncols();
        let theta = parameters[k];
        let mut score = DVector::zeros(k + 1);
        let mut information = DMatrix::zeros(k + 1, k + 1);
        for row in 0..self.residuals.len() {
            score += self.score(row, parameters);
            let gradient = self.gradient_of_z(row);
            let weight = if self.observed[row] {
                information[(k, k)] += 1.0 / (theta * theta);
                1.0
            } else {
                let z = self.z(row, parameters);
                let hazard = upper_tail(z).hazard;
                hazard * (hazard - z)
            };
            information.ger(weight, &gradient, &gradient, 1.0);
        }
        (score, information)
    }

    fn maximum(&self) -> Result<Maximum, Reason> {
        let k = self.rows.ncols();
        let n = self.residuals.len() as f64;
        let mut parameters = DVector::zeros(k + 1);
        parameters[k] = 1.0;
        let mut value = self.value(&parameters);
        let mut last_step = DVector::zeros(k + 1);
        for _ in 0..MOST_ITERATIONS {
            let (score, information) = self.derivatives(&parameters);
            let theta: f64 = parameters[k];
            if theta > 1.0 / EXACT {
                return Err(Reason::Exact);
            }
            let lost = |direction| {
                if theta > 1e-2 / EXACT { Reason::Exact } else { Reason::Flat(direction) }
            };
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
                let trial = &parameters + &step * part;
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
            if part == 1.0 && step.amax() <= 1e-10 * size {
                let (_, information) = self.derivatives(&parameters);
                return Ok(Maximum {
                    log_likelihood: self.value(&parameters),
                    parameters,
                    information,
                });
            }
            last_step = step;
        }
        Err(Reason::Flat(last_step))
    }
}

#[cfg(test)]
#[path = "censored_tests.rs"]
mod tests;
