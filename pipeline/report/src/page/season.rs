//! The season report.

use cook::Units;
use maud::{Markup, html};

use super::{
    Anchors, Numbering, account, answers, cautions, claims, compare, cooks, cost, levers, methods,
    probe, quality, shell, study, whole,
};
use crate::data::{Counted, ReportData};
use crate::document::{Block, html};
use crate::units::{Quantity, count, number};
use crate::words::{self, plural};

/// The season report as one complete HTML file.
pub(crate) fn season_page(data: &ReportData, units: Units) -> String {
    let numbering = Numbering::default();
    let anchors = Anchors::new(&data.cooks);
    let sections: [(&str, &str, Markup); 18] = [
        ("what", "What was cooked", what(data, units, &numbering)),
        (
            "claims",
            "The claims in full",
            html::blocks(&claims::claims(&data.study.claims, units), &numbering),
        ),
        (
            "cautions",
            "Cautions",
            html::blocks(
                &[cautions::standing(), cautions::of_season(&data.cautions, &anchors)].concat(),
                &numbering,
            ),
        ),
        (
            "steady",
            "How steady the season was",
            html! {
                (html::blocks(&whole::consistency(&data.study.season.charts, &data.days(), units), &numbering))
                (compare::comparisons(&data.comparisons, units, &numbering))
            },
        ),
        ("phases", "The phases of every cook", cooks::all_bars(&data.cooks, units, &numbering)),
        ("curves", "The curves", cooks::curves(&data.cooks, &anchors, units)),
        (
            "stall",
            "What goes with the stall",
            html::blocks(&study::scatters(&data.study.drivers, units), &numbering),
        ),
        ("wrap", "The stall by wrap: described, not caused", strips(data, units, &numbering)),
        ("levers", "Other levers", levers::levers(&data.levers, units, &numbering)),
        ("effects", "Effects", html::blocks(&study::effects(&data.study, units), &numbering)),
        ("cost", "What it costs", cost::cost(&data.cost, units, &numbering)),
        (
            "groups",
            "Medians by group",
            html::blocks(&study::groups(&data.study.groups, units), &numbering),
        ),
        ("cooks", "The cooks", cooks::cook_table(&data.cooks, &anchors, units, &numbering)),
        (
            "contests",
            "Contests and bests",
            html::blocks(&whole::contests(data, &anchors, units), &numbering),
        ),
        (
            "probe",
            "What the probes tell of food rules’ times and temperatures",
            probe::of_season(data, &anchors, units, &numbering),
        ),
        (
            "quality",
            "Data quality",
            html::blocks(&quality::of_season(&data.cooks, &anchors), &numbering),
        ),
        ("not-used", "What was not used", account::not_used(data, &numbering)),
        (
            "methods",
            "Definitions and methods",
            html::blocks(
                &methods::methods(&data.phase_definition, &data.methods, units),
                &numbering,
            ),
        ),
    ];
    let stamp = account::stamp(&data.stamp, &data.data_files, &numbering);
    let seasons = words::listed(&data.seasons);
    let title = if seasons.is_empty() {
        format!("{}: season report", data.team)
    } else {
        format!("{}: {seasons}", data.team)
    };
    let header = html! {
        p.kicker { "Season report" @if !seasons.is_empty() { ", " (seasons) } }
        h1 { (data.team) }
        p.subtitle { (subtitle(data)) }
        (html::blocks(&[Block::Caution(cautions::line("#cautions"))], &numbering))
    };
    let contents = html! {
        nav aria-label="Contents" {
            @if let Some(page) = data.closing_page.as_ref().filter(|page| cooks::is_relative(page)) {
                p { a href=(page) { "One page for the closing meeting" } ": settled, dropped, still open, what to try next." }
            }
            ol.contents {
                @for (id, heading, _) in &sections { li { a href={ "#" (id) } { (heading) } } }
                li { a href="#stamp" { "Making this report again" } }
            }
        }
    };
    let main = html! {
        (html::section(&answers::answers(&data.study.claims, units), None, &numbering))
        (contents)
        @for (place, (id, heading, content)) in sections.iter().enumerate() {
            (section(place + 1, id, heading, content))
        }
        (section(sections.len() + 1, "stamp", "Making this report again", &stamp))
    };
    shell(&title, &header, &main, &data.stamp, true)
}

fn section(place: usize, id: &str, heading: &str, content: &Markup) -> Markup {
    html! {
        section id=(id) aria-labelledby={ "h-" (id) } {
            h2 id={ "h-" (id) } { span.no { (place) } " " (heading) }
            (content)
        }
    }
}

fn subtitle(data: &ReportData) -> String {
    let s = &data.summary;
    let mut parts = vec![
        words::cooks_on_fires(s.cooks, s.fires),
        format!("{} hours of cooking", number(s.cooking_hours, 0)),
    ];
    parts.extend(words::dates(s.first_day.as_deref(), s.last_day.as_deref()));
    parts.join(" · ")
}

fn what(data: &ReportData, units: Units, numbering: &Numbering) -> Markup {
    let s = &data.summary;
    let counted = |counts: &[Counted]| {
        let parts: Vec<String> =
            counts.iter().map(|c| format!("{} {}", count(c.count), c.label)).collect();
        words::listed(&parts)
    };
    let wraps = |counts: &[Counted]| {
        let parts: Vec<String> = counts
            .iter()
            .map(|c| match c.label.as_str() {
                "none" => format!("{} unwrapped", count(c.count)),
                "not stated" => format!("{} not stated", count(c.count)),
                label => format!("{} in {label}", count(c.count)),
            })
            .collect();
        words::listed(&parts)
    };
    html! {
        p {
            (data.team) " cooked " (plural(s.cooks, "piece")) " of meat on " (plural(s.fires, "fire"))
            @if let Some(dates) = words::dates(s.first_day.as_deref(), s.last_day.as_deref()) { ", " (dates) }
            ". "
            @if let Some(weight) = s.raw_weight_kg { "They weighed " (Quantity::Mass.show(weight, units)) " raw, where stated. " }
            @if !s.cuts.is_empty() { "Cuts: " (counted(&s.cuts)) ". " }
            @if !s.pits.is_empty() { "Pits: " (counted(&s.pits)) ". " }
            @if !s.wraps.is_empty() { "Wraps: " (wraps(&s.wraps)) ". " }
            @if !s.kinds.is_empty() { "Kinds: " (counted(&s.kinds)) ". " }
            "The logs hold " (count(s.readings)) " readings that could be used."
            @if !data.time_zone.is_empty() { " Local times are in " (data.time_zone) "." }
        }
        (html::blocks(whole::glance(&data.study.season.glance, units).as_slice(), numbering))
        (html::blocks(study::summary(&data.summary.rows, units).as_slice(), numbering))
    }
}

fn strips(data: &ReportData, units: Units, numbering: &Numbering) -> Markup {
    let mut blocks = study::strips(&data.cooks, &data.study, units);
    blocks.extend(data.study.season.finish_by_wrap.iter().flat_map(whole::finish));
    html::blocks(&blocks, numbering)
}
