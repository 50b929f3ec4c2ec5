//! Text to records: physical lines, joined where a quoted cell holds line ends.

use super::decode::Text;
use super::quote::{self, Further};

/// A quoted cell may go over this many lines; beyond, its quote counts as unclosed.
const LONGEST_QUOTED_LINES: u32 = 64;

impl Text<'_> {
    /// Iterates over the records under a delimiter.
    pub(crate) fn records(&self, delimiter: u8) -> Records<'_> {
        self.records_from(0, delimiter)
    }

    /// Iterates over the records from the offset of one on; their `line` counts from
    /// there.
    pub(crate) fn records_from(&self, at: usize, delimiter: u8) -> Records<'_> {
        Records {
            bytes: self.bytes(),
            at,
            line: 1,
            delimiter,
            quotes: self.has_quotes(),
            padded: self.is_padded(),
        }
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
    /// Whether there is nothing in it but space, delimiters and padding (zero bytes, the
    /// end-of-file mark of old systems).
    pub(crate) fn is_blank(&self, delimiter: u8) -> bool {
        self.raw.iter().all(|&b| b.is_ascii_whitespace() || b == delimiter || matches!(b, 0 | 0x1A))
    }
}

/// Iterator over records; see [`Text::records`].
pub(crate) struct Records<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u32,
    delimiter: u8,
    quotes: bool,
    padded: bool,
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
            quoted: self.quotes && memchr::memchr(b'"', &self.bytes[start..end]).is_some(),
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
            let mut open = quote::is_open_after(record.raw, self.delimiter);
            let mut lines = 1;
            let mut stray = false;
            while open && !stray && lines < LONGEST_QUOTED_LINES && next < self.bytes.len() {
                let line = next;
                (end, next) = line_end(self.bytes, line);
                lines += 1;
                match quote::further(&self.bytes[line..end], self.delimiter) {
                    Further::Open => {}
                    Further::Closed => open = false,
                    Further::Stray => stray = true,
                }
            }
            if open {
                record.unclosed = true;
                (_, next) = line_end(self.bytes, start);
            } else {
                record.raw = &self.bytes[from..end];
                record.lines = lines;
                record.ended = next > end;
            }
        }
        if self.padded && record.ended {
            let used = record.raw.iter().rposition(|&b| b != 0).map_or(0, |last| last + 1);
            record.raw = &record.raw[..used];
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
