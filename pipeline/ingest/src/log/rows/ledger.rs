//! What the pass gathers: readings, and the book that is kept of every line.

use super::cell::Cell;
use super::missing::{Missing, Suspect};
use super::series::{CellAt, Series};
use super::tails::Tails;
use crate::code::Code;
use crate::error::{Place, shown};
use crate::log::finding::Findings;
use crate::log::finished::{LogChannel, TimeBase};
use crate::log::plan::channels::ChannelPlan;
use crate::log::plan::decide::Plan;
use crate::text::{KeptRecord, Record, RecordAt, Text};
use crate::time::TimeFormat;
use cook::season::TemperatureUnit;
use cook::{LineAccount, RejectedRow, Role};
use std::collections::HashMap;

/// A cell with a number and no unit anywhere.
#[derive(Clone, Copy)]
pub(crate) struct Unitless {
    pub(crate) at: CellAt,
    pub(crate) record: RecordAt,
    pub(crate) value: f64,
}

/// A record whose time cannot be read.
#[derive(Clone, Copy)]
pub(crate) struct Pending {
    pub(crate) record: RecordAt,
    /// Physical lines.
    pub(crate) lines: u32,
    pub(crate) code: Code,
}

/// Cells with and without a unit.
pub(crate) struct Units {
    /// The first without a unit on which °C and °F differ.
    pub(crate) first: Option<Unitless>,
    /// Greatest value without a unit, by whether its channel is meat.
    pub(crate) largest: [f64; 2],
    /// Cells that carry their unit, or have it beside them.
    pub(crate) with: u64,
    /// How many of these are in °C.
    celsius: u64,
    /// Cells of which nothing says it.
    pub(crate) without: u64,
    /// Where these stand.
    pub(crate) places: Vec<CellAt>,
}

impl Units {
    /// Counts a cell by the unit that it carries, or that stands beside it.
    pub(crate) fn say(&mut self, unit: Option<TemperatureUnit>) {
        self.with += u64::from(unit.is_some());
        self.celsius += u64::from(unit == Some(TemperatureUnit::Celsius));
    }

    /// The one unit that all such cells say.
    pub(crate) fn only(&self) -> Option<TemperatureUnit> {
        match self.celsius {
            _ if self.with == 0 => None,
            0 => Some(TemperatureUnit::Fahrenheit),
            all if all == self.with => Some(TemperatureUnit::Celsius),
            _ => None,
        }
    }

    /// Counts a cell of which nothing says the unit, in a channel of this role.
    fn lack(&mut self, cell: Unitless, role: Role) {
        self.without += 1;
        // More than so many are no exception, and the log will be refused.
        if self.places.len() < 10_000 {
            self.places.push(cell.at);
        }
        let meat = usize::from(role == Role::Meat);
        self.largest[meat] = self.largest[meat].max(cell.value);
        // −40 is the one temperature that both scales call the same.
        if self.first.is_none() && cell.value != -40.0 {
            self.first = Some(cell);
        }
    }
}

/// The ends of lines.
#[derive(Default)]
pub(crate) struct Ends {
    /// Series, row and cells of lines with fewer cells than names.
    pub(crate) short: Vec<(usize, usize, usize)>,
    /// Full lines whose last cell is empty.
    pub(crate) empty: u64,
    pub(crate) tails: Tails,
}

/// The rows of a log.
pub(crate) struct Rows<'t> {
    text: &'t Text<'t>,
    shown_as: &'t str,
    delimiter: u8,
    /// Lines in the file by what became of them.
    pub(crate) account: LineAccount,
    /// What was read and not used.
    pub(crate) rejected: Vec<RejectedRow>,
    /// Remarks and footers, as key and value.
    pub(crate) remarks: Vec<(String, String)>,
    /// Number and text of the first line with readings.
    pub(crate) first_line: Option<(u32, String)>,
    /// Records whose time cannot be read, behind the last that can.
    pub(crate) pending: Vec<Pending>,
    /// The channels: the plan's, or those of a long log as they were met.
    pub(crate) channels: Vec<ChannelPlan>,
    /// One for a wide log, one a channel for a long one.
    pub(crate) series: Vec<Series>,
    pub(crate) units: Units,
    pub(crate) ends: Ends,
    pub(crate) missing: Missing,
    /// Numbers that may be sentinels.
    pub(crate) suspects: Vec<Suspect>,
    /// What was found out with the rows.
    pub(crate) findings: Findings,
    /// The instant of elapsed zero, ms UTC, once it is known.
    pub(crate) zero_ms: Option<i64>,
    /// What times count from.
    pub(crate) time: TimeBase,
    /// Whether they are times of the day, without a date.
    pub(crate) of_the_day: bool,
    /// The channels' readings in order of time. Empty until all rows are settled.
    pub(crate) readings: Vec<LogChannel>,
    /// Roles that readings showed, by header.
    pub(crate) guessed: Vec<(String, Role)>,
    /// Lines with data per record where that is not one, by offset.
    spans: HashMap<usize, u32>,
}

