//! Readings as the bytes of a part.

use super::runs::Runs;
use crate::table::properties;
use arrow_array::{ArrayRef, Float32Array, Int64Array, TimestampMicrosecondArray, UInt32Array};
use arrow_schema::Schema;
use cook::CookReadings;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_writer::{ArrowRowGroupWriterFactory, compute_leaves};
use parquet::errors::ParquetError;
use parquet::file::writer::SerializedFileWriter;
use std::sync::Arc;

/// Cooks that one row group holds.
const ROW_GROUP_COOKS: usize = 128;
/// Rows from which on a row group takes no further cook.
const ROW_GROUP_ROWS: usize = 1 << 20;

/// Writes cooks into the bytes of one part, row group by row group.
pub(super) struct PartWriter {
    schema: Arc<Schema>,
    file: SerializedFileWriter<Vec<u8>>,
    factory: ArrowRowGroupWriterFactory,
    row_groups: usize,
    waiting: Vec<CookReadings>,
    rows: usize,
}

impl PartWriter {
    pub(super) fn new() -> Result<Self, ParquetError> {
        let schema = Arc::new(Schema::new(rows::readings::fields()));
        // With an index of pages one cook is read without the pages of its neighbours.
        let properties =
            properties(&schema).into_builder().set_offset_index_disabled(false).build();
        let writer = ArrowWriter::try_new(Vec::new(), schema.clone(), Some(properties))?;
        let (file, factory) = writer.into_serialized_writer()?;
        Ok(Self { schema, file, factory, row_groups: 0, waiting: Vec::new(), rows: 0 })
    }

    /// Adds a cook behind those before it; they come by name.
    pub(super) fn push(&mut self, readings: CookReadings) -> Result<(), ParquetError> {
        self.rows += readings.len();
        self.waiting.push(readings);
        if self.waiting.len() == ROW_GROUP_COOKS || self.rows >= ROW_GROUP_ROWS {
            self.write_row_group()?;
        }
        Ok(())
    }

    fn write_row_group(&mut self) -> Result<(), ParquetError> {
        let parquet_schema = self.file.schema_descr().clone();
        let columns = columns(&self.waiting, self.rows);
        let writers = self.factory.create_column_writers(self.row_groups)?;
        let mut row_group = self.file.next_row_group()?;
        for (at, (column, mut writer)) in columns.into_iter().zip(writers).enumerate() {
            match column {
                Column::Words(runs) => {
                    runs.append_to(&mut row_group, parquet_schema.column(at))?;
                }
                Column::Values(array) => {
                    for leaf in compute_leaves(self.schema.field(at), &array)? {
                        writer.write(&leaf)?;
                    }
                    writer.close()?.append_to_row_group(&mut row_group)?;
                }
            }
        }
        row_group.close()?;
        self.row_groups += 1;
        self.waiting.clear();
        self.rows = 0;
        Ok(())
    }

    pub(super) fn finish(mut self) -> Result<Vec<u8>, ParquetError> {
        if !self.waiting.is_empty() {
            self.write_row_group()?;
        }
        self.file.into_inner()
    }
}

/// A column of readings.
enum Column<'w> {
    Words(Runs<'w>),
    Values(ArrayRef),
}

fn columns(cooks: &[CookReadings], rows: usize) -> Vec<Column<'_>> {
    let [mut names, mut channels, mut roles, mut flags, mut sources]: [Runs<'_>; 5] =
        Default::default();
    let mut at = Vec::with_capacity(rows);
    let mut elapsed = Vec::with_capacity(rows);
    let mut temperatures = Vec::with_capacity(rows);
    let mut lines = Vec::with_capacity(rows);
    for readings in cooks {
        let zero = readings.first_ms().unwrap_or(0);
        names.push(&readings.cook, readings.len());
        for channel in &readings.channels {
            channels.push(&channel.name, channel.len());
            roles.push(channel.role.as_str(), channel.len());
            flags.extend(&channel.flag, |flag| flag.as_str());
            sources.extend(&channel.source, |source| {
                readings.sources.get(*source as usize).map_or("", String::as_str)
            });
            at.extend(channel.at_ms.iter().map(|ms| ms.saturating_mul(1000)));
            elapsed.extend(channel.at_ms.iter().map(|ms| ms - zero));
            temperatures.extend_from_slice(&channel.temp_c);
            lines.extend_from_slice(&channel.line);
        }
    }
    vec![
        Column::Words(names),
        Column::Words(channels),
        Column::Words(roles),
        Column::Values(Arc::new(TimestampMicrosecondArray::from(at).with_timezone("UTC"))),
        Column::Values(Arc::new(Int64Array::from(elapsed))),
        Column::Values(Arc::new(Float32Array::from(temperatures))),
        Column::Words(flags),
        Column::Words(sources),
        Column::Values(Arc::new(UInt32Array::from(lines))),
    ]
}
