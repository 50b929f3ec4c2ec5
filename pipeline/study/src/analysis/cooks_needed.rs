//! How many more cooks would settle an open claim, by simulation from the season's own variation.
//!
//! Each fire of the season has a say in the effect: its pseudo-value, G·d − (G − 1)·d₍₋ᵢ₎ for G
//! fires, the effect d and the effect without fire i (Miller 1974, "The jackknife: a review",
//! Biometrika 61, 1–15). A simulated season is this one with further fires drawn from it with
//! replacement; its effect is the mean of the pseudo-values of its fires, with their standard
//! error and Student's t, whose degrees of freedom grow with the fires. The answer is the smallest number of
//! further cooks with which four simulated seasons in five are decided. The present estimate is
//! thereby taken as the truth, and a verdict near δ or near its edge takes many cooks.

use super::effect;
use super::other_ways::WithoutFire;
use crate::claims::Claim;
use crate::verdict::Verdict;
use rand::RngExt;
use stats::power::simulated_power;
use stats::{Estimate, StatsError, describe};

/// Simulated seasons for each number of fires: the standard error of a share of 0.8 is then 0.03.
const SEASONS: u32 = 200;

/// Share of the simulated seasons that must be decided: the usual power, Cohen (1988),
/// Statistical Power Analysis for the Behavioral Sciences, section 2.4.
const DECIDED: f64 = 0.8;

/// More further cooks than this nobody waits for.
const MOST_COOKS: usize = 1000;

/// What is known now.
#[derive(Debug, Clone, Copy)]
pub(super) struct Present<'a> {
    pub(super) effect: Estimate,
    pub(super) level: f64,
    pub(super) cooks: usize,
    /// The effect with each fire left out in turn; empty where that was not done.
    pub(super) without: &'a [WithoutFire],
}

/// Further usable cooks after which a verdict may be expected; `None` where [`MOST_COOKS`] would
/// not do. Seeded by the claim itself. Where not every fire could be left out, the number is that
/// which the present standard error gives, shrinking with the square root of the cooks.
pub(super) fn cooks_still_needed(
    claim: &Claim,
    present: Present<'_>,
) -> Result<Option<usize>, StatsError> {
    let without: Option<Vec<f64>> =
        present.without.iter().map(|fire| fire.effect.map(|effect| effect.0)).collect();
    let values = match without {
        Some(without) if without.len() > 1 => pseudo_values(present.effect.estimate, &without),
        _ => return Ok(by_standard_error(claim, present).filter(|&cooks| cooks <= MOST_COOKS)),
    };
    let fires = values.len();
    let df = |times: f64| (grown(present.effect.df, times)).min(times * fires as f64 - 1.0);
    let cooks_of = |further: usize| (further * present.cooks).div_ceil(fires);
    let share = |further: usize| -> Result<f64, StatsError> {
        simulated_power(SEASONS, seed(claim), |random| {
            let mut season = values.clone();
            season.extend((0..further).map(|_| values[random.random_range(0..fires)]));
            let effect = Estimate {
                estimate: describe::mean(&season)?,
                std_error: describe::standard_deviation(&season)? / (season.len() as f64).sqrt(),
                df: df(season.len() as f64 / fires as f64),
            };
            let interval = effect.interval(present.level)?;
            let verdict = effect::verdict(claim, effect.estimate, interval);
            Ok(verdict.is_some_and(|verdict| verdict != Verdict::Open))
        })
    };
    // Up by doubling, then down by halving.
    let (mut short, mut done) = (0, 1);
    while share(done)? < DECIDED {
        if cooks_of(done) > MOST_COOKS {
            return Ok(None);
        }
        short = done;
        done *= 2;
    }
    while done - short > 1 {
        let middle = short + (done - short) / 2;
        if share(middle)? < DECIDED {
            short = middle;
        } else {
            done = middle;
        }
    }
    Ok(Some(cooks_of(done)).filter(|&cooks| cooks <= MOST_COOKS))
}

fn pseudo_values(effect: f64, without: &[f64]) -> Vec<f64> {
    let fires = without.len() as f64;
    let raw: Vec<f64> = without.iter().map(|d| fires * effect - (fires - 1.0) * d).collect();
    // Their mean is the effect with its bias taken off; the present estimate is kept.
    let mean = raw.iter().sum::<f64>() / fires;
    raw.into_iter().map(|value| value - mean + effect).collect()
}

/// The first 16 hexadecimal digits of the claim's hash.
fn seed(claim: &Claim) -> u64 {
    u64::from_str_radix(&claim.hash()[..16], 16).unwrap_or_default()
}

fn by_standard_error(claim: &Claim, present: Present<'_>) -> Option<usize> {
    narrow_enough(&Precision {
        cooks: present.cooks,
        std_error: present.effect.std_error,
        lasting: 0.0,
        df: present.effect.df,
        level: present.level,
        matters: claim.matters,
        d: present.effect.estimate * claim.sign(),
    })
}

