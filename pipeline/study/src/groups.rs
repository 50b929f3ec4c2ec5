//! Medians and counts by group: described, not caused.

use crate::error::StudyError;
use crate::outcome::Outcome;
use crate::result::group::{GroupOutcome, GroupRow, GroupTable, Quantile};
use crate::rows::Rows;
use crate::table::MeasureTable;
use columns::{measures, names};
use stats::describe;
use std::collections::{BTreeMap, BTreeSet};

/// The outcomes of a group table: column, and whether only stalled cooks are in it.
const OUTCOMES: [(&str, bool); 4] = [
    (measures::STALL_MIN.name, false),
    (measures::STALL_MIN.name, true),
    (measures::STALL_DELAY_MIN.name, false),
    (measures::CLOCK_TO_FINISH_MIN.name, false),
];

/// Medians, quartiles and counts by wrap method, grade and supplier; a column that the table does not
/// have, or that says nothing of any cook, is left out.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn groups(table: &MeasureTable) -> Result<Vec<GroupTable>, StudyError> {
    let mut tables = Vec::new();
    for by in [measures::WRAP_METHOD.name, measures::GRADE.name, measures::SUPPLIER.name] {
        tables.extend(grouped(table, by)?);
    }
    Ok(tables)
}

fn grouped(table: &MeasureTable, by: &str) -> Result<Option<GroupTable>, StudyError> {
    if !table.has(by) {
        return Ok(None);
    }
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    let levels = table.texts(by)?;
    // The wraps' table stands even where nobody says; the others are told only where somebody does.
    if by != measures::WRAP_METHOD.name && rows.used.iter().all(|&row| levels[row].is_none()) {
        return Ok(None);
    }
    // `None` sorts before every level, but is shown last.
    let mut members: BTreeMap<(bool, Option<&str>), Vec<usize>> = BTreeMap::new();
    for &row in &rows.used {
        let level = levels[row].as_deref();
        members.entry((level.is_none(), level)).or_default().push(row);
    }
    let outcomes = OUTCOMES
        .into_iter()
        .filter(|(column, _)| table.has(column))
        .map(|(column, stalled_only)| Ok((column, stalled_only, Outcome::read(table, column)?)))
        .collect::<Result<Vec<_>, StudyError>>()?;
    let rows = members
        .into_iter()
        .map(|((_, level), members)| {
            let fires: BTreeSet<usize> = members.iter().map(|&row| table.fires()[row]).collect();
            Ok(GroupRow {
                level: level.map(str::to_owned),
                cooks: members.len(),
                fires: fires.len(),
                outcomes: outcomes
                    .iter()
                    .map(|(column, stalled_only, outcome)| {
                        describe_outcome(column, *stalled_only, outcome, &members)
                    })
                    .collect::<Result<_, StudyError>>()?,
            })
        })
        .collect::<Result<_, StudyError>>()?;
    let word = if by == measures::WRAP_METHOD.name { "wrap" } else { by };
    Ok(Some(GroupTable {
        by: by.to_owned(),
        heading: format!("by {word}: described, not caused"),
        rows,
    }))
}

fn describe_outcome(
    column: &str,
    stalled_only: bool,
    outcome: &Outcome,
    members: &[usize],
) -> Result<GroupOutcome, StudyError> {
    // A value whose flag is empty may be a lower bound as well as not: it is left out.
    let mut values: Vec<(f64, bool)> = members
        .iter()
        .filter_map(|&row| Some((outcome.values[row]?, outcome.censored[row]?)))
        .filter(|(value, _)| !stalled_only || *value > 0.0)
        .collect();
    values.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    Ok(GroupOutcome {
        outcome: column.to_owned(),
        unit: names::unit(column).to_owned(),
        stalled_only,
        n: values.len(),
        censored: values.iter().filter(|(_, censored)| *censored).count(),
        lower_quartile: quantile(&values, 0.25)?,
        median: quantile(&values, 0.5)?,
        upper_quartile: quantile(&values, 0.75)?,
    })
}

