//! The season at a glance.

use super::compare::Comparisons;
use super::consistency::ControlChart;
use super::finish::FinishByWrap;
use crate::error::StudyError;
use crate::rows::Rows;
use crate::table::MeasureTable;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stats::describe;
use std::collections::{BTreeMap, BTreeSet};

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

pub(super) fn glance(table: &MeasureTable) -> Result<Vec<Glance>, StudyError> {
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    let seasons = table.texts_or_missing("season")?;
    let names: BTreeSet<&str> =
        rows.used.iter().filter_map(|&row| seasons[row].as_deref()).collect();
    let columns = Columns::read(table)?;
    let mut found = Vec::new();
    for name in &names {
        let of_season: Vec<usize> = rows
            .used
            .iter()
            .copied()
            .filter(|&row| seasons[row].as_deref() == Some(*name))
            .collect();
        found.push(columns.glance(table, Some((*name).to_owned()), &of_season)?);
    }
    if names.len() != 1 && !rows.used.is_empty() {
        found.push(columns.glance(table, None, &rows.used)?);
    }
    Ok(found)
}

struct Columns {
    total_min: Vec<Option<f64>>,
    fuel_kg: Vec<Option<f64>>,
    yield_fraction: Vec<Option<f64>>,
    cost_per_kg: Vec<Option<f64>>,
    late_min: Vec<Option<f64>>,
    margin_min: Vec<Option<f64>>,
    scores: Vec<(String, Vec<Option<f64>>)>,
}

impl Columns {
    fn read(table: &MeasureTable) -> Result<Self, StudyError> {
        let cost = table.numbers_or_missing("cost")?;
        let served = table.numbers_or_missing("served_weight_kg")?;
        let cost_per_kg = cost
            .into_iter()
            .zip(served)
            .map(|(cost, served)| Some(cost? / served.filter(|kg| *kg > 0.0)?))
            .collect();
        let mut names: Vec<&str> =
            table.column_names().filter(|name| name.starts_with("score_")).collect();
        names.sort_unstable();
        let scores = names
            .into_iter()
            .map(|name| Ok((name.to_owned(), table.numbers(name)?)))
            .collect::<Result<_, StudyError>>()?;
        let to_turn_in = super::minutes_late(table, "turn_in_ms")?;
        Ok(Self {
            total_min: table.numbers_or_missing("total_min")?,
            fuel_kg: table.numbers_or_missing("fuel_kg")?,
            yield_fraction: table.numbers_or_missing("yield_fraction")?,
            cost_per_kg,
            late_min: super::minutes_late(table, "planned_pull_ms")?,
            margin_min: to_turn_in.into_iter().map(|late| late.map(|late| -late)).collect(),
            scores,
        })
    }

    fn glance(
        &self,
        table: &MeasureTable,
        season: Option<String>,
        rows: &[usize],
    ) -> Result<Glance, StudyError> {
        let known = |values: &[Option<f64>]| -> Vec<f64> {
            rows.iter().filter_map(|&row| values[row]).collect()
        };
        let minutes = known(&self.total_min);
        let mut fuel: BTreeMap<usize, f64> = BTreeMap::new();
        for &row in rows {
            if let Some(kg) = self.fuel_kg[row] {
                let most = fuel.entry(table.fires()[row]).or_insert(kg);
                *most = most.max(kg);
            }
        }
        let fires: BTreeSet<usize> = rows.iter().map(|&row| table.fires()[row]).collect();
        let mut scores = Vec::new();
        for (score, values) in &self.scores {
            if let Some(points) = median(&known(values))? {
                scores.push(ScoreMedian { score: score.clone(), points });
            }
        }
        let margin = known(&self.margin_min);
        Ok(Glance {
            season,
            cooks: rows.len(),
            fires: fires.len(),
            hours: (!minutes.is_empty()).then(|| minutes.iter().sum::<f64>() / 60.0),
            fuel_kg: (!fuel.is_empty()).then(|| fuel.values().sum()),
            fuel_fires: fuel.len(),
            yield_fraction: median(&known(&self.yield_fraction))?,
            cost_per_served_kg: median(&known(&self.cost_per_kg))?,
            scores,
            late_min: median(&known(&self.late_min))?,
            past_turn_in: margin.iter().filter(|margin| **margin < 0.0).count(),
            turn_in_margin_min: median(&margin)?,
        })
    }
}

fn median(values: &[f64]) -> Result<Option<Median>, StudyError> {
    if values.is_empty() {
        return Ok(None);
    }
    Ok(Some(Median {
        median: describe::median(values)?,
        min: values.iter().copied().fold(f64::INFINITY, f64::min),
        max: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        cooks: values.len(),
    }))
}
