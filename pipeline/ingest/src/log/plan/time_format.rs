//! How the times of a log are written.

use super::date_order;
use super::time_columns::SERIAL_DATES;
use crate::error::{IngestError, Place};
use crate::log::facts::dates::DateCells;
use crate::log::facts::head::Facts;
use crate::log::facts::marks::TimeMarks;
use crate::log::facts::preamble;
use crate::log::finding::Finding;
use crate::log::grid::cells::{Kind, majority};
use crate::log::grid::score;
use crate::log::options::ReadOptions;
use crate::log::question::{Asks, Question};
use crate::log::reason::Reason;
use crate::log::words;
use crate::number;
use crate::text::HEAD_RECORDS;
use crate::time::{self, TimeFormat};

const HOUR_MS: i64 = 3_600_000;
/// An elapsed log begins within this of its zero, ms.
const ELAPSED_START_MS: i64 = 30 * 60_000;

/// How the times of a log are written.
pub(crate) struct Written {
    pub(crate) format: TimeFormat,
    /// Decimal sign of times that are numbers.
    pub(crate) decimal: u8,
    /// Whether the dates of the log themselves prove the order of day and month.
    pub(crate) proven: bool,
}

/// A log and the columns of its time.
struct Seen<'a, 't> {
    facts: &'a Facts<'t>,
    columns: &'a [usize],
}

impl Seen<'_, '_> {
    fn name(&self) -> &str {
        &self.facts.names[self.columns[0]]
    }

    /// What the units line says below the time column's name.
    fn below(&self) -> Option<&String> {
        self.facts.below(self.columns[0])
    }

    /// The first cell of a kind that is not zero: its line and text.
    fn first_cell(&self, kind: Kind) -> (u64, &str) {
        let column = self.columns[0];
        let mut of_kind = self.facts.rows.iter().filter(|row| row.kinds.get(column) == Some(&kind));
        let first = of_kind.clone().next();
        of_kind
            .find(|row| !row.cells[column].trim_start_matches(['0', ':', '.']).is_empty())
            .or(first)
            .map_or((0, ""), |row| (row.record.line.into(), row.cells[column].as_str()))
    }

    /// A question about the first cell of a kind.
    fn ask(&self, kind: Kind, asks: impl FnOnce(String) -> Asks) -> IngestError {
        let (line, cell) = self.first_cell(kind);
        Question {
            place: Place::cell(self.facts.shown_as, line, self.name(), cell.as_bytes()),
            asks: asks(cell.to_owned()),
        }
        .into()
    }
}

/// How the times are written.
pub(crate) fn decide(
    facts: &Facts<'_>,
    columns: &[usize],
    options: &ReadOptions,
) -> Result<(Written, Finding), IngestError> {
    let seen = Seen { facts, columns };
    let mut proven = false;
    let (format, because) = if let Some(format) = facts.layout.time.format {
        (format, Reason::Layout)
    } else if let Some(format) = options.answered.time {
        (format, Reason::Answer)
    } else {
        match majority(&facts.rows, columns[0]) {
            Some(Kind::Number) => numeric(&seen)?,
            Some(Kind::Clock) => clock(&seen, options)?,
            _ => {
                let at = DateCells {
                    text: facts.text,
                    delimiter: facts.grid.delimiter.byte(),
                    columns,
                    first_row: facts.first_row,
                };
                let decided =
                    date_order::format(&at, seen.name(), facts.shown_as, &facts.rows, options)?;
                proven = decided.proven;
                (decided.format, decided.because)
            }
        }
    };
    let decimal = match options.answered.decimal_of_times {
        Some(decimal) => decimal.byte(),
        None if format.is_number() => decimal(&seen)?,
        None => b'.',
    };
    let columns = columns.iter().map(|&c| facts.names[c].clone()).collect();
    Ok((Written { format, decimal, proven }, Finding::Time { columns, format, because }))
}

/// The decimal sign of times that are numbers: what any of them shows beyond doubt; where
/// all could be thousands (`3,600`), the reading under which they grow.
fn decimal(seen: &Seen<'_, '_>) -> Result<u8, IngestError> {
    let facts = seen.facts;
    let delimiter = facts.grid.delimiter.byte();
    if delimiter == b',' && !facts.text.has_quotes() {
        return Ok(b'.');
    }
    let marks = TimeMarks::of(facts.text, delimiter, facts.first_row, seen.columns[0]);
    let [points, commas] = marks.proofs;
    if points + commas > 0 {
        return Ok(if commas > points { b',' } else { b'.' });
    }
    let [back_by_point, back_by_comma] = marks.back;
    match marks.either {
        None => Ok(b'.'),
        Some(_) if back_by_point < back_by_comma => Ok(b'.'),
        Some(_) if back_by_comma < back_by_point => Ok(b','),
        Some((mark, line, cell)) => Err(Question {
            place: Place::cell(facts.shown_as, line, seen.name(), cell.as_bytes()),
            asks: Asks::MarkInTimes {
                mark,
                point: number::parse_time(cell.as_bytes(), b'.'),
                comma: number::parse_time(cell.as_bytes(), b','),
            },
        }
        .into()),
    }
}

