//! The effect of `by` in the outcome's unit.

use crate::claims::{Claim, ClaimKind, Scale};
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

/// Average over the used cooks of exp(x₁β) − exp(x₂β), by the delta method.
fn on_log_scale(
    claim: &Claim,
    term: &str,
    estimates: &Estimates,
    rows: &[Vec<f64>],
) -> Result<Estimate, StatsError> {
    let position = estimates.names().iter().position(|name| name == term);
    let half = claim.step() / 2.0;
    let mut total = 0.0;
    let mut gradient = vec![0.0; estimates.names().len()];
    for row in rows {
        for (sign, shift) in [(1.0, half), (-1.0, -half)] {
            let mut moved = row.clone();
            if let Some(position) = position {
                moved[position] = match claim.kind {
                    ClaimKind::Compare => f64::from(u8::from(sign > 0.0)),
                    _ => moved[position] + shift,
                };
            }
            let median = estimates.linear_combination(&moved)?.estimate.exp();
            total += sign * median;
            for (sum, x) in gradient.iter_mut().zip(&moved) {
                *sum += sign * median * x;
            }
        }
    }
    let n = rows.len() as f64;
    for sum in &mut gradient {
        *sum /= n;
    }
    if !(total.is_finite() && gradient.iter().all(|value| value.is_finite())) {
        return Ok(Estimate { estimate: f64::INFINITY, std_error: 0.0, df: f64::INFINITY });
    }
    let delta = estimates.linear_combination(&gradient)?;
    Ok(Estimate { estimate: total / n, std_error: delta.std_error, df: delta.df })
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
