//! Planned looks at confirming cooks.

use crate::verdict::Verdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A look that was taken at a claim's confirming cooks. It is never taken again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TakenLook {
    /// When, an instant in UTC.
    pub at: String,
    /// Confirming cooks that it looked at: the first so many by meat-on.
    pub cooks: usize,
    /// What they said; `refused` where they could not answer yet.
    pub verdict: Verdict,
    /// The effect, raw sign, in the outcome's unit; left out where it was refused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<f64>,
    /// Lower end of its interval.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lo: Option<f64>,
    /// Upper end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hi: Option<f64>,
    /// Level of that interval: what the spending function left for this look.
    pub level: f64,
    /// The estimator, in the words of `models[].name`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimator: Option<String>,
    /// Hash of what it was computed from: the cooks' content, outcome, comparison and adjusters.
    pub data: String,
    /// Hash of the phase definition of then.
    pub definition: String,
    /// Number of the rules by which this kind of claim was judged.
    pub rules: u32,
}

impl TakenLook {
    /// Whether it seals the claim: it was decided, or was the last of `planned`.
    pub fn seals(&self, planned: &[usize]) -> bool {
        !matches!(self.verdict, Verdict::Open | Verdict::Refused)
            || planned.last() == Some(&self.cooks)
    }
}
