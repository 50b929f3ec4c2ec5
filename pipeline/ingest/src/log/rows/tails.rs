//! What is remembered of the ends of lines: how many cells they have, and decimals in the last.

use crate::number;
use std::collections::HashMap;

/// Of so many cells all but one have the same decimals where decimals are kept.
const KEPT: u64 = 20;
/// Lines that are remembered for having fewer decimals than others.
const MOST: usize = 100_000;

/// Decimals of the last cells of lines.
#[derive(Default)]
pub(crate) struct Tails {
    /// Cells by their number of decimals; the last is seven or more.
    counts: [u64; 8],
    /// Series, row, channel and decimals of cells that have fewer than some before.
    fewer: Vec<(usize, usize, usize, usize)>,
    most: usize,
    /// Lines by their number of cells, empty ones at the end among them.
    widths: HashMap<usize, u64>,
    /// Series, row and cells of lines that have fewer than some before.
    narrow: Vec<(usize, usize, usize)>,
    widest: usize,
    usual_lines: u64,
}

impl Tails {
    /// Takes note of the cells of a line.
    pub(crate) fn width(&mut self, series: usize, row: usize, cells: usize) {
        if cells == self.widest {
            self.usual_lines += 1;
            return;
        }
        *self.widths.entry(cells).or_default() += 1;
        if cells < self.widest && self.narrow.len() < MOST {
            self.narrow.push((series, row, cells));
        }
        if cells > self.widest {
            let before = std::mem::take(&mut self.usual_lines);
            *self.widths.entry(self.widest).or_default() += before;
            self.widest = cells;
        }
    }

    /// Rows of lines that lack empty cells which nearly all others have at their end.
    pub(crate) fn without_end(&self) -> Vec<(usize, usize, usize)> {
        let mut widths = self.widths.clone();
        *widths.entry(self.widest).or_default() += self.usual_lines;
        let total: u64 = widths.values().sum();
        let (usual, count) =
            widths.iter().map(|(&w, &c)| (w, c)).max_by_key(|&(w, c)| (c, w)).unwrap_or((0, 0));
        if (total - count) * KEPT > total {
            return Vec::new();
        }
        self.narrow.iter().copied().filter(|&(_, _, cells)| cells < usual).collect()
    }

    /// Takes note of the last cell of a line.
    pub(crate) fn add(
        &mut self,
        series: usize,
        row: usize,
        channel: usize,
        cell: &[u8],
        decimal: u8,
    ) {
        let Some(decimals) = decimals(cell, decimal) else { return };
        let decimals = decimals.min(7);
        self.counts[decimals] += 1;
        if decimals < self.most && self.fewer.len() < MOST {
            self.fewer.push((series, row, channel, decimals));
        }
        self.most = self.most.max(decimals);
    }

    /// Cells that have fewer decimals than all but a few others.
    pub(crate) fn cut(&self) -> Vec<(usize, usize, usize)> {
        let total: u64 = self.counts.iter().sum();
        let usual = (0..8).max_by_key(|&d| self.counts[d]).unwrap_or(0);
        if (total - self.counts[usual]) * KEPT > total {
            return Vec::new();
        }
        let cut = self.fewer.iter().filter(|cell| cell.3 < usual);
        cut.map(|&(series, row, channel, _)| (series, row, channel)).collect()
    }
}

/// Decimals of a number; `None` where it is none.
pub(crate) fn decimals(cell: &[u8], decimal: u8) -> Option<usize> {
    number::parse_with_unit(cell, decimal)?;
    let behind = cell.iter().rposition(|&b| b == decimal).map_or(&[][..], |at| &cell[at + 1..]);
    Some(behind.iter().take_while(|b| b.is_ascii_digit()).count())
}
