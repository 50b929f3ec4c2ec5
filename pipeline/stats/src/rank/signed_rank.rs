//! Wilcoxon's signed-rank test.

use super::exact::SumDistribution;
use super::{Midranks, NullDistribution, normal_p_values};
use crate::error::{StatsError, require_finite, require_length};
use crate::p_values::PValues;

/// Result of [`signed_rank`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignedRank {
    /// Sum of the midranks of the positive values.
    pub statistic: f64,
    /// Values left after zeros were dropped.
    pub nonzero: usize,
    /// P values; "greater" means that values tend to be positive.
    pub p: PValues,
    /// Whether the p values are exact.
    pub exact: bool,
}

/// Signed-rank test that values are symmetric around zero (Wilcoxon 1945, Biometrics Bulletin 1,
/// 80–83). It assumes independent values; give it differences from the hypothesised centre.
///
/// Zeros are dropped before ranking, Wilcoxon's own rule; ties among the absolute values get
/// midranks. Exact p values count all 2ⁿ ways to sign the midranks, by dynamic programming; the
/// normal approximation corrects for continuity and ties. Where nothing is left every p value is 1.
///
/// Values count as tied or zero only if they are exactly so: for differences of decimal numbers,
/// which rounding keeps apart, there is [`signed_rank_paired`].
///
/// # Errors
/// An empty sample, or a value that is not finite.
///
/// ```
/// use stats::rank::{NullDistribution, signed_rank};
///
/// let test = signed_rank(&[1.2, 0.4, 2.2, 3.1, -0.1], NullDistribution::Automatic)?;
/// assert_eq!(test.statistic, 14.0);
/// assert!((test.p.two_sided - 4.0 / 32.0).abs() < 1e-12);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn signed_rank(values: &[f64], null: NullDistribution) -> Result<SignedRank, StatsError> {
    require_finite("the sample", values)?;
    Ok(test(values, 0.0, null))
}

/// Signed-rank test of the differences first − second of pairs; see [`signed_rank`]. Differences
/// that agree to within rounding of the largest value (8 units in its last place) are tied, and
/// those within it of zero are zero, so that 1.3 − 1.1 and 2.3 − 2.1 tie.
///
/// # Errors
/// Samples that are empty or differ in length, or a value that is not finite.
pub fn signed_rank_paired(
    first: &[f64],
    second: &[f64],
    null: NullDistribution,
) -> Result<SignedRank, StatsError> {
    require_finite("the first sample", first)?;
    require_length("the second sample", first.len(), second.len())?;
    require_finite("the second sample", second)?;
    let largest = first.iter().chain(second).fold(0.0, |size: f64, v| size.max(v.abs()));
    let differences: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
    Ok(test(&differences, 8.0 * f64::EPSILON * largest, null))
}

fn test(values: &[f64], tolerance: f64, null: NullDistribution) -> SignedRank {
    let kept: Vec<f64> = values.iter().copied().filter(|v| v.abs() > tolerance).collect();
    let sizes: Vec<f64> = kept.iter().map(|v| v.abs()).collect();
    let ranks = Midranks::new(&sizes, tolerance);
    let positive = kept.iter().zip(&ranks.doubled).filter(|(v, _)| **v > 0.0);
    let doubled: u64 = positive.map(|(_, rank)| rank).sum();
    let (statistic, nonzero) = (0.5 * doubled as f64, kept.len());
    let exact = null.is_exact(SumDistribution::steps_of_signs(&ranks.doubled));
    let p = if exact {
        SumDistribution::of_signs(&ranks.doubled).p_values(doubled)
    } else {
        let n = nonzero as f64;
        let variance = n * (n + 1.0) * (2.0 * n + 1.0) / 24.0 - ranks.tie_sum / 48.0;
        normal_p_values(statistic, 0.25 * n * (n + 1.0), variance)
    };
    SignedRank { statistic, nonzero, p, exact }
}
