//! What a trial's lots say so far.

use super::design::{stops, verdict};
use super::{MOST_LOST, alpha};
use crate::error::OutlookError;
use columns::names;
use cook::{Card, WrapMethod};
use stats::sequential::{Look, Member, SequentialTest, Unit};
use std::collections::{BTreeMap, BTreeSet};
use study::lock::{LockedLook, LockedTrial};
use study::result::Effect;
use study::result::trial::{LotState, TrialLook, TrialLot, TrialResult, TrialState};
use study::{Claim, ClaimKind, Direction, MeasureTable, Standing, Verdict};

/// Random ways to draw the lots where there are too many to count.
const DRAWS: usize = 9_999;

/// What there is to look at.
#[derive(Debug, Clone, Copy)]
pub struct Looked<'a> {
    /// The claim.
    pub claim: &'a Claim,
    /// All cooks that were measured.
    pub table: &'a MeasureTable,
    /// The cards of the season's sheets.
    pub cards: &'a [Card],
    /// The instant of the look, UTC; `None` takes no look that was not taken before.
    pub at: Option<&'a str>,
}

/// An outcome, or what it is known to exceed.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Outcome {
    value: f64,
    censored: bool,
}

impl Outcome {
    fn written(self) -> String {
        format!("{}{}", self.value, if self.censored { "+" } else { "" })
    }

    fn read(text: &str) -> Option<Self> {
        let number = text.strip_suffix('+');
        let value = number.unwrap_or(text).parse().ok().filter(|value: &f64| value.is_finite())?;
        Some(Self { value, censored: number.is_some() })
    }
}

/// Takes the looks that are due, writes them into the trial, and says what it says now. The same call again
/// changes nothing.
///
/// # Errors
/// An outcome that the table has not, a look in the lock that cannot be read.
pub fn look(trial: &mut LockedTrial, looked: Looked<'_>) -> Result<TrialResult, OutlookError> {
    let design = trial.design.clone();
    let outcomes = outcomes(looked.table, &design.outcome)?;
    let blocks = blocks(trial);
    let complete = complete(trial, &blocks, &outcomes);
    let ended = |trial: &LockedTrial, said: &[TrialLook]| {
        said.len() == design.looks.len()
            || said.last().is_some_and(|look| stops(look.verdict)) && !trial.looks.is_empty()
    };
    let mut said: Vec<TrialLook> = Vec::new();
    for place in 0..trial.looks.len().min(design.looks.len()) {
        said.push(taken(trial, looked.claim, place)?);
        if ended(trial, &said) {
            break;
        }
    }
    while let Some(at) = looked.at {
        if ended(trial, &said) || complete.len() < design.looks[said.len()] {
            break;
        }
        let mut seen: Vec<String> =
            trial.looks.last().map(|look| look.blocks.clone()).unwrap_or_default();
        let further: Vec<String> =
            complete.iter().filter(|block| !seen.contains(block)).cloned().collect();
        seen.extend(further);
        seen.truncate(design.looks[said.len()]);
        let cooks = trial.lots.iter().filter(|lot| seen.contains(&lot.block));
        let known = cooks.filter_map(|lot| Some((lot.cook.clone(), outcomes.get(&lot.cook)?)));
        let outcomes = known.map(|(cook, outcome)| (cook, outcome.written())).collect();
        trial.looks.push(LockedLook { at: at.to_owned(), blocks: seen, outcomes });
        said.push(taken(trial, looked.claim, said.len())?);
    }
    finish(trial, looked, (&blocks, &complete, &outcomes), said)
}

/// What a trial is of which nothing can be told: its lots, and no outcome.
pub fn untold(trial: &LockedTrial) -> TrialResult {
    TrialResult {
        id: trial.id.clone(),
        says: trial.id.clone(),
        outcome: trial.design.outcome.clone(),
        arms: trial.design.arms.clone(),
        kind: trial.design.kind,
        standing: Standing::Randomised,
        state: TrialState::Running,
        verdict: Verdict::Open,
        direction: Direction::Unclear,
        reason: None,
        matters: trial.design.matters,
        effect: None,
        as_done: None,
        looks: Vec::new(),
        planned: trial.design.planned,
        complete: 0,
        next_look_at: trial.design.looks.first().copied(),
        still_needed: Some(trial.design.planned),
        lots: lots(trial, &BTreeMap::new(), &BTreeMap::new()),
        notes: Vec::new(),
    }
}

/// The pairs or blocks in the order in which they were begun.
fn blocks(trial: &LockedTrial) -> Vec<String> {
    let mut blocks: Vec<String> = Vec::new();
    for lot in &trial.lots {
        if !blocks.contains(&lot.block) {
            blocks.push(lot.block.clone());
        }
    }
    blocks
}

