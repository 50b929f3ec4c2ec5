//! Each cook as the report shows it: curve, phases, marks, events, card, numbers.

use super::cleaning::{UsedChannels, cleaning_report, used_near};
use super::row::Row;
use crate::error::StageError;
use crate::report_stage::page_file;
use columns::history;
use columns::measures::Measures;
use columns::tables::phases;
use cook::{CookReadings, Event, EventKind, PhaseKind};
use jiff::tz::TimeZone;
use report::data::{CookReport, Counted, EventNote, Mark, MarkKind, PhaseSpan};
use std::collections::BTreeMap;
use store::{CookCleaning, CookRecord, Store};

/// What the stages know of one cook.
pub(super) struct CookParts<'a> {
    pub(super) record: &'a CookRecord,
    pub(super) events: Vec<&'a Event>,
    pub(super) phases: Vec<Row<'a>>,
    pub(super) measures: Measures,
    pub(super) history: Vec<Row<'a>>,
    /// Rejected rows by the file they stand in.
    pub(super) rejected: &'a BTreeMap<&'a str, usize>,
    pub(super) cleaning: Option<&'a CookCleaning>,
}

pub(crate) fn local(ms: i64, zone: &TimeZone, format: &str) -> String {
    jiff::Timestamp::from_millisecond(ms)
        .map(|t| t.to_zoned_datetime(zone.clone()).strftime(format).to_string())
        .unwrap_or_default()
}

/// Builds one cook's report; the readings are read from the store and let go.
pub(super) fn cook_report(
    parts: &CookParts<'_>,
    store: &Store,
    zone: &TimeZone,
) -> Result<CookReport, StageError> {
    let card = &parts.record.card;
    let first_phase = parts.phases.first();
    let meat_on_ms = first_phase
        .and_then(|row| row.instant(phases::START_AT.name))
        .or(card.marks.meat_on_ms)
        .or(parts.record.log_start_ms)
        .unwrap_or(0);
    let readings = match parts.record.log_start_ms {
        Some(_) => Some(store.read_readings(&card.season, &card.cook)?),
        None => None,
    };
    let used = readings.as_ref().map(|readings| UsedChannels::of(readings, card));
    let lead = first_phase.and_then(|row| row.text(phases::LEAD_CHANNEL.name)).map(str::to_owned);
    // As an address: the file's own percent signs are written out.
    let own_page = format!("cooks/{}", page_file(&card.cook).replace('%', "%25"));
    Ok(CookReport {
        card: card.clone(),
        meat_on_ms,
        day: local(meat_on_ms, zone, "%Y-%m-%d"),
        meat_on_local: local(meat_on_ms, zone, "%Y-%m-%d %H:%M"),
        measures: parts.measures.clone(),
        phases: parts.phases.iter().map(|row| phase_span(*row, meat_on_ms, zone)).collect(),
        marks: marks(parts, meat_on_ms, used.as_ref(), lead.as_deref(), zone),
        events: parts.events.iter().map(|event| event_note(event, meat_on_ms, zone)).collect(),
        curve: used
            .as_ref()
            .and_then(|used| used.curve(lead.as_deref(), meat_on_ms, parts.cleaning)),
        heating: heating(parts),
        readings: readings.as_ref().map_or(0, CookReadings::len),
        flags: flags(readings.as_ref()),
        cleaning: cleaning_report(
            parts.cleaning,
            readings.as_ref(),
            used.as_ref(),
            meat_on_ms,
            zone,
        ),
        rejected_rows: readings.as_ref().map_or(0, |readings| {
            let of = |source: &String| parts.rejected.get(source.as_str()).copied();
            readings.sources.iter().filter_map(of).sum()
        }),
        cautions: cautions(parts),
        page: Some(own_page),
    })
}

/// Minutes since meat-on and heating coefficient, from the history on the study clock.
fn heating(parts: &CookParts<'_>) -> Vec<(f64, f64)> {
    let Some(zero_min) = parts.measures.clock_zero_min else { return Vec::new() };
    let point = |row: &Row<'_>| {
        Some((zero_min + row.float(history::MINUTE.name)?, row.float(history::K_PER_H.name)?))
    };
    parts.history.iter().filter_map(point).collect()
}

pub(super) fn minutes(from_ms: i64, to_ms: i64) -> f64 {
    (to_ms - from_ms) as f64 / 60_000.0
}

