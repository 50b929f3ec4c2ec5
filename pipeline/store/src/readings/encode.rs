//! Readings as the bytes of a part.

use super::runs::Runs;
use super::spill::{Part, Slot, Spill};
use crate::error::StoreError;
use crate::table::properties;
use arrow_array::{ArrayRef, Float32Array, Int64Array, TimestampMicrosecondArray, UInt32Array};
use arrow_schema::Schema;
use cook::CookReadings;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_writer::{ArrowRowGroupWriterFactory, compute_leaves};
use parquet::errors::ParquetError;
use parquet::file::writer::SerializedFileWriter;
use std::sync::{Arc, Mutex};

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
        let writers = self.factory.create_column_writers(self.row_groups)?;
        let mut row_group = self.file.next_row_group()?;
        // One column after the other, so that memory holds one copy of one of them.
        for (at, (name, mut writer)) in COLUMNS.into_iter().zip(writers).enumerate() {
            match column(name, &self.waiting, self.rows) {
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

    /// Adds a cook that is set aside, as a row group of its own: no more than a piece of a column is in memory
    /// at once.
    pub(super) fn push_aside(
        &mut self,
        slot: &Slot,
        spill: &Mutex<Spill>,
    ) -> Result<(), ParquetError> {
        if !self.waiting.is_empty() {
            self.write_row_group()?;
        }
        let parquet_schema = self.file.schema_descr().clone();
        let writers = self.factory.create_column_writers(self.row_groups)?;
        let mut row_group = self.file.next_row_group()?;
        for (at, (name, mut writer)) in COLUMNS.into_iter().zip(writers).enumerate() {
            if let Some(runs) = runs_aside(name, slot, spill).map_err(external)? {
                runs.append_to(&mut row_group, parquet_schema.column(at))?;
                continue;
            }
            for_each_piece(name, slot, spill, |array| {
                compute_leaves(self.schema.field(at), &array)?
                    .iter()
                    .try_for_each(|leaf| writer.write(leaf))
            })?;
            writer.close()?.append_to_row_group(&mut row_group)?;
        }
        row_group.close()?;
        self.row_groups += 1;
        Ok(())
    }

    pub(super) fn finish(mut self) -> Result<Vec<u8>, ParquetError> {
        if !self.waiting.is_empty() {
            self.write_row_group()?;
        }
        self.file.into_inner()
    }
}

fn external(error: StoreError) -> ParquetError {
    ParquetError::External(Box::new(error))
}

/// Rows that are turned to an array at once.
const PIECE: usize = 1 << 16;

/// A column of numbers of a cook that is set aside, piece by piece.
fn for_each_piece(
    name: Name,
    slot: &Slot,
    spill: &Mutex<Spill>,
    mut each: impl FnMut(ArrayRef) -> Result<(), ParquetError>,
) -> Result<(), ParquetError> {
    let part = match name {
        Name::At | Name::Elapsed => Part::At,
        Name::Temperature => Part::Temperature,
        _ => Part::Line,
    };
    let zero = slot.channels.iter().filter_map(|channel| channel.first_ms).min().unwrap_or(0);
    for channel in &slot.channels {
        let mut from = channel.part(spill, part);
        let mut left = channel.rows;
        while left > 0 {
            let rows = left.min(PIECE);
            left -= rows;
            if part == Part::Temperature {
                let temperatures = from.temperatures(rows).map_err(external)?;
                each(Arc::new(Float32Array::from(temperatures)))?;
                continue;
            }
            let numbers = from.numbers(rows).map_err(external)?;
            each(match name {
                Name::At => {
                    let at = numbers.into_iter().map(|ms| ms.saturating_mul(1000));
                    let at = TimestampMicrosecondArray::from(at.collect::<Vec<i64>>());
                    Arc::new(at.with_timezone("UTC"))
                }
                Name::Elapsed => {
                    Arc::new(numbers.iter().map(|ms| ms - zero).collect::<Int64Array>())
                }
                _ => Arc::new(numbers.iter().map(|line| *line as u32).collect::<UInt32Array>()),
            })?;
        }
    }
    Ok(())
}

/// A column of words of a cook that is set aside; `None` for one of numbers.
fn runs_aside<'s>(
    name: Name,
    slot: &'s Slot,
    spill: &Mutex<Spill>,
) -> Result<Option<Runs<'s>>, StoreError> {
    let mut words = Runs::default();
    match name {
        Name::Cook => words.push(&slot.cook, slot.rows()),
        Name::Channel => slot.channels.iter().for_each(|c| words.push(&c.name, c.rows)),
        Name::Role => slot.channels.iter().for_each(|c| words.push(c.role.as_str(), c.rows)),
        Name::Flag | Name::Source => {
            for channel in &slot.channels {
                let part = if matches!(name, Name::Flag) { Part::Flag } else { Part::Source };
                let mut from = channel.part(spill, part);
                let mut left = channel.rows;
                while left > 0 {
                    let rows = left.min(PIECE);
                    left -= rows;
                    if part == Part::Flag {
                        words.extend(&from.flags(rows)?, |flag| flag.as_str());
                    } else {
                        let name = |source: &i64| slot.sources.get(*source as usize);
                        words.extend(&from.numbers(rows)?, |source| {
                            name(source).map_or("", String::as_str)
                        });
                    }
                }
            }
        }
        _ => return Ok(None),
    }
    Ok(Some(words))
}

