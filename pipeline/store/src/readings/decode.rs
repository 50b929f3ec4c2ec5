//! Readings from a part, or from a file of the old layout.
//!
//! The cooks of a row group stand in its column `cook`, which is small; rows of cooks that are
//! not asked for are passed over, whole pages of them unread.

use crate::error::StoreError;
use arrow_array::RecordBatch;
use arrow_schema::{DataType, TimeUnit};
use cook::CookReadings;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReader,
    ParquetRecordBatchReaderBuilder, RowSelection,
};
use parquet::file::metadata::PageIndexPolicy;
use parquet::file::statistics::Statistics;
use rows::RowsError;
use rows::readings::{ReadingsRows, Words};
use std::collections::VecDeque;
use std::fs::File;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// Rows that are decoded at once.
const BATCH: usize = 65_536;

/// A file of readings, open.
pub(super) struct PartReader {
    path: PathBuf,
    season: String,
    file: File,
    metadata: ArrowReaderMetadata,
}

impl PartReader {
    pub(super) fn open(path: &Path, season: &str) -> Result<Self, StoreError> {
        let file = File::open(path).map_err(|e| StoreError::io(path, e))?;
        let options = ArrowReaderOptions::new().with_offset_index_policy(PageIndexPolicy::Optional);
        let metadata =
            ArrowReaderMetadata::load(&file, options).map_err(|e| StoreError::parquet(path, &e))?;
        Ok(Self { path: path.to_owned(), season: season.to_owned(), file, metadata })
    }

    /// Whether it is a part, and not one cook's file of the old layout: by the unit of its
    /// instants.
    pub(super) fn is_packed(&self) -> bool {
        let at = self.metadata.schema().field_with_name("at").map(arrow_schema::Field::data_type);
        !matches!(at, Ok(DataType::Timestamp(TimeUnit::Millisecond, _)))
    }

    fn row_groups(&self) -> usize {
        self.metadata.metadata().num_row_groups()
    }

    fn group(&self, group: usize) -> Result<ParquetRecordBatchReaderBuilder<File>, StoreError> {
        let file = self.file.try_clone().map_err(|e| StoreError::io(&self.path, e))?;
        let builder =
            ParquetRecordBatchReaderBuilder::new_with_metadata(file, self.metadata.clone());
        Ok(builder.with_row_groups(vec![group]).with_batch_size(BATCH))
    }

    fn parquet(&self, error: &dyn std::fmt::Display) -> StoreError {
        StoreError::parquet(&self.path, error)
    }

    fn wrong(&self, error: RowsError) -> StoreError {
        StoreError::rows(&self.path, error)
    }

    /// Whether a row group may hold a cook, by its least and greatest name.
    fn may_hold(&self, group: usize, cook: &str) -> bool {
        let columns = self.metadata.metadata().row_group(group).columns();
        let names = columns.iter().find(|column| column.column_path().string() == "cook");
        match names.and_then(|names| names.statistics()) {
            Some(Statistics::ByteArray(names)) => {
                names.min_opt().is_none_or(|least| least.data() <= cook.as_bytes())
                    && names.max_opt().is_none_or(|most| most.data() >= cook.as_bytes())
            }
            _ => true,
        }
    }

    /// The cooks of a row group with their numbers of rows, in their order.
    fn cooks_of(&self, group: usize) -> Result<Vec<(String, usize)>, StoreError> {
        let builder = self.group(group)?;
        let only = ProjectionMask::columns(builder.parquet_schema(), ["cook"]);
        let reader = builder.with_projection(only).build().map_err(|e| self.parquet(&e))?;
        let mut cooks: Vec<(String, usize)> = Vec::new();
        for batch in reader {
            let batch = batch.map_err(|e| self.parquet(&e))?;
            let names = Words::of(&batch, "cook").map_err(|e| self.wrong(e))?;
            for run in names.runs(0..batch.num_rows()) {
                let name = names.at(run.start).ok_or_else(|| self.wrong(nameless()))?;
                match cooks.last_mut() {
                    Some((last, rows)) if last == name => *rows += run.len(),
                    _ => cooks.push((name.to_owned(), run.len())),
                }
            }
        }
        Ok(cooks)
    }

