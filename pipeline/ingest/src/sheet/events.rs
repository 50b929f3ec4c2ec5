//! The events sheet: what happened, and when.

use super::cell::{Cell, NOT_AVAILABLE};
use super::code::SheetCode;
use super::grid::Wanted;
use super::row::GridRow;
use super::stated::{self, Time};
use super::table::Sheet;
use super::vocabulary::EVENTS_COLUMNS;
use super::{EventsReading, SheetOptions};
use crate::error::IngestError;
use crate::number;
use cook::season::TemperatureUnit;
use cook::{Bark, Card, Celsius, Event, EventKind, Question, RejectedRow, SpotReading};
use jiff::tz::TimeZone;
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use std::path::Path;

/// What a thermometer in meat on a pit can show, °C: from where meat freezes, less what a thermometer is off,
/// to boiling under a lid.
const SPOT_C: std::ops::RangeInclusive<f64> = -5.0..=110.0;
/// What a pit can be set to with its unit, °C (105 to 750 °F): no fire is kept at less than a hot day.
/// Common practice, no source.
const PIT_SET_C: std::ops::RangeInclusive<f64> = 40.0..=400.0;

/// An event whose time waits for a meat-on.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Waiting {
    event: Event,
    time: Time,
    /// Line, byte, lines and text of its row.
    line: u64,
    byte: u64,
    lines: u64,
    text: String,
    source: String,
}

impl Waiting {
    pub(super) fn event(&self) -> &Event {
        &self.event
    }

    /// Lines of its row.
    pub(super) fn lines(&self) -> u64 {
        self.lines
    }

    /// What its row says, wherever it stands.
    pub(super) fn content(&self) -> impl Serialize + '_ {
        (&self.event, self.time, &self.text)
    }
}

/// The columns of an events sheet that must be there.
const EVENTS_SHEET: Wanted = Wanted { columns: &["cook", "time", "event"], unless: &[] };

/// Reads an events sheet from CSV (comma, semicolon or tab), XLSX or ODS with the columns
/// `cook`, `time`, `event` and perhaps `value` and `note`; other columns join the note.
/// `shown_as` and `path` may name a worksheet behind `#`; else it is the visible one with
/// these columns.
///
/// A clock time is the first such time at or after the event before (of that cook), or
/// after meat-on, where the former lies beyond the card's end and the latter does not; that of `lit`, the last such time before meat-on; that of `meat_on`, on
/// the card's date. Events of a cook whose meat-on is not known yet wait for
/// [`crate::resolve_marks`].
///
/// # Errors
/// [`IngestError::Unreadable`], [`IngestError::NotText`], [`IngestError::BadContainer`] (a
/// workbook that is damaged, encrypted or too large), [`IngestError::NoTable`] (a missing
/// column), [`IngestError::NeedsAnswer`] (two worksheets with these columns).
pub fn read_events_sheet(
    path: &Path,
    shown_as: &str,
    options: &SheetOptions,
    cards: &[Card],
) -> Result<EventsReading, IngestError> {
    let zone = &options.zone;
    let mut sheet = Sheet::read(path, shown_as, EVENTS_SHEET, EVENTS_COLUMNS, options)?;
    let mut reading = EventsReading::default();
    let known: HashSet<&str> = cards.iter().map(|card| card.cook.as_str()).collect();
    for row in std::mem::take(&mut sheet.rows) {
        let written = sheet.cell(&row, "time").map(Cell::text).unwrap_or_default();
        if !options.zone_known && stated::is_local(&written, &sheet.writing) {
            let place = format!("{}:{} time", sheet.shown_as, row.line);
            sheet.questions.push(Question::time_zone().at(place));
            continue;
        }
        match event(&sheet, &row, zone, &known) {
            Ok((waiting, bad_value)) => {
                if let Some(text) = bad_value {
                    reading.bad_values.insert(row.line, waiting.event.kind);
                    sheet.account.rejected_cells += 1;
                    sheet.rejected.push(cell(
                        &sheet.shown_as,
                        &row,
                        "value",
                        SheetCode::BadValue,
                        text,
                    ));
                }
                let (cook, kind) = (&waiting.event.cook, waiting.event.kind);
                let is_same = |at: &(String, EventKind, String)| at.0 == *cook && at.1 == kind;
                if kind.is_mark() && !reading.marks_at.iter().any(is_same) {
                    let place = format!("{}:{} time", sheet.shown_as, row.line);
                    reading.marks_at.push((cook.clone(), kind, place));
                }
                reading.waiting.push(waiting);
            }
            Err((column, code, text)) => {
                sheet.account.data -= row.lines;
                sheet.account.rejected += row.lines;
                sheet.rejected.push(cell(&sheet.shown_as, &row, column, code, text));
            }
        }
    }
    reading.headers = vec![sheet.header()];
    reading.cooks = cards.iter().map(|card| card.cook.clone()).collect();
    reading.rejected = sheet.rejected;
    reading.account = sheet.account;
    reading.content_hash = sheet.content_hash;
    reading.evidence = sheet.evidence;
    reading.warnings = sheet.warnings;
    reading.questions = sheet.questions;
    reading.resolve_waiting(cards, zone, false);
    Ok(reading)
}

