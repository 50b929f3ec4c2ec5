//! Tables on their way to and from Parquet.

use crate::atomic::write_atomically;
use crate::error::StoreError;
use arrow_array::cast::AsArray;
use arrow_array::types::{
    Date32Type, Float32Type, Float64Type, Int8Type, Int16Type, Int32Type, Int64Type,
    TimestampMicrosecondType, TimestampMillisecondType, TimestampNanosecondType,
    TimestampSecondType, UInt8Type, UInt16Type, UInt32Type, UInt64Type,
};
use arrow_array::{
    Array, ArrayRef, BooleanArray, Float64Array, Int64Array, RecordBatch, StringArray,
    TimestampMillisecondArray,
};
use arrow_schema::{DataType, Field, Schema, TimeUnit};
use columns::{Column, Description, Kind, Table};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::basic::{Compression, Encoding};
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::schema::types::ColumnPath;
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

pub(crate) fn instant_type() -> DataType {
    DataType::Timestamp(TimeUnit::Millisecond, Some("UTC".into()))
}

fn data_type(column: &Column) -> DataType {
    match column {
        Column::Text(_) => DataType::Utf8,
        Column::Float(_) => DataType::Float64,
        Column::Int(_) => DataType::Int64,
        Column::Bool(_) => DataType::Boolean,
        Column::Instant(_) => instant_type(),
    }
}

fn to_array(column: &Column) -> ArrayRef {
    match column {
        Column::Text(v) => Arc::new(v.iter().map(Option::as_deref).collect::<StringArray>()),
        Column::Float(v) => Arc::new(Float64Array::from(v.clone())),
        Column::Int(v) => Arc::new(Int64Array::from(v.clone())),
        Column::Bool(v) => Arc::new(BooleanArray::from(v.clone())),
        Column::Instant(v) => {
            Arc::new(TimestampMillisecondArray::from(v.clone()).with_timezone("UTC"))
        }
    }
}

/// A table as a Parquet file.
pub trait TableFile {
    /// The bytes of a Parquet file (Snappy pages, one row group a million rows); `path` is what
    /// an error names.
    fn to_parquet(&self, path: &Path) -> Result<Vec<u8>, StoreError>;

    /// Writes the table as a Parquet file; false where the file already held it.
    fn write(&self, path: &Path) -> Result<bool, StoreError>;
}

impl TableFile for Table {
    fn to_parquet(&self, path: &Path) -> Result<Vec<u8>, StoreError> {
        let fields: Vec<Field> = self
            .columns()
            .iter()
            .map(|(name, column)| Field::new(name, data_type(column), true))
            .collect();
        let arrays = self.columns().iter().map(|(_, column)| to_array(column)).collect();
        let batch = RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays)
            .map_err(|e| StoreError::parquet(path, &e))?;
        batch_to_parquet(&batch, path)
    }

    fn write(&self, path: &Path) -> Result<bool, StoreError> {
        write_atomically(path, &self.to_parquet(path)?)
    }
}

/// Columns of a known kind; the error names file, column and what was expected.
pub(crate) trait TypedColumns {
    /// A column, whatever its kind, if it is of the described one.
    fn described(&self, path: &Path, column: Description) -> Result<&Column, StoreError>;
    fn text(&self, path: &Path, column: Description) -> Result<&[Option<String>], StoreError>;
    fn floats(&self, path: &Path, column: Description) -> Result<&[Option<f64>], StoreError>;
    fn integers(&self, path: &Path, column: Description) -> Result<&[Option<i64>], StoreError>;
    fn instants(&self, path: &Path, column: Description) -> Result<&[Option<i64>], StoreError>;
    fn booleans(&self, path: &Path, column: Description) -> Result<&[Option<bool>], StoreError>;
}

impl TypedColumns for Table {
    fn described(&self, path: &Path, column: Description) -> Result<&Column, StoreError> {
        match self.column(column.name) {
            Some(found) if found.holds() == column.kind => Ok(found),
            other => Err(wrong_kind(path, column, other.is_some(), column.kind)),
        }
    }

