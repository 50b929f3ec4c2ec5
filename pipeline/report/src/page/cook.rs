//! One cook's page.

use columns::{Description, measures as column};
use cook::Units;
use std::collections::BTreeMap;

use super::{Anchors, account, cautions, cleaning, cooks, methods, probe};
use crate::data::{CardEntry, CookReport, ReportData};
use crate::document::{
    Block, Cell, Document, Figure, FigureForm, Inlines, Section, Table, code, heading, inlines,
    list, numbers, paragraph, quiet, text,
};
use crate::figure::{CurveSize, curve, heating, phase_key};
use crate::names::quantity_of;
use crate::units::{Quantity, count, number};
use crate::words;
use study::result::summary::Spread;

/// One cook's page.
pub(crate) fn cook_page(data: &ReportData, cook: &CookReport, units: Units) -> Document {
    let facts: Vec<String> = [
        cook.cut.clone(),
        cook.pit.clone().map(|pit| format!("pit {pit}")),
        (!cook.fire.is_empty()).then(|| format!("fire {}", cook.fire)),
        cook.kind.clone(),
        cook.contest.clone(),
        cook.place.clone(),
    ]
    .into_iter()
    .flatten()
    .collect();
    let definition = &data.phase_definition;
    let sections = vec![
        Section::new("curve", "Curve and phases", curve_and_phases(data, cook, units)),
        Section::new("numbers", "Numbers", vec![measures(cook, &data.spread, units)]),
        Section::new(
            "probe",
            "Times and temperatures that food rules speak of",
            probe::of_cook(&cook.probe, units),
        ),
        Section::new("marks", "Marks and events", vec![marks(cook, units), events(cook, units)]),
        Section::new("card", "Card", vec![card(cook, units)]),
        Section::new(
            "readings",
            "Readings and what was done to them",
            cleaning::readings(cook, definition, units),
        ),
        Section::new("cautions", "Cautions", own_cautions(data, cook)),
        Section::new("methods", "Definitions", methods::methods(definition, &[], units)),
        Section::new("stamp", "Making this page again", vec![stamp(data, cook)]),
    ];
    Document {
        title: format!("{}: {}", data.team, cook.id),
        kicker: if cook.season.is_empty() {
            data.team.clone()
        } else {
            format!("{}, season {}", data.team, cook.season)
        },
        name: cook.id.clone(),
        subtitle: std::iter::once(cook.meat_on_local.clone())
            .chain(facts)
            .collect::<Vec<_>>()
            .join(" · "),
        caution: Some(cautions::short(Some("#cautions"))),
        sections,
        version: data.stamp.version.clone(),
        ..Document::default()
    }
}

fn curve_and_phases(data: &ReportData, cook: &CookReport, units: Units) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(lines) = &cook.curve {
        let drawing = curve("fig-curve", cook, lines, units, CurveSize::Large);
        let caption = format!(
            "{} Thick: core; thin: pit; other meat dashed; the strip at the foot names the phases; upright lines are marks, short ticks at the top events. {}{}",
            words::curve_sentence(cook, units),
            words::signs_sentence(&cook.cleaning),
            cooks::shown_points(cook, false)
        );
        blocks.extend([phase_key(), Figure::block(FigureForm::Large, drawing, caption)]);
    } else {
        blocks.push(paragraph("There are no readings to draw."));
    }
    if let (Some(lines), false) = (&cook.curve, cook.heating.is_empty()) {
        let fraction = data.phase_definition.stall_fraction;
        let caption = format!(
            "How well the meat takes heat for the heat on offer, on the axis of the curve above. It is in stall where the line \
             lies under the dashed one, {} of the reference, for long enough; \
             the table below has the phases that follow.",
            number(fraction, 2)
        );
        let drawing = heating("fig-heating", cook, lines, fraction);
        blocks.push(Figure::block(FigureForm::Large, drawing, caption));
    }
    if let Some(wet) = cook.wet_bulb {
        blocks.push(paragraph(format!(
            "{}. Dotted across the stalls: a line to hold them against, not what they should have been. Walls that radiate and a drying surface hold the meat above it, conduction into the meat below. (ASHRAE Fundamentals 2017, chapter 1, equation 33, solved below the boiling point.)",
            words::wet_bulb(wet, units)
        )));
    }
    blocks.push(phases(cook, units));
    blocks
}

