//! Tables on their way to and from Parquet.

use crate::atomic::write_atomically;
use crate::error::StoreError;
use arrow_array::RecordBatch;
use arrow_schema::{DataType, Schema};
use columns::{Column, Description, Kind, Table};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::basic::{Compression, Encoding};
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::schema::types::ColumnPath;
use std::fs::File;
use std::path::Path;

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
        let batch = rows::arrow::to_batch(self).map_err(|e| StoreError::parquet(path, &e))?;
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
    fn integers(&self, path: &Path, column: Description) -> Result<&[Option<i64>], StoreError>;
    fn numbers(&self, path: &Path, column: Description) -> Result<&[Option<f64>], StoreError>;
    fn flags(&self, path: &Path, column: Description) -> Result<&[Option<bool>], StoreError>;
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

    fn integers(&self, path: &Path, column: Description) -> Result<&[Option<i64>], StoreError> {
        match self.described(path, column)? {
            Column::Int(values) => Ok(values),
            _ => Err(wrong_kind(path, column, true, Kind::Int)),
        }
    }

    fn numbers(&self, path: &Path, column: Description) -> Result<&[Option<f64>], StoreError> {
        match self.described(path, column)? {
            Column::Float(values) => Ok(values),
            _ => Err(wrong_kind(path, column, true, Kind::Float)),
        }
    }

    fn flags(&self, path: &Path, column: Description) -> Result<&[Option<bool>], StoreError> {
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
    rows::arrow::from_batches(&schema, &batches).map_err(|error| StoreError::rows(path, error))
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

#[cfg(test)]
mod tests {
    use super::*;
    use columns::Column;

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
}
