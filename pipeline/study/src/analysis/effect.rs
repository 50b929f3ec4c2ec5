//! The effect of `by` in the outcome's unit.

use crate::claims::{Claim, ClaimKind, Scale};
use crate::contrast::{self, Change};
use crate::verdict::Verdict;
use stats::{Estimate, Estimates, Interval, StatsError};

/// The effect: first minus second, or the change per step. `rows` are those of the design.
pub(super) fn estimate(
    claim: &Claim,
    term: &str,
    estimates: &Estimates,
    rows: &[Vec<f64>],
) -> Result<Estimate, StatsError> {
    match claim.scale {
        Scale::Identity => {
            let coefficient = estimates.term(term)?;
            Ok(Estimate {
                estimate: coefficient.estimate * claim.step(),
                std_error: coefficient.std_error * claim.step(),
                df: coefficient.df,
            })
        }
        Scale::Log => on_log_scale(claim, term, estimates, rows),
    }
}

/// Average over the used cooks of exp(x₁β) − exp(x₂β).
fn on_log_scale(
    claim: &Claim,
    term: &str,
    estimates: &Estimates,
    rows: &[Vec<f64>],
) -> Result<Estimate, StatsError> {
    estimates.term(term)?;
    let position = estimates.names().iter().position(|name| name == term).unwrap_or_default();
    let levels = [position];
    let change = match claim.kind {
        ClaimKind::Compare => Change::Level(&levels),
        _ => Change::Step(claim.step()),
    };
    contrast::medians(estimates, &contrast::pairs(rows, position, change))
}

/// What an effect says of the claim at a level; `None` where it is too large to be written.
pub(super) fn verdict(
    claim: &Claim,
    effect: &Estimate,
    level: f64,
) -> Result<Option<Verdict>, StatsError> {
    let (lo, hi) = in_favour(claim, effect.interval(level)?);
    Ok(Verdict::judge(lo, hi, claim.matters).filter(|_| effect.estimate.is_finite()))
}

/// An interval of the effect, turned so that positive favours what is said.
pub(super) fn in_favour(claim: &Claim, interval: Interval) -> (f64, f64) {
    if claim.sign() > 0.0 { (interval.lo, interval.hi) } else { (-interval.hi, -interval.lo) }
}