fn outcomes(table: &MeasureTable, column: &str) -> Result<BTreeMap<String, Outcome>, OutlookError> {
    let mut outcomes = BTreeMap::new();
    if table.is_empty() {
        return Ok(outcomes);
    }
    let values = table.numbers(column)?;
    let bound = names::find(column).and_then(|column| column.bound);
    let flags = match bound.filter(|bound| table.has(bound.by)) {
        Some(bound) => table
            .flags(bound.by)?
            .into_iter()
            .map(|flag| flag.map(|flag| bound.is_bound(flag)))
            .collect(),
        None => vec![Some(false); values.len()],
    };
    for ((cook, value), censored) in table.cooks().iter().zip(values).zip(flags) {
        if let (Some(value), Some(censored)) = (value, censored) {
            outcomes.insert(cook.clone(), Outcome { value, censored });
        }
    }
    Ok(outcomes)
}

/// Whether later lots than this have been cooked.
fn is_passed(trial: &LockedTrial, number: usize, outcomes: &BTreeMap<String, Outcome>) -> bool {
    let block = trial.lots.iter().find(|lot| lot.number == number).map(|lot| &lot.block);
    trial.lots.iter().any(|lot| {
        lot.number > number && Some(&lot.block) != block && outcomes.contains_key(&lot.cook)
    })
}

/// The pairs or blocks that can be looked at: all lots drawn and none still to be cooked, both arms among those with an outcome.
fn complete(
    trial: &LockedTrial,
    blocks: &[String],
    outcomes: &BTreeMap<String, Outcome>,
) -> Vec<String> {
    let is_complete = |block: &&String| {
        let lots: Vec<_> = trial.lots.iter().filter(|lot| lot.block == **block).collect();
        let is_settled = lots.len() == trial.design.kind.lots()
            && lots.iter().all(|lot| {
                outcomes.contains_key(&lot.cook) || is_passed(trial, lot.number, outcomes)
            });
        let arms: BTreeSet<&str> = lots
            .iter()
            .filter(|lot| outcomes.contains_key(&lot.cook))
            .map(|lot| lot.arm.as_str())
            .collect();
        is_settled && arms.len() == 2
    };
    blocks.iter().filter(is_complete).cloned().collect()
}

/// The units of a look from the outcomes that it kept; cooks count as `arm_of` says.
fn units(
    trial: &LockedTrial,
    place: usize,
    arm_of: impl Fn(&str, &str) -> String,
) -> Result<Vec<Unit>, OutlookError> {
    let look = &trial.looks[place];
    let mut units = Vec::new();
    for block in &look.blocks {
        let mut members = Vec::new();
        for lot in trial.lots.iter().filter(|lot| lot.block == *block) {
            let Some(written) = look.outcomes.get(&lot.cook) else { continue };
            let outcome = Outcome::read(written).ok_or_else(|| {
                OutlookError::Trial(format!(
                    "claims.lock: `{written}` is no outcome of {} in the trial `{}`; put the file back as it was",
                    lot.cook, trial.id
                ))
            })?;
            let first = arm_of(&lot.cook, &lot.arm) == trial.design.arms[0];
            members.push(Member { value: outcome.value, censored: outcome.censored, first });
        }
        units.extend(Unit::new(members));
    }
    Ok(units)
}

/// The looks up to this one as their test takes them.
fn looks(trial: &LockedTrial, place: usize) -> Vec<Look> {
    let planned = trial.design.planned as f64;
    let one = |look: &LockedLook| {
        let units = look.blocks.len();
        Look { units, information: (units as f64 / planned).min(1.0) }
    };
    trial.looks[..=place].iter().map(one).collect()
}

/// Seed of the ways to draw the lots that are tried where there are too many: from the hash of the key, which nobody
/// chose.
fn seed(trial: &LockedTrial) -> u64 {
    trial.key.get(..16).and_then(|hex| u64::from_str_radix(hex, 16).ok()).unwrap_or(1)
}

fn as_drawn(_: &str, arm: &str) -> String {
    arm.to_owned()
}

fn finite(end: f64) -> Option<f64> {
    end.is_finite().then_some(end)
}

fn taken(trial: &LockedTrial, claim: &Claim, place: usize) -> Result<TrialLook, OutlookError> {
    let units = units(trial, place, as_drawn)?;
    let looks = looks(trial, place);
    let test = SequentialTest::new(
        &units,
        &looks,
        alpha(trial.design.share),
        trial.design.spending.function(),
        (trial.design.planned, DRAWS, seed(trial)),
    )?;
    let (lo, hi) = test.interval(place);
    Ok(TrialLook {
        at: trial.looks[place].at.clone(),
        units: looks[place].units,
        information: looks[place].information,
        estimate: test.estimate(place),
        lo: finite(lo),
        hi: finite(hi),
        verdict: verdict(&test, place, trial.design.matters, claim.sign()),
    })
}

