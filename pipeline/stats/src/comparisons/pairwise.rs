//! All pairs of several means, with intervals that hold together.

use super::anova::{moments, require_each_spread, within};
use super::{Moments, unpooled};
use crate::error::{StatsError, require_groups, require_level};
use crate::estimates::Interval;
use crate::studentized_range::StudentizedRange;

/// Comparison of two of several groups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairwiseComparison {
    /// Position of the group that is subtracted.
    pub from: usize,
    /// Position of the group that it is subtracted from.
    pub to: usize,
    /// Mean of `to` less mean of `from`.
    pub difference: f64,
    /// Standard error of the difference.
    pub std_error: f64,
    /// Degrees of freedom of the standard error.
    pub df: f64,
    /// The studentized range statistic, |difference| √2 / standard error.
    pub q: f64,
    /// P value, adjusted for all pairs.
    pub p: f64,
    /// Interval of the difference; all intervals together hold at the level.
    pub interval: Interval,
}

/// Tukey's comparison of all pairs with Kramer's standard errors for unequal sizes (Tukey 1953;
/// Kramer 1956, "Extension of multiple range tests to group means with unequal numbers of
/// replications", Biometrics 12, 307–310). It assumes equal variances; the chance that one interval
/// or more misses is at most 1 − `level`. Pairs come in the order (0, 1), (0, 2) … (1, 2) ….
///
/// # Errors
/// As [`super::anova`], or a level outside 0 to 1.
pub fn tukey_kramer<G: AsRef<[f64]>>(
    groups: &[G],
    level: f64,
) -> Result<Vec<PairwiseComparison>, StatsError> {
    require_groups(groups, 1)?;
    require_level(level)?;
    let moments = moments(groups);
    let (variance, df) = within(&moments)?;
    let range = StudentizedRange::new(groups.len(), df)?;
    let quantile = range.quantile(level)?;
    pairs(&moments)
        .map(|(from, to)| {
            let std_error = (variance * (1.0 / moments[from].n + 1.0 / moments[to].n)).sqrt();
            compare(&moments, (from, to), std_error, &range, df, quantile)
        })
        .collect()
}

/// Games & Howell's comparison of all pairs, each with its own standard error and degrees of freedom
/// (Games & Howell 1976, "Pairwise multiple comparison procedures with unequal n's and/or
/// variances", Journal of Educational Statistics 1, 113–125). It assumes no equal variances; the
/// simultaneous level holds approximately, for groups of about six or more. Pairs come as in
/// [`tukey_kramer`].
///
/// # Errors
/// As [`super::welch_anova`], or a level outside 0 to 1.
pub fn games_howell<G: AsRef<[f64]>>(
    groups: &[G],
    level: f64,
) -> Result<Vec<PairwiseComparison>, StatsError> {
    require_groups(groups, 2)?;
    require_level(level)?;
    let moments = moments(groups);
    require_each_spread(&moments)?;
    pairs(&moments)
        .map(|(from, to)| {
            let (std_error, df) = unpooled(&moments[from], &moments[to]);
            let range = StudentizedRange::new(groups.len(), df)?;
            let quantile = range.quantile(level)?;
            compare(&moments, (from, to), std_error, &range, df, quantile)
        })
        .collect()
}

fn pairs(groups: &[Moments]) -> impl Iterator<Item = (usize, usize)> {
    let count = groups.len();
    (0..count).flat_map(move |from| (from + 1..count).map(move |to| (from, to)))
}

fn compare(
    groups: &[Moments],
    (from, to): (usize, usize),
    std_error: f64,
    range: &StudentizedRange,
    df: f64,
    quantile: f64,
) -> Result<PairwiseComparison, StatsError> {
    let difference = groups[to].mean - groups[from].mean;
    let q = difference.abs() / std_error * 2.0f64.sqrt();
    let reach = quantile * std_error / 2.0f64.sqrt();
    let interval = Interval { lo: difference - reach, hi: difference + reach };
    let p = range.upper_tail(q)?;
    Ok(PairwiseComparison { from, to, difference, std_error, df, q, p, interval })
}
