//! Bytes of a file to text, records and cells.
//!
//! Records are found line by line, so that every physical line belongs to exactly one
//! record, and a quote that is never closed spoils its own line only.

use crate::error::{IngestError, Place};
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use std::fmt::Write as _;
use std::path::Path;

/// A quoted cell may go over this many lines; beyond, its quote counts as unclosed.
const LONGEST_QUOTED_LINES: u32 = 64;

pub(crate) fn read_bytes(path: &Path, shown_as: &str) -> Result<Vec<u8>, IngestError> {
    std::fs::read(path).map_err(|source| IngestError::Unreadable {
        place: Place::file(shown_as).into(),
        try_this: match source.kind() {
            std::io::ErrorKind::NotFound => "check the name and the folder".to_owned(),
            std::io::ErrorKind::PermissionDenied => "give yourself leave to read it".to_owned(),
            std::io::ErrorKind::IsADirectory => "name a file in this folder".to_owned(),
            _ => "copy the file to this disk and read the copy".to_owned(),
        },
        source,
    })
}

/// SHA-256 of bytes, hexadecimal.
pub(crate) fn content_hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// A file's text in UTF-8, without byte order mark.
pub(crate) struct Text<'a> {
    bytes: Cow<'a, [u8]>,
    /// Length of the byte order mark.
    mark: usize,
    /// Where a one-byte degree sign became two bytes: offsets of the second byte.
    widened: Vec<usize>,
}

impl<'a> Text<'a> {
    /// Decodes UTF-8 with or without a byte order mark. A lone 0xB0 (the degree sign of
    /// Windows-1252 and ISO 8859-1) is read as such; anything else is refused.
    pub(crate) fn decode(bytes: &'a [u8], shown_as: &str) -> Result<Self, IngestError> {
        refuse_other_files(bytes, shown_as)?;
        let mark = if bytes.starts_with(b"\xEF\xBB\xBF") { 3 } else { 0 };
        let body = &bytes[mark..];
        let Err(error) = std::str::from_utf8(body) else {
            return Ok(Self { bytes: Cow::Borrowed(body), mark, widened: Vec::new() });
        };
        let mut out = Vec::with_capacity(body.len() + 16);
        let mut widened = Vec::new();
        let mut rest = body;
        let mut valid = error.valid_up_to();
        loop {
            out.extend_from_slice(&rest[..valid]);
            rest = &rest[valid..];
            match rest.first() {
                None => break,
                Some(0xB0) => {
                    out.extend_from_slice("°".as_bytes());
                    widened.push(out.len() - 1);
                    rest = &rest[1..];
                }
                Some(other) => {
                    let at = body.len() - rest.len();
                    let line = count_lines(&body[..at]) + 1;
                    let start = body[..at].iter().rposition(|b| matches!(b, b'\n' | b'\r'));
                    let start = start.map_or(0, |p| p + 1);
                    let end = memchr::memchr2(b'\n', b'\r', rest).map_or(body.len(), |p| at + p);
                    return Err(IngestError::NotText {
                        place: Place::line(shown_as, line, &body[start..end]).into(),
                        what: format!("the byte 0x{other:02X} is not UTF-8"),
                        try_this: "export or save the file again as UTF-8".to_owned(),
                    });
                }
            }
            valid = match std::str::from_utf8(rest) {
                Ok(_) => rest.len(),
                Err(error) => error.valid_up_to(),
            };
        }
        Ok(Self { bytes: Cow::Owned(out), mark, widened })
    }

    pub(crate) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Whether the file had one-byte degree signs.
    pub(crate) fn has_one_byte_degrees(&self) -> bool {
        !self.widened.is_empty()
    }

    /// The offset in the file of an offset in the text.
    pub(crate) fn file_offset(&self, at: usize) -> u64 {
        (at + self.mark - self.widened.partition_point(|&w| w < at)) as u64
    }

    /// Iterates over the records under a delimiter.
    pub(crate) fn records(&self, delimiter: u8) -> Records<'_> {
        Records { bytes: &self.bytes, at: 0, line: 1, delimiter }
    }

    /// Iterates over the records from the offset of one on; their `line` counts from
    /// there.
    pub(crate) fn records_from(&self, at: usize, delimiter: u8) -> Records<'_> {
        Records { bytes: &self.bytes, at, line: 1, delimiter }
    }
}

fn refuse_other_files(bytes: &[u8], shown_as: &str) -> Result<(), IngestError> {
    const CSV: &str = "open it in a spreadsheet program and export the sheet as CSV (UTF-8)";
    let refuse = |what: &str, try_this: &str| {
        Err(IngestError::NotText {
            place: Place::file(shown_as).into(),
            what: what.to_owned(),
            try_this: try_this.to_owned(),
        })
    };
    if bytes.starts_with(b"PK\x03\x04") {
        return refuse("this is a workbook (XLSX or ODS) or another archive, not CSV text", CSV);
    }
    if bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        return refuse("this is an old binary workbook, not CSV text", CSV);
    }
    if bytes.starts_with(b"%PDF") {
        return refuse("this is a PDF, not CSV text", "export the readings as CSV");
    }
    let utf16 = "export or save the file again as UTF-8";
    if bytes.starts_with(b"\xFF\xFE") || bytes.starts_with(b"\xFE\xFF") {
        return refuse("the file is in UTF-16", utf16);
    }
    let head = &bytes[..bytes.len().min(4096)];
    let zeros = memchr::memchr_iter(0, head).count();
    if zeros * 5 > head.len() {
        return refuse(
            "a fifth or more of the file's head are zero bytes: UTF-16, or no text",
            utf16,
        );
    }
    Ok(())
}

