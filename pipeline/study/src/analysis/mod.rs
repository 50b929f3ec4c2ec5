//! One claim against the table.
//!
//! # Which cooks
//! Cooks that are not excluded and have the outcome, `by` and every adjuster; for `compare`
//! those of the two levels. Whoever is left out is counted, with the reason.
//!
//! # Model
//! Outcome on intercept, `by` and adjusters. `compare` enters `by` as the first level
//! against the second, `trend` as the number itself; numeric adjusters enter as they are,
//! texts as treatment contrasts with the first level in sorted order as the base; an
//! adjuster that is the same in every used cook is dropped. An outcome with at least one
//! lower bound among the used cooks is analysed as right-censored.
//!
//! # Effect
//! On the identity scale the coefficient of `by`, times `per` for a trend.
//!
//! On the log scale the model is linear in ln(outcome), and the effect is brought back to
//! the outcome's unit as the average over the used cooks of exp(x₁β) − exp(x₂β): the same
//! cook with the first level and with the second, or half a `per` above its own value of
//! `by` and half a `per` below. exp(xβ) is the median outcome of such a cook (the mean would
//! need the shape of the scatter: Duan 1983, Journal of the American Statistical Association
//! 78, 605–610). The standard error is by the delta method with the gradient of that average
//! in β, the used cooks' covariates taken as given.
//!
//! # Cooks still needed
//! 0 once the verdict is decided, null where it is refused. While it is open, the smallest
//! number of further usable cooks with which the interval's half width would fall below
//! `matters`, if cooks go on as they did: the standard error shrinks with the square root of
//! the number of cooks, and fires, levels and adjusters keep their mix. Half a width of δ is
//! what a difference of nothing, or of twice δ, needs to be told from δ. Where the half width
//! is below δ already and the verdict still open, the effect lies near δ; then the number is
//! that with which the interval around the present estimate would no longer hold δ (null
//! beyond a million, or where the estimate is δ itself).

mod effect;
mod standing;
mod wrap_timing;

pub use wrap_timing::{
    AtRisk, Difference, Evidence, Incidence, SetpointUnchanged, Weights, WrapArm, WrapTiming,
};

#[cfg(test)]
mod tests;

use crate::claims::{Claim, ClaimKind, Scale};
use crate::error::StudyError;
use crate::lock::Lock;
use crate::names::{derived_from_wrap, unit_of};
use crate::outcome::Outcome;
use crate::regression::{self, FIRES_PER_LEVEL, NotFitted, Regression};
use crate::result::{ClaimResult, Effect, finite};
use crate::rows::{Covariate, Rows};
use crate::table::MeasureTable;
use crate::verdict::{Direction, Verdict, interval_level};
use stats::Design;
use std::collections::BTreeSet;

/// Judges one claim. `lock` must know the claim: [`Lock::update`] it first.
///
/// # Errors
/// Columns that hold something else than their name promises; a claim that the data cannot
/// answer is no error but a refusal.
pub fn judge(
    table: &MeasureTable,
    claim: &Claim,
    lock: &Lock,
    evidence: Evidence<'_>,
) -> Result<ClaimResult, StudyError> {
    let standing = standing::of(table, claim, lock)?;
    let mut result = ClaimResult {
        id: claim.id.clone(),
        says: claim.says.clone(),
        kind: claim.kind,
        asked: claim.clone(),
        verdict: Verdict::Refused,
        standing: standing.standing,
        confirming_cooks: standing.confirming_cooks,
        judge_after_cooks: claim.judge_after_cooks,
        family_size: standing.family_size,
        direction: Direction::Unclear,
        reason: None,
        effect: None,
        n: 0,
        fires: 0,
        left_out: Vec::new(),
        cooks_still_needed: None,
        notes: Vec::new(),
        models: Vec::new(),
        wrap_timing: None,
    };
    let judged = if claim.kind == ClaimKind::WrapTiming {
        wrap_timing::judge(table, claim, &standing, evidence, &mut result)
    } else {
        estimate(table, claim, standing.judged.as_ref(), &mut result)
    };
    match judged {
        Ok(()) => Ok(result),
        Err(NotFitted::Refused(reason)) => {
            let by = claim.by.as_deref().unwrap_or_default();
            // That a wrap is no cause to compare by comes before all that the data may lack.
            let by_wrap = derived_from_wrap(by);
            result.reason = Some(if by_wrap { wrap_refusal(by) } else { reason });
            Ok(result)
        }
        Err(NotFitted::Failed(error)) => Err(error),
    }
}

