//! What a wrap-timing claim found.

use super::LeftOut;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Two strategies of wrapping compared on the study clock: as the cooks turned out (naive), by
/// copies without weights, and by clone–censor–weight.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WrapTiming {
    /// How far the study clock runs, min.
    pub horizon_min: f64,
    /// The two strategies, the fire as this team does.
    pub arms: Vec<WrapArm>,
    /// The cooks as they turned out, first minus second. It is wrong: see `immortal_time_min` and
    /// `confounding_min`.
    pub naive: Option<Difference>,
    /// Naive less copies without weights: what comes of sorting cooks by what happened to them
    /// later, min.
    pub immortal_time_min: Option<f64>,
    /// Copies without weights less weighted: what comes of who is wrapped when, min.
    pub confounding_min: Option<f64>,
    /// Copies without weights.
    pub unweighted: Difference,
    /// Weighted, tender pulls counting as finishes: the effect that is judged unless the claim
    /// asks for the set-point unchanged.
    pub weighted: Difference,
    /// Weighted, tender pulls as censored.
    pub tender_censored: Difference,
    /// Weighted, copies censored where the set-point is raised.
    pub setpoint_unchanged: SetpointUnchanged,
    /// Resamples of fires behind the standard errors, those that could not be fitted not counted.
    pub resamples: usize,
    /// Resamples that could not be fitted.
    pub resamples_failed: usize,
    /// The models of the decisions, in words.
    pub decisions: String,
}

/// A difference of restricted mean times, first minus second.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Difference {
    /// The difference, min.
    pub estimate: f64,
    /// Its standard error, from the bootstrap over fires, min.
    pub std_error: f64,
}

/// The estimand "wrap, set-point unchanged".
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SetpointUnchanged {
    /// The difference; null where it is refused.
    pub difference: Option<Difference>,
    /// Why it is refused.
    pub reason: Option<String>,
    /// Cooks that were wrapped, while their set-point was known.
    pub wraps: usize,
    /// Of these, how many had the set-point raised within half an hour of the wrap.
    pub wraps_with_bump: usize,
}

/// One strategy: how well the cooks bear it, and what would come of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WrapArm {
    /// The strategy in words.
    pub strategy: String,
    /// Cooks copied into it.
    pub copies: usize,
    /// Copies that were never artificially censored.
    pub stayed: usize,
    /// Their effective number, (Σw)²/Σw² of their last weights.
    pub effective: f64,
    /// Finishes (tender pulls not counted) among the copies.
    pub finishes: usize,
    /// Copies censored because the cook left the strategy, by what it did.
    pub left: Vec<LeftOut>,
    /// Mean probability of following the strategy to the end.
    pub probability: f64,
    /// The smallest such probability of a cook that did follow it.
    pub least_probability: f64,
    /// How the weights lie over the copies' periods of ten minutes.
    pub weights: Weights,
    /// Restricted mean time to the finish, tender pulls counting as finishes, min.
    pub restricted_mean_min: f64,
    /// Its standard error, min.
    pub restricted_mean_std_error: f64,
    /// Restricted mean with tender pulls as censored, min.
    pub tender_censored_min: f64,
    /// Probability of each end by the horizon, the others competing.
    pub incidence: Incidence,
    /// Copies at risk at several times.
    pub at_risk: Vec<AtRisk>,
    /// Mean time of the cooks that turned out to follow it, unweighted (naive), min.
    pub naive_mean_min: Option<f64>,
}

/// How weights lie.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Weights {
    /// Median.
    pub median: f64,
    /// 95th percentile.
    pub percentile_95: f64,
    /// 99th percentile, at which larger ones are cut.
    pub percentile_99: f64,
    /// The largest before that.
    pub largest: f64,
    /// Periods whose weight was cut.
    pub periods_cut: usize,
    /// Periods.
    pub periods: usize,
}

/// Cumulative incidence at the horizon.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Incidence {
    /// The core reached the finish.
    pub finish: f64,
    /// Pulled tender before.
    pub tender: f64,
    /// Pulled out of time before.
    pub out_of_time: f64,
}

/// Copies at risk.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AtRisk {
    /// Minute of the study clock.
    pub minute: f64,
    /// Copies under observation.
    pub copies: usize,
    /// Their effective number.
    pub effective: f64,
}
