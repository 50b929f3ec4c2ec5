//! Trials as a lock keeps them: the design from before the first lot, each lot as it was drawn, each look as
//! it was taken. `outlook` draws and reads them; here stands only what is written down.

use super::Spending;
pub use crate::result::trial::TrialKind;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What was fixed before the first lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialDesign {
    /// How lots are drawn.
    pub kind: TrialKind,
    /// The words of the two arms, the claim's first one first.
    pub arms: [String; 2],
    /// The outcome.
    pub outcome: String,
    /// The smallest difference that anyone would act on, in the outcome's unit.
    pub matters: f64,
    /// Share of the year's error: the s in the level 1 − 0.10·s of its intervals.
    pub share: f64,
    /// Pairs or blocks planned.
    pub planned: usize,
    /// Pairs or blocks with an outcome at which it is looked at; the last is `planned`.
    pub looks: Vec<usize>,
    /// The function by which looks spend the error.
    pub spending: Spending,
    /// Places on the pit, which are drawn too; may be empty.
    #[serde(default)]
    pub positions: Vec<String>,
    /// Blocks: the weight, kg, from which a cook counts as heavy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heavy_from_kg: Option<f64>,
    /// Number of the rules by which it is judged.
    pub rules: u32,
}

/// A lot that was drawn. Lots are never taken back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lot {
    /// Its number, from 1.
    pub number: usize,
    /// The pair or block.
    pub block: String,
    /// The cook that it was drawn for.
    pub cook: String,
    /// The arm.
    pub arm: String,
    /// Its place on the pit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub position: Option<String>,
    /// What a blind taster sees in place of the cook's name.
    pub code: String,
    /// When, an instant in UTC.
    pub at: String,
    /// Hash over the lot before it and itself.
    pub chain: String,
}

/// A look that was taken. It is never taken again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LockedLook {
    /// When, an instant in UTC.
    pub at: String,
    /// The pairs or blocks that it looked at.
    pub blocks: Vec<String>,
    /// The outcome of each cook of these as it was then, in the outcome's unit; a `+` behind one that is only known
    /// to be larger. The look rests on these whatever becomes of the logs.
    pub outcomes: BTreeMap<String, String>,
}

/// A trial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LockedTrial {
    /// The claim's name, which is the trial's.
    pub id: String,
    /// [`crate::Claim::hash`].
    pub claim: String,
    /// When it was begun, an instant in UTC.
    pub begun_at: String,
    /// Hash of the secret number that the lots come from.
    pub key: String,
    /// Hash of the phase definition of then.
    pub definition: String,
    /// What was fixed before the first lot.
    pub design: TrialDesign,
    /// The lots, in the order in which they were drawn.
    #[serde(default, rename = "lot", skip_serializing_if = "Vec::is_empty")]
    pub lots: Vec<Lot>,
    /// The looks.
    #[serde(default, rename = "look", skip_serializing_if = "Vec::is_empty")]
    pub looks: Vec<LockedLook>,
}

impl LockedTrial {
    /// Cooks that have a lot, and of which no look has kept the outcome yet.
    pub fn untold(&self) -> impl Iterator<Item = &str> {
        let told =
            |lot: &&Lot| !self.looks.iter().any(|look| look.outcomes.contains_key(&lot.cook));
        self.lots.iter().filter(told).map(|lot| lot.cook.as_str())
    }
}
