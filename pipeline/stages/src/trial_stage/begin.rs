//! `trial new`: what it would take, and what is fixed before the first lot.

use super::key::Keys;
use super::{Trials, instant, usage, words};
use crate::error::StageError;
use crate::study_stage::definition_hash;
use outlook::trial::{LARGEST, Offer, RULES, heavy_from_kg, rehearse};
use std::path::PathBuf;
use store::Table;
use study::lock::{LockedTrial, Spending, TrialDesign, TrialKind};
use study::{Claim, ClaimKind};

/// What to begin.
#[derive(Debug, Clone)]
pub struct TrialNewRequest {
    /// The season folder.
    pub folder: PathBuf,
    /// The claim's name.
    pub claim: String,
    /// Single cooks in blocks in place of two meats on a fire.
    pub single: bool,
    /// Pairs or blocks, in place of what the past says.
    pub planned: Option<usize>,
    /// Places on the pit to draw among.
    pub positions: Vec<String>,
    /// Only says what it would take.
    pub only_shows: bool,
    /// The instant taken for now, ms since 1970.
    pub now_ms: Option<i64>,
}

/// What was begun, or could be.
#[derive(Debug, Clone)]
pub struct TrialBegun {
    /// One row a way to do it.
    pub table: Table,
    /// What there is to say, line by line.
    pub lines: Vec<String>,
}

/// Says how many fires and cooks a claim takes, and fixes design, looks and rules in `claims.lock`.
///
/// # Errors
/// A claim that is none, that cannot be tried or is being tried; a past too short to see how much the outcome
/// scatters, where `planned` does not say how many.
pub fn trial_new(request: &TrialNewRequest) -> Result<TrialBegun, StageError> {
    let mut trials = Trials::open(&request.folder)?;
    let claim = trials.claim(&request.claim)?.clone();
    let arms = arms(&claim)?;
    if let Some(planned) = request.planned.filter(|planned| !(2..=LARGEST).contains(planned)) {
        return Err(usage(format!("{planned} is no number of pairs: from 2 to {LARGEST}")));
    }
    let positions = positions(&request.positions)?;
    let hash = claim.hash();
    if let Some((id, begun_at)) =
        trials.keys.forgotten(&trials.lock.trials).find(|(id, _)| *id == claim.id)
    {
        return Err(usage(words::forgotten(id, begun_at)));
    }
    if let Some(own) = trials.lock.trials.iter().find(|trial| trial.claim == hash) {
        return Err(usage(format!(
            "a trial of `{}` was begun at {}: go on with `cookstudy trial next`, look with `cookstudy trial look`",
            claim.id, own.begun_at
        )));
    }
    let at = instant(request.now_ms);
    let share = trials.lock.next_share(at);
    let table = trials.table()?;
    if let Some(table) = table.as_ref().filter(|table| !table.has(&claim.outcome)) {
        let known = cook::settings::nearest(&claim.outcome, table.column_names());
        let hint = known.map_or_else(String::new, |name| format!("; did you mean `{name}`?"));
        return Err(usage(format!("no cook has the outcome `{}`{hint}", claim.outcome)));
    }
    let variation = match &table {
        Some(table) => outlook::trial::variation(table, &claim).map_err(|error| error.to_string()),
        None => Err("no cook was measured yet".to_owned()),
    };
    let mut lines = Vec::new();
    let (mut pairs, mut single) = (None, None);
    match &variation {
        Ok(variation) => {
            pairs = outlook::trial::offer(TrialKind::Pairs, variation, claim.matters, share)?;
            single = outlook::trial::offer(TrialKind::Blocks, variation, claim.matters, share)?;
            lines.extend(words::offered(
                &claim,
                variation,
                (pairs.as_ref(), single.as_ref()),
                trials.season.units,
            ));
        }
        Err(why) if request.planned.is_none() => {
            return Err(usage(format!(
                "how many fires `{}` takes cannot be told: {why}\n  try: `cookstudy run` first, or say how many with --pairs N",
                claim.id
            )));
        }
        Err(why) => lines.push(format!("How good the chances are cannot be told: {why}.")),
    }
    let kind = if request.single { TrialKind::Blocks } else { TrialKind::Pairs };
    let chosen = if request.single { single.as_ref() } else { pairs.as_ref() };
    if let Some(offer) = chosen {
        lines.extend(words::rehearsed(offer, &rehearse(offer)?, &claim, trials.season.units));
    }
    let rows = words::offers(variation.as_ref().ok(), pairs.as_ref(), single.as_ref());
    let (planned, looks) = planned(request, chosen, (kind, share), &claim)?;
    if request.only_shows {
        lines.push("Nothing was begun.".into());
        return Ok(TrialBegun { table: rows, lines });
    }
    let key = Keys::fresh()?;
    let trial = LockedTrial {
        id: claim.id.clone(),
        claim: hash,
        begun_at: at.to_string(),
        key: key.hash(),
        definition: definition_hash(&trials.season),
        design: TrialDesign {
            kind,
            arms,
            outcome: claim.outcome.clone(),
            matters: claim.matters,
            share,
            planned,
            looks: looks.clone(),
            spending: Spending::PLANNED,
            positions,
            heavy_from_kg: match (&table, kind) {
                (Some(table), TrialKind::Blocks) => heavy_from_kg(table)?,
                _ => None,
            },
            rules: RULES,
        },
        lots: Vec::new(),
        looks: Vec::new(),
    };
    trials.keys.keep(&trial, &key)?;
    lines.extend(words::begun(&trial, &trials.lock_path, trials.keys.path()));
    trials.lock.trials.push(trial);
    trials.write_lock()?;
    Ok(TrialBegun { table: rows, lines })
}