    /// All cooks of the file, in their order.
    pub(super) fn cooks(&self) -> Result<Vec<String>, StoreError> {
        let mut cooks = Vec::new();
        for group in 0..self.row_groups() {
            cooks.extend(self.cooks_of(group)?.into_iter().map(|(cook, _)| cook));
        }
        cooks.dedup();
        Ok(cooks)
    }

    /// The rows of some cooks of a row group; `None` where it has none of them.
    fn rows_of(
        &self,
        group: usize,
        wanted: &dyn Fn(&str) -> bool,
    ) -> Result<Option<ParquetRecordBatchReader>, StoreError> {
        let mut ranges: Vec<Range<usize>> = Vec::new();
        let mut rows = 0;
        for (cook, own) in self.cooks_of(group)? {
            if wanted(&cook) {
                ranges.push(rows..rows + own);
            }
            rows += own;
        }
        if ranges.is_empty() {
            return Ok(None);
        }
        let selection = RowSelection::from_consecutive_ranges(ranges.into_iter(), rows);
        let builder = self.group(group)?.with_row_selection(selection);
        builder.build().map(Some).map_err(|e| self.parquet(&e))
    }

    /// One cook, where the file has it.
    pub(super) fn find(&self, cook: &str) -> Result<Option<CookReadings>, StoreError> {
        let mut found: Option<CookReadings> = None;
        for group in (0..self.row_groups()).filter(|group| self.may_hold(*group, cook)) {
            for batch in self.rows_of(group, &|name| name == cook)?.into_iter().flatten() {
                let batch = batch.map_err(|e| self.parquet(&e))?;
                let rows = ReadingsRows::of(&batch).map_err(|e| self.wrong(e))?;
                let readings = found.get_or_insert_with(|| empty(cook, &self.season));
                rows.append(0..batch.num_rows(), readings).map_err(|e| self.wrong(e))?;
            }
        }
        Ok(found)
    }
}

/// The cooks of a file, one after the other as they are decoded.
pub struct CooksOfPart<'w> {
    part: PartReader,
    wanted: Box<dyn Fn(&str) -> bool + Send + 'w>,
    next_group: usize,
    batches: Option<ParquetRecordBatchReader>,
    /// The last may go on in the next batch.
    decoded: VecDeque<CookReadings>,
}

impl<'w> CooksOfPart<'w> {
    pub(super) fn new(part: PartReader, wanted: impl Fn(&str) -> bool + Send + 'w) -> Self {
        Self {
            part,
            wanted: Box::new(wanted),
            next_group: 0,
            batches: None,
            decoded: VecDeque::new(),
        }
    }

    /// The next batch of rows; `None` behind the last one.
    fn batch(&mut self) -> Result<Option<RecordBatch>, StoreError> {
        loop {
            if let Some(batch) = self.batches.as_mut().and_then(Iterator::next) {
                return batch.map(Some).map_err(|e| self.part.parquet(&e));
            }
            if self.next_group == self.part.row_groups() {
                return Ok(None);
            }
            self.batches = self.part.rows_of(self.next_group, &self.wanted)?;
            self.next_group += 1;
        }
    }

    fn decode(&mut self, batch: &RecordBatch) -> Result<(), StoreError> {
        let rows = ReadingsRows::of(batch).map_err(|e| self.part.wrong(e))?;
        for (name, run) in rows.cooks() {
            let name = name.ok_or_else(|| self.part.wrong(nameless()))?;
            if self.decoded.back().is_none_or(|last| last.cook != name) {
                self.decoded.push_back(empty(name, &self.part.season));
            }
            if let Some(readings) = self.decoded.back_mut() {
                rows.append(run, readings).map_err(|e| self.part.wrong(e))?;
            }
        }
        Ok(())
    }
}

impl Iterator for CooksOfPart<'_> {
    type Item = Result<CookReadings, StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        while self.decoded.len() < 2 {
            match self.batch() {
                Ok(Some(batch)) => {
                    if let Err(error) = self.decode(&batch) {
                        return Some(Err(error));
                    }
                }
                Ok(None) => break,
                Err(error) => return Some(Err(error)),
            }
        }
        self.decoded.pop_front().map(Ok)
    }
}

/// A row that names no cook.
fn nameless() -> RowsError {
    RowsError::column("cook", "has a missing value")
}

fn empty(cook: &str, season: &str) -> CookReadings {
    CookReadings {
        cook: cook.to_owned(),
        season: season.to_owned(),
        channels: Vec::new(),
        sources: Vec::new(),
    }
}
