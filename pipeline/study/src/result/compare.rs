//! Seasons against the season before, and teams against each other: described, not caused.

use super::rows::{Rows, word};
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Seasons or teams, compared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Comparisons {
    /// The column: `season` or `team`.
    pub by: String,
    /// What to print above it.
    pub heading: String,
    /// Level of each interval.
    pub level: f64,
    /// Adjusted differences whose p values are adjusted together.
    pub family: usize,
    /// The differences: outcome by outcome, seasons in their order.
    pub rows: Vec<Comparison>,
}

/// One outcome of one season or team against another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Comparison {
    /// The outcome's column; `late_min` is minutes from the planned pull to the pull.
    pub outcome: String,
    /// Its unit.
    pub unit: String,
    /// The season or team.
    pub first: String,
    /// The season before or the other team; null is the mean of all other teams.
    pub second: Option<String>,
    /// Cooks of the first with a value.
    pub first_cooks: usize,
    /// Cooks of the second with a value.
    pub second_cooks: usize,
    /// Of all these, those whose value is a lower bound.
    pub censored: usize,
    /// First minus second, of the cooks as they are; null where it cannot be estimated.
    pub as_they_are: Option<ComparedDifference>,
    /// First minus second with what is adjusted for held fixed; null where it cannot be estimated.
    pub adjusted: Option<ComparedDifference>,
    /// What is adjusted for.
    pub adjusted_for: Vec<String>,
    /// Cooks in the adjusted model, all seasons or teams together.
    pub adjusted_cooks: usize,
    /// Two-sided p value of no adjusted difference.
    pub p: Option<f64>,
    /// The same, adjusted for the number of comparisons (Holm).
    pub p_adjusted: Option<f64>,
    /// What can be told.
    pub told: Told,
    /// Why there is no adjusted difference; null where there is one.
    pub reason: Option<String>,
}

/// A difference with its interval, in the outcome's unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ComparedDifference {
    /// The estimate.
    pub estimate: f64,
    /// Lower end of the interval.
    pub lo: Option<f64>,
    /// Upper end of the interval.
    pub hi: Option<f64>,
}

/// What can be told of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Told {
    /// The first has more.
    More,
    /// The first has less.
    Less,
    /// By itself it would be told, among so many comparisons it is not.
    HintOnly,
    /// It cannot be told.
    CannotBeTold,
}

/// One of the differences of a comparison.
type DifferenceOf = fn(&Comparison) -> Option<ComparedDifference>;

impl Comparisons {
    /// One row a difference between seasons or teams.
    pub(super) fn rows(of_all: &[Self]) -> Table {
        let all: Vec<(&str, &Comparison)> = of_all
            .iter()
            .flat_map(|found| found.rows.iter().map(move |row| (found.by.as_str(), row)))
            .collect();
        let mut rows = Rows::of(&all)
            .text("by", |(by, _)| Some((*by).to_owned()))
            .text("outcome", |(_, own)| Some(own.outcome.clone()))
            .text("unit", |(_, own)| Some(own.unit.clone()).filter(|unit| !unit.is_empty()))
            .text("first", |(_, own)| Some(own.first.clone()))
            .text("second", |(_, own)| own.second.clone())
            .count("first_cooks", |(_, own)| Some(own.first_cooks))
            .count("second_cooks", |(_, own)| Some(own.second_cooks))
            .count("censored", |(_, own)| Some(own.censored));
        let differences: [(&str, DifferenceOf); 2] =
            [("as_they_are", |own| own.as_they_are), ("adjusted", |own| own.adjusted)];
        for (name, of) in differences {
            rows = rows
                .float(name, |(_, own)| Some(of(own)?.estimate))
                .float(format!("{name}_lo"), |(_, own)| of(own)?.lo)
                .float(format!("{name}_hi"), |(_, own)| of(own)?.hi);
        }
        rows.text("adjusted_for", |(_, own)| Some(own.adjusted_for.join(" + ")))
            .count("adjusted_cooks", |(_, own)| Some(own.adjusted_cooks))
            .float("p", |(_, own)| own.p)
            .float("p_adjusted", |(_, own)| own.p_adjusted)
            .text("told", |(_, own)| word(&own.told))
            .text("reason", |(_, own)| own.reason.clone())
            .table()
    }
}
