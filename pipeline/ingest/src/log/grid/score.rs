//! How well a way of parting the cells fits a log: row consistency × parseable share ×
//! increasing time × physically plausible temperatures.

use super::cells::{HeadRow, Kind, used_width};
use crate::number;
use crate::time;
use crate::time::TimeFormat;
use std::fmt;

/// Temperatures of meat, air, cookers and their fireboxes, in either unit.
const PLAUSIBLE: std::ops::RangeInclusive<f64> = -60.0..=2000.0;

/// Four shares, each from 0 to 1.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Score {
    /// Rows with the usual number of cells, times the share of the names that they fill.
    consistent: f64,
    /// Rows with a time, and of their other cells those that can be read.
    parseable: f64,
    /// Steps between neighbouring rows that go the log's way.
    increasing: f64,
    /// Numbers that a temperature can have, of those that are no times.
    plausible: f64,
}

impl Score {
    pub(crate) fn product(self) -> f64 {
        self.consistent * self.parseable * self.increasing * self.plausible
    }
}

impl fmt::Display for Score {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "of its lines {:.0} % have the usual cells, {:.0} % can be read, {:.0} % are in order, {:.0} % of the numbers can be temperatures",
            self.consistent * 100.0,
            self.parseable * 100.0,
            self.increasing * 100.0,
            self.plausible * 100.0
        )
    }
}

/// A number under the decimal sign that reads it.
pub(crate) fn number(cell: &str) -> Option<f64> {
    let of = |decimal| number::parse_with_unit(cell.as_bytes(), decimal);
    of(b'.').or_else(|| of(b',')).map(|(value, _)| value)
}

/// The numbers of a row in order, without its time; `None` for a row without a time.
pub(crate) fn values(row: &HeadRow<'_>, width: usize) -> Option<Vec<f64>> {
    let time = time_cell(row)?;
    let cells = row.cells.iter().zip(&row.kinds).take(width).enumerate();
    Some(
        cells
            .filter(|(i, (_, kind))| *i != time && **kind == Kind::Number)
            .filter_map(|(_, (cell, _))| number(cell))
            .collect(),
    )
}

/// The cell that is the row's time: one that looks like a time, else its first number.
fn time_cell(row: &HeadRow<'_>) -> Option<usize> {
    let of = |wanted: &[Kind]| row.kinds.iter().position(|kind| wanted.contains(kind));
    of(&[Kind::DateTime]).or_else(|| of(&[Kind::Date, Kind::Clock])).or_else(|| of(&[Kind::Number]))
}

/// The row's time on any scale, for telling which way a log goes.
fn instant(row: &HeadRow<'_>) -> Option<i64> {
    let at = time_cell(row)?;
    let cell = row.cells[at].as_bytes();
    let dated = [
        TimeFormat::Iso,
        TimeFormat::MonthName,
        TimeFormat::DayFirst,
        TimeFormat::MonthFirst,
        TimeFormat::YearFirst,
    ];
    match row.kinds[at] {
        Kind::DateTime => {
            dated.iter().find_map(|&format| time::parse(format, cell, None)).map(|s| s.ms)
        }
        Kind::Date => {
            let clock = row.kinds.iter().position(|kind| *kind == Kind::Clock);
            let clock = clock.and_then(|c| time::parse_clock_only(row.cells[c].as_bytes()));
            let day = dated.iter().find_map(|&format| time::parse_date(format, cell))?;
            Some(day.0 * time::DAY_MS + clock.unwrap_or(0))
        }
        Kind::Clock => [TimeFormat::Clock, TimeFormat::ElapsedHms, TimeFormat::ElapsedMs]
            .iter()
            .find_map(|&format| time::parse(format, cell, None))
            .map(|s| s.ms),
        _ => number(&row.cells[at]).map(|value| (value * 1000.0) as i64),
    }
}

/// Scores the rows after a header, or all of a log without one.
pub(crate) fn of(rows: &[HeadRow<'_>], header: Option<usize>, width: usize) -> Score {
    let after = header.map_or(0, |at| at + 1);
    let used: Vec<&HeadRow<'_>> = rows[after..].iter().filter(|row| !row.blank).collect();
    let timed: Vec<&HeadRow<'_>> =
        used.iter().copied().filter(|row| time_cell(row).is_some()).collect();
    let share =
        |part: usize, whole: usize| if whole == 0 { 0.0 } else { part as f64 / whole as f64 };
    let mut widths = std::collections::BTreeMap::<usize, usize>::new();
    for row in &timed {
        *widths.entry(used_width(&row.cells)).or_default() += 1;
    }
    // Rows that end early are in order, but a reading that fills all its names is better.
    let (usual, cells_of_it) =
        widths.iter().map(|(&cells, &rows)| (rows, cells)).max().unwrap_or_default();
    let (mut cells, mut read, mut numbers, mut plausible) = (0, 0, 0, 0);
    for row in &timed {
        for (cell, kind) in row.cells.iter().zip(&row.kinds).take(width) {
            cells += 1;
            read += usize::from(*kind != Kind::Text);
            if *kind == Kind::Number {
                numbers += 1;
                let value = number(cell);
                plausible += usize::from(value.is_some_and(|value| {
                    PLAUSIBLE.contains(&value) || number::code_of(value) != number::Code::None
                }));
            }
        }
    }
    let times: Vec<i64> = timed.iter().filter_map(|row| instant(row)).collect();
    let steps = times.len().saturating_sub(1);
    let up = times.windows(2).filter(|pair| pair[1] >= pair[0]).count();
    let down = times.windows(2).filter(|pair| pair[1] <= pair[0]).count();
    Score {
        consistent: share(usual, timed.len()) * share(cells_of_it.min(width), width),
        parseable: share(timed.len(), used.len()) * share(read, cells),
        increasing: if steps == 0 { 1.0 } else { share(up.max(down), steps).max(0.05) },
        // A time that is a number is a number that is no temperature.
        plausible: share(plausible, numbers).max(0.05),
    }
}