type Now<'a> = (&'a [String], &'a [String], &'a BTreeMap<String, Outcome>);

fn finish(
    trial: &LockedTrial,
    looked: Looked<'_>,
    (blocks, complete, outcomes): Now<'_>,
    said: Vec<TrialLook>,
) -> Result<TrialResult, OutlookError> {
    let design = &trial.design;
    let claim = looked.claim;
    let state = match said.last() {
        Some(_) if said.len() == design.looks.len() => TrialState::Finished,
        Some(look) if stops(look.verdict) => TrialState::Stopped,
        _ => TrialState::Running,
    };
    let is_over = state != TrialState::Running;
    let done = done(claim, &design.arms, looked)?;
    let level = 1.0 - 2.0 * alpha(design.share);
    let effect_of = |estimate: f64, lo: f64, hi: f64| Effect {
        estimate,
        lo: finite(lo),
        hi: finite(hi),
        level,
        unit: names::find(&design.outcome)
            .map_or_else(String::new, |column| column.unit().to_owned()),
        std_error: None,
        df: None,
        d: estimate * claim.sign(),
    };
    let (mut effect, mut as_done) = (None, None);
    if let Some(last) = said.len().checked_sub(1) {
        let error = alpha(design.share);
        let ways = (design.planned, DRAWS, seed(trial));
        let as_they_fell = units(trial, last, as_drawn)?;
        let looks = looks(trial, last);
        let test =
            SequentialTest::new(&as_they_fell, &looks, error, design.spending.function(), ways)?;
        effect = Some(if is_over {
            let after = test.after_stop(design.matters);
            effect_of(after.estimate, after.lo, after.hi)
        } else {
            let (lo, hi) = test.interval(last);
            effect_of(test.estimate(last), lo, hi)
        });
        let as_cooked = units(trial, last, |cook, arm| {
            done.get(cook).cloned().flatten().unwrap_or_else(|| arm.to_owned())
        })?;
        let once = [Look { units: as_cooked.len(), information: 1.0 }];
        if let Ok(test) =
            SequentialTest::new(&as_cooked, &once, error, design.spending.function(), ways)
        {
            let (lo, hi) = test.interval(0);
            as_done = Some(effect_of(test.estimate(0), lo, hi));
        }
    }
    let lots = lots(trial, outcomes, &done);
    let lost = lost_blocks(blocks, complete, &lots);
    let settled = lost + complete.len();
    let too_many = lost > 1 && lost as f64 > MOST_LOST * settled as f64;
    let direction = effect.as_ref().map_or(Direction::Unclear, |effect| {
        let ends = [effect.lo, effect.hi].map(|end| end.map(|end| end * claim.sign()));
        let (lo, hi) = if claim.sign() > 0.0 { (ends[0], ends[1]) } else { (ends[1], ends[0]) };
        Direction::of(lo.unwrap_or(f64::NEG_INFINITY), hi.unwrap_or(f64::INFINITY))
    });
    let spoken = said.last().map_or(Verdict::Open, |look| look.verdict);
    Ok(TrialResult {
        id: trial.id.clone(),
        says: claim.says.clone(),
        outcome: design.outcome.clone(),
        arms: design.arms.clone(),
        kind: design.kind,
        standing: Standing::Randomised,
        state,
        verdict: if too_many { Verdict::Refused } else { spoken },
        direction: if too_many { Direction::Unclear } else { direction },
        reason: too_many.then(|| {
            format!("{lost} of {settled} drawn were lost, more than one in five: who chooses what is cooked chooses the answer")
        }),
        matters: design.matters,
        effect,
        as_done,
        next_look_at: (!is_over).then(|| design.looks[said.len()]),
        still_needed: (!is_over).then(|| design.planned.saturating_sub(complete.len())),
        looks: said,
        planned: design.planned,
        complete: complete.len(),
        notes: notes(trial, looked, outcomes, &lots),
        lots,
    })
}

fn lost_blocks(blocks: &[String], complete: &[String], lots: &[TrialLot]) -> usize {
    let is_lost = |block: &&String| {
        !complete.contains(block)
            && lots.iter().filter(|lot| lot.block == **block).any(|lot| lot.state == LotState::Lost)
    };
    blocks.iter().filter(is_lost).count()
}