fn count_lines(bytes: &[u8]) -> u64 {
    let mut count = 0;
    for at in memchr::memchr2_iter(b'\n', b'\r', bytes) {
        if bytes[at] == b'\n' || bytes.get(at + 1) != Some(&b'\n') {
            count += 1;
        }
    }
    count
}

/// One record: one physical line, or several where a quoted cell holds line ends.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Record<'a> {
    /// Its text without the line end.
    pub(crate) raw: &'a [u8],
    /// Offset in the text.
    pub(crate) start: usize,
    /// First line, from 1.
    pub(crate) line: u32,
    /// Physical lines.
    pub(crate) lines: u32,
    /// Whether a line end follows.
    pub(crate) ended: bool,
    /// Whether there is a quote in it.
    pub(crate) quoted: bool,
    /// Whether a quote in it is never closed.
    pub(crate) unclosed: bool,
}

impl Record<'_> {
    /// Whether there is nothing in it but space and delimiters.
    pub(crate) fn is_blank(&self, delimiter: u8) -> bool {
        self.raw.iter().all(|&b| b.is_ascii_whitespace() || b == delimiter)
    }
}

/// Iterator over records; see [`Text::records`].
pub(crate) struct Records<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u32,
    delimiter: u8,
}

impl<'a> Iterator for Records<'a> {
    type Item = Record<'a>;

    fn next(&mut self) -> Option<Record<'a>> {
        let start = self.at;
        if start >= self.bytes.len() {
            return None;
        }
        let (mut end, mut next) = line_end(self.bytes, start);
        let mut record = Record {
            raw: &self.bytes[start..end],
            start,
            line: self.line,
            lines: 1,
            ended: next > end,
            quoted: memchr::memchr(b'"', &self.bytes[start..end]).is_some(),
            unclosed: false,
        };
        if record.quoted {
            let mut open = quote_open(false, true, record.raw, self.delimiter);
            let mut lines = 1;
            while open && lines < LONGEST_QUOTED_LINES && next < self.bytes.len() {
                let from = next;
                (end, next) = line_end(self.bytes, from);
                lines += 1;
                open = quote_open(true, false, &self.bytes[from..end], self.delimiter);
            }
            if open {
                record.unclosed = true;
                (_, next) = line_end(self.bytes, start);
            } else {
                record.raw = &self.bytes[start..end];
                record.lines = lines;
                record.ended = next > end;
            }
        }
        self.at = next;
        self.line += record.lines;
        Some(record)
    }
}

/// End of the line that begins at `from`, and where the next begins.
fn line_end(bytes: &[u8], from: usize) -> (usize, usize) {
    match memchr::memchr2(b'\n', b'\r', &bytes[from..]) {
        None => (bytes.len(), bytes.len()),
        Some(length) => {
            let end = from + length;
            let two = bytes[end] == b'\r' && bytes.get(end + 1) == Some(&b'\n');
            (end, end + if two { 2 } else { 1 })
        }
    }
}

/// Whether a quoted cell is open at the end of a line.
fn quote_open(mut open: bool, mut cell_start: bool, line: &[u8], delimiter: u8) -> bool {
    let mut i = 0;
    while i < line.len() {
        let byte = line[i];
        if open {
            if byte == b'"' {
                if line.get(i + 1) == Some(&b'"') {
                    i += 1;
                } else {
                    open = false;
                }
            }
        } else if byte == b'"' && cell_start {
            open = true;
        }
        cell_start = !open && byte == delimiter;
        i += 1;
    }
    open
}

/// Splits records into cells, reusing its memory.
pub(crate) struct Splitter {
    delimiter: u8,
    ranges: Vec<(u32, u32)>,
    buffer: Vec<u8>,
    ends: Vec<usize>,
    csv: csv_core::Reader,
}

impl Splitter {
    pub(crate) fn new(delimiter: u8) -> Self {
        Self {
            delimiter,
            ranges: Vec::new(),
            buffer: Vec::new(),
            ends: Vec::new(),
            csv: csv_core::ReaderBuilder::new().delimiter(delimiter).build(),
        }
    }

    pub(crate) fn split<'s>(&'s mut self, record: &Record<'s>) -> Cells<'s> {
        self.ranges.clear();
        if record.quoted && !record.unclosed {
            self.split_quoted(record.raw);
            return Cells { source: &self.buffer, ranges: &self.ranges };
        }
        let mut from = 0;
        for at in memchr::memchr_iter(self.delimiter, record.raw) {
            self.ranges.push((from, at as u32));
            from = at as u32 + 1;
        }
        self.ranges.push((from, record.raw.len() as u32));
        Cells { source: record.raw, ranges: &self.ranges }
    }

