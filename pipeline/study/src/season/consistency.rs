//! How steady the team was: individuals charts over the fires, with shifts that the data support.

use crate::error::StudyError;
use crate::result::chart::{ChartPoint, ControlChart, Shift};
use crate::rows::Rows;
use crate::table::MeasureTable;
use columns::{derived, measures, names};
use stats::{IndividualsChart, ShiftOptions, mean_shifts};
use std::collections::BTreeMap;

/// The series that are charted: name, and whether it is computed here.
const K_REF_PER_H: &str = measures::K_REF_PER_H.name;
const LATE_MIN: &str = derived::LATE_MIN.name;
const SERIES: [&str; 3] = [K_REF_PER_H, measures::PIT_SD_C.name, LATE_MIN];

pub(super) fn charts(table: &MeasureTable, seed: u64) -> Result<Vec<ControlChart>, StudyError> {
    if ![measures::MEAT_ON_MS.name, "meat_on", measures::DATE.name]
        .into_iter()
        .any(|column| table.has(column))
    {
        return Ok(Vec::new());
    }
    let mut included = Rows::all(table);
    included.keep_included(table)?;
    let order: Vec<usize> = table
        .by_meat_on()?
        .into_iter()
        .filter(|position| included.used.contains(position))
        .collect();
    let mut found = Vec::new();
    for measure in SERIES {
        let values = match measure {
            LATE_MIN => super::minutes_late(table, measures::PLANNED_PULL_MS.name)?,
            K_REF_PER_H => own_references(table)?,
            column => table.numbers_or_missing(column)?,
        };
        found.extend(chart(table, measure, &values, &order, seed)?);
    }
    Ok(found)
}

/// Reference heating coefficients of the cooks' own: a borrowed one is another cook's.
fn own_references(table: &MeasureTable) -> Result<Vec<Option<f64>>, StudyError> {
    let values = table.numbers_or_missing(measures::K_REF_PER_H.name)?;
    if !table.has(measures::K_REF_BORROWED.name) {
        return Ok(values);
    }
    let borrowed = table.flags(measures::K_REF_BORROWED.name)?;
    Ok(values.into_iter().zip(borrowed).map(|(k, b)| k.filter(|_| b != Some(true))).collect())
}

/// `None` where there are too few fires for limits.
fn chart(
    table: &MeasureTable,
    measure: &str,
    values: &[Option<f64>],
    order: &[usize],
    seed: u64,
) -> Result<Option<ControlChart>, StudyError> {
    // Fires in the order in which their first cook with a value comes.
    let mut places: BTreeMap<usize, usize> = BTreeMap::new();
    let mut fires: Vec<(usize, Vec<f64>)> = Vec::new();
    for &position in order {
        let Some(value) = values[position] else { continue };
        let place = *places.entry(table.fires()[position]).or_insert(fires.len());
        if place == fires.len() {
            fires.push((position, Vec::new()));
        }
        fires[place].1.push(value);
    }
    if fires.len() < stats::FEWEST_CHARTED {
        return Ok(None);
    }
    let means: Vec<f64> =
        fires.iter().map(|(_, values)| values.iter().sum::<f64>() / values.len() as f64).collect();
    let limits = IndividualsChart::new(&means)?;
    let options = ShiftOptions { seed, ..ShiftOptions::default() };
    let cook = |place: usize| table.cooks()[fires[place].0].clone();
    Ok(Some(ControlChart {
        measure: measure.to_owned(),
        unit: names::unit(measure).to_owned(),
        centre: limits.centre,
        lower: limits.lower,
        upper: limits.upper,
        shifts: mean_shifts(&means, &options)?
            .into_iter()
            .map(|shift| Shift {
                cook: cook(shift.at),
                at: shift.at,
                before: shift.before,
                after: shift.after,
                p: shift.p,
            })
            .collect(),
        points: means
            .iter()
            .enumerate()
            .map(|(place, &value)| ChartPoint {
                cook: cook(place),
                cooks: fires[place].1.len(),
                value,
                outside: limits.is_outside(value),
            })
            .collect(),
    }))
}
