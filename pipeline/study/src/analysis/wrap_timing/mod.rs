//! What wrap timing does: two strategies compared on the study clock.
//!
//! Four answers stand beside each other. `g-formula` runs every cook on from its own state on the core's clock
//! ([`g_formula`]) and judges, unless it gives a reason against or the claim asks for an unchanged set-point;
//! then `clone-censor-weight` does. `kaplan-meier` compares the cooks as they turned out, and is wrong (immortal time, and who is wrapped when). `cox` takes a cook as wrapped from its
//! wrap on, which mends the first; it is an association. `clone-censor-weight` copies every cook
//! into both strategies, censors a copy in the ten minutes in which its cook leaves the strategy,
//! and weights those that stay by what this team's habits say of staying:
//! [`stats::clone_censor_weight`].
//!
//! What this team's habits say of a cook is learnt from fires other than its own, in ten parts: a model
//! that had seen the cook would find what it did too probable, and leave confounding in. Weights are cut
//! at the 99th percentile of their strategy.
//!
//! The effect is the difference of restricted mean times to the finish up to the horizon, first
//! minus second, its interval the estimate ± t(fires − 1) × standard error from a bootstrap over
//! fires. Pulls that were tender before the finish count as finishes; pulls because time was up are
//! censored. Both compete in the cumulative incidences.
//!
//! The weights make the copies stand for all cooks if the history that is logged holds all that
//! decides both on the wrap and on the time, and if time running out or a log ending early tells
//! nothing beyond it.

pub(super) mod clones;
pub(super) mod cooks;
mod cox;
pub(super) mod decisions;
pub(super) mod estimate;
pub(super) mod g_formula;
pub(super) mod ways;

use super::cooks_needed::{Precision, narrow_enough};
use super::standing::ClaimStanding;
use super::{Evidence, horizon, settle};
use crate::claims::{Claim, Strategy};
use crate::error::StudyError;
use crate::flow;
use crate::inference;
use crate::regression::NotFitted;
use crate::result::ClaimResult;
use crate::result::g_formula::GFormula;
use crate::result::wrap_timing::Difference;
use crate::rows::Rows;
use crate::table::MeasureTable;
use crate::verdict::Verdict;
use stats::Estimate;

/// The finish of the study clock, °C (DEVELOPERS.md: one definition everywhere).
const FINISH_C: f64 = 88.0;
/// Zero of the study clock, °C.
const CLOCK_ZERO_C: f64 = 55.0;

