//! Seasons and teams against each other, finished: described, not caused.

use crate::units::Quantity;

/// Seasons, or teams, compared.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Comparisons {
    /// `season` or `team`.
    pub by: String,
    /// Level of each interval.
    pub level: f64,
    /// Comparisons that the adjusted p values pay for.
    pub family: usize,
    /// The differences.
    pub rows: Vec<ComparisonRow>,
}

/// One outcome of one season or team against another.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ComparisonRow {
    /// The outcome in words.
    pub outcome: String,
    /// What its numbers are.
    pub quantity: Quantity,
    /// The season or team.
    pub first: String,
    /// What it is compared with; `None` is the mean of all others.
    pub second: Option<String>,
    /// Cooks of either with a value.
    pub cooks: [usize; 2],
    /// Those of them whose value is a lower bound.
    pub censored: usize,
    /// First minus second as they are, SI: estimate and the ends of its interval.
    pub plain: Option<[Option<f64>; 3]>,
    /// The same with what is adjusted for held fixed.
    pub adjusted: Option<[Option<f64>; 3]>,
    /// What is adjusted for, in words.
    pub adjusted_for: Vec<String>,
    /// p value, adjusted for all comparisons.
    pub p_adjusted: Option<f64>,
    /// What can be told.
    pub told: Told,
    /// Why there is no adjusted difference.
    pub reason: Option<String>,
}

/// What can be told of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Told {
    /// The first has more.
    More,
    /// The first has less.
    Less,
    /// By itself it would be told, among so many it is not.
    HintOnly,
    /// It cannot be told.
    #[default]
    CannotBeTold,
}
