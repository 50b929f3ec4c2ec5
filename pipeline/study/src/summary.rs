//! What was cooked.

use crate::error::StudyError;
use crate::table::MeasureTable;
use polars::prelude::{
    Column, DataFrame, DataType, Expr, IntoColumn, IntoLazy, NamedFrom, Series,
    SortMultipleOptions, col, len,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The columns that cooks are counted by.
const COUNTED_BY: [&str; 5] = ["season", "kind", "pit", "cut", "wrap_method"];

/// The measures that are summed.
const SUMMED: [&str; 3] = ["total_min", "raw_weight_kg", "trimmed_weight_kg"];

/// What was cooked, excluded cooks included.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Summary {
    /// All of it.
    pub total: Counted,
    /// First local date, ISO 8601; null without a column `date`.
    pub first_date: Option<String>,
    /// Last local date.
    pub last_date: Option<String>,
    /// By season, kind, pit, cut and wrap method, in this order; each by the levels in sorted
    /// order, cooks that do not say last. A column that the table does not have is left out.
    pub by: Vec<CountedBy>,
    /// Cooks left out of every analysis, in the order of their names.
    pub excluded: Vec<Excluded>,
}

/// The levels of one column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CountedBy {
    /// The column.
    pub column: String,
    /// Its levels.
    pub levels: Vec<Level>,
}

/// One level of a column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Level {
    /// The level; null for cooks that do not say.
    pub level: Option<String>,
    /// How much of it.
    #[serde(flatten)]
    pub counted: Counted,
}

/// Counts and sums over cooks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Counted {
    /// Cooks.
    pub cooks: usize,
    /// Of these, excluded.
    pub excluded: usize,
    /// Fires.
    pub fires: usize,
    /// Hours of cooking (`total_min`), summed over the cooks where they are known.
    pub hours: Option<f64>,
    /// Cooks whose hours are known.
    pub hours_known: usize,
    /// Raw weight, kg, summed over the cooks where it is known.
    pub raw_weight_kg: Option<f64>,
    /// Cooks whose raw weight is known.
    pub raw_weight_known: usize,
    /// Trimmed weight, kg, summed over the cooks where it is known.
    pub trimmed_weight_kg: Option<f64>,
    /// Cooks whose trimmed weight is known.
    pub trimmed_weight_known: usize,
}

/// A cook left out of every analysis.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Excluded {
    /// The cook.
    pub cook: String,
    /// Why.
    pub reason: String,
}

/// Counts what was cooked.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn summary(table: &MeasureTable) -> Result<Summary, StudyError> {
    let exclusions = table.exclusions()?;
    let keys: Vec<&str> = COUNTED_BY.into_iter().filter(|column| table.has(column)).collect();
    let frame = clean(table, &exclusions, &keys)?;

    let total = frame.clone().lazy().select(counts()).collect()?;
    let by = keys
        .iter()
        .map(|&column| {
            let grouped = frame
                .clone()
                .lazy()
                .group_by([col(column)])
                .agg(counts())
                .sort([column], SortMultipleOptions::default().with_nulls_last(true))
                .collect()?;
            let names = grouped.column(column)?.str()?;
            let levels = names
                .iter()
                .enumerate()
                .map(|(row, level)| {
                    Ok(Level { level: level.map(str::to_owned), counted: counted(&grouped, row)? })
                })
                .collect::<Result<_, StudyError>>()?;
            Ok(CountedBy { column: column.to_owned(), levels })
        })
        .collect::<Result<_, StudyError>>()?;

    let dates: Vec<String> = table.texts_or_missing("date")?.into_iter().flatten().collect();
    Ok(Summary {
        total: counted(&total, 0)?,
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

/// The columns that are counted, of known types. Sums go over whole thousandths of the
/// unit: whole numbers add to the same sum in any order and on any number of threads.
fn clean(
    table: &MeasureTable,
    exclusions: &[Option<String>],
    keys: &[&str],
) -> Result<DataFrame, StudyError> {
    let fires: Vec<u64> = table.fires().iter().map(|&fire| fire as u64).collect();
    let excluded: Vec<i64> = exclusions.iter().map(|reason| i64::from(reason.is_some())).collect();
    let mut columns: Vec<Column> = vec![
        Series::new("_fire".into(), fires).into_column(),
        Series::new("_excluded".into(), excluded).into_column(),
    ];
    for measure in SUMMED {
        let thousandths: Vec<Option<i64>> = table
            .numbers_or_missing(measure)?
            .into_iter()
            .map(|value| value.map(|value| (value * 1000.0).round() as i64))
            .collect();
        columns.push(Series::new(measure.into(), thousandths).into_column());
    }
    for key in keys {
        columns.push(Series::new((*key).into(), table.texts(key)?).into_column());
    }
    Ok(DataFrame::new(table.len(), columns)?)
}

fn counts() -> Vec<Expr> {
    let whole = |expression: Expr, name: &str| expression.cast(DataType::Int64).alias(name);
    let mut expressions = vec![
        whole(len(), "_cooks"),
        whole(col("_excluded").sum(), "_excluded_sum"),
        whole(col("_fire").n_unique(), "_fires"),
    ];
    for measure in SUMMED {
        expressions.push(whole(col(measure).sum(), &format!("{measure}_sum")));
        expressions.push(whole(col(measure).count(), &format!("{measure}_known")));
    }
    expressions
}

fn counted(frame: &DataFrame, row: usize) -> Result<Counted, StudyError> {
    let whole = |name: &str| -> Result<i64, StudyError> {
        Ok(frame.column(name)?.i64()?.get(row).unwrap_or(0))
    };
    let count = |name: &str| -> Result<usize, StudyError> { Ok(whole(name)?.max(0) as usize) };
    let sum = |measure: &str| -> Result<(Option<f64>, usize), StudyError> {
        let known = count(&format!("{measure}_known"))?;
        let thousandths = whole(&format!("{measure}_sum"))?;
        Ok(((known > 0).then_some(thousandths as f64 / 1000.0), known))
    };
    let (minutes, hours_known) = sum("total_min")?;
    let (raw_weight_kg, raw_weight_known) = sum("raw_weight_kg")?;
    let (trimmed_weight_kg, trimmed_weight_known) = sum("trimmed_weight_kg")?;
    Ok(Counted {
        cooks: count("_cooks")?,
        excluded: count("_excluded_sum")?,
        fires: count("_fires")?,
        hours: minutes.map(|minutes| minutes / 60.0),
        hours_known,
        raw_weight_kg,
        raw_weight_known,
        trimmed_weight_kg,
        trimmed_weight_known,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use polars::df;

    #[test]
    fn cooks_hours_and_weights_are_counted() {
        let frame = df!(
            "cook" => ["b", "a", "c", "d"],
            "fire" => ["f1", "f1", "f2", "f3"],
            "season" => ["2025", "2026", "2025", "2025"],
            "pit" => [Some("offset"), Some("drum"), None, Some("offset")],
            "date" => ["2025-05-02", "2026-04-01", "2025-07-09", "2025-05-03"],
            "total_min" => [Some(600.0), Some(720.5), None, Some(60.0)],
            "raw_weight_kg" => [6.1, 5.0, 7.25, 1.0],
            "exclude" => [None, None, Some("log lost"), None],
        )
        .unwrap();
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
        let frame = df!("cook" => Vec::<String>::new(), "pit" => Vec::<String>::new()).unwrap();
        let summary = summary(&MeasureTable::new(&frame).unwrap()).unwrap();
        assert_eq!((summary.total.cooks, summary.total.hours), (0, None));
        assert_eq!(summary.by[0].levels, []);
    }
}
