//! The Wilcoxon–Mann–Whitney test.

use super::exact::SumDistribution;
use super::{Midranks, NullDistribution, normal_p_values};
use crate::error::{StatsError, require_finite};
use crate::p_values::PValues;

/// Result of [`rank_sum`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RankSum {
    /// Mann–Whitney U: pairs in which the value of the first sample is the larger, ties counting
    /// one half.
    pub statistic: f64,
    /// P values; "greater" means that the first sample tends to larger values.
    pub p: PValues,
    /// Whether the p values are exact.
    pub exact: bool,
}

/// Rank-sum test that two samples come from one distribution (Wilcoxon 1945, Biometrics Bulletin 1,
/// 80–83; Mann & Whitney 1947, Annals of Mathematical Statistics 18, 50–60). It assumes independent
/// values, and is sensitive to one sample tending to larger values.
///
/// Exact p values count all ways to split the midranks, by dynamic programming; two-sided is the
/// probability of a rank sum at least as far from its mean, which without ties is twice the smaller
/// tail. The normal approximation corrects for continuity and ties. Where all values are equal every
/// p value is 1.
///
/// # Errors
/// An empty sample, or a value that is not finite.
///
/// ```
/// use stats::rank::{NullDistribution, rank_sum};
///
/// let test = rank_sum(&[1.2, 3.4, 2.2], &[4.1, 5.0, 6.3], NullDistribution::Automatic)?;
/// assert_eq!(test.statistic, 0.0);
/// // Two of the twenty ways to choose three of six ranks are as extreme.
/// assert!((test.p.two_sided - 0.1).abs() < 1e-12);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn rank_sum(x: &[f64], y: &[f64], null: NullDistribution) -> Result<RankSum, StatsError> {
    require_finite("the first sample", x)?;
    require_finite("the second sample", y)?;
    let both: Vec<f64> = x.iter().chain(y).copied().collect();
    let ranks = Midranks::new(&both, 0.0);
    let doubled_sum: u64 = ranks.doubled[..x.len()].iter().sum();
    let (m, n) = (x.len() as f64, y.len() as f64);
    let statistic = 0.5 * doubled_sum as f64 - 0.5 * m * (m + 1.0);
    // The smaller sample has fewer states; the rank sums of both add up to a constant.
    let flipped = y.len() < x.len();
    let size = x.len().min(y.len());
    if null.is_exact(SumDistribution::steps_of_subset(&ranks.doubled, size)) {
        let distribution = SumDistribution::of_subset(&ranks.doubled, size);
        let total: u64 = ranks.doubled.iter().sum();
        let observed = if flipped { total - doubled_sum } else { doubled_sum };
        let p = distribution.p_values(observed);
        let p = if flipped { PValues { less: p.greater, greater: p.less, ..p } } else { p };
        return Ok(RankSum { statistic, p, exact: true });
    }
    let all = m + n;
    let variance = m * n / 12.0 * (all + 1.0 - ranks.tie_sum / (all * (all - 1.0)));
    Ok(RankSum { statistic, p: normal_p_values(statistic, 0.5 * m * n, variance), exact: false })
}
