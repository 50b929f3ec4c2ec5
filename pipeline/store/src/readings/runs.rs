//! Words that come in long runs, as column chunks of a Parquet file.
//!
//! The columns of readings that hold words (cook, channel, role, flag, source) have one value over
//! thousands of rows. The `parquet` crate looks every single row up in a hash
//! table, which took more than half of the time of ingesting; here a run costs one lookup.
//! What is written is what the format has for such columns (Apache Parquet, "Encodings"): a
//! dictionary page of plain values, and a data page of run lengths
//! (`RLE_DICTIONARY`, from the hybrid of run lengths and bit packing).

use bytes::Bytes;
use parquet::basic::{Compression, Encoding};
use parquet::column::page::{CompressedPage, Page, PageWriter};
use parquet::column::writer::ColumnCloseResult;
use parquet::data_type::ByteArray;
use parquet::errors::Result;
use parquet::file::metadata::{ColumnChunkMetaData, OffsetIndexBuilder};
use parquet::file::statistics::{Statistics, ValueStatistics};
use parquet::file::writer::{SerializedPageWriter, SerializedRowGroupWriter, TrackedWrite};
use parquet::schema::types::ColumnDescPtr;
use std::collections::HashMap;
use std::io::Write;

/// A column of words, run by run.
#[derive(Default)]
pub(crate) struct Runs<'w> {
    keys: HashMap<&'w str, u32>,
    words: Vec<&'w str>,
    /// Word and number of rows.
    lengths: Vec<(u32, usize)>,
}

impl<'w> Runs<'w> {
    /// Appends so many rows of a word.
    pub(crate) fn push(&mut self, word: &'w str, rows: usize) {
        if rows == 0 {
            return;
        }
        let key = *self.keys.entry(word).or_insert_with(|| {
            self.words.push(word);
            self.words.len() as u32 - 1
        });
        match self.lengths.last_mut() {
            Some((last, length)) if *last == key => *length += rows,
            _ => self.lengths.push((key, rows)),
        }
    }

    /// Appends the word of each item.
    pub(crate) fn extend<T: PartialEq>(&mut self, items: &[T], word: impl Fn(&T) -> &'w str) {
        for run in items.chunk_by(PartialEq::eq) {
            self.push(word(&run[0]), run.len());
        }
    }

    /// Appends the column to a row group as its next one.
    pub(crate) fn append_to<W: Write + Send>(
        &self,
        row_group: &mut SerializedRowGroupWriter<'_, W>,
        column: ColumnDescPtr,
    ) -> Result<()> {
        let rows: usize = self.lengths.iter().map(|(_, length)| length).sum();
        // A width of 0 bits is allowed for a single word, but not every reader takes it.
        let width = (usize::BITS - self.words.len().saturating_sub(1).leading_zeros()).max(1);
        let mut lengths = vec![width as u8];
        for (key, length) in &self.lengths {
            push_varint(&mut lengths, (*length as u64) << 1);
            lengths.extend_from_slice(&key.to_le_bytes()[..width.div_ceil(8) as usize]);
        }
        let mut values = Vec::new();
        for word in &self.words {
            values.extend_from_slice(&(word.len() as u32).to_le_bytes());
            values.extend_from_slice(word.as_bytes());
        }
        let dictionary = Page::DictionaryPage {
            num_values: self.words.len() as u32,
            encoding: Encoding::PLAIN,
            is_sorted: false,
            buf: values.into(),
        };
        let data = Page::DataPage {
            num_values: rows as u32,
            encoding: Encoding::RLE_DICTIONARY,
            def_level_encoding: Encoding::RLE,
            rep_level_encoding: Encoding::RLE,
            statistics: None,
            buf: lengths.into(),
        };
        let mut sink = TrackedWrite::new(Vec::new());
        let mut pages = SerializedPageWriter::new(&mut sink);
        let mut written = Vec::with_capacity(2);
        for page in [dictionary, data] {
            let length = page.buffer().len();
            written.push(pages.write_page(CompressedPage::new(page, length))?);
        }
        pages.close()?;
        let [dictionary, data] = [&written[0], &written[1]];
        let uncompressed = dictionary.uncompressed_size + data.uncompressed_size;
        let mut offset_index = OffsetIndexBuilder::new();
        offset_index.append_row_count(rows as i64);
        offset_index.append_offset_and_size(data.offset as i64, data.compressed_size as i32);
        let chunk = Bytes::from(sink.into_inner()?);
        let bound = |word: Option<&&str>| word.map(|word| ByteArray::from(*word));
        let (least, most) = (self.words.iter().min(), self.words.iter().max());
        let statistics = ValueStatistics::new(bound(least), bound(most), None, Some(0), false);
        let metadata = ColumnChunkMetaData::builder(column)
            .set_encodings(vec![Encoding::PLAIN, Encoding::RLE, Encoding::RLE_DICTIONARY])
            .set_compression(Compression::UNCOMPRESSED)
            .set_num_values(rows as i64)
            .set_total_compressed_size(chunk.len() as i64)
            .set_total_uncompressed_size(uncompressed as i64)
            .set_dictionary_page_offset(Some(dictionary.offset as i64))
            .set_data_page_offset(data.offset as i64)
            .set_statistics(Statistics::ByteArray(statistics))
            .build()?;
        let close = ColumnCloseResult {
            bytes_written: chunk.len() as u64,
            rows_written: rows as u64,
            metadata,
            bloom_filter: None,
            column_index: None,
            offset_index: Some(offset_index.build()),
        };
        row_group.append_column(&chunk, close)
    }
}

/// An unsigned number in base 128, the lowest seven bits first (ULEB128).
fn push_varint(out: &mut Vec<u8>, mut value: u64) {
    while value >= 0x80 {
        out.push(value as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_neighbours_are_one_run() {
        let mut runs = Runs::default();
        runs.push("a", 3);
        runs.push("a", 2);
        runs.push("b", 0);
        runs.extend(&[1, 1, 2], |item| if *item == 1 { "b" } else { "a" });
        assert_eq!(runs.lengths, [(0, 5), (1, 2), (0, 1)]);
    }

    #[test]
    fn numbers_in_base_128() {
        // 300 is AC 02: Protocol Buffers, "Encoding", the example of a varint.
        let mut out = Vec::new();
        push_varint(&mut out, 300);
        assert_eq!(out, [0xAC, 0x02]);
    }
}
