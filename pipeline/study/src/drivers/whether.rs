//! Whether a cook stalled at all.

use super::fit::{Inputs, step};
use crate::contrast::{self, Change};
use crate::error::StudyError;
use crate::inference;
use crate::outcome::Outcome;
use crate::regression::{self, TERM_LEVEL};
use crate::result::driver::{DriverEffect, WhetherStalled};
use crate::result::{Model, finite};
use crate::rows::Rows;
use columns::measures;
use stats::{Design, LikelihoodErrors, Logistic, LogisticOptions, StatsError};

/// Cooks that stalled, and cooks that did not, which there must be at least: with fewer of either
/// there is nothing to tell apart. Common practice, no source.
const FEWEST_OF_EITHER: usize = 5;

/// Whether cooks stalled, against weight and pit; `None` where the table has no `stall_min`.
pub(super) fn whether_stalled(inputs: &Inputs<'_>) -> Result<Option<WhetherStalled>, StudyError> {
    const COLUMN: &str = measures::STALL_MIN.name;
    let table = inputs.table;
    if !table.has(COLUMN) {
        return Ok(None);
    }
    let outcome = Outcome::read(table, COLUMN)?;
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    rows.keep("no `stall_min`", |row| outcome.values[row].is_some());
    for by in [&inputs.weight, &inputs.pit] {
        rows.keep(&format!("no `{}`", by.name()), |row| by.is_present(row));
    }
    let stalled: Vec<bool> =
        rows.take(&outcome.values).into_iter().map(|minutes| minutes > 0.0).collect();
    let events = stalled.iter().filter(|stalled| **stalled).count();
    let mut found = WhetherStalled {
        n: stalled.len(),
        stalled: events,
        fires: rows.fires(table),
        effects: Vec::new(),
        reason: None,
        left_out: rows.left_out.clone(),
        notes: Vec::new(),
        model: None,
    };
    let others = stalled.len() - events;
    if events < FEWEST_OF_EITHER || others < FEWEST_OF_EITHER {
        found.reason = Some(format!(
            "{events} cooks stalled and {others} did not: at least {FEWEST_OF_EITHER} of either \
             are needed to tell them apart"
        ));
        return Ok(Some(found));
    }
    let fires = rows.fires_used(table);
    match fit(inputs, &rows, &stalled, &fires) {
        Ok((effects, model)) => {
            found.effects = effects;
            found.notes.push(
                "there is no model with random intercepts of fire and pit beside it: none is \
                 estimated for a yes or no; the standard errors are clustered by fire instead"
                    .into(),
            );
            found.model = Some(model);
        }
        Err(
            error @ (StatsError::ConstantColumn { .. }
            | StatsError::CollinearColumn { .. }
            | StatsError::TooFewRows { .. }
            | StatsError::TooFewClusters { .. }
            | StatsError::FullLeverage { .. }
            | StatsError::NoConvergence { .. }),
        ) => found.reason = Some(error.to_string()),
        Err(error) => return Err(error.into()),
    }
    Ok(Some(found))
}

fn fit(
    inputs: &Inputs<'_>,
    rows: &Rows,
    stalled: &[bool],
    fires: &[usize],
) -> Result<(Vec<DriverEffect>, Model), StatsError> {
    let mut design = Design::new(stalled.len()).intercept()?;
    for by in [&inputs.weight, &inputs.pit] {
        design = by.add_to(design, rows)?;
    }
    let errors = LikelihoodErrors::Jackknife(fires);
    let options = LogisticOptions { errors, firth: true, ..LogisticOptions::default() };
    let fit = Logistic::fit(&design, stalled, options)?;
    let rows_of = regression::rows(&design)?;
    let effects = design
        .terms()
        .iter()
        .enumerate()
        .skip(1)
        .map(|(position, term)| {
            let (per, unit) = step(term);
            let pairs = contrast::pairs(&rows_of, position, Change::Step(per));
            let change = contrast::probabilities(&fit, &pairs)?;
            let interval = inference::by_t(change, TERM_LEVEL)?.interval;
            Ok(DriverEffect {
                term: term.clone(),
                per: Some(per),
                per_unit: Some(unit.to_owned()),
                estimate: 100.0 * change.estimate + 0.0,
                lo: finite(100.0 * interval.lo),
                hi: finite(100.0 * interval.hi),
                level: TERM_LEVEL,
                unit: "percentage points".into(),
            })
        })
        .collect::<Result<_, StatsError>>()?;
    let model = Model {
        name: "logistic".into(),
        method: format!(
            "logistic regression with Firth's penalty, standard errors clustered by fire ({} \
             fires, left out one at a time)",
            fit.clusters.unwrap_or(0)
        ),
        n: fit.n,
        events: fit.events as usize,
        log_likelihood: finite(fit.estimates.log_likelihood()),
        residual_variance: None,
        random: Vec::new(),
        terms: regression::model_terms(&fit.estimates)?,
    };
    Ok((effects, model))
}