fn own_cautions(data: &ReportData, cook: &CookReport) -> Vec<Block> {
    let of_season = data.cautions.iter().filter(|caution| caution.cook.as_ref() == Some(&cook.id));
    let own = list(cook.cautions.iter().chain(of_season.map(|caution| &caution.text)));
    let own = own.into_iter().flat_map(|own| [heading("In this cook"), own]);
    own.chain(cautions::standing()).collect()
}

fn stamp(data: &ReportData, cook: &CookReport) -> Block {
    let anchors = Anchors::new(&data.cooks);
    let mut facts = account::facts(&data.stamp);
    let anchor = code(format!("#{}", anchors.of(&cook.id)));
    facts.push(("Anchor in the season report", vec![anchor]));
    Block::Facts(facts)
}

fn phases(cook: &CookReport, units: Units) -> Block {
    if cook.phases.is_empty() {
        return paragraph("No phase was judged.");
    }
    let degrees = Quantity::Temperature.unit(units);
    let temperature =
        |c: Option<f64>| -> Cell { c.map(|c| Quantity::Temperature.number(c, units)).into() };
    let rows = cook.phases.iter().map(|span| {
        let bound = if span.complete { "" } else { "≥\u{a0}" };
        let reason = span.reason.as_ref().map(|reason| quiet(format!(": {reason}")));
        vec![
            inlines![span.phase.as_str(), reason].into(),
            (&span.start_local).into(),
            (&span.end_local).into(),
            format!("{bound}{}", number(span.end_min - span.start_min, 0)).into(),
            temperature(span.start_core_c),
            temperature(span.end_core_c),
        ]
    });
    let columns = [
        text("Phase"),
        text("From"),
        text("To"),
        numbers("Length", "min"),
        numbers("Core at start", degrees),
        numbers("Core at end", degrees),
    ];
    Table::new("Phases, in local time", columns, rows.collect())
        .remark("≥: the log ends before the phase does. –: no core reading there.")
        .into()
}

fn measures(cook: &CookReport, spread: &BTreeMap<String, Spread>, units: Units) -> Block {
    let m = &cook.measures;
    let stall = m.stall_reason.as_deref();
    let shown = |column: Description, value: Option<f64>, open: bool, reason: Option<&str>| {
        let bound = if open { "≥\u{a0}" } else { "" };
        let quantity = column.quantity.unwrap_or_default();
        Cell::or_missing(value.map(|v| format!("{bound}{}", quantity.show(v, units))), reason)
    };
    let plain = |column: Description, value| (column, shown(column, value, false, None));
    let judged = |column: Description, value| (column, shown(column, value, false, stall));
    let spread = |column: &str| {
        spread.get(column).map(|row| {
            let quantity = quantity_of(&row.column);
            let [median, min, max] =
                [row.median, row.min, row.max].map(|value| quantity.number(value, units));
            let bound = if row.at_least { "≥\u{a0}" } else { "" };
            format!("{bound}{median} ({min} to {max}; {})", count(row.cooks))
        })
    };
    let known = [
        plain(column::RAW_WEIGHT_KG, m.raw_weight_kg),
        plain(column::TRIMMED_WEIGHT_KG, m.trimmed_weight_kg),
        plain(column::THICKNESS_MM, m.thickness_mm),
        plain(column::PIT_SETPOINT_C, m.pit_setpoint_c),
        plain(column::PIT_EARLY_C, m.pit_early_c),
        plain(column::PIT_MEAN_C, m.pit_mean_c),
        plain(column::PIT_SD_C, m.pit_sd_c),
        plain(column::START_CORE_C, m.start_core_c),
        (column::WRAP_METHOD, Cell::or_missing(m.wrap_method.clone(), None)),
        (
            column::WRAP_AT_CORE_C,
            shown(
                column::WRAP_AT_CORE_C,
                m.wrap_at_core_c,
                false,
                (m.wrap_time_known == Some(false)).then_some("wrapped, but nobody wrote when"),
            ),
        ),
        plain(column::CLOCK_TO_WRAP_MIN, m.clock_to_wrap_min),
        (
            column::CLOCK_TO_FINISH_MIN,
            shown(
                column::CLOCK_TO_FINISH_MIN,
                m.clock_to_finish_min,
                m.finish_reached == Some(false),
                None,
            ),
        ),
        (column::END_REASON, Cell::or_missing(m.end_reason.clone(), None)),
        judged(column::RAMP_MIN, m.ramp_min),
        (
            column::K_REF_PER_H,
            shown(column::K_REF_PER_H, m.k_ref_per_h, false, stall).followed_by(
                (m.k_ref_borrowed == Some(true))
                    .then_some(" (borrowed from this team’s other cooks)"),
            ),
        ),
        (column::STALLS, Cell::or_missing(m.stalls.map(count), stall)),
        (
            column::STALL_MIN,
            Cell::or_missing(words::stall_length(m), stall).followed_by(
                words::stall_interval(m)
                    .map(|interval| format!(" (90\u{a0}% interval {interval})")),
            ),
        ),
        judged(column::STALL_START_CORE_C, m.stall_start_core_c),
        judged(column::STALL_END_CORE_C, m.stall_end_core_c),
        (
            column::STALL_DELAY_MIN,
            Cell::or_missing(words::stall_delay(m), m.stall_delay_reason.as_deref().or(stall)),
        ),
        judged(column::PUSH_MIN, m.push_min),
        (column::TOTAL_MIN, shown(column::TOTAL_MIN, m.total_min, m.total_min_censored, None)),
        plain(column::MIN_PER_KG, m.min_per_kg),
        plain(column::PULL_CORE_C, m.pull_core_c),
        plain(column::CARRYOVER_C, m.carryover_c),
        plain(column::REST_MIN, m.rest_min),
        plain(column::YIELD_FRACTION, m.yield_fraction),
    ];
    let known = known.into_iter().map(|(column, value)| {
        vec![column.label.into(), value, Inlines::from(spread(column.name)).into()]
    });
    let other = m.other.iter();
    let other = other.map(|entry| vec![(&entry.name).into(), entry_value(entry, units), "".into()]);
    let columns =
        [text("Measure"), text("Value"), text("All cooks: median (smallest to largest; cooks)")];
    Table::new("The numbers of the cook", columns, known.chain(other).collect())
        .remark(
            "≥ marks an open end: the log or the cook ended first. – without a letter: not stated on the card or not in the log.",
        )
        .into()
}

