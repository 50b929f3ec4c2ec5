//! One cook's page.

use columns::{Description, measures as column};
use cook::Units;
use maud::{Markup, html};
use std::collections::BTreeMap;

use super::table::{Notes, numbers, table, text};
use super::{Anchors, Numbering, cautions, cleaning, cooks, figure, methods, probe, shell};
use crate::data::{CardEntry, CookReport, ReportData};
use crate::document::{Block, html};
use crate::figure::{CurveSize, curve, heating, phase_key};
use crate::names::quantity_of;
use crate::units::{Quantity, count, number};
use crate::words;
use study::result::summary::Spread;

/// One cook's page as one complete HTML file.
pub(crate) fn cook_page(data: &ReportData, cook: &CookReport, units: Units) -> String {
    let numbering = Numbering::default();
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
    let header = html! {
        p.kicker { (data.team) @if !cook.season.is_empty() { ", season " (cook.season) } }
        h1 { (cook.id) }
        p.subtitle { (cook.meat_on_local) @if !facts.is_empty() { " · " (facts.join(" · ")) } }
        (html::blocks(&[Block::Caution(cautions::short(Some("#cautions")))], &numbering))
    };
    let anchors = Anchors::new(&data.cooks);
    let own: Vec<_> =
        data.cautions.iter().filter(|c| c.cook.as_ref() == Some(&cook.id)).cloned().collect();
    let main = html! {
        section id="curve" aria-labelledby="h-curve" {
            h2 id="h-curve" { "Curve and phases" }
            @match &cook.curve {
                Some(lines) => {
                    (html::blocks(&[phase_key()], &numbering))
                    (figure(&numbering, "large", &curve("fig-curve", cook, lines, units, CurveSize::Large), &html! {
                        (words::curve_sentence(cook, units))
                        " Thick: core; thin: pit; other meat dashed; the strip at the foot names the phases; upright lines are marks, short ticks at the top events. "
                        (words::signs_sentence(&cook.cleaning))
                        (cooks::shown_points(cook, false))
                    }))
                },
                None => p { "There are no readings to draw." },
            }
            @if let (Some(lines), false) = (&cook.curve, cook.heating.is_empty()) {
                (figure(&numbering, "large", &heating("fig-heating", cook, lines, data.phase_definition.stall_fraction), &html! {
                    "How well the meat takes heat for the heat on offer, on the axis of the curve above. It is in stall where the line \
                     lies under the dashed one, " (number(data.phase_definition.stall_fraction, 2)) " of the reference, for long enough; \
                     the table below has the phases that follow."
                }))
            }
            @if let Some(wet) = cook.wet_bulb {
                p {
                    (words::wet_bulb(wet, units)) ". Dotted across the stalls: a line to hold them against, not what they should have been. Walls that radiate and a drying surface hold the meat above it, conduction into the meat below. (ASHRAE Fundamentals 2017, chapter 1, equation 33, solved below the boiling point.)"
                }
            }
            (phases(cook, units, &numbering))
        }
        section id="numbers" aria-labelledby="h-numbers" {
            h2 id="h-numbers" { "Numbers" }
            (measures(cook, &data.spread, units, &numbering))
        }
        section id="probe" aria-labelledby="h-probe" {
            h2 id="h-probe" { "Times and temperatures that food rules speak of" }
            (probe::of_cook(&cook.probe, units, &numbering))
        }
        section id="marks" aria-labelledby="h-marks" {
            h2 id="h-marks" { "Marks and events" }
            (marks(cook, units, &numbering))
            (events(cook, units, &numbering))
        }
        section id="card" aria-labelledby="h-card" {
            h2 id="h-card" { "Card" }
            (card(cook, units, &numbering))
        }
        section id="readings" aria-labelledby="h-readings" {
            h2 id="h-readings" { "Readings and what was done to them" }
            (cleaning::readings(cook, &data.phase_definition, units, &numbering))
        }
        section id="cautions" aria-labelledby="h-cautions" {
            h2 id="h-cautions" { "Cautions" }
            @if !cook.cautions.is_empty() || !own.is_empty() {
                h3 { "In this cook" }
                ul {
                    @for caution in &cook.cautions { li { (caution) } }
                    @for caution in &own { li { (caution.text) } }
                }
            }
            (html::blocks(&cautions::standing(), &numbering))
        }
        section id="methods" aria-labelledby="h-methods" {
            h2 id="h-methods" { "Definitions" }
            (html::blocks(&methods::methods(&data.phase_definition, &[], units), &numbering))
        }
        section id="stamp" aria-labelledby="h-stamp" {
            h2 id="h-stamp" { "Making this page again" }
            dl.facts {
                dt { "Version" } dd { (data.stamp.version) }
                dt { "Settings" } dd { code { (data.stamp.settings_hash) } }
                dt { "Seed" } dd { code { (data.stamp.seed) } }
                dt { "Anchor in the season report" } dd { code { "#" (anchors.of(&cook.id)) } }
            }
        }
    };
    shell(&format!("{}: {}", data.team, cook.id), &header, &main, &data.stamp, false)
}

