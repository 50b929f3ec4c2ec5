//! What was cooked.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What was cooked, excluded cooks included.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Summary {
    /// All of it.
    pub total: Counted,
    /// First local date, ISO 8601; null without a column `date`.
    pub first_date: Option<String>,
    /// Last local date.
    pub last_date: Option<String>,
    /// By season, kind, pit, cut and wrap method, in this order; each by the levels in sorted
    /// order, cooks that do not say last. A column that the table does not have is left out.
    pub by: Vec<CountedBy>,
    /// Cooks left out of every analysis, in the order of their names.
    pub excluded: Vec<Excluded>,
}

/// The levels of one column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CountedBy {
    /// The column.
    pub column: String,
    /// Its levels.
    pub levels: Vec<Level>,
}

/// One level of a column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Level {
    /// The level; null for cooks that do not say.
    pub level: Option<String>,
    /// How much of it.
    #[serde(flatten)]
    pub counted: Counted,
}

/// Counts and sums over cooks.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Counted {
    /// Cooks.
    pub cooks: usize,
    /// Of these, excluded.
    pub excluded: usize,
    /// Fires.
    pub fires: usize,
    /// Hours of cooking (`total_min`), summed over the cooks where they are known.
    pub hours: Option<f64>,
    /// Cooks whose hours are known.
    pub hours_known: usize,
    /// Raw weight, kg, summed over the cooks where it is known.
    pub raw_weight_kg: Option<f64>,
    /// Cooks whose raw weight is known.
    pub raw_weight_known: usize,
    /// Trimmed weight, kg, summed over the cooks where it is known.
    pub trimmed_weight_kg: Option<f64>,
    /// Cooks whose trimmed weight is known.
    pub trimmed_weight_known: usize,
}

/// A cook left out of every analysis.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Excluded {
    /// The cook.
    pub cook: String,
    /// Why.
    pub reason: String,
}

/// How a measure lies over the cooks that have it, excluded ones left out. It is no part of
/// `study.json`: the table of measures says it all.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// The measure's column.
    pub column: String,
    /// Cooks with a value.
    pub cooks: usize,
    /// The median of the values as they stand; null where all that is known is that it is at least less than
    /// nothing.
    pub median: Option<f64>,
    /// Whether the true median may be larger, since a lower bound lies at or below it.
    pub at_least: bool,
    /// Smallest.
    pub min: f64,
    /// Largest.
    pub max: f64,
    /// Of the cooks, those whose value is a lower bound.
    pub censored: usize,
}

/// How a team cooks one cut, its cooks by all pits and wraps together, excluded ones left out. It is no
/// part of `study.json`.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// The cut; `None` for cooks that do not say.
    pub cut: Option<String>,
    /// Cooks of it.
    pub cooks: usize,
    /// Its measures, those that any cook has.
    pub usual: Vec<Usual>,
    /// Its wraps, the most frequent first.
    pub wraps: Vec<WrapHabit>,
    /// Minutes from an instant of the cook to its turn-in, of the cooks that have one.
    pub before_turn_in: Vec<Usual>,
}

/// What is usual: the middle of ten cooks, and what eight of ten lie between.
#[derive(Debug, Clone, PartialEq)]
pub struct Usual {
    /// The column that it is of.
    pub column: String,
    /// Cooks with a value.
    pub cooks: usize,
    /// The median of the values as they stand.
    pub median: f64,
    /// Their 0.1 and 0.9 quantiles; smallest and largest of fewer than ten.
    pub range: (f64, f64),
    /// The smallest value that is a lower bound: a figure that is no smaller may truly be larger.
    pub least_bound: Option<f64>,
}

/// How a wrap is used.
#[derive(Debug, Clone, PartialEq)]
pub struct WrapHabit {
    /// The method; `none` for cooks without.
    pub method: String,
    /// Cooks with it.
    pub cooks: usize,
    /// Its measures.
    pub usual: Vec<Usual>,
}