fn lots(
    trial: &LockedTrial,
    outcomes: &BTreeMap<String, Outcome>,
    done: &BTreeMap<String, Option<String>>,
) -> Vec<TrialLot> {
    // What no look has looked at stays untold, so that nobody stops because of what he saw.
    let seen: BTreeMap<&String, &String> =
        trial.looks.iter().flat_map(|look| &look.outcomes).collect();
    trial
        .lots
        .iter()
        .map(|lot| {
            let kept = seen.get(&lot.cook).and_then(|written| Outcome::read(written));
            let state = if kept.is_some() || outcomes.contains_key(&lot.cook) {
                LotState::Cooked
            } else if is_passed(trial, lot.number, outcomes) {
                LotState::Lost
            } else {
                LotState::Waiting
            };
            TrialLot {
                number: lot.number,
                block: lot.block.clone(),
                cook: lot.cook.clone(),
                arm: lot.arm.clone(),
                done: done.get(&lot.cook).cloned().flatten(),
                position: lot.position.clone(),
                state,
                value: kept.map(|kept| kept.value),
                censored: kept.is_some_and(|kept| kept.censored),
            }
        })
        .collect()
}

/// The arm that each cook really had, where that can be told: its level, or the wrap of a strategy.
fn done(
    claim: &Claim,
    arms: &[String; 2],
    looked: Looked<'_>,
) -> Result<BTreeMap<String, Option<String>>, OutlookError> {
    let table = looked.table;
    if claim.kind == ClaimKind::WrapTiming {
        let fits = |place: usize, method: Option<&WrapMethod>| {
            claim.strategies.get(place).is_some_and(|own| {
                own.any
                    || own.never == method.is_none_or(|m| *m == WrapMethod::None)
                        && (own.never || own.method.as_ref() == method)
            })
        };
        return Ok(looked
            .cards
            .iter()
            .map(|card| {
                let method = card.wrap_method.as_ref();
                let both = [fits(0, method), fits(1, method)];
                let arm = match both {
                    _ if method.is_none() => None,
                    [true, false] => Some(arms[0].clone()),
                    [false, true] => Some(arms[1].clone()),
                    _ => None,
                };
                (card.cook.clone(), arm)
            })
            .collect());
    }
    let Some(by) = claim.by.as_deref().filter(|by| !table.is_empty() && table.has(by)) else {
        return Ok(BTreeMap::new());
    };
    let levels = table.texts(by)?;
    Ok(table.cooks().iter().cloned().zip(levels).collect())
}

fn notes(
    trial: &LockedTrial,
    looked: Looked<'_>,
    outcomes: &BTreeMap<String, Outcome>,
    lots: &[TrialLot],
) -> Vec<String> {
    let mut notes = Vec::new();
    let cards: BTreeMap<&str, &Card> =
        looked.cards.iter().map(|card| (card.cook.as_str(), card)).collect();
    for lot in lots {
        let card = cards.get(lot.cook.as_str());
        if card.is_none() && !looked.cards.is_empty() {
            notes.push(format!(
                "The last `cookstudy run` saw no cook {}, for which lot {} was drawn ({}): run again; if it was renamed, give it its name back, for it counts as drawn",
                lot.cook, lot.number, lot.arm
            ));
        }
        let written = card.and_then(|card| card.arm.as_deref());
        if let Some(written) = written.filter(|written| *written != lot.arm) {
            notes.push(format!(
                "The sheet has {} in the arm `{written}`, but its lot was `{}`: the lot counts",
                lot.cook, lot.arm
            ));
        }
        let crossed = lot.done.as_deref().filter(|done| *done != lot.arm && Some(*done) != written);
        if let Some(done) = crossed {
            notes.push(format!("{} was drawn `{}` and had `{done}`", lot.cook, lot.arm));
        }
        if card.is_some_and(|card| card.exclude.is_some()) {
            notes.push(format!(
                "{} is left out by its card, but a drawn cook is not left out once its lot is known: it counts",
                lot.cook
            ));
        }
        if lot.state == LotState::Lost {
            notes.push(format!(
                "{} has no outcome, though later lots were cooked: its lot {} is lost",
                lot.cook, lot.number
            ));
        }
    }
    let drawn: BTreeSet<&str> = lots.iter().map(|lot| lot.cook.as_str()).collect();
    let begun = trial.begun_at.parse::<jiff::Timestamp>().ok().map(jiff::Timestamp::as_millisecond);
    for card in looked.cards.iter().filter(|card| !drawn.contains(card.cook.as_str())) {
        let is_arm = card.arm.as_ref().is_some_and(|arm| trial.design.arms.contains(arm));
        let is_later = card.marks.meat_on_ms.zip(begun).is_some_and(|(on, begun)| on > begun);
        if is_arm && is_later {
            notes.push(format!(
                "{} has an arm of this trial but no lot: it does not count; was it drawn under another name?",
                card.cook
            ));
        }
    }
    if let Some(last) = trial.looks.last() {
        for (cook, kept) in &last.outcomes {
            let now = outcomes.get(cook).map(|outcome| outcome.written());
            if now.as_ref() != Some(kept) {
                notes.push(format!(
                    "The outcome of {cook} was {kept} when it was looked at and is {} now: the look stands as it was taken",
                    now.as_deref().unwrap_or("not there")
                ));
            }
        }
    }
    notes
}