fn phases(cook: &CookReport, units: Units, numbering: &Numbering) -> Markup {
    let degrees = Quantity::Temperature.unit(units);
    let heads = [
        text("Phase"),
        text("From"),
        text("To"),
        numbers("Length", "min"),
        numbers("Core at start", degrees),
        numbers("Core at end", degrees),
    ];
    let notes = Notes::default();
    let temperature =
        |c: Option<f64>| notes.or_missing(c.map(|c| Quantity::Temperature.number(c, units)), None);
    let rows: Vec<Vec<Markup>> = cook
        .phases
        .iter()
        .map(|span| {
            let bound = if span.complete { "" } else { "≥\u{a0}" };
            vec![
                html! {
                    (span.phase.as_str())
                    @if let Some(reason) = &span.reason { span.note { ": " (reason) } }
                },
                html! { (span.start_local) },
                html! { (span.end_local) },
                html! { (bound) (number(span.end_min - span.start_min, 0)) },
                temperature(span.start_core_c),
                temperature(span.end_core_c),
            ]
        })
        .collect();
    html! {
        @if rows.is_empty() { p { "No phase was judged." } } @else {
            (table(numbering, "Phases, in local time", &heads, &rows, &notes, Some("≥: the log ends before the phase does. –: no core reading there.")))
        }
    }
}

fn measures(
    cook: &CookReport,
    spread: &BTreeMap<String, Spread>,
    units: Units,
    numbering: &Numbering,
) -> Markup {
    let m = &cook.measures;
    let stall = m.stall_reason.as_deref();
    let notes = Notes::default();
    let shown = |column: Description, value: Option<f64>, open: bool, reason: Option<&str>| {
        let bound = if open { "≥\u{a0}" } else { "" };
        let quantity = column.quantity.unwrap_or_default();
        notes.or_missing(value.map(|v| format!("{bound}{}", quantity.show(v, units))), reason)
    };
    let plain = |column: Description, value| (column, shown(column, value, false, None));
    let judged = |column: Description, value| (column, shown(column, value, false, stall));
    let spread = |column: &str| {
        let Some(row) = spread.get(column) else { return html! {} };
        let quantity = quantity_of(&row.column);
        let shown = |value: f64| quantity.number(value, units);
        html! {
            @if row.at_least { "≥\u{a0}" }
            (shown(row.median)) " (" (shown(row.min)) " to " (shown(row.max)) "; " (count(row.cooks)) ")"
        }
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
        (column::WRAP_METHOD, notes.or_missing(m.wrap_method.clone(), None)),
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
        (column::END_REASON, notes.or_missing(m.end_reason.clone(), None)),
        judged(column::RAMP_MIN, m.ramp_min),
        (
            column::K_REF_PER_H,
            html! {
                (shown(column::K_REF_PER_H, m.k_ref_per_h, false, stall))
                @if m.k_ref_borrowed == Some(true) { " (borrowed from this team’s other cooks)" }
            },
        ),
        (column::STALLS, notes.or_missing(m.stalls.map(count), stall)),
        (
            column::STALL_MIN,
            html! {
                (notes.or_missing(words::stall_length(m), stall))
                @if let Some(interval) = words::stall_interval(m) { " (90\u{a0}% interval " (interval) ")" }
            },
        ),
        judged(column::STALL_START_CORE_C, m.stall_start_core_c),
        judged(column::STALL_END_CORE_C, m.stall_end_core_c),
        (
            column::STALL_DELAY_MIN,
            notes.or_missing(words::stall_delay(m), m.stall_delay_reason.as_deref().or(stall)),
        ),
        judged(column::PUSH_MIN, m.push_min),
        (column::TOTAL_MIN, shown(column::TOTAL_MIN, m.total_min, m.total_min_censored, None)),
        plain(column::MIN_PER_KG, m.min_per_kg),
        plain(column::PULL_CORE_C, m.pull_core_c),
        plain(column::CARRYOVER_C, m.carryover_c),
        plain(column::REST_MIN, m.rest_min),
        plain(column::YIELD_FRACTION, m.yield_fraction),
    ];
    let mut rows: Vec<(&str, &str, Markup)> =
        known.into_iter().map(|(column, value)| (column.label, column.name, value)).collect();
    rows.extend(
        m.other.iter().map(|entry| (entry.name.as_str(), "", entry_value(entry, units, &notes))),
    );
    let rows: Vec<Vec<Markup>> = rows
        .into_iter()
        .map(|(name, column, value)| vec![html! { (name) }, value, spread(column)])
        .collect();
    table(
        numbering,
        "The numbers of the cook",
        &[text("Measure"), text("Value"), text("All cooks: median (smallest to largest; cooks)")],
        &rows,
        &notes,
        Some(
            "≥ marks an open end: the log or the cook ended first. – without a letter: not stated on the card or not in the log.",
        ),
    )
}

