//! A text from a place on, as much of it at once as a record needs.

use super::decode::Text;
use super::long::LongText;
use super::record::{Form, Record, find};

/// A text from a place on.
pub(super) struct Window<'t> {
    /// What is not in memory as a whole.
    long: Option<&'t LongText>,
    /// All of a short text.
    whole: &'t [u8],
    /// Of a long text, the part that was read.
    part: Vec<u8>,
    /// Where that part begins in the text.
    from: usize,
    /// Where the next record begins in the text.
    at: usize,
    /// Bytes that are read at once.
    step: usize,
}

impl Text<'_> {
    pub(super) fn window(&self, at: usize, step: usize) -> Window<'_> {
        let long = self.long();
        let whole = if long.is_some() { &[] } else { self.head() };
        Window { long, whole, part: Vec::new(), from: at, at, step }
    }
}

impl Window<'_> {
    /// The next record; its line is 1.
    pub(super) fn record(&mut self, form: Form) -> Option<Record<'_>> {
        let Some(long) = self.long else {
            if self.at >= self.whole.len() {
                return None;
            }
            let found = find(self.whole, self.at, form);
            self.at = found.next;
            return Some(found.record(self.whole));
        };
        if self.at >= long.len() {
            return None;
        }
        let mut step = self.step;
        let found = loop {
            let (start, end) = (self.at - self.from, self.from + self.part.len());
            if start < self.part.len() {
                let found = find(&self.part, start, form);
                // What follows may belong to it: a quoted cell that goes on, a line end's second byte.
                if end == long.len() || found.reach < self.part.len() {
                    break found;
                }
            }
            self.part.drain(..start);
            self.from = self.at;
            if !long.append(end, step, &mut self.part) {
                return None;
            }
            step *= 2;
        };
        let start = self.at;
        self.at = self.from + found.next;
        Some(Record { start, ..found.record(&self.part) })
    }
}
