//! Hodges–Lehmann estimates of shift and centre, with the intervals of the rank tests.

use super::NullDistribution;
use super::exact::SumDistribution;
use super::selection::{Differences, WalshAverages};
use crate::distribution::{normal_cdf, normal_quantile};
use crate::error::{StatsError, require_finite, require_level};
use crate::estimates::Interval;

/// An estimate of location with the interval that a rank test leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocationEstimate {
    /// The estimate, in the unit of the values.
    pub estimate: f64,
    /// Its interval: all values that the test does not reject. Infinite ends where no interval
    /// between values of the data reaches the level.
    pub interval: Interval,
    /// The level that the interval has, at least the one asked for; exact levels come in steps.
    pub achieved_level: f64,
    /// Whether the interval comes from the exact distribution.
    pub exact: bool,
}

/// Shift between two samples, first − second: the median of all differences (Hodges & Lehmann 1963,
/// "Estimates of location based on rank tests", Annals of Mathematical Statistics 34, 598–611), with
/// the interval that inverts the rank-sum test. It assumes that the two distributions differ in
/// location alone.
///
/// The interval runs between order statistics of the differences and contains its ends. With ties
/// its level is at least the one given (Noether 1967, "Wilcoxon confidence intervals for location
/// parameters in the discrete case", Journal of the American Statistical Association 62, 184–188).
/// Large samples, as in [`NullDistribution::Automatic`], take its ranks from the normal
/// approximation. Time is proportional to m + n, not to m·n.
///
/// # Errors
/// An empty sample, a value that is not finite, or a level outside 0 to 1.
pub fn hodges_lehmann_shift(
    x: &[f64],
    y: &[f64],
    level: f64,
) -> Result<LocationEstimate, StatsError> {
    require_finite("the first sample", x)?;
    require_finite("the second sample", y)?;
    require_level(level)?;
    let (x, y) = (sorted(x), sorted(y));
    let differences = Differences { x: &x, y: &y };
    let untied: Vec<u64> = (1..=(x.len() + y.len()) as u64).collect();
    let size = x.len().min(y.len());
    let steps = SumDistribution::steps_of_subset(&untied, size);
    let ends = if NullDistribution::Automatic.is_exact(steps) {
        Ends::exact(&SumDistribution::of_subset(&untied, size), level)
    } else {
        let (m, n) = (x.len() as f64, y.len() as f64);
        Ends::normal(0.5 * m * n, m * n * (m + n + 1.0) / 12.0, level)
    };
    Ok(ends.locate(differences.len(), |rank| differences.of_rank(rank)))
}

/// Centre of one sample: the median of the averages of all pairs of values, each value with itself
/// too (Hodges & Lehmann 1963), with the interval that inverts the signed-rank test. It assumes a
/// symmetric distribution; for pairs, give their differences.
///
/// Zeros stay in, for they are zero under one hypothesis only. Ends, ties and large samples as in
/// [`hodges_lehmann_shift`].
///
/// # Errors
/// An empty sample, a value that is not finite, or a level outside 0 to 1.
///
/// ```
/// use stats::rank::hodges_lehmann;
///
/// let centre = hodges_lehmann(&[1.0, 2.0, 4.0, 8.0, 9.0, 12.0], 0.95)?;
/// assert_eq!(centre.estimate, 6.0);
/// assert_eq!((centre.interval.lo, centre.interval.hi), (1.0, 12.0));
/// assert_eq!(centre.achieved_level, 1.0 - 2.0 / 64.0);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn hodges_lehmann(values: &[f64], level: f64) -> Result<LocationEstimate, StatsError> {
    require_finite("the sample", values)?;
    require_level(level)?;
    let values = sorted(values);
    let averages = WalshAverages(&values);
    let untied: Vec<u64> = (1..=values.len() as u64).collect();
    let ends = if NullDistribution::Automatic.is_exact(SumDistribution::steps_of_signs(&untied)) {
        Ends::exact(&SumDistribution::of_signs(&untied), level)
    } else {
        let n = values.len() as f64;
        Ends::normal(0.25 * n * (n + 1.0), n * (n + 1.0) * (2.0 * n + 1.0) / 24.0, level)
    };
    Ok(ends.locate(averages.len(), |rank| averages.of_rank(rank)))
}

fn sorted(values: &[f64]) -> Vec<f64> {
    let mut values = values.to_vec();
    values.sort_unstable_by(f64::total_cmp);
    values
}

/// Rank of the lower end, counted from 1 at the smallest pair; zero if there is none.
struct Ends {
    rank: u64,
    achieved_level: f64,
    exact: bool,
}

impl Ends {
    /// The largest rank c with P(statistic ≤ c − 1) ≤ (1 − level)/2.
    fn exact(distribution: &SumDistribution, level: f64) -> Self {
        // So that a level such as 1 − 2/64, which rounds, is reached.
        let tail = 0.5 * (1.0 - level) + 1e-12;
        let (mut rank, mut reached) = (0, 0.0);
        for probability in distribution.cumulative().take_while(|&p| p <= tail) {
            rank += 1;
            reached = probability;
        }
        Self { rank, achieved_level: 1.0 - 2.0 * reached, exact: true }
    }

    /// The same for a statistic that is normal, with a continuity correction.
    fn normal(mean: f64, variance: f64, level: f64) -> Self {
        let sd = variance.sqrt();
        let rank = (mean + 0.5 + sd * normal_quantile(0.5 * (1.0 - level))).floor().max(0.0);
        let reached = if rank > 0.0 { normal_cdf((rank - 0.5 - mean) / sd) } else { 0.0 };
        Self { rank: rank as u64, achieved_level: 1.0 - 2.0 * reached, exact: false }
    }

    fn locate(&self, pairs: u64, of_rank: impl Fn(u64) -> f64) -> LocationEstimate {
        let (low, high) = (of_rank(pairs.div_ceil(2)), of_rank(pairs / 2 + 1));
        // At a level near zero the ends would cross.
        let rank = self.rank.min(pairs.div_ceil(2));
        let interval = if rank == 0 {
            Interval { lo: f64::NEG_INFINITY, hi: f64::INFINITY }
        } else {
            Interval { lo: of_rank(rank), hi: of_rank(pairs + 1 - rank) }
        };
        LocationEstimate {
            estimate: low + 0.5 * (high - low),
            interval,
            achieved_level: self.achieved_level.max(0.0),
            exact: self.exact,
        }
    }
}
