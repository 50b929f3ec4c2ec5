//! What was cooked.

use crate::error::StudyError;
use crate::groups::bounds_something;
use crate::result::summary::{
    Counted, CountedBy, Excluded, Habit, Level, Spread, Summary, Usual, WrapHabit,
};
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

/// A value a cook, with whether it is a lower bound; `None` for cooks that have none or are excluded.
fn values(table: &Table, column: &Description) -> Option<Vec<Option<(f64, bool)>>> {
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
    let value = |(row, value): (usize, Option<f64>)| {
        let value = value.filter(|_| !is_excluded(row))?;
        Some((value, is_bound(row).unwrap_or(false)))
    };
    Some(numbers.into_iter().enumerate().map(value).collect())
}

/// How a measure lies over the cooks that are not excluded. `None` where no cook has a value.
pub fn spread(table: &Table, column: &Description) -> Option<Spread> {
    let values: Vec<(f64, bool)> = values(table, column)?.into_iter().flatten().collect();
    let plain: Vec<f64> = values.iter().map(|(value, _)| *value).collect();
    let median = describe::median(&plain).ok()?;
    let at_least = values.iter().any(|(value, open)| *open && *value <= median);
    Some(Spread {
        column: column.name.to_owned(),
        cooks: values.len(),
        median: bounds_something(median, at_least).then_some(median),
        at_least,
        min: plain.iter().copied().reduce(f64::min)?,
        max: plain.iter().copied().reduce(f64::max)?,
        censored: values.iter().filter(|(_, open)| *open).count(),
    })
}

/// Fewer cooks of a cut are no habit.
const LEAST_COOKS: usize = 3;
/// From so many cooks on, eight of ten are told apart from all.
const EIGHT_OF: usize = 10;

/// How a team cooks each cut that it cooked three times or more: the measures of `all` over its cooks,
/// those of `wrapped` for each wrap, and how long before the turn-in the instants of `before` lay.
pub fn habits(
    table: &Table,
    all: &[Description],
    wrapped: &[Description],
    before: &[Description],
) -> Vec<Habit> {
    let texts = |column: &Description| -> Vec<Option<String>> {
        match table.column(column.name) {
            Some(Column::Text(texts)) => texts.clone(),
            _ => vec![None; table.rows()],
        }
    };
    let excluded = texts(&measures::EXCLUDE);
    let is_counted = |row: &usize| {
        excluded[*row].as_ref().is_none_or(|text| trade::yes_or_no(text) == Some(false))
    };
    // Cooks that do not say come last, the most frequent first.
    let levels = |texts: &[Option<String>], rows: &[usize]| {
        let mut levels: BTreeMap<Option<String>, Vec<usize>> = BTreeMap::new();
        for &row in rows {
            levels.entry(texts[row].clone()).or_default().push(row);
        }
        let mut levels: Vec<(Option<String>, Vec<usize>)> = levels.into_iter().collect();
        levels.sort_by_key(|(level, rows)| (level.is_none(), std::cmp::Reverse(rows.len())));
        levels
    };
    let of_rows = |columns: &[Description], rows: &[usize]| -> Vec<Usual> {
        let of = |column: &Description| {
            let values = values(table, column)?;
            usual(column.name, rows.iter().filter_map(|&row| values[row]))
        };
        columns.iter().filter_map(of).collect()
    };
    let turn_in = values(table, &measures::TURN_IN_MS);
    let before_turn_in = |rows: &[usize]| -> Vec<Usual> {
        let of = |column: &Description| {
            let (turn_in, at) = (turn_in.as_ref()?, values(table, column)?);
            let minutes = |&row: &usize| Some(((turn_in[row]?.0 - at[row]?.0) / 60_000.0, false));
            usual(column.name, rows.iter().filter_map(minutes))
        };
        before.iter().filter_map(of).collect()
    };
    let (cuts, methods) = (texts(&measures::CUT), texts(&measures::WRAP_METHOD));
    let rows: Vec<usize> = (0..table.rows()).filter(is_counted).collect();
    let habit = |(cut, rows): (Option<String>, Vec<usize>)| Habit {
        cut,
        cooks: rows.len(),
        usual: of_rows(all, &rows),
        wraps: levels(&methods, &rows)
            .into_iter()
            .filter_map(|(method, rows)| {
                let (cooks, usual) = (rows.len(), of_rows(wrapped, &rows));
                Some(WrapHabit { method: method?, cooks, usual })
            })
            .collect(),
        before_turn_in: before_turn_in(&rows),
    };
    let is_habit = |(_, rows): &(Option<String>, Vec<usize>)| rows.len() >= LEAST_COOKS;
    levels(&cuts, &rows).into_iter().filter(is_habit).map(habit).collect()
}

fn usual(column: &str, values: impl Iterator<Item = (f64, bool)>) -> Option<Usual> {
    let values: Vec<(f64, bool)> = values.collect();
    let plain: Vec<f64> = values.iter().map(|(value, _)| *value).collect();
    let share = if plain.len() < EIGHT_OF { 0.0 } else { 0.1 };
    let [lo, median, hi] = describe::quantiles(&plain, &[share, 0.5, 1.0 - share]).ok()?[..] else {
        return None;
    };
    Some(Usual {
        column: column.to_owned(),
        cooks: plain.len(),
        median,
        range: (lo, hi),
        least_bound: values.iter().filter(|(_, open)| *open).map(|(v, _)| *v).reduce(f64::min),
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

    #[test]
    fn habits_are_told_by_cut_and_wrap() {
        let frame = table!(
            "cook" => ["a", "b", "c", "d", "e"],
            "cut" => [Some("brisket"), Some("brisket"), Some("brisket"), Some("turkey"), Some("brisket")],
            "wrap_method" => [Some("foil"), Some("none"), Some("foil"), None, Some("paper")],
            "exclude" => [None, None, None, None, Some("log lost")],
            "total_min" => [600.0, 900.0, 660.0, 200.0, 1.0],
            "total_min_censored" => [false, true, false, false, false],
            "wrap_at_core_c" => [Some(70.0), None, Some(74.0), None, None],
            "turn_in_ms" => [Some(60_000_000), None, None, None, None],
            "meat_on_ms" => [Some(0), Some(0), None, None, None],
        );
        let [habit] = &habits(
            &frame,
            &[measures::TOTAL_MIN],
            &[measures::WRAP_AT_CORE_C],
            &[measures::MEAT_ON_MS],
        )[..] else {
            panic!("one cut was cooked three times");
        };
        assert_eq!((habit.cut.as_deref(), habit.cooks), (Some("brisket"), 3));
        // Of fewer than ten cooks the smallest and the largest.
        let total = &habit.usual[0];
        assert_eq!(
            (total.median, total.range, total.least_bound),
            (660.0, (600.0, 900.0), Some(900.0))
        );
        let wraps: Vec<_> =
            habit.wraps.iter().map(|wrap| (wrap.method.as_str(), wrap.cooks)).collect();
        assert_eq!(wraps, [("foil", 2), ("none", 1)]);
        assert_eq!(habit.wraps[0].usual[0].median, 72.0);
        assert!(habit.wraps[1].usual.is_empty());
        assert_eq!(habit.before_turn_in[0].median, 1000.0);
        assert_eq!(habit.before_turn_in[0].cooks, 1);
    }
}
