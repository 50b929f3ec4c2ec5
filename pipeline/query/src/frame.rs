//! Tables to frames of the engine and back, by copying.

use crate::error::QueryError;
use columns::{Column, Table};
use polars::prelude::{
    Column as FrameColumn, DataFrame, DataType, NamedFrom, PolarsError, PolarsResult, Series,
    TimeUnit,
};
use std::collections::BTreeMap;

/// Tables by name, as the engine holds them.
#[derive(Debug, Clone, Default)]
pub struct Tables {
    pub(crate) frames: BTreeMap<String, DataFrame>,
}

impl Tables {
    /// Adds a table, or its rows to those of the table of that name. Columns are copied.
    ///
    /// # Errors
    /// Rows with other columns than the table has.
    pub fn add(&mut self, name: &str, table: &Table) -> Result<(), QueryError> {
        let failed = |error: PolarsError| QueryError::Failed(format!("table `{name}`: {error}"));
        let frame = to_frame(table).map_err(failed)?;
        if let Some(rows) = self.frames.get_mut(name) {
            rows.vstack_mut(&frame).map(|_| ()).map_err(failed)
        } else {
            self.frames.insert(name.to_owned(), frame);
            Ok(())
        }
    }
}

fn to_frame(table: &Table) -> PolarsResult<DataFrame> {
    let columns = table.columns().iter().map(|(name, column)| {
        let name = name.as_str().into();
        let series = match column {
            Column::Text(values) => Series::new(name, values),
            Column::Float(values) => Series::new(name, values),
            Column::Int(values) => Series::new(name, values),
            Column::Bool(values) => Series::new(name, values),
            Column::Instant(values) => Series::new(name, values).cast(&instant())?,
        };
        Ok(FrameColumn::from(series))
    });
    DataFrame::new(table.rows(), columns.collect::<PolarsResult<_>>()?)
}

/// Instants are UTC without saying so: what they are compared with is brought to UTC first.
fn instant() -> DataType {
    DataType::Datetime(TimeUnit::Milliseconds, None)
}

/// The answer's columns, with the name of each.
pub(crate) fn to_table(frame: &DataFrame) -> Result<Table, QueryError> {
    let mut table = Table::new();
    for column in frame.columns() {
        let name = column.name().as_str();
        let (name, column) = to_column(name, column.as_materialized_series())?;
        table.push(name, column);
    }
    Ok(table)
}

/// A column under the name that says its unit.
fn to_column(name: &str, series: &Series) -> Result<(String, Column), QueryError> {
    let failed = |error: PolarsError| QueryError::Failed(format!("column `{name}`: {error}"));
    let cast = |kind: &DataType| series.strict_cast(kind).map_err(failed);
    let mut name = name.to_owned();
    let column = match series.dtype() {
        DataType::String => Column::Text(
            series.str().map_err(failed)?.iter().map(|v| v.map(str::to_owned)).collect(),
        ),
        DataType::Null => Column::Text(vec![None; series.len()]),
        DataType::Boolean => Column::Bool(series.bool().map_err(failed)?.iter().collect()),
        DataType::Float32 | DataType::Float64 | DataType::Decimal(..) => {
            Column::Float(cast(&DataType::Float64)?.f64().map_err(failed)?.iter().collect())
        }
        kind if kind.is_integer() => {
            Column::Int(cast(&DataType::Int64)?.i64().map_err(failed)?.iter().collect())
        }
        DataType::Datetime(..) => {
            let instants = cast(&instant())?.cast(&DataType::Int64).map_err(failed)?;
            Column::Instant(instants.i64().map_err(failed)?.iter().collect())
        }
        DataType::Duration(_) => {
            let length = cast(&DataType::Duration(TimeUnit::Milliseconds))?;
            let ms = length.cast(&DataType::Int64).map_err(failed)?;
            let seconds = ms.i64().map_err(failed)?.iter().map(|v| v.map(|ms| ms as f64 / 1000.0));
            if !name.ends_with("_s") {
                name.push_str("_s");
            }
            Column::Float(seconds.collect())
        }
        DataType::Date | DataType::Time => {
            let text = series.cast(&DataType::String).map_err(failed)?;
            Column::Text(text.str().map_err(failed)?.iter().map(|v| v.map(str::to_owned)).collect())
        }
        other => {
            return Err(QueryError::Failed(format!(
                "column `{name}` of the answer holds {other}; ask for numbers, text, yes or no, or instants"
            )));
        }
    };
    Ok((name, column))
}
