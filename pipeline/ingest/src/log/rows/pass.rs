//! The pass over the rows of a log.

use super::cell;
use super::ledger::{Pending, Rows};
use super::series::{CellAt, Series};
use crate::code::Code;
use crate::error::{IngestError, Place};
use crate::log::facts::preamble::key_and_value;
use crate::log::plan::channels;
use crate::log::plan::decide::Plan;
use crate::log::words;
use crate::number;
use crate::text::{Cells, Record, Splitter, Text};
use crate::time;
use std::collections::HashMap;
use std::ops::ControlFlow;

/// Reads every line once.
///
/// # Errors
/// [`IngestError::Contradiction`] where the columns change.
pub(crate) fn read<'t>(text: &'t Text<'t>, plan: &Plan<'t>) -> Result<Rows<'t>, IngestError> {
    let rows = Rows::new(text, plan);
    let mut pass = Pass { text, plan, rows, long_index: HashMap::new(), last_ms: i64::MIN };
    pass.pass()?;
    Ok(pass.rows)
}

/// Where the pass stands.
struct Pass<'p, 't> {
    text: &'t Text<'t>,
    plan: &'p Plan<'t>,
    rows: Rows<'t>,
    /// Series of a long log, by the channel's name.
    long_index: HashMap<Vec<u8>, usize>,
    /// Time of the row before, ms.
    last_ms: i64,
}

/// The lines of names and units, which may come again.
#[derive(Default)]
struct Heads {
    header: Vec<u8>,
    second: Vec<u8>,
    units: Vec<u8>,
}

impl Heads {
    fn are(&self, line: &[u8]) -> bool {
        let heads = [&self.header, &self.second, &self.units];
        heads.iter().any(|head| !head.is_empty() && line == **head)
    }
}

