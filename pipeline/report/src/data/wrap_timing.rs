//! What a comparison of wrapping strategies found.

use serde::Serialize;

use super::account::Counted;

/// Naive, association and weighted answers beside each other, and what they rest on. Times are
/// minutes of the study clock.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct WrapTimingReport {
    /// How far the study clock runs, min.
    pub horizon_min: f64,
    /// Differences of mean time to the finish, first strategy minus second, in the order to show.
    pub answers: Vec<WrapAnswer>,
    /// How finishing goes with being wrapped, from the time-varying Cox model.
    pub hazard_ratios: Vec<HazardRatio>,
    /// Of the naive difference, min: itself, what comes of immortal time, what of who is wrapped
    /// when, and what is left (the weighted difference).
    pub naive_parts: Option<[f64; 4]>,
    /// Why there is no answer with the set-point unchanged.
    pub setpoint_reason: Option<String>,
    /// Cooks wrapped, and how many of the wraps came with a raised set-point.
    pub wraps_with_bump: (usize, usize),
    /// The strategies.
    pub arms: Vec<WrapArmReport>,
    /// The models of the team's decisions, in words.
    pub decisions: String,
}

/// One answer.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct WrapAnswer {
    /// How it was come by, in words.
    pub name: String,
    /// The difference, min.
    pub estimate: f64,
    /// Lower end of its 95 % interval, min.
    pub lo: Option<f64>,
    /// Upper end, min.
    pub hi: Option<f64>,
}

/// A hazard ratio of finishing with its 95 % interval.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
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

/// One strategy.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct WrapArmReport {
    /// The strategy in words.
    pub strategy: String,
    /// Cooks copied into it.
    pub copies: usize,
    /// Copies that were never artificially censored.
    pub stayed: usize,
    /// Their effective number.
    pub effective: f64,
    /// Finishes among the copies.
    pub finishes: usize,
    /// What censored the others.
    pub left: Vec<Counted>,
    /// Mean probability of following the strategy, 0–1.
    pub probability: f64,
    /// Weights: median, 95th and 99th percentile, largest before it was cut to the 99th.
    pub weights: [f64; 4],
    /// Weighted mean time to the finish up to the horizon, min.
    pub mean_min: f64,
    /// Probability by the horizon of finish, tender pull, pull out of time, 0–1.
    pub incidence: [f64; 3],
    /// Minute, copies at risk, effective number.
    pub at_risk: Vec<(f64, usize, f64)>,
}
