//! Marks from what cards and events state.

use super::code::SheetCode;
use super::halves;
use super::stated::{self, Time};
use super::{CardRow, ElapsedAnchor, EventsReading, SheetReading};
use columns::card;
use cook::{Card, Event, EventKind, Mark, RejectedRow, WrapMethod};
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

/// What the log shows of a cook of which no meat-on is stated, ms UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seen {
    /// When the meat went on; where that is not seen, when the log begins.
    pub from_ms: i64,
    /// When it came off, where that is seen.
    pub pull_ms: Option<i64>,
    /// The log's last reading.
    pub until_ms: i64,
}

/// A stated pull lies within this of the one that the log shows, ms (1 h).
const NEAR_SEEN_MS: i64 = 3_600_000;

/// What is stated by the clock, placed anew behind marks that are others than those stated. Marks
/// in `settled` stay as they are, and so do those of which nothing is known although meat-on was. Where meat-on is
/// only seen, a bare `8:48` may be of either half of the day: see `way_of`;
/// and what counts from meat-on waits, since a curve shows that to some minutes only.
/// Says which columns it placed.
pub fn place_again(
    card: &mut Card,
    row: &CardRow,
    zone: &TimeZone,
    seen: Option<Seen>,
    settled: &[Mark],
) -> Vec<&'static str> {
    let seen = match card.marks.meat_on_ms {
        Some(_) if row.stated.iter().any(|(column, ..)| *column == MEAT_ON) => {
            return placed(card, &row.stated, zone, None, settled);
        }
        // An answer or an event said when the meat went on.
        Some(from_ms) if settled.contains(&Mark::MeatOn) => {
            Seen { from_ms, pull_ms: card.marks.pull_ms, until_ms: i64::MAX / 2 }
        }
        Some(_) => return placed(card, &row.stated, zone, None, settled),
        None => match seen {
            Some(seen) => seen,
            None => return Vec::new(),
        },
    };
    let without_wrap: Vec<_> =
        row.stated.iter().filter(|(column, ..)| *column != WRAP).cloned().collect();
    // A wrap before a log that begins late leaves the pull what it is.
    let way = way_of(card, row, &row.stated, zone, (seen, settled))
        .or_else(|| way_of(card, row, &without_wrap, zone, (seen, settled)));
    let Some((way, columns)) = way else { return Vec::new() };
    *card = way;
    columns
}

