//! Writes `pit.html`, the page for a phone at the pit, into a season folder.

use crate::error::StageError;
use crate::folder::read_season;
use crate::report_data::local;
use columns::Value;
use columns::card::{self, CardField};
use cook::{Card, Season, Units};
use ingest::SheetReading;
use jiff::tz::TimeZone;
use report::{PitCook, PitMilestone, PitPage};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// What of a card is worth knowing at the pit.
const AT_THE_PIT: [CardField; 13] = [
    card::ARM,
    card::CONTEST,
    card::TURN_IN_AT,
    card::PLANNED_PULL_AT,
    card::PIT,
    card::PIT_SETPOINT_C,
    card::CUT,
    card::RAW_WEIGHT_KG,
    card::TRIMMED_WEIGHT_KG,
    card::THICKNESS_MM,
    card::WOOD,
    card::WRAP_METHOD,
    card::TARGET_CORE_C,
];
/// How a moment is said.
const MOMENT: &str = "%a %H:%M";

/// Writes the page of a season folder, with the cards of its sheets as they are now. Returns its path.
///
/// # Errors
/// No season folder; a sheet that cannot be read.
pub fn write_pit_page(folder: &Path) -> Result<PathBuf, StageError> {
    write_planned_pit_page(folder, &[])
}

/// A milestone of a plan.
pub(crate) struct PlannedMilestone {
    pub(crate) cook: String,
    pub(crate) label: String,
    pub(crate) at_ms: i64,
    /// From when to when it may come.
    pub(crate) ends_ms: Option<(i64, i64)>,
}

/// The same with the milestones of a plan, in place of those that the cards of its cooks have.
pub(crate) fn write_planned_pit_page(
    folder: &Path,
    planned: &[PlannedMilestone],
) -> Result<PathBuf, StageError> {
    let season = read_season(folder)?;
    let zone = season.shown_zone();
    let page = report::render_pit(&page(folder, season, &zone, planned)?);
    let path = folder.join("pit.html");
    store::write_atomically(&path, page.as_bytes())?;
    Ok(path)
}

fn page(
    folder: &Path,
    season: Season,
    zone: &TimeZone,
    planned: &[PlannedMilestone],
) -> Result<PitPage, StageError> {
    let mut cards = SheetReading::default();
    for name in &season.sheets {
        cards.append(ingest::read_season_sheet(&folder.join(name), name, &zone.into())?)?;
    }
    ingest::resolve_marks(&mut cards, &mut [], &BTreeSet::new(), zone);
    let cards = cards.cards;
    let mut milestones: Vec<(i64, PitMilestone)> = cards
        .iter()
        .filter(|card| !planned.iter().any(|own| own.cook == card.cook))
        .flat_map(|card| on_card(card, zone))
        .collect();
    milestones.extend(planned.iter().map(|own| (own.at_ms, shown_milestone(own, zone))));
    milestones.sort_by_key(|(at_ms, _)| *at_ms);
    let cook = |card: &Card| PitCook {
        name: card.cook.clone(),
        date: card.date.clone(),
        card: AT_THE_PIT
            .iter()
            .filter_map(|field| {
                Some((field.column.label.into(), shown(field, card, &season, zone)?))
            })
            .collect(),
    };
    Ok(PitPage {
        cooks: cards.iter().map(cook).collect(),
        milestones: milestones.into_iter().map(|(_, milestone)| milestone).collect(),
        units: season.units,
        team: season.team,
    })
}

fn shown(field: &CardField, card: &Card, season: &Season, zone: &TimeZone) -> Option<String> {
    let units: Units = season.units;
    let number = |value: f64| columns::names::quantity(field.column.name).show(value, units);
    Some(match field.get(card) {
        Value::Null => return None,
        Value::Text(text) => text,
        Value::Bool(yes) => if yes { "yes" } else { "no" }.into(),
        Value::Instant(ms) => local(ms, zone, MOMENT),
        Value::Float(value) => number(value),
        Value::Int(value) => number(value as f64),
    })
}

/// What the card itself plans.
fn on_card(card: &Card, zone: &TimeZone) -> Vec<(i64, PitMilestone)> {
    let marks = [("Planned pull", card.planned_pull_ms), ("Turn-in", card.turn_in_ms)];
    let milestone = |(label, at_ms): (&str, Option<i64>)| {
        let (at_ms, cook) = (at_ms?, card.cook.clone());
        let milestone = PlannedMilestone { cook, label: label.into(), at_ms, ends_ms: None };
        Some((at_ms, shown_milestone(&milestone, zone)))
    };
    marks.into_iter().filter_map(milestone).collect()
}

fn shown_milestone(milestone: &PlannedMilestone, zone: &TimeZone) -> PitMilestone {
    let said = |at_ms: i64| local(at_ms, zone, MOMENT);
    PitMilestone {
        cook: milestone.cook.clone(),
        label: milestone.label.clone(),
        at: local(milestone.at_ms, zone, "%Y-%m-%dT%H:%M:%S%:z"),
        at_local: said(milestone.at_ms),
        range: milestone.ends_ms.map(|(lo, hi)| format!("{} to {}", said(lo), said(hi))),
    }
}
