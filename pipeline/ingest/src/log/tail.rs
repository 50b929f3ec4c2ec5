//! Lines and cells that lost their end.

use super::plan::evidence;
use super::read::Reader;
use crate::code::Code;
use crate::number;
use crate::text::Splitter;
use std::collections::{BTreeSet, HashMap};

/// Widths of short lines that occur this often, or in this share of lines, are the
/// logger's way; others are lines that lost something.
const SHORT_LINES: usize = 3;
const SHORT_SHARE: usize = 100;
/// Of so many cells all but one have the same decimals where decimals are kept.
const KEPT: u64 = 20;
/// Lines that are remembered for having fewer decimals than others.
const MOST: usize = 100_000;

/// Decimals of the last cells of lines.
#[derive(Default)]
pub(super) struct Tails {
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
    pub(super) fn width(&mut self, series: usize, row: usize, cells: usize) {
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
    fn without_end(&self) -> Vec<(usize, usize, usize)> {
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
    pub(super) fn add(
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
    fn cut(&self) -> Vec<(usize, usize, usize)> {
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
fn decimals(cell: &[u8], decimal: u8) -> Option<usize> {
    number::parse_with_unit(cell, decimal)?;
    let behind = cell.iter().rposition(|&b| b == decimal).map_or(&[][..], |at| &cell[at + 1..]);
    Some(behind.iter().take_while(|b| b.is_ascii_digit()).count())
}

impl Reader<'_> {
    /// Rejects cells that lost decimals, then lines that lost cells, then the last cell of
    /// a log that ends within it.
    pub(super) fn settle_tails(&mut self) {
        let cut: BTreeSet<(usize, usize, usize)> = self.tails.cut().into_iter().collect();
        let cut_rows: BTreeSet<(usize, usize)> = cut.iter().map(|&(s, row, _)| (s, row)).collect();
        for &(series, row, channel) in &cut {
            self.cut_cell(series, row, channel);
        }
        let used = self.plan.names.len();
        let last = match self.plan.long {
            Some(long) => (long.value + 1 == used).then_some(0),
            None => self.plan.channels.iter().position(|ch| ch.column + 1 == used),
        };
        for (series, row, cells) in self.tails.without_end() {
            if let Some(channel) = last.filter(|_| cells == used) {
                self.cut_cell(series, row, channel);
            }
        }
        self.settle_short_lines(&cut_rows);
        self.settle_last_cell();
    }

    fn cut_cell(&mut self, series: usize, row: usize, channel: usize) {
        let value = &mut self.series[series].values[channel][row];
        if !value.is_nan() {
            *value = f32::NAN;
            self.series[series].cells_out.push((row, channel, Code::TruncatedCell));
            self.suspects.retain(|s| (s.series, s.row, s.channel) != (series, row, channel));
        }
    }

    /// Short lines: of a usual width they lack only trailing values; else they lost some
    /// cell and nobody knows which.
    fn settle_short_lines(&mut self, cut_rows: &BTreeSet<(usize, usize)>) {
        let rows: usize = self.series.iter().map(|series| series.ms.len()).sum();
        let mut widths: HashMap<usize, usize> = HashMap::new();
        for &(_, _, width) in &self.short {
            *widths.entry(width).or_default() += 1;
        }
        let usual = |width: usize| {
            let count = widths.get(&width).copied().unwrap_or(0);
            count >= SHORT_LINES && count * SHORT_SHARE >= rows
        };
        // No full line ends in an empty cell, and a fifth of all end early: the logger leaves
        // trailing empty cells out, whichever they are.
        let short: usize = widths.values().filter(|&&count| count >= SHORT_LINES).sum();
        let ragged = self.empty_ends == 0 && short * 5 >= rows;
        // Where spaces part cells, an empty cell cannot be seen: any may be the missing one.
        let spaced = matches!(self.plan.delimiter, b' ' | crate::text::GAP);
        let mut accepted = 0_u64;
        let mut out = Vec::new();
        for &(series, row, width) in &self.short {
            let record = self.record_of(&self.series[series], row);
            if !record.is_some_and(|record| record.ended) {
                out.push((series, row, Code::TruncatedLine));
            } else if (usual(width) || ragged)
                && !spaced
                && !cut_rows.contains(&(series, row))
                && !self.is_cut(series, row, width - 1)
            {
                accepted += 1;
            } else {
                out.push((series, row, Code::TooFewCells));
            }
        }
        for (series, row, code) in out {
            self.series[series].out.push((row, code));
        }
        if accepted > 0 {
            self.plan.evidence.push(evidence(
                "short lines",
                "trailing values missing",
                &format!("{accepted} lines end early, as usual in this log"),
                "export the log with all cells",
            ));
        }
    }

    /// Whether the last cell of a short line has fewer decimals than the cells of the same
    /// column above or below, or is less than half of both.
    fn is_cut(&self, series: usize, row: usize, column: usize) -> bool {
        let series = &self.series[series];
        let mut splitter = Splitter::new(self.plan.delimiter);
        let mut cell = |row: usize| -> Option<(usize, f64)> {
            let record = self.record_of(series, row)?;
            let cell = splitter.split(&record).get(column).to_vec();
            let value = number::parse_with_unit(&cell, self.plan.decimal)?.0;
            Some((decimals(&cell, self.plan.decimal)?, value.abs()))
        };
        let holds_values = match self.plan.long {
            Some(long) => long.value == column,
            None => self.plan.channels.iter().any(|channel| channel.column == column),
        };
        if !holds_values {
            return false;
        }
        let Some((own, value)) = cell(row) else { return false };
        let near: Vec<(usize, f64)> = [row.checked_sub(1), Some(row + 1)]
            .into_iter()
            .flatten()
            .filter(|&other| other < series.ms.len())
            .filter_map(cell)
            .collect();
        near.iter().any(|&(decimals, _)| own < decimals)
            || (!near.is_empty() && near.iter().all(|&(_, other)| value < other / 2.0))
    }

    /// The last cell of a log that ends without a line end may be cut: it is rejected
    /// where it is empty, has fewer decimals or is less than half of the one above.
    fn settle_last_cell(&mut self) {
        let latest = (0..self.series.len()).filter(|&s| !self.series[s].ms.is_empty());
        let Some(index) = latest.max_by_key(|&s| self.series[s].start.last().copied()) else {
            return;
        };
        let series = &self.series[index];
        let Some(row) = series.ms.len().checked_sub(1).filter(|&row| row > 0) else { return };
        let (Some(above), Some(last)) =
            (self.record_of(series, row - 1), self.record_of(series, row))
        else {
            return;
        };
        let (channel, at) = match self.plan.long {
            Some(long) if long.value + 1 == self.plan.names.len() => (0, long.value),
            Some(_) => return,
            None => {
                let end = self.plan.names.len();
                let Some(c) = self.plan.channels.iter().position(|ch| ch.column + 1 == end) else {
                    return;
                };
                (c, end - 1)
            }
        };
        if last.ended {
            return;
        }
        let mut splitter = Splitter::new(self.plan.delimiter);
        let above = splitter.split(&above).get(at).to_vec();
        let cut = splitter.split(&last).get(at).to_vec();
        let value = |cell: &[u8]| number::parse_with_unit(cell, self.plan.decimal).map(|v| v.0);
        match (value(&above), value(&cut)) {
            (Some(_), None) if cut.is_empty() => {
                self.series[index].cells_out.push((row, channel, Code::TruncatedCell));
            }
            (Some(higher), Some(lower))
                if lower.abs() < higher.abs() / 2.0
                    || decimals(&cut, self.plan.decimal) < decimals(&above, self.plan.decimal) =>
            {
                self.cut_cell(index, row, channel);
            }
            _ => {}
        }
    }
}
