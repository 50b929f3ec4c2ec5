//! Gaussian regression with right-censored outcomes, by maximum likelihood.

use crate::design::Design;
use crate::error::{StatsError, require_finite, require_length};
use crate::estimates::{Estimate, Estimates};
use crate::survival::{AcceleratedFailureTime, CensoredTimes, TimeDistribution};
use nalgebra::DMatrix;

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
        require_length("the outcome", n, y.len())?;
        require_length("the flags of observation", n, observed.len())?;
        require_finite("the outcome", y)?;
        let times = CensoredTimes::right_censored(y, observed)?;
        let normal = TimeDistribution::Normal;
        let fit = AcceleratedFailureTime::fit(design, &times, normal, None, clusters)?;
        Ok(Self {
            joint_covariance: fit.joint_covariance().clone(),
            estimates: fit.estimates,
            n,
            events: fit.exact,
            clusters: fit.clusters,
            sigma: fit.scale,
            log_sigma: fit.log_scale,
        })
    }

    /// Covariance of the coefficients and, last, ln σ; (terms + 1) × (terms + 1).
    pub fn joint_covariance(&self) -> &DMatrix<f64> {
        &self.joint_covariance
    }
}

#[cfg(test)]
#[path = "censored_tests.rs"]
mod tests;
