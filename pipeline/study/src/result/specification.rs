//! A claim under every combination of choices that others might have made.

use super::Effect;
use crate::verdict::Verdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One claim under every specification.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SpecificationCurve {
    /// The specifications that could be fitted, by rising estimate.
    pub specifications: Vec<Specification>,
    /// Specifications that could not be.
    pub not_fitted: usize,
    /// Of those fitted, how many give the claim's own verdict.
    pub same_verdict: usize,
    /// Of those fitted, how many have an estimate on the same side of zero as the claim's own.
    pub same_side: usize,
    /// Whether the specifications are point estimates, judged with the claim's own standard error;
    /// only the claim as it was written then has an interval.
    pub own_error: bool,
}

/// One way to ask.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Specification {
    /// Which constant of the stall definition was moved, and to what; `as defined` where none.
    pub definition: String,
    /// The outcome.
    pub outcome: String,
    /// What it is adjusted for.
    pub adjust: Vec<String>,
    /// Whether outlying outcomes are left out: beyond 3 robust standard deviations from the median.
    pub without_outliers: bool,
    /// What else is chosen of a comparison of wrapping strategies; null for other claims.
    pub wrap_timing: Option<WrapTimingChoices>,
    /// Whether this is the claim as it was written.
    pub as_written: bool,
    /// The effect.
    pub effect: Effect,
    /// Cooks used.
    pub n: usize,
    /// The verdict that it would give.
    pub verdict: Verdict,
}

/// What is chosen of a comparison of strategies, beside definition, adjusters and outliers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WrapTimingChoices {
    /// The grace of each strategy, as a multiple of what the claim says.
    pub grace_factor: f64,
    /// Time up to which means are restricted, min.
    pub horizon_min: f64,
    /// Quantile of the weights to which larger ones are cut; null where none is.
    pub truncated_at: Option<f64>,
    /// Whether a pull because it was tender counts as a finish; else it is censored.
    pub tender_is_finish: bool,
}