fn refuse<T>(reason: impl Into<String>) -> Result<T, NotFitted> {
    Err(NotFitted::Refused(reason.into()))
}

/// What the column `by` gives each cook: its value in the design.
struct By {
    term: String,
    values: Vec<Option<f64>>,
    /// The level of each cook; empty for a trend.
    levels: Vec<Option<String>>,
}

fn estimate(
    table: &MeasureTable,
    claim: &Claim,
    judged: Option<&BTreeSet<usize>>,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let by_column = claim.by.as_deref().unwrap_or_default();
    if !table.has(by_column) {
        let hint = if by_column == "arm" { ": no cook was randomised" } else { "" };
        return refuse(format!("the table has no column `{by_column}`{hint}"));
    }
    let by = match read_by(table, claim, by_column) {
        // A trend by a word such as `foil`: refused as a wrap before it is wrong as a number.
        Err(StudyError::ColumnValue { .. }) if derived_from_wrap(by_column) => {
            return refuse(wrap_refusal(by_column));
        }
        by => by?,
    };
    let outcome = Outcome::read(table, &claim.outcome)?;
    let adjusters = claim
        .adjust
        .iter()
        .map(|column| Covariate::read(table, column))
        .collect::<Result<Vec<_>, _>>()?;

    let mut rows = Rows::all(table);
    if let Some(judged) = judged {
        rows.keep("not among the confirming cooks that are judged", |row| judged.contains(&row));
    }
    rows.keep_included(table)?;
    rows.keep_outcome(&claim.outcome, &outcome);
    if claim.kind == ClaimKind::Compare {
        rows.keep(&format!("no `{by_column}`"), |row| by.levels[row].is_some());
        rows.keep(&format!("another level of `{by_column}`"), |row| by.values[row].is_some());
    } else {
        rows.keep(&format!("no `{by_column}`"), |row| by.values[row].is_some());
    }
    for adjuster in &adjusters {
        rows.keep(&format!("no `{}`", adjuster.name()), |row| adjuster.is_present(row));
    }
    result.n = rows.used.len();
    result.fires = rows.fires(table);
    result.left_out.clone_from(&rows.left_out);
    result.notes.extend(notes(claim, &outcome, &rows, &by));

    if claim.outcome == "clock_to_finish_min" && rows.censored(&outcome) > 0 {
        return refuse(format!(
            "{} of {} cooks ended before the finish temperature: their time is a lower bound, and \
             this version does not estimate restricted mean times",
            rows.censored(&outcome),
            rows.used.len(),
        ));
    }
    let y = modelled(table, claim, &outcome, &rows)?;
    if claim.kind == ClaimKind::Compare {
        enough_fires(table, claim, by_column, &by, &rows)?;
    } else if rows.used.is_empty() {
        return refuse("no cook is usable: see which were left out, and why".to_owned());
    } else if Covariate::Numeric(by.term.clone(), by.values.clone()).is_constant(&rows) {
        return refuse(format!("`{by_column}` is the same in all usable cooks"));
    }

    let regression = fit(table, &rows, &by, &adjusters, &y, &outcome, result)?;
    result.models.push(regression.model.clone());
    result.notes.extend(regression.note.clone());
    if derived_from_wrap(by_column) {
        result.notes.push(
            "the model shows how outcomes go with wrapping among these cooks, not what wrapping does"
                .into(),
        );
        return refuse(wrap_refusal(by_column));
    }
    conclude(claim, &by, &rows, &regression, result)
}

