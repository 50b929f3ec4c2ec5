//! Marks from what cards and events state.

use super::code::SheetCode;
use super::stated::{self, Time};
use super::{CardRow, ElapsedAnchor, EventsReading, SheetReading};
use columns::card;
use cook::{Card, Event, EventKind, RejectedRow, WrapMethod};
use jiff::tz::TimeZone;
use std::collections::{BTreeMap, BTreeSet};

const MEAT_ON: &str = card::MEAT_ON_AT.stated_as();
const WRAP: &str = card::WRAP_AT.stated_as();
const PULL: &str = card::PULL_AT.stated_as();
const SLICE: &str = card::SLICE_AT.stated_as();
const TURN_IN: &str = card::TURN_IN_AT.stated_as();
const PLANNED_PULL: &str = card::PLANNED_PULL_AT.stated_as();

/// The columns with times, in the order in which they are resolved.
pub(super) const COLUMNS: [&str; 6] = [MEAT_ON, WRAP, PULL, SLICE, TURN_IN, PLANNED_PULL];

/// Resolves what a card states. `meat_on` from the events is used where the card has none.
/// With `rejected`, what cannot be resolved is rejected; without, it waits.
pub(super) fn resolve_card(
    card: &mut Card,
    row: &CardRow,
    zone: &TimeZone,
    event_meat_on: Option<i64>,
    elapsed: bool,
    mut rejected: Option<&mut Vec<RejectedRow>>,
) -> Option<ElapsedAnchor> {
    let mut reject = |column: &str, code: SheetCode, text: &str| {
        if let Some(rejected) = rejected.as_deref_mut() {
            rejected.push(RejectedRow {
                source: row.sheet.clone(),
                line: row.line,
                byte: row.byte,
                column: Some(column.to_owned()),
                code: code.as_str().to_owned(),
                text: text.to_owned(),
            });
        }
    };
    let find = |column: &str| row.stated.iter().find(|(name, _, _)| *name == column);
    let midnight = row.day.map(|day| stated::midnight(zone, day));
    let mut anchor = None;
    card.marks.meat_on_ms = match find(MEAT_ON) {
        Some((_, Time::Instant(ms), _)) => Some(*ms),
        Some((column, Time::Clock(clock), text)) => {
            if row.day.is_none() {
                reject(column, SheetCode::ClockWithoutDate, text);
            }
            row.day.map(|day| crate::zone::instant_of(zone, day * crate::time::DAY_MS + clock))
        }
        Some((column, Time::Since(since), text)) => {
            if let Some(zero_ms) = midnight.filter(|_| elapsed) {
                anchor = Some(ElapsedAnchor {
                    zero_ms,
                    because: format!("the card's date; meat-on is {text} after the log's zero"),
                    is_meat_on: false,
                    is_assumed: false,
                });
                Some(zero_ms + since)
            } else {
                let code = if elapsed {
                    SheetCode::ElapsedWithoutDate
                } else {
                    SheetCode::ElapsedButLogHasDates
                };
                reject(column, code, text);
                None
            }
        }
        None => None,
    }
    .or(event_meat_on);
    if elapsed && anchor.is_none() {
        anchor = match (card.marks.meat_on_ms, midnight) {
            (Some(zero_ms), _) => Some(ElapsedAnchor {
                zero_ms,
                because: "the log's zero is taken to be meat-on".to_owned(),
                is_meat_on: true,
                is_assumed: false,
            }),
            (None, Some(zero_ms)) => {
                card.marks.meat_on_ms = Some(zero_ms);
                Some(ElapsedAnchor {
                    zero_ms,
                    because: "the card has only a date: the log's zero is taken to be its midnight, and meat-on".to_owned(),
                    is_meat_on: false,
                    is_assumed: true,
                })
            }
            (None, None) => None,
        };
    }
    let meat_on = card.marks.meat_on_ms;
    let mut before = meat_on;
    for column in &COLUMNS[1..] {
        let planned = matches!(*column, TURN_IN | PLANNED_PULL);
        let after = if planned { meat_on } else { before };
        let resolved = find(column).and_then(|(_, time, text)| {
            let at = match (time, meat_on, after) {
                (Time::Instant(ms), _, _) => Some(*ms),
                (Time::Since(since), Some(meat_on), _) => Some(meat_on + since),
                (Time::Clock(clock), _, Some(after)) => {
                    Some(stated::first_after(zone, after, *clock))
                }
                _ => None,
            };
            match at {
                None => reject(column, SheetCode::NoMeatOn, text),
                Some(ms) if after.is_some_and(|after| ms < after) => {
                    reject(column, SheetCode::BeforeTheMarkBefore, text);
                    return None;
                }
                Some(_) => {}
            }
            at
        });
        match *column {
            WRAP => card.marks.wrap_ms = resolved,
            PULL => card.marks.pull_ms = resolved,
            SLICE => card.marks.slice_ms = resolved,
            TURN_IN => card.turn_in_ms = resolved,
            _ => card.planned_pull_ms = resolved,
        }
        if !planned {
            before = resolved.or(before);
        }
    }
    anchor
}

