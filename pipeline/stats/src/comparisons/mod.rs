//! Comparisons of means: t tests, analysis of variance, and all pairs at once.
//!
//! All of them assume independent values, roughly normal means, and, where they pool the variances
//! of groups, equal ones; the Welch kinds and Games–Howell do not pool.
//!
//! | Function | What it compares | Variances |
//! |---|---|---|
//! | [`welch_t`], [`student_t`] | two means | own, pooled |
//! | [`one_sample_t`] | one mean with a value (for pairs: their differences with 0) | own |
//! | [`welch_anova`], [`anova`] | several means at once | own, pooled |
//! | [`games_howell`], [`tukey_kramer`] | every pair of several means, with simultaneous intervals | own, pooled |
//! | [`cohens_d`] | two means in units of their pooled standard deviation | pooled |

mod anova;
mod pairwise;
mod t_tests;

pub use anova::{AnalysisOfVariance, anova, welch_anova};
pub use pairwise::{PairwiseComparison, games_howell, tukey_kramer};
pub use t_tests::{cohens_d, one_sample_t, student_t, welch_t};

use crate::error::StatsError;

/// Size, mean and sum of squared deviations of one sample.
#[derive(Debug, Clone, Copy)]
struct Moments {
    n: f64,
    mean: f64,
    squares: f64,
}

impl Moments {
    fn of(values: &[f64]) -> Self {
        let n = values.len() as f64;
        // From the first value, so that a constant sample has no spread at all and a large common
        // part costs no digits.
        let base = values[0];
        let shift = values.iter().map(|v| v - base).sum::<f64>() / n;
        let deviations = || values.iter().map(|v| (v - base) - shift);
        let rest = deviations().sum::<f64>();
        let squares = deviations().map(|d| d * d).sum::<f64>() - rest * rest / n;
        Self { n, mean: base + shift + rest / n, squares: squares.max(0.0) }
    }

    fn variance(&self) -> f64 {
        self.squares / (self.n - 1.0)
    }

    /// Variance of the mean.
    fn mean_variance(&self) -> f64 {
        self.variance() / self.n
    }
}

/// Standard error of a difference of two means with variances of their own, and Satterthwaite's
/// degrees of freedom (1946, Biometrics Bulletin 2, 110–114).
fn unpooled(a: &Moments, b: &Moments) -> (f64, f64) {
    let variance = a.mean_variance() + b.mean_variance();
    // By shares of the variance, so that nothing under- or overflows.
    let (of_a, of_b) = (a.mean_variance() / variance, b.mean_variance() / variance);
    let df = 1.0 / (of_a * of_a / (a.n - 1.0) + of_b * of_b / (b.n - 1.0));
    (variance.sqrt(), df)
}

/// Refuses a standard error that is nothing but rounding of the means.
fn require_spread(std_error: f64, means: &[f64]) -> Result<(), StatsError> {
    let largest = means.iter().fold(0.0, |size: f64, mean| size.max(mean.abs()));
    if std_error <= 4.0 * f64::EPSILON * largest || std_error == 0.0 {
        return Err(StatsError::ExactFit);
    }
    Ok(())
}

#[cfg(test)]
mod tests;
