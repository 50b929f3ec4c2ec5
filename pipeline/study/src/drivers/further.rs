//! Every other column of the sheet, each beside weight and pit.

use super::fit::{Asked, Inputs, keep_common_levels, too_few_levels};
use crate::error::StudyError;
use crate::regression::NotFitted;
use crate::result::driver::{FurtherDriver, WaldTest};
use crate::rows::{Covariate, Rows};
use crate::table::{ColumnKind, MeasureTable};
use columns::{measures, names, tables};
use std::collections::BTreeMap;

/// Columns of the sheet and the log that are settled before the stall, or go on beside it. What the
/// stall itself makes (its own measures, times, the pull, the fuel burnt) is no driver of it.
const KNOWN: [&str; 15] = [
    measures::THICKNESS_MM.name,
    measures::PIT_SD_C.name,
    measures::START_CORE_C.name,
    measures::COOKER.name,
    measures::PIT.name,
    measures::WATER_PAN.name,
    measures::WEATHER.name,
    measures::ALTITUDE_M.name,
    measures::WOOD.name,
    measures::CUT.name,
    measures::GRADE.name,
    measures::SUPPLIER.name,
    measures::PLACE.name,
    measures::KIND.name,
    measures::SEASON.name,
];

/// Columns beside the measures that are no property of a cook.
const NOT_ASKED: [&str; 1] = [tables::COMPUTED_FROM.name];

/// Columns that only this team's sheet has, most: a sheet of hundreds of columns is no question.
const MOST_OWN: usize = 40;

pub(super) fn drivers(
    inputs: &Inputs<'_>,
    asked: &Asked<'_>,
    rows: &Rows,
) -> Result<Vec<FurtherDriver>, StudyError> {
    let mut found = columns(asked.table)
        .into_iter()
        .filter_map(|column| read(asked.table, column))
        .map(|by| driver(inputs, asked, rows, &by))
        .collect::<Result<Vec<_>, _>>()?;
    // A column that nobody filled in, or that never varies, was not asked about.
    found.retain(|driver| driver.n > 0);
    let p: Vec<f64> = found.iter().filter_map(|driver| Some(driver.test?.p)).collect();
    if !p.is_empty() {
        let mut adjusted = stats::multiple::benjamini_hochberg(&p)?.into_iter();
        for driver in found.iter_mut().filter(|driver| driver.test.is_some()) {
            driver.p_adjusted = adjusted.next();
        }
    }
    Ok(found)
}

/// The columns to ask about: the known ones, then the team's own in the order of their names.
fn columns(table: &MeasureTable) -> Vec<&str> {
    let known = KNOWN.into_iter().filter(|column| table.has(column));
    let mut own: Vec<&str> = table
        .column_names()
        .filter(|name| !names::is_measure(name))
        .filter(|name| !NOT_ASKED.contains(name) && !names::derived_from_wrap(name))
        .filter(|name| !name.starts_with("score_") && !name.starts_with("sheet_"))
        .collect();
    own.sort_unstable();
    own.truncate(MOST_OWN);
    known.chain(own).collect()
}

/// Numbers where all that is written reads as one, else texts; `None` for types that are neither.
fn read(table: &MeasureTable, column: &str) -> Option<Covariate> {
    let numbers = table.numbers(column).ok().filter(|values| values.iter().any(Option::is_some));
    match (table.kind(column).ok()?, numbers) {
        // A season or a lot is a name even where it looks like a number.
        (_, Some(values)) if !KNOWN.contains(&column) || column.contains('_') => {
            let is_flag = column == measures::WATER_PAN.name;
            if is_flag {
                return Some(Covariate::Factor(column.into(), table.texts(column).ok()?));
            }
            Some(Covariate::Numeric(column.into(), values))
        }
        (ColumnKind::Numeric, None) => None,
        _ => {
            let texts = table.texts(column).ok()?;
            let is_free = !KNOWN.contains(&column) || column == measures::WEATHER.name;
            (!is_free || has_levels(&texts)).then(|| Covariate::Factor(column.into(), texts))
        }
    }
}

/// Levels that a column of words may have: more are names or remarks.
const MOST_LEVELS: usize = 12;

/// Whether a column of words has few levels, of which most repeat: words that are written once are
/// remarks, and explain nothing.
fn has_levels(texts: &[Option<String>]) -> bool {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for text in texts.iter().flatten() {
        *counts.entry(text).or_default() += 1;
    }
    let written: usize = counts.values().sum();
    let repeated: usize = counts.values().filter(|count| **count > 1).sum();
    counts.len() <= MOST_LEVELS && repeated * 3 >= written * 2
}

fn driver(
    inputs: &Inputs<'_>,
    asked: &Asked<'_>,
    rows: &Rows,
    by: &Covariate,
) -> Result<FurtherDriver, StudyError> {
    let mut rows = rows.clone();
    let mut beside: Vec<&Covariate> = Vec::new();
    for covariate in [&inputs.weight, &inputs.pit] {
        rows.keep(&format!("no `{}`", covariate.name()), |row| covariate.is_present(row));
        beside.push(covariate);
    }
    let mut levels = Vec::new();
    if matches!(by, Covariate::Factor(..)) {
        levels = keep_common_levels(asked.table, &mut rows, by);
    } else {
        rows.keep(&format!("no `{}`", by.name()), |row| by.is_present(row));
    }
    let mut found = FurtherDriver {
        by: by.name().to_owned(),
        base: None,
        effects: Vec::new(),
        test: None,
        p_adjusted: None,
        reason: None,
        n: rows.used.len(),
        fires: rows.fires(asked.table),
        censored: rows.censored(asked.outcome),
        left_out: rows.left_out.clone(),
        model: None,
    };
    if matches!(by, Covariate::Factor(..)) && levels.len() < 2 {
        found.reason = Some(too_few_levels(by.name()));
        return Ok(found);
    }
    beside.retain(|covariate| !covariate.is_constant(&rows));
    beside.push(by);
    match asked.fit(&rows, &beside) {
        Ok((regression, ..)) => {
            let of_column = |term: &&String| {
                *term == by.name()
                    || term.strip_prefix(by.name()).is_some_and(|rest| rest.starts_with('['))
            };
            let terms: Vec<&String> =
                regression.estimates.names().iter().filter(of_column).collect();
            for term in &terms {
                found.effects.extend(asked.effect(&regression, term)?);
            }
            let names: Vec<&str> = terms.iter().map(|term| term.as_str()).collect();
            found.test = regression.estimates.joint_test(&names).ok().map(|t| WaldTest::of(&t));
            found.base = levels.first().cloned();
            found.model = Some(regression.model);
        }
        Err(NotFitted::Refused(reason)) => found.reason = Some(reason),
        Err(NotFitted::Failed(error)) => return Err(error),
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn remarks_are_no_levels() {
        let of = |texts: &[&str]| {
            has_levels(&texts.iter().map(|text| Some((*text).to_owned())).collect::<Vec<_>>())
        };
        assert!(of(&["dry", "dry", "wet", "wet", "wet", "snow"]));
        assert!(!of(&["windy, fire got away from us", "calm", "hot and still", "rain at the end"]));
        assert!(!of(&["a", "a", "b", "c", "d"]));
    }
}