impl<'t> Rows<'t> {
    /// No row yet.
    pub(crate) fn new(text: &'t Text<'t>, plan: &Plan<'t>) -> Self {
        let series =
            if plan.long.is_some() { Vec::new() } else { vec![Series::new(plan.channels.len())] };
        Self {
            text,
            shown_as: plan.shown_as,
            delimiter: plan.delimiter,
            account: LineAccount::default(),
            rejected: Vec::new(),
            remarks: Vec::new(),
            first_line: None,
            pending: Vec::new(),
            channels: plan.channels.clone(),
            series,
            units: Units {
                first: None,
                largest: [f64::NEG_INFINITY; 2],
                with: 0,
                celsius: 0,
                without: 0,
                places: Vec::new(),
            },
            ends: Ends::default(),
            missing: Missing::default(),
            suspects: Vec::new(),
            findings: Findings::default(),
            zero_ms: None,
            time: if plan.format.is_elapsed() { TimeBase::Elapsed } else { TimeBase::Absolute },
            of_the_day: plan.format == TimeFormat::Clock,
            readings: Vec::new(),
            guessed: Vec::new(),
            spans: HashMap::new(),
        }
    }

    /// Counts a cell by what was read in it, and gives its value: °C, NaN where there is none.
    ///
    /// # Errors
    /// The code of a cell that cannot be read.
    pub(crate) fn keep(
        &mut self,
        (read, own_unit): (Cell, Option<TemperatureUnit>),
        text: &[u8],
        record: &Record<'_>,
        role: Role,
        at: CellAt,
    ) -> Result<f32, Code> {
        self.units.say(own_unit);
        Ok(match read {
            Cell::Value(value) => value,
            Cell::Missing => {
                self.missing.count(text);
                f32::NAN
            }
            Cell::Suspect(value) => {
                self.suspects.push(Suspect { at, text: text.to_vec() });
                value
            }
            Cell::NoUnit(value) => {
                self.units.lack(Unitless { at, record: record.at(), value }, role);
                f32::NAN
            }
            Cell::Bad(code) => return Err(code),
        })
    }

    /// Books a record that gave readings.
    pub(crate) fn accept(&mut self, record: &Record<'_>) {
        self.account.data += u64::from(record.lines);
        if self.first_line.is_none() {
            self.first_line = Some((record.line, shown(record.raw)));
        }
        if record.lines > 1 {
            self.spans.insert(record.start, record.lines);
        }
    }

    /// Books a cell (or, without a column, a line) as rejected, and leaves the account alone.
    pub(crate) fn reject(
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

    /// Books a line as rejected that no row was made of.
    pub(crate) fn reject_line(&mut self, record: &Record<'_>, code: Code) {
        self.account.rejected += u64::from(record.lines);
        self.reject(record, code, None, record.raw);
    }

    /// Books a line as rejected that a row was made of.
    pub(crate) fn reject_row(&mut self, index: usize, row: usize, code: Code) {
        let Some(kept) = self.record_of(&self.series[index], row) else { return };
        let record = kept.record();
        let lines = u64::from(self.spans.get(&record.start).copied().unwrap_or(1));
        self.account.data -= lines;
        self.account.rejected += lines;
        self.reject(&record, code, None, record.raw);
    }

    /// The record of a series' row.
    pub(crate) fn record_of(&self, series: &Series, row: usize) -> Option<KeptRecord> {
        self.record_at(RecordAt { start: series.start.at(row), line: series.line.at(row) })
    }

    /// The record at a place, read again.
    pub(crate) fn record_at(&self, at: RecordAt) -> Option<KeptRecord> {
        self.text.record_at(at, self.delimiter)
    }

    /// The place of a series' row, for messages.
    pub(crate) fn place_of(&self, series: &Series, row: usize) -> Place {
        let record = self.record_of(series, row);
        let raw = record.as_ref().map_or(&b""[..], |kept| kept.record().raw);
        Place::line(self.shown_as, series.line.at(row).into(), raw)
    }

    /// The place of the first row, for messages about the whole log.
    pub(crate) fn place_of_first(&self) -> Place {
        self.series
            .iter()
            .find(|series| !series.ms.is_empty())
            .map_or_else(|| Place::file(self.shown_as), |series| self.place_of(series, 0))
    }

    /// Whether every line that was read stands in one place of the book.
    pub(crate) fn every_line_is_booked(&self) -> bool {
        let pending: u64 = self.pending.iter().map(|pending| u64::from(pending.lines)).sum();
        let account = &self.account;
        let placed = account.preamble + account.header + account.blank + account.footer;
        account.lines == placed + account.data + account.rejected + pending
    }
}