/// A column of readings.
enum Column<'w> {
    Words(Runs<'w>),
    Values(ArrayRef),
}

/// The columns of readings, in the order of [`rows::readings::fields`].
#[derive(Debug, Clone, Copy)]
enum Name {
    Cook,
    Channel,
    Role,
    At,
    Elapsed,
    Temperature,
    Flag,
    Source,
    Line,
}

const COLUMNS: [Name; 9] = [
    Name::Cook,
    Name::Channel,
    Name::Role,
    Name::At,
    Name::Elapsed,
    Name::Temperature,
    Name::Flag,
    Name::Source,
    Name::Line,
];

fn column(name: Name, cooks: &[CookReadings], rows: usize) -> Column<'_> {
    let channels = || cooks.iter().flat_map(|cook| cook.channels.iter().map(move |c| (cook, c)));
    let mut words = Runs::default();
    match name {
        Name::Cook => cooks.iter().for_each(|cook| words.push(&cook.cook, cook.len())),
        Name::Channel => channels().for_each(|(_, c)| words.push(&c.name, c.len())),
        Name::Role => channels().for_each(|(_, c)| words.push(c.role.as_str(), c.len())),
        Name::Flag => {
            channels().for_each(|(_, c)| words.extend(&c.flag, |flag| flag.as_str()));
        }
        Name::Source => channels().for_each(|(cook, c)| {
            let name = |source: &u32| cook.sources.get(*source as usize);
            words.extend(&c.source, |source| name(source).map_or("", String::as_str));
        }),
        Name::At => {
            let mut at = Vec::with_capacity(rows);
            channels()
                .for_each(|(_, c)| at.extend(c.at_ms.iter().map(|ms| ms.saturating_mul(1000))));
            let at = TimestampMicrosecondArray::from(at).with_timezone("UTC");
            return Column::Values(Arc::new(at));
        }
        Name::Elapsed => {
            let mut elapsed = Vec::with_capacity(rows);
            for cook in cooks {
                let zero = cook.first_ms().unwrap_or(0);
                for channel in &cook.channels {
                    elapsed.extend(channel.at_ms.iter().map(|ms| ms - zero));
                }
            }
            return Column::Values(Arc::new(Int64Array::from(elapsed)));
        }
        Name::Temperature => {
            let mut temperatures = Vec::with_capacity(rows);
            channels().for_each(|(_, c)| temperatures.extend_from_slice(&c.temp_c));
            return Column::Values(Arc::new(Float32Array::from(temperatures)));
        }
        Name::Line => {
            let mut lines = Vec::with_capacity(rows);
            channels().for_each(|(_, c)| lines.extend_from_slice(&c.line));
            return Column::Values(Arc::new(UInt32Array::from(lines)));
        }
    }
    Column::Words(words)
}