fn wrap_refusal(column: &str) -> String {
    format!(
        "`{column}` is decided while cooking, by what the meat does: a difference would show who \
         gets wrapped, not what wrapping does; randomise it and compare by `arm`"
    )
}

fn read_by(table: &MeasureTable, claim: &Claim, column: &str) -> Result<By, StudyError> {
    if claim.kind == ClaimKind::Trend {
        return Ok(By {
            term: column.to_owned(),
            values: table.numbers(column)?,
            levels: Vec::new(),
        });
    }
    let levels = in_the_claims_words(claim, table.texts(column)?);
    let first = claim.levels.first().map(String::as_str);
    let second = claim.levels.get(1).map(String::as_str);
    let values = levels
        .iter()
        .map(|level| match level.as_deref() {
            None => None,
            level if level == first => Some(1.0),
            level if level == second => Some(0.0),
            _ => None,
        })
        .collect();
    Ok(By { term: format!("{column}[{}]", first.unwrap_or_default()), values, levels })
}

/// A sheet says yes and no where its column holds true and false: a claim may use either.
fn in_the_claims_words(claim: &Claim, levels: Vec<Option<String>>) -> Vec<Option<String>> {
    let says_yes = claim.levels.iter().all(|level| matches!(level.as_str(), "yes" | "no"));
    let holds_true = levels.iter().flatten().all(|l| matches!(l.as_str(), "true" | "false"));
    if !(says_yes && holds_true) {
        return levels;
    }
    let word = |level: String| if level == "true" { "yes".to_owned() } else { "no".to_owned() };
    levels.into_iter().map(|level| level.map(word)).collect()
}

/// The outcome on the scale of the model.
fn modelled(
    table: &MeasureTable,
    claim: &Claim,
    outcome: &Outcome,
    rows: &Rows,
) -> Result<Vec<f64>, NotFitted> {
    let y = rows.take(&outcome.values);
    if claim.scale == Scale::Identity {
        return Ok(y);
    }
    if let Some((&row, value)) = rows.used.iter().zip(&y).find(|(_, value)| **value <= 0.0) {
        let count = y.iter().filter(|value| **value <= 0.0).count();
        return refuse(format!(
            "`scale = \"log\"` needs values above 0, but {count} of {} `{}` are not (cook `{}` has \
             {value}); write `scale = \"identity\"`",
            y.len(),
            claim.outcome,
            table.cooks()[row],
        ));
    }
    Ok(y.into_iter().map(f64::ln).collect())
}

/// Refuses a comparison in which a level has too few fires.
fn enough_fires(
    table: &MeasureTable,
    claim: &Claim,
    column: &str,
    by: &By,
    rows: &Rows,
) -> Result<(), NotFitted> {
    for level in &claim.levels {
        let fires: BTreeSet<usize> = rows
            .used
            .iter()
            .filter(|&&row| by.levels[row].as_ref() == Some(level))
            .map(|&row| table.fires()[row])
            .collect();
        if fires.len() >= FIRES_PER_LEVEL {
            continue;
        }
        let known: BTreeSet<&str> = by.levels.iter().flatten().map(String::as_str).collect();
        let hint = if known.contains(level.as_str()) {
            String::new()
        } else {
            let listed: Vec<String> = known.iter().map(|known| format!("`{known}`")).collect();
            format!("; no cook has that level, known are {}", listed.join(", "))
        };
        return refuse(format!(
            "too few cooks: level `{level}` of `{column}` has usable cooks from {} fires, each \
             level needs {FIRES_PER_LEVEL}{hint}",
            fires.len(),
        ));
    }
    Ok(())
}

