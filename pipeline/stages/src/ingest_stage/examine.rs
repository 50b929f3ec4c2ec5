//! The season held against itself, once all of it is read; and `curves.json`, which keeps of each
//! cook's readings what that takes, so that it is done anew without reading them.

use super::groups::GroupResult;
use super::unchanged::ELAPSED;
use super::zeros;
use super::{EVENTS_SHEET, IngestRequest, Sheets};
use crate::error::StageError;
use cook::{Card, Event, EventKind, Mark, RejectedRow};
use crosscheck::{Cell, Change, Cook, Curve, Season};
use ingest::{CardRow, FoundLog, Seen, SheetCode};
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;
use store::stamps::{Stage, Stamps};
use store::{CookRecord, Store, write_atomically};

/// The file's name in a store.
const FILE: &str = "curves.json";

/// What is kept of the cooks' curves.
#[derive(Debug, Default, Serialize, Deserialize)]
struct Kept {
    /// The number of the stage that made it.
    number: u32,
    cooks: BTreeMap<String, KeptCurve>,
}

#[derive(Debug, Serialize, Deserialize)]
struct KeptCurve {
    /// As that of the cook.
    computed_from: String,
    curve: Curve,
}

/// The file as it is to be.
pub(super) struct CurvesFile {
    pub(super) path: PathBuf,
    text: String,
}

impl CurvesFile {
    /// Whether it is there and says the same.
    pub(super) fn is_there(&self) -> bool {
        std::fs::read(&self.path).is_ok_and(|bytes| bytes == self.text.as_bytes())
    }

    pub(super) fn write(&self) -> Result<bool, StageError> {
        Ok(write_atomically(&self.path, self.text.as_bytes())?)
    }
}

/// Holds the season against itself: questions go to `all`, and its records and events become what the
/// answers make of them.
pub(super) fn examine(
    request: &IngestRequest,
    (store, stamps): (&Store, &Stamps),
    sheets: &Sheets,
    uses: &HashMap<String, Vec<FoundLog>>,
    all: &mut GroupResult,
) -> CurvesFile {
    let path = store.root().join(FILE);
    // What was edited or damaged since is made anew.
    let is_whole = stamps.is_whole(Stage::Ingest, &path);
    let kept = curves_of(store, is_whole.then_some(&path), all);
    let rows: HashMap<&str, _> =
        sheets.cards.cards.iter().map(|card| card.cook.as_str()).zip(&sheets.cards.rows).collect();
    let with_curves = all.records.iter().filter_map(|record| {
        let cook = record.card.cook.as_str();
        Some((record, &kept.cooks.get(cook)?.curve, *rows.get(cook)?))
    });
    zeros::unshown(with_curves, uses, &request.answers, &mut all.questions, &mut all.told);
    let seen = place_by_logs(&rows, &kept, &sheets.zone, all);
    let mut events: HashMap<&str, Vec<&Event>> = HashMap::new();
    for event in &all.events {
        events.entry(&event.cook).or_default().push(event);
    }
    // Cooks of other sheets were examined with those.
    let examined: Vec<usize> = (0..all.records.len())
        .filter(|at| rows.contains_key(all.records[*at].card.cook.as_str()))
        .collect();
    let logs_of = |cook: &str| {
        uses.get(cook).into_iter().flatten().map(|found| found.file.shown_as.as_str()).collect()
    };
    let cooks = examined.iter().map(|at| {
        let CookRecord { card, computed_from, .. } = &all.records[*at];
        let mut events = events.get(card.cook.as_str()).cloned().unwrap_or_default();
        events.sort_by_key(|event| event.at_ms);
        let row = rows[card.cook.as_str()];
        let cells = row.cells().iter().map(|cell| Cell {
            field: cell.field,
            sheet: &row.sheet,
            line: row.line,
            column: &cell.column,
            read_as: &cell.read_as,
            text: &cell.text,
        });
        let noted = sheets.events.iter().flat_map(|reading| &reading.marks_at);
        let noted_at = noted
            .filter(|(cook, ..)| *cook == card.cook)
            .filter_map(|(_, kind, place)| Some((stated_as(*kind)?, place.as_str())));
        Cook {
            card,
            events,
            noted_at: noted_at.collect(),
            curve: kept.cooks.get(&card.cook).map(|kept| &kept.curve),
            cells: cells.collect(),
            zero_is_meat_on: computed_from.ends_with(ELAPSED),
            logs: logs_of(&card.cook),
        }
    });
    let season = Season {
        cooks: cooks.collect(),
        zone: &sheets.zone,
        units: request.season.units,
        answers: &request.answers,
    };
    let examination = crosscheck::examine(&season);
    drop(season);
    drop(events);
    let mut changes = examination.changes;
    // What is moved as a whole is moved last: single marks are named by what was stated.
    changes.sort_by_key(|(_, change)| matches!(change, Change::Shift(_)));
    // Events that the store keeps for a sheet that is gone were moved when they were read.
    let keeps_events = all.gone_sheets.iter().any(|(_, kind)| *kind == EVENTS_SHEET);
    let mut settled: Vec<Vec<Mark>> = vec![Vec::new(); examined.len()];
    for (at, change) in changes {
        if let Change::Mark { mark, .. } | Change::NewMark(mark, _) = &change {
            settled[at].push(*mark);
        }
        let of_gone_sheet = matches!(change, Change::Shift(_)) && keeps_events;
        let events = if of_gone_sheet { &mut Vec::new() } else { &mut all.events };
        apply(&mut all.records[examined[at]].card, events, change);
    }
    for (at, settled) in examined.iter().zip(settled) {
        let card = &mut all.records[*at].card;
        if settled.is_empty() {
            continue;
        }
        let row = rows[card.cook.as_str()];
        ingest::place_again(card, row, &sheets.zone, seen[*at], &settled);
        let rest_ms = card.marks.slice_ms.zip(card.marks.pull_ms).map(|(slice, pull)| slice - pull);
        if rest_ms.is_some_and(|rest_ms| !(0..=cook::LONGEST_REST_MS).contains(&rest_ms)) {
            card.marks.slice_ms = None;
            all.told.push(format!(
                "{}:{}: the slice of cook `{}` does not follow its pull as that is used now, and is not used: correct it in the sheet",
                row.sheet, row.line, card.cook
            ));
        }
    }
    all.questions.extend(examination.questions);
    CurvesFile { path, text: serde_json::to_string(&kept).unwrap_or_default() }
}

