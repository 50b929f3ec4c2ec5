//! One-way analysis of variance.

use super::{Moments, require_spread};
use crate::distribution::f_upper_tail;
use crate::error::{StatsError, require_groups};

/// Result of an analysis of variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnalysisOfVariance {
    /// The F statistic.
    pub f: f64,
    /// Its numerator degrees of freedom, groups − 1.
    pub df_between: f64,
    /// Its denominator degrees of freedom.
    pub df_within: f64,
    /// P value of the hypothesis that all means are equal.
    pub p: f64,
}

impl AnalysisOfVariance {
    fn new(f: f64, df_between: f64, df_within: f64) -> Self {
        Self { f, df_between, df_within, p: f_upper_tail(f, df_between, df_within) }
    }
}

/// Pooled variance within groups and its degrees of freedom.
pub(super) fn within(groups: &[Moments]) -> Result<(f64, f64), StatsError> {
    let rows: f64 = groups.iter().map(|group| group.n).sum();
    let df = rows - groups.len() as f64;
    if df < 1.0 {
        return Err(StatsError::TooFewRows {
            what: "the variance within groups".to_owned(),
            needed: groups.len() + 1,
            found: rows as usize,
        });
    }
    let variance = groups.iter().map(|group| group.squares).sum::<f64>() / df;
    let means: Vec<f64> = groups.iter().map(|group| group.mean).collect();
    require_spread((variance / rows).sqrt(), &means)?;
    Ok((variance, df))
}

pub(super) fn moments<G: AsRef<[f64]>>(groups: &[G]) -> Vec<Moments> {
    groups.iter().map(|group| Moments::of(group.as_ref())).collect()
}

/// One-way analysis of variance (Fisher 1925, Statistical Methods for Research Workers, chapter
/// VII). It assumes equal variances; [`welch_anova`] does not.
///
/// # Errors
/// Fewer than two groups, an empty group, a value that is not finite, one value a group, or no spread
/// within groups ([`StatsError::ExactFit`]).
pub fn anova<G: AsRef<[f64]>>(groups: &[G]) -> Result<AnalysisOfVariance, StatsError> {
    require_groups(groups, 1)?;
    let moments = moments(groups);
    let (variance, df_within) = within(&moments)?;
    let rows: f64 = moments.iter().map(|group| group.n).sum();
    let base = moments[0].mean;
    let centre = moments.iter().map(|group| group.n * (group.mean - base)).sum::<f64>() / rows;
    let between: f64 =
        moments.iter().map(|group| group.n * (group.mean - base - centre).powi(2)).sum();
    let df_between = (groups.len() - 1) as f64;
    Ok(AnalysisOfVariance::new(between / df_between / variance, df_between, df_within))
}

/// Welch's analysis of variance, each group with its own variance (Welch 1951, "On the comparison of
/// several mean values: an alternative approach", Biometrika 38, 330–336).
///
/// # Errors
/// Fewer than two groups, a group of fewer than two values or without spread
/// ([`StatsError::ConstantGroup`]), or a value that is not finite.
pub fn welch_anova<G: AsRef<[f64]>>(groups: &[G]) -> Result<AnalysisOfVariance, StatsError> {
    require_groups(groups, 2)?;
    let moments = moments(groups);
    require_each_spread(&moments)?;
    let k = moments.len() as f64;
    let precisions: Vec<f64> = moments.iter().map(|group| 1.0 / group.mean_variance()).collect();
    let total: f64 = precisions.iter().sum();
    let base = moments[0].mean;
    let centre =
        moments.iter().zip(&precisions).map(|(g, w)| w / total * (g.mean - base)).sum::<f64>();
    let between: f64 =
        moments.iter().zip(&precisions).map(|(g, w)| w * (g.mean - base - centre).powi(2)).sum();
    let uncertainty: f64 = moments
        .iter()
        .zip(&precisions)
        .map(|(g, w)| (1.0 - w / total).powi(2) / (g.n - 1.0))
        .sum::<f64>()
        / (k * k - 1.0);
    let f = between / (k - 1.0) / (1.0 + 2.0 * (k - 2.0) * uncertainty);
    Ok(AnalysisOfVariance::new(f, k - 1.0, 1.0 / (3.0 * uncertainty)))
}

/// Refuses a group whose variance is nothing but rounding.
pub(super) fn require_each_spread(groups: &[Moments]) -> Result<(), StatsError> {
    for (position, group) in groups.iter().enumerate() {
        require_spread(group.mean_variance().sqrt(), &[group.mean])
            .map_err(|_| StatsError::ConstantGroup { group: position })?;
    }
    Ok(())
}
