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
//! lower bound among the used cooks is analysed as right-censored, with a scatter that goes with `by`
//! (one for each level), a time to the finish by restricted means (`restricted_mean`) up to a horizon that was fixed before looking; what they
//! cannot say of the whole time is left open (`horizon`).
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
//! # Other ways to ask
//! Where there are lower bounds, `censored-gaussian` has one scatter for all cooks. Where `group` is given, `mixed` has a random intercept for each of its columns and
//! `fixed-effects` has those of fewer than six levels as fixed effects; the verdict rests on the
//! clustered interval all the same, and [`ClaimResult::other_ways`] says what each of them would
//! answer. [`ClaimResult::leave_one_fire_out`] leaves out each fire in turn.
//!
//! # Cooks still needed
//! 0 once the verdict is decided, null where it is refused. While it is open, the smallest
//! number of further usable cooks with which four in five simulated seasons are decided. A
//! simulated season is this one with further fires drawn from its own, each with the weight that
//! it has in the effect (its jackknife pseudo-value); the present estimate is thereby taken as the
//! truth, and the draws are seeded by the claim's own text. Null beyond 1,000 cooks, and where further cooks do
//! not join those that it is judged on.

mod cooks_needed;
mod effect;
mod effects;
mod foresight;
mod horizon;
mod levers;
mod looks;
mod other_ways;
mod restricted_mean;
mod specifications;
mod standing;
pub(crate) mod teams;
mod wrap_specifications;
mod wrap_timing;

pub use effects::effects;
pub use foresight::{Foresight, foresee};
pub use levers::levers;
pub use looks::take_looks;

#[cfg(test)]
mod tests;

use crate::claims::{Claim, ClaimKind, Scale};
use crate::degrees::Degrees;
use crate::error::StudyError;
use crate::flow;
use crate::history::History;
use crate::lock::Lock;
use crate::outcome::Outcome;
use crate::regression::{self, Data, FIRES_PER_LEVEL, NotFitted, Regression};
use crate::result::{AllCooks, ClaimResult, Effect, NextStepKind, finite};
use crate::rows::{Covariate, Rows};
use crate::table::MeasureTable;
use crate::verdict::{Direction, Standing, Verdict};
use columns::{measures, names};
use cooks_needed::Present;
use effects::Pulls;
pub use specifications::Definition;
use standing::ClaimStanding;
use stats::{Design, Estimate, Interval};
use std::collections::BTreeSet;

/// What there is to answer from beside the measures.
#[derive(Debug, Clone, Copy)]
pub struct Evidence<'a> {
    /// The history of each cook on the study clock; without it, as for a table of measures that
    /// comes alone, nothing is said of wrap timing.
    pub history: Option<&'a History>,
    /// Each cook degree by degree: without it wrap timing is answered by weights alone.
    pub degrees: Option<&'a Degrees>,
    /// The same cooks under other stall definitions: the claim is asked under them too. May be
    /// empty.
    pub definitions: &'a [Definition],
    /// Seed of the bootstrap of wrap timing.
    pub seed: u64,
    /// How far the study clock runs for claims that do not say, min.
    pub horizon_min: f64,
    /// Hash of the phase definition behind the measures; without it nobody asks whether it is that of
    /// the lock.
    pub definition: Option<&'a str>,
}