/// Places clock times of cards without a meat-on within their logs, so that they are held against the curve as any
/// mark; they are then no longer rejected. Says what each cook's log shows, by the records' places.
fn place_by_logs(
    rows: &HashMap<&str, &CardRow>,
    kept: &Kept,
    zone: &TimeZone,
    all: &mut GroupResult,
) -> Vec<Option<Seen>> {
    let mut seen = Vec::new();
    for record in &mut all.records {
        let card = &mut record.card;
        let known = rows.get(card.cook.as_str()).zip(kept.cooks.get(&card.cook));
        // In a log of several cooks a clock time is of any of their days.
        let known = known.filter(|(_, kept)| {
            card.marks.meat_on_ms.is_none() && crosscheck::cooks_in(&kept.curve).is_empty()
        });
        let shown = known.and_then(|(row, kept)| {
            let from_ms = crosscheck::counts_from(card, &kept.curve, zone)?;
            let (pull_ms, until_ms) = (kept.curve.pull_ms, kept.curve.last_ms);
            Some((*row, Seen { from_ms, pull_ms, until_ms }))
        });
        seen.push(shown.map(|(_, seen)| seen));
        let Some((row, shown)) = shown else { continue };
        let placed = ingest::place_again(card, row, zone, Some(shown), &[]);
        let is_placed = |rejected: &RejectedRow| {
            rejected.code == SheetCode::NoMeatOn.as_str()
                && (rejected.line, &rejected.source) == (row.line, &row.sheet)
                && rejected.column.as_deref().is_some_and(|column| placed.contains(&column))
        };
        all.rejected.retain(|rejected| !is_placed(rejected));
    }
    seen
}

/// The column of the season sheet that states what an event notes.
fn stated_as(kind: EventKind) -> Option<&'static str> {
    let mark = match kind {
        EventKind::MeatOn => &columns::card::MEAT_ON_AT,
        EventKind::Wrap => &columns::card::WRAP_AT,
        EventKind::Pull => &columns::card::PULL_AT,
        EventKind::Slice => &columns::card::SLICE_AT,
        _ => return None,
    };
    Some(mark.stated_as())
}

