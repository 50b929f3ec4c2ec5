//! Which of a date's numbers is the day: told by the dates, by the log, by what is known of
//! it, or asked.

use crate::error::{IngestError, Place};
use crate::log::facts::dates::{DateCells, Dates, Differing, ORDERS, Tally};
use crate::log::grid::cells::{HeadRow, Kind};
use crate::log::options::ReadOptions;
use crate::log::question::{Asks, Question};
use crate::log::reason::Reason;
use crate::time::{self, TimeFormat};
use cook::season::DateOrder;

/// A day order is proven by at least this many lines, or in a short log by a fifth of them:
/// one corrupt line must not decide how all others are read.
const PROOF_LINES: u64 = 3;
const PROOF_SHARE: u64 = 5;
/// Steps of more than that which are corrupt lines.
const ODD_STEPS: u64 = 4;

/// How dates are written, why, and whether the log itself proves it.
pub(crate) struct Decided {
    pub(crate) format: TimeFormat,
    pub(crate) because: Reason,
    pub(crate) proven: bool,
}

fn decided(format: TimeFormat, because: Reason, proven: bool) -> Decided {
    Decided { format, because, proven }
}

pub(crate) fn format_of(order: DateOrder) -> TimeFormat {
    match order {
        DateOrder::DayFirst => TimeFormat::DayFirst,
        DateOrder::MonthFirst => TimeFormat::MonthFirst,
        DateOrder::YearFirst => TimeFormat::YearFirst,
    }
}

/// How the dates of a log are written.
pub(crate) fn format(
    at: &DateCells<'_>,
    name: &str,
    shown_as: &str,
    rows: &[&HeadRow<'_>],
    options: &ReadOptions,
) -> Result<Decided, IngestError> {
    let column = at.columns[0];
    let cells: Vec<&str> = rows
        .iter()
        .filter(|row| matches!(row.kinds.get(column), Some(Kind::DateTime | Kind::Date)))
        .map(|row| row.cells[column].as_str())
        .collect();
    let share = |format: TimeFormat| {
        cells.iter().filter(|cell| time::parse_date(format, cell.as_bytes()).is_some()).count()
    };
    if share(TimeFormat::Iso) * 2 > cells.len() {
        return Ok(decided(TimeFormat::Iso, Reason::YearFirst, false));
    }
    if share(TimeFormat::MonthName) * 2 > cells.len() {
        return Ok(decided(TimeFormat::MonthName, Reason::MonthWords, false));
    }
    let dotted = cells.iter().filter(|c| c.bytes().filter(|b| *b == b'.').count() >= 2).count();
    order(at, name, shown_as, dotted * 2 > cells.len(), options)
}

/// Day first or month first (or, with two-digit years, year first): by the dates that
/// only one order can read, else by a midnight in the log that is a step of minutes under
/// one order and of weeks under the other, else by the season's setting, the sheet's
/// dates, other logs of the same layout, else by the dots (no locale of the Unicode
/// CLDR writes dotted dates month first); else it is a question.
fn order(
    at: &DateCells<'_>,
    name: &str,
    shown_as: &str,
    dotted: bool,
    options: &ReadOptions,
) -> Result<Decided, IngestError> {
    let Dates { orders: tallies, lines, differing } = Dates::of(at);
    let proven: Vec<usize> = (0..3)
        .filter(|&i| {
            tallies[i].alone > 0
                && (tallies[i].alone >= PROOF_LINES || tallies[i].alone * PROOF_SHARE >= lines)
        })
        .collect();
    if let [only] = proven[..] {
        let because = Reason::OnlyOrder { alone: tallies[only].alone, lines };
        return Ok(decided(ORDERS[only], because, true));
    }
    if let [one, other, ..] = proven[..] {
        return Err(IngestError::Contradiction {
            place: Place { column: Some(name.to_owned()), ..Place::file(shown_as) }.into(),
            what: format!(
                "{} lines have dates that are only {}, {} lines only {}",
                tallies[one].alone,
                ORDERS[one].as_str(),
                tallies[other].alone,
                ORDERS[other].as_str()
            ),
            try_this: "split the file where the writing of dates changes".to_owned(),
        });
    }
    let possible: Vec<usize> =
        (0..3).filter(|&i| tallies[i].reads * 10 >= lines * 9 && lines > 0).collect();
    if let [only] = possible[..] {
        return Ok(decided(ORDERS[only], Reason::NoOtherOrder, true));
    }
    let Some(Differing { line, cell, readings }) = differing else {
        let first = possible.first().copied().unwrap_or(0);
        return Ok(decided(ORDERS[first], Reason::SameDates, false));
    };
    // A corrupt line makes two long steps; more than a few are no midnights.
    let hours: Vec<usize> = possible
        .iter()
        .copied()
        .filter(|&i| tallies[i].weeks == 0)
        .filter(|&i| tallies[i].long_steps <= ODD_STEPS && tallies[i].long_steps * 10 <= lines)
        .collect();
    let weeks = possible.iter().filter(|&&i| tallies[i].weeks > 0).count();
    if let [only] = hours[..]
        && weeks + 1 == possible.len()
    {
        return Ok(decided(ORDERS[only], Reason::ShortSteps, true));
    }
    if let Some(known) = known_order(&tallies, &possible, options) {
        return Ok(known);
    }
    if dotted && readings.iter().all(|(order, _)| *order != TimeFormat::YearFirst) {
        return Ok(decided(TimeFormat::DayFirst, Reason::Dots, false));
    }
    if let Some(order) = options.answered.order {
        return Ok(decided(format_of(order), Reason::Answer, false));
    }
    Err(Question {
        place: Place::cell(shown_as, line, name, cell.as_bytes()),
        asks: Asks::DateOrder([readings[0], readings[1]]),
    }
    .into())
}

/// What is known of the log from outside it: the season's setting, then the days on which
/// the sheet has its cooks, then logs of the same layout.
fn known_order(tallies: &[Tally; 3], possible: &[usize], options: &ReadOptions) -> Option<Decided> {
    let index =
        |order: DateOrder| possible.iter().copied().find(|&i| ORDERS[i] == format_of(order));
    if let Some(i) = options.date_order.and_then(index) {
        return Some(decided(ORDERS[i], Reason::OrderOfSettings, false));
    }
    let dates = &options.sheet.dates;
    let covering: Vec<usize> = possible
        .iter()
        .copied()
        .filter(|&i| dates.iter().any(|&date| tallies[i].covers(date)))
        .collect();
    if let [only] = covering[..] {
        let date = dates.iter().find(|&&date| tallies[only].covers(date))?;
        return Some(decided(ORDERS[only], Reason::SheetDate(*date), false));
    }
    let i = options.sibling_order.and_then(index)?;
    Some(decided(ORDERS[i], Reason::Siblings, false))
}
