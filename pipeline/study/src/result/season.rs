//! The season as a whole.

use super::chart::ControlChart;
use super::compare::Comparisons;
use super::finish::FinishByWrap;
use super::rows::Rows;
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The season as a whole.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Season {
    /// One row a season in sorted order, then one for all of them where there are several.
    pub glance: Vec<Glance>,
    /// Control charts over the fires, in the order of their dates; empty without enough of them.
    pub charts: Vec<ControlChart>,
    /// Time to the finish by wrap: described, not caused; null without two groups large enough.
    pub finish_by_wrap: Option<FinishByWrap>,
    /// Seasons against the season before, then teams against each other, where there are two or more.
    pub comparisons: Vec<Comparisons>,
}

/// A median over the cooks where the value is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Median {
    /// The median.
    pub median: f64,
    /// Smallest.
    pub min: f64,
    /// Largest.
    pub max: f64,
    /// Cooks with a value.
    pub cooks: usize,
}

/// The median of one score.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ScoreMedian {
    /// The score's column.
    pub score: String,
    /// Its median.
    pub points: Median,
}

/// One season, or all of them, excluded cooks left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Glance {
    /// The season; null for all of them.
    pub season: Option<String>,
    /// Cooks.
    pub cooks: usize,
    /// Fires.
    pub fires: usize,
    /// Hours on the pit, summed over the cooks where they are known, h.
    pub hours: Option<f64>,
    /// Fuel, summed over the fires where a card states it, kg. Cooks of one fire share its fuel: the
    /// largest figure of a fire's cards counts once.
    pub fuel_kg: Option<f64>,
    /// Fires whose fuel is stated.
    pub fuel_fires: usize,
    /// Yield, 0 to 1.
    pub yield_fraction: Option<Median>,
    /// Cost of the meat by the weight served, in the season's currency per kg.
    pub cost_per_served_kg: Option<Median>,
    /// Scores, in the order of their names.
    pub scores: Vec<ScoreMedian>,
    /// From the planned pull to the pull, min; positive is late.
    pub late_min: Option<Median>,
    /// From the pull to turn-in, min; negative would be too late.
    pub turn_in_margin_min: Option<Median>,
    /// Cooks with a turn-in whose pull came after it.
    pub past_turn_in: usize,
}

/// One of the medians of a season.
type MedianOf = fn(&Glance) -> Option<Median>;

impl Glance {
    /// One row a season, and one for all of them.
    pub(super) fn rows(glance: &[Self]) -> Table {
        let mut rows = Rows::of(glance)
            .text("season", |g| g.season.clone())
            .count("cooks", |g| Some(g.cooks))
            .count("fires", |g| Some(g.fires))
            .float("hours", |g| g.hours)
            .float("fuel_kg", |g| g.fuel_kg)
            .count("fuel_fires", |g| Some(g.fuel_fires))
            .count("past_turn_in", |g| Some(g.past_turn_in));
        let medians: [(&str, MedianOf); 4] = [
            ("yield_fraction", |g| g.yield_fraction),
            ("cost_per_served_kg", |g| g.cost_per_served_kg),
            ("late_min", |g| g.late_min),
            ("turn_in_margin_min", |g| g.turn_in_margin_min),
        ];
        for (name, of) in medians {
            rows = with_median(rows, name, of);
        }
        let mut scores: Vec<&str> =
            glance.iter().flat_map(|g| &g.scores).map(|score| score.score.as_str()).collect();
        scores.sort_unstable();
        scores.dedup();
        for name in scores {
            rows = with_median(rows, name, |g| g.points(name));
        }
        rows.table()
    }

    /// The points of one score, by its column.
    pub fn points(&self, score: &str) -> Option<Median> {
        self.scores.iter().find(|known| known.score == score).map(|known| known.points)
    }
}

fn with_median<'a>(
    rows: Rows<'a, Glance>,
    name: &str,
    of: impl Fn(&Glance) -> Option<Median>,
) -> Rows<'a, Glance> {
    rows.float(name, |g| Some(of(g)?.median)).count(format!("{name}_cooks"), |g| Some(of(g)?.cooks))
}