    fn text(&self, path: &Path, column: Description) -> Result<&[Option<String>], StoreError> {
        match self.described(path, column)? {
            Column::Text(values) => Ok(values),
            _ => Err(wrong_kind(path, column, true, Kind::Text)),
        }
    }

    fn floats(&self, path: &Path, column: Description) -> Result<&[Option<f64>], StoreError> {
        match self.described(path, column)? {
            Column::Float(values) => Ok(values),
            _ => Err(wrong_kind(path, column, true, Kind::Float)),
        }
    }

    fn integers(&self, path: &Path, column: Description) -> Result<&[Option<i64>], StoreError> {
        match self.described(path, column)? {
            Column::Int(values) => Ok(values),
            _ => Err(wrong_kind(path, column, true, Kind::Int)),
        }
    }

    fn instants(&self, path: &Path, column: Description) -> Result<&[Option<i64>], StoreError> {
        match self.described(path, column)? {
            Column::Instant(values) => Ok(values),
            _ => Err(wrong_kind(path, column, true, Kind::Instant)),
        }
    }

    fn booleans(&self, path: &Path, column: Description) -> Result<&[Option<bool>], StoreError> {
        match self.described(path, column)? {
            Column::Bool(values) => Ok(values),
            _ => Err(wrong_kind(path, column, true, Kind::Bool)),
        }
    }
}

fn wrong_kind(path: &Path, column: Description, present: bool, wanted: Kind) -> StoreError {
    let wanted = wanted.in_words();
    let message =
        if present { format!("is not {wanted}") } else { format!("is missing ({wanted})") };
    StoreError::column(path, column.name, message)
}

/// How columns are written. Pages are few, so that an index of pages, and the statistics of
/// each, would help no reader.
pub(crate) fn properties(schema: &Schema) -> WriterProperties {
    let mut properties = WriterProperties::builder()
        .set_compression(Compression::SNAPPY)
        .set_statistics_enabled(EnabledStatistics::Chunk)
        .set_offset_index_disabled(true)
        .set_created_by(format!("cookstudy {}", env!("CARGO_PKG_VERSION")));
    for field in schema.fields() {
        // Instants and lines rise in small steps: a fraction of a byte each as differences,
        // where a dictionary would hold every one of them.
        if field.data_type().is_integer() || matches!(field.data_type(), DataType::Timestamp(..)) {
            let column = ColumnPath::from(field.name().as_str());
            properties = properties
                .set_column_dictionary_enabled(column.clone(), false)
                .set_column_encoding(column, Encoding::DELTA_BINARY_PACKED);
        }
    }
    properties.build()
}

fn batch_to_parquet(batch: &RecordBatch, path: &Path) -> Result<Vec<u8>, StoreError> {
    let properties = properties(&batch.schema());
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, batch.schema(), Some(properties))
        .map_err(|e| StoreError::parquet(path, &e))?;
    writer.write(batch).map_err(|e| StoreError::parquet(path, &e))?;
    writer.close().map_err(|e| StoreError::parquet(path, &e))?;
    Ok(bytes)
}

pub(crate) fn read_batches(path: &Path) -> Result<Vec<RecordBatch>, StoreError> {
    let file = File::open(path).map_err(|e| StoreError::io(path, e))?;
    ParquetRecordBatchReaderBuilder::try_new(file)
        .map_err(|e| StoreError::parquet(path, &e))?
        .with_batch_size(65_536)
        .build()
        .map_err(|e| StoreError::parquet(path, &e))?
        .map(|batch| batch.map_err(|e| StoreError::parquet(path, &e)))
        .collect()
}

