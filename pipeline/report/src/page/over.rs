//! Some cooks laid over each other.

use columns::Shown;
use columns::measures;
use cook::Units;

use super::cautions;
use super::cook::measure;
use crate::data::{ChannelRole, CookReport, ReportData};
use crate::document::{
    Block, Cell, Column, Document, Figure, FigureForm, Section, Table, paragraph, text,
};
use crate::figure::over;
use crate::names::{name_of, quantity_of};
use crate::units::Quantity;
use crate::words::spoken;
use std::collections::BTreeSet;

/// Core temperatures that are told in time, °C. Common practice, no source.
const ON_THE_WAY_C: [f64; 6] = [50.0, 60.0, 66.0, 71.0, 80.0, 88.0];

/// The cooks at these places among `data.cooks`.
pub(crate) fn over_page(data: &ReportData, places: &[usize], units: Units) -> Document {
    let cooks: Vec<&CookReport> = places.iter().map(|&place| &data.cooks[place]).collect();
    let names: Vec<&str> = cooks.iter().map(|cook| cook.id()).collect();
    Document {
        title: format!("{}: {}", data.team, names.join(", ")),
        kicker: data.team.clone(),
        name: names.join(" · "),
        subtitle: "Cooks laid over each other, each from its own meat-on".into(),
        caution: Some(cautions::short(Some("#cautions"))),
        sections: vec![
            Section::new("laid-over", "Curves", curves(&cooks, units)),
            Section::new("on-the-way", "Times on the way", vec![on_the_way(&cooks, units)]),
            Section::new("numbers", "Numbers", vec![numbers(&cooks, units)]),
            Section::new("cautions", "Cautions", cautions::standing()),
        ],
        version: data.study.provenance.version.clone(),
        ..Document::default()
    }
}

fn curves(cooks: &[&CookReport], units: Units) -> Vec<Block> {
    let mut blocks = Vec::new();
    let captions = [
        (ChannelRole::Core, "The core of each cook. Dots: wraps."),
        (ChannelRole::Pit, "The pit of each cook, as it was logged."),
    ];
    for (role, caption) in captions {
        let id = if role == ChannelRole::Core { "fig-cores" } else { "fig-pits" };
        if let Some(drawing) = over(id, cooks, role, units) {
            blocks.push(Figure::block(FigureForm::Large, drawing, caption));
        }
    }
    if blocks.is_empty() {
        blocks.push(paragraph("None of these cooks has readings to draw."));
    }
    blocks.push(paragraph(
        "Cooks differ in weight, pit, weather and wrap at once: what lies apart here says nothing of why. The season report compares many cooks.",
    ));
    blocks
}

fn columns(cooks: &[&CookReport], first: &'static str) -> Vec<Column> {
    std::iter::once(text(first)).chain(cooks.iter().map(|cook| text(cook.id()))).collect()
}

/// When the core, as it is drawn, was first at temperatures.
fn on_the_way(cooks: &[&CookReport], units: Units) -> Block {
    let first_at = |cook: &CookReport, core_c: f64| {
        let series = cook.curve.as_ref()?.series.iter().find(|s| s.role == ChannelRole::Core)?;
        let points = series.points.iter().filter(|point| point.min >= 0.0);
        // A probe that comes in from the air reads high first.
        let begins = points.clone().find(|point| point.temp_c.is_some_and(|c| c < core_c))?.min;
        let mut later = points.filter(|point| point.min >= begins);
        later.find(|point| point.temp_c.is_some_and(|c| c >= core_c)).map(|point| point.min)
    };
    let rows = ON_THE_WAY_C.iter().map(|&core_c| {
        let times = cooks.iter().map(|cook| Cell::from(first_at(cook, core_c).map(spoken)));
        std::iter::once(Quantity::Temperature.show(core_c, units).into()).chain(times).collect()
    });
    Table::new(
        "When the core was first at a temperature, after meat-on",
        columns(cooks, "Core"),
        rows.collect(),
    )
    .remark("–: not reached, or not in the log.")
    .into()
}

/// Every measure that cook pages show and that one of the cooks has, then the scores.
fn numbers(cooks: &[&CookReport], units: Units) -> Block {
    let values: Vec<_> = cooks.iter().map(|cook| cook.measures.cells()).collect();
    let shown = measures::ALL.iter().enumerate();
    let shown = shown.filter(|(_, column)| column.is_shown(Shown::CookPage));
    let known = shown.filter(|(row, _)| values.iter().any(|own| !own[*row].1.is_null()));
    let measures = known.map(|(row, column)| {
        let cells = cooks.iter().zip(&values).map(|(cook, own)| {
            let (column, value) = &own[row];
            measure(&cook.measures, *column, value, units)
        });
        std::iter::once(column.label.into()).chain(cells).collect()
    });
    let names: BTreeSet<&str> =
        cooks.iter().flat_map(|cook| &cook.card.scores).map(|(name, _)| name.as_str()).collect();
    let scores = names.into_iter().map(|name| {
        let score = |cook: &&CookReport| {
            let own = cook.card.scores.iter().find(|(own, _)| own == name);
            Cell::from(own.map(|(_, score)| quantity_of(name).show(*score, units)))
        };
        std::iter::once(name_of(name).into()).chain(cooks.iter().map(score)).collect()
    });
    Table::new(
        "The numbers of the cooks",
        columns(cooks, "Measure"),
        measures.chain(scores).collect(),
    )
    .remark("≥ marks an open end: the log or the cook ended first.")
    .into()
}
