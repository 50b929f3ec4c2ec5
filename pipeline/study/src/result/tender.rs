//! The core temperature at which meat was felt to be tender.

use super::rows::Rows;
use super::{LeftOut, Model};
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The core temperature at which meat was felt to be tender.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TenderTemperature {
    /// All cooks, then by wrap and by cut: described, not caused.
    pub groups: Vec<TenderGroup>,
    /// Wraps and cuts in one normal model, each against its base: described, not caused.
    pub differences: Vec<TenderDifference>,
    /// Each cook's interval, in the order of the cooks' names.
    pub intervals: Vec<TenderInterval>,
    /// Why nothing is estimated; null otherwise.
    pub reason: Option<String>,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// The normal model behind the differences; null without.
    pub model: Option<Model>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
}

/// What the tests of one cook tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TenderInterval {
    /// The cook.
    pub cook: String,
    /// Tender above this core temperature, °C; null where the first test found it tender.
    pub above_c: Option<f64>,
    /// Tender at this core temperature at the latest, °C; null where no test found it tender.
    pub by_c: Option<f64>,
}

/// Some cooks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TenderGroup {
    /// The column; null for all cooks.
    pub by: Option<String>,
    /// Its level; null for all cooks.
    pub level: Option<String>,
    /// Cooks.
    pub n: usize,
    /// Fires.
    pub fires: usize,
    /// Cooks whose first test found them tender.
    pub tender_at_first: usize,
    /// Cooks that no test found tender.
    pub never_tender: usize,
    /// Turnbull's estimate; null where refused.
    pub turnbull: Option<Turnbull>,
    /// Temperatures by which 10, 50 and 90 % of the cooks were tender, of the normal distribution;
    /// empty where refused.
    pub normal: Vec<TenderQuantile>,
    /// Why there is none; null otherwise.
    pub reason: Option<String>,
    /// The normal model; null where refused.
    pub model: Option<Model>,
}

/// Turnbull's estimate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Turnbull {
    /// The innermost intervals with their shares, those without any left out.
    pub steps: Vec<TenderStep>,
    /// Temperatures by which 10, 50 and 90 % of the cooks were tender: the middle of the innermost
    /// interval in which that share is reached.
    pub quantiles: Vec<TenderQuantile>,
    /// Log-likelihood, natural logarithm.
    pub log_likelihood: Option<f64>,
}

/// An innermost interval. Where in it the share lies the tests cannot tell.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TenderStep {
    /// Lower end, °C; null is open.
    pub above_c: Option<f64>,
    /// Upper end, °C; null is open.
    pub by_c: Option<f64>,
    /// Share of the cooks, 0 to 1.
    pub share: f64,
}

/// A quantile of the temperatures with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TenderQuantile {
    /// Share of the cooks, 0 to 1.
    pub share: f64,
    /// Core temperature, °C; null where it lies beyond the tests.
    pub core_c: Option<f64>,
    /// Lower end, °C; null is open.
    pub lo_c: Option<f64>,
    /// Upper end, °C; null is open.
    pub hi_c: Option<f64>,
}

/// The difference of the mean temperature between two levels, °C.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TenderDifference {
    /// The column.
    pub by: String,
    /// The level.
    pub level: String,
    /// The level that it is set against.
    pub base: String,
    /// Level less base.
    pub estimate: f64,
    /// Lower end of the 95 % interval; null is open.
    pub lo: Option<f64>,
    /// Upper end of the 95 % interval; null is open.
    pub hi: Option<f64>,
    /// Two-sided p value of no difference.
    pub p: f64,
}

impl TenderTemperature {
    /// One row a group, an estimator and a share of its cooks.
    pub(super) fn rows(&self) -> Table {
        let mut rows: Vec<(&TenderGroup, &str, &TenderQuantile)> = Vec::new();
        for group in &self.groups {
            let turnbull = group.turnbull.iter().flat_map(|own| &own.quantiles);
            rows.extend(turnbull.map(|own| (group, "turnbull", own)));
            rows.extend(group.normal.iter().map(|own| (group, "normal", own)));
        }
        Rows::of(&rows)
            .text("by", |(group, ..)| group.by.clone())
            .text("level", |(group, ..)| group.level.clone())
            .text("estimator", |(_, estimator, _)| Some((*estimator).to_owned()))
            .float("share", |(.., own)| Some(own.share))
            .float("core_c", |(.., own)| own.core_c)
            .float("lo_c", |(.., own)| own.lo_c)
            .float("hi_c", |(.., own)| own.hi_c)
            .count("cooks", |(group, ..)| Some(group.n))
            .count("fires", |(group, ..)| Some(group.fires))
            .count("tender_at_first", |(group, ..)| Some(group.tender_at_first))
            .count("never_tender", |(group, ..)| Some(group.never_tender))
            .table()
    }
}
