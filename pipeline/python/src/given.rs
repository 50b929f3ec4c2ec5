//! Python's tables and settings as the workspace's.

use crate::errors::{mapping, no_table, of_sender, of_settings, of_table};
use arrow_array::ffi_stream::RecordBatchStreamReader;
use arrow_array::{RecordBatch, RecordBatchIterator, RecordBatchReader};
use arrow_pyarrow::FromPyArrow;
use arrow_schema::{ArrowError, DataType, Schema};
use columns::{Column, Description, Kind, Table};
use cook::Season;
use pyo3::prelude::*;
use rows::RowsError;
use rows::readings::REQUIRED;
use std::collections::HashSet;
use std::path::Path;

/// What is wrong with a table.
#[derive(Debug)]
pub(crate) enum Problem {
    Rows(RowsError),
    /// Whoever sent it failed.
    Stream(ArrowError),
}

impl From<RowsError> for Problem {
    fn from(error: RowsError) -> Self {
        Self::Rows(error)
    }
}

impl From<ArrowError> for Problem {
    fn from(error: ArrowError) -> Self {
        Self::Stream(error)
    }
}

/// Batches of an argument that is called `name`.
pub(crate) fn batches(
    value: &Bound<'_, PyAny>,
    name: &str,
) -> PyResult<Box<dyn RecordBatchReader + Send>> {
    let of_sender = |error| of_sender(value.py(), name, error);
    let reader: Box<dyn RecordBatchReader + Send> = if value.hasattr("__arrow_c_stream__")? {
        Box::new(RecordBatchStreamReader::from_pyarrow_bound(value).map_err(of_sender)?)
    } else if value.hasattr("__arrow_c_array__")? {
        let batch = RecordBatch::from_pyarrow_bound(value).map_err(of_sender)?;
        let schema = batch.schema();
        Box::new(RecordBatchIterator::new([Ok(batch)], schema))
    } else {
        return Err(no_table(format!(
            "{name}: a {} has no `__arrow_c_stream__`; give a table of polars, pyarrow, DuckDB or pandas (2.2 or later)",
            value.get_type().fully_qualified_name()?
        )));
    };
    have_own_names(&reader.schema()).map_err(|error| of_table(name, &error.into()))?;
    Ok(reader)
}

/// Batches of readings, which have the columns that readings must have.
pub(crate) fn readings(
    value: &Bound<'_, PyAny>,
    name: &str,
) -> PyResult<impl Iterator<Item = Result<RecordBatch, Problem>> + Send + use<>> {
    let batches = batches(value, name)?;
    let schema = batches.schema();
    if let Some(column) = REQUIRED.iter().find(|column| schema.index_of(column).is_err()) {
        return Err(of_table(name, &RowsError::column(*column, "is missing").into()));
    }
    Ok(batches.map(move |batch| batch.map_err(|error| of_stream(error, &schema))))
}

/// A whole table.
pub(crate) fn table(py: Python<'_>, value: &Bound<'_, PyAny>, name: &str) -> PyResult<Table> {
    let batches = batches(value, name)?;
    py.detach(|| read(batches)).map_err(|problem| of_table(name, &problem))
}

fn read(batches: Box<dyn RecordBatchReader + Send>) -> Result<Table, Problem> {
    let schema = batches.schema();
    have_zones(&schema)?;
    let batches: Vec<RecordBatch> =
        batches.collect::<Result<_, _>>().map_err(|error| of_stream(error, &schema))?;
    Ok(rows::arrow::from_batches(&schema, &batches)?)
}

/// What failed in a stream. A column without a type is sent in more than one way.
fn of_stream(error: ArrowError, schema: &Schema) -> Problem {
    let without = schema.fields().iter().find(|field| *field.data_type() == DataType::Null);
    match (error, without) {
        (ArrowError::CDataInterface(said), Some(field)) if said.contains("Null") => {
            let said = "has no type, since it has no value: give it one, or leave it out";
            Problem::Rows(RowsError::column(field.name(), said))
        }
        (error, _) => Problem::Stream(error),
    }
}

