//! The effect of `by` in the outcome's unit.

use crate::claims::{Claim, ClaimKind, Scale};
use crate::contrast::{self, Change};
use crate::inference::Combination;
use crate::verdict::Verdict;
use stats::{Estimates, Interval, StatsError};

/// The effect: first minus second, or the change per step. `rows` are those of the design.
pub(super) fn estimate(
    claim: &Claim,
    term: &str,
    estimates: &Estimates,
    rows: &[Vec<f64>],
) -> Result<Combination, StatsError> {
    match claim.scale {
        Scale::Identity => {
            let weights =
                estimates.names().iter().map(|name| f64::from(u8::from(name == term))).collect();
            let estimate = estimates.term(term)?;
            Ok(Combination { estimate, weights }.times(claim.step()))
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
) -> Result<Combination, StatsError> {
    estimates.term(term)?;
    let position = estimates.names().iter().position(|name| name == term).unwrap_or_default();
    let levels = [position];
    let change = match claim.kind {
        ClaimKind::Compare => Change::Level(&levels),
        _ => Change::Step(claim.step()),
    };
    contrast::medians(estimates, &contrast::pairs(rows, position, change))
}

/// What an effect with its interval says of the claim; `None` where it is too large to be written.
pub(super) fn verdict(claim: &Claim, estimate: f64, interval: Interval) -> Option<Verdict> {
    let (lo, hi) = in_favour(claim, interval);
    Verdict::judge(lo, hi, claim.matters).filter(|_| estimate.is_finite())
}

/// An interval of the effect, turned so that positive favours what is said.
pub(super) fn in_favour(claim: &Claim, interval: Interval) -> (f64, f64) {
    if claim.sign() > 0.0 { (interval.lo, interval.hi) } else { (-interval.hi, -interval.lo) }
}
