//! How a log's dates read in each order of day, month and year.

use crate::text::{Splitter, Text};
use crate::time::{self, TimeFormat};
use std::ops::ControlFlow;

/// The orders.
pub(crate) const ORDERS: [TimeFormat; 3] =
    [TimeFormat::DayFirst, TimeFormat::MonthFirst, TimeFormat::YearFirst];
/// A step over midnight, ms, in a log that was kept through it.
const MIDNIGHT_MS: i64 = 6 * 3_600_000;

/// Where a log's dates stand.
pub(crate) struct DateCells<'a> {
    pub(crate) text: &'a Text<'a>,
    pub(crate) delimiter: u8,
    /// The date column, or the date column and the clock column.
    pub(crate) columns: &'a [usize],
    pub(crate) first_row: usize,
}

/// What a log's dates are in each order.
pub(crate) struct Dates {
    /// By order, as in [`ORDERS`].
    pub(crate) orders: [Tally; 3],
    /// Lines with a date that any order reads.
    pub(crate) lines: u64,
    /// The first line that two orders read differently.
    pub(crate) differing: Option<Differing>,
}

/// A line that orders read differently.
pub(crate) struct Differing {
    pub(crate) line: u64,
    pub(crate) cell: String,
    /// What each order reads, ms.
    pub(crate) readings: Vec<(TimeFormat, i64)>,
}

impl Dates {
    /// One pass over the log.
    pub(crate) fn of(at: &DateCells<'_>) -> Self {
        let mut dates = Self { orders: Default::default(), lines: 0, differing: None };
        let mut splitter = Splitter::new(at.delimiter);
        let mut reading = Reading::default();
        at.text.visit(at.delimiter, |index, record| {
            if index < at.first_row {
                return ControlFlow::<()>::Continue(());
            }
            let cells = splitter.split(record);
            let cell = cells.get(at.columns[0]);
            let clock = at.columns.get(1).map(|&c| cells.get(c));
            reading.read(cell, clock);
            let read = &reading.found;
            dates.lines += u64::from(!read.is_empty());
            for &(i, ms) in read {
                dates.orders[i].add(ms, read.len() == 1);
            }
            let differs = read.windows(2).any(|pair| pair[0].1 != pair[1].1);
            if differs && dates.differing.is_none() {
                dates.differing = Some(Differing {
                    line: record.line.into(),
                    cell: String::from_utf8_lossy(cell).into_owned(),
                    readings: read.iter().map(|&(i, ms)| (ORDERS[i], ms)).collect(),
                });
            }
            ControlFlow::Continue(())
        });
        dates
    }
}

/// A date under every order. Neighbouring lines mostly have the same date: then only their
/// clock is read.
#[derive(Default)]
struct Reading {
    /// Orders that read the line, and the times, ms.
    found: Vec<(usize, i64)>,
    /// The date of the line before, as it is written, and its days in each order.
    date: Vec<u8>,
    days: [Option<i64>; 3],
}

impl Reading {
    fn read(&mut self, cell: &[u8], clock: Option<&[u8]>) {
        self.found.clear();
        let end = cell.iter().position(|b| matches!(b, b' ' | b'T' | b't' | b','));
        let date = &cell[..end.unwrap_or(cell.len())];
        if date != self.date {
            self.date.clear();
            self.date.extend_from_slice(date);
            self.days = ORDERS.map(|order| match time::parse_date(order, date) {
                Some((days, [])) => Some(days),
                _ => None,
            });
        }
        let Some(first) = (0..3).find(|&i| self.days[i].is_some()) else { return };
        let Some(stamp) = time::parse(ORDERS[first], cell, clock) else { return };
        for i in 0..3 {
            if let (Some(days), Some(of_first)) = (self.days[i], self.days[first]) {
                self.found.push((i, stamp.ms + (days - of_first) * time::DAY_MS));
            }
        }
    }
}

/// How often a day order can read a log's dates.
#[derive(Default)]
pub(crate) struct Tally {
    /// Lines that only this order of all reads.
    pub(crate) alone: u64,
    pub(crate) reads: u64,
    /// Steps between neighbouring lines of more than some hours, and of weeks.
    pub(crate) long_steps: u64,
    pub(crate) weeks: u64,
    previous: Option<i64>,
    first: Option<i64>,
    last: Option<i64>,
}

impl Tally {
    fn add(&mut self, ms: i64, alone: bool) {
        self.reads += 1;
        self.alone += u64::from(alone);
        let step = self.previous.map_or(0, |previous| (ms - previous).abs());
        self.long_steps += u64::from(step > MIDNIGHT_MS);
        self.weeks += u64::from(step >= 20 * time::DAY_MS);
        self.previous = Some(ms);
        self.first = Some(self.first.map_or(ms, |first| first.min(ms)));
        self.last = Some(self.last.map_or(ms, |last| last.max(ms)));
    }

    /// Whether the log, read in this order, runs on this day or a day beside it.
    pub(crate) fn covers(&self, date: jiff::civil::Date) -> bool {
        let day = time::days_of(date.year().into(), date.month().into(), date.day().into());
        let (Some(day), Some(first), Some(last)) = (day, self.first, self.last) else {
            return false;
        };
        (first.div_euclid(time::DAY_MS) - 1..=last.div_euclid(time::DAY_MS) + 1).contains(&day)
    }
}
