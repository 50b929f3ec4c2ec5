//! The result types of the drivers.

use crate::result::{LeftOut, Model};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One outcome against weight, pit and wrap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Driver {
    /// The outcome's column: `stall_delay_min` or `stall_min`.
    pub outcome: String,
    /// Which cooks.
    pub cooks: CookSet,
    /// Unit of the outcome.
    pub unit: String,
    /// Weight, then pit, each by itself.
    pub lines: Vec<DriverLine>,
    /// Wrap methods by themselves, each against the first in sorted order.
    pub wrap: Contrasts,
    /// Weight, pit and wrap together.
    pub joint: JointModel,
    /// What the reader should know besides.
    pub notes: Vec<String>,
}

/// Which cooks a driver is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CookSet {
    /// Every cook that was judged.
    All,
    /// Cooks with at least one stall.
    Stalled,
}

/// An outcome against one numeric column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DriverLine {
    /// The column: `trimmed_weight_kg` (or `raw_weight_kg` where most cooks lack it), or
    /// `pit_early_c`.
    pub by: String,
    /// Change of the outcome per step; null where refused.
    pub effect: Option<DriverEffect>,
    /// Why there is no line; null otherwise.
    pub reason: Option<String>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Of the cooks used, those whose outcome is a lower bound.
    pub censored: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// One point a cook, in the order of the cooks' names.
    pub points: Vec<Point>,
    /// The fitted line on an even grid over the points, with a pointwise 95 % confidence
    /// band of the mean; empty where refused.
    pub line: Vec<LinePoint>,
    /// The model; null where refused.
    pub model: Option<Model>,
}

/// A slope in words that people use: minutes per kilogram, per 5 °C, or against a base.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DriverEffect {
    /// Name of the term in the model.
    pub term: String,
    /// The step, in `per_unit`; null for a level against its base.
    pub per: Option<f64>,
    /// Unit of the step; null for a level against its base.
    pub per_unit: Option<String>,
    /// Change of the outcome per step, in `unit`.
    pub estimate: f64,
    /// Lower end of the interval; null is open.
    pub lo: Option<f64>,
    /// Upper end of the interval; null is open.
    pub hi: Option<f64>,
    /// Confidence level of the interval.
    pub level: f64,
    /// Unit of the outcome.
    pub unit: String,
}

/// One cook in a figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// The cook.
    pub cook: String,
    /// The column's value, in its unit.
    pub x: f64,
    /// The outcome, in its unit.
    pub y: f64,
    /// Whether `y` is a lower bound.
    pub censored: bool,
}

/// A fitted line at one place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LinePoint {
    /// The column's value.
    pub x: f64,
    /// The fitted mean.
    pub y: f64,
    /// Lower edge of the band; null is open.
    pub lo: Option<f64>,
    /// Upper edge of the band; null is open.
    pub hi: Option<f64>,
}

/// Levels of a text column against its base: described, not caused.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Contrasts {
    /// The column.
    pub by: String,
    /// The level that the others are set against; null where refused.
    pub base: Option<String>,
    /// Each other level against the base, in sorted order.
    pub effects: Vec<DriverEffect>,
    /// Why there are none; null otherwise.
    pub reason: Option<String>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Of the cooks used, those whose outcome is a lower bound.
    pub censored: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// The model; null where refused.
    pub model: Option<Model>,
}

/// Weight, pit and wrap in one model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JointModel {
    /// Per kilogram, per 5 °C, and each wrap method against the base; empty where refused.
    pub effects: Vec<DriverEffect>,
    /// Why there is no model; null otherwise.
    pub reason: Option<String>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Of the cooks used, those whose outcome is a lower bound.
    pub censored: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// The model; null where refused.
    pub model: Option<Model>,
}
