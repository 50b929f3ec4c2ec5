//! Text to records: physical lines, joined where a quoted cell holds line ends.

use super::decode::Text;
use super::quote::{self, Further};
use std::ops::{ControlFlow, Range};

/// A quoted cell may go over this many lines; beyond, its quote counts as unclosed.
pub(super) const LONGEST_QUOTED_LINES: u32 = 64;
/// So many records of a log are looked at to find its table, and of a long text so many are held.
pub(crate) const HEAD_RECORDS: usize = 400;
/// Bytes of a long text that are read at once, where all of it is wanted, and where a record is.
const MANY: usize = 1 << 18;
const FEW: usize = 1 << 12;

impl Text<'_> {
    /// Iterates over the records under a delimiter: those of a short text, and of a long one those of its head.
    pub(crate) fn records(&self, delimiter: u8) -> Records<'_> {
        Records { bytes: self.head(), at: 0, line: 1, form: self.form(delimiter) }
    }

    /// Shows every record with its index, as long as `each` goes on; the answer is what it breaks off with.
    pub(crate) fn visit<B>(
        &self,
        delimiter: u8,
        mut each: impl FnMut(usize, &Record<'_>) -> ControlFlow<B>,
    ) -> Option<B> {
        let form = self.form(delimiter);
        let mut window = self.window(0, MANY);
        let (mut index, mut line) = (0, 1);
        while let Some(whole) = window.record(form) {
            let record = Record { line, ..whole };
            line += record.lines;
            if let ControlFlow::Break(answer) = each(index, &record) {
                return Some(answer);
            }
            index += 1;
        }
        None
    }

    /// The record that begins at a place, read again.
    pub(crate) fn record_at(&self, at: RecordAt, delimiter: u8) -> Option<KeptRecord> {
        let mut window = self.window(at.start, FEW);
        let record = window.record(self.form(delimiter))?;
        let RecordAt { start, line } = at;
        Some(KeptRecord {
            raw: record.raw.to_vec(),
            but_raw: Record { raw: b"", start, line, ..record },
        })
    }

    fn form(&self, delimiter: u8) -> Form {
        Form { delimiter, quotes: self.has_quotes(), padded: self.is_padded() }
    }
}

/// Where a record begins: its offset in the text and its first line.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RecordAt {
    pub(crate) start: usize,
    pub(crate) line: u32,
}

/// A record with a text of its own.
pub(crate) struct KeptRecord {
    raw: Vec<u8>,
    but_raw: Record<'static>,
}

impl KeptRecord {
    pub(crate) fn record(&self) -> Record<'_> {
        Record { raw: &self.raw, ..self.but_raw }
    }
}

/// One record: one physical line, or several where a quoted cell holds line ends.
// Each of them is a fact of its own; an enum of combinations would hide that.
#[allow(clippy::struct_excessive_bools)]
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
    /// Whether zero bytes before it were left out.
    pub(crate) padded: bool,
}

impl Record<'_> {
    /// Where it begins.
    pub(crate) fn at(&self) -> RecordAt {
        RecordAt { start: self.start, line: self.line }
    }

    /// Whether there is nothing in it but space, delimiters and padding (zero bytes, the
    /// end-of-file mark of old systems).
    pub(crate) fn is_blank(&self, delimiter: u8) -> bool {
        self.raw.iter().all(|&b| b.is_ascii_whitespace() || b == delimiter || matches!(b, 0 | 0x1A))
    }
}

/// What tells records apart.
#[derive(Debug, Clone, Copy)]
pub(super) struct Form {
    delimiter: u8,
    /// Whether there is a quote anywhere in the text.
    quotes: bool,
    /// Whether lines are filled up with zero bytes as a rule.
    padded: bool,
}

/// A record as it was found in a stretch of text.
pub(super) struct Found {
    /// Its text.
    raw: Range<usize>,
    /// All else of it.
    but_raw: Record<'static>,
    /// Where the next begins.
    pub(super) next: usize,
    /// How far the text was looked at.
    pub(super) reach: usize,
}

impl Found {
    /// The record, from the text that it was found in.
    pub(super) fn record<'a>(&self, bytes: &'a [u8]) -> Record<'a> {
        Record { raw: &bytes[self.raw.clone()], ..self.but_raw }
    }
}

/// The record that begins at a place; its line is 1.
pub(super) fn find(bytes: &[u8], start: usize, form: Form) -> Found {
    let (mut end, mut next) = line_end(bytes, start);
    let mut reach = next;
    let mut record = Record {
        raw: &bytes[start..end],
        start,
        line: 1,
        lines: 1,
        ended: next > end,
        quoted: form.quotes && memchr::memchr(b'"', &bytes[start..end]).is_some(),
        unclosed: false,
        padded: false,
    };
    if record.raw.first() == Some(&0) {
        let zeros = record.raw.iter().take_while(|&&b| b == 0).count();
        record.padded = zeros < record.raw.len();
        if record.padded {
            record.raw = &record.raw[zeros..];
        }
    }
    let from = end - record.raw.len();
    if record.quoted {
        let mut open = quote::is_open_after(record.raw, form.delimiter);
        let mut lines = 1;
        let mut stray = false;
        while open && !stray && lines < LONGEST_QUOTED_LINES && next < bytes.len() {
            let line = next;
            (end, next) = line_end(bytes, line);
            reach = next;
            lines += 1;
            match quote::further(&bytes[line..end], form.delimiter) {
                Further::Open => {}
                Further::Closed => open = false,
                Further::Stray => stray = true,
            }
        }
        if open {
            record.unclosed = true;
            (_, next) = line_end(bytes, start);
        } else {
            record.raw = &bytes[from..end];
            record.lines = lines;
            record.ended = next > end;
        }
    }
    if form.padded && record.ended {
        let used = record.raw.iter().rposition(|&b| b != 0).map_or(0, |last| last + 1);
        record.raw = &record.raw[..used];
    }
    let raw = from..from + record.raw.len();
    Found { raw, but_raw: Record { raw: b"", ..record }, next, reach }
}

/// Iterator over records; see [`Text::records`].
pub(crate) struct Records<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u32,
    form: Form,
}

impl<'a> Iterator for Records<'a> {
    type Item = Record<'a>;

    fn next(&mut self) -> Option<Record<'a>> {
        if self.at >= self.bytes.len() {
            return None;
        }
        let found = find(self.bytes, self.at, self.form);
        let record = Record { line: self.line, ..found.record(self.bytes) };
        self.at = found.next;
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
