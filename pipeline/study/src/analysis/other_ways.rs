//! The same question asked in other ways: with random or fixed intercepts of the claim's groups,
//! and with one fire left out at a time.

use super::effects::Pulls;
use super::{By, effect};
use crate::claims::Claim;
use crate::error::StudyError;
use crate::grouped::Grouped;
use crate::inference::{self, Combination, Inference};
use crate::regression::{Data, NotFitted};
use crate::result::{Alternative, ChangingFire, ClaimResult, LeaveOneFireOut, finite};
use crate::rows::Rows;
use crate::table::MeasureTable;
use crate::verdict::Verdict;
use stats::{Estimates, Interval, StatsError};
use std::collections::BTreeSet;

/// With more fires than this no single one is left out in turn: it could not weigh much.
const MOST_LEFT_OUT: usize = 300;

/// Fits `mixed`, and `fixed-effects` where a group has few levels, beside the model that the
/// verdict rests on.
pub(super) fn with_groups(
    table: &MeasureTable,
    claim: &Claim,
    rows: &Rows,
    by: &By,
    data: &Data,
    level: f64,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    if claim.group.is_empty() {
        return Ok(());
    }
    let grouped = Grouped::new(table, rows, data, &claim.group)?;
    let lower_bounds = data.observed.iter().filter(|observed| !**observed).count();
    if lower_bounds > 0 {
        result.notes.push(format!(
            "`mixed` is left out: {lower_bounds} of {} outcomes are lower bounds, which it does \
             not allow for; the interval is clustered by fire",
            data.y.len()
        ));
    } else {
        if grouped.without > 0 {
            let cooks = grouped.without;
            result
                .notes
                .push(format!("`mixed` is without {cooks} cooks that do not say their group"));
        }
        if let Some((fit, model, counted)) = grouped.mixed(&mut result.notes)? {
            result.models.push(model);
            let way = format!("with random intercepts of {counted}");
            let infer = |found: &Combination| inference::by_t(found.estimate, level);
            alternative(claim, by, &grouped.data, &fit.estimates, infer, way, result)?;
        }
    }
    if let Some((data, fitted, columns)) = grouped.fixed(&claim.adjust, &mut result.notes)? {
        let way = format!("with {columns} as fixed effects");
        let infer = |found: &Combination| fitted.infer(found, level);
        alternative(claim, by, &data, &fitted.estimates, infer, way, result)?;
        result.models.push(fitted.model);
    }
    Ok(())
}

/// Fits the model that takes the same scatter for all cooks beside the one that does not.
pub(super) fn with_one_scatter(
    claim: &Claim,
    by: &By,
    data: &Data,
    level: f64,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let data = data.with_one_scatter();
    let fitted = match data.fit() {
        Ok(fitted) => fitted,
        Err(NotFitted::Refused(reason)) => {
            result.notes.push(format!("`censored-gaussian` is left out: {reason}"));
            return Ok(());
        }
        Err(failed) => return Err(failed),
    };
    let infer = |found: &Combination| fitted.infer(found, level);
    let way = "with one scatter for all cooks".to_owned();
    alternative(claim, by, &data, &fitted.estimates, infer, way, result)?;
    result.models.push(fitted.model);
    Ok(())
}

fn alternative(
    claim: &Claim,
    by: &By,
    data: &Data,
    estimates: &Estimates,
    infer: impl Fn(&Combination) -> Result<Inference, StatsError>,
    way: String,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let statistics = |error| NotFitted::Failed(StudyError::Statistics(error));
    let rows: Vec<Vec<f64>> = (0..data.y.len())
        .map(|row| data.columns.iter().map(|column| column[row]).collect())
        .collect();
    let found = effect::estimate(claim, &by.term, estimates, &rows).map_err(statistics)?;
    let (effect, interval) = (found.estimate, infer(&found).map_err(statistics)?.interval);
    let Some(verdict) = effect::verdict(claim, effect.estimate, interval) else {
        return Ok(());
    };
    result.other_ways.push(Alternative {
        way,
        estimate: effect.estimate + 0.0,
        lo: finite(interval.lo),
        hi: finite(interval.hi),
        n: data.y.len(),
        verdict,
    });
    Ok(())
}

/// What comes out without one fire.
#[derive(Debug, Clone)]
pub(super) struct WithoutFire {
    /// Its cooks.
    pub(super) cooks: Vec<String>,
    /// The effect and its interval; `None` where nothing can be fitted without it.
    pub(super) effect: Option<(f64, Interval)>,
}

/// The effect with each fire left out in turn; none with too many of them.
pub(super) fn without_each_fire(
    claim: &Claim,
    by: &By,
    data: &Data,
    level: f64,
) -> Result<Vec<WithoutFire>, NotFitted> {
    let fires = data.by_fire();
    if fires.len() > MOST_LEFT_OUT {
        return Ok(Vec::new());
    }
    fires
        .iter()
        .map(|left_out| {
            let kept: Vec<usize> =
                (0..data.y.len()).filter(|row| left_out.binary_search(row).is_err()).collect();
            let effect = match data.take(&kept).fit() {
                Ok(fit) => effect::estimate(claim, &by.term, &fit.estimates, &fit.rows)
                    .and_then(|found| {
                        Ok(Some((found.estimate.estimate, fit.infer(&found, level)?.interval)))
                    })
                    .map_err(|error| NotFitted::Failed(StudyError::Statistics(error)))?,
                Err(NotFitted::Refused(_)) => None,
                Err(failed) => return Err(failed),
            };
            let cooks = left_out.iter().map(|&row| data.cooks[row].clone()).collect();
            Ok(WithoutFire { cooks, effect: effect.filter(|effect| effect.0.is_finite()) })
        })
        .collect()
}

/// By how much leaving out each fire moves the effect; `None` where that was not done, or one fire cannot be left
/// out.
pub(super) fn pulls(
    claim: &Claim,
    by: &By,
    data: &Data,
    (effect, level): (f64, f64),
) -> Result<Option<Pulls>, NotFitted> {
    let without = without_each_fire(claim, by, data, level)?;
    let fires: BTreeSet<usize> = data.fires.iter().copied().collect();
    if without.len() != fires.len() {
        return Ok(None);
    }
    let pull = |without: WithoutFire| without.effect.map(|(moved, _)| moved - effect);
    Ok(fires.into_iter().zip(without).map(|(fire, own)| Some((fire, pull(own)?))).collect())
}

/// What leaving out one fire at a time does to the verdict.
pub(super) fn leave_one_fire_out(
    claim: &Claim,
    without: &[WithoutFire],
    verdict: Verdict,
) -> Option<LeaveOneFireOut> {
    let mut found = LeaveOneFireOut {
        fires: 0,
        lowest: f64::INFINITY,
        highest: f64::NEG_INFINITY,
        not_fitted: 0,
        changing: Vec::new(),
    };
    for fire in without {
        let Some((estimate, interval)) = fire.effect else {
            found.not_fitted += 1;
            continue;
        };
        let estimate = estimate + 0.0;
        found.fires += 1;
        found.lowest = found.lowest.min(estimate);
        found.highest = found.highest.max(estimate);
        let other = effect::verdict(claim, estimate, interval);
        if let Some(other) = other.filter(|other| *other != verdict) {
            let cooks = fire.cooks.clone();
            found.changing.push(ChangingFire { cooks, estimate, verdict: other });
        }
    }
    (found.fires > 0).then_some(found)
}