    fn split_quoted(&mut self, raw: &[u8]) {
        self.csv.reset();
        self.buffer.resize(raw.len() + 1, 0);
        self.ends.resize(memchr::memchr_iter(self.delimiter, raw).count() + 2, 0);
        // Both buffers hold the whole record, so one read takes it and one ends it.
        let (_, _, written, ended) = self.csv.read_record(raw, &mut self.buffer, &mut self.ends);
        let (_, _, _, more) =
            self.csv.read_record(&[], &mut self.buffer[written..], &mut self.ends[ended..]);
        let mut from = 0;
        for &end in &self.ends[..ended + more] {
            self.ranges.push((from, end as u32));
            from = end as u32;
        }
    }
}

/// The cells of one record.
#[derive(Clone, Copy)]
pub(crate) struct Cells<'a> {
    source: &'a [u8],
    ranges: &'a [(u32, u32)],
}

impl<'a> Cells<'a> {
    pub(crate) fn len(&self) -> usize {
        self.ranges.len()
    }

    /// A cell without outer space; empty where the record has no such cell.
    pub(crate) fn get(&self, index: usize) -> &'a [u8] {
        self.ranges
            .get(index)
            .map_or(&[][..], |&(from, to)| trim(&self.source[from as usize..to as usize]))
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = &'a [u8]> + use<'a> {
        let this = *self;
        (0..this.len()).map(move |i| this.get(i))
    }

    pub(crate) fn texts(&self) -> Vec<String> {
        self.iter().map(|cell| String::from_utf8_lossy(cell).into_owned()).collect()
    }
}

/// Without outer space, the no-break space among it.
pub(crate) fn trim(mut cell: &[u8]) -> &[u8] {
    loop {
        let before = cell.len();
        cell = cell.trim_ascii();
        cell = cell.strip_prefix("\u{a0}".as_bytes()).unwrap_or(cell);
        cell = cell.strip_suffix("\u{a0}".as_bytes()).unwrap_or(cell);
        if cell.len() == before {
            return cell;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn records(text: &str, delimiter: u8) -> Vec<(u32, u32, Vec<String>)> {
        let text = Text::decode(text.as_bytes(), "t.csv").unwrap();
        let mut splitter = Splitter::new(delimiter);
        text.records(delimiter)
            .map(|record| (record.line, record.lines, splitter.split(&record).texts()))
            .collect()
    }

    #[test]
    fn every_kind_of_line_end_is_one_line() {
        let read = records("a,b\r\nc,d\re\n\nf", b',');
        let lines: Vec<u32> = read.iter().map(|r| r.0).collect();
        assert_eq!(lines, [1, 2, 3, 4, 5]);
        assert_eq!(read[1].2, ["c", "d"]);
    }

    #[test]
    fn a_quoted_line_end_spans_and_an_unclosed_quote_does_not() {
        let read = records("a,\"b\nc\"\"d\",e\nf,\"g\nh,i\n", b',');
        assert_eq!(read[0], (1, 2, vec!["a".into(), "b\nc\"d".into(), "e".into()]));
        assert_eq!(read[1].0, 3);
        assert_eq!(read[2], (4, 1, vec!["h".into(), "i".into()]));
    }

    #[test]
    fn a_one_byte_degree_sign_is_read_and_offsets_stay_those_of_the_file() {
        let bytes = b"t,Pit \xB0F\n1,2\n";
        let text = Text::decode(bytes, "t.csv").unwrap();
        let starts: Vec<u64> =
            text.records(b',').map(|record| text.file_offset(record.start)).collect();
        assert_eq!(starts, [0, 9]);
        assert!(Text::decode(b"t,caf\xE9\n", "t.csv").is_err());
        assert!(Text::decode(b"\xFF\xFEt\0", "t.csv").is_err());
        assert!(Text::decode(b"t\0,\0a\0\n\0", "t.csv").is_err());
    }

    proptest! {
        /// The `csv` crate reads what well-formed writers write in the same way.
        #[test]
        fn cells_agree_with_the_csv_crate(
            rows in prop::collection::vec(prop::collection::vec("[a-z\",;\n ]{0,6}", 2..5), 1..6),
        ) {
            let mut writer =
                csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let bytes = writer.into_inner().unwrap();
            let text = Text::decode(&bytes, "t.csv").unwrap();
            let mut splitter = Splitter::new(b',');
            let read: Vec<Vec<String>> = text
                .records(b',')
                .map(|record| splitter.split(&record).texts())
                .collect();
            let trimmed: Vec<Vec<String>> = rows
                .iter()
                .map(|row| row.iter().map(|cell| cell.trim().to_owned()).collect())
                .collect();
            prop_assert_eq!(read, trimmed);
        }
    }
}
