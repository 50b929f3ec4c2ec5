//! Comparison of survival between groups.

use super::chi_square::ChiSquareTest;
use super::followup::{Followup, Labels};
use super::kaplan_meier::KaplanMeier;
use crate::error::StatsError;
use nalgebra::{DMatrix, DVector};

/// How much each event time counts in a comparison of groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum EventWeight {
    /// All alike: the log-rank test, best where hazards are proportional. Mantel (1966), Cancer
    /// Chemotherapy Reports 50, 163–170; Peto & Peto (1972), JRSS A 135, 185–207.
    #[default]
    LogRank,
    /// By the pooled survival just before: early differences count most. The G¹ test of Harrington
    /// & Fleming (1982), Biometrika 69, 553–566, Peto & Peto's form of the Wilcoxon test.
    PetoPeto,
}

/// What was seen and expected in one group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroupEvents {
    /// The label of the group.
    pub label: usize,
    /// Rows.
    pub n: usize,
    /// Events, weighted as the test says.
    pub observed: f64,
    /// Events expected if all groups had one hazard (in each stratum), weighted likewise.
    pub expected: f64,
}

/// The log-rank test and its weighted kin, for two or more groups, with or without strata.
///
/// The statistic is (O − E)′V⁻¹(O − E) over all groups but one, V the hypergeometric variance
/// Σ w² d (n − d)/(n − 1) · (pᵢ·1{i = j} − pᵢpⱼ), pᵢ = nᵢ/n the share of group i of those at risk.
/// It tests that the groups have one hazard within every stratum. Rows may enter late.
///
/// ```
/// use stats::{EventWeight, Followup, LogRank};
///
/// let weeks = [1.0, 2.0, 3.0, 4.0, 9.0, 8.0, 12.0, 14.0, 15.0, 15.0];
/// let event = [true, true, true, true, false, true, true, false, false, false];
/// let arm = [0, 0, 0, 0, 0, 1, 1, 1, 1, 1];
/// let followup = Followup::right_censored(&weeks, &event)?;
/// let test = LogRank::fit(&followup, &arm, None, EventWeight::LogRank)?;
/// assert_eq!(test.groups[0].observed, 4.0);
/// assert!(test.test.p_value() < 0.05);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LogRank {
    /// The groups, by label.
    pub groups: Vec<GroupEvents>,
    /// The test of one hazard for all groups.
    pub test: ChiSquareTest,
    /// Covariance matrix of O − E, groups × groups; every row sums to zero.
    pub variance: DMatrix<f64>,
}

impl LogRank {
    /// Compares the groups of the labels in `group`, within the strata of the labels in `strata`
    /// (one of each a row).
    ///
    /// # Errors
    /// Wrong lengths; fewer than two groups; [`StatsError::AllCensored`]; where a group is never at
    /// risk together with another at an event, [`StatsError::NoMaximum`] names it.
    pub fn fit(
        followup: &Followup,
        group: &[usize],
        strata: Option<&[usize]>,
        weight: EventWeight,
    ) -> Result<Self, StatsError> {
        let n = followup.rows();
        let groups = Labels::new("the groups", group, n)?;
        if groups.count() < 2 {
            return Err(StatsError::NothingToCompare { found: groups.count() });
        }
        let strata = match strata {
            None => Labels::one(n),
            Some(labels) => Labels::new("the strata", labels, n)?,
        };
        if followup.events() == 0 {
            return Err(StatsError::AllCensored { rows: n });
        }
        let k = groups.count();
        let mut table: Vec<GroupEvents> = groups
            .sorted
            .iter()
            .map(|&label| GroupEvents { label, n: 0, observed: 0.0, expected: 0.0 })
            .collect();
        for &position in &groups.positions {
            table[position].n += 1;
        }
        let mut variance = DMatrix::zeros(k, k);
        for stratum in 0..strata.count() {
            let mut rows: Vec<usize> =
                (0..n).filter(|&row| strata.positions[row] == stratum).collect();
            rows.sort_unstable_by(|&a, &b| followup.stop[b].total_cmp(&followup.stop[a]));
            let pooled = match weight {
                EventWeight::LogRank => None,
                EventWeight::PetoPeto => {
                    Some(KaplanMeier::fit(followup, Some(&indicator(n, &rows)))?)
                }
            };
            let mut by_start = rows.clone();
            by_start.sort_unstable_by(|&a, &b| followup.start(b).total_cmp(&followup.start(a)));
            let mut by_start = by_start.into_iter().peekable();
            let mut at_risk = vec![0_usize; k];
            for tied in rows.chunk_by(|&a, &b| followup.stop[a] == followup.stop[b]) {
                let time = followup.stop[tied[0]];
                while let Some(row) = by_start.next_if(|&row| followup.start(row) >= time) {
                    at_risk[groups.positions[row]] -= 1;
                }
                let mut deaths = vec![0_usize; k];
                for &row in tied {
                    at_risk[groups.positions[row]] += 1;
                    deaths[groups.positions[row]] += usize::from(followup.event[row]);
                }
                let d = deaths.iter().sum::<usize>() as f64;
                if d == 0.0 {
                    continue;
                }
                let all = at_risk.iter().sum::<usize>() as f64;
                let w = pooled.as_ref().map_or(1.0, |curve| curve.survival_before(time));
                let share = |a: usize| at_risk[a] as f64 / all;
                let size = if all > 1.0 { w * w * d * (all - d) / (all - 1.0) } else { 0.0 };
                for a in 0..k {
                    table[a].observed += w * deaths[a] as f64;
                    table[a].expected += w * d * share(a);
                    for b in 0..k {
                        let own = if a == b { share(a) } else { 0.0 };
                        variance[(a, b)] += size * (own - share(a) * share(b));
                    }
                }
            }
        }
        let test = Self::test(&table, &variance)?;
        Ok(Self { groups: table, test, variance })
    }

    fn test(table: &[GroupEvents], variance: &DMatrix<f64>) -> Result<ChiSquareTest, StatsError> {
        let df = table.len() - 1;
        // A group with no variance was never compared with another.
        if let Some(alone) = (0..=df).find(|&a| variance[(a, a)] <= 0.0) {
            return Err(StatsError::NoMaximum { term: format!("group {}", table[alone].label) });
        }
        let difference = DVector::from_fn(df, |a, _| table[a].observed - table[a].expected);
        let block = variance.view((0, 0), (df, df)).into_owned();
        // Scaled to a correlation matrix, so that a small group is no matter.
        let scale = DVector::from_fn(df, |a, _| 1.0 / block[(a, a)].sqrt());
        let correlation = DMatrix::from_fn(df, df, |a, b| block[(a, b)] * scale[a] * scale[b]);
        let scaled = difference.component_mul(&scale);
        let factor = correlation
            .cholesky()
            .filter(|factor| (0..df).all(|a| factor.l_dirty()[(a, a)].powi(2) > 1e-12));
        let Some(factor) = factor else {
            return Err(StatsError::NoMaximum { term: format!("group {}", table[df].label) });
        };
        let statistic = scaled.dot(&factor.solve(&scaled));
        Ok(ChiSquareTest { statistic, df })
    }
}

/// Weight one for the rows given, zero for the others.
fn indicator(n: usize, rows: &[usize]) -> Vec<f64> {
    let mut weights = vec![0.0; n];
    for &row in rows {
        weights[row] = 1.0;
    }
    weights
}

#[cfg(test)]
#[path = "log_rank_tests.rs"]
mod tests;
