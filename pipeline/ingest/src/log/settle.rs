//! What becomes of the rows after the pass over them: short and cut lines, the footer,
//! instants, doubles, and the account.

use super::clock::Reset;
use super::finished::{LogChannel, TimeBase};
use super::plan::{ChannelPlan, evidence, key_and_value};
use super::read::Reader;
use super::series::{Clock, Column, Series};
use super::words;
use crate::code::Code;
use crate::error::{IngestError, Place};
use crate::number;
use crate::text::Splitter;
use crate::time;
use crate::time::TimeFormat;
use cook::season::TemperatureUnit;
use cook::{Flag, Role};

/// No probe in meat has been colder or hotter, °C.
const MEAT_RANGE_C: (f32, f32) = (-40.0, 150.0);
/// No cooker or air has been colder or hotter, °C.
const AIR_RANGE_C: (f32, f32) = (-60.0, 600.0);
impl Reader<'_> {
    /// What follows the last row with a time: remarks and summaries are a footer, all
    /// else is rejected.
    pub(super) fn settle_pending(&mut self) {
        let mut splitter = Splitter::new(self.plan.delimiter);
        for (record, code) in std::mem::take(&mut self.pending) {
            let cells = splitter.split(&record);
            let first = cells.iter().find(|cell| !cell.is_empty()).unwrap_or(b"");
            let first = String::from_utf8_lossy(first);
            let letter = first.starts_with(|c: char| c.is_alphabetic() || "-=*_~<".contains(c));
            let summary = words::is_footer(&first);
            let numbers = self.plan.long.map_or_else(
                || {
                    self.plan.channels.iter().any(|channel| {
                        number::parse_with_unit(cells.get(channel.column), self.plan.decimal)
                            .is_some()
                    })
                },
                |long| number::parse_with_unit(cells.get(long.value), self.plan.decimal).is_some(),
            );
            if code == Code::BadTime && letter && (summary || !numbers) && self.account.data > 0 {
                self.account.footer += u64::from(record.lines);
                self.plan.metadata.push(key_and_value(
                    record.raw,
                    record.line,
                    self.plan.delimiter,
                ));
            } else {
                self.reject_line(&record, code);
            }
        }
    }

    pub(super) fn finish(&mut self) -> Result<(TimeBase, Vec<LogChannel>), IngestError> {
        let zone = self.options.zone.clone();
        let elapsed = self.plan.format.is_elapsed();
        self.turn_round();
        if self.plan.format == TimeFormat::Clock {
            self.give_dates()?;
        } else if !elapsed {
            self.check_was_set()?;
        }
        let start = if elapsed { self.start()? } else { None };
        let offset = self.plan.layout.time.utc_offset.as_deref();
        let clock = if elapsed {
            Clock::Elapsed(start.unwrap_or(0))
        } else if let Some(offset) = offset.and_then(|offset| time::parse_offset(offset.as_bytes()))
        {
            Clock::Offset(i64::from(offset) * 1000)
        } else {
            Clock::Zone(&zone)
        };
        self.note_zone(&clock);
        let mut channels = Vec::new();
        let mut retimed = 0;
        let mut resets: Vec<Vec<Reset>> = if elapsed {
            vec![Vec::new(); self.series.len()]
        } else {
            self.series.iter().map(super::clock::resets).collect()
        };
        super::clock::agree(&mut resets);
        for (index, resets) in resets.iter().enumerate() {
            let mut series = std::mem::take(&mut self.series[index]);
            if elapsed
                && let Some(row) = super::order::restart(&series.ms)
                && !super::clock::told_again(&series, row)
            {
                let line = series.line[row];
                let record = self.record_of(&series, row);
                return Err(IngestError::Contradiction {
                    place: Place::line(self.shown_as, line.into(), record.map_or(b"", |r| r.raw))
                        .into(),
                    what: "the elapsed time starts again here: the file holds two logs".to_owned(),
                    try_this: format!("split the file before line {line}"),
                });
            }
            let mut times =
                series.instants(&clock, resets).map_err(|q| self.ask_zone(&series, q))?;
            self.settle_jumps(&mut series, &mut times)?;
            retimed += series.retimed.len();
            let columns = series.columns(&times);
            self.settle_rows(&mut series, index);
            let plans = if self.plan.long.is_some() {
                &self.plan.channels[index..=index]
            } else {
                &self.plan.channels[..]
            };
            let unit = self.plan.unit;
            channels.extend(
                plans.iter().zip(columns).map(|(plan, column)| channel(plan, column, unit)),
            );
        }
        self.note_order(&channels, retimed);
        self.account.readings = channels.iter().map(|channel| channel.len() as u64).sum();
        let base = if elapsed && start.is_none() { TimeBase::Elapsed } else { TimeBase::Absolute };
        Ok((base, channels))
    }

    /// Books the rows and cells that a series rejected, and its missing cells.
    pub(super) fn settle_rows(&mut self, series: &mut Series, index: usize) {
        let channels = series.values.len();
        let mut gone = vec![false; series.ms.len()];
        for (row, code) in std::mem::take(&mut series.out) {
            if std::mem::replace(&mut gone[row], true) {
                continue;
            }
            let start = series.start[row];
            let lines = u64::from(self.spans.get(&start).copied().unwrap_or(1));
            self.account.data -= lines;
            if let Some(record) = self.record_of(series, row) {
                self.account.rejected += lines;
                self.reject(&record, code, None, record.raw);
            }
        }
        let mut splitter = Splitter::new(self.plan.delimiter);
        let mut cells_out = 0;
        for &(row, c, code) in series.cells_out.iter().filter(|cell| !gone[cell.0]) {
            let Some(record) = self.record_of(series, row) else { continue };
            let at = self.plan.long.map_or(c, |_| index);
            let channel = &self.plan.channels[at];
            let column = self.plan.long.map_or(channel.column, |long| long.value);
            let header = channel.header.clone();
            let text = splitter.split(&record).get(column).to_vec();
            self.reject(&record, code, Some(&header), &text);
            cells_out += 1;
        }
        let rows = gone.iter().filter(|gone| !**gone).count();
        let readings: usize = series
            .values
            .iter()
            .map(|values| {
                values.iter().zip(&gone).filter(|(v, gone)| !v.is_nan() && !**gone).count()
            })
            .sum();
        self.account.rejected_cells += cells_out;
        self.account.missing += (rows * channels - readings) as u64 - cells_out;
    }

    pub(super) fn note_zone(&mut self, clock: &Clock<'_>) {
        let (taken, because) = match clock {
            Clock::Elapsed(_) => return,
            Clock::Offset(_) => {
                (self.plan.layout.time.utc_offset.clone().unwrap_or_default(), "the layout says so")
            }
            Clock::Zone(_) if !self.series.iter().any(|s| s.local.contains(&true)) => {
                ("as written".to_owned(), "every time has its offset")
            }
            Clock::Zone(zone) => (
                zone.iana_name().unwrap_or("the season's").to_owned(),
                "times have no offset; the season's zone",
            ),
        };
        self.plan.evidence.push(evidence(
            "time zone",
            &taken,
            because,
            "`time_zone` in season.toml, layout `time.utc_offset`",
        ));
    }
}

fn channel(plan: &ChannelPlan, column: Column, unit: Option<TemperatureUnit>) -> LogChannel {
    let (coldest, hottest) = if plan.role == Role::Meat { MEAT_RANGE_C } else { AIR_RANGE_C };
    let flag = column
        .flag
        .iter()
        .zip(&column.temp_c)
        .map(
            |(&flag, temp)| {
                if (coldest..=hottest).contains(temp) { flag } else { Flag::OutOfRange }
            },
        )
        .collect();
    LogChannel {
        name: plan.name.clone(),
        header: plan.header.clone(),
        role: plan.role,
        unit: plan.unit.or(unit),
        at_ms: column.at_ms,
        temp_c: column.temp_c,
        line: column.line,
        flag,
    }
}
