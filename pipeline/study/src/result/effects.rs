//! What one team gives away of its claims: effects, their errors and counts, and nothing of any cook.

use crate::claims::Claim;
use crate::verdict::Standing;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The value of [`Effects::schema`].
pub const EFFECTS_SCHEMA: &str = "cookstudy/effects/1";

/// The effects of one team.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Effects {
    /// Always [`EFFECTS_SCHEMA`].
    pub schema: String,
    /// Version of the program.
    pub version: String,
    /// The team.
    pub team: String,
    /// Hash of the phase definition that the measures were computed by; null for a table of measures that
    /// does not say.
    pub definition: Option<String>,
    /// How far the study clock runs for claims that do not say, min.
    pub horizon_min: f64,
    /// The claims, in the order of the claims file.
    pub claims: Vec<ClaimEffect>,
    /// Covariance of the effects of each two claims, in the product of their units, a row a claim: from leaving
    /// out one fire at a time, its diagonal the squared standard errors. Null where a claim has no effect, or
    /// one that fires are not left out of (wrap timing, and more than 300 fires). `pool` combines each claim by
    /// itself and does not use it.
    pub covariance: Vec<Vec<Option<f64>>>,
}

/// One claim and what this team's cooks say of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClaimEffect {
    /// The claim as it was written down, defaults filled in.
    pub asked: Claim,
    /// Its hash, 64 hexadecimal digits.
    pub hash: String,
    /// Number of the rules by which it is judged.
    pub rules: u32,
    /// How much the effect is worth: judged on cooks that were not known when it was written down, or not.
    pub standing: Standing,
    /// The effect in its outcome's unit, raw sign; null where the claim was refused.
    pub effect: Option<GivenEffect>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Cooks of the team that were left out.
    pub left_out: usize,
    /// Share of the used cooks whose outcome is a lower bound, 0 to 1; null for outcomes that have none.
    pub cut_share: Option<f64>,
    /// Up to where the time to the finish is counted, min; null for other outcomes, and where every used cook
    /// was seen to its finish and the claim names no horizon.
    pub horizon_min: Option<f64>,
}

/// An effect with its standard error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GivenEffect {
    /// The estimate: first minus second, or the change per step of a trend.
    pub estimate: f64,
    /// Its standard error.
    pub std_error: f64,
    /// Degrees of freedom of that error.
    pub df: f64,
}
