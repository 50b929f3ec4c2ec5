//! The season report for a wiki: findings and tables without drawings. This is the one place that says
//! what of the whole report it holds.

mod cost;

use cook::Units;

use super::{Anchors, by_hand, cautions, compare, first_look, forecast, levers, trials, whole};
use crate::agenda::Agenda;
use crate::data::ReportData;
use crate::document::{
    Block, Cell, Document, Inlines, Section, Table, code, inlines, link, list, paragraph, text,
};
use crate::units::{Quantity, count, number};
use crate::words::{self, compared, plural};

/// Cooks in the table of cooks; all of them are in the data files.
const MOST_COOKS: usize = 200;

/// The report in brief.
pub(crate) fn brief_page(data: &ReportData, units: Units) -> Document {
    let agenda = Agenda::new(data, units);
    let mut sections = if data.study.claims.is_empty() {
        Vec::new()
    } else {
        Vec::from(agenda.answered(["Nothing."; 3], units))
    };
    let mut section = |heading: &str, blocks: Vec<Block>| {
        if !blocks.is_empty() {
            sections.push(Section::new("", heading, blocks));
        }
    };
    let lots = data.study.trials.iter().map(|trial| {
        let said = trials::told(trial, units);
        inlines![crate::document::bold(format!("“{}”", trial.says)), " ", Inlines::with_code(&said)]
    });
    section("Settled by lots", list(lots).into_iter().collect());
    let is_first_look = first_look::is_of(data);
    if is_first_look {
        section("What the logs show", first_look::shown(data, &Anchors::new(&[]), units));
    }
    let next = list(agenda.next.iter().map(|line| Inlines::with_code(line)));
    section("What to try next", next.into_iter().collect());
    section(
        "The season at a glance",
        whole::glance(&data.study.season.glance, units)
            .filter(|_| !is_first_look)
            .into_iter()
            .collect(),
    );
    section(
        "How steady it was",
        whole::consistency_in_brief(&data.study.season.charts, &data.days(), units)
            .into_iter()
            .collect(),
    );
    for own in compare::told(&data.study.season.comparisons) {
        let told = list(compared::sentences(own, units));
        let about = paragraph(compared::about(own));
        section(compared::heading(own), told.into_iter().chain([about]).collect());
    }
    if super::cost::is_told(&data.study.cost_side) {
        section("What it costs", cost::cost(&data.study.cost_side, units));
    }
    if levers::are_told(&data.study.levers) {
        section("Other levers", other_levers(data));
    }
    let forecasts = data.study.forecast_backtest.as_ref().filter(|found| found.reason.is_none());
    let told = forecasts.map(|found| paragraph(Inlines::with_code(&forecast::told(found))));
    section("How good forecasts would have been", told.into_iter().collect());
    section("The cooks", cooks(data, units));
    section("What was not used", left_out(data));
    section("Making this again", vec![making_again(data)]);
    let name = format!("{}: {}", data.team, words::listed(&data.seasons));
    Document {
        title: name.clone(),
        name,
        subtitle: subtitle(data),
        caution: Some(cautions::in_brief()),
        sections,
        version: data.study.provenance.version.clone(),
        ..Document::default()
    }
}

fn subtitle(data: &ReportData) -> String {
    let s = &data.summary;
    let dates = words::dates(s.first_day.as_deref(), s.last_day.as_deref());
    format!(
        "{}, {} hours on the pit{}.",
        words::cooks_on_fires(s.cooks, s.fires),
        number(s.cooking_hours, 0),
        dates.map_or(String::new(), |dates| format!(", {dates}"))
    )
}

fn other_levers(data: &ReportData) -> Vec<Block> {
    levers::in_a_sentence_each(&data.study.levers)
        .into_iter()
        .flat_map(|said| {
            [said, paragraph(
                "As far as the logs show what the team went by: habits that no log shows may still stand behind it.",
            )]
        })
        .collect()
}

fn cooks(data: &ReportData, units: Units) -> Vec<Block> {
    let shown = &data.cooks[data.cooks.len().saturating_sub(MOST_COOKS)..];
    let mut blocks = by_hand::told(data);
    if shown.len() < data.cooks.len() {
        let (shown, all) = (count(shown.len()), plural(data.cooks.len(), "cook"));
        let last = format!("The last {shown} of {all}; ");
        blocks.push(paragraph(inlines![last, code("data/measures.csv"), " has all of them."]));
    }
    let columns =
        ["Cook", "Date", "Cut", "Wrap", "Stall", "90 % interval, min", "Stall delay", "Total, min"];
    let rows = shown.iter().map(|cook| -> Vec<Cell> {
        let m = &cook.measures;
        let total = m.total_min.map(|minutes| {
            let bound = if m.total_min_censored == Some(true) { "≥\u{a0}" } else { "" };
            format!("{bound}{}", Quantity::Minutes.number(minutes, units))
        });
        vec![
            cook.page
                .as_ref()
                .map_or_else(|| (cook.id()).into(), |page| link(page, cook.id()))
                .into(),
            (&cook.day).into(),
            cook.card.cut.as_ref().into(),
            m.wrap_method.as_ref().into(),
            words::stall_length(m).into(),
            words::stall_interval(m).into(),
            words::stall_delay(m).into(),
            total.into(),
        ]
    });
    blocks.push(Table::new("", columns.map(text), rows.collect()).into());
    blocks
}

fn left_out(data: &ReportData) -> Vec<Block> {
    if data.excluded.is_empty() && data.refused_logs.is_empty() && data.rejected_total == 0 {
        return vec![paragraph("Nothing was left out.")];
    }
    let cooks = data.excluded.iter().map(|cook| format!("{}: {}", cook.cook, cook.reason).into());
    let logs = data.refused_logs.iter().map(|log| format!("{}: {}", log.source, log.reason).into());
    let rejected = format!("Rows rejected: {}; ", count(data.rejected_total));
    let rejected = inlines![rejected, code("data/rejected.csv"), " has each."];
    list(cooks.chain(logs).chain([rejected])).into_iter().collect()
}

fn making_again(data: &ReportData) -> Block {
    paragraph(inlines![
        format!("Version {}, settings ", data.study.provenance.version),
        code(&data.study.provenance.settings_hash),
        ", seed ",
        code(data.study.provenance.seed.to_string()),
        ". Figures, methods, sources and the account of every line are in ",
        code("report.html"),
        ", the numbers in ",
        code("data/"),
        "."
    ])
}
