//! What was cooked.

use crate::error::StudyError;
use crate::result::summary::{Counted, CountedBy, Excluded, Level, Spread, Summary};
use crate::table::MeasureTable;
use columns::{Column, Description, Table, measures};
use cook::trade;
use stats::describe;
use std::collections::{BTreeMap, BTreeSet};

/// The columns that cooks are counted by.
const COUNTED_BY: [&str; 5] = [
    measures::SEASON.name,
    measures::KIND.name,
    measures::PIT.name,
    measures::CUT.name,
    measures::WRAP_METHOD.name,
];

/// Counts what was cooked.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn summary(table: &MeasureTable) -> Result<Summary, StudyError> {
    let exclusions = table.exclusions()?;
    let summed = Summed::read(table, &exclusions)?;
    let by = COUNTED_BY
        .into_iter()
        .filter(|column| table.has(column))
        .map(|column| {
            // Cooks that do not say come last.
            let mut levels: BTreeMap<(bool, Option<String>), Vec<usize>> = BTreeMap::new();
            for (row, level) in table.texts(column)?.into_iter().enumerate() {
                levels.entry((level.is_none(), level)).or_default().push(row);
            }
            let levels = levels
                .into_iter()
                .map(|((_, level), rows)| Level { level, counted: summed.over(&rows) })
                .collect();
            Ok(CountedBy { column: column.to_owned(), levels })
        })
        .collect::<Result<_, StudyError>>()?;

    let dates: Vec<String> =
        table.texts_or_missing(measures::DATE.name)?.into_iter().flatten().collect();
    Ok(Summary {
        total: summed.over(&(0..table.len()).collect::<Vec<_>>()),
        first_date: dates.iter().min().cloned(),
        last_date: dates.iter().max().cloned(),
        by,
        excluded: table
            .cooks()
            .iter()
            .zip(exclusions)
            .filter_map(|(cook, reason)| Some(Excluded { cook: cook.clone(), reason: reason? }))
            .collect(),
    })
}

/// What is counted and summed, a value a cook. Sums go over whole thousandths of the unit: whole
/// numbers add to the same sum in any order.
struct Summed<'a> {
    fires: &'a [usize],
    excluded: Vec<bool>,
    total_min: Vec<Option<i64>>,
    raw_weight_kg: Vec<Option<i64>>,
    trimmed_weight_kg: Vec<Option<i64>>,
}

impl<'a> Summed<'a> {
    fn read(table: &'a MeasureTable, exclusions: &[Option<String>]) -> Result<Self, StudyError> {
        let thousandths = |column: &str| -> Result<Vec<Option<i64>>, StudyError> {
            let values = table.numbers_or_missing(column)?.into_iter();
            Ok(values.map(|value| value.map(|value| (value * 1000.0).round() as i64)).collect())
        };
        Ok(Self {
            fires: table.fires(),
            excluded: exclusions.iter().map(Option::is_some).collect(),
            total_min: thousandths(measures::TOTAL_MIN.name)?,
            raw_weight_kg: thousandths(measures::RAW_WEIGHT_KG.name)?,
            trimmed_weight_kg: thousandths(measures::TRIMMED_WEIGHT_KG.name)?,
        })
    }

    fn over(&self, rows: &[usize]) -> Counted {
        let sum = |values: &[Option<i64>]| -> (Option<f64>, usize) {
            let known: Vec<i64> = rows.iter().filter_map(|&row| values[row]).collect();
            let sum = known.iter().sum::<i64>() as f64 / 1000.0;
            ((!known.is_empty()).then_some(sum), known.len())
        };
        let (minutes, hours_known) = sum(&self.total_min);
        let (raw_weight_kg, raw_weight_known) = sum(&self.raw_weight_kg);
        let (trimmed_weight_kg, trimmed_weight_known) = sum(&self.trimmed_weight_kg);
        Counted {
            cooks: rows.len(),
            excluded: rows.iter().filter(|&&row| self.excluded[row]).count(),
            fires: rows.iter().map(|&row| self.fires[row]).collect::<BTreeSet<_>>().len(),
            hours: minutes.map(|minutes| minutes / 60.0),
            hours_known,
            raw_weight_kg,
            raw_weight_known,
            trimmed_weight_kg,
            trimmed_weight_known,
        }
    }
}

