//! Which of a date's numbers is the day: told by the dates, by the log, by what is known of
//! it, or asked.

use super::head::{HeadRow, Kind};
use super::options::ReadOptions;
use crate::error::{IngestError, Place};
use crate::question::QuestionCode;
use crate::text::{Splitter, Text};
use crate::time;
use crate::time::TimeFormat;
use cook::season::DateOrder;

/// A day order is proven by at least this many lines, or in a short log by a fifth of them:
/// one corrupt line must not decide how all others are read.
const PROOF_LINES: u64 = 3;
const PROOF_SHARE: u64 = 5;
/// Steps of more than that which are corrupt lines.
const ODD_STEPS: u64 = 4;
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
struct Tally {
    /// Lines that only this order of all reads.
    alone: u64,
    reads: u64,
    /// Steps between neighbouring lines of more than some hours, and of weeks.
    long_steps: u64,
    weeks: u64,
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
    let mut reading = Reading::default();
    for record in text.records(delimiter).skip(first_row) {
        let cells = splitter.split(&record);
        let cell = cells.get(columns[0]);
        let clock = columns.get(1).map(|&c| cells.get(c));
        reading.read(cell, clock);
        let read = &reading.found;
        lines += u64::from(!read.is_empty());
        for &(i, ms) in read {
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
        code: QuestionCode::DateOrder,
        question: "the order of day and month cannot be told".to_owned(),
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
