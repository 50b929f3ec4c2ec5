//! Records to cells.

use super::quote::{self, Inside};
use super::record::Record;
use super::space::{GAP, trim};

/// Splits records into cells, reusing its memory.
pub(crate) struct Splitter {
    delimiter: u8,
    ranges: Vec<(u32, u32)>,
    buffer: Vec<u8>,
}

impl Splitter {
    /// A splitter at a byte; a space is any run of spaces, [`GAP`] two spaces or more.
    pub(crate) fn new(delimiter: u8) -> Self {
        Self { delimiter, ranges: Vec::new(), buffer: Vec::new() }
    }

    pub(crate) fn split<'s>(&'s mut self, record: &Record<'s>) -> Cells<'s> {
        self.ranges.clear();
        let quoted = record.quoted && !record.unclosed;
        if matches!(self.delimiter, b' ' | GAP) {
            self.split_spaced(record.raw, quoted);
        } else if quoted {
            if self.split_quoted(record.raw) {
                return Cells { source: &self.buffer, ranges: &self.ranges };
            }
        } else {
            let mut from = 0;
            for at in memchr::memchr_iter(self.delimiter, record.raw) {
                self.ranges.push((from, at as u32));
                from = at as u32 + 1;
            }
            self.ranges.push((from, record.raw.len() as u32));
        }
        Cells { source: record.raw, ranges: &self.ranges }
    }

    /// Splits at runs of spaces. A quoted cell keeps its spaces; escapes in it stay as
    /// they are.
    fn split_spaced(&mut self, raw: &[u8], quoted: bool) {
        let least = if self.delimiter == GAP { 2 } else { 1 };
        let mut at = quote::skip_space(raw, 0);
        while at < raw.len() {
            let open = quoted && raw[at] == b'"';
            let close = if open { memchr::memchr(b'"', &raw[at + 1..]) } else { None };
            if let Some(length) = close {
                self.ranges.push((at as u32 + 1, (at + 1 + length) as u32));
                at = quote::skip_space(raw, at + length + 2);
                continue;
            }
            let mut end = at;
            loop {
                let next = end + memchr::memchr(b' ', &raw[end..]).unwrap_or(raw.len() - end);
                let after = quote::skip_space(raw, next);
                if after - next >= least || after == raw.len() {
                    self.ranges.push((at as u32, next as u32));
                    at = after;
                    break;
                }
                end = after;
            }
        }
    }

    /// Splits a record with quotes. Cells without escapes are ranges of the record; with
    /// the first escape all is copied to the buffer, and the answer is true.
    fn split_quoted(&mut self, raw: &[u8]) -> bool {
        let mut at = 0;
        loop {
            let start = quote::skip_space(raw, at);
            let mut from = at;
            if raw.get(start) == Some(&b'"') {
                let Some(end) = memchr::memchr(b'"', &raw[start + 1..]).map(|n| start + 1 + n)
                else {
                    break;
                };
                let escaped = raw[end - 1] == b'\\' || raw.get(end + 1) == Some(&b'"');
                let rest = &raw[end + 1..];
                let next = memchr::memchr(self.delimiter, rest).map_or(raw.len(), |n| end + 1 + n);
                if escaped || !trim(&raw[end + 1..next]).is_empty() {
                    self.copy_quoted(raw);
                    return true;
                }
                self.ranges.push((start as u32 + 1, end as u32));
                from = next;
            } else {
                let next =
                    memchr::memchr(self.delimiter, &raw[from..]).map_or(raw.len(), |n| from + n);
                self.ranges.push((from as u32, next as u32));
                from = next;
            }
            if from >= raw.len() {
                break;
            }
            at = from + 1;
        }
        false
    }

    fn copy_quoted(&mut self, raw: &[u8]) {
        self.ranges.clear();
        self.buffer.clear();
        let mut at = 0;
        loop {
            let begin = self.buffer.len() as u32;
            let start = quote::skip_space(raw, at);
            if raw.get(start) == Some(&b'"') {
                at = self.copy_text(raw, start + 1);
            }
            let next = memchr::memchr(self.delimiter, &raw[at..]).map_or(raw.len(), |n| at + n);
            self.buffer.extend_from_slice(&raw[at..next]);
            self.ranges.push((begin, self.buffer.len() as u32));
            if next >= raw.len() {
                return;
            }
            at = next + 1;
        }
    }

    /// Copies a quoted cell's text without its escapes; returns where it has ended.
    fn copy_text(&mut self, raw: &[u8], mut at: usize) -> usize {
        loop {
            let Some(mark) = quote::next_mark(raw, at) else {
                self.buffer.extend_from_slice(&raw[at..]);
                return raw.len();
            };
            self.buffer.extend_from_slice(&raw[at..mark]);
            match quote::inside(raw, mark, self.delimiter) {
                Inside::Closing(text) => {
                    self.buffer.extend_from_slice(&raw[mark..mark + text]);
                    return mark + text + 1;
                }
                Inside::BackslashAndQuote => {
                    self.buffer.extend_from_slice(b"\\\"");
                    at = mark + 3;
                }
                Inside::Quote => {
                    self.buffer.push(b'"');
                    at = mark + 2;
                }
            }
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
