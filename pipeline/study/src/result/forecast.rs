//! How good forecasts would have been on this past.

use super::rows::Rows;
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Past cooks forecast hour by hour, each without the cooks of its own fire.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ForecastBacktest {
    /// Cooks with a finish that were forecast.
    pub cooks: usize,
    /// Their fires.
    pub fires: usize,
    /// Cooks with a finish that could have been: more than are forecast where there are many.
    pub of_cooks: usize,
    /// Seed of the choice.
    pub seed: u64,
    /// Level of the ranges, 0 to 1.
    pub level: f64,
    /// By hours still to go, the fewest first; then all.
    pub bands: Vec<BacktestBand>,
    /// Plans of the same cooks.
    pub plans: Option<PlanCheck>,
    /// Why nothing was forecast.
    pub reason: Option<String>,
}

/// Forecasts of the finish that were made with so many hours to go.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BacktestBand {
    /// From so many hours to go; null in the row of all.
    pub from_h: Option<f64>,
    /// To so many; null where it is open.
    pub to_h: Option<f64>,
    /// Forecasts.
    pub moments: usize,
    /// Median absolute error of the forecast, min.
    pub off_min: f64,
    /// Share of finishes inside the range.
    pub covered: f64,
    /// Median absolute error of the first rule of thumb, min: what past cooks still took from the same core
    /// in the same wrap.
    pub same_core_off_min: Option<f64>,
    /// Median absolute error of the second, min: hours by weight, as past cooks took.
    pub by_weight_off_min: Option<f64>,
}

/// How plans would have done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanCheck {
    /// The certainty asked for, 0 to 1.
    pub certainty: f64,
    /// Cooks with a pull that were planned.
    pub cooks: usize,
    /// Of these, in time.
    pub on_time: usize,
    /// Median wait of those in time, min.
    pub wait_min: f64,
}

impl ForecastBacktest {
    /// One row a band.
    pub(super) fn rows(found: Option<&Self>) -> Table {
        let bands = found.map_or(&[][..], |found| &found.bands);
        Rows::of(bands)
            .float("from_h", |band| band.from_h)
            .float("to_h", |band| band.to_h)
            .count("moments", |band| Some(band.moments))
            .float("off_min", |band| Some(band.off_min))
            .float("covered", |band| Some(band.covered))
            .float("same_core_off_min", |band| band.same_core_off_min)
            .float("by_weight_off_min", |band| band.by_weight_off_min)
            .table()
    }
}