/// Whether a quantile says anything: that a length of time is at least less than nothing does not.
pub(crate) fn bounds_something(value: f64, at_least: bool) -> bool {
    !at_least || value >= 0.0
}

/// Type 7 quantile (Hyndman & Fan 1996) of sorted values, each with whether it is a lower
/// bound. Were a lower bound known to its end it could only move up the order, so the
/// quantile stands unless a lower bound is among the values up to the upper one of the two
/// that it lies between.
fn quantile(values: &[(f64, bool)], probability: f64) -> Result<Option<Quantile>, StudyError> {
    if values.is_empty() {
        return Ok(None);
    }
    let plain: Vec<f64> = values.iter().map(|(value, _)| *value).collect();
    let upper = ((values.len() - 1) as f64 * probability).ceil() as usize;
    let at_least = values[..=upper].iter().any(|(_, censored)| *censored);
    let value = describe::quantile(&plain, probability)?;
    Ok(bounds_something(value, at_least).then_some(Quantile { value, at_least }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::table;

    #[test]
    fn a_quantile_knows_what_it_rests_on() {
        let exact = |probability| {
            let values = [(10.0, false), (20.0, false), (30.0, false), (40.0, false), (50.0, true)];
            quantile(&values, probability).unwrap().unwrap()
        };
        // Position (n − 1)·p = 2 of 0 to 4: the middle value; 1 and 3: the quartiles.
        assert_eq!(exact(0.5), Quantile { value: 30.0, at_least: false });
        assert_eq!(exact(0.25), Quantile { value: 20.0, at_least: false });
        assert_eq!(exact(0.75), Quantile { value: 40.0, at_least: false });
        assert_eq!(exact(0.9), Quantile { value: 46.0, at_least: true });
        let low = [(10.0, true), (20.0, false), (30.0, false)];
        assert_eq!(quantile(&low, 0.5).unwrap(), Some(Quantile { value: 20.0, at_least: true }));
        assert_eq!(quantile(&[], 0.5).unwrap(), None);
        // A delay of at least −31 min is no news; one of −31 min is.
        assert_eq!(quantile(&[(-31.0, true), (5.0, false)], 0.0).unwrap(), None);
        let known = Quantile { value: -31.0, at_least: false };
        assert_eq!(quantile(&[(-31.0, false), (5.0, true)], 0.0).unwrap(), Some(known));
    }

    #[test]
    fn groups_are_sorted_and_excluded_cooks_are_out() {
        let frame = table!(
            "cook" => ["a", "b", "c", "d", "e"],
            "fire" => ["f", "f", "g", "h", "i"],
            "wrap_method" => [Some("paper"), Some("paper"), Some("foil"), None, Some("foil")],
            "stall_min" => [100.0, 0.0, 60.0, 30.0, 999.0],
            "stall_min_censored" => [false, false, true, false, false],
            "exclude" => [None, None, None, None, Some("no")],
        );
        let table = MeasureTable::new(&frame).unwrap();
        let groups = groups(&table).unwrap();
        let rows = &groups[0].rows;
        let levels: Vec<_> = rows.iter().map(|row| row.level.as_deref()).collect();
        assert_eq!(levels, [Some("foil"), Some("paper"), None]);
        assert_eq!((rows[1].cooks, rows[1].fires), (2, 1));
        // All: 0 and 100; stalled: 100 alone.
        assert_eq!(rows[1].outcomes[0].median.unwrap().value, 50.0);
        assert_eq!(rows[1].outcomes[1].n, 1);
        assert_eq!(rows[1].outcomes[1].median.unwrap().value, 100.0);
        // 60 is a lower bound, 999 is not; `exclude = no` is no exclusion.
        let median = rows[0].outcomes[0].median.unwrap();
        assert_eq!((median.value, median.at_least), (529.5, true));
        assert_eq!(rows[0].outcomes.len(), 2);
        let without = table!("cook" => ["a"], "stall_min" => [1.0]);
        assert_eq!(super::groups(&MeasureTable::new(&without).unwrap()).unwrap(), []);
    }
}