impl Pass<'_, '_> {
    fn pass(&mut self) -> Result<(), IngestError> {
        let text = self.text;
        let delimiter = self.plan.delimiter;
        let mut splitter = Splitter::new(delimiter);
        let mut heads = Heads::default();
        let read = |index, record: &Record<'_>| match self.record(
            index,
            record,
            &mut splitter,
            &mut heads,
        ) {
            Ok(()) => ControlFlow::Continue(()),
            Err(error) => ControlFlow::Break(error),
        };
        text.visit(delimiter, read).map_or(Ok(()), Err)
    }

    fn record(
        &mut self,
        index: usize,
        record: &Record<'_>,
        splitter: &mut Splitter,
        heads: &mut Heads,
    ) -> Result<(), IngestError> {
        let delimiter = self.plan.delimiter;
        let lines = u64::from(record.lines);
        self.rows.account.lines += lines;
        if record.is_blank(delimiter) {
            self.rows.account.blank += lines;
            return Ok(());
        }
        if index < self.plan.first_row {
            if self.plan.header_rows.contains(&index) {
                if Some(index) == self.plan.header {
                    heads.header = crate::text::trim(record.raw).to_vec();
                } else {
                    heads.second = crate::text::trim(record.raw).to_vec();
                }
                self.rows.account.header += lines;
            } else if Some(index) == self.plan.units_row {
                heads.units = crate::text::trim(record.raw).to_vec();
                self.rows.account.header += lines;
            } else {
                self.rows.account.preamble += lines;
            }
            return Ok(());
        }
        let bare = crate::text::trim(record.raw);
        let comment = &self.plan.comment;
        if !comment.is_empty() && bare.starts_with(comment.as_bytes()) {
            self.rows.account.footer += lines;
            self.rows.remarks.push(key_and_value(record.raw, record.line, delimiter));
            return Ok(());
        }
        if heads.are(bare) {
            self.rows.account.header += lines;
            return Ok(());
        }
        if record.unclosed {
            self.wait(record, Code::UnclosedQuote);
            return Ok(());
        }
        let cells = splitter.split(record);
        let cell = cells.get(self.plan.time[0]);
        let clock = self.plan.time.get(1).map(|&c| cells.get(c));
        let stamp = if self.plan.format.is_number() {
            time::parse_number(self.plan.format, cell, self.plan.time_decimal)
        } else {
            time::parse(self.plan.format, cell, clock)
        };
        match stamp {
            Some(stamp) => self.row(record, &cells, stamp),
            None => {
                if self.is_header_again(record, &cells)? {
                    self.rows.account.header += lines;
                } else {
                    self.wait(record, Code::BadTime);
                }
            }
        }
        Ok(())
    }

    /// Keeps a record until it is known what follows it.
    fn wait(&mut self, record: &Record<'_>, code: Code) {
        self.rows.pending.push(Pending { record: record.at(), lines: record.lines, code });
    }

    /// A later header: the same columns, or a contradiction.
    fn is_header_again(&self, record: &Record<'_>, cells: &Cells<'_>) -> Result<bool, IngestError> {
        let cell = cells.get(self.plan.time[0]);
        if self.plan.header.is_none()
            || !std::str::from_utf8(cell).is_ok_and(|cell| !cell.is_empty() && words::is_time(cell))
        {
            return Ok(false);
        }
        let mut names = cells.texts();
        while names.last().is_some_and(String::is_empty) {
            names.pop();
        }
        let texts = names.iter().filter(|n| n.chars().any(char::is_alphabetic)).count();
        if texts < 2 || names.len() < 2 || !names.iter().all(|name| is_name_like(name)) {
            return Ok(false);
        }
        if names
            .iter()
            .zip(&self.plan.names)
            .all(|(a, b)| a.eq_ignore_ascii_case(b) || a.is_empty())
            && names.len() == self.plan.names.len()
        {
            return Ok(true);
        }
        Err(IngestError::Contradiction {
            place: Place::line(self.plan.shown_as, record.line.into(), record.raw).into(),
            what: format!(
                "here the columns change; before they were {}",
                self.plan.names.join(", ")
            ),
            try_this: format!("split the file before line {}", record.line),
        })
    }

    fn row(&mut self, record: &Record<'_>, cells: &Cells<'_>, stamp: time::Stamp) {
        for pending in std::mem::take(&mut self.rows.pending) {
            if let Some(kept) = self.rows.record_at(pending.record) {
                self.rows.reject_line(&kept.record(), pending.code);
            }
        }
        // Zero bytes before a line may have taken the place of its first digits.
        if record.padded && stamp.ms < self.last_ms {
            self.rows.reject_line(record, Code::BadTime);
            return;
        }
        self.last_ms = stamp.ms;
        let width = self.plan.names.len();
        if (width..cells.len()).any(|c| !cells.get(c).is_empty()) {
            self.rows.reject_line(record, Code::TooManyCells);
            return;
        }
        if self.plan.long.is_some() {
            self.long_row(record, cells, stamp);
        } else {
            self.wide_row(record, cells, stamp);
        }
    }

    fn wide_row(&mut self, record: &Record<'_>, cells: &Cells<'_>, stamp: time::Stamp) {
        let (plan, rows) = (self.plan, &mut self.rows);
        let mut bad: Vec<(usize, Code)> = Vec::new();
        let mut good = false;
        let row = rows.series[0].ms.len();
        if row == 0 {
            // Lines are about as long as the first; none has less than a time and a value.
            let lines = self.text.len() / record.raw.len().max(16);
            rows.series[0].reserve(lines);
        }
        for (c, channel) in plan.channels.iter().enumerate() {
            let cell = cells.get(channel.column);
            let beside = channel.unit_column.and_then(|c| number::unit_word(cells.get(c)));
            rows.units.say(beside);
            let stated = beside.or(channel.unit);
            let read = cell::read(plan, cell, stated.or(plan.unit), stated);
            let at = CellAt { series: 0, row, channel: c };
            let value = rows.keep(read, cell, record, channel.role, at).unwrap_or_else(|code| {
                bad.push((c, code));
                f32::NAN
            });
            good |= !value.is_nan();
            rows.series[0].values[c].push(value);
        }
        if !good && !bad.is_empty() {
            rows.series[0].values.iter_mut().for_each(|values| {
                values.pop();
            });
            rows.suspects.retain(|suspect| suspect.at.row < row);
            rows.units.places.retain(|at| at.row < row);
            rows.reject_line(record, bad[0].1);
            return;
        }
        let series = &mut rows.series[0];
        push_time(series, record, stamp);
        series.cells_out.extend(bad.into_iter().map(|(c, code)| (row, c, code)));
        rows.accept(record);
        let used = plan.names.len();
        if cells.len() < used {
            rows.ends.short.push((0, row, cells.len()));
        } else if cells.get(used - 1).is_empty() {
            rows.ends.empty += 1;
        }
        rows.ends.tails.width(0, row, cells.len());
        let last = cells.len().min(used) - 1;
        if let Some(c) = plan.channels.iter().rposition(|channel| channel.column == last) {
            rows.ends.tails.add(0, row, c, cells.get(last), plan.decimal.sign);
        }
    }

    fn long_row(&mut self, record: &Record<'_>, cells: &Cells<'_>, stamp: time::Stamp) {
        let Some(long) = self.plan.long else { return };
        let name = cells.get(long.channel);
        if name.is_empty() {
            self.rows.reject_line(record, Code::NoChannel);
            return;
        }
        if cells.len() <= long.value.max(long.channel) {
            let code = if record.ended { Code::TooFewCells } else { Code::TruncatedLine };
            self.rows.reject_line(record, code);
            return;
        }
        let index = match self.long_index.get(name) {
            Some(&index) => index,
            None => self.new_channel(name),
        };
        let stated = match long.unit.map(|c| cells.get(c)) {
            None | Some(b"") => None,
            Some(cell) => {
                let unit = number::unit_word(cell);
                if unit.is_none() {
                    self.rows.reject_line(record, Code::UnknownUnit);
                    return;
                }
                unit
            }
        };
        let (plan, rows) = (self.plan, &mut self.rows);
        rows.units.say(stated);
        let (role, own) = (rows.channels[index].role, rows.channels[index].unit);
        let cell = cells.get(long.value);
        let read = cell::read(plan, cell, stated.or(own).or(plan.unit), stated);
        let row = rows.series[index].ms.len();
        let at = CellAt { series: index, row, channel: 0 };
        let value = match rows.keep(read, cell, record, role, at) {
            Ok(value) => value,
            Err(code) => {
                rows.reject_line(record, code);
                return;
            }
        };
        let used = plan.names.len();
        rows.ends.tails.width(index, row, cells.len());
        if long.value + 1 == cells.len().min(used) {
            rows.ends.tails.add(index, row, 0, cell, plan.decimal.sign);
        }
        if cells.len() < used {
            rows.ends.short.push((index, row, cells.len()));
        } else if cells.get(used - 1).is_empty() {
            rows.ends.empty += 1;
        }
        let series = &mut rows.series[index];
        series.values[0].push(value);
        push_time(series, record, stamp);
        rows.accept(record);
    }

    /// A channel of a long log that was not met before.
    fn new_channel(&mut self, name: &[u8]) -> usize {
        let header = String::from_utf8_lossy(name);
        let (channel, finding) = channels::of_long(&header, &self.plan.layout, self.plan.options);
        self.rows.findings.note(finding);
        self.rows.channels.push(channel);
        channels::make_unique(&mut self.rows.channels);
        self.rows.series.push(Series::new(1));
        let index = self.rows.series.len() - 1;
        self.long_index.insert(name.to_vec(), index);
        index
    }
}

fn push_time(series: &mut Series, record: &Record<'_>, stamp: time::Stamp) {
    series.ms.push(stamp.ms - i64::from(stamp.offset.unwrap_or(0)) * 1000);
    series.local.push(stamp.offset.is_none());
    series.line.push(record.line);
    series.start.push(record.start);
}

/// Whether a cell could be a column's name: line noise that happens to begin like a time
/// column must cost its own line, not the file.
fn is_name_like(cell: &str) -> bool {
    let plain = |c: char| c.is_alphanumeric() || " _-.()[]/%°#:".contains(c);
    cell.is_empty() || (cell.chars().count() > 1 && cell.chars().all(plain))
}