impl Default for Evidence<'_> {
    fn default() -> Self {
        let cook::season::StudySettings { seed, horizon_min, .. } =
            cook::season::StudySettings::default();
        Self { history: None, degrees: None, definitions: &[], seed, horizon_min, definition: None }
    }
}

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
    let standing = standing::of(table, claim, lock, evidence.definition)?;
    let mut result = judged_as(table, claim, &standing, Depth::Whole, evidence)?;
    standing::against_the_seal(&mut result);
    result.specifications = if claim.kind == ClaimKind::WrapTiming {
        wrap_specifications::curve(table, evidence, claim, &standing, &result)?
    } else {
        specifications::curve(table, evidence, claim, &standing, &result)?
    };
    if standing.judged.is_some() {
        let whole = judged_as(table, claim, &standing.of_all(), Depth::Verdict, evidence)?;
        result.all_cooks = Some(AllCooks {
            verdict: whole.verdict,
            direction: whole.direction,
            reason: whole.reason,
            effect: whole.effect,
            n: whole.n,
            fires: whole.fires,
        });
    }
    result.teams = teams::of_season(table, claim, &standing, evidence, &result)?;
    let next = standing::next_step(claim, &result);
    result.next_step = Some(next);
    if result.verdict == Verdict::Open && next.kind != NextStepKind::Wait {
        // Further cooks do not join those that it is judged on.
        result.cooks_still_needed = None;
    }
    Ok(result)
}

/// The verdict with its interval alone, without other ways, fires left out and cooks still
/// needed: for whoever asks the same claim many times.
///
/// # Errors
/// As [`judge`].
pub fn judge_briefly(
    table: &MeasureTable,
    claim: &Claim,
    lock: &Lock,
    evidence: Evidence<'_>,
) -> Result<ClaimResult, StudyError> {
    judged_as(
        table,
        claim,
        &standing::of(table, claim, lock, evidence.definition)?,
        Depth::Verdict,
        evidence,
    )
}

/// How much is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Depth {
    Verdict,
    /// And what each fire moves it by.
    Fires,
    Whole,
}

/// The claim judged on the cooks of a standing, which may be that of another wording of it.
fn judged_as(
    table: &MeasureTable,
    claim: &Claim,
    standing: &ClaimStanding,
    depth: Depth,
    evidence: Evidence<'_>,
) -> Result<ClaimResult, StudyError> {
    judged(table, claim, standing, depth, evidence).map(|(result, _)| result)
}

