//! How steady the team was: individuals charts over the fires.

use super::rows::Rows;
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An individuals chart over fires in the order of their first meat-on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ControlChart {
    /// The measure; `late_min` is minutes from the planned pull to the pull.
    pub measure: String,
    /// Its unit.
    pub unit: String,
    /// Mean of the points.
    pub centre: f64,
    /// Lower limit, centre − 2.66 mean moving ranges.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
    /// The fires, in order.
    pub points: Vec<ChartPoint>,
    /// Shifts of the mean that the data support (permutation test, 1 % a test).
    pub shifts: Vec<Shift>,
}

/// One fire: the mean over its cooks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChartPoint {
    /// Its first cook.
    pub cook: String,
    /// Cooks with a value.
    pub cooks: usize,
    /// The mean.
    pub value: f64,
    /// Whether it lies outside the limits.
    pub outside: bool,
}

/// A shift of the mean.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shift {
    /// First cook after it.
    pub cook: String,
    /// Position of that point, from 0.
    pub at: usize,
    /// Mean before it, back to the shift before.
    pub before: f64,
    /// Mean after it, up to the next shift.
    pub after: f64,
    /// p value of its test.
    pub p: f64,
}

impl ControlChart {
    /// One row a point of a chart.
    pub(super) fn rows(charts: &[Self]) -> Table {
        let points: Vec<(&Self, &ChartPoint)> =
            charts.iter().flat_map(|own| own.points.iter().map(move |p| (own, p))).collect();
        let shift_p = |chart: &Self, cook: &str| {
            chart.shifts.iter().find(|shift| shift.cook == cook).map(|shift| shift.p)
        };
        Rows::of(&points)
            .text("measure", |(chart, _)| Some(chart.measure.clone()))
            .text("cook", |(_, point)| Some(point.cook.clone()))
            .count("cooks", |(_, point)| Some(point.cooks))
            .float("value", |(_, point)| Some(point.value))
            .flag("outside", |(_, point)| Some(point.outside))
            .float("centre", |(chart, _)| Some(chart.centre))
            .float("lower", |(chart, _)| Some(chart.lower))
            .float("upper", |(chart, _)| Some(chart.upper))
            .float("shift_p", |(chart, point)| shift_p(chart, &point.cook))
            .table()
    }
}
