//! Which columns are the time of a log, and how it is written.

use super::plan::{evidence, majority, missing_column};
use super::scan::{Found, HeadRow, Kind};
use super::words;
use crate::error::{IngestError, Place};
use crate::layout::{Layout, TimeFormat, alike};
use crate::text::{Splitter, Text};
use crate::time;
use cook::Evidence;

/// A day order is proven by at least this many lines, or this share of all of them: one
/// corrupt line must not decide how all others are read.
const PROOF_LINES: u64 = 3;
const PROOF_SHARE: u64 = 100;
const HOUR_MS: i64 = 3_600_000;

/// The time column, or the date column and the clock column.
pub(super) fn columns(
    names: &[String],
    rows: &[&HeadRow<'_>],
    layout: &Layout,
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
    named
        .iter()
        .copied()
        .filter(|&c| majority(rows, c) == Some(Kind::Number))
        .max_by_key(|&c| words::is_duration(&names[c]))
        .map(|column| vec![column])
        .ok_or_else(|| IngestError::NoTable {
            place: Box::new(place.clone()),
            what: "no column holds times".to_owned(),
            try_this: "a layout with `time.columns` and `time.format`".to_owned(),
        })
}

/// How the times are written.
#[allow(clippy::too_many_arguments)]
pub(super) fn format(
    text: &Text<'_>,
    names: &[String],
    columns: &[usize],
    rows: &[&HeadRow<'_>],
    layout: &Layout,
    shown_as: &str,
    first_row: usize,
    found: &Found<'_>,
    units_row: Option<usize>,
    notes: &mut Vec<Evidence>,
) -> Result<TimeFormat, IngestError> {
    let shown: Vec<&str> = columns.iter().map(|&c| names[c].as_str()).collect();
    let shown = shown.join("` and `");
    let (format, because) = if let Some(format) = layout.time.format {
        (format, "the layout says so".to_owned())
    } else {
        let name = &names[columns[0]];
        let below = units_row.and_then(|at| found.head[at].cells.get(columns[0]));
        match majority(rows, columns[0]) {
            Some(Kind::Number) => numeric(name, below, columns[0], rows, shown_as)?,
            Some(Kind::Clock) => clock(name, below, columns[0], rows, shown_as)?,
            _ => dated(text, found.delimiter.byte(), columns, rows, names, shown_as, first_row)?,
        }
    };
    notes.push(evidence(
        "time",
        &format!("column `{shown}`, {}", format.as_str()),
        &because,
        "layout `time.columns`, `time.format`",
    ));
    Ok(format)
}

fn first_cell<'r>(rows: &'r [&HeadRow<'_>], column: usize, kind: Kind) -> (u64, &'r str) {
    rows.iter()
        .find(|row| {
            row.kinds.get(column) == Some(&kind)
                && !row.cells[column].trim_start_matches(['0', ':', '.']).is_empty()
        })
        .or_else(|| rows.iter().find(|row| row.kinds.get(column) == Some(&kind)))
        .map_or((0, ""), |row| (row.record.line.into(), row.cells[column].as_str()))
}

fn numeric(
    name: &str,
    below: Option<&String>,
    column: usize,
    rows: &[&HeadRow<'_>],
    shown_as: &str,
) -> Result<(TimeFormat, String), IngestError> {
    if let Some(format) = words::numeric_time(name) {
        return Ok((format, format!("the column's name `{name}` says its unit")));
    }
    if let Some(format) = below.and_then(|unit| words::numeric_time(unit)) {
        return Ok((format, "the units line says so".to_owned()));
    }
    let (line, cell) = first_cell(rows, column, Kind::Number);
    let value = crate::number::parse(cell.replace(',', ".").as_bytes(), b'.').unwrap_or(0.0);
    // 2001 to 2100 in seconds and in milliseconds since 1970; as elapsed seconds, decades.
    if (1e9..4.2e9).contains(&value) {
        return Ok((
            TimeFormat::UnixSeconds,
            format!("{cell} s are decades, but a date since 1970"),
        ));
    }
    if (1e12..4.2e12).contains(&value) {
        return Ok((
            TimeFormat::UnixMilliseconds,
            format!("{cell} ms are decades, but a date since 1970"),
        ));
    }
    Err(IngestError::NeedsAnswer {
        place: Place::cell(shown_as, line, name, cell.as_bytes()).into(),
        question: "the times are numbers, and nothing says of what".to_owned(),
        readings: [
            format!("{cell} seconds since the log began"),
            format!("{cell} minutes since the log began"),
        ],
        setting: "a layout with time.format = \"elapsed-seconds\" or \"elapsed-minutes\""
            .to_owned(),
    })
}

fn clock(
    name: &str,
    below: Option<&String>,
    column: usize,
    rows: &[&HeadRow<'_>],
    shown_as: &str,
) -> Result<(TimeFormat, String), IngestError> {
    let cells: Vec<&str> = rows
        .iter()
        .filter(|row| row.kinds.get(column) == Some(&Kind::Clock))
        .map(|row| row.cells[column].as_str())
        .collect();
    let of = |format: TimeFormat| -> Vec<Option<i64>> {
        cells.iter().map(|cell| time::parse(format, cell.as_bytes(), None).map(|s| s.ms)).collect()
    };
    let three = of(TimeFormat::ElapsedHms);
    let many = |times: &[Option<i64>]| times.iter().flatten().count() * 10 > times.len() * 9;
    let spelt = words::spelt_elapsed(name).or_else(|| below.and_then(|b| words::spelt_elapsed(b)));
    let (line, cell) = first_cell(rows, column, Kind::Clock);
    let half_day =
        cells.iter().any(|cell| cell.to_lowercase().trim_end_matches('.').ends_with('m'));
    let elapsed = words::is_duration(name);
    let beyond_a_day = three.iter().flatten().any(|&ms| ms >= 24 * HOUR_MS);
    let from_zero =
        three.first().copied().flatten() == Some(0) && three.iter().flatten().is_sorted();
    let why = if elapsed {
        Some(format!("the column's name `{name}` says elapsed"))
    } else if beyond_a_day {
        Some("it runs beyond 24 hours".to_owned())
    } else if from_zero && !half_day {
        Some("it begins at zero and the log has no date".to_owned())
    } else {
        None
    };
    let Some(why) = why else {
        return Err(IngestError::NeedsAnswer {
            place: Place::cell(shown_as, line, name, cell.as_bytes()).into(),
            question: "the log has no date: its times can be of the day or since the log began".to_owned(),
            readings: [format!("{cell} of some day"), format!("{cell} after the log began")],
            setting: "a layout with time.format = \"elapsed-hms\" (and time.start, the instant of its zero), or an export that has the date".to_owned(),
        });
    };
    if many(&three) {
        return Ok((TimeFormat::ElapsedHms, why));
    }
    // `59:30` before `1:00:00`: the two-part cells are minutes and seconds, which one
    // format cannot say.
    if three.iter().flatten().count() > 0 {
        return Err(IngestError::Contradiction {
            place: Place::cell(shown_as, line, name, cell.as_bytes()).into(),
            what: "some times have two parts and some three".to_owned(),
            try_this: "export the log with times as h:mm:ss".to_owned(),
        });
    }
    if let Some(spelt @ (TimeFormat::ElapsedHm | TimeFormat::ElapsedMs)) = spelt {
        return Ok((spelt, format!("the header spells `{}`", spelt.as_str())));
    }
    Err(IngestError::NeedsAnswer {
        place: Place::cell(shown_as, line, name, cell.as_bytes()).into(),
        question: "elapsed times of two parts".to_owned(),
        readings: [
            format!("{cell} are hours and minutes"),
            format!("{cell} are minutes and seconds"),
        ],
        setting: "a layout with time.format = \"elapsed-hm\" or \"elapsed-ms\"".to_owned(),
    })
}

fn dated(
    text: &Text<'_>,
    delimiter: u8,
    columns: &[usize],
    rows: &[&HeadRow<'_>],
    names: &[String],
    shown_as: &str,
    first_row: usize,
) -> Result<(TimeFormat, String), IngestError> {
    let cells: Vec<&str> = rows
        .iter()
        .filter(|row| matches!(row.kinds.get(columns[0]), Some(Kind::DateTime | Kind::Date)))
        .map(|row| row.cells[columns[0]].as_str())
        .collect();
    let share = |format: TimeFormat| {
        cells.iter().filter(|cell| time::parse_date(format, cell.as_bytes()).is_some()).count()
    };
    if share(TimeFormat::Iso) * 2 > cells.len() {
        return Ok((TimeFormat::Iso, "its dates are written year first".to_owned()));
    }
    if share(TimeFormat::MonthName) * 2 > cells.len() {
        return Ok((TimeFormat::MonthName, "its months are written as words".to_owned()));
    }
    let dotted = cells.iter().filter(|c| c.bytes().filter(|b| *b == b'.').count() >= 2).count();
    let dotted = dotted * 2 > cells.len();
    order(text, delimiter, columns, &names[columns[0]], shown_as, first_row, dotted)
}

/// The first line that two orders read differently: its number, its text, each reading.
type Differing = (u64, String, Vec<(TimeFormat, i64)>);

/// How often a day order can read a log's dates.
#[derive(Default)]
struct Tally {
    /// Lines that only this order of all reads.
    alone: u64,
    reads: u64,
    /// Greatest step between neighbouring lines, ms.
    largest_step: i64,
    previous: Option<i64>,
}

/// Day first or month first (or, with two-digit years, year first): by the dates that
/// only one order can read, else by a midnight in the log that is a step of minutes under
/// one order and of weeks under the other, else by the dots (no locale of the Unicode
/// CLDR writes dotted dates month first); else it is a question.
fn order(
    text: &Text<'_>,
    delimiter: u8,
    columns: &[usize],
    name: &str,
    shown_as: &str,
    first_row: usize,
    dotted: bool,
) -> Result<(TimeFormat, String), IngestError> {
    const ORDERS: [TimeFormat; 3] =
        [TimeFormat::DayFirst, TimeFormat::MonthFirst, TimeFormat::YearFirst];
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
            let tally = &mut tallies[i];
            tally.reads += 1;
            tally.alone += u64::from(read.len() == 1);
            let step = tally.previous.map_or(0, |previous| (ms - previous).abs());
            tally.largest_step = tally.largest_step.max(step);
            tally.previous = Some(ms);
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
        return Ok((ORDERS[only], because));
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
        return Ok((ORDERS[only], "no other order reads nine tenths of the dates".to_owned()));
    }
    let Some((line, cell, stamps)) = differing else {
        let first = possible.first().copied().unwrap_or(0);
        return Ok((ORDERS[first], "both orders give the same dates".to_owned()));
    };
    let minutes: Vec<usize> =
        possible.iter().copied().filter(|&i| tallies[i].largest_step <= HOUR_MS).collect();
    let weeks = possible.iter().filter(|&&i| tallies[i].largest_step >= 20 * time::DAY_MS).count();
    if let [only] = minutes[..]
        && weeks + 1 == possible.len()
    {
        return Ok((
            ORDERS[only],
            "its midnights are steps of minutes; under another order, of weeks".to_owned(),
        ));
    }
    if dotted && stamps.iter().all(|(order, _)| *order != TimeFormat::YearFirst) {
        return Ok((
            TimeFormat::DayFirst,
            "dates with dots are written day first (Unicode CLDR)".to_owned(),
        ));
    }
    let reading = |(order, ms): &(TimeFormat, i64)| {
        let shown = jiff::Timestamp::from_millisecond(*ms)
            .map_or_else(|_| ms.to_string(), |t| t.strftime("%-d %B %Y").to_string());
        format!("{} (time.format = \"{}\")", shown, order.as_str())
    };
    Err(IngestError::NeedsAnswer {
        place: Place::cell(shown_as, line, name, cell.as_bytes()).into(),
        question: "the order of day and month cannot be told".to_owned(),
        readings: [reading(&stamps[0]), reading(&stamps[1])],
        setting:
            "a layout with time.format (`cookstudy inspect --save-layout` writes one to change)"
                .to_owned(),
    })
}
