//! Which columns are the time of a log, and how it is written.

use super::dates::{self, Dates};
use super::head::{HEAD, HeadRow, Kind, majority};
use super::options::ReadOptions;
use super::plan::{evidence, missing_column};
use super::scan::Found;
use super::words;
use crate::error::{IngestError, Place};
use crate::layout::{Layout, alike};
use crate::number::{self, Signs};
use crate::question::QuestionCode;
use crate::text::{Splitter, Text};
use crate::time;
use crate::time::TimeFormat;
use cook::Evidence;

/// 1970-01-01 as a spreadsheet's serial date: where clocks start that were never set.
const SERIAL_1970: f64 = 25_569.0;
const HOUR_MS: i64 = 3_600_000;
/// An elapsed log begins within this of its zero, ms.
const ELAPSED_START_MS: i64 = 30 * 60_000;

/// The time column, or the date column and the clock column.
pub(super) fn columns(
    names: &[String],
    rows: &[&HeadRow<'_>],
    layout: &Layout,
    named_header: bool,
    place: &Place,
) -> Result<Vec<usize>, IngestError> {
    if !layout.time.columns.is_empty() {
        return layout
            .time
            .columns
            .iter()
            .map(|wanted| {
                names
                    .iter()
                    .position(|name| alike(wanted, name))
                    .ok_or_else(|| missing_column(wanted, names, place))
            })
            .collect();
    }
    let named: Vec<usize> = (0..names.len()).filter(|&c| words::is_time(&names[c])).collect();
    let all: Vec<usize> = (0..names.len()).collect();
    for among in [&named, &all] {
        let of_kind = |kind: Kind| among.iter().copied().find(|&c| majority(rows, c) == Some(kind));
        if let Some(column) = of_kind(Kind::DateTime) {
            return Ok(vec![column]);
        }
        if let (Some(date), Some(clock)) = (of_kind(Kind::Date), of_kind(Kind::Clock)) {
            return Ok(vec![date, clock]);
        }
        // A date column named in the header may have its clock under any name.
        if let (Some(date), Some(clock)) = (
            of_kind(Kind::Date),
            all.iter().copied().find(|&c| majority(rows, c) == Some(Kind::Clock)),
        ) {
            return Ok(vec![date, clock]);
        }
        if let Some(column) = of_kind(Kind::Clock) {
            return Ok(vec![column]);
        }
    }
    let number = |&c: &usize| majority(rows, c) == Some(Kind::Number);
    named
        .iter()
        .copied()
        .filter(number)
        .max_by_key(|&c| words::is_duration(&names[c]))
        // Without a header the first column is the time; scanning has seen it grow.
        .or_else(|| {
            let dated = |&c: &usize| {
                let first = rows.iter().find_map(|row| super::score::number(row.cells.get(c)?));
                let serial =
                    |value: f64| (SERIAL_1970..73_051.0).contains(&value) && value.fract() != 0.0;
                number(&c) && first.is_some_and(|value| value >= 1e9 || serial(value))
            };
            let counted = (0..names.len().min(3)).find(dated);
            if named_header { None } else { counted.or_else(|| number(&0).then_some(0)) }
        })
        .map(|column| vec![column])
        .ok_or_else(|| IngestError::NoTable {
            place: Box::new(place.clone()),
            what: "no column holds times".to_owned(),
            try_this: "a layout with `time.columns` and `time.format`".to_owned(),
        })
}

/// How the times of a log are written.
pub(super) struct Written {
    pub(super) format: TimeFormat,
    /// Decimal sign of times that are numbers.
    pub(super) decimal: u8,
    /// Whether the dates of the log themselves prove the order of day and month.
    pub(super) proven: bool,
}

/// What deciding on the time needs to see.
pub(super) struct Seen<'a, 't> {
    pub(super) text: &'a Text<'a>,
    pub(super) found: &'a Found<'t>,
    pub(super) names: &'a [String],
    pub(super) columns: &'a [usize],
    pub(super) rows: &'a [&'a HeadRow<'t>],
    pub(super) layout: &'a Layout,
    pub(super) first_row: usize,
    pub(super) units_row: Option<usize>,
    pub(super) metadata: &'a [(String, String)],
    pub(super) shown_as: &'a str,
}

impl Seen<'_, '_> {
    fn name(&self) -> &str {
        &self.names[self.columns[0]]
    }

    /// What the units row says below the time column's name.
    fn below(&self) -> Option<&String> {
        self.units_row.and_then(|at| self.found.head[at].cells.get(self.columns[0]))
    }

    /// The first cell of a kind that is not zero: its line and text.
    fn first_cell(&self, kind: Kind) -> (u64, &str) {
        let column = self.columns[0];
        let mut of_kind = self.rows.iter().filter(|row| row.kinds.get(column) == Some(&kind));
        let first = of_kind.clone().next();
        of_kind
            .find(|row| !row.cells[column].trim_start_matches(['0', ':', '.']).is_empty())
            .or(first)
            .map_or((0, ""), |row| (row.record.line.into(), row.cells[column].as_str()))
    }
}

/// How the times are written.
pub(super) fn format(
    seen: &Seen<'_, '_>,
    options: &ReadOptions,
    notes: &mut Vec<Evidence>,
) -> Result<Written, IngestError> {
    let shown: Vec<&str> = seen.columns.iter().map(|&c| seen.names[c].as_str()).collect();
    let shown = shown.join("` and `");
    let mut proven = false;
    let (format, because) = if let Some(format) = seen.layout.time.format {
        (format, "the layout says so".to_owned())
    } else {
        match majority(seen.rows, seen.columns[0]) {
            Some(Kind::Number) => numeric(seen)?,
            Some(Kind::Clock) => clock(seen, options)?,
            _ => {
                let dates = Dates {
                    text: seen.text,
                    delimiter: seen.found.delimiter.byte(),
                    columns: seen.columns,
                    name: seen.name(),
                    first_row: seen.first_row,
                    shown_as: seen.shown_as,
                };
                let decided = dates::format(&dates, seen.rows, options)?;
                proven = decided.proven;
                (decided.format, decided.because)
            }
        }
    };
    notes.push(evidence(
        "time",
        &format!("column `{shown}`, {}", format.as_str()),
        &because,
        "layout `time.columns`, `time.format`",
    ));
    let decimal = if format.is_number() { decimal(seen)? } else { b'.' };
    Ok(Written { format, decimal, proven })
}

/// The decimal sign of times that are numbers: what any of them shows beyond doubt; where
/// all could be thousands (`3,600`), the reading under which they grow.
fn decimal(seen: &Seen<'_, '_>) -> Result<u8, IngestError> {
    let delimiter = seen.found.delimiter.byte();
    if delimiter == b',' && !seen.text.has_quotes() {
        return Ok(b'.');
    }
    let mut splitter = Splitter::new(delimiter);
    let mut counts = [0_u64; 2];
    let mut either: Option<(u8, u64, String)> = None;
    let mut last = [f64::NEG_INFINITY; 2];
    let mut back = [0_u64; 2];
    for record in seen.text.records(delimiter).skip(seen.first_row) {
        let cells = splitter.split(&record);
        let cell = cells.get(seen.columns[0]);
        match number::signs(cell) {
            Some(Signs::Decimal(sign)) => counts[usize::from(sign == b',')] += 1,
            Some(Signs::Either(sign)) if either.is_none() => {
                let text = String::from_utf8_lossy(cell).into_owned();
                either = Some((sign, record.line.into(), text));
            }
            None => continue,
            _ => {}
        }
        for (i, sign) in [b'.', b','].into_iter().enumerate() {
            if let Some(value) = number::parse_time(cell, sign) {
                back[i] += u64::from(value < last[i]);
                last[i] = value;
            }
        }
    }
    if counts[0] + counts[1] > 0 {
        return Ok(if counts[1] > counts[0] { b',' } else { b'.' });
    }
    match either {
        None => Ok(b'.'),
        Some(_) if back[0] < back[1] => Ok(b'.'),
        Some(_) if back[1] < back[0] => Ok(b','),
        Some((sign, line, cell)) => Err(IngestError::NeedsAnswer {
            place: Place::cell(seen.shown_as, line, seen.name(), cell.as_bytes()).into(),
            code: QuestionCode::MarkInTimes,
            question: format!("`{}` can mark thousands or decimals", char::from(sign)),
            readings: [
                format!("{} (decimal = \"point\")", shown_number(&cell, b'.')),
                format!("{} (decimal = \"comma\")", shown_number(&cell, b',')),
            ],
            setting: "an export without marks between thousands".to_owned(),
        }),
    }
}

fn shown_number(cell: &str, decimal: u8) -> String {
    number::parse_time(cell.as_bytes(), decimal).map_or(String::new(), |value| value.to_string())
}

fn numeric(seen: &Seen<'_, '_>) -> Result<(TimeFormat, String), IngestError> {
    let name = seen.name();
    if let Some(format) = words::numeric_time(name) {
        return Ok((format, format!("the column's name `{name}` says its unit")));
    }
    if let Some(format) = seen.below().and_then(|unit| words::numeric_time(unit)) {
        return Ok((format, "the units line says so".to_owned()));
    }
    let (line, cell) = seen.first_cell(Kind::Number);
    let column = seen.columns[0];
    let numbers: Vec<(&str, f64)> = seen
        .rows
        .iter()
        .filter(|row| row.kinds.get(column) == Some(&Kind::Number))
        .filter_map(|row| Some((&*row.cells[column], super::score::number(&row.cells[column])?)))
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
    let value = super::score::number(cell).unwrap_or(0.0);
    let of_first =
        since_1970.iter().find(|(_, scale, _)| (1e9 * scale..4.2e9 * scale).contains(&value));
    // The first may be one that was cut: where nearly all count otherwise, so does it.
    let of_most = since_1970.iter().find(|(_, scale, _)| dates(*scale).count() * 2 > numbers.len());
    let alone = of_first.is_none_or(|(_, scale, _)| dates(*scale).count() == 1);
    let unix = if alone { of_most.or(of_first) } else { of_first };
    if let Some((unit, scale, format)) = unix
        && let Some((cell, _)) = dates(*scale).next()
    {
        return Ok((*format, format!("{cell} {unit} are decades, but a date since 1970")));
    }
    if let Some(step) = serial_step(seen) {
        return Ok((
            TimeFormat::SerialDays,
            format!(
                "{cell} days since 1899-12-30 are a date, and its steps are {step:.1} s of a day"
            ),
        ));
    }
    Err(IngestError::NeedsAnswer {
        place: Place::cell(seen.shown_as, line, name, cell.as_bytes()).into(),
        code: QuestionCode::UnitOfTimes,
        question: "the times are numbers, and nothing says of what".to_owned(),
        readings: [
            format!("{cell} seconds since the log began"),
            format!("{cell} minutes since the log began"),
        ],
        setting: "a layout with time.format = \"elapsed-seconds\" or \"elapsed-minutes\""
            .to_owned(),
    })
}

/// The usual step, s, of a column of spreadsheet dates: numbers of the days from 1970 to
/// 2099, whose steps are seconds to minutes as parts of a day. As elapsed
/// seconds or minutes such a log would have begun hours before its first line and taken
/// readings a hundred times a second.
fn serial_step(seen: &Seen<'_, '_>) -> Option<f64> {
    let values: Vec<f64> = seen
        .rows
        .iter()
        .filter_map(|row| super::score::number(row.cells.get(seen.columns[0])?))
        .collect();
    let dates = values.iter().filter(|v| (SERIAL_1970..73_051.0).contains(*v)).count();
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
fn clock(seen: &Seen<'_, '_>, options: &ReadOptions) -> Result<(TimeFormat, String), IngestError> {
    let name = seen.name();
    let cells: Vec<&str> = seen
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
    let (line, cell) = seen.first_cell(Kind::Clock);
    let preamble = super::start::preamble_day(seen.metadata);
    let layout =
        seen.layout.time.start.as_deref().and_then(|start| time::parse_iso(start.as_bytes()));
    let started = layout
        .map(|stamp| stamp.ms.rem_euclid(time::DAY_MS))
        .or_else(|| preamble.as_ref().and_then(|day| day.clock_ms));
    let dated = options.has_date(seen.shown_as)
        || layout.is_some()
        || (preamble.is_some() && started.is_none());
    if !words::is_duration(name)
        && let Some(because) =
            of_the_day(&cells, name, dated, started, seen.found.head.len() < HEAD)
    {
        return Ok((TimeFormat::Clock, because));
    }
    let beyond_a_day = three.iter().flatten().any(|&ms| ms >= 24 * HOUR_MS);
    let zero = |end: Option<&Option<i64>>| end.copied().flatten() == Some(0);
    let from_zero = (zero(three.first()) && three.iter().flatten().is_sorted())
        || (zero(three.last()) && three.iter().rev().flatten().is_sorted());
    let why = if words::is_duration(name) {
        format!("the column's name `{name}` says elapsed")
    } else if beyond_a_day {
        "it runs beyond 24 hours".to_owned()
    } else if from_zero {
        "it begins at zero and the log has no date".to_owned()
    } else {
        return Err(IngestError::NeedsAnswer {
            place: Place::cell(seen.shown_as, line, name, cell.as_bytes()).into(),
            code: QuestionCode::ClockOrElapsed,
            question: "the log has no date: its times can be of the day or since the log began"
                .to_owned(),
            readings: [format!("{cell} of some day"), format!("{cell} after the log began")],
            setting: "a layout with time.format = \"clock\" or \"elapsed-hms\"".to_owned(),
        });
    };
    if many(&three) {
        return Ok((TimeFormat::ElapsedHms, why));
    }
    // `59:30` before `1:00:00`: the two-part cells are minutes and seconds, which one
    // format cannot say.
    if three.iter().flatten().count() > 0 {
        return Err(IngestError::Contradiction {
            place: Place::cell(seen.shown_as, line, name, cell.as_bytes()).into(),
            what: "some times have two parts and some three".to_owned(),
            try_this: "export the log with times as h:mm:ss".to_owned(),
        });
    }
    let below = seen.below();
    let spelt = words::spelt_elapsed(name).or_else(|| below.and_then(|b| words::spelt_elapsed(b)));
    if let Some(spelt @ (TimeFormat::ElapsedHm | TimeFormat::ElapsedMs)) = spelt {
        return Ok((spelt, format!("the header spells `{}`", spelt.as_str())));
    }
    Err(IngestError::NeedsAnswer {
        place: Place::cell(seen.shown_as, line, name, cell.as_bytes()).into(),
        code: QuestionCode::PartsOfElapsed,
        question: "elapsed times of two parts".to_owned(),
        readings: [
            format!("{cell} are hours and minutes"),
            format!("{cell} are minutes and seconds"),
        ],
        setting: "a layout with time.format = \"elapsed-hm\" or \"elapsed-ms\"".to_owned(),
    })
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
) -> Option<String> {
    let times: Vec<Option<i64>> = cells
        .iter()
        .map(|cell| time::parse(TimeFormat::Clock, cell.as_bytes(), None).map(|s| s.ms))
        .collect();
    if times.iter().flatten().count() * 10 <= times.len() * 9 {
        return None;
    }
    if cells.iter().any(|cell| cell.to_lowercase().trim_end_matches('.').ends_with('m')) {
        return Some("its times have AM or PM".to_owned());
    }
    if words::words(name).iter().any(|word| word == "clock" || word == "local") {
        return Some(format!("the column's name `{name}` says a clock"));
    }
    let known: Vec<i64> = times.into_iter().flatten().collect();
    let midnight = known.windows(2).any(|pair| pair[0] - pair[1] > 23 * HOUR_MS);
    if midnight {
        return Some("it goes back past midnight".to_owned());
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
        return Some(format!("it begins at {cell}, and an elapsed time would begin at zero"));
    }
    (dated && first > 0)
        .then(|| "the settings, the sheet or the preamble give the log's date".to_owned())
}
