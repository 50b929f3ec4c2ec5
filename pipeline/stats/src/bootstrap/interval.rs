//! Bootstrap intervals.

use super::Bootstrap;
use crate::describe::mean;
use crate::distribution::{normal_cdf, normal_quantile};
use crate::error::{StatsError, require_level};
use crate::estimates::Interval;

/// Kind of a bootstrap interval. Sources: Efron & Tibshirani (1993), An Introduction to the
/// Bootstrap, chapters 12–14; Davison & Hinkley (1997), Bootstrap Methods and their Application,
/// chapter 5.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IntervalKind {
    /// Estimate less bias ± z · standard error.
    Normal,
    /// Quantiles of the replicates.
    Percentile,
    /// Quantiles of the replicates turned round the estimate, 2t − t*.
    Basic,
    /// Quantiles of the replicates at levels corrected for bias and acceleration (Efron 1987,
    /// "Better bootstrap confidence intervals", Journal of the American Statistical Association 82,
    /// 171–185): the one to report.
    Bca,
}

/// How a quantile lies between the sorted replicates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum QuantileRule {
    /// At position (B + 1)p, linear between replicates: type 6 of Hyndman & Fan (1996).
    #[default]
    Type6,
    /// At position (B − 1)p + 1, linear: type 7, as in [`crate::describe::quantile`].
    Type7,
    /// At position (B + 1)p, linear on the scale of normal quantiles (Davison & Hinkley 1997,
    /// eq. 5.8).
    NormalScale,
}

/// A bootstrap interval and where it was read off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BootstrapInterval {
    /// The interval.
    pub ends: Interval,
    /// Probabilities of the quantiles of the replicates behind the lower and the upper end.
    pub probabilities: (f64, f64),
    /// Whether a probability lies beyond the outermost replicates, whose place they then take: draw
    /// more resamples.
    pub beyond_replicates: bool,
}

impl Bootstrap {
    /// Bias correction z₀ = Φ⁻¹(share of replicates below the estimate) (Efron & Tibshirani 1993,
    /// eq. 14.14). Replicates equal to the estimate are not below it, so for a statistic with few
    /// values, such as a median of coarse data, it is biased downwards and percentile intervals are
    /// the better choice.
    ///
    /// # Errors
    /// [`StatsError::NoBiasCorrection`] if no replicate, or every one, lies below the estimate.
    pub fn bias_correction(&self) -> Result<f64, StatsError> {
        let below = self.sorted.partition_point(|&replicate| replicate < self.estimate);
        if below == 0 || below == self.sorted.len() {
            let reason = "all replicates lie on one side of the estimate";
            return Err(StatsError::NoBiasCorrection { reason });
        }
        Ok(normal_quantile(below as f64 / self.sorted.len() as f64))
    }

    /// The interval of a kind at a level, 0.95 for 95 %. Where all replicates equal the estimate it
    /// is that one value. The rule has no bearing on [`IntervalKind::Normal`].
    ///
    /// # Errors
    /// A level outside 0 to 1; for [`IntervalKind::Bca`] [`StatsError::NoBiasCorrection`] where the replicates do not
    /// surround the estimate or the acceleration is too large for the level.
    pub fn interval(
        &self,
        kind: IntervalKind,
        level: f64,
        rule: QuantileRule,
    ) -> Result<BootstrapInterval, StatsError> {
        require_level(level)?;
        let lower = 0.5 * (1.0 - level);
        let plain = (lower, 1.0 - lower);
        let (first, last) = (self.sorted[0], self.sorted[self.sorted.len() - 1]);
        if first == self.estimate && last == self.estimate {
            let ends = Interval { lo: first, hi: last };
            return Ok(BootstrapInterval { ends, probabilities: plain, beyond_replicates: false });
        }
        let (lo, hi) = match kind {
            IntervalKind::Normal => {
                let centre = 2.0 * self.estimate - mean(&self.replicates)?;
                let reach = normal_quantile(plain.1) * self.standard_error();
                let ends = Interval { lo: centre - reach, hi: centre + reach };
                let probabilities = plain;
                return Ok(BootstrapInterval { ends, probabilities, beyond_replicates: false });
            }
            IntervalKind::Percentile | IntervalKind::Basic => plain,
            IntervalKind::Bca => self.corrected(plain)?,
        };
        let (low, low_beyond) = self.quantile(lo, rule);
        let (high, high_beyond) = self.quantile(hi, rule);
        let ends = if kind == IntervalKind::Basic {
            Interval { lo: 2.0 * self.estimate - high, hi: 2.0 * self.estimate - low }
        } else {
            Interval { lo: low, hi: high }
        };
        let beyond_replicates = low_beyond || high_beyond;
        Ok(BootstrapInterval { ends, probabilities: (lo, hi), beyond_replicates })
    }

    /// Φ(z₀ + (z₀ + z)/(1 − a(z₀ + z))) for both probabilities (Efron & Tibshirani 1993, eq. 14.10).
    fn corrected(&self, plain: (f64, f64)) -> Result<(f64, f64), StatsError> {
        let (bias, acceleration) = (self.bias_correction()?, self.acceleration());
        let correct = |probability: f64| {
            let z = bias + normal_quantile(probability);
            let shrunk = 1.0 - acceleration * z;
            if shrunk <= 0.0 {
                let reason = "the acceleration is too large for this level";
                return Err(StatsError::NoBiasCorrection { reason });
            }
            Ok(normal_cdf(bias + z / shrunk))
        };
        Ok((correct(plain.0)?, correct(plain.1)?))
    }

    /// Quantile of the replicates, and whether it lies beyond them.
    fn quantile(&self, probability: f64, rule: QuantileRule) -> (f64, bool) {
        let count = self.sorted.len();
        let n = count as f64;
        let position = match rule {
            QuantileRule::Type6 | QuantileRule::NormalScale => (n + 1.0) * probability,
            QuantileRule::Type7 => (n - 1.0) * probability + 1.0,
        };
        if position < 1.0 {
            return (self.sorted[0], true);
        }
        let below = position.floor() as usize;
        if below >= count {
            return (self.sorted[count - 1], position > n);
        }
        let (low, high) = (self.sorted[below - 1], self.sorted[below]);
        let fraction = match rule {
            QuantileRule::Type6 | QuantileRule::Type7 => position - below as f64,
            QuantileRule::NormalScale => {
                let at = |rank: usize| normal_quantile(rank as f64 / (n + 1.0));
                let start = at(below);
                (normal_quantile(probability) - start) / (at(below + 1) - start)
            }
        };
        ((low + fraction * (high - low)).clamp(low, high), false)
    }
}
