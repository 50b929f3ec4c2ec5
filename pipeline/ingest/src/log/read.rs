//! The pass over the rows of a log.

use super::finished::Log;
use super::options::ReadOptions;
use super::plan::{ChannelPlan, Plan, key_and_value};
use super::sentinels::{Missing, Suspect};
use super::series::Series;
use super::tail::Tails;
use super::value::Cell;
use super::words;
use crate::code::Code;
use crate::error::{IngestError, Place, shown};
use crate::number;
use crate::text::{Cells, Record, Splitter, Text};
use crate::time;
use crate::time::TimeFormat;
use cook::season::DateOrder;
use cook::{LineAccount, RejectedRow, SourceRecord};
use std::collections::HashMap;

/// A cell with a number and no unit anywhere: the first on which °C and °F differ.
pub(super) struct Unitless {
    pub(super) line: u32,
    pub(super) column: String,
    pub(super) text: Vec<u8>,
    pub(super) value: f64,
}

pub(super) struct Reader<'t> {
    pub(super) text: &'t Text<'t>,
    pub(super) plan: Plan,
    pub(super) shown_as: &'t str,
    pub(super) options: &'t ReadOptions,
    pub(super) account: LineAccount,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) series: Vec<Series>,
    pub(super) long_index: HashMap<Vec<u8>, usize>,
    /// Lines with data per record where that is not one, by offset.
    pub(super) spans: HashMap<usize, u32>,
    pub(super) unitless: Option<Unitless>,
    /// Greatest value without a unit, by whether its channel is meat.
    pub(super) largest: [f64; 2],
    /// Series, row and cells of lines with fewer cells than names.
    pub(super) short: Vec<(usize, usize, usize)>,
    /// Full lines whose last cell is empty.
    pub(super) empty_ends: u64,
    /// Records whose time cannot be read since the last that can.
    pub(super) pending: Vec<(Record<'t>, Code)>,
    pub(super) missing: Missing,
    pub(super) suspects: Vec<Suspect>,
    pub(super) tails: Tails,
    /// Cells that carry their unit, and those of which nothing says one: series, row,
    /// channel.
    pub(super) with_unit: u64,
    pub(super) without_unit: Vec<(usize, usize, usize)>,
    pub(super) unitless_cells: u64,
    /// Number and text of the first line with readings.
    first_line: Option<(u32, String)>,
    /// Time of the row before, ms.
    last_ms: i64,
}

impl<'t> Reader<'t> {
    pub(super) fn new(
        text: &'t Text<'t>,
        plan: Plan,
        shown_as: &'t str,
        options: &'t ReadOptions,
    ) -> Self {
        let series =
            if plan.long.is_some() { Vec::new() } else { vec![Series::new(plan.channels.len())] };
        Self {
            text,
            plan,
            shown_as,
            options,
            account: LineAccount::default(),
            rejected: Vec::new(),
            series,
            long_index: HashMap::new(),
            spans: HashMap::new(),
            unitless: None,
            largest: [f64::NEG_INFINITY; 2],
            short: Vec::new(),
            empty_ends: 0,
            pending: Vec::new(),
            missing: Missing::default(),
            suspects: Vec::new(),
            tails: Tails::default(),
            with_unit: 0,
            without_unit: Vec::new(),
            unitless_cells: 0,
            first_line: None,
            last_ms: i64::MIN,
        }
    }

    pub(super) fn read(mut self, content_hash: String, kind: String) -> Result<Log, IngestError> {
        self.pass()?;
        self.settle_unitless()?;
        self.settle_tails();
        self.settle_pending();
        self.settle_sentinels();
        let (time, mut channels) = self.finish()?;
        self.judge_roles(&mut channels);
        self.check(&channels)?;
        self.rejected.sort_by(|a, b| (a.line, &a.column).cmp(&(b.line, &b.column)));
        let layout = self.plan.layout;
        Ok(Log {
            channels,
            time,
            record: SourceRecord {
                path: self.shown_as.to_owned(),
                content_hash,
                layout: layout.name.clone(),
                evidence: self.plan.evidence,
                account: self.account,
            },
            rejected: self.rejected,
            metadata: self.plan.metadata,
            warnings: self.plan.warnings,
            kind,
            first_line: self.first_line,
            date_order: self.plan.order_proven.then(|| proven(self.plan.format)).flatten(),
            layout,
        })
    }

