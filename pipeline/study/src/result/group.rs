//! Medians and counts by group: described, not caused.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Outcomes by the levels of a column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupTable {
    /// The column.
    pub by: String,
    /// What to print above the table.
    pub heading: String,
    /// The rows, in sorted order of the level; cooks that do not say come last.
    pub rows: Vec<GroupRow>,
}

/// One level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupRow {
    /// The level; null for cooks that do not say.
    pub level: Option<String>,
    /// Cooks that are not excluded.
    pub cooks: usize,
    /// Their fires.
    pub fires: usize,
    /// The outcomes, in a fixed order.
    pub outcomes: Vec<GroupOutcome>,
}

/// One outcome of one level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupOutcome {
    /// The outcome's column.
    pub outcome: String,
    /// Its unit.
    pub unit: String,
    /// Whether only cooks with at least one stall are in it.
    pub stalled_only: bool,
    /// Cooks with a value.
    pub n: usize,
    /// Of these, those whose value is a lower bound.
    pub censored: usize,
    /// Lower quartile; null without a value, and where all that is known is that it is at least less than nothing.
    pub lower_quartile: Option<Quantile>,
    /// Median; null as the quartile is.
    pub median: Option<Quantile>,
    /// Upper quartile; null as the others are.
    pub upper_quartile: Option<Quantile>,
}

/// A quantile of values of which some may be lower bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Quantile {
    /// The quantile of the values as they stand, linear interpolation.
    pub value: f64,
    /// Whether the true quantile may be larger, since a lower bound lies at or below it.
    pub at_least: bool,
}
