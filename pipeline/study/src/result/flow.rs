//! From logs to the cooks that a claim is answered from, step by step.

use super::rows::{Rows, word};
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One line of the way from logs to the cooks that are used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FlowStep {
    /// The team, in a merged season; null where there is one, and where the step does not tell teams apart.
    pub team: Option<String>,
    /// The step.
    pub step: FlowStage,
    /// Why these did not come so far; null for those that did.
    pub reason: Option<String>,
    /// How many: logs at the step of logs, cooks at all others.
    pub cooks: usize,
}

/// A step on the way.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum FlowStage {
    /// Logs that cards name, each once.
    Logs,
    /// Cooks on the season sheet.
    Cards,
    /// Of these, cooks with measures: a curve, or readings by hand.
    Cooks,
    /// Of these, cooks that the claim is about: not excluded, and of those that it is judged on.
    Eligible,
    /// Of these, cooks with all that the claim needs.
    Used,
}

impl FlowStep {
    /// A row a step of each claim.
    pub(super) fn rows<'a>(claims: impl Iterator<Item = (&'a str, &'a [Self])>) -> Table {
        let rows: Vec<(&str, &Self)> =
            claims.flat_map(|(claim, steps)| steps.iter().map(move |step| (claim, step))).collect();
        Rows::of(&rows)
            .text("claim", |(claim, _)| Some((*claim).to_owned()))
            .text("team", |(_, own)| own.team.clone())
            .text("step", |(_, own)| word(&own.step))
            .text("reason", |(_, own)| own.reason.clone())
            .count("cooks", |(_, own)| Some(own.cooks))
            .table()
    }
}
