//! Which of a date's numbers is the day: told by the dates, by the log, by what is known of
//! it, or asked.

use super::ReadOptions;
use super::head::{HeadRow, Kind};
use crate::error::{IngestError, Place};
use crate::layout::TimeFormat;
use crate::text::{Splitter, Text};
use crate::time;
use cook::season::DateOrder;

/// A day order is proven by at least this many lines, or in a short log by a fifth of them:
/// one corrupt line must not decide how all others are read.
const PROOF_LINES: u64 = 3;
const PROOF_SHARE: u64 = 5;
/// The question that an order of day and month answers.
pub(crate) const QUESTION: &str = "the order of day and month cannot be told";
/// A step over midnight, ms, in a log that was kept through it.
const MIDNIGHT_MS: i64 = 6 * 3_600_000;
const ORDERS: [TimeFormat; 3] =
    [TimeFormat::DayFirst, TimeFormat::MonthFirst, TimeFormat::YearFirst];

/// Where a log's dates stand.
pub(super) struct Dates<'a> {
    pub(super) text: &'a Text<'a>,
    pub(super) delimiter: u8,
    pub(super) columns: &'a [usize],
    /// The date column's name.
    pub(super) name: &'a str,
    pub(super) first_row: usize,
    pub(super) shown_as: &'a str,
}

/// How dates are written, why, and whether the log itself proves it.
pub(super) struct Decided {
    pub(super) format: TimeFormat,
    pub(super) because: String,
    pub(super) proven: bool,
}

fn decided(format: TimeFormat, because: impl Into<String>, proven: bool) -> Decided {
    Decided { format, because: because.into(), proven }
}

pub(super) fn format_of(order: DateOrder) -> TimeFormat {
    match order {
        DateOrder::DayFirst => TimeFormat::DayFirst,
        DateOrder::MonthFirst => TimeFormat::MonthFirst,
        DateOrder::YearFirst => TimeFormat::YearFirst,
    }
}