fn have_own_names(schema: &Schema) -> Result<(), RowsError> {
    let mut names = HashSet::new();
    match schema.fields().iter().find(|field| !names.insert(field.name())) {
        Some(field) => Err(RowsError::column(field.name(), "is there twice")),
        None => Ok(()),
    }
}

/// A time without a zone may be anybody's clock.
fn have_zones(schema: &Schema) -> Result<(), RowsError> {
    let without = schema
        .fields()
        .iter()
        .find(|field| matches!(field.data_type(), DataType::Timestamp(_, None)));
    match without {
        Some(field) => Err(RowsError::column(
            field.name(),
            "has no time zone, so that it may be any clock's: give it the zone that it is in",
        )),
        None => Ok(()),
    }
}

/// A table with the columns described in their kinds, as far as no value changes by it. Those that are not
/// there are empty, but for those that must be.
pub(crate) fn completed(
    table: &Table,
    described: &[Description],
    required: &[&str],
) -> Result<Table, RowsError> {
    let mut out = Table::new();
    let rows = table.rows();
    for column in described {
        let found = table.column(column.name).cloned();
        if found.is_none() && required.contains(&column.name) {
            let said = format!("is missing ({})", column.kind.in_words());
            return Err(RowsError::column(column.name, said));
        }
        let found = found.unwrap_or_else(|| empty(column.kind, rows));
        out.push(column.name, of_kind(found, column.kind));
    }
    for (name, column) in table.columns() {
        if out.column(name).is_none() {
            out.push(name, column.clone());
        }
    }
    Ok(out)
}

fn empty(kind: Kind, rows: usize) -> Column {
    kind.column(std::iter::repeat_n(columns::Value::Null, rows))
}

fn of_kind(column: Column, kind: Kind) -> Column {
    if column.holds() == kind {
        return column;
    }
    if column.missing() == column.len() {
        return empty(kind, column.len());
    }
    match (&column, kind) {
        (Column::Int(values), Kind::Float) => {
            Column::Float(values.iter().map(|value| value.map(|n| n as f64)).collect())
        }
        (Column::Float(values), Kind::Int)
            if values.iter().flatten().all(|value| value.fract() == 0.0) =>
        {
            Column::Int(values.iter().map(|value| value.map(|n| n as i64)).collect())
        }
        _ => column,
    }
}

/// A team's own column of a card: scores are numbers, all else is text.
pub(crate) fn own_column(name: &str, column: Column) -> Column {
    if name.starts_with("score_") {
        return of_kind(column, Kind::Float);
    }
    let text = |values: Vec<Option<String>>| Column::Text(values);
    match column {
        Column::Float(values) => {
            text(values.iter().map(|value| value.map(|n| n.to_string())).collect())
        }
        Column::Int(values) => {
            text(values.iter().map(|value| value.map(|n| n.to_string())).collect())
        }
        Column::Bool(values) => {
            let word = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
            text(values.iter().map(|value| value.map(word)).collect())
        }
        Column::Instant(values) => {
            text(values.iter().map(|value| value.map(columns::iso_instant)).collect())
        }
        Column::Text(_) => column,
    }
}

/// TOML that Python has as text, or as JSON of what it means; with the name that messages give it.
pub(crate) type Written = (String, String, bool);

/// The text of TOML, its name, and whether it came as a mapping.
pub(crate) fn toml_text((text, name, is_mapping): Written) -> PyResult<(String, String, bool)> {
    if !is_mapping {
        return Ok((text, name, false));
    }
    let value: serde_json::Value =
        serde_json::from_str(&text).map_err(|error| mapping(&name, &error))?;
    let text = toml::to_string(&value).map_err(|error| mapping(&name, &error))?;
    Ok((text, name, true))
}

/// Settings of a season; without any, what a season without a file has.
pub(crate) fn season(settings: Option<Written>) -> PyResult<Season> {
    let Some(settings) = settings else { return Ok(Season::default()) };
    let (text, name, is_mapping) = toml_text(settings)?;
    Season::parse(&text, Path::new(&name)).map_err(|error| of_settings(&error, is_mapping))
}
