//! Each cook as the report shows it: curve, phases, marks, events, card, numbers.

use super::cleaning::{UsedChannels, cleaning_report, used_near};
use super::probe;
use super::row::Row;
use crate::error::StageError;
use crate::report_stage::page_file;
use cook::{Card, CookReadings, Event, EventKind, PhaseKind, RejectedRow};
use jiff::tz::TimeZone;
use report::data::{
    CardEntry, CardValue, CookReport, Counted, EventNote, Mark, MarkKind, Measures, PhaseSpan,
};
use report::names::{name_of, quantity_of};
use report::units::Quantity;
use std::collections::BTreeMap;
use store::{CookCleaning, CookRecord, Store};

/// What the stages know of one cook.
pub(super) struct CookParts<'a> {
    pub(super) record: &'a CookRecord,
    pub(super) events: Vec<&'a Event>,
    pub(super) phases: Vec<Row<'a>>,
    pub(super) measures: Option<Row<'a>>,
    pub(super) history: Vec<Row<'a>>,
    pub(super) rejected: &'a [RejectedRow],
    pub(super) cleaning: Option<&'a CookCleaning>,
}

pub(super) fn local(ms: i64, zone: &TimeZone, format: &str) -> String {
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
        .and_then(|row| row.instant("start_at"))
        .or(card.marks.meat_on_ms)
        .or(parts.record.log_start_ms)
        .unwrap_or(0);
    let readings = match parts.record.log_start_ms {
        Some(_) => Some(store.read_readings(&card.season, &card.cook)?),
        None => None,
    };
    let used = readings.as_ref().map(|readings| UsedChannels::of(readings, card));
    let lead = first_phase.and_then(|row| row.text("lead_channel")).map(str::to_owned);
    // As an address: the file's own percent signs are written out.
    let own_page = format!("cooks/{}", page_file(&card.cook).replace('%', "%25"));
    Ok(CookReport {
        id: card.cook.clone(),
        season: card.season.clone(),
        fire: card.fire.clone(),
        kind: card.kind.map(|k| k.as_str().to_owned()),
        contest: card.contest.clone(),
        place: card.place.clone(),
        cut: card.cut.clone(),
        pit: card.pit.clone(),
        cooker: card.cooker.clone(),
        meat_on_ms,
        day: local(meat_on_ms, zone, "%Y-%m-%d"),
        meat_on_local: local(meat_on_ms, zone, "%Y-%m-%d %H:%M"),
        card: card_entries(card, zone),
        measures: parts.measures.map(measures).unwrap_or_default(),
        probe: parts.measures.map(probe::panel).unwrap_or_default(),
        wet_bulb: parts.measures.and_then(probe::wet_bulb),
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
            parts.rejected.iter().filter(|r| readings.sources.contains(&r.source)).count()
        }),
        cautions: cautions(parts),
        page: Some(own_page),
    })
}

/// Minutes since meat-on and heating coefficient, from the history on the study clock.
fn heating(parts: &CookParts<'_>) -> Vec<(f64, f64)> {
    let Some(zero_min) = parts.measures.and_then(|row| row.float("clock_zero_min")) else {
        return Vec::new();
    };
    let point = |row: &Row<'_>| Some((zero_min + row.float("minute")?, row.float("k_per_h")?));
    parts.history.iter().filter_map(point).collect()
}

pub(super) fn minutes(from_ms: i64, to_ms: i64) -> f64 {
    (to_ms - from_ms) as f64 / 60_000.0
}

