//! What a wrap-timing claim found on the core's clock.

use super::LeftOut;
use super::wrap_timing::Difference;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// By how much the answer leans toward the wrap for simulated teams that wrap by a bark which no log shows, whatever the
/// core does, min (`docs/wrap-timing.md`).
pub const UNNOTED_BARK_LEAN_MIN: f64 = 80.0;
/// As [`UNNOTED_BARK_LEAN_MIN`], where the bark is noted.
pub const NOTED_BARK_LEAN_MIN: f64 = 50.0;
/// Where the runs of the natural course begin, °C.
pub const NATURAL_FROM_C: f64 = 60.0;

/// Two strategies of wrapping compared by running every cook on at the pace of cooks in its state.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GFormula {
    /// Why it judges nothing; null where the verdict is its own.
    pub reason: Option<String>,
    /// Cooks.
    pub n: usize,
    /// Fires.
    pub fires: usize,
    /// Cooks of the claim that it cannot follow.
    pub left_out: Vec<LeftOut>,
    /// How far the study clock runs, min.
    pub horizon_min: f64,
    /// Difference of mean times to 88 °C up to the horizon, first minus second; its standard error
    /// holds both errors below.
    pub difference: Option<Difference>,
    /// Mean time under each strategy, min.
    pub restricted_mean_min: [f64; 2],
    /// Cooks whose own path is the answer under each strategy; the others are run on.
    pub own_path: [usize; 2],
    /// Standard error from resamples of fires, min.
    pub sampling_error_min: f64,
    /// What the models are off by however many cooks there are, as a standard deviation, min.
    pub model_error_min: f64,
    /// The fewest cooks that went through a degree of the core from 66 °C on unwrapped; null where nothing was
    /// estimated.
    pub fewest_unwrapped: Option<usize>,
    /// What the runs rest on.
    pub rests_on: Option<Rests>,
    /// Runs of cooks of fires that the models had not seen, as the team does, beside what they did.
    pub natural_course: Vec<Held>,
    /// Minutes a degree, wrapped and not.
    pub pace: Vec<PaceDegree>,
    /// Less the weighted estimate: the standard error takes the two as independent, which makes it
    /// too wide. Null where there is no weighted estimate.
    pub less_weighted: Option<Difference>,
    /// Of a `yes`: how many minutes the answer would have to lean before it were none.
    pub tipping_min: Option<f64>,
}

impl GFormula {
    /// The difference that the verdict rests on, where it rests on this.
    pub fn judges(&self) -> Option<Difference> {
        self.difference.filter(|_| self.reason.is_none())
    }
}

/// What runs rest on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rests {
    /// Minutes that a cook was run on, mean over cooks and both strategies together.
    pub run_min: f64,
    /// Share of these minutes in states in which fewer than three cooks of other fires were.
    pub unsupported_share: f64,
    /// How errors one degree ahead, on fires left out, go with the cook's pace so far: unwrapped and
    /// wrapped.
    pub tilt: Vec<Option<Tilted>>,
}

/// A slope of errors.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tilted {
    /// The slope: log dose per log dose.
    pub slope: f64,
    /// Its standard error.
    pub std_error: f64,
    /// Degrees.
    pub steps: usize,
}

/// Simulated beside observed times to the finish.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Held {
    /// `all`, `wrapped` or `not wrapped`.
    pub group: String,
    /// Cooks observed.
    pub cooks: usize,
    /// Runs that came out so.
    pub simulated: usize,
    /// Mean of the observed times, min.
    pub observed_mean_min: f64,
    /// Mean of the runs, min.
    pub simulated_mean_min: f64,
    /// Standard deviation of the observed times, min.
    pub observed_sd_min: f64,
    /// Standard deviation of the runs, min.
    pub simulated_sd_min: f64,
}

/// How long a degree takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PaceDegree {
    /// The degree, from here to 1 °C more.
    pub degree_c: f64,
    /// In what it was wrapped; null for not.
    pub wrapped_in: Option<String>,
    /// Cooks.
    pub cooks: usize,
    /// Median, min.
    pub median_min: f64,
    /// Lower quartile, min.
    pub quarter_min: f64,
    /// Upper quartile, min.
    pub three_quarters_min: f64,
}
