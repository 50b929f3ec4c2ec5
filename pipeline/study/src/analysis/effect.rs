//! The effect of `by` in the outcome's unit, and how many more cooks would settle it.

use crate::claims::{Claim, ClaimKind, Scale};
use crate::regression::Regression;
use stats::{Estimate, StatsError};

/// The effect: first minus second, or the change per step.
pub(super) fn estimate(
    claim: &Claim,
    term: &str,
    regression: &Regression,
) -> Result<Estimate, StatsError> {
    match claim.scale {
        Scale::Identity => {
            let coefficient = regression.estimates.term(term)?;
            Ok(Estimate {
                estimate: coefficient.estimate * claim.step(),
                std_error: coefficient.std_error * claim.step(),
                df: coefficient.df,
            })
        }
        Scale::Log => on_log_scale(claim, term, regression),
    }
}

/// Average over the used cooks of exp(x₁β) − exp(x₂β), by the delta method.
fn on_log_scale(
    claim: &Claim,
    term: &str,
    regression: &Regression,
) -> Result<Estimate, StatsError> {
    let position = regression.estimates.names().iter().position(|name| name == term);
    let half = claim.step() / 2.0;
    let mut total = 0.0;
    let mut gradient = vec![0.0; regression.estimates.names().len()];
    for row in &regression.rows {
        for (sign, shift) in [(1.0, half), (-1.0, -half)] {
            let mut moved = row.clone();
            if let Some(position) = position {
                moved[position] = match claim.kind {
                    ClaimKind::Compare => f64::from(u8::from(sign > 0.0)),
                    _ => moved[position] + shift,
                };
            }
            let median = regression.estimates.linear_combination(&moved)?.estimate.exp();
            total += sign * median;
            for (sum, x) in gradient.iter_mut().zip(&moved) {
                *sum += sign * median * x;
            }
        }
    }
    let n = regression.rows.len() as f64;
    for sum in &mut gradient {
        *sum /= n;
    }
    if !(total.is_finite() && gradient.iter().all(|value| value.is_finite())) {
        return Ok(Estimate { estimate: f64::INFINITY, std_error: 0.0, df: f64::INFINITY });
    }
    let delta = regression.estimates.linear_combination(&gradient)?;
    Ok(Estimate { estimate: total / n, std_error: delta.std_error, df: delta.df })
}

/// What an open interval is like.
#[derive(Debug, Clone, Copy)]
pub(super) struct Precision {
    /// Cooks used.
    pub(super) cooks: usize,
    /// Standard error of the effect.
    pub(super) std_error: f64,
    /// Degrees of freedom with N cooks are `df_per_cook` · N − `df_less`.
    pub(super) df_per_cook: f64,
    /// See `df_per_cook`.
    pub(super) df_less: f64,
    /// Confidence level of the interval.
    pub(super) level: f64,
    /// δ.
    pub(super) matters: f64,
    /// The estimate, signed.
    pub(super) d: f64,
}

/// Beyond this many cooks nobody waits for an answer.
const MOST_COOKS: usize = 1_000_000;

/// Further cooks until the half width falls below δ or, where it is below δ already, until
/// the interval around the present estimate leaves δ. See the module's documentation.
pub(super) fn cooks_still_needed(precision: &Precision) -> Option<usize> {
    let half_width = |cooks: usize| {
        let n = precision.cooks as f64;
        let total = cooks as f64;
        let df = precision.df_per_cook * total - precision.df_less;
        Estimate { estimate: 0.0, std_error: precision.std_error * (n / total).sqrt(), df }
            .interval(precision.level)
            .map_or(f64::INFINITY, |interval| interval.hi)
    };
    let now = precision.cooks;
    let target = if half_width(now) >= precision.matters {
        precision.matters
    } else {
        (precision.d - precision.matters).abs()
    };
    let enough = |cooks: usize| half_width(cooks) < target;
    // The half width falls with every cook, so the smallest number is found by halving.
    let (mut short, mut done) = (now, now + MOST_COOKS);
    if !enough(done) {
        return None;
    }
    while done - short > 1 {
        let middle = short + (done - short) / 2;
        if enough(middle) {
            done = middle;
        } else {
            short = middle;
        }
    }
    Some(done - now)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn many(std_error: f64, matters: f64, d: f64) -> Precision {
        // With so many degrees of freedom t is the normal: 1.644 85 at level 0.90.
        Precision {
            cooks: 100_000,
            std_error,
            df_per_cook: 1.0,
            df_less: 2.0,
            level: 0.90,
            matters,
            d,
        }
    }

    #[test]
    fn half_the_width_takes_four_times_the_cooks() {
        // Half width 2 · 1.644 85 must fall to 1.644 85: four times 100 000, three times more.
        // The quantile is NIST/SEMATECH e-Handbook table 1.3.6.7.1 (1.645) to more digits.
        let needed = cooks_still_needed(&many(2.0, 1.644_853_627, 0.0)).unwrap();
        assert!(needed.abs_diff(300_000) < 30, "{needed}");
    }

    #[test]
    fn near_the_edge_the_interval_must_leave_it() {
        // Half width 1.644 85 is below δ = 2 already; from d = 1.177 57 it must fall to half.
        let needed = cooks_still_needed(&many(1.0, 2.0, 2.0 - 1.644_853_627 / 2.0)).unwrap();
        assert!(needed.abs_diff(300_000) < 30, "{needed}");
        assert_eq!(cooks_still_needed(&many(1.0, 2.0, 2.0)), None);
        assert_eq!(cooks_still_needed(&many(1e6, 1.0, 0.0)), None);
    }

    proptest! {
        /// The number is enough, and one cook fewer is not.
        #[test]
        fn the_number_is_the_smallest(
            cooks in 8usize..200, std_error in 0.5..20.0f64, matters in 0.5..20.0f64,
            d in -20.0..20.0f64, fires_share in 0.5..1.0f64,
        ) {
            let precision = Precision {
                cooks, std_error, df_per_cook: fires_share, df_less: 1.0, level: 0.95, matters, d,
            };
            let half = |total: usize| {
                Estimate {
                    estimate: 0.0,
                    std_error: std_error * (cooks as f64 / total as f64).sqrt(),
                    df: fires_share * total as f64 - 1.0,
                }
                .interval(0.95).unwrap().hi
            };
            let now = half(cooks);
            // Only open verdicts ask: lo < δ ≤ hi.
            prop_assume!(d - now < matters && matters <= d + now);
            if let Some(needed) = cooks_still_needed(&precision) {
                let target = if now >= matters { matters } else { (d - matters).abs() };
                prop_assert!(half(cooks + needed) < target);
                prop_assert!(needed >= 1);
                prop_assert!(half(cooks + needed - 1) >= target);
            }
        }
    }
}
