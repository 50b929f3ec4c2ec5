//! Logs without a sheet: what their curves show, and what a sheet would add.

use cook::{Card, PhaseKind, Units};

use super::Anchors;
use crate::data::{CookReport, MarkKind, PhaseSpan, ReportData};
use crate::document::{
    Block, Cell, Inlines, Table, bold, code, inlines, link, list, numbers, paragraph, text,
};
use crate::units::Quantity;
use crate::words;

/// Whether no card states anything of these cooks.
pub(super) fn is_of(data: &ReportData) -> bool {
    !data.cooks.is_empty() && data.cooks.iter().all(|cook| is_bare(&cook.card))
}

/// Whether a card holds no more than what its log gave it.
fn is_bare(card: &Card) -> bool {
    let of_log = Card {
        cook: card.cook.clone(),
        season: card.season.clone(),
        logs: card.logs.clone(),
        date: card.date.clone(),
        fire: card.fire.clone(),
        ..Card::default()
    };
    *card == of_log
}

/// The cooks with their phases and pull, and what a sheet would add.
pub(super) fn shown(data: &ReportData, anchors: &Anchors, units: Units) -> Vec<Block> {
    let degrees = Quantity::Temperature.unit(units);
    let columns = [
        text("Cook"),
        text("Meat on"),
        text("Stall"),
        numbers("90\u{a0}% interval", "min"),
        text("Pulled"),
        numbers("Core at the pull", degrees),
        text("On the pit"),
    ];
    let rows = data.cooks.iter().map(|cook| row(cook, anchors, units)).collect();
    let caption = "Each cook as its curve alone shows it";
    let remark = "Meat on and pull are where the curve shows them, and else where the log begins and ends. ≥ marks an open end: the log \
                  ended first. – where the curve does not show it.";
    vec![
        Table::new(caption, columns, rows).remark(remark).into(),
        paragraph(inlines![
            bold("What a season sheet would add: "),
            code("cookstudy new DIR --from LOG…"),
            " makes one with these cooks filled in."
        ]),
        list(ADDS.map(|(with, comes)| inlines![bold(with), ": ", comes]))
            .unwrap_or_else(|| paragraph("")),
    ]
}

/// What a sheet says, and what comes of it.
const ADDS: [(&str, &str); 6] = [
    (
        "meat-on and pull",
        "the phases begin and end where they did, not where the curve lets it be guessed",
    ),
    ("wrap and its time", "what was wrapped when, at what core, and questions of wrap timing"),
    ("weights and thickness", "minutes per weight, yield, and how size goes with the stall"),
    ("pit, cut and wood", "cooks of a kind side by side, and what was done alike on one fire"),
    ("scores and costs", "what faster costs on the plate"),
    (
        "claims, in claims.toml",
        "a verdict on each argument, on cooks that come after it was written down",
    ),
];

fn row(cook: &CookReport, anchors: &Anchors, units: Units) -> Vec<Cell> {
    let m = &cook.measures;
    let name: Inlines = match anchors.known(cook.id()) {
        Some(anchor) => link(format!("#{anchor}"), cook.id()),
        None => cook.page.as_ref().map_or_else(|| cook.id().into(), |page| link(page, cook.id())),
    };
    let stalls: Vec<&PhaseSpan> =
        cook.phases.iter().filter(|span| span.phase == PhaseKind::Stall).collect();
    let stall = words::stall_length(m).map(|length| match stalls.first() {
        Some(first) => format!("{length}, from {}", first.start_local),
        None => "none".to_owned(),
    });
    let pull = cook.marks.iter().find(|mark| mark.kind == MarkKind::Pull);
    let bound = if m.total_min_censored == Some(true) { "≥\u{a0}" } else { "" };
    vec![
        name.into(),
        (&cook.meat_on_local).into(),
        Cell::or_missing(stall, m.not_judged_reason.as_deref()),
        Cell::or_missing(words::stall_interval(m), m.not_judged_reason.as_deref()),
        pull.map(|pull| pull.at_local.clone()).into(),
        m.pull_core_c.map(|core| Quantity::Temperature.number(core, units)).into(),
        m.total_min.map(|minutes| format!("{bound}{}", words::duration(minutes))).into(),
    ]
}
