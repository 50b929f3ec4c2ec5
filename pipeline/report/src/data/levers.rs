//! The levers beside the wrap: set-point, sprays, lid.

use super::account::Counted;
use crate::effect::Effect;
use crate::units::Quantity;

/// One lever: how it is used, what it buys, what it costs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LeverReport {
    /// What is done, for instance `Spray`.
    pub name: String,
    /// One dose of it with its article, for instance `a spray`.
    pub dose: String,
    /// Cooks used.
    pub cooks: usize,
    /// Fires used.
    pub fires: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<Counted>,
    /// Cooks with it.
    pub cooks_with: usize,
    /// Doses of all cooks.
    pub doses: f64,
    /// Lower quartile, median and upper quartile of the doses of a cook with any.
    pub per_cook: Option<[f64; 3]>,
    /// The same of when they come, minutes on the study clock.
    pub minute: Option<[f64; 3]>,
    /// The same of the core at which they come, °C.
    pub core_c: Option<[f64; 3]>,
    /// Share of the doses that come in stall, and of all time that is stall, 0–1.
    pub in_stall: Option<[f64; 2]>,
    /// Minutes that a dose adds to the time to the finish.
    pub effect: Option<Effect>,
    /// Why that is not told.
    pub reason: Option<String>,
    /// Naive slope, min a dose.
    pub naive_min: Option<f64>,
    /// What a dose adds to the core's rise over half an hour, °C.
    pub half_hour: Option<Effect>,
    /// The association of the Cox model, per dose.
    pub hazard_ratio: Option<HazardRatio>,
    /// Two strategies compared, only for the set-point.
    pub strategies: Option<LeverStrategiesReport>,
    /// Why they are not.
    pub strategies_reason: Option<String>,
    /// Measures of cooks with it and without.
    pub described: Vec<LeverMeasure>,
    /// Quartiles of how far the pit fell, °C.
    pub pit_fall_c: Option<[f64; 3]>,
    /// Quartiles of how long half of that took to be made up, min.
    pub pit_back_min: Option<[f64; 3]>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
}

/// Raising the set-point soon against never.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LeverStrategiesReport {
    /// The strategies in words.
    pub strategies: [String; 2],
    /// First minus second, min.
    pub effect: Effect,
    /// How long they are followed, min.
    pub horizon_min: f64,
    /// Cooks that stayed in each, and their effective number.
    pub stayed: [(usize, f64); 2],
    /// The cooks as they turned out, min: wrong.
    pub naive_min: Option<f64>,
}

/// A measure with and without a lever.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LeverMeasure {
    /// The measure in words.
    pub name: String,
    /// What its numbers are.
    pub quantity: Quantity,
    /// Median and number of the cooks with it.
    pub with: Option<(f64, usize)>,
    /// The same without.
    pub without: Option<(f64, usize)>,
}

/// A hazard ratio of finishing with its 95 % interval.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HazardRatio {
    /// The term in words.
    pub term: String,
    /// The ratio.
    pub ratio: f64,
    /// Lower end.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
}