fn numeric(seen: &Seen<'_, '_>) -> Result<(TimeFormat, Reason), IngestError> {
    let name = seen.name();
    if let Some(format) = words::numeric_time(name) {
        return Ok((format, Reason::NameSaysUnit { name: name.to_owned() }));
    }
    if let Some(format) = seen.below().and_then(|unit| words::numeric_time(unit)) {
        return Ok((format, Reason::UnitsLine));
    }
    let (_, cell) = seen.first_cell(Kind::Number);
    let column = seen.columns[0];
    let numbers: Vec<(&str, f64)> = seen
        .facts
        .rows
        .iter()
        .filter(|row| row.kinds.get(column) == Some(&Kind::Number))
        .filter_map(|row| Some((&*row.cells[column], score::number(&row.cells[column])?)))
        .collect();
    // 2001 to 2100 in seconds, milliseconds and microseconds since 1970; as elapsed time,
    // decades.
    let since_1970 = [
        ("s", 1.0, TimeFormat::UnixSeconds),
        ("ms", 1e3, TimeFormat::UnixMilliseconds),
        ("µs", 1e6, TimeFormat::UnixMicroseconds),
    ];
    let dates = |scale: f64| {
        numbers.iter().filter(move |(_, value)| (1e9 * scale..4.2e9 * scale).contains(value))
    };
    let value = score::number(cell).unwrap_or(0.0);
    let of_first =
        since_1970.iter().find(|(_, scale, _)| (1e9 * scale..4.2e9 * scale).contains(&value));
    // The first may be one that was cut: where nearly all count otherwise, so does it.
    let of_most = since_1970.iter().find(|(_, scale, _)| dates(*scale).count() * 2 > numbers.len());
    let alone = of_first.is_none_or(|(_, scale, _)| dates(*scale).count() == 1);
    let unix = if alone { of_most.or(of_first) } else { of_first };
    if let Some((unit, scale, format)) = unix
        && let Some((cell, _)) = dates(*scale).next()
    {
        return Ok((*format, Reason::SinceEpoch { cell: (*cell).to_owned(), unit }));
    }
    if let Some(step_s) = serial_step(seen) {
        let because = Reason::SpreadsheetDays { cell: cell.to_owned(), step_s };
        return Ok((TimeFormat::SerialDays, because));
    }
    Err(seen.ask(Kind::Number, |cell| Asks::UnitOfTimes { cell }))
}

/// The usual step, s, of a column of spreadsheet dates: numbers of the days from 1970 to
/// 2099, whose steps are seconds to minutes as parts of a day. As elapsed
/// seconds or minutes such a log would have begun hours before its first line and taken
/// readings a hundred times a second.
fn serial_step(seen: &Seen<'_, '_>) -> Option<f64> {
    let values: Vec<f64> = seen
        .facts
        .rows
        .iter()
        .filter_map(|row| score::number(row.cells.get(seen.columns[0])?))
        .collect();
    let dates = values.iter().filter(|v| SERIAL_DATES.contains(v)).count();
    if values.len() < 2 || dates * 10 < values.len() * 9 {
        return None;
    }
    let steps = values.windows(2).map(|pair| (pair[1] - pair[0]).abs());
    let mut steps: Vec<f64> = steps.filter(|step| *step > 0.0).collect();
    if steps.is_empty() {
        return None;
    }
    steps.sort_by(f64::total_cmp);
    let middle = steps[steps.len() / 2];
    (middle > 0.0 && middle < 0.05).then_some(middle * 86_400.0)
}