fn phase_span(row: Row<'_>, meat_on_ms: i64, zone: &TimeZone) -> PhaseSpan {
    let (start, end) = (
        row.instant("start_at").unwrap_or(meat_on_ms),
        row.instant("end_at").unwrap_or(meat_on_ms),
    );
    let phase = row.text("phase").and_then(|word| word.parse().ok()).unwrap_or(PhaseKind::Unknown);
    PhaseSpan {
        phase,
        start_min: minutes(meat_on_ms, start),
        end_min: minutes(meat_on_ms, end),
        start_local: local(start, zone, "%H:%M"),
        end_local: local(end, zone, "%H:%M"),
        start_core_c: row.float("start_core_c"),
        end_core_c: row.float("end_core_c"),
        complete: row.flag("complete").unwrap_or(true),
        reason: (phase == PhaseKind::Unknown)
            .then(|| row.text("not_judged_reason").map(str::to_owned))
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
    let mut found = vec![mark(MarkKind::MeatOn, meat_on_ms, &source("meat_on_from"), None)];
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
    let pull = row.and_then(|row| row.instant("pull_at"));
    if let Some(at_ms) = pull {
        found.push(mark(MarkKind::Pull, at_ms, &source("pull_from"), None));
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
        event: event.kind.as_str().replace('_', " "),
        value: event.value.clone().map(CardValue::Text),
        note: event.note.clone(),
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
    if let Some(measures) = parts.measures {
        if measures.flag("k_ref_borrowed") == Some(true) {
            said.push("The reference heating coefficient was borrowed from other cooks of this cut and pit: stall figures lean on theirs.".into());
        }
        if measures.flag("stall_min_censored") == Some(true) {
            said.push("The log ends inside a stall: its length is a lower bound.".into());
        }
    }
    said
}

fn card_entries(card: &Card, zone: &TimeZone) -> Vec<CardEntry> {
    let text = |value: &Option<String>| value.clone().map(CardValue::Text);
    let number = |value: Option<f64>, quantity: Quantity| {
        value.map(|value| CardValue::Number { value, quantity })
    };
    let instant = |ms: Option<i64>| ms.map(|ms| CardValue::Text(local(ms, zone, "%Y-%m-%d %H:%M")));
    let tested =
        |read: Option<cook::Celsius>| number(read.map(cook::Celsius::value), Quantity::Temperature);
    let offset = |offset: Option<cook::CelsiusDifference>| {
        number(offset.map(cook::CelsiusDifference::value), Quantity::TemperatureDifference)
    };
    let plain = |decimals| Quantity::Plain { unit: "", decimals };
    let mut entries = vec![
        ("Contest", text(&card.contest)),
        ("Place", text(&card.place)),
        ("Turn-in", instant(card.turn_in_ms)),
        ("Planned pull", instant(card.planned_pull_ms)),
        ("Grade", text(&card.grade)),
        ("Supplier", text(&card.supplier)),
        ("Lot", text(&card.lot)),
        ("Cost", number(card.cost, plain(2))),
        ("Raw weight", number(card.raw_weight.map(cook::Kilograms::value), Quantity::Mass)),
        ("Trimmed weight", number(card.trimmed_weight.map(cook::Kilograms::value), Quantity::Mass)),
        ("Cooked weight", number(card.cooked_weight.map(cook::Kilograms::value), Quantity::Mass)),
        ("Served weight", number(card.served_weight.map(cook::Kilograms::value), Quantity::Mass)),
        ("Thickness", number(card.thickness.map(cook::Millimetres::value), Quantity::Length)),
        ("Meat probe, correction", offset(card.meat_offset)),
        ("Meat probe in ice", tested(card.meat_ice)),
        ("Meat probe in boiling water", tested(card.meat_boiling)),
        ("Pit probe, correction", offset(card.pit_offset)),
        ("Pit probe in ice", tested(card.pit_ice)),
        ("Pit probe in boiling water", tested(card.pit_boiling)),
        ("Set-point", number(card.pit_setpoint.map(cook::Celsius::value), Quantity::Temperature)),
        (
            "Dew point in the pit",
            number(card.pit_dew_point.map(cook::Celsius::value), Quantity::Temperature),
        ),
        ("Target core", number(card.target_core.map(cook::Celsius::value), Quantity::Temperature)),
        ("Wood", text(&card.wood)),
        ("Fuel", number(card.fuel.map(cook::Kilograms::value), Quantity::Mass)),
        (
            "Water pan",
            card.water_pan.map(|pan| CardValue::Text(if pan { "yes" } else { "no" }.into())),
        ),
        ("Altitude", number(card.altitude.map(cook::Metres::value), Quantity::Altitude)),
        ("Weather", text(&card.weather)),
        ("Wrap", card.wrap_method.as_ref().map(|m| CardValue::Text(m.to_string()))),
        ("Held in", text(&card.hold_kind)),
        ("Trial arm", text(&card.arm)),
        ("Trial block", text(&card.block)),
    ]
    .into_iter()
    .filter(|(_, value)| value.is_some())
    .map(|(name, value)| CardEntry { name: name.into(), value })
    .collect::<Vec<_>>();
    for (name, score) in &card.scores {
        let value = number(Some(*score), plain(1));
        entries.push(CardEntry { name: name_of(name), value });
    }
    for (name, value) in &card.extra {
        let value = Some(CardValue::Text(value.clone()));
        entries.push(CardEntry { name: name_of(name), value });
    }
    entries
}

fn measures(row: Row<'_>) -> Measures {
    let text = |name: &str| row.text(name).map(str::to_owned);
    let other = row
        .table
        .columns()
        .iter()
        .filter(|(name, _)| name.starts_with("score_"))
        .filter_map(|(name, _)| {
            let value = row.float(name)?;
            let value = Some(CardValue::Number { value, quantity: quantity_of(name) });
            Some(CardEntry { name: name_of(name), value })
        })
        .collect();
    Measures {
        raw_weight_kg: row.float("raw_weight_kg"),
        trimmed_weight_kg: row.float("trimmed_weight_kg"),
        thickness_mm: row.float("thickness_mm"),
        pit_setpoint_c: row.float("pit_setpoint_c"),
        pit_early_c: row.float("pit_early_c"),
        pit_mean_c: row.float("pit_mean_c"),
        pit_sd_c: row.float("pit_sd_c"),
        wrap_method: text("wrap_method"),
        wrap_at_core_c: row.float("wrap_at_core_c"),
        wrap_time_known: row.flag("wrap_time_known"),
        clock_to_wrap_min: row.float("clock_to_wrap_min"),
        clock_to_finish_min: row.float("clock_to_finish_min"),
        finish_reached: row.flag("finish_reached"),
        end_reason: text("end_reason"),
        start_core_c: row.float("start_core_c"),
        ramp_min: row.float("ramp_min"),
        k_ref_per_h: row.float("k_ref_per_h"),
        k_ref_borrowed: row.flag("k_ref_borrowed"),
        stalls: row.int("stalls").and_then(|n| usize::try_from(n).ok()),
        stall_min: row.float("stall_min"),
        stall_min_censored: row.flag("stall_min_censored").unwrap_or(false),
        stall_min_lo90: row.float("stall_min_lo90"),
        stall_min_hi90: row.float("stall_min_hi90"),
        stall_start_core_c: row.float("stall_start_core_c"),
        stall_end_core_c: row.float("stall_end_core_c"),
        stall_reason: text("not_judged_reason"),
        stall_delay_min: row.float("stall_delay_min"),
        stall_delay_censored: row.flag("stall_delay_censored").unwrap_or(false),
        stall_delay_reason: text("stall_delay_reason"),
        push_min: row.float("push_min"),
        total_min: row.float("total_min"),
        total_min_censored: row.flag("total_min_censored").unwrap_or(false),
        min_per_kg: row.float("min_per_kg"),
        pull_core_c: row.float("pull_core_c"),
        carryover_c: row.float("carryover_c"),
        rest_min: row.float("rest_min"),
        yield_fraction: row.float("yield_fraction"),
        other,
    }
}