/// The same, and what each fire moves the effect by, where that is asked and every one can be left out.
fn judged(
    table: &MeasureTable,
    claim: &Claim,
    standing: &ClaimStanding,
    depth: Depth,
    evidence: Evidence<'_>,
) -> Result<(ClaimResult, Option<Pulls>), StudyError> {
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
        share: standing.share,
        direction: Direction::Unclear,
        reason: None,
        effect: None,
        n: 0,
        fires: 0,
        left_out: Vec::new(),
        flow: Vec::new(),
        other_ways: Vec::new(),
        leave_one_fire_out: None,
        specifications: None,
        cooks_still_needed: None,
        notes: [standing.warnings.as_slice(), standing.notes.as_slice()].concat(),
        lock_warnings: standing.warnings.clone(),
        models: Vec::new(),
        wrap_timing: None,
        g_formula: None,
        horizon_min: None,
        cut_share: None,
        all_cooks: None,
        next_step: None,
        looks: standing.looks.clone(),
        looks_taken: standing.looks_taken.clone(),
        look_level: standing.look_level,
        teams: None,
    };
    let judged = if claim.kind == ClaimKind::WrapTiming {
        wrap_timing::judge(table, claim, standing, evidence, &mut result).map(|()| None)
    } else {
        estimate(table, claim, standing, (depth, evidence), &mut result)
    };
    match judged {
        Ok(pulls) => Ok((result, pulls)),
        Err(NotFitted::Refused(reason)) => {
            let by = claim.by.as_deref().unwrap_or_default();
            // That a wrap is no cause to compare by comes before all that the data may lack.
            let by_wrap = names::derived_from_wrap(by);
            result.reason = Some(if by_wrap { wrap_refusal(by) } else { reason });
            Ok((result, None))
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
    standing: &ClaimStanding,
    (depth, evidence): (Depth, Evidence<'_>),
    result: &mut ClaimResult,
) -> Result<Option<Pulls>, NotFitted> {
    let by_column = claim.by.as_deref().unwrap_or_default();
    if !table.has(by_column) {
        let hint = if by_column == measures::ARM.name { ": no cook was randomised" } else { "" };
        return refuse(format!("the table has no column `{by_column}`{hint}"));
    }
    let by = match read_by(table, claim, by_column) {
        // A trend by a word such as `foil`: refused as a wrap before it is wrong as a number.
        Err(StudyError::ColumnValue { .. }) if names::derived_from_wrap(by_column) => {
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
    standing.keep(&mut rows);
    rows.keep_included(table)?;
    rows.keep_outcome(&claim.outcome, &outcome);
    if claim.kind == ClaimKind::Compare {
        rows.keep(&format!("no `{by_column}`"), |row| by.levels[row].is_some());
        rows.keep_asked(&format!("another level of `{by_column}`"), |row| by.values[row].is_some());
    } else {
        rows.keep(&format!("no `{by_column}`"), |row| by.values[row].is_some());
    }
    for adjuster in &adjusters {
        rows.keep(&format!("no `{}`", adjuster.name()), |row| adjuster.is_present(row));
    }
    result.n = rows.used.len();
    result.fires = rows.fires(table);
    result.left_out.clone_from(&rows.left_out);
    result.flow = flow::of_claim(table, &rows)?;
    result.notes.extend(notes(claim, &outcome, &rows, &by));

    if claim.kind == ClaimKind::Compare {
        enough_fires(table, claim, by_column, &by, &rows)?;
    } else if rows.used.is_empty() {
        return refuse("no cook is usable: see which were left out, and why".to_owned());
    } else if Covariate::Numeric(by.term.clone(), by.values.clone()).is_constant(&rows) {
        return refuse(format!("`{by_column}` is the same in all usable cooks"));
    }

    if !rows.used.is_empty() && outcome.flag.is_some() {
        result.cut_share = Some(rows.censored(&outcome) as f64 / rows.used.len() as f64);
    }
    let restricted = restricted_mean::of_claim(claim, &outcome, &rows, &by, evidence.horizon_min)?;
    let times = restricted.is_some().then(|| rows.take(&outcome.values));
    let y = match &restricted {
        Some(restricted) => restricted.values.clone(),
        None => modelled(table, claim, &outcome, &rows)?,
    };
    let mut data = data(table, &rows, &by, &adjusters, y, &outcome, result)?;
    let bounds: Vec<bool> = data.observed.iter().map(|observed| !observed).collect();
    if restricted.is_some() {
        data.observed.fill(true);
    }
    let mut regression = data.fit()?;
    if let Some(restricted) = &restricted {
        restricted.describe(claim, rows.censored(&outcome), &mut regression, result);
    }
    result.models.push(regression.model.clone());
    let level = result.level();
    if depth == Depth::Whole && data.has_bounds() {
        other_ways::with_one_scatter(claim, &by, &data, level, result)?;
    }
    if depth == Depth::Whole && restricted.is_none() {
        other_ways::with_groups(table, claim, &rows, &by, &data, level, result)?;
    }
    if names::derived_from_wrap(by_column) {
        result.notes.push(
            "the model shows how outcomes go with wrapping among these cooks, not what wrapping does"
                .into(),
        );
        result.other_ways.clear();
        return refuse(wrap_refusal(by_column));
    }
    let effect = conclude(claim, &regression, &by, level, result)?;
    let by_interval = result.verdict;
    if let (Some(restricted), Some(times), None) = (&restricted, times, claim.horizon_min) {
        let cut = horizon::Cut { times, bounds, horizon: restricted.asked };
        horizon::limit(claim, &by, &data, &cut, level, result)?;
    }
    match depth {
        Depth::Verdict => return Ok(None),
        Depth::Fires => {}
        Depth::Whole => {
            question(claim, &by, &data, (effect, by_interval), result)?;
            return Ok(None);
        }
    }
    other_ways::pulls(claim, &by, &data, (effect.estimate, level))
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
    for column in claim.adjust.iter().filter(|column| names::derived_from_wrap(column)) {
        notes.push(format!(
            "`{column}` is decided while cooking: with it held fixed, what `by` does by way of \
             wrapping is not in the effect"
        ));
    }
    if claim.kind == ClaimKind::Compare && claim.by.as_deref() == Some(measures::ARM.name) {
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

/// What the model is fitted on.
fn data(
    table: &MeasureTable,
    rows: &Rows,
    by: &By,
    adjusters: &[Covariate],
    y: Vec<f64>,
    outcome: &Outcome,
    result: &mut ClaimResult,
) -> Result<Data, NotFitted> {
    let cooks = rows.cooks(table);
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
    let design = design().map_err(|error| {
        regression::explain(error, &cooks.iter().map(String::as_str).collect::<Vec<_>>())
    })?;
    Ok(Data::new(&design, y, rows.observed(outcome), rows.fires_used(table), cooks)
        .scattering_with(&by.term))
}

/// From the model to the verdict.
fn conclude(
    claim: &Claim,
    regression: &Regression,
    by: &By,
    level: f64,
    result: &mut ClaimResult,
) -> Result<Estimate, NotFitted> {
    let statistics = |error| NotFitted::Failed(StudyError::Statistics(error));
    let found = effect::estimate(claim, &by.term, &regression.estimates, &regression.rows)
        .map_err(statistics)?;
    let interval = regression.infer(&found, level).map_err(statistics)?.interval;
    settle(claim, &found.estimate, interval, level, result)?;
    Ok(found.estimate)
}

/// From an effect to the verdict.
fn settle(
    claim: &Claim,
    estimate: &Estimate,
    interval: Interval,
    level: f64,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let (lo, hi) = effect::in_favour(claim, interval);
    let Some(verdict) = effect::verdict(claim, estimate.estimate, interval) else {
        return refuse("the effect is too large to be written as a number");
    };
    if !(lo.is_finite() && hi.is_finite()) {
        return refuse(format!(
            "too few fires bear on it: it is as if {:.1} fires told it, and no interval of {:.1} % \
             can be drawn from so few; cook it on more fires, of both sorts",
            estimate.df + 1.0,
            100.0 * level
        ));
    }
    result.verdict = verdict;
    result.direction = Direction::of(lo, hi);
    result.effect = Some(Effect {
        estimate: estimate.estimate + 0.0,
        lo: finite(interval.lo),
        hi: finite(interval.hi),
        level,
        unit: names::unit(&claim.outcome).to_owned(),
        std_error: finite(estimate.std_error),
        df: finite(estimate.df),
        d: claim.sign() * estimate.estimate + 0.0,
    });
    Ok(())
}

/// What would change the verdict: fires left out, and further cooks.
fn question(
    claim: &Claim,
    by: &By,
    data: &Data,
    (effect, by_interval): (Estimate, Verdict),
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let statistics = |error| NotFitted::Failed(StudyError::Statistics(error));
    let (verdict, level) = (result.verdict, result.level());
    let without = other_ways::without_each_fire(claim, by, data, level)?;
    result.leave_one_fire_out = other_ways::leave_one_fire_out(claim, &without, by_interval);
    result.cooks_still_needed = if verdict != by_interval {
        // More cooks do not bring back what logs that ended early did not see.
        None
    } else if verdict == Verdict::Open {
        let cooks = data.y.len();
        let present = Present { effect, level, cooks, without: &without };
        cooks_needed::cooks_still_needed(claim, present).map_err(statistics)?
    } else {
        Some(0)
    };
    if verdict == Verdict::Open && result.standing == Standing::Confirmed {
        result.notes.push(
            "it is judged on its first confirming cooks alone, so further cooks leave this verdict \
             as it is: to go on, write it down anew with a larger `judge_after_cooks`"
                .into(),
        );
    }
    Ok(())
}
