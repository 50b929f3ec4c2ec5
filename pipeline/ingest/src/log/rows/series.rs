//! Rows of one time axis, as they stand in the log.

use crate::code::Code;
use columns::Packed;
use std::collections::HashSet;

/// Where a value stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct CellAt {
    /// Index of its series; 0 in a wide log.
    pub(crate) series: usize,
    pub(crate) row: usize,
    /// Channel in the series; 0 in a long log.
    pub(crate) channel: usize,
}

/// All channels of a wide log, or one channel of a long log.
#[derive(Default)]
pub(crate) struct Series {
    /// Times as written, ms (see [`crate::time::Stamp`]).
    pub(crate) ms: Packed<i64>,
    /// Whether a time has no offset of its own.
    pub(crate) local: Packed<bool>,
    pub(crate) line: Packed<u32>,
    /// Offset of the record in the text.
    pub(crate) start: Packed<usize>,
    /// °C by channel and row; NaN where there is none.
    pub(crate) values: Vec<Packed<f32>>,
    /// Rows rejected whole: index and code.
    pub(crate) out: Vec<(usize, Code)>,
    /// Cells rejected: row, channel and code.
    pub(crate) cells_out: Vec<(usize, usize, Code)>,
    /// Rows whose clock was put right.
    pub(crate) retimed: Packed<usize>,
    /// The instant of each row, ms; `None` where it is rejected. Empty until clocks are settled.
    pub(crate) at_ms: Packed<Option<i64>>,
    /// Rows in order of time. Empty until doubles are settled.
    pub(crate) order: Packed<u32>,
    /// Whether a row came out of order. Empty until doubles are settled.
    pub(crate) moved: Packed<bool>,
}

impl Series {
    pub(crate) fn new(channels: usize) -> Self {
        Self { values: vec![Packed::new(); channels], ..Self::default() }
    }

    /// Makes room for so many rows.
    pub(crate) fn reserve(&mut self, rows: usize) {
        self.ms.reserve(rows);
        self.local.reserve(rows);
        self.line.reserve(rows);
        self.start.reserve(rows);
        self.values.iter_mut().for_each(|values| values.reserve(rows));
    }

    /// The written time of each row, `None` where it is rejected.
    pub(crate) fn known_times(&self) -> Packed<Option<i64>> {
        let out: HashSet<usize> = self.out.iter().map(|(row, _)| *row).collect();
        let known = |(row, ms)| (out.is_empty() || !out.contains(&row)).then_some(ms);
        self.ms.iter().enumerate().map(known).collect()
    }

    /// Turns the rows round, for a log whose newest row stands first.
    pub(crate) fn reverse(&mut self) {
        self.ms.reverse();
        self.local.reverse();
        self.line.reverse();
        self.start.reverse();
        self.values.iter_mut().for_each(Packed::reverse);
        let last = self.ms.len().saturating_sub(1);
        self.out.iter_mut().for_each(|(row, _)| *row = last - *row);
        self.cells_out.iter_mut().for_each(|(row, _, _)| *row = last - *row);
    }

    /// One channel of these values, without times.
    #[cfg(test)]
    pub(crate) fn of(values: Vec<f32>) -> Self {
        Self { values: vec![values.into()], ..Self::default() }
    }
}