/// Times without a date: of the day, or elapsed.
fn clock(seen: &Seen<'_, '_>, options: &ReadOptions) -> Result<(TimeFormat, Reason), IngestError> {
    let name = seen.name();
    let cells: Vec<&str> = seen
        .facts
        .rows
        .iter()
        .filter(|row| row.kinds.get(seen.columns[0]) == Some(&Kind::Clock))
        .map(|row| row.cells[seen.columns[0]].as_str())
        .collect();
    let of = |format: TimeFormat| -> Vec<Option<i64>> {
        cells.iter().map(|cell| time::parse(format, cell.as_bytes(), None).map(|s| s.ms)).collect()
    };
    let three = of(TimeFormat::ElapsedHms);
    let many = |times: &[Option<i64>]| times.iter().flatten().count() * 10 > times.len() * 9;
    let preamble = preamble::day(&seen.facts.preamble);
    let layout =
        seen.facts.layout.time.start.as_deref().and_then(|start| time::parse_iso(start.as_bytes()));
    let started = layout
        .map(|stamp| stamp.ms.rem_euclid(time::DAY_MS))
        .or_else(|| preamble.as_ref().and_then(|day| day.clock_ms));
    let dated = options.has_date(seen.facts.shown_as)
        || layout.is_some()
        || (preamble.is_some() && started.is_none());
    if !words::is_duration(name)
        && let Some(because) =
            of_the_day(&cells, name, dated, started, seen.facts.grid.head.len() < HEAD_RECORDS)
    {
        return Ok((TimeFormat::Clock, because));
    }
    let beyond_a_day = three.iter().flatten().any(|&ms| ms >= 24 * HOUR_MS);
    let zero = |end: Option<&Option<i64>>| end.copied().flatten() == Some(0);
    let from_zero = (zero(three.first()) && three.iter().flatten().is_sorted())
        || (zero(three.last()) && three.iter().rev().flatten().is_sorted());
    let why = if words::is_duration(name) {
        Reason::NameSaysElapsed { name: name.to_owned() }
    } else if beyond_a_day {
        Reason::BeyondADay
    } else if from_zero {
        Reason::FromZero
    } else {
        return Err(seen.ask(Kind::Clock, |cell| Asks::ClockOrElapsed { cell }));
    };
    if many(&three) {
        return Ok((TimeFormat::ElapsedHms, why));
    }
    // `59:30` before `1:00:00`: the two-part cells are minutes and seconds, which one
    // format cannot say.
    if three.iter().flatten().count() > 0 {
        let (line, cell) = seen.first_cell(Kind::Clock);
        return Err(IngestError::Contradiction {
            place: Place::cell(seen.facts.shown_as, line, name, cell.as_bytes()).into(),
            what: "some times have two parts and some three".to_owned(),
            try_this: "export the log with times as h:mm:ss".to_owned(),
        });
    }
    let below = seen.below();
    let spelt = words::spelt_elapsed(name).or_else(|| below.and_then(|b| words::spelt_elapsed(b)));
    if let Some(spelt @ (TimeFormat::ElapsedHm | TimeFormat::ElapsedMs)) = spelt {
        return Ok((spelt, Reason::Spelt(spelt.as_str())));
    }
    Err(seen.ask(Kind::Clock, |cell| Asks::PartsOfElapsed { cell }))
}

/// Why times without a date are of the day, where anything says so: AM or PM, a name, a
/// clock that goes back past midnight, or a first line that is hours from zero.
///
/// `start` is the time of day at which the preamble says that the log began; `whole` is whether the cells are all of the log.
fn of_the_day(
    cells: &[&str],
    name: &str,
    dated: bool,
    start: Option<i64>,
    whole: bool,
) -> Option<Reason> {
    let times: Vec<Option<i64>> = cells
        .iter()
        .map(|cell| time::parse(TimeFormat::Clock, cell.as_bytes(), None).map(|s| s.ms))
        .collect();
    if times.iter().flatten().count() * 10 <= times.len() * 9 {
        return None;
    }
    if cells.iter().any(|cell| cell.to_lowercase().trim_end_matches('.').ends_with('m')) {
        return Some(Reason::HalvesOfDay);
    }
    if words::words(name).iter().any(|word| word == "clock" || word == "local") {
        return Some(Reason::NameSaysClock { name: name.to_owned() });
    }
    let known: Vec<i64> = times.into_iter().flatten().collect();
    let midnight = known.windows(2).any(|pair| pair[0] - pair[1] > 23 * HOUR_MS);
    if midnight {
        return Some(Reason::PastMidnight);
    }
    let steps = |way: fn(&[i64]) -> bool| known.windows(2).filter(|pair| way(pair)).count();
    let falls = steps(|pair| pair[1] < pair[0]) > steps(|pair| pair[1] > pair[0]);
    if falls && !whole {
        return None;
    }
    let first = if falls { *known.last()? } else { *known.first()? };
    if start.is_some_and(|start| (start - first).abs() > ELAPSED_START_MS) {
        return None;
    }
    if first > ELAPSED_START_MS && first < time::DAY_MS {
        let cell = if falls { cells.last()? } else { cells.first()? };
        return Some(Reason::FarFromZero { cell: (*cell).to_owned() });
    }
    (dated && first > 0).then_some(Reason::DateKnown)
}
