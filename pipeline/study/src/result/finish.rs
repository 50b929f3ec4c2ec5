//! Share of cooks that have not reached the finish, by wrap: described, not caused.

use super::rows::Rows;
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Kaplan–Meier curves of the time from clock zero to the finish, by the wrap that a cook ended up in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FinishByWrap {
    /// What to print above it.
    pub heading: String,
    /// Minutes on the study clock at which numbers at risk are told.
    pub risk_at_min: Vec<f64>,
    /// The curves, in the order of the wraps' names.
    pub curves: Vec<FinishCurve>,
    /// Level of the intervals.
    pub level: f64,
    /// Cooks of wraps with too few of them.
    pub too_few: usize,
}

/// One wrap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FinishCurve {
    /// The wrap.
    pub wrap: String,
    /// Cooks.
    pub cooks: usize,
    /// Of these, those that reached the finish.
    pub finished: usize,
    /// Time by which half had, min; null where the curve does not come down so far.
    pub median_min: Option<f64>,
    /// Lower end of its interval.
    pub median_lo_min: Option<f64>,
    /// Upper end of its interval.
    pub median_hi_min: Option<f64>,
    /// The curve's steps.
    pub steps: Vec<FinishStep>,
    /// Cooks at risk at each of `risk_at_min`.
    pub at_risk: Vec<usize>,
}

/// One step of a curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FinishStep {
    /// Minutes on the study clock.
    pub min: f64,
    /// Share not finished after it.
    pub share: f64,
    /// Lower end of its interval; null where the share is zero.
    pub lo: Option<f64>,
    /// Upper end of its interval.
    pub hi: Option<f64>,
    /// Cooks whose observation ends here without a finish.
    pub censored: usize,
}

impl FinishByWrap {
    /// One row a step of a curve.
    pub(super) fn rows(found: Option<&Self>) -> Table {
        let curves = found.into_iter().flat_map(|found| &found.curves);
        let steps: Vec<(&FinishCurve, &FinishStep)> =
            curves.flat_map(|curve| curve.steps.iter().map(move |step| (curve, step))).collect();
        Rows::of(&steps)
            .text("wrap", |(curve, _)| Some(curve.wrap.clone()))
            .float("min", |(_, step)| Some(step.min))
            .float("share", |(_, step)| Some(step.share))
            .float("lo", |(_, step)| step.lo)
            .float("hi", |(_, step)| step.hi)
            .count("censored", |(_, step)| Some(step.censored))
            .table()
    }
}
