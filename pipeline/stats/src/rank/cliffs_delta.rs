//! Cliff's delta.

use crate::distribution::normal_quantile;
use crate::error::{StatsError, require_finite, require_level};
use crate::estimates::Interval;

/// Cliff's delta, P(X > Y) − P(X < Y): by how much the first sample is the larger oftener than the
/// smaller. It is ±1 where the samples do not overlap (Cliff 1993, "Dominance statistics: ordinal
/// analyses to answer ordinal questions", Psychological Bulletin 114, 494–509).
///
/// ```
/// use stats::rank::CliffsDelta;
///
/// let delta = CliffsDelta::new(&[3.0, 5.0, 7.0, 8.0], &[1.0, 4.0, 5.0, 6.0])?;
/// assert_eq!(delta.estimate(), 7.0 / 16.0);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CliffsDelta {
    estimate: f64,
    smaller_size: usize,
    variance: f64,
}

impl CliffsDelta {
    /// Compares two samples of independent values. Time is that of sorting.
    ///
    /// # Errors
    /// An empty sample, or a value that is not finite.
    pub fn new(x: &[f64], y: &[f64]) -> Result<Self, StatsError> {
        require_finite("the first sample", x)?;
        require_finite("the second sample", y)?;
        let (m, n) = (x.len() as f64, y.len() as f64);
        let (of_x, pairs_untied) = dominance(x, y);
        let (of_y, _) = dominance(y, x);
        let estimate = of_x.iter().sum::<f64>() / (m * n);
        // The unbiased estimate of the variance, from the deviations of the row means, column means
        // and cells of the matrix of signs; never below its floor (Cliff 1993, eq. 8 and after).
        let spread = |sums: &[f64], others: f64, mean: f64| {
            sums.iter().map(|sum| (sum / others - mean).powi(2)).sum::<f64>()
        };
        let rows = spread(&of_x, n, estimate);
        let columns = spread(&of_y, m, -estimate);
        let cells = pairs_untied - m * n * estimate * estimate;
        let unbiased = (n * n * rows + m * m * columns - cells) / (m * n * (m - 1.0) * (n - 1.0));
        let floor = (1.0 - estimate * estimate) / (m * n - 1.0);
        let variance = if x.len() < 2 || y.len() < 2 { f64::INFINITY } else { unbiased.max(floor) };
        Ok(Self { estimate, smaller_size: x.len().min(y.len()), variance })
    }

    /// The estimate, −1 to 1.
    pub fn estimate(&self) -> f64 {
        self.estimate
    }

    /// P(X > Y) + P(X = Y)/2, the chance that a value of the first sample is the larger: 0 to 1.
    pub fn probability_of_superiority(&self) -> f64 {
        0.5 * (1.0 + self.estimate)
    }

    /// Its interval, (d − d³ ± z s √((1 − d²)² + z² s²)) / (1 − d² + z² s²) with s² the unbiased
    /// variance: asymmetric, and within −1 to 1. Without overlap, where s is zero, the inner end is
    /// ±(b − z²)/(b + z²) with b the smaller sample size. Feng & Cliff (2004), "Monte Carlo
    /// evaluation of ordinal d with improved confidence interval", Journal of Modern Applied
    /// Statistical Methods 3, 322–332.
    ///
    /// # Errors
    /// A level outside 0 to 1, or a sample of one value ([`StatsError::TooFewRows`]).
    pub fn interval(&self, level: f64) -> Result<Interval, StatsError> {
        require_level(level)?;
        if self.smaller_size < 2 {
            return Err(StatsError::TooFewRows {
                what: "the interval of Cliff's delta".to_owned(),
                needed: 2,
                found: self.smaller_size,
            });
        }
        let z = normal_quantile(0.5 + 0.5 * level);
        let d = self.estimate;
        if d.abs() == 1.0 {
            let b = self.smaller_size as f64;
            let inner = (b - z * z) / (b + z * z);
            return Ok(if d > 0.0 {
                Interval { lo: inner, hi: 1.0 }
            } else {
                Interval { lo: -1.0, hi: -inner }
            });
        }
        let apart = 1.0 - d * d;
        let reach_squared = z * z * self.variance;
        let reach = (reach_squared * (apart * apart + reach_squared)).sqrt();
        let end = |reach: f64| ((d * apart + reach) / (apart + reach_squared)).clamp(-1.0, 1.0);
        Ok(Interval { lo: end(-reach), hi: end(reach) })
    }
}

/// For each value of `x`: how many of `y` are smaller less how many are larger. And the number of
/// pairs that differ.
fn dominance(x: &[f64], y: &[f64]) -> (Vec<f64>, f64) {
    let mut sorted = y.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let mut untied = 0.0;
    let sums = x
        .iter()
        .map(|value| {
            let smaller = sorted.partition_point(|other| other < value);
            let larger = sorted.len() - sorted.partition_point(|other| other <= value);
            untied += (smaller + larger) as f64;
            smaller as f64 - larger as f64
        })
        .collect();
    (sums, untied)
}