fn phase_span(row: Row<'_>, meat_on_ms: i64, zone: &TimeZone) -> PhaseSpan {
    let (start, end) = (
        row.instant(phases::START_AT.name).unwrap_or(meat_on_ms),
        row.instant(phases::END_AT.name).unwrap_or(meat_on_ms),
    );
    let phase = row
        .text(phases::PHASE.name)
        .and_then(|word| word.parse().ok())
        .unwrap_or(PhaseKind::Unknown);
    PhaseSpan {
        phase,
        start_min: minutes(meat_on_ms, start),
        end_min: minutes(meat_on_ms, end),
        start_local: local(start, zone, "%H:%M"),
        end_local: local(end, zone, "%H:%M"),
        start_core_c: row.float(phases::START_CORE_C.name),
        end_core_c: row.float(phases::END_CORE_C.name),
        complete: row.flag(phases::COMPLETE.name).unwrap_or(true),
        reason: (phase == PhaseKind::Unknown)
            .then(|| row.text(phases::NOT_JUDGED_REASON.name).map(str::to_owned))
            .flatten(),
    }
}

fn marks(
    parts: &CookParts<'_>,
    meat_on_ms: i64,
    used: Option<&UsedChannels>,
    lead: Option<&str>,
    zone: &TimeZone,
) -> Vec<Mark> {
    let row = parts.phases.first();
    let card = &parts.record.card;
    let core_at = |ms: i64| used_near(used?, parts.cleaning, lead?, ms);
    let mark = |kind: MarkKind, at_ms: i64, from: &str, detail: Option<String>| Mark {
        kind,
        at_min: minutes(meat_on_ms, at_ms),
        at_local: local(at_ms, zone, "%H:%M"),
        core_c: core_at(at_ms),
        from: from.to_owned(),
        detail,
    };
    let source = |name: &str| row.and_then(|row| row.text(name)).unwrap_or("card").to_owned();
    let mut found =
        vec![mark(MarkKind::MeatOn, meat_on_ms, &source(phases::MEAT_ON_FROM.name), None)];
    let mut wrapped_by_event = false;
    for event in &parts.events {
        let kind = match event.kind {
            EventKind::Wrap => MarkKind::Wrap,
            EventKind::Unwrap => MarkKind::Unwrap,
            _ => continue,
        };
        wrapped_by_event |= kind == MarkKind::Wrap;
        found.push(mark(kind, event.at_ms, "events", event.value.clone()));
    }
    if let (Some(at_ms), false) = (card.marks.wrap_ms, wrapped_by_event) {
        let method = card.wrap_method.as_ref().map(ToString::to_string);
        found.push(mark(MarkKind::Wrap, at_ms, "card", method));
    }
    let pull = row.and_then(|row| row.instant(phases::PULL_AT.name));
    if let Some(at_ms) = pull {
        found.push(mark(MarkKind::Pull, at_ms, &source(phases::PULL_FROM.name), None));
    }
    if let Some(at_ms) = card.marks.slice_ms {
        found.push(mark(MarkKind::Slice, at_ms, "card", None));
    }
    found.sort_by(|a, b| a.at_min.total_cmp(&b.at_min));
    found
}

fn event_note(event: &Event, meat_on_ms: i64, zone: &TimeZone) -> EventNote {
    EventNote {
        at_min: minutes(meat_on_ms, event.at_ms),
        at_local: local(event.at_ms, zone, "%H:%M"),
        event: event.clone(),
    }
}

/// What ingest flagged and cleaning does not tell: readings put in order or retimed.
fn flags(readings: Option<&CookReadings>) -> Vec<Counted> {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for flag in readings.iter().flat_map(|r| &r.channels).flat_map(|c| &c.flag) {
        if *flag != cook::Flag::Good {
            *counts.entry(flag.as_str().to_owned()).or_default() += 1;
        }
    }
    counts.into_iter().map(|(label, count)| Counted { label, count }).collect()
}

fn cautions(parts: &CookParts<'_>) -> Vec<String> {
    let mut said = Vec::new();
    if parts.measures.k_ref_borrowed == Some(true) {
        said.push("The reference heating coefficient was borrowed from other cooks of this cut and pit: stall figures lean on theirs.".into());
    }
    if parts.measures.stall_min_censored == Some(true) {
        said.push("The log ends inside a stall: its length is a lower bound.".into());
    }
    said
}