/// The curves of all cooks: those that were read now, those that were kept, and those whose readings
/// have to be read again.
fn curves_of(store: &Store, path: Option<&PathBuf>, all: &mut GroupResult) -> Kept {
    let number = Stage::Ingest.number();
    let bytes = path.and_then(|path| std::fs::read(path).ok());
    let known: Option<Kept> = bytes.and_then(|bytes| serde_json::from_slice(&bytes).ok());
    let mut known = known.filter(|known| known.number == number).unwrap_or_default();
    let mut kept = Kept { number, cooks: BTreeMap::new() };
    for record in all.records.iter().filter(|record| record.log_start_ms.is_some()) {
        let (card, computed_from) = (&record.card, record.computed_from.clone());
        let of_before =
            known.cooks.remove(&card.cook).filter(|old| old.computed_from == computed_from);
        let curve = match (all.curves.remove(&card.cook), of_before) {
            (Some(curve), _) => Some(curve),
            (None, Some(old)) => Some(old.curve),
            (None, None) => {
                let readings = store.read_readings(&card.season, &card.cook);
                readings.ok().and_then(|readings| Curve::of(&readings, card))
            }
        };
        let kept_curve = |curve| KeptCurve { computed_from, curve };
        kept.cooks.extend(curve.map(|curve| (card.cook.clone(), kept_curve(curve))));
    }
    kept
}

/// Makes a change of a cook.
fn apply(card: &mut Card, events: &mut Vec<Event>, change: Change) {
    match change {
        Change::Date(date) => card.date = Some(date),
        Change::SetPoint(value) => card.pit_setpoint = value,
        Change::Target(value) => card.target_core = value,
        Change::Weight(column, value) => {
            use columns::card::{
                COOKED_WEIGHT_KG, RAW_WEIGHT_KG, SERVED_WEIGHT_KG, TRIMMED_WEIGHT_KG,
            };
            let fields = [
                (RAW_WEIGHT_KG.column.name, &mut card.raw_weight),
                (TRIMMED_WEIGHT_KG.column.name, &mut card.trimmed_weight),
                (COOKED_WEIGHT_KG.column.name, &mut card.cooked_weight),
                (SERVED_WEIGHT_KG.column.name, &mut card.served_weight),
            ];
            for (_, field) in fields.into_iter().filter(|(name, _)| *name == column) {
                *field = value;
            }
        }
        Change::NotedSetPoint(at_ms, value) => {
            let of_cook = events.iter_mut().filter(|event| event.cook == card.cook);
            for event in of_cook.filter(|e| e.kind == EventKind::Setpoint && e.at_ms == at_ms) {
                event.value = Some(value.clone());
            }
        }
        Change::Shift(by_ms) => {
            let marks = &mut card.marks;
            let times = [
                &mut marks.meat_on_ms,
                &mut marks.wrap_ms,
                &mut marks.pull_ms,
                &mut marks.slice_ms,
                &mut card.turn_in_ms,
                &mut card.planned_pull_ms,
            ];
            times.into_iter().flatten().for_each(|ms| *ms += by_ms);
            let of_cook = events.iter_mut().filter(|event| event.cook == card.cook);
            of_cook.for_each(|event| event.at_ms += by_ms);
        }
        Change::Mark { mark, was, now } => {
            let marks = &mut card.marks;
            let (stated, kind) = match mark {
                Mark::MeatOn => (&mut marks.meat_on_ms, EventKind::MeatOn),
                Mark::Wrap => (&mut marks.wrap_ms, EventKind::Wrap),
                Mark::Pull => (&mut marks.pull_ms, EventKind::Pull),
                Mark::Slice => (&mut marks.slice_ms, EventKind::Slice),
            };
            if *stated == Some(was) {
                *stated = now;
            }
            let is_it = |e: &Event| e.cook == card.cook && e.kind == kind && e.at_ms == was;
            match now {
                Some(now) => {
                    events.iter_mut().filter(|e| is_it(e)).for_each(|event| event.at_ms = now);
                }
                None => events.retain(|event| !is_it(event)),
            }
        }
        Change::NewMark(mark, at_ms) => {
            let marks = &mut card.marks;
            let stated = match mark {
                Mark::MeatOn => &mut marks.meat_on_ms,
                Mark::Wrap => &mut marks.wrap_ms,
                Mark::Pull => &mut marks.pull_ms,
                Mark::Slice => &mut marks.slice_ms,
            };
            *stated = stated.or(Some(at_ms));
        }
        Change::NoScore(name) => card.scores.retain(|(own, _)| *own != name),
        Change::Wrapped(method) => card.wrap_method = Some(method),
        Change::NoEvent(kind, at_ms) => {
            events.retain(|e| !(e.cook == card.cook && e.kind == kind && e.at_ms == at_ms));
        }
        Change::Exclude(reason) => card.exclude = Some(reason),
    }
}