fn cell(source: &str, row: &GridRow, column: &str, code: SheetCode, text: String) -> RejectedRow {
    RejectedRow {
        source: source.to_owned(),
        line: row.line,
        byte: row.byte,
        column: Some(column.to_owned()),
        code: code.as_str().to_owned(),
        text,
    }
}

const HALF_DAY_MS: i64 = crate::time::DAY_MS / 2;

/// What pits are set to, °C (150 to 350 °F); common practice, no source.
const PIT_KEPT_C: std::ops::RangeInclusive<f64> = 65.0..=177.0;

type Refused = (&'static str, SheetCode, String);

fn event(
    sheet: &Sheet,
    row: &GridRow,
    zone: &TimeZone,
    known: &HashSet<&str>,
) -> Result<(Waiting, Option<String>), Refused> {
    let get = |column: &'static str| match sheet.cell(row, column) {
        None | Some(Cell::Empty) => Ok(None),
        Some(Cell::Error(error)) if error == NOT_AVAILABLE => Ok(None),
        Some(Cell::Error(error)) => Err((column, SheetCode::FormulaError, error.clone())),
        Some(Cell::Number(value)) if column == "time" => {
            Ok(Some(sheet.serial(*value).unwrap_or(Cell::Number(*value)).text()))
        }
        Some(cell) => Ok(Some(cell.text())),
    };
    let cook = get("cook")?.ok_or(("cook", SheetCode::NoCook, String::new()))?;
    if !known.contains(cook.as_str()) {
        return Err(("cook", SheetCode::UnknownCook, cook));
    }
    let word = get("event")?.ok_or(("event", SheetCode::NoEvent, String::new()))?;
    let kind: EventKind =
        word.parse().map_err(|_| ("event", SheetCode::UnknownEvent, word.clone()))?;
    let written = get("time")?.ok_or(("time", SheetCode::NoTime, String::new()))?;
    let time = stated::parse(&written, zone, &sheet.writing)
        .map_err(|code| ("time", code, written.clone()))?;
    let (value, bad) = match get("value")? {
        None => (None, None),
        Some(text) => match checked(kind, &text) {
            Some(value) => (Some(value), None),
            None => (None, Some(text)),
        },
    };
    let mut note: Vec<String> = get("note")?.into_iter().collect();
    for (i, name) in sheet.names.iter().enumerate() {
        let known = ["cook", "time", "event", "value", "note", "id"].contains(&name.as_str());
        if let Some(cell) = row.cells.get(i).filter(|cell| !known && !cell.is_empty()) {
            note.push(format!("{}: {}", sheet.written[i], cell.text()));
        }
    }
    let event =
        Event { cook, at_ms: 0, kind, value, note: (!note.is_empty()).then(|| note.join("; ")) };
    let waiting = Waiting {
        event,
        time,
        line: row.line,
        byte: row.byte,
        lines: row.lines,
        text: written,
        source: sheet.shown_as.clone(),
    };
    Ok((waiting, bad))
}

/// An event's value in its usual writing; `None` where it is none for that kind: a set-point
/// needs a temperature with C or F, fuel a mass with its unit, a lid `open`, `close` or
/// seconds, a probe test `tender` or `not`, a reading by hand a temperature with C or F and perhaps
/// the place, bark one of its words or 1 to 5.
pub fn event_value(kind: EventKind, text: &str) -> Option<String> {
    checked(kind, text)
}

fn checked(kind: EventKind, text: &str) -> Option<String> {
    let lower = text.trim().to_lowercase();
    let parse = |text: &str| {
        number::parse(text.as_bytes(), b'.').or_else(|| number::parse(text.as_bytes(), b','))
    };
    match kind {
        EventKind::Setpoint => {
            let (value, unit) = number::parse_with_unit(text.as_bytes(), b'.')
                .or_else(|| number::parse_with_unit(text.as_bytes(), b','))?;
            if let Some(unit) = unit {
                let celsius = match unit {
                    TemperatureUnit::Fahrenheit => Celsius::from_fahrenheit(value).value(),
                    TemperatureUnit::Celsius => value,
                };
                return PIT_SET_C.contains(&celsius).then(|| text.trim().to_owned());
            }
            // Without a unit, where only one of the two is a pit that anybody keeps.
            let is_pit = |celsius: f64| PIT_KEPT_C.contains(&celsius);
            match (is_pit(Celsius::from_fahrenheit(value).value()), is_pit(value)) {
                (true, false) => Some(format!("{}F", text.trim())),
                (false, true) => Some(format!("{}C", text.trim())),
                _ => None,
            }
        }
        EventKind::Fuel => {
            let split = lower.find(|c: char| c.is_alphabetic())?;
            let (amount, unit) = lower.split_at(split);
            let known = ["kg", "g", "lb", "lbs", "oz"].contains(&unit.trim());
            (known && parse(amount.trim())? >= 0.0).then(|| text.trim().to_owned())
        }
        EventKind::Lid => match lower.as_str() {
            "open" | "opened" => Some("open".to_owned()),
            "close" | "closed" => Some("close".to_owned()),
            seconds => {
                let split = seconds.find(|c: char| c.is_alphabetic()).unwrap_or(seconds.len());
                let (amount, unit) = seconds.split_at(split);
                let amount = amount.trim();
                let long = parse(amount)?;
                match unit.trim().trim_end_matches('.') {
                    _ if long < 0.0 => None,
                    "" | "s" | "sec" | "secs" | "second" | "seconds" => Some(amount.to_owned()),
                    "m" | "min" | "mins" | "minute" | "minutes" => Some((long * 60.0).to_string()),
                    _ => None,
                }
            }
        },
        EventKind::ProbeTest => match lower.as_str() {
            "tender" | "yes" => Some("tender".to_owned()),
            "not" | "not tender" | "no" => Some("not".to_owned()),
            _ => None,
        },
        EventKind::Core => {
            let spot = SpotReading::parse(text)?;
            SPOT_C.contains(&spot.temp.value()).then(|| text.trim().to_owned())
        }
        EventKind::Bark => Bark::parse(text).map(|bark| bark.as_str().to_owned()),
        _ => Some(text.trim().to_owned()),
    }
}

