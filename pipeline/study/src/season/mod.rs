//! The season as a whole: at a glance, how steady it was, how long the meat took to its finish by
//! wrap, and seasons and teams against each other. Described, not caused.

mod compare;
mod consistency;
mod courses;
mod finish;
mod glance;
mod median;

pub(crate) use courses::courses;

use crate::error::StudyError;
use crate::result::season::Season;
use crate::table::{ColumnKind, MeasureTable};
use columns::measures;

/// Glance, control charts, finish curves and comparisons.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn season(table: &MeasureTable, seed: u64) -> Result<Season, StudyError> {
    Ok(Season {
        glance: glance::glance(table)?,
        charts: consistency::charts(table, seed)?,
        finish_by_wrap: finish::by_wrap(table)?,
        comparisons: compare::comparisons(table)?,
    })
}

/// Minutes from an instant of the plan to the pull: positive is late. Missing where either is.
fn minutes_late(table: &MeasureTable, planned: &str) -> Result<Vec<Option<f64>>, StudyError> {
    let instants = |column: &str| {
        let usable = table.has(column) && table.kind(column)? == ColumnKind::Numeric;
        if usable { table.numbers(column) } else { Ok(vec![None; table.len()]) }
    };
    let (meat_on, planned) = (instants(measures::MEAT_ON_MS.name)?, instants(planned)?);
    let total = table.numbers_or_missing(measures::TOTAL_MIN.name)?;
    let open = if table.has(measures::TOTAL_MIN_CENSORED.name) {
        table.flags(measures::TOTAL_MIN_CENSORED.name)?
    } else {
        vec![None; table.len()]
    };
    let late = |position: usize| {
        let pull_ms = meat_on[position]? + 60_000.0 * total[position]?;
        // Where the log ends first the pull is not known, and neither is how late it was.
        (open[position] != Some(true)).then_some(())?;
        Some((pull_ms - planned[position]?) / 60_000.0)
    };
    Ok((0..table.len()).map(late).collect())
}

#[cfg(test)]
mod tests;
