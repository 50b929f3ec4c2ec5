//! A claim under every combination of choices that others might have made.

use super::ClaimResult;
use super::Effect;
use super::rows::{Rows, word};
use crate::verdict::Verdict;
use columns::Table;
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

impl Specification {
    /// Every specification of every claim, by rising estimate.
    pub(super) fn rows(claims: &[ClaimResult]) -> Table {
        let rows: Vec<(&str, &Self)> = claims
            .iter()
            .filter_map(|claim| Some((claim.id.as_str(), claim.specifications.as_ref()?)))
            .flat_map(|(id, curve)| curve.specifications.iter().map(move |row| (id, row)))
            .collect();
        Rows::of(&rows)
            .text("claim", |(id, _)| Some((*id).to_owned()))
            .text("definition", |(_, own)| Some(own.definition.clone()))
            .text("outcome", |(_, own)| Some(own.outcome.clone()))
            .text("adjusted_for", |(_, own)| Some(own.adjust.join(" + ")))
            .float("grace_factor", |(_, own)| Some(own.wrap_timing?.grace_factor))
            .float("horizon_min", |(_, own)| Some(own.wrap_timing?.horizon_min))
            .float("weights_cut_at", |(_, own)| own.wrap_timing?.truncated_at)
            .flag("tender_is_finish", |(_, own)| Some(own.wrap_timing?.tender_is_finish))
            .flag("without_outliers", |(_, own)| Some(own.without_outliers))
            .flag("as_written", |(_, own)| Some(own.as_written))
            .float("estimate", |(_, own)| Some(own.effect.estimate))
            .float("lo", |(_, own)| own.effect.lo)
            .float("hi", |(_, own)| own.effect.hi)
            .count("cooks", |(_, own)| Some(own.n))
            .text("verdict", |(_, own)| word(&own.verdict))
            .table()
    }
}