/// How a measure lies over the cooks that are not excluded. `None` where no cook has a value.
pub fn spread(table: &Table, column: &Description) -> Option<Spread> {
    let numbers = table.column(column.name)?.numbers()?;
    let excluded = table.column(measures::EXCLUDE.name);
    let is_excluded = |row: usize| {
        let Some(Column::Text(texts)) = excluded else { return false };
        texts[row].as_ref().is_some_and(|text| trade::yes_or_no(text) != Some(false))
    };
    let is_bound = |row: usize| {
        let bound = column.bound?;
        match table.column(bound.by)? {
            Column::Bool(v) => Some(bound.is_bound(v[row]?)),
            _ => None,
        }
    };
    let values: Vec<(f64, bool)> = numbers
        .into_iter()
        .enumerate()
        .filter(|(row, _)| !is_excluded(*row))
        .filter_map(|(row, value)| Some((value?, is_bound(row).unwrap_or(false))))
        .collect();
    let plain: Vec<f64> = values.iter().map(|(value, _)| *value).collect();
    let median = describe::median(&plain).ok()?;
    Some(Spread {
        column: column.name.to_owned(),
        cooks: values.len(),
        median,
        at_least: values.iter().any(|(value, open)| *open && *value <= median),
        min: plain.iter().copied().reduce(f64::min)?,
        max: plain.iter().copied().reduce(f64::max)?,
        censored: values.iter().filter(|(_, open)| *open).count(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::table;

    #[test]
    fn cooks_hours_and_weights_are_counted() {
        let frame = table!(
            "cook" => ["b", "a", "c", "d"],
            "fire" => ["f1", "f1", "f2", "f3"],
            "season" => ["2025", "2026", "2025", "2025"],
            "pit" => [Some("offset"), Some("drum"), None, Some("offset")],
            "date" => ["2025-05-02", "2026-04-01", "2025-07-09", "2025-05-03"],
            "total_min" => [Some(600.0), Some(720.5), None, Some(60.0)],
            "raw_weight_kg" => [6.1, 5.0, 7.25, 1.0],
            "exclude" => [None, None, Some("log lost"), None],
        );
        let summary = summary(&MeasureTable::new(&frame).unwrap()).unwrap();
        assert_eq!((summary.total.cooks, summary.total.excluded, summary.total.fires), (4, 1, 3));
        // By hand: (600 + 720.5 + 60) / 60 and 6.1 + 5 + 7.25 + 1.
        assert_eq!(summary.total.hours, Some(1380.5 / 60.0));
        assert_eq!(summary.total.hours_known, 3);
        assert_eq!(summary.total.raw_weight_kg, Some(19.35));
        assert_eq!(
            (summary.total.trimmed_weight_kg, summary.total.trimmed_weight_known),
            (None, 0)
        );
        assert_eq!(summary.first_date.as_deref(), Some("2025-05-02"));
        assert_eq!(summary.last_date.as_deref(), Some("2026-04-01"));
        let columns: Vec<&str> = summary.by.iter().map(|by| by.column.as_str()).collect();
        assert_eq!(columns, ["season", "pit"]);
        let pits = &summary.by[1].levels;
        let names: Vec<_> = pits.iter().map(|level| level.level.as_deref()).collect();
        assert_eq!(names, [Some("drum"), Some("offset"), None]);
        assert_eq!((pits[1].counted.cooks, pits[1].counted.fires), (2, 2));
        assert_eq!((pits[2].counted.excluded, pits[2].counted.hours), (1, None));
        assert_eq!(summary.excluded, [Excluded { cook: "c".into(), reason: "log lost".into() }]);
    }

    #[test]
    fn an_empty_table_counts_nothing() {
        let frame = table!("cook" => Vec::<String>::new(), "pit" => Vec::<String>::new());
        let summary = summary(&MeasureTable::new(&frame).unwrap()).unwrap();
        assert_eq!((summary.total.cooks, summary.total.hours), (0, None));
        assert_eq!(summary.by[0].levels, []);
    }
}
