//! How much a claim's verdict is worth, and on which cooks it is judged.

use super::looks;
use crate::claims::{Claim, ClaimKind};
use crate::error::StudyError;
use crate::lock::{Lock, LockedClaim, LockedTrial, SeenCook};
use crate::result::{ClaimResult, NextStep, NextStepKind, TakenLook};
use crate::rows::Rows;
use crate::table::MeasureTable;
use crate::verdict::{Standing, Verdict};
use columns::names;
use std::collections::BTreeSet;

/// Names in a list that are written out.
const NAMED: usize = 5;

/// The standing of a claim.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ClaimStanding {
    pub(super) standing: Standing,
    pub(super) confirming_cooks: usize,
    pub(super) family_size: usize,
    /// s in the level of the interval, 1 − 0.10·s/m.
    pub(super) share: f64,
    /// The cooks that are judged, as positions in the table; `None` is all.
    pub(super) judged: Option<BTreeSet<usize>>,
    /// Cooks that lots were drawn for in a trial of this claim, and of which no look has told: else the claim
    /// would tell of them before their look is due.
    pub(super) withheld: BTreeSet<usize>,
    /// Planned looks, by cooks.
    pub(super) looks: Vec<usize>,
    /// Those that were taken.
    pub(super) looks_taken: Vec<TakenLook>,
    /// Level of the interval, where it is that of a look.
    pub(super) look_level: Option<f64>,
    /// What happened to the cooks and the definition that the lock knows.
    pub(super) warnings: Vec<String>,
    /// What its looks found.
    pub(super) notes: Vec<String>,
}

impl ClaimStanding {
    /// Keeps the rows that may be judged.
    pub(super) fn keep(&self, rows: &mut Rows) {
        if let Some(judged) = &self.judged {
            rows.keep_asked("not among the confirming cooks that are judged", |row| {
                judged.contains(&row)
            });
        }
        rows.keep_asked(
            "lots were drawn for it, and no look of the trial has told of it yet",
            |row| !self.withheld.contains(&row),
        );
    }

    /// The same claim asked of all cooks, after the fact, with the whole share of error.
    pub(super) fn of_all(&self) -> Self {
        Self {
            standing: Standing::AfterTheFact,
            share: 1.0,
            judged: None,
            look_level: None,
            warnings: Vec::new(),
            notes: Vec::new(),
            ..self.clone()
        }
    }
}

/// Works out the standing. A claim that the lock does not know is as if first seen now, by
/// itself. `definition` is the hash of the phase definition behind the table.
pub(super) fn of(
    table: &MeasureTable,
    claim: &Claim,
    lock: &Lock,
    definition: Option<&str>,
) -> Result<ClaimStanding, StudyError> {
    let hash = claim.hash();
    let mut standing = ClaimStanding {
        standing: Standing::AfterTheFact,
        confirming_cooks: 0,
        family_size: 1,
        share: 1.0,
        judged: None,
        withheld: lock
            .trials
            .iter()
            .filter(|trial| trial.claim == hash)
            .flat_map(LockedTrial::untold)
            .filter_map(|cook| table.cooks().iter().position(|known| known == cook))
            .collect(),
        looks: Vec::new(),
        looks_taken: Vec::new(),
        look_level: None,
        warnings: Vec::new(),
        notes: Vec::new(),
    };
    let Some(family) = lock.family(&hash) else { return Ok(standing) };
    let cooks = table.seen_cooks()?;
    let is_new: Vec<bool> = cooks.iter().map(|cook| family.is_confirmed_by(cook)).collect();
    standing.confirming_cooks = is_new.iter().filter(|new| **new).count();
    (standing.family_size, standing.share) = (family.size(), family.share);
    let gone = family.gone(&cooks);
    if !gone.is_empty() {
        standing.warnings.push(format!(
            "{} known when it was written down {} no longer here ({}): what all cooks say changes with {}",
            counted(gone.len()),
            if gone.len() == 1 { "is" } else { "are" },
            named(&gone),
            if gone.len() == 1 { "it" } else { "them" }
        ));
    }
    let locked = family.claim(&hash);
    let is_planned = locked.is_some_and(|locked| !locked.looks.is_empty());
    let seal = locked.and_then(LockedClaim::seal);
    if let Some(locked) = locked {
        standing.looks.clone_from(&locked.looks);
        standing.looks_taken.clone_from(&locked.taken);
    }
    if is_planned && seal.is_none() {
        if let Some(last) = standing.looks_taken.last() {
            standing.notes.push(format!(
                "its first {} new cooks were looked at and left it open; the next look is at {}",
                last.cooks,
                locked.and_then(LockedClaim::next_look).unwrap_or(claim.judge_after_cooks)
            ));
        }
        return Ok(standing);
    }
    let fixed = locked.map(|claim| &claim.judged).filter(|fixed| !fixed.is_empty());
    let enough = standing.confirming_cooks >= claim.judge_after_cooks;
    let judged: BTreeSet<usize> = match fixed {
        Some(fixed) => {
            let place = |(name, content): (&String, &String)| {
                cooks.iter().position(|cook: &SeenCook| cook.is(name, content))
            };
            let lost: Vec<&str> = fixed
                .iter()
                .filter(|entry| place(*entry).is_none())
                .map(|(name, _)| name.as_str())
                .collect();
            if !lost.is_empty() {
                standing.warnings.push(format!(
                    "{} that it was to be judged on {} no longer here ({}), so it is not confirmed: put {} back",
                    counted(lost.len()),
                    if lost.len() == 1 { "is" } else { "are" },
                    named(&lost),
                    if lost.len() == 1 { "it" } else { "them" }
                ));
                return Ok(standing);
            }
            fixed.iter().filter_map(place).collect()
        }
        None if enough => {
            let first = table.by_meat_on()?.into_iter().filter(|&position| is_new[position]);
            first.take(claim.judge_after_cooks).collect()
        }
        None => return Ok(standing),
    };
    if let (Some(then), Some(now)) = (&family.definition, definition)
        && then != now
    {
        standing.warnings.push(
            "the phase definition was moved after it was written down, so it is not confirmed: this is \
             what it says by the new one; set `[phases]` back to judge it by the old"
                .into(),
        );
        return Ok(standing);
    }
    if let Some(seal) = seal {
        if let Some(why) = unlike_the_seal(table, claim, seal, &judged)? {
            standing.warnings.push(format!(
                "{why} since it was sealed; the sealed verdict stands, and this is what it says now, after the fact"
            ));
            return Ok(standing);
        }
        standing.look_level = Some(seal.level);
    }
    standing.standing = Standing::Confirmed;
    standing.judged = Some(judged);
    Ok(standing)
}