fn planned(
    request: &TrialNewRequest,
    chosen: Option<&Offer>,
    (kind, share): (TrialKind, f64),
    claim: &Claim,
) -> Result<(usize, Vec<usize>), StageError> {
    match (request.planned, chosen) {
        (Some(planned), _) => {
            let alpha = outlook::trial::alpha(share);
            let fewest = outlook::trial::fewest(kind, alpha);
            if planned < fewest {
                return Err(usage(format!(
                    "{planned} {} can settle nothing: even if every one fell the same way, that may be chance; from {fewest} on they can",
                    words::units_of(kind, planned)
                )));
            }
            Ok((planned, outlook::trial::looks(kind, planned, alpha)))
        }
        (None, Some(offer)) => Ok((offer.planned, offer.looks.clone())),
        (None, None) => Err(usage(format!(
            "not even {LARGEST} {} would show a difference of {} in `{}`: it scatters too much for that\n  try: a larger `matters`, or --pairs N all the same",
            words::units_of(kind, LARGEST),
            claim.matters,
            claim.outcome
        ))),
    }
}

/// Places on the pit to draw among: none, or two that differ.
fn positions(typed: &[String]) -> Result<Vec<String>, StageError> {
    let places: Vec<String> = typed.iter().map(|place| place.trim().to_owned()).collect();
    let differ = places.iter().collect::<std::collections::BTreeSet<_>>().len() == places.len();
    if places.len() < 2 || !differ || places.iter().any(String::is_empty) {
        return Err(usage(format!(
            "`{}` are not two places that differ; write them such as --positions left,right",
            typed.join(",")
        )));
    }
    Ok(places)
}

/// The words of both arms, as the sheet takes them.
fn arms(claim: &Claim) -> Result<[String; 2], StageError> {
    match (claim.kind, claim.levels.as_slice()) {
        (ClaimKind::Compare, [first, second]) => Ok([first.clone(), second.clone()]),
        (ClaimKind::WrapTiming, _) => Ok(["first".into(), "second".into()]),
        _ => Err(usage(format!(
            "the claim `{}` has no two sides to draw between: only claims of kind compare and wrap-timing can be tried\n  try: write two levels down as a claim of kind compare",
            claim.id
        ))),
    }
}
