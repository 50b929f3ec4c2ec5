//! Intervals and p values, by a rule that sees degrees of freedom alone, never the answer.
//!
//! | degrees of freedom | interval |
//! |---|---|
//! | 5 and more | Student's t |
//! | 2 up to 5 | Student's t and, for least squares clustered by fire, widened to all values that a wild cluster bootstrap does not reject |
//! | below 2 | none: a single fire decides what there is to see |
//!
//! Below some four or five degrees of freedom Satterthwaite's t is no longer to be trusted by itself:
//! Pustejovsky & Tipton (2018), Journal of Business & Economic Statistics 36, 672–683, section 5; that
//! both must hold is ours. An end that is infinite is one that these fires cannot give at this level.

use stats::{Estimate, Interval, LeastSquares, StatsError};

/// From so many degrees of freedom the t distribution stands alone.
const CARRIED_BY_T: f64 = 5.0;

/// Below this many nothing is said: a t distribution of two has no variance. Common practice, no
/// source.
pub(crate) const FEWEST_DF: f64 = 2.0;

/// Seed of the bootstrap: the same data give the same answer, whatever else is asked of them.
const SEED: u64 = 0x5eed_f1e5;

/// Σ weightᵢ · coefficientᵢ, or what has that gradient.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Combination {
    pub(crate) estimate: Estimate,
    pub(crate) weights: Vec<f64>,
}

impl Combination {
    /// Times a number.
    pub(crate) fn times(self, factor: f64) -> Self {
        Self {
            estimate: Estimate {
                estimate: self.estimate.estimate * factor,
                std_error: self.estimate.std_error * factor.abs(),
                df: self.estimate.df,
            },
            weights: self.weights.into_iter().map(|weight| weight * factor).collect(),
        }
    }
}

/// An interval and the p value of zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Inference {
    pub(crate) interval: Interval,
    pub(crate) p: f64,
}

/// By the t distribution alone, for models that the bootstrap is not for.
pub(crate) fn by_t(found: Estimate, level: f64) -> Result<Inference, StatsError> {
    if found.df < FEWEST_DF {
        let interval = Interval { lo: f64::NEG_INFINITY, hi: f64::INFINITY };
        return Ok(Inference { interval, p: 1.0 });
    }
    Ok(Inference { interval: found.interval(level)?, p: found.p_value() })
}

/// By the rule. `fit` is where the combination comes from, if it is least squares clustered by fire.
pub(crate) fn infer(
    found: &Combination,
    fit: Option<&LeastSquares>,
    level: f64,
) -> Result<Inference, StatsError> {
    let alone = by_t(found.estimate, level)?;
    if !(FEWEST_DF..CARRIED_BY_T).contains(&found.estimate.df) {
        return Ok(alone);
    }
    let Some(wild) = fit.map(|fit| fit.wild_bootstrap(&found.weights, SEED)).transpose()?.flatten()
    else {
        return Ok(alone);
    };
    // What is not linear in the coefficients is moved by as much as its linear part.
    let linear = fit.map_or(Ok(0.0), |fit| {
        fit.estimates.linear_combination(&found.weights).map(|linear| linear.estimate)
    })?;
    let shift = found.estimate.estimate - linear;
    let own = wild.interval(level)?;
    Ok(Inference {
        interval: Interval {
            lo: alone.interval.lo.min(own.lo + shift),
            hi: alone.interval.hi.max(own.hi + shift),
        },
        p: alone.p.max(wild.p_value(-shift)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use stats::{Design, ErrorKind};

    /// Twelve cooks of six fires, the arm constant in a fire and held by so many of them.
    fn fit(with_arm: usize) -> LeastSquares {
        let fire: Vec<usize> = (0..12).map(|row| row / 2).collect();
        let arm: Vec<f64> = fire.iter().map(|&f| f64::from(u8::from(f < with_arm))).collect();
        let y = [31.0, 35.0, 28.0, 40.0, 36.0, 24.0, 27.0, 20.0, 25.0, 31.0, 22.0, 26.5];
        let design = Design::new(12).intercept().unwrap().numeric("arm", &arm).unwrap();
        LeastSquares::fit(&design, &y, ErrorKind::Clustered(&fire)).unwrap()
    }

    fn arm(fit: &LeastSquares) -> Combination {
        let weights = vec![0.0, 1.0];
        Combination { estimate: fit.estimates.linear_combination(&weights).unwrap(), weights }
    }

    #[test]
    fn the_rule_goes_by_degrees_of_freedom() {
        let few = fit(3);
        let found = arm(&few);
        assert!((FEWEST_DF..CARRIED_BY_T).contains(&found.estimate.df), "{found:?}");
        let (alone, both) =
            (by_t(found.estimate, 0.9).unwrap(), infer(&found, Some(&few), 0.9).unwrap());
        let wild =
            few.wild_bootstrap(&found.weights, SEED).unwrap().unwrap().interval(0.9).unwrap();
        assert_eq!(both.interval.lo, alone.interval.lo.min(wild.lo));
        assert_eq!(both.interval.hi, alone.interval.hi.max(wild.hi));
        assert_eq!(infer(&found, None, 0.9).unwrap(), alone);

        let many =
            Combination { estimate: Estimate { df: 5.0, ..found.estimate }, ..found.clone() };
        assert_eq!(infer(&many, Some(&few), 0.9).unwrap(), by_t(many.estimate, 0.9).unwrap());
        let lone = Combination { estimate: Estimate { df: 1.9, ..found.estimate }, ..found };
        let none = infer(&lone, Some(&few), 0.9).unwrap();
        assert!(none.interval.lo == f64::NEG_INFINITY && none.interval.hi == f64::INFINITY);
        assert_eq!(none.p, 1.0);
    }

    #[test]
    fn what_is_not_linear_is_moved_by_its_linear_part() {
        let few = fit(3);
        let found = arm(&few);
        let moved = Combination {
            estimate: Estimate { estimate: found.estimate.estimate + 7.0, ..found.estimate },
            ..found.clone()
        };
        let (plain, moved) =
            (infer(&found, Some(&few), 0.9).unwrap(), infer(&moved, Some(&few), 0.9).unwrap());
        assert!((moved.interval.lo - plain.interval.lo - 7.0).abs() < 1e-9);
        assert!((moved.interval.hi - plain.interval.hi - 7.0).abs() < 1e-9);
    }
}