fn entry_value(entry: &CardEntry, units: Units, notes: &Notes) -> Markup {
    notes.or_missing(entry.value.as_ref().map(|value| words::card_value(value, units)), None)
}

fn marks(cook: &CookReport, units: Units, numbering: &Numbering) -> Markup {
    let heads = [
        text("Mark"),
        text("Local time"),
        numbers("After meat-on", "min"),
        numbers("Core", Quantity::Temperature.unit(units)),
        text("From"),
        text("Detail"),
    ];
    let notes = Notes::default();
    let rows: Vec<Vec<Markup>> = cook
        .marks
        .iter()
        .map(|mark| {
            vec![
                html! { (words::mark(mark.kind)) },
                html! { (mark.at_local) },
                html! { (number(mark.at_min, 0)) },
                notes.or_missing(mark.core_c.map(|c| Quantity::Temperature.number(c, units)), None),
                html! { (mark.from) },
                html! { @if let Some(detail) = &mark.detail { (detail) } },
            ]
        })
        .collect();
    html! {
        @if rows.is_empty() { p { "No mark is known." } } @else {
            (table(numbering, "Marks", &heads, &rows, &notes, Some("–: no core reading there.")))
        }
    }
}

fn events(cook: &CookReport, units: Units, numbering: &Numbering) -> Markup {
    let heads = [
        text("Event"),
        text("Local time"),
        numbers("After meat-on", "min"),
        text("Value"),
        text("Note"),
    ];
    let notes = Notes::default();
    let rows: Vec<Vec<Markup>> = cook
        .events
        .iter()
        .map(|event| {
            vec![
                html! { (event.event) },
                html! { (event.at_local) },
                html! { (number(event.at_min, 0)) },
                html! { @if let Some(value) = &event.value { (words::card_value(value, units)) } },
                html! { @if let Some(note) = &event.note { (note) } },
            ]
        })
        .collect();
    html! {
        @if rows.is_empty() { p { "No event was noted." } } @else {
            (table(numbering, "Events", &heads, &rows, &notes, None))
        }
    }
}

fn card(cook: &CookReport, units: Units, numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    let rows: Vec<Vec<Markup>> = cook
        .card
        .iter()
        .map(|entry| vec![html! { (entry.name) }, entry_value(entry, units, &notes)])
        .collect();
    html! {
        @if rows.is_empty() { p { "The card says nothing more." } } @else {
            (table(numbering, "The card", &[text("Entry"), text("Value")], &rows, &notes, Some("–: left empty on the card.")))
        }
    }
}
