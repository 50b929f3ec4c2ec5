//! A claim about wrap timing under choices that others might have made.
//!
//! Constants of the stall definition move what is known of a cook's past (whether it stalls, its
//! heating coefficient), and with it the weights. Beside them: the columns that the weights know of,
//! the grace of the strategies, the horizon, whether the largest weights are cut, whether a tender
//! pull is a finish, and outlying cooks. A moved constant is combined with the columns, horizons,
//! weights and pulls, but not with another grace or without outliers: that would take hours on large
//! stores and show little more.
//!
//! Each is a point estimate by weights. Its verdict is that which it would have with the standard error of the
//! weighted estimate. Where the claim is judged on the core's clock, that answer stands among them as the one
//! that was written.

use super::specifications::{AS_DEFINED, adjusters, within_reach};
use super::standing::ClaimStanding;
use super::wrap_timing::ways;
use super::{Evidence, effect};
use crate::claims::{Claim, Strategy};
use crate::error::StudyError;
use crate::result::specification::{Specification, SpecificationCurve};
use crate::result::{ClaimResult, Effect, finite};
use crate::table::MeasureTable;
use stats::Estimate;

/// Multiples of the claim's grace.
const GRACES: [f64; 3] = [1.0, 0.5, 2.0];

/// Asks the claim in every way; `None` where it has no answer of its own.
pub(super) fn curve(
    table: &MeasureTable,
    evidence: Evidence<'_>,
    claim: &Claim,
    standing: &ClaimStanding,
    own: &ClaimResult,
) -> Result<Option<SpecificationCurve>, StudyError> {
    let (Some(own_effect), Some(history), Some(found)) =
        (&own.effect, evidence.history, &own.wrap_timing)
    else {
        return Ok(None);
    };
    let std_error = if claim.setpoint_unchanged {
        found.setpoint_unchanged.difference.map(|difference| difference.std_error)
    } else {
        Some(found.weighted.std_error)
    };
    let Some(std_error) = std_error else { return Ok(None) };
    let df = own.fires as f64 - 1.0;
    let level = own.level();
    let kept = within_reach(table, &claim.outcome, standing)?;
    let has_grace = claim.strategies.iter().any(|strategy| strategy.grace_min.is_some());
    let graces = if has_grace { &GRACES[..] } else { &GRACES[..1] };
    let as_defined = (AS_DEFINED, table, history);
    let moved = evidence
        .definitions
        .iter()
        .filter(|moved| moved.measures.cooks() == table.cooks())
        .filter_map(|moved| Some((moved.name.as_str(), &moved.measures, moved.history.as_ref()?)));
    // Where the answer on the core's clock judges, these are other ways to ask, and it stands among them.
    let by_degrees = own.g_formula.as_ref().is_some_and(|found| found.judges().is_some());
    let mut curve = SpecificationCurve { own_error: true, ..SpecificationCurve::default() };
    for (definition, table, history) in std::iter::once(as_defined).chain(moved) {
        for adjust in adjusters(table, claim, &claim.outcome) {
            for &grace in graces {
                for without_outliers in [false, true] {
                    let is_moved = definition != AS_DEFINED;
                    let standing = if without_outliers { kept.as_ref() } else { Some(standing) };
                    let Some(standing) = standing else { continue };
                    if is_moved && (grace != 1.0 || without_outliers) {
                        continue;
                    }
                    let asked = Claim {
                        adjust: adjust.clone(),
                        strategies: claim.strategies.iter().map(|s| with_grace(s, grace)).collect(),
                        ..claim.clone()
                    };
                    let ways =
                        ways::ways(table, history, &asked, standing, (grace, found.horizon_min))?;
                    for way in ways {
                        let Some(difference) = way.difference else {
                            curve.not_fitted += 1;
                            continue;
                        };
                        let estimate = Estimate { estimate: difference, std_error, df };
                        let Some(verdict) =
                            effect::verdict(claim, estimate.estimate, estimate.interval(level)?)
                        else {
                            curve.not_fitted += 1;
                            continue;
                        };
                        let as_written = !by_degrees
                            && way.as_written
                            && !is_moved
                            && adjust == claim.adjust
                            && grace == 1.0
                            && !without_outliers;
                        curve.same_verdict += usize::from(verdict == own.verdict);
                        let same_side = difference.signum() == own_effect.estimate.signum();
                        curve.same_side += usize::from(same_side);
                        let effect = if as_written {
                            own_effect.clone()
                        } else {
                            Effect {
                                estimate: difference + 0.0,
                                lo: None,
                                hi: None,
                                std_error: finite(std_error),
                                df: finite(df),
                                d: claim.sign() * difference + 0.0,
                                ..own_effect.clone()
                            }
                        };
                        curve.specifications.push(Specification {
                            definition: definition.to_owned(),
                            outcome: claim.outcome.clone(),
                            adjust: adjust.clone(),
                            without_outliers,
                            wrap_timing: Some(way.choices),
                            as_written,
                            effect,
                            n: way.n,
                            verdict,
                        });
                    }
                }
            }
        }
    }
    if by_degrees && !curve.specifications.is_empty() {
        curve.same_verdict += 1;
        curve.same_side += 1;
        curve.specifications.push(Specification {
            definition: AS_DEFINED.to_owned(),
            outcome: claim.outcome.clone(),
            adjust: claim.adjust.clone(),
            without_outliers: false,
            wrap_timing: None,
            as_written: true,
            effect: own_effect.clone(),
            n: own.n,
            verdict: own.verdict,
        });
    }
    curve.specifications.sort_by(|a, b| a.effect.estimate.total_cmp(&b.effect.estimate));
    Ok((curve.specifications.len() > 1).then_some(curve))
}

fn with_grace(strategy: &Strategy, factor: f64) -> Strategy {
    Strategy { grace_min: strategy.grace_min.map(|grace| grace * factor), ..strategy.clone() }
}
