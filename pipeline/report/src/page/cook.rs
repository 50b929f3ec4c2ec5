//! One cook's page.

use columns::card::CardField;
use columns::measures::{self as column, Measures};
use columns::{Description, Shown, Value};
use cook::{Card, Units};
use std::collections::BTreeMap;

use super::{Anchors, Fires, account, cautions, cleaning, cooks, methods, probe};
use crate::data::{ChannelRole, CookReport, Curve, CurvePoint, CurveSeries, ReportData};
use crate::document::{
    Block, Cell, Document, Figure, FigureForm, Inlines, Section, Table, code, heading, inlines,
    link, list, numbers, paragraph, quiet, text,
};
use crate::figure::{CurveSize, curve, heating, phase_key};
use crate::names::{name_of, quantity_of};
use crate::units::{Quantity, count, number};
use crate::words;
use study::result::summary::Spread;

/// One cook's page. The anchors are those of the season report; `place` says where the cook stands among
/// `data.cooks`.
pub(crate) fn cook_page(
    data: &ReportData,
    (anchors, fires): (&Anchors, &Fires<'_>),
    place: usize,
    units: Units,
) -> Document {
    let cook = &data.cooks[place];
    let facts: Vec<String> = [
        cook.card.cut.clone(),
        cook.card.pit.clone().map(|pit| format!("pit {pit}")),
        (!cook.card.fire.is_empty()).then(|| format!("fire {}", cook.card.fire)),
        cook.card.kind.map(|kind| kind.as_str().to_owned()),
        cook.card.contest.clone(),
        cook.card.place.clone(),
    ]
    .into_iter()
    .flatten()
    .collect();
    let definition = &data.phase_definition;
    let sections = vec![
        Section::new("curve", "Curve and phases", curve_and_phases(data, fires, place, units)),
        Section::new("numbers", "Numbers", vec![measures(cook, &data.spread, units)]),
        Section::new("marks", "Marks and events", marks_and_events(data, cook, units)),
        Section::folded("card", "Card", vec![card(data, &cook.card, units)]),
        Section::folded(
            "probe",
            "Times and temperatures that food rules speak of",
            probe::of_cook(&cook.measures, units),
        ),
        Section::folded(
            "readings",
            "Readings and what was done to them",
            cleaning::readings(cook, definition, units),
        ),
        Section::folded("methods", "Definitions", methods::definitions(definition, units)),
        Section::folded("stamp", "Making this page again", vec![stamp(data, anchors, cook)]),
        Section::new("cautions", "Cautions", cautions::standing()),
    ];
    Document {
        title: format!("{}: {}", data.team, cook.id()),
        kicker: if cook.card.season.is_empty() {
            data.team.clone()
        } else {
            format!("{}, season {}", data.team, cook.card.season)
        },
        name: cook.id().to_owned(),
        subtitle: std::iter::once(cook.meat_on_local.clone())
            .chain(facts)
            .collect::<Vec<_>>()
            .join(" · "),
        trail: trail(data, place),
        caution: Some(cautions::short(Some("#cautions"))),
        sections,
        is_two_pages: true,
        version: data.study.provenance.version.clone(),
        ..Document::default()
    }
}

/// Back to the report, and to the cooks before and after this one, as far as their pages lie beside it.
fn trail(data: &ReportData, place: usize) -> Inlines {
    let mut trail = Inlines::default();
    let Some(report) = &data.report_page else { return trail };
    trail.push(link(format!("../{report}"), "Season report"));
    let before = place.checked_sub(1).and_then(|before| data.cooks.get(before));
    for (word, beside) in [("Previous", before), ("Next", data.cooks.get(place + 1))] {
        let page = beside.and_then(|own| Some((own, own.page.as_deref()?.rsplit('/').next()?)));
        if let Some((own, page)) = page {
            trail.push(inlines![format!(" · {word}: "), link(page, own.id())]);
        }
    }
    trail
}

/// The core of another cook on the fire, on this cook's clock and no longer than it.
fn mate_series(cook: &CookReport, lines: &Curve, mate: &CookReport) -> Option<CurveSeries> {
    let core = mate.curve.as_ref()?.series.iter().find(|s| s.role == ChannelRole::Core)?;
    let ends = lines.series.iter().filter_map(|series| series.points.last());
    let last_min = ends.map(|point| point.min).fold(0.0, f64::max);
    let later_min = (mate.meat_on_ms - cook.meat_on_ms) as f64 / 60_000.0;
    let on = core.for_small().points.into_iter().filter(|point| point.min >= 0.0);
    let points: Vec<CurvePoint> = on
        .map(|point| CurvePoint { min: point.min + later_min, ..point })
        .filter(|point| (0.0..=last_min).contains(&point.min))
        .collect();
    let name = "mate".to_owned();
    (!points.is_empty()).then_some(CurveSeries { name, role: ChannelRole::Other, points, of: 0 })
}

fn curve_and_phases(
    data: &ReportData,
    fires: &Fires<'_>,
    place: usize,
    units: Units,
) -> Vec<Block> {
    let cook = &data.cooks[place];
    let mut blocks = Vec::new();
    if let Some(lines) = &cook.curve {
        let mates: Vec<(&CookReport, CurveSeries)> = fires
            .mates(&data.cooks, place)
            .filter_map(|mate| Some((mate, mate_series(cook, lines, mate)?)))
            .collect();
        let names: Vec<&str> = mates.iter().map(|(mate, _)| mate.id()).collect();
        let of_mates = match names[..] {
            [] => String::new(),
            _ => format!("mate: other meat on the fire ({}); ", names.join(", ")),
        };
        let mut with_mates = lines.clone();
        with_mates.series.extend(mates.into_iter().map(|(_, series)| series));
        let drawing = curve("fig-curve", cook, &with_mates, units, CurveSize::Large);
        let caption = format!(
            "{} Thick: core; thin: pit; other meat dashed; {of_mates}the strip at the foot names the phases; upright lines are marks, short ticks at the top events. {}{}",
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
    if let Some(wet_bulb) = words::wet_bulb(&cook.measures, units) {
        blocks.push(paragraph(format!(
            "{wet_bulb}. Dotted across the stalls: a line to hold them against, not what they should have been. Walls that radiate and a drying surface hold the meat above it, conduction into the meat below. (ASHRAE Fundamentals 2017, chapter 1, equation 33, solved below the boiling point.)"
        )));
    }
    blocks.push(phases(data, cook, units));
    blocks
}

/// Marks and events, and what is odd about them or the readings.
fn marks_and_events(data: &ReportData, cook: &CookReport, units: Units) -> Vec<Block> {
    let own = list(cook.cautions.iter());
    let own = own.into_iter().flat_map(|own| [heading("Odd about this cook"), own]);
    [marks(data, cook, units), events(data, cook)].into_iter().chain(own).collect()
}

fn stamp(data: &ReportData, anchors: &Anchors, cook: &CookReport) -> Block {
    let mut facts = account::facts(&data.study.provenance);
    let anchor = code(format!("#{}", anchors.of(cook.id())));
    facts.push(("Anchor in the season report", vec![anchor]));
    Block::Facts(facts)
}

fn phases(data: &ReportData, cook: &CookReport, units: Units) -> Block {
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
    let clock = if data.time_zone.is_empty() { ", in UTC" } else { ", in local time" };
    Table::new(format!("Phases{clock}"), columns, rows.collect())
        .remark("≥: the log ends before the phase does. –: no core reading there.")
        .into()
}

/// Every measure that its description shows on this page, then the scores.
fn measures(cook: &CookReport, spread: &BTreeMap<String, Spread>, units: Units) -> Block {
    let spread = |column: &str| {
        spread.get(column).map(|row| {
            let quantity = quantity_of(&row.column);
            let [min, max] = [row.min, row.max].map(|value| quantity.number(value, units));
            let bound = if row.at_least { "≥\u{a0}" } else { "" };
            let median = row.median.map_or_else(
                || "–".to_owned(),
                |median| format!("{bound}{}", quantity.number(median, units)),
            );
            format!("{median} ({min} to {max}; {})", count(row.cooks))
        })
    };
    let cells = cook.measures.cells().into_iter();
    let shown =
        cells.filter(|(column, _)| column.is_shown(Shown::CookPage)).map(|(column, value)| {
            vec![
                column.label.into(),
                measure(&cook.measures, column, &value, units),
                Inlines::from(spread(column.name)).into(),
            ]
        });
    let scores = cook.card.scores.iter().map(|(name, score)| {
        vec![name_of(name).into(), quantity_of(name).show(*score, units).into(), "".into()]
    });
    let columns =
        [text("Measure"), text("Value"), text("All cooks: median (smallest to largest; cooks)")];
    Table::new("The numbers of the cook", columns, shown.chain(scores).collect())
        .remark(
            "≥ marks an open end: the log or the cook ended first. – without a letter: not stated on the card or not in the log.",
        )
        .into()
}

/// A measure as its description says, with what only this page adds to it.
pub(super) fn measure(own: &Measures, column: Description, value: &Value, units: Units) -> Cell {
    let bound = if own.is_bound(&column) { "≥\u{a0}" } else { "" };
    let said = words::value(value, column.quantity.unwrap_or_default(), units);
    let nobody_wrote_when = column == column::WRAP_AT_CORE_C && !own.wrap_time_known;
    let reason = if nobody_wrote_when {
        Some(words::NOBODY_WROTE_WHEN.to_owned())
    } else {
        own.reason(&column)
    };
    let cell = Cell::or_missing(said.map(|said| format!("{bound}{said}")), reason.as_deref());
    if column == column::K_REF_PER_H {
        let borrowed = own.k_ref_borrowed == Some(true);
        cell.followed_by(borrowed.then_some(" (borrowed from this team’s other cooks)"))
    } else if column == column::STALL_MIN {
        let interval = words::stall_interval(own);
        cell.followed_by(interval.map(|said| format!(" (90\u{a0}% interval {said})")))
    } else {
        cell
    }
}

fn marks(data: &ReportData, cook: &CookReport, units: Units) -> Block {
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
        text(data.clock()),
        numbers("After meat-on", "min"),
        numbers("Core", Quantity::Temperature.unit(units)),
        text("From"),
        text("Detail"),
    ];
    Table::new("Marks", columns, rows.collect()).remark("–: no core reading there.").into()
}

fn events(data: &ReportData, cook: &CookReport) -> Block {
    if cook.events.is_empty() {
        return paragraph("No event was noted.");
    }
    let rows = cook.events.iter().map(|event| {
        vec![
            event.name().into(),
            (&event.at_local).into(),
            number(event.at_min, 0).into(),
            Inlines::from(event.event.value.as_ref()).into(),
            Inlines::from(event.event.note.as_ref()).into(),
        ]
    });
    let columns = [
        text("Event"),
        text(data.clock()),
        numbers("After meat-on", "min"),
        text("Value"),
        text("Note"),
    ];
    Table::new("Events", columns, rows.collect()).into()
}

/// What the card states, as far as the descriptions of its fields show it here; then the scores and
/// what a team notes besides.
fn card(data: &ReportData, card: &Card, units: Units) -> Block {
    let stated = |field: &CardField| match field.get(card) {
        Value::Instant(ms) => Some(data.local(ms)),
        value => words::value(&value, quantity_of(field.column.name), units),
    };
    let fields = columns::card::FIELDS.iter();
    let fields = fields
        .filter(|field| field.column.is_shown(Shown::Card))
        .filter_map(|field| Some(vec![Cell::from(field.column.label), stated(field)?.into()]));
    let scores = card.scores.iter().map(|(name, score)| {
        vec![name_of(name).into(), quantity_of(name).show(*score, units).into()]
    });
    let extra = card.extra.iter().map(|(name, value)| vec![name_of(name).into(), value.into()]);
    let rows = fields.chain(scores).chain(extra).collect();
    let table = Table::new("The card", [text("Entry"), text("Value")], rows);
    if table.rows.is_empty() {
        return paragraph("The card says nothing more.");
    }
    table.remark("–: left empty on the card.").into()
}