    fn pass(&mut self) -> Result<(), IngestError> {
        let text = self.text;
        let delimiter = self.plan.delimiter;
        let mut splitter = Splitter::new(delimiter);
        let mut header: &[u8] = b"";
        let mut second: &[u8] = b"";
        let mut units: &[u8] = b"";
        for (index, record) in text.records(delimiter).enumerate() {
            let lines = u64::from(record.lines);
            self.account.lines += lines;
            if record.is_blank(delimiter) {
                self.account.blank += lines;
                continue;
            }
            if index < self.plan.first_row {
                if self.plan.header_rows.contains(&index) {
                    if Some(index) == self.plan.header {
                        header = crate::text::trim(record.raw);
                    } else {
                        second = crate::text::trim(record.raw);
                    }
                    self.account.header += lines;
                } else if Some(index) == self.plan.units_row {
                    units = crate::text::trim(record.raw);
                    self.account.header += lines;
                } else {
                    self.account.preamble += lines;
                }
                continue;
            }
            let bare = crate::text::trim(record.raw);
            let comment = self.plan.comment.as_deref().unwrap_or("");
            if !comment.is_empty() && bare.starts_with(comment.as_bytes()) {
                self.account.footer += lines;
                self.plan.metadata.push(key_and_value(record.raw, record.line, delimiter));
                continue;
            }
            if [header, second, units].iter().any(|line| !line.is_empty() && bare == *line) {
                self.account.header += lines;
                continue;
            }
            if record.unclosed {
                self.pending.push((record, Code::UnclosedQuote));
                continue;
            }
            let cells = splitter.split(&record);
            let cell = cells.get(self.plan.time[0]);
            let clock = self.plan.time.get(1).map(|&c| cells.get(c));
            let stamp = if self.plan.format.is_number() {
                time::parse_number(self.plan.format, cell, self.plan.time_decimal)
            } else {
                time::parse(self.plan.format, cell, clock)
            };
            match stamp {
                Some(stamp) => self.row(&record, &cells, stamp),
                None => {
                    if self.is_header_again(&record, &cells)? {
                        self.account.header += lines;
                    } else {
                        self.pending.push((record, Code::BadTime));
                    }
                }
            }
        }
        Ok(())
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
            place: Place::line(self.shown_as, record.line.into(), record.raw).into(),
            what: format!(
                "here the columns change; before they were {}",
                self.plan.names.join(", ")
            ),
            try_this: format!("split the file before line {}", record.line),
        })
    }

    pub(super) fn reject(
        &mut self,
        record: &Record<'_>,
        code: Code,
        column: Option<&str>,
        text: &[u8],
    ) {
        self.rejected.push(RejectedRow {
            source: self.shown_as.to_owned(),
            line: record.line.into(),
            byte: self.text.file_offset(record.start),
            column: column.map(str::to_owned),
            code: code.as_str().to_owned(),
            text: shown(text),
        });
    }

    pub(super) fn reject_line(&mut self, record: &Record<'_>, code: Code) {
        self.account.rejected += u64::from(record.lines);
        self.reject(record, code, None, record.raw);
    }

    fn row(&mut self, record: &Record<'t>, cells: &Cells<'_>, stamp: time::Stamp) {
        for (pending, code) in std::mem::take(&mut self.pending) {
            self.reject_line(&pending, code);
        }
        // Zero bytes before a line may have taken the place of its first digits.
        if record.padded && stamp.ms < self.last_ms {
            self.reject_line(record, Code::BadTime);
            return;
        }
        self.last_ms = stamp.ms;
        let width = self.plan.names.len();
        if (width..cells.len()).any(|c| !cells.get(c).is_empty()) {
            self.reject_line(record, Code::TooManyCells);
            return;
        }
        if self.plan.long.is_some() {
            self.long_row(record, cells, stamp);
        } else {
            self.wide_row(record, cells, stamp);
        }
    }

    fn wide_row(&mut self, record: &Record<'t>, cells: &Cells<'_>, stamp: time::Stamp) {
        let mut bad: Vec<(usize, Code)> = Vec::new();
        let mut good = false;
        let mut series = std::mem::take(&mut self.series[0]);
        let row = series.ms.len();
        if row == 0 {
            // Lines are about as long as the first; none has less than a time and a value.
            series.reserve(self.text.bytes().len() / record.raw.len().max(16));
        }
        for c in 0..self.plan.channels.len() {
            let (column, unit) = (self.plan.channels[c].column, self.plan.channels[c].unit);
            let cell = cells.get(column);
            let value = match self.cell(cell, unit.or(self.plan.unit), unit) {
                Cell::Value(value) => value,
                Cell::Missing => {
                    self.missing.count(cell);
                    f32::NAN
                }
                Cell::Suspect(value) => {
                    let text = cell.to_vec();
                    self.suspects.push(Suspect { series: 0, row, channel: c, text });
                    value
                }
                Cell::NoUnit(value) => {
                    let channel = &self.plan.channels[c];
                    let (role, name) = (channel.role, channel.header.clone());
                    self.note_unitless(record, &name, role, cell, value, (0, row, c));
                    f32::NAN
                }
                Cell::Bad(code) => {
                    bad.push((c, code));
                    f32::NAN
                }
            };
            good |= !value.is_nan();
            series.values[c].push(value);
        }
        if !good && !bad.is_empty() {
            series.values.iter_mut().for_each(|values| {
                values.pop();
            });
            self.series[0] = series;
            self.suspects.retain(|suspect| suspect.row < row);
            self.without_unit.retain(|place| place.1 < row);
            self.reject_line(record, bad[0].1);
            return;
        }
        push_time(&mut series, record, stamp);
        for (c, code) in bad {
            series.cells_out.push((row, c, code));
        }
        self.series[0] = series;
        self.accept(record);
        let used = self.plan.names.len();
        if cells.len() < used {
            self.short.push((0, row, cells.len()));
        } else if cells.get(used - 1).is_empty() {
            self.empty_ends += 1;
        }
        self.tails.width(0, row, cells.len());
        let last = cells.len().min(used) - 1;
        if let Some(c) = self.plan.channels.iter().rposition(|channel| channel.column == last) {
            self.tails.add(0, row, c, cells.get(last), self.plan.decimal);
        }
    }

    fn accept(&mut self, record: &Record<'_>) {
        self.account.data += u64::from(record.lines);
        if self.first_line.is_none() {
            self.first_line = Some((record.line, shown(record.raw)));
        }
        if record.lines > 1 {
            self.spans.insert(record.start, record.lines);
        }
    }

    fn long_row(&mut self, record: &Record<'t>, cells: &Cells<'_>, stamp: time::Stamp) {
        let Some(long) = self.plan.long else { return };
        let name = cells.get(long.channel);
        if name.is_empty() {
            self.reject_line(record, Code::NoChannel);
            return;
        }
        if cells.len() <= long.value.max(long.channel) {
            let code = if record.ended { Code::TooFewCells } else { Code::TruncatedLine };
            self.reject_line(record, code);
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
                    self.reject_line(record, Code::UnknownUnit);
                    return;
                }
                unit
            }
        };
        self.with_unit += u64::from(stated.is_some());
        let (role, own) = (self.plan.channels[index].role, self.plan.channels[index].unit);
        let cell = cells.get(long.value);
        let value = match self.cell(cell, stated.or(own).or(self.plan.unit), stated) {
            Cell::Value(value) => value,
            Cell::Missing => {
                self.missing.count(cell);
                f32::NAN
            }
            Cell::Suspect(value) => {
                let (row, text) = (self.series[index].ms.len(), cell.to_vec());
                self.suspects.push(Suspect { series: index, row, channel: 0, text });
                value
            }
            Cell::NoUnit(value) => {
                let name = self.plan.names[long.value].clone();
                let row = self.series[index].ms.len();
                self.note_unitless(record, &name, role, cell, value, (index, row, 0));
                f32::NAN
            }
            Cell::Bad(code) => {
                self.reject_line(record, code);
                return;
            }
        };
        let (row, used) = (self.series[index].ms.len(), self.plan.names.len());
        self.tails.width(index, row, cells.len());
        if long.value + 1 == cells.len().min(used) {
            self.tails.add(index, row, 0, cell, self.plan.decimal);
        }
        if cells.len() < used {
            self.short.push((index, row, cells.len()));
        } else if cells.get(used - 1).is_empty() {
            self.empty_ends += 1;
        }
        let series = &mut self.series[index];
        series.values[0].push(value);
        push_time(series, record, stamp);
        self.accept(record);
    }

    fn new_channel(&mut self, name: &[u8]) -> usize {
        let header = String::from_utf8_lossy(name).into_owned();
        let (bare, unit) = words::name_and_unit(&header, &[]);
        let stated =
            |key: &str| crate::layout::alike(key, &header) || crate::layout::alike(key, &bare);
        let unit = self
            .plan
            .layout
            .units
            .iter()
            .find(|(key, _)| stated(key))
            .map(|(_, &unit)| unit)
            .or(unit);
        let role = self.options.role_of(&header, &bare).or_else(|| {
            self.plan.layout.roles.iter().find(|(key, _)| stated(key)).map(|(_, &role)| role)
        });
        let (role, said) = self.plan.decide_role(&header, &bare, role);
        self.plan.layout.roles.insert(header.clone(), role);
        if let Some(unit) = unit {
            self.plan.layout.units.insert(header.clone(), unit);
        }
        self.plan.channels.push(ChannelPlan { column: 0, header, name: bare, unit, role, said });
        super::channels::make_unique(&mut self.plan.channels);
        self.series.push(Series::new(1));
        self.long_index.insert(name.to_vec(), self.series.len() - 1);
        self.series.len() - 1
    }

    /// The record of a series' row.
    pub(super) fn record_of(&self, series: &Series, row: usize) -> Option<Record<'t>> {
        let text: &'t Text<'t> = self.text;
        let record = text.records_from(series.start[row], self.plan.delimiter).next()?;
        Some(Record { line: series.line[row], ..record })
    }
}

/// The order of day and month that a format has.
fn proven(format: TimeFormat) -> Option<DateOrder> {
    match format {
        TimeFormat::DayFirst => Some(DateOrder::DayFirst),
        TimeFormat::MonthFirst => Some(DateOrder::MonthFirst),
        TimeFormat::YearFirst => Some(DateOrder::YearFirst),
        _ => None,
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
