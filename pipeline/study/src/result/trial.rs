//! Trials whose lots were drawn: `trials[]` of `study.json`. `outlook` fills these types.

use super::Effect;
use super::rows::{Rows, word};
use crate::verdict::{Direction, Standing, Verdict};
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How lots are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TrialKind {
    /// Two meats on one fire, one of each.
    Pairs,
    /// Single cooks in blocks of four, two of each, within pit and weight class.
    Blocks,
}

impl TrialKind {
    /// Lots of a pair or block, half of each arm.
    pub fn lots(self) -> usize {
        match self {
            Self::Pairs => 2,
            Self::Blocks => 4,
        }
    }

    /// The word in `claims.lock` and `study.json`.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Pairs => "pairs",
            Self::Blocks => "blocks",
        }
    }
}

/// Where a trial stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TrialState {
    /// It goes on.
    Running,
    /// A look before the last decided it.
    Stopped,
    /// Its last look was taken.
    Finished,
}

/// One trial and what its lots say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialResult {
    /// The claim's name.
    pub id: String,
    /// The claim in words.
    pub says: String,
    /// The outcome.
    pub outcome: String,
    /// The words of the two arms.
    pub arms: [String; 2],
    /// How lots are drawn.
    pub kind: TrialKind,
    /// Always `randomised`.
    pub standing: Standing,
    /// Where it stands.
    pub state: TrialState,
    /// The verdict of the last look; `open` before the first.
    pub verdict: Verdict,
    /// Where its interval lies against zero.
    pub direction: Direction,
    /// Why it was refused; null otherwise.
    pub reason: Option<String>,
    /// The smallest difference that anyone would act on.
    pub matters: f64,
    /// The effect as drawn: of a trial that goes on at its last look, of one that has ended corrected for the stop.
    /// Null before the first look.
    pub effect: Option<Effect>,
    /// The effect as done, on the same pairs or blocks: cooks under the arm that they really had. Its
    /// level holds for one look.
    pub as_done: Option<Effect>,
    /// The looks taken.
    pub looks: Vec<TrialLook>,
    /// Pairs or blocks planned.
    pub planned: usize,
    /// Pairs or blocks with an outcome.
    pub complete: usize,
    /// Pairs or blocks with an outcome at which it is looked at next; null where it has ended.
    pub next_look_at: Option<usize>,
    /// Further pairs or blocks until the last look; null where it has ended.
    pub still_needed: Option<usize>,
    /// Every lot, in the order in which they were drawn. Outcomes of lots that no look has looked at are null.
    pub lots: Vec<TrialLot>,
    /// What went otherwise than drawn, one sentence each: crossings, names, chain, key.
    pub notes: Vec<String>,
}

/// A look.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialLook {
    /// When it was taken.
    pub at: String,
    /// Pairs or blocks that it looked at.
    pub units: usize,
    /// Share of what was planned.
    pub information: f64,
    /// The estimate at this look, raw sign.
    pub estimate: f64,
    /// Lower end of the repeated interval; null is open.
    pub lo: Option<f64>,
    /// Upper end; null is open.
    pub hi: Option<f64>,
    /// What it said.
    pub verdict: Verdict,
}

/// What became of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LotState {
    /// Its outcome is known.
    Cooked,
    /// It was cooked to no outcome, or later lots were cooked and it was not.
    Lost,
    /// It may still be cooked.
    Waiting,
}

/// A lot and its cook.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialLot {
    /// Its number, from 1.
    pub number: usize,
    /// The pair or block.
    pub block: String,
    /// The cook.
    pub cook: String,
    /// The arm as drawn.
    pub arm: String,
    /// The arm as done, where that is known.
    pub done: Option<String>,
    /// Its place on the pit.
    pub position: Option<String>,
    /// What became of it.
    pub state: LotState,
    /// The outcome; null where no look has looked at it yet.
    pub value: Option<f64>,
    /// Whether the outcome is only known to be larger.
    pub censored: bool,
}

impl TrialResult {
    /// One row a trial.
    pub(super) fn rows(trials: &[Self]) -> Table {
        let end = |trial: &Self, of: fn(&Effect) -> Option<f64>| trial.effect.as_ref().and_then(of);
        Rows::of(trials)
            .text("trial", |trial| Some(trial.id.clone()))
            .text("state", |trial| word(&trial.state))
            .text("verdict", |trial| word(&trial.verdict))
            .text("direction", |trial| word(&trial.direction))
            .text("outcome", |trial| Some(trial.outcome.clone()))
            .float("estimate", |trial| end(trial, |effect| Some(effect.estimate)))
            .float("lo", |trial| end(trial, |effect| effect.lo))
            .float("hi", |trial| end(trial, |effect| effect.hi))
            .count("complete", |trial| Some(trial.complete))
            .count("planned", |trial| Some(trial.planned))
            .count("lots", |trial| Some(trial.lots.len()))
            .table()
    }

    /// One row a lot.
    pub(super) fn lot_rows(trials: &[Self]) -> Table {
        let lots: Vec<(&str, &TrialLot)> = trials
            .iter()
            .flat_map(|trial| trial.lots.iter().map(|lot| (trial.id.as_str(), lot)))
            .collect();
        Rows::of(&lots)
            .text("trial", |(id, _)| Some((*id).to_owned()))
            .count("number", |(_, lot)| Some(lot.number))
            .text("block", |(_, lot)| Some(lot.block.clone()))
            .text("cook", |(_, lot)| Some(lot.cook.clone()))
            .text("arm", |(_, lot)| Some(lot.arm.clone()))
            .text("done", |(_, lot)| lot.done.clone())
            .text("pit_position", |(_, lot)| lot.position.clone())
            .text("state", |(_, lot)| word(&lot.state))
            .float("value", |(_, lot)| lot.value)
            .flag("censored", |(_, lot)| Some(lot.censored))
            .table()
    }
}
