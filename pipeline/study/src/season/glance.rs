//! The season at a glance.

use crate::error::StudyError;
use crate::result::season::{Glance, Median, ScoreMedian};
use crate::rows::Rows;
use crate::table::MeasureTable;
use columns::measures;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn glance(table: &MeasureTable) -> Result<Vec<Glance>, StudyError> {
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    let seasons = table.texts_or_missing(measures::SEASON.name)?;
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
        let cost = table.numbers_or_missing(measures::COST.name)?;
        let served = table.numbers_or_missing(measures::SERVED_WEIGHT_KG.name)?;
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
        let to_turn_in = super::minutes_late(table, measures::TURN_IN_MS.name)?;
        Ok(Self {
            total_min: table.numbers_or_missing(measures::TOTAL_MIN.name)?,
            fuel_kg: table.numbers_or_missing(measures::FUEL_KG.name)?,
            yield_fraction: table.numbers_or_missing(measures::YIELD_FRACTION.name)?,
            cost_per_kg,
            late_min: super::minutes_late(table, measures::PLANNED_PULL_MS.name)?,
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
            if let Some(points) = Median::of(&known(values))? {
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
            yield_fraction: Median::of(&known(&self.yield_fraction))?,
            cost_per_served_kg: Median::of(&known(&self.cost_per_kg))?,
            scores,
            late_min: Median::of(&known(&self.late_min))?,
            past_turn_in: margin.iter().filter(|margin| **margin < 0.0).count(),
            turn_in_margin_min: Median::of(&margin)?,
        })
    }
}