/// Reads any Parquet file of plain columns: our own tables and other programs'.
///
/// Integers of every width become [`Column::Int`], floats [`Column::Float`], text and
/// dictionaries of text [`Column::Text`], timestamps [`Column::Instant`], dates ISO text.
///
/// # Errors
/// [`StoreError::Io`], [`StoreError::Parquet`]; [`StoreError::Column`] for a nested or
/// otherwise unknown type.
pub fn read_parquet_table(path: &Path) -> Result<Table, StoreError> {
    let file = File::open(path).map_err(|e| StoreError::io(path, e))?;
    let builder = ParquetRecordBatchReaderBuilder::try_new(file)
        .map_err(|e| StoreError::parquet(path, &e))?;
    let schema = builder.schema().clone();
    let reader = builder.build().map_err(|e| StoreError::parquet(path, &e))?;
    let batches: Vec<RecordBatch> =
        reader.collect::<Result<_, _>>().map_err(|e| StoreError::parquet(path, &e))?;
    let mut table = Table::new();
    for (index, field) in schema.fields().iter().enumerate() {
        let mut column = empty_column(field.data_type())
            .ok_or_else(|| unknown_type(path, field.name(), field.data_type()))?;
        for batch in &batches {
            append(&mut column, batch.column(index).as_ref())
                .ok_or_else(|| unknown_type(path, field.name(), field.data_type()))?;
        }
        table.push(field.name(), column);
    }
    Ok(table)
}

/// The program and version that wrote a Parquet file (`cookstudy 0.1.0`), as it says itself.
///
/// # Errors
/// [`StoreError::Io`], [`StoreError::Parquet`].
pub(crate) fn written_by(path: &Path) -> Result<Option<String>, StoreError> {
    let file = File::open(path).map_err(|e| StoreError::io(path, e))?;
    let builder = ParquetRecordBatchReaderBuilder::try_new(file)
        .map_err(|e| StoreError::parquet(path, &e))?;
    Ok(builder.metadata().file_metadata().created_by().map(str::to_owned))
}

fn unknown_type(path: &Path, name: &str, found: &DataType) -> StoreError {
    StoreError::column(
        path,
        name,
        format!("has the type {found}; only numbers, text, yes/no and times are read"),
    )
}

fn empty_column(data_type: &DataType) -> Option<Column> {
    Some(match data_type {
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View | DataType::Date32 => {
            Column::Text(Vec::new())
        }
        DataType::Dictionary(_, values) => empty_column(values)?,
        // `Null`: a column of nothing but missing values.
        DataType::Float32 | DataType::Float64 | DataType::Null => Column::Float(Vec::new()),
        DataType::Boolean => Column::Bool(Vec::new()),
        DataType::Timestamp(_, _) => Column::Instant(Vec::new()),
        data_type if data_type.is_integer() => Column::Int(Vec::new()),
        _ => return None,
    })
}

macro_rules! extend_numbers {
    ($out:expr, $array:expr, $kind:ty, $convert:expr) => {{
        $out.extend($array.as_primitive::<$kind>().iter().map(|value| value.map($convert)));
        Some(())
    }};
}