fn entry_value(entry: &CardEntry, units: Units) -> Cell {
    entry.value.as_ref().map(|value| words::card_value(value, units)).into()
}

fn marks(cook: &CookReport, units: Units) -> Block {
    if cook.marks.is_empty() {
        return paragraph("No mark is known.");
    }
    let rows = cook.marks.iter().map(|mark| {
        vec![
            words::mark(mark.kind).into(),
            (&mark.at_local).into(),
            number(mark.at_min, 0).into(),
            mark.core_c.map(|c| Quantity::Temperature.number(c, units)).into(),
            (&mark.from).into(),
            Inlines::from(mark.detail.as_ref()).into(),
        ]
    });
    let columns = [
        text("Mark"),
        text("Local time"),
        numbers("After meat-on", "min"),
        numbers("Core", Quantity::Temperature.unit(units)),
        text("From"),
        text("Detail"),
    ];
    Table::new("Marks", columns, rows.collect()).remark("–: no core reading there.").into()
}

fn events(cook: &CookReport, units: Units) -> Block {
    if cook.events.is_empty() {
        return paragraph("No event was noted.");
    }
    let rows = cook.events.iter().map(|event| {
        let value = event.value.as_ref().map(|value| words::card_value(value, units));
        vec![
            (&event.event).into(),
            (&event.at_local).into(),
            number(event.at_min, 0).into(),
            Inlines::from(value).into(),
            Inlines::from(event.note.as_ref()).into(),
        ]
    });
    let columns = [
        text("Event"),
        text("Local time"),
        numbers("After meat-on", "min"),
        text("Value"),
        text("Note"),
    ];
    Table::new("Events", columns, rows.collect()).into()
}

fn card(cook: &CookReport, units: Units) -> Block {
    let rows = cook.card.iter().map(|own| vec![(&own.name).into(), entry_value(own, units)]);
    let table = Table::new("The card", [text("Entry"), text("Value")], rows.collect());
    if table.rows.is_empty() {
        return paragraph("The card says nothing more.");
    }
    table.remark("–: left empty on the card.").into()
}