/// Judges a wrap-timing claim into `result`.
pub(super) fn judge(
    table: &MeasureTable,
    claim: &Claim,
    standing: &ClaimStanding,
    evidence: Evidence<'_>,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let refuse = |reason: String| Err(NotFitted::Refused(reason));
    let Some(history) = evidence.history else {
        return refuse(
            "strategies of wrapping are compared on the course of each cook, which a table of \
             measures alone does not hold: study a store"
                .into(),
        );
    };
    let [first, second] = claim.strategies.as_slice() else {
        return refuse("a wrap-timing claim needs two strategies".into());
    };
    for strategy in [first, second] {
        if let Some(core_c) = strategy.core_c().filter(|c| !(CLOCK_ZERO_C..FINISH_C).contains(c)) {
            return refuse(format!(
                "the study clock runs from a core of {CLOCK_ZERO_C} to {FINISH_C} °C: a wrap at \
                 {core_c:.1} °C is outside it"
            ));
        }
    }
    let mut rows = Rows::all(table);
    standing.keep(&mut rows);
    let cooks = cooks::read(table, history, &claim.adjust, rows)?;
    result.n = cooks.all.len();
    result.fires = cooks.rows.fires(table);
    result.left_out.clone_from(&cooks.rows.left_out);
    result.flow = flow::of_claim(table, &cooks.rows)?;
    if cooks.all.len() < 2 || result.fires < 2 {
        return refuse("no two cooks of two fires are usable: see which were left out".into());
    }
    let (models, notes) = cox::models(&cooks);
    result.models.extend(models);
    result.notes.extend(notes);
    if cooks.without_setpoint > 0 {
        result.notes.push(format!(
            "{} cooks state no set-point: theirs is taken as unchanged",
            cooks.without_setpoint
        ));
    }
    let Evidence { seed, horizon_min, .. } = evidence;
    let asked = estimate::Asked { claim, first, second, seed, horizon_min };
    let weighted = match estimate::estimate(&asked, &cooks, result) {
        Err(NotFitted::Refused(reason)) => (None, Some(reason)),
        other => other?,
    };
    let cut = cooks.all.iter().filter(|cook| cook.end.kind().is_none()).count();
    result.cut_share = (!cooks.all.is_empty()).then(|| cut as f64 / cooks.all.len() as f64);
    result.horizon_min = result.wrap_timing.as_ref().map(|found| found.horizon_min);
    if let Some(degrees) = evidence.degrees {
        let beside = result.wrap_timing.as_ref().filter(|_| weighted.1.is_none());
        let beside = beside.map(|found| (found.horizon_min, found.weighted));
        let found = g_formula::estimate(table, &cooks, degrees, &asked, beside)?;
        result
            .models
            .extend(found.difference.map(|found_there| g_formula::model(&found, found_there)));
        if let Some(difference) = found.judges() {
            result.n = found.n;
            result.fires = found.fires;
            result.left_out.extend(found.left_out.iter().cloned());
            flow::and_lost(&mut result.flow, &found.left_out, found.n);
            result.horizon_min = Some(found.horizon_min);
            let lasting = found.model_error_min;
            result.g_formula = Some(found);
            conclude(claim, (difference, lasting), cut, result)?;
            g_formula::weigh_hidden_habit(claim, &cooks, (table, degrees), result);
            return Ok(());
        }
        result.g_formula = Some(found);
    }
    match weighted {
        (_, Some(reason)) => refuse(match &result.g_formula {
            Some(GFormula { reason: Some(own), .. }) => {
                format!("on the core's clock: {own}; by weights: {reason}")
            }
            _ => reason,
        }),
        (None, None) => refuse("nothing could be estimated".into()),
        (Some(difference), None) => conclude(claim, (difference, 0.0), cut, result),
    }
}

/// Judges a difference; `lasting` is the part of its standard error that no number of cooks makes smaller.
fn conclude(
    claim: &Claim,
    (difference, lasting): (Difference, f64),
    cut: usize,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let df = result.fires as f64 - 1.0;
    let estimate = Estimate { estimate: difference.estimate, std_error: difference.std_error, df };
    let level = result.level();
    let statistics = |error| NotFitted::Failed(StudyError::Statistics(error));
    let interval = inference::by_t(estimate, level).map_err(statistics)?.interval;
    settle(claim, &estimate, interval, level, result)?;
    if cut > 0 && claim.horizon_min.is_none() && horizon::matters_of_absence(result.verdict) {
        // What the cut cooks would have done is not bounded: copies are weighted, and runs are what others did.
        result.notes.push(horizon::left_open(cut, result.n, result.verdict));
        result.verdict = Verdict::Open;
        return Ok(());
    }
    result.cooks_still_needed = if result.verdict == Verdict::Open {
        narrow_enough(&Precision {
            cooks: result.n,
            std_error: difference.std_error,
            lasting,
            df,
            level,
            matters: claim.matters,
            d: claim.sign() * estimate.estimate,
        })
    } else {
        Some(0)
    };
    Ok(())
}

/// A strategy in words.
fn in_words(strategy: &Strategy) -> String {
    if strategy.never {
        return "never wrapped".into();
    }
    let Some(method) = &strategy.method else { return "as this team does".into() };
    let core = match (strategy.at_core_f, strategy.at_core_c) {
        (Some(fahrenheit), _) => format!("{fahrenheit} °F"),
        (None, Some(celsius)) => format!("{celsius} °C"),
        (None, None) => "?".into(),
    };
    let grace = strategy.grace_min.unwrap_or_default();
    format!("{method} within {grace} min of {core}")
}

#[cfg(test)]
mod tests;