fn append(column: &mut Column, array: &dyn Array) -> Option<()> {
    if let DataType::Dictionary(_, _) = array.data_type() {
        let dictionary = array.as_any_dictionary_opt()?;
        let plain = arrow_select::take::take(dictionary.values(), dictionary.keys(), None).ok()?;
        return append(column, plain.as_ref());
    }
    match column {
        Column::Text(out) => {
            match array.data_type() {
                DataType::Utf8 => {
                    out.extend(array.as_string::<i32>().iter().map(|v| v.map(str::to_owned)));
                }
                DataType::LargeUtf8 => {
                    out.extend(array.as_string::<i64>().iter().map(|v| v.map(str::to_owned)));
                }
                DataType::Utf8View => {
                    out.extend(array.as_string_view().iter().map(|v| v.map(str::to_owned)));
                }
                DataType::Date32 => {
                    let dates = array.as_primitive::<Date32Type>();
                    out.extend(dates.iter().map(|days| days.and_then(iso_date)));
                }
                _ => return None,
            }
            Some(())
        }
        Column::Float(out) => match array.data_type() {
            DataType::Float32 => extend_numbers!(out, array, Float32Type, f64::from),
            DataType::Float64 => extend_numbers!(out, array, Float64Type, |v| v),
            DataType::Null => {
                out.extend(std::iter::repeat_n(None, array.len()));
                Some(())
            }
            _ => None,
        },
        Column::Int(out) => match array.data_type() {
            DataType::Int8 => extend_numbers!(out, array, Int8Type, i64::from),
            DataType::Int16 => extend_numbers!(out, array, Int16Type, i64::from),
            DataType::Int32 => extend_numbers!(out, array, Int32Type, i64::from),
            DataType::Int64 => extend_numbers!(out, array, Int64Type, |v| v),
            DataType::UInt8 => extend_numbers!(out, array, UInt8Type, i64::from),
            DataType::UInt16 => extend_numbers!(out, array, UInt16Type, i64::from),
            DataType::UInt32 => extend_numbers!(out, array, UInt32Type, i64::from),
            DataType::UInt64 => {
                for value in array.as_primitive::<UInt64Type>() {
                    out.push(value.map(i64::try_from).transpose().ok()?);
                }
                Some(())
            }
            _ => None,
        },
        Column::Bool(out) => {
            out.extend(array.as_boolean_opt()?.iter());
            Some(())
        }
        Column::Instant(out) => match array.data_type() {
            DataType::Timestamp(TimeUnit::Second, _) => {
                extend_numbers!(out, array, TimestampSecondType, |v| v * 1000)
            }
            DataType::Timestamp(TimeUnit::Millisecond, _) => {
                extend_numbers!(out, array, TimestampMillisecondType, |v| v)
            }
            DataType::Timestamp(TimeUnit::Microsecond, _) => {
                extend_numbers!(out, array, TimestampMicrosecondType, |v: i64| v.div_euclid(1000))
            }
            DataType::Timestamp(TimeUnit::Nanosecond, _) => {
                extend_numbers!(out, array, TimestampNanosecondType, |v: i64| v
                    .div_euclid(1_000_000))
            }
            _ => None,
        },
    }
}

/// Days since 1970-01-01 as an ISO date; `None` outside the calendar's years.
fn iso_date(days: i32) -> Option<String> {
    let epoch = jiff::civil::date(1970, 1, 1);
    let date = epoch.checked_add(jiff::Span::new().try_days(days).ok()?).ok()?;
    Some(date.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Table {
        Table::new()
            .with("name", Column::Text(vec![Some("a".into()), None]))
            .with("weight", Column::Float(vec![Some(5.5), None]))
            .with("stalls", Column::Int(vec![None, Some(2)]))
            .with("wrapped", Column::Bool(vec![Some(true), None]))
            .with("at", Column::Instant(vec![Some(1_700_000_000_123), None]))
    }

    #[test]
    fn a_table_comes_back_from_parquet_unchanged_and_byte_for_byte_the_same() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.parquet");
        assert!(sample().write(&path).unwrap());
        assert!(!sample().write(&path).unwrap());
        assert_eq!(read_parquet_table(&path).unwrap(), sample());
    }

    #[test]
    fn a_table_without_rows_keeps_its_columns() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.parquet");
        let empty = Table::new().with("cook", Column::Text(vec![]));
        empty.write(&path).unwrap();
        assert_eq!(read_parquet_table(&path).unwrap(), empty);
    }

    #[test]
    fn a_file_that_is_no_parquet_file_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.parquet");
        std::fs::write(&path, "cook,weight\n").unwrap();
        let error = read_parquet_table(&path).unwrap_err().to_string();
        assert!(error.contains("t.parquet: not a readable Parquet file"), "{error}");
        sample().write(&path).unwrap();
        let writer = written_by(&path).unwrap().unwrap();
        assert_eq!(writer, format!("cookstudy {}", env!("CARGO_PKG_VERSION")));
    }

    #[test]
    fn days_become_dates() {
        // 2000-03-01 is day 11 017 of the Unix epoch (10 957 to 2000-01-01, plus 60).
        assert_eq!(iso_date(11_017).as_deref(), Some("2000-03-01"));
        assert_eq!(iso_date(0).as_deref(), Some("1970-01-01"));
        assert_eq!(iso_date(-1).as_deref(), Some("1969-12-31"));
    }
}