/// Degrees of freedom with so many times the cooks: one more than they are, in proportion to the fires,
/// is what a mean of fires has.
fn grown(df: f64, times: f64) -> f64 {
    (df + 1.0) * times - 1.0
}

/// Beyond this no number is looked for.
const MOST_GUESSED: usize = 1_000_000;

/// What an open interval is like.
#[derive(Debug, Clone, Copy)]
pub(super) struct Precision {
    /// Cooks used.
    pub(super) cooks: usize,
    /// Standard error of the effect.
    pub(super) std_error: f64,
    /// The part of it that no number of cooks makes smaller.
    pub(super) lasting: f64,
    /// Its degrees of freedom.
    pub(super) df: f64,
    /// Confidence level of the interval.
    pub(super) level: f64,
    /// δ.
    pub(super) matters: f64,
    /// The estimate, signed.
    pub(super) d: f64,
}

/// Further cooks until the half width falls below δ or, where it is below δ already, until
/// the interval around the present estimate leaves δ, were the standard error, but for what lasts, to shrink
/// with the square root of the cooks. `None` where it never would.
pub(super) fn narrow_enough(precision: &Precision) -> Option<usize> {
    let half_width = |cooks: usize| {
        let n = precision.cooks as f64;
        let total = cooks as f64;
        let df = grown(precision.df, total / n);
        let lasting = precision.lasting.powi(2);
        let shrinking = (precision.std_error.powi(2) - lasting).max(0.0);
        let std_error = (lasting + shrinking * n / total).sqrt();
        Estimate { estimate: 0.0, std_error, df }
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
    let (mut short, mut done) = (now, now + MOST_GUESSED);
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
        let (cooks, df, level, lasting) = (100_000, 99_998.0, 0.90, 0.0);
        Precision { cooks, std_error, lasting, df, level, matters, d }
    }

    #[test]
    fn half_the_width_takes_four_times_the_cooks() {
        // Half width 2 · 1.644 85 must fall to 1.644 85: four times 100 000, three times more.
        // The quantile is NIST/SEMATECH e-Handbook table 1.3.6.7.1 (1.645) to more digits.
        let needed = narrow_enough(&many(2.0, 1.644_853_627, 0.0)).unwrap();
        assert!(needed.abs_diff(300_000) < 30, "{needed}");
    }

    #[test]
    fn near_the_edge_the_interval_must_leave_it() {
        // Half width 1.644 85 is below δ = 2 already; from d = 1.177 57 it must fall to half.
        let needed = narrow_enough(&many(1.0, 2.0, 2.0 - 1.644_853_627 / 2.0)).unwrap();
        assert!(needed.abs_diff(300_000) < 30, "{needed}");
        assert_eq!(narrow_enough(&many(1.0, 2.0, 2.0)), None);
        assert_eq!(narrow_enough(&many(1e6, 1.0, 0.0)), None);
    }

    #[test]
    fn what_lasts_no_number_of_cooks_narrows() {
        // The square of the error must fall from 4 to 1; 0.25 of it lasts, so that 3.75 must become 0.75: five times
        // the cooks.
        let lasts = Precision { lasting: 0.5, ..many(2.0, 1.644_853_627, 0.0) };
        let needed = narrow_enough(&lasts).unwrap();
        assert!(needed.abs_diff(400_000) < 40, "{needed}");
        let always = Precision { lasting: 1.01, ..lasts };
        assert_eq!(narrow_enough(&always), None);
    }

    proptest! {
        /// The number is enough, and one cook fewer is not.
        #[test]
        fn the_number_is_the_smallest(
            cooks in 8usize..200, std_error in 0.5..20.0f64, matters in 0.5..20.0f64,
            d in -20.0..20.0f64, df in 2.0..150.0f64,
        ) {
            let precision = Precision {
                cooks, std_error, lasting: 0.0, df, level: 0.95, matters, d,
            };
            let half = |total: usize| {
                Estimate {
                    estimate: 0.0,
                    std_error: std_error * (cooks as f64 / total as f64).sqrt(),
                    df: grown(df, total as f64 / cooks as f64),
                }
                .interval(0.95).unwrap().hi
            };
            let now = half(cooks);
            // Only open verdicts ask: lo < δ ≤ hi.
            prop_assume!(d - now < matters && matters <= d + now);
            if let Some(needed) = narrow_enough(&precision) {
                let target = if now >= matters { matters } else { (d - matters).abs() };
                prop_assert!(half(cooks + needed) < target);
                prop_assert!(needed >= 1);
                prop_assert!(half(cooks + needed - 1) >= target);
            }
        }
    }
}
