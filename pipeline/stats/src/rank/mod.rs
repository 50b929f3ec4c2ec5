//! Methods that use the order of values alone: rank-sum and signed-rank tests with their estimates
//! of location, Theil–Sen lines, Cliff's delta, the Kruskal–Wallis test.
//!
//! Ties get midranks, the mean of the ranks they share. Exact p values are exact given the ties:
//! they come from all arrangements of the midranks that were found, not from tables for data
//! without ties.
//!
//! | Function | What it gives |
//! |---|---|
//! | [`rank_sum`] | Wilcoxon–Mann–Whitney test of two samples |
//! | [`hodges_lehmann_shift`] | the shift between two samples, with its interval |
//! | [`signed_rank`], [`signed_rank_paired`] | Wilcoxon's test of one sample, or of pairs |
//! | [`hodges_lehmann`] | the centre of one sample, with its interval |
//! | [`TheilSen`] | a line that a minority of wild points cannot move |
//! | [`CliffsDelta`] | how much oftener one sample exceeds the other, with its interval |
//! | [`kruskal_wallis`] | the test of several samples |

mod cliffs_delta;
mod exact;
mod hodges_lehmann;
mod kruskal_wallis;
mod rank_sum;
mod selection;
mod signed_rank;
mod theil_sen;

pub use cliffs_delta::CliffsDelta;
pub use hodges_lehmann::{LocationEstimate, hodges_lehmann, hodges_lehmann_shift};
pub use kruskal_wallis::{KruskalWallis, kruskal_wallis};
pub use rank_sum::{RankSum, rank_sum};
pub use signed_rank::{SignedRank, signed_rank, signed_rank_paired};
pub use theil_sen::{RankRule, TheilSen};

use crate::distribution::normal_cdf;
use crate::p_values::PValues;

/// Where the p values of a rank test come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum NullDistribution {
    /// Exact while that takes at most a hundred million steps, else normal. Two samples of 75, or
    /// one of 580, are exact; with ties that leave half ranks two of 60, or one of 460.
    #[default]
    Automatic,
    /// Exact whatever it takes: time grows with the cube to the fourth power of the sample size.
    Exact,
    /// Normal with continuity and tie corrections.
    Normal,
}

impl NullDistribution {
    /// Steps of an exact distribution that the automatic choice bears.
    const MOST_STEPS: f64 = 1e8;

    fn is_exact(self, steps: f64) -> bool {
        match self {
            Self::Automatic => steps <= Self::MOST_STEPS,
            Self::Exact => true,
            Self::Normal => false,
        }
    }
}

/// Midranks times two, so that they are whole numbers, and Σ(t³ − t) over ties of t values.
#[derive(Debug, Clone, PartialEq)]
struct Midranks {
    doubled: Vec<u64>,
    tie_sum: f64,
}

impl Midranks {
    /// Values no further than `tolerance` from the next smaller one are tied with it.
    fn new(values: &[f64], tolerance: f64) -> Self {
        let mut order: Vec<usize> = (0..values.len()).collect();
        order.sort_unstable_by(|&a, &b| values[a].total_cmp(&values[b]));
        let mut doubled = vec![0; values.len()];
        let mut tie_sum = 0.0;
        let mut start = 0;
        while start < order.len() {
            let mut end = start + 1;
            while end < order.len() && values[order[end]] - values[order[end - 1]] <= tolerance {
                end += 1;
            }
            for &position in &order[start..end] {
                // Ranks start + 1 to end, whose mean is (start + 1 + end)/2.
                doubled[position] = (start + 1 + end) as u64;
            }
            let ties = (end - start) as f64;
            tie_sum += ties * (ties * ties - 1.0);
            start = end;
        }
        Self { doubled, tie_sum }
    }
}

/// P values of a statistic that is normal around `mean` under the hypothesis, with a continuity
/// correction of one half. Without variance nothing speaks against the hypothesis.
fn normal_p_values(statistic: f64, mean: f64, variance: f64) -> PValues {
    if variance <= 0.0 {
        return PValues { two_sided: 1.0, less: 1.0, greater: 1.0 };
    }
    let (excess, sd) = (statistic - mean, variance.sqrt());
    let greater = normal_cdf(-(excess - 0.5) / sd);
    let less = normal_cdf((excess + 0.5) / sd);
    PValues { two_sided: (2.0 * less.min(greater)).min(1.0), less, greater }
}

#[cfg(test)]
mod tests;
