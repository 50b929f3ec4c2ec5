//! The season as a whole, finished: at a glance, control charts, time to the finish by wrap, contests
//! and bests.

use serde::Serialize;

use crate::units::Quantity;

/// An individuals chart: one point a fire, in the order of the dates.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct ControlChart {
    /// Unique, usable in an address.
    pub id: String,
    /// The measure in words.
    pub name: String,
    /// What its numbers are.
    pub quantity: Quantity,
    /// Mean of the points, SI.
    pub centre: f64,
    /// Lower limit, SI.
    pub lower: f64,
    /// Upper limit, SI.
    pub upper: f64,
    /// The points.
    pub points: Vec<ChartPoint>,
    /// Shifts of the mean that the data support.
    pub shifts: Vec<ChartShift>,
}

/// One fire in a control chart.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct ChartPoint {
    /// Its first cook.
    pub cook: String,
    /// Local date of that cook.
    pub day: String,
    /// Mean over its cooks, SI.
    pub value: f64,
    /// Whether it lies outside the limits.
    pub outside: bool,
}

/// A shift of the mean.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct ChartShift {
    /// Position of the first point after it, from 0.
    pub at: usize,
    /// Local date of that point.
    pub day: String,
    /// Mean before it, SI.
    pub before: f64,
    /// Mean after it, SI.
    pub after: f64,
    /// p value of its test.
    pub p: f64,
}

/// Share of cooks not yet finished on the study clock, by wrap: described, not caused.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct FinishByWrap {
    /// Minutes at which numbers at risk are told.
    pub risk_at_min: Vec<f64>,
    /// One curve a wrap.
    pub curves: Vec<FinishCurve>,
    /// Level of the intervals.
    pub level: f64,
    /// Cooks of wraps with too few of them for a curve.
    pub too_few: usize,
}

/// One wrap's curve.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct FinishCurve {
    /// The wrap.
    pub wrap: String,
    /// Cooks.
    pub cooks: usize,
    /// Those that reached the finish.
    pub finished: usize,
    /// Median time to the finish, min, with the ends of its interval; `None` is not reached.
    pub median_min: [Option<f64>; 3],
    /// Minutes, share not finished from then on, and whether an observation ends there unfinished.
    pub steps: Vec<(f64, f64, bool)>,
    /// Cooks at risk at each of `risk_at_min`.
    pub at_risk: Vec<usize>,
}

/// One contest cook.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct ContestCook {
    /// The cook's id.
    pub cook: String,
    /// Which contest.
    pub contest: Option<String>,
    /// From the pull to turn-in, min; negative is past it.
    pub turn_in_margin_min: Option<f64>,
    /// From the planned pull to the pull, min; positive is late.
    pub late_min: Option<f64>,
    /// Scores with their names.
    pub scores: Vec<(String, f64)>,
}

/// The best of the season in one respect.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Best {
    /// In what, in words.
    pub what: String,
    /// The cooks that share it.
    pub cooks: Vec<String>,
    /// The value, SI.
    pub value: f64,
    /// What it is.
    pub quantity: Quantity,
    /// Cooks with a value.
    pub of: usize,
}