/// How the dates of a log are written.
pub(super) fn format(
    dates: &Dates<'_>,
    rows: &[&HeadRow<'_>],
    options: &ReadOptions,
) -> Result<Decided, IngestError> {
    let column = dates.columns[0];
    let cells: Vec<&str> = rows
        .iter()
        .filter(|row| matches!(row.kinds.get(column), Some(Kind::DateTime | Kind::Date)))
        .map(|row| row.cells[column].as_str())
        .collect();
    let share = |format: TimeFormat| {
        cells.iter().filter(|cell| time::parse_date(format, cell.as_bytes()).is_some()).count()
    };
    if share(TimeFormat::Iso) * 2 > cells.len() {
        return Ok(decided(TimeFormat::Iso, "its dates are written year first", false));
    }
    if share(TimeFormat::MonthName) * 2 > cells.len() {
        return Ok(decided(TimeFormat::MonthName, "its months are written as words", false));
    }
    let dotted = cells.iter().filter(|c| c.bytes().filter(|b| *b == b'.').count() >= 2).count();
    order(dates, dotted * 2 > cells.len(), options)
}

/// How often a day order can read a log's dates.
#[derive(Default)]
struct Tally {
    /// Lines that only this order of all reads.
    alone: u64,
    reads: u64,
    /// Greatest step between neighbouring lines, ms.
    largest_step: i64,
    previous: Option<i64>,
    first: Option<i64>,
    last: Option<i64>,
}

impl Tally {
    fn add(&mut self, ms: i64, alone: bool) {
        self.reads += 1;
        self.alone += u64::from(alone);
        let step = self.previous.map_or(0, |previous| (ms - previous).abs());
        self.largest_step = self.largest_step.max(step);
        self.previous = Some(ms);
        self.first = Some(self.first.map_or(ms, |first| first.min(ms)));
        self.last = Some(self.last.map_or(ms, |last| last.max(ms)));
    }

    /// Whether the log, read in this order, runs on this day or a day beside it.
    fn covers(&self, date: jiff::civil::Date) -> bool {
        let day = time::days_of(date.year().into(), date.month().into(), date.day().into());
        let (Some(day), Some(first), Some(last)) = (day, self.first, self.last) else {
            return false;
        };
        (first.div_euclid(time::DAY_MS) - 1..=last.div_euclid(time::DAY_MS) + 1).contains(&day)
    }
}

/// The first line that two orders read differently: its number, its text, each reading.
type Differing = (u64, String, Vec<(TimeFormat, i64)>);

/// Day first or month first (or, with two-digit years, year first): by the dates that
/// only one order can read, else by a midnight in the log that is a step of minutes under
/// one order and of weeks under the other, else by the season's setting, the sheet's
/// dates, other logs of the same layout, else by the dots (no locale of the Unicode
/// CLDR writes dotted dates month first); else it is a question.
fn order(dates: &Dates<'_>, dotted: bool, options: &ReadOptions) -> Result<Decided, IngestError> {
    let Dates { text, delimiter, columns, name, first_row, shown_as } = *dates;
    let mut tallies: [Tally; 3] = Default::default();
    let mut lines = 0;
    let mut differing: Option<Differing> = None;
    let mut splitter = Splitter::new(delimiter);
    for record in text.records(delimiter).skip(first_row) {
        let cells = splitter.split(&record);
        let cell = cells.get(columns[0]);
        let clock = columns.get(1).map(|&c| cells.get(c));
        let read: Vec<(usize, i64)> =
            (0..3).filter_map(|i| Some((i, time::parse(ORDERS[i], cell, clock)?.ms))).collect();
        lines += u64::from(!read.is_empty());
        for &(i, ms) in &read {
            tallies[i].add(ms, read.len() == 1);
        }
        let differs = read.windows(2).any(|pair| pair[0].1 != pair[1].1);
        if differs && differing.is_none() {
            let stamps = read.iter().map(|&(i, ms)| (ORDERS[i], ms)).collect();
            differing =
                Some((record.line.into(), String::from_utf8_lossy(cell).into_owned(), stamps));
        }
    }
    let proven: Vec<usize> = (0..3)
        .filter(|&i| {
            tallies[i].alone > 0
                && (tallies[i].alone >= PROOF_LINES || tallies[i].alone * PROOF_SHARE >= lines)
        })
        .collect();
    if let [only] = proven[..] {
        let because = format!(
            "{} of {lines} lines have dates that no other order can read",
            tallies[only].alone
        );
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
        return Ok(decided(ORDERS[only], "no other order reads nine tenths of the dates", true));
    }
    let Some((line, cell, stamps)) = differing else {
        let first = possible.first().copied().unwrap_or(0);
        return Ok(decided(ORDERS[first], "both orders give the same dates", false));
    };
    let minutes: Vec<usize> =
        possible.iter().copied().filter(|&i| tallies[i].largest_step <= MIDNIGHT_MS).collect();
    let weeks = possible.iter().filter(|&&i| tallies[i].largest_step >= 20 * time::DAY_MS).count();
    if let [only] = minutes[..]
        && weeks + 1 == possible.len()
    {
        return Ok(decided(
            ORDERS[only],
            "its steps are of hours at most; under another order, of weeks",
            true,
        ));
    }
    if let Some(known) = known_order(&tallies, &possible, options) {
        return Ok(known);
    }
    if dotted && stamps.iter().all(|(order, _)| *order != TimeFormat::YearFirst) {
        return Ok(decided(
            TimeFormat::DayFirst,
            "dates with dots are written day first (Unicode CLDR)",
            false,
        ));
    }
    let reading = |(order, ms): &(TimeFormat, i64)| {
        let shown = jiff::Timestamp::from_millisecond(*ms)
            .map_or_else(|_| ms.to_string(), |t| t.strftime("%-d %B %Y").to_string());
        format!("{} (time.format = \"{}\")", shown, order.as_str())
    };
    Err(IngestError::NeedsAnswer {
        place: Place::cell(shown_as, line, name, cell.as_bytes()).into(),
        question: QUESTION.to_owned(),
        readings: [reading(&stamps[0]), reading(&stamps[1])],
        setting: "`[log] date_order = \"day-first\"` (or \"month-first\") in season.toml, or time.format in a layout"
            .to_owned(),
    })
}

/// What is known of the log from outside it: the season's setting, then the days on which
/// the sheet has its cooks, then logs of the same layout.
fn known_order(tallies: &[Tally; 3], possible: &[usize], options: &ReadOptions) -> Option<Decided> {
    let index =
        |order: DateOrder| possible.iter().copied().find(|&i| ORDERS[i] == format_of(order));
    if let Some(i) = options.date_order.and_then(index) {
        return Some(decided(ORDERS[i], "`[log] date_order` says so", false));
    }
    let dates = &options.sheet.dates;
    let covering: Vec<usize> = possible
        .iter()
        .copied()
        .filter(|&i| dates.iter().any(|&date| tallies[i].covers(date)))
        .collect();
    if let [only] = covering[..] {
        let date = dates.iter().find(|&&date| tallies[only].covers(date))?;
        return Some(decided(ORDERS[only], format!("the sheet has its cook on {date}"), false));
    }
    let i = options.sibling_order.and_then(index)?;
    Some(decided(ORDERS[i], "other logs of the same layout prove it", false))
}