/// The one way to place clock times within a log: it has the wrap and the pull in it, and the pull where the log
/// shows one, if any way has; of slices, one after a usual rest. Of several ways, a sheet of a 24-hour clock means
/// what it writes, and any other leaves it open.
fn way_of(
    card: &Card,
    row: &CardRow,
    stated: &Vec<(&'static str, Time, String)>,
    zone: &TimeZone,
    (seen, settled): (Seen, &[Mark]),
) -> Option<(Card, Vec<&'static str>)> {
    struct Way {
        card: Card,
        columns: Vec<&'static str>,
        as_written: bool,
        agrees: bool,
        rests: bool,
    }
    let mut ways: Vec<Way> = Vec::new();
    for (nth, stated) in halves::in_each_half(stated, row.padded_too).enumerate() {
        let mut way = card.clone();
        let columns = placed(&mut way, &stated, zone, Some(seen.from_ms), settled);
        let marks = &way.marks;
        let last_ms =
            (seen.from_ms + halves::LONGEST_MS).min(seen.until_ms + halves::BESIDE_LOG_MS);
        let is_a_cook =
            [marks.wrap_ms, marks.pull_ms].into_iter().flatten().all(|at| at <= last_ms);
        let near = |(stated, seen): (i64, i64)| (stated - seen).abs() <= NEAR_SEEN_MS;
        let agrees = marks.pull_ms.zip(seen.pull_ms).is_none_or(near);
        let off = marks.pull_ms.or(seen.pull_ms).unwrap_or(seen.from_ms);
        let rest = |most_ms: i64| {
            marks.slice_ms.is_none_or(|slice| (-NEAR_SEEN_MS..=most_ms).contains(&(slice - off)))
        };
        if is_a_cook && ways.iter().all(|known| known.card.marks != way.marks) {
            let (as_written, rests) = (nth == 0, rest(halves::USUAL_REST_MS));
            ways.push(Way { card: way, columns, as_written, agrees, rests });
        }
    }
    for is_better in [|way: &Way| way.agrees, |way: &Way| way.rests] {
        if ways.iter().any(is_better) {
            ways.retain(is_better);
        }
    }
    let chosen = match &ways[..] {
        [_] => Some(0),
        _ => ways.iter().position(|way| way.as_written && row.of_24_hours),
    };
    chosen.map(|chosen| ways.swap_remove(chosen)).map(|way| (way.card, way.columns))
}

fn placed(
    card: &mut Card,
    times: &[(&'static str, Time, String)],
    zone: &TimeZone,
    seen_meat_on: Option<i64>,
    settled: &[Mark],
) -> Vec<&'static str> {
    let was_known = seen_meat_on.is_none();
    let meat_on = card.marks.meat_on_ms.or(seen_meat_on);
    let mut before = meat_on;
    let mut placed = Vec::new();
    for column in &COLUMNS[1..] {
        let planned = matches!(*column, TURN_IN | PLANNED_PULL);
        let after = if planned { meat_on } else { before };
        let stated = times.iter().find(|(name, _, _)| name == column);
        let (mark, value) = match *column {
            WRAP => (Some(Mark::Wrap), &mut card.marks.wrap_ms),
            PULL => (Some(Mark::Pull), &mut card.marks.pull_ms),
            SLICE => (Some(Mark::Slice), &mut card.marks.slice_ms),
            TURN_IN => (None, &mut card.turn_in_ms),
            _ => (None, &mut card.planned_pull_ms),
        };
        let stays = mark.is_some_and(|mark| settled.contains(&mark));
        let now = match (stated, after) {
            _ if stays || (value.is_none() && was_known) => None,
            (Some((_, Time::Clock(clock), _)), Some(after)) => {
                Some(stated::first_after(zone, after, *clock))
            }
            _ => None,
        };
        if now.is_some() && now != *value {
            *value = now;
            placed.push(*column);
        }
        if !planned {
            before = value.or(before);
        }
    }
    placed
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::{SheetOptions, read_season_sheet};

    const HOUR_MS: i64 = 3_600_000;

    /// The first card of a sheet with its row, resolved.
    fn card(row: &str) -> (Card, CardRow) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.csv");
        std::fs::write(&path, format!("cook,date,meat_on,wrap_at,pull,slice\n{row}\n")).unwrap();
        let options = SheetOptions::from(&TimeZone::UTC);
        let mut sheet = read_season_sheet(&path, "s.csv", &options).unwrap();
        resolve_marks(&mut sheet, &mut [], &BTreeSet::new(), &TimeZone::UTC);
        (sheet.cards.remove(0), sheet.rows.remove(0))
    }

    fn hours(card: &Card, from: i64) -> [Option<f64>; 3] {
        let marks = [card.marks.wrap_ms, card.marks.pull_ms, card.marks.slice_ms];
        marks.map(|at| Some((at? - from) as f64 / HOUR_MS as f64))
    }

    #[test]
    fn a_slice_follows_the_pull_that_is_used() {
        let (mut card, row) = card("a,2026-05-02,20:00,04:00,20:20,09:50");
        let on = card.marks.meat_on_ms.unwrap();
        assert_eq!(card.marks.slice_ms, Some(on + 226 * HOUR_MS / 6 + 10 * 60_000));
        card.marks.pull_ms = Some(on + 12 * HOUR_MS + 20 * 60_000);
        let placed = place_again(&mut card, &row, &TimeZone::UTC, None, &[Mark::Pull]);
        assert_eq!(placed, [SLICE]);
        assert_eq!(hours(&card, on), [Some(8.0), Some(12.0 + 1.0 / 3.0), Some(13.0 + 5.0 / 6.0)]);
        // What an answer took away stays away, and so does what has a date.
        card.marks.slice_ms = None;
        assert!(place_again(&mut card, &row, &TimeZone::UTC, None, &[Mark::Pull]).is_empty());
    }

    #[test]
    fn clock_times_without_a_meat_on_count_from_the_one_that_the_log_shows() {
        let (mut card, row) = card("a,2026-05-02,,04:00,08:20,2026-05-03 10:00");
        assert_eq!(hours(&card, 0)[..2], [None, None]);
        let seen = crate::zone::instant_of(&TimeZone::UTC, row.day.unwrap() * crate::time::DAY_MS)
            + 20 * HOUR_MS;
        let placed = place_again(
            &mut card,
            &row,
            &TimeZone::UTC,
            Some(Seen { from_ms: seen, pull_ms: None, until_ms: seen + 15 * HOUR_MS }),
            &[],
        );
        assert_eq!(placed, [WRAP, PULL]);
        assert_eq!(hours(&card, seen), [Some(8.0), Some(12.0 + 1.0 / 3.0), Some(14.0)]);
        // Nothing of meat-on itself is stated then.
        assert_eq!(card.marks.meat_on_ms, None);
        // Which half of the day is meant, the pull that the log shows says, or nobody.
        let (mut bare, row) = super::tests::card("a,2026-05-02,,,9:30,");
        let until_ms = seen + 15 * HOUR_MS;
        let mut again = |pull_ms: Option<i64>| {
            let seen = Seen { from_ms: seen, pull_ms, until_ms };
            place_again(&mut bare, &row, &TimeZone::UTC, Some(seen), &[])
        };
        assert!(again(None).is_empty());
        assert_eq!(again(Some(seen + 13 * HOUR_MS)), [PULL]);
        assert_eq!(hours(&bare, seen)[..2], [None, Some(13.5)]);
    }

    #[test]
    fn an_overnight_cook_whose_times_all_lie_before_one_in_the_afternoon_is_placed() {
        let midnight = 20_575 * crate::time::DAY_MS;
        let seen = |hours: i64| Seen {
            from_ms: midnight + hours * HOUR_MS,
            pull_ms: None,
            until_ms: midnight + 36 * HOUR_MS,
        };
        for stated in ["07:02,11:11,12:41", "07:02,11:11,"] {
            let (mut card, row) = card(&format!("a,2026-05-02,,{stated}"));
            assert!(!place_again(&mut card, &row, &TimeZone::UTC, Some(seen(22)), &[]).is_empty());
            let [wrap, pull, slice] = hours(&card, midnight + 24 * HOUR_MS);
            assert_eq!([wrap, pull].map(|at| at.map(f64::round)), [Some(7.0), Some(11.0)]);
            assert_eq!(slice.map(f64::round), stated.ends_with('1').then_some(13.0));
        }
        // A log that begins after the wrap has the pull and the slice.
        let (mut late, row) = card("a,2026-05-02,,04:02,11:11,12:41");
        let placed = place_again(&mut late, &row, &TimeZone::UTC, Some(seen(30)), &[]);
        assert_eq!(placed, [PULL, SLICE]);
        assert_eq!(late.marks.wrap_ms, None);
    }
}