/// Fills the cards' marks, wrap methods and last probe tests from the cards and else from
/// the events; resolves events that waited for a meat-on; says where the zero of elapsed
/// logs lies for the cooks named in `elapsed`, by the first rule that fits:
///
/// 1. meat-on is known as an instant: the zero is meat-on;
/// 2. the card's `meat_on` is `+h:mm[:ss]`: the zero is local midnight of `date`, and
///    meat-on that long after;
/// 3. the card has only a `date`: the zero is its local midnight, and meat-on.
///
/// A cook named in `elapsed` that is not in the answer has no date; [`crate::assemble()`]
/// then says what to add. What cannot be resolved is added to `rejected`. To be called
/// once, after all sheets are read.
pub fn resolve_marks(
    sheet: &mut SheetReading,
    events: &mut [EventsReading],
    elapsed: &BTreeSet<String>,
    zone: &TimeZone,
) -> BTreeMap<String, ElapsedAnchor> {
    let mut anchors = BTreeMap::new();
    for (card, row) in sheet.cards.iter_mut().zip(&sheet.rows) {
        let event_meat_on = events
            .iter()
            .flat_map(|reading| &reading.events)
            .find(|event| event.cook == card.cook && event.kind == EventKind::MeatOn)
            .map(|event| event.at_ms);
        let before = sheet.rejected.len();
        let anchor = resolve_card(
            card,
            row,
            zone,
            event_meat_on,
            elapsed.contains(&card.cook),
            Some(&mut sheet.rejected),
        );
        sheet.account.rejected_cells += (sheet.rejected.len() - before) as u64;
        if let Some(anchor) = anchor {
            anchors.insert(card.cook.clone(), anchor);
        }
    }
    for reading in events.iter_mut() {
        reading.resolve_waiting(&sheet.cards, zone, true);
    }
    for (card, row) in sheet.cards.iter_mut().zip(&sheet.rows) {
        let mut own: Vec<&Event> = events
            .iter()
            .flat_map(|reading| &reading.events)
            .filter(|e| e.cook == card.cook)
            .collect();
        own.sort_by_key(|event| event.at_ms);
        let first = |kind: EventKind| own.iter().find(|event| event.kind == kind).copied();
        let at = |kind: EventKind| first(kind).map(|event| event.at_ms);
        let marks = &mut card.marks;
        marks.meat_on_ms = marks.meat_on_ms.or(at(EventKind::MeatOn));
        marks.pull_ms = marks.pull_ms.or(at(EventKind::Pull));
        marks.slice_ms = marks.slice_ms.or(at(EventKind::Slice));
        if let Some(wrap) = first(EventKind::Wrap) {
            if card.wrap_method == Some(WrapMethod::None) {
                sheet.account.rejected_cells += 1;
                sheet.rejected.push(RejectedRow {
                    source: row.sheet.clone(),
                    line: row.line,
                    byte: row.byte,
                    column: Some(card::WRAP_METHOD.column.into()),
                    code: SheetCode::WrapContradictsEvents.as_str().to_owned(),
                    text: "none".to_owned(),
                });
                card.wrap_method = None;
            }
            marks.wrap_ms = marks.wrap_ms.or(Some(wrap.at_ms));
            if card.wrap_method.is_none() {
                card.wrap_method = wrap.value.as_deref().and_then(WrapMethod::parse);
            }
        }
        card.last_probe_test_tender = own
            .iter()
            .rev()
            .find(|event| event.kind == EventKind::ProbeTest && event.value.is_some())
            .map(|event| event.value.as_deref() == Some("tender"));
    }
    anchors
}