impl EventsReading {
    /// Resolves what can be resolved with the cards' marks; with `last`, rejects the rest.
    pub(super) fn resolve_waiting(&mut self, cards: &[Card], zone: &TimeZone, last: bool) {
        let waiting = std::mem::take(&mut self.waiting);
        let mut stated: HashMap<&str, Time> = HashMap::new();
        let mut needs: HashSet<&str> = HashSet::new();
        for item in &waiting {
            let cook = item.event.cook.as_str();
            if item.event.kind == EventKind::MeatOn {
                stated.entry(cook).or_insert(item.time);
            }
            if !matches!(item.time, Time::Instant(_)) {
                needs.insert(cook);
            }
        }
        // A cook's events are resolved together or not at all, since a clock time counts
        // from the event before.
        let mut blocked: HashSet<&str> = HashSet::new();
        let mut meat_on: HashMap<&str, i64> = HashMap::new();
        for card in cards {
            let cook = card.cook.as_str();
            let day =
                card.date.as_ref().and_then(|date| crate::time::parse_iso_date(date.as_bytes()));
            let own = stated.get(cook).and_then(|time| match *time {
                Time::Instant(ms) => Some(ms),
                Time::Clock(clock) => {
                    Some(crate::zone::instant_of(zone, day? * crate::time::DAY_MS + clock))
                }
                Time::Since(_) => None,
            });
            match card.marks.meat_on_ms.or(own) {
                Some(known) => {
                    meat_on.insert(cook, known);
                }
                None if needs.contains(cook) && !last => {
                    blocked.insert(cook);
                }
                None => {}
            }
        }
        let ends: HashMap<&str, i64> = cards
            .iter()
            .filter_map(|card| {
                let end = card.marks.slice_ms.or(card.marks.pull_ms)?;
                Some((card.cook.as_str(), end))
            })
            .collect();
        let mut last_event: HashMap<String, i64> =
            self.events.iter().map(|event| (event.cook.clone(), event.at_ms)).collect();
        for mut item in waiting {
            let cook = item.event.cook.as_str();
            if blocked.contains(cook) {
                self.waiting.push(item);
                continue;
            }
            let start = meat_on.get(cook).copied();
            let before = last_event.get(cook).copied();
            let at = match item.time {
                Time::Instant(ms) => Some(ms),
                Time::Since(since) => start.map(|start| start + since),
                Time::Clock(clock) if item.event.kind == EventKind::Lit => {
                    start.map(|start| stated::last_before(zone, start, clock))
                }
                // On the day of the meat-on that is known, which may be the card's.
                Time::Clock(clock) if item.event.kind == EventKind::MeatOn => {
                    start.map(|start| stated::first_after(zone, start - HALF_DAY_MS, clock))
                }
                Time::Clock(clock) => {
                    let next =
                        before.max(start).map(|after| stated::first_after(zone, after, clock));
                    // A row that was added below later ones: as the others, it is of this cook.
                    let own = start.map(|start| stated::first_after(zone, start, clock));
                    match (next, own, ends.get(cook)) {
                        (Some(next), Some(own), Some(end)) if next > *end && own <= *end => {
                            Some(own)
                        }
                        _ => next,
                    }
                }
            };
            if let Some(ms) = at {
                item.event.at_ms = ms;
                last_event.insert(item.event.cook.clone(), ms);
                self.events.push(item.event);
            } else {
                self.account.data -= item.lines;
                self.account.rejected += item.lines;
                self.rejected.push(RejectedRow {
                    source: item.source,
                    line: item.line,
                    byte: item.byte,
                    column: Some("time".to_owned()),
                    code: SheetCode::NoMeatOn.as_str().to_owned(),
                    text: item.text,
                });
            }
        }
        if last {
            self.events.sort_by(|a, b| a.cook.cmp(&b.cook).then(a.at_ms.cmp(&b.at_ms)));
        }
    }
}
