//! Contests and bests.

use crate::units::Quantity;

/// One contest cook.
#[derive(Debug, Clone, PartialEq, Default)]
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
#[derive(Debug, Clone, PartialEq, Default)]
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