fn notes(claim: &Claim, outcome: &Outcome, rows: &Rows, by: &By) -> Vec<String> {
    let mut notes: Vec<String> = outcome.note(&claim.outcome).into_iter().collect();
    if !claim.group.is_empty() {
        notes.push(if rows.censored(outcome) > 0 {
            "`mixed` is left out: some outcomes are lower bounds; the interval is clustered by fire"
                .into()
        } else {
            "`mixed` is left out: this version does not estimate random intercepts; the interval \
             allows for fires alone"
                .into()
        });
    }
    for column in claim.adjust.iter().filter(|column| derived_from_wrap(column)) {
        notes.push(format!(
            "`{column}` is decided while cooking: with it held fixed, what `by` does by way of \
             wrapping is not in the effect"
        ));
    }
    if claim.kind == ClaimKind::Compare && claim.by.as_deref() == Some("arm") {
        let randomised = by.values.iter().flatten().count();
        if randomised > rows.used.len() {
            notes.push(format!(
                "{} of {randomised} cooks randomised to the two arms are left out: what is compared \
                 may differ from what was randomised",
                randomised - rows.used.len()
            ));
        }
    }
    notes
}

fn fit(
    table: &MeasureTable,
    rows: &Rows,
    by: &By,
    adjusters: &[Covariate],
    y: &[f64],
    outcome: &Outcome,
    result: &mut ClaimResult,
) -> Result<Regression, NotFitted> {
    let cooks: Vec<&str> = rows.used.iter().map(|&row| table.cooks()[row].as_str()).collect();
    let fires: Vec<usize> = rows.used.iter().map(|&row| table.fires()[row]).collect();
    let design = || -> Result<Design, stats::StatsError> {
        let mut design =
            Design::new(rows.used.len()).intercept()?.numeric(&by.term, &rows.take(&by.values))?;
        for adjuster in adjusters.iter().filter(|adjuster| !adjuster.is_constant(rows)) {
            design = adjuster.add_to(design, rows)?;
        }
        Ok(design)
    };
    for adjuster in adjusters.iter().filter(|adjuster| adjuster.is_constant(rows)) {
        result.notes.push(format!(
            "`{}` is the same in all usable cooks: there is nothing to adjust",
            adjuster.name()
        ));
    }
    let design = design().map_err(|error| regression::explain(error, &cooks))?;
    regression::fit(&design, y, &rows.observed(outcome), &fires, &cooks)
}

fn conclude(
    claim: &Claim,
    by: &By,
    rows: &Rows,
    regression: &Regression,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let statistics = |error| NotFitted::Failed(StudyError::Statistics(error));
    let estimate = effect::estimate(claim, &by.term, regression).map_err(statistics)?;
    let level = interval_level(result.family_size);
    let interval = estimate.interval(level).map_err(statistics)?;
    let sign = claim.sign();
    let d = sign * estimate.estimate;
    let (lo, hi) =
        if sign > 0.0 { (interval.lo, interval.hi) } else { (-interval.hi, -interval.lo) };
    let Some(verdict) = Verdict::judge(lo, hi, claim.matters).filter(|_| d.is_finite()) else {
        return refuse("the effect is too large to be written as a number");
    };
    result.verdict = verdict;
    result.direction = Direction::of(lo, hi);
    result.effect = Some(Effect {
        estimate: estimate.estimate + 0.0,
        lo: finite(interval.lo),
        hi: finite(interval.hi),
        level,
        unit: unit_of(&claim.outcome).to_owned(),
        d: d + 0.0,
    });
    result.cooks_still_needed = if verdict == Verdict::Open {
        effect::cooks_still_needed(&effect::Precision {
            cooks: rows.used.len(),
            std_error: estimate.std_error,
            df_per_cook: regression.df_per_cook,
            df_less: regression.df_less,
            level,
            matters: claim.matters,
            d,
        })
    } else {
        Some(0)
    };
    Ok(())
}