/// What is no longer as it was when a claim was sealed.
fn unlike_the_seal(
    table: &MeasureTable,
    claim: &Claim,
    seal: &TakenLook,
    judged: &BTreeSet<usize>,
) -> Result<Option<String>, StudyError> {
    if seal.rules != claim.kind.rules() {
        return Ok(Some(format!(
            "the rules for claims of its kind were changed (from {} to {})",
            seal.rules,
            claim.kind.rules()
        )));
    }
    let data = looks::data_hash(table, claim, judged.iter().copied())?;
    Ok((data != seal.data).then(|| {
        "what is known of the cooks that it was judged on (outcome, side, weight, pit) was changed".into()
    }))
}

/// Takes its standing from a verdict that is not the sealed one, though nothing that it rests on changed.
pub(super) fn against_the_seal(result: &mut ClaimResult) {
    let Some(seal) = result.sealed() else { return };
    let (then, when) = (seal.verdict, seal.at.clone());
    if result.standing == Standing::Confirmed && result.verdict != then {
        let warning = format!(
            "it was sealed as “{}” at {when} from the same cooks; this program computes another answer, which \
             does not take its place",
            then.heading()
        );
        result.notes.push(warning.clone());
        result.lock_warnings.push(warning);
        result.standing = Standing::AfterTheFact;
    }
}

fn counted(cooks: usize) -> String {
    if cooks == 1 { "1 cook".into() } else { format!("{cooks} cooks") }
}

fn named(cooks: &[&str]) -> String {
    let shown = cooks.iter().take(NAMED).copied().collect::<Vec<_>>().join(", ");
    if cooks.len() > NAMED { format!("{shown} and others") } else { shown }
}

/// What can be done for a better answer.
pub(super) fn next_step(claim: &Claim, result: &ClaimResult) -> NextStep {
    let by = claim.by.as_deref().unwrap_or_default();
    let by_wrap = claim.kind == ClaimKind::WrapTiming || names::derived_from_wrap(by);
    // A look that is due is taken by the next run.
    let is_looked_at = !result.looks.is_empty() && result.sealed().is_none();
    let missing = claim.judge_after_cooks.saturating_sub(result.confirming_cooks);
    match (result.verdict, result.standing) {
        (Verdict::Refused, _) if by_wrap => NextStep { kind: NextStepKind::Randomise, cooks: None },
        (Verdict::Refused, _) => NextStep { kind: NextStepKind::WriteAnew, cooks: None },
        (Verdict::Open, Standing::Confirmed) => {
            let cooks = result.cooks_still_needed.map(|more| more + result.n);
            NextStep { kind: NextStepKind::WriteAnew, cooks }
        }
        (_, Standing::AfterTheFact) if missing > 0 || is_looked_at => {
            NextStep { kind: NextStepKind::Wait, cooks: Some(missing) }
        }
        (_, Standing::AfterTheFact) if result.confirming_cooks > 0 => {
            NextStep { kind: NextStepKind::PutBack, cooks: None }
        }
        _ => NextStep { kind: NextStepKind::None, cooks: None },
    }
}
