//! Elapsed times that start again: two logs in one file.

use super::steps::same_values;
use crate::error::IngestError;
use crate::log::finding::Findings;
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;
use columns::Packed;

/// Refuses them: their times overlap, and nothing tells how far the second is from the first.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    if !plan.format.is_elapsed() || rows.of_the_day {
        return Ok(Findings::default());
    }
    for series in &rows.series {
        if let Some(row) = restart(&series.ms).filter(|&row| !told_again(series, row)) {
            return Err(IngestError::Contradiction {
                place: rows.place_of(series, row).into(),
                what: "the elapsed time starts again here: the file holds two logs".to_owned(),
                try_this: format!("split the file before line {}", series.line.at(row)),
            });
        }
    }
    Ok(Findings::default())
}

/// The row at which an elapsed time starts again: it falls back to where the log began,
/// and at least five rows run on from there.
fn restart(times: &Packed<i64>) -> Option<usize> {
    let first = times.first()?;
    let second = times.get(1).unwrap_or(first);
    let step = (second - first).abs().max(1000);
    // Before it, all rows are in order.
    let i = times.pairs().position(|(one, next)| next < one)? + 1;
    let runs_on = i + 5 <= times.len() && times.range(i..i + 5).is_sorted();
    (i >= 5 && times.at(i) <= first + step && runs_on).then_some(i)
}

/// Whether the rows from one on tell the rows before it again, value for value, where the
/// values move so that this cannot be chance.
fn told_again(series: &Series, row: usize) -> bool {
    let block = row.min(series.ms.len() - row);
    let moves = series
        .values
        .iter()
        .any(|values| values.range(0..block).any(|value| !value.is_nan() && value != values.at(0)));
    moves
        && (0..block)
            .all(|k| series.ms.at(k) == series.ms.at(row + k) && same_values(series, k, row + k))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_restart_is_seen() {
        let twice: Vec<i64> = (0..10).chain(0..10).map(|i| i * 60_000).collect();
        assert_eq!(restart(&twice.into()), Some(10));
        assert_eq!(restart(&vec![0, 1, 2, 5, 4, 6].into()), None);
    }
}
