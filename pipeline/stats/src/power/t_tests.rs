//! Power of t tests.

use super::{Sides, require_alpha, require_target};
use crate::distribution::two_sided_quantile;
use crate::error::StatsError;
use crate::noncentral_t::NoncentralT;
use crate::root::find_root;

/// Largest sample size that is sought.
const LARGEST_SIZE: f64 = 1e9;

/// What a t test compares. The effect is a difference of means over a standard deviation: of the
/// values, for [`Paired`](Self::Paired) of the differences of pairs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TTestDesign {
    /// One mean with a value; n values.
    OneSample,
    /// The mean difference of pairs with zero; n pairs.
    Paired,
    /// Two means with pooled variance; n values each.
    TwoSample,
}

impl TTestDesign {
    fn df(self, n: f64) -> f64 {
        match self {
            Self::OneSample | Self::Paired => n - 1.0,
            Self::TwoSample => 2.0 * (n - 1.0),
        }
    }

    fn noncentrality(self, n: f64, effect: f64) -> f64 {
        match self {
            Self::OneSample | Self::Paired => n.sqrt() * effect,
            Self::TwoSample => (0.5 * n).sqrt() * effect,
        }
    }
}

/// Power of a t test with `n` values (pairs, values in each group) for an effect in standard
/// deviations. It is exact for normal values, by the noncentral t distribution; two-sided power
/// counts both tails (Cohen 1988, Statistical Power Analysis for the Behavioral Sciences, chapter
/// 2). `n` need not be whole.
///
/// # Errors
/// `n` below 2, an effect that is not finite or beyond what can be computed, or `alpha` outside 0 to
/// 0.5.
///
/// ```
/// use stats::power::{Sides, TTestDesign, t_test_power};
///
/// // Cohen (1988): 64 in each group find a medium effect with 80 % power.
/// let power = t_test_power(TTestDesign::TwoSample, 64.0, 0.5, 0.05, Sides::Two)?;
/// assert!((power - 0.80).abs() < 0.005);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn t_test_power(
    design: TTestDesign,
    n: f64,
    effect: f64,
    alpha: f64,
    sides: Sides,
) -> Result<f64, StatsError> {
    require_alpha(alpha)?;
    require_size(n)?;
    power(design.df(n), design.noncentrality(n, effect), alpha, sides)
}

/// Power of a t test of two groups of unequal size with pooled variance; see [`t_test_power`].
///
/// # Errors
/// A group below 1 or both together below 3, and as [`t_test_power`].
pub fn two_sample_t_power(
    n1: f64,
    n2: f64,
    effect: f64,
    alpha: f64,
    sides: Sides,
) -> Result<f64, StatsError> {
    require_alpha(alpha)?;
    for n in [n1, n2] {
        if !(1.0..=LARGEST_SIZE).contains(&n) || n1 + n2 < 3.0 {
            return Err(StatsError::BadArgument {
                name: "n",
                value: n,
                expected: "a group has 1 to 1e9 values, both together at least 3",
            });
        }
    }
    power(n1 + n2 - 2.0, effect * (n1 * n2 / (n1 + n2)).sqrt(), alpha, sides)
}

/// The `n` at which a t test has the power asked for, not rounded: round it up. It is 2 where that
/// is already enough.
///
/// # Errors
/// An effect of zero or so small that more than 1e9 values are needed, a power outside `alpha` to 1,
/// and as [`t_test_power`].
pub fn t_test_sample_size(
    design: TTestDesign,
    effect: f64,
    alpha: f64,
    wanted: f64,
    sides: Sides,
) -> Result<f64, StatsError> {
    require_target(wanted, alpha)?;
    let missing = |n: f64| Ok(t_test_power(design, n, effect, alpha, sides)? - wanted);
    let (mut low, mut high) = (2.0, 2.0);
    while missing(high)? < 0.0 {
        if high >= LARGEST_SIZE || effect <= 0.0 && sides == Sides::One || effect == 0.0 {
            return Err(StatsError::BadArgument {
                name: "effect",
                value: effect,
                expected: "no sample of up to 1e9 finds such an effect with this power",
            });
        }
        (low, high) = (high, (2.0 * high).min(LARGEST_SIZE));
    }
    if high == 2.0 {
        return Ok(high);
    }
    Ok(find_root(low, high, 1e-13, |n| missing(n).unwrap_or(0.0)))
}

/// The positive effect, in standard deviations, that a t test finds with the power asked for.
///
/// # Errors
/// A power outside `alpha` to 1, a test so strict that the effect is beyond what can be computed,
/// and as [`t_test_power`].
pub fn t_test_detectable_effect(
    design: TTestDesign,
    n: f64,
    alpha: f64,
    wanted: f64,
    sides: Sides,
) -> Result<f64, StatsError> {
    require_target(wanted, alpha)?;
    let missing = |effect: f64| {
        Ok::<f64, StatsError>(t_test_power(design, n, effect, alpha, sides)? - wanted)
    };
    let (mut low, mut high) = (0.0, 1.0);
    while missing(high)? < 0.0 {
        (low, high) = (high, 2.0 * high);
    }
    Ok(find_root(low, high, 1e-13, |effect| missing(effect).unwrap_or(0.0)))
}

fn power(df: f64, noncentrality: f64, alpha: f64, sides: Sides) -> Result<f64, StatsError> {
    let t = NoncentralT::new(df, noncentrality)?;
    let critical = two_sided_quantile(1.0 - 2.0 * sides.tail(alpha), df);
    let upper = t.upper_tail(critical)?;
    match sides {
        Sides::One => Ok(upper),
        Sides::Two => Ok((upper + t.cdf(-critical)?).min(1.0)),
    }
}

fn require_size(n: f64) -> Result<(), StatsError> {
    if (2.0..=LARGEST_SIZE).contains(&n) {
        return Ok(());
    }
    Err(StatsError::BadArgument {
        name: "n",
        value: n,
        expected: "a t test needs 2 to 1e9 values, pairs, or values in each group",
    })
}
