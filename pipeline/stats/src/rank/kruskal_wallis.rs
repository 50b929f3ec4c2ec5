//! The Kruskal–Wallis test.

use super::Midranks;
use crate::distribution::chi_squared_upper_tail;
use crate::error::{StatsError, require_groups};

/// Result of [`kruskal_wallis`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KruskalWallis {
    /// H, corrected for ties.
    pub statistic: f64,
    /// Degrees of freedom of its chi-squared approximation, groups − 1.
    pub df: f64,
    /// P value by that approximation.
    pub p: f64,
}

/// Rank test that several samples come from one distribution (Kruskal & Wallis 1952, "Use of ranks
/// in one-criterion variance analysis", Journal of the American Statistical Association 47,
/// 583–621): H = 12/(N(N + 1)) Σ nᵢ (r̄ᵢ − (N + 1)/2)², over 1 − Σ(t³ − t)/(N³ − N). The chi-squared
/// approximation wants about five values a group. Where all values are equal H is 0 and p is 1.
///
/// # Errors
/// Fewer than two groups, an empty group, or a value that is not finite.
pub fn kruskal_wallis<G: AsRef<[f64]>>(groups: &[G]) -> Result<KruskalWallis, StatsError> {
    require_groups(groups, 1)?;
    let all: Vec<f64> = groups.iter().flat_map(AsRef::as_ref).copied().collect();
    let ranks = Midranks::new(&all, 0.0);
    let n = all.len() as f64;
    let mut start = 0;
    let mut sum = 0.0;
    for group in groups {
        let end = start + group.as_ref().len();
        let size = (end - start) as f64;
        let doubled: u64 = ranks.doubled[start..end].iter().sum();
        sum += size * (0.5 * doubled as f64 / size - 0.5 * (n + 1.0)).powi(2);
        start = end;
    }
    let correction = 1.0 - ranks.tie_sum / (n * (n * n - 1.0));
    let statistic = if correction > 0.0 { 12.0 * sum / (n * (n + 1.0)) / correction } else { 0.0 };
    let df = (groups.len() - 1) as f64;
    Ok(KruskalWallis { statistic, df, p: chi_squared_upper_tail(statistic, df) })
}
