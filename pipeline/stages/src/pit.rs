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
    let season = read_season(folder)?;
    let zone = season.shown_zone();
    let page = report::render_pit(&page(folder, season, &zone)?);
    let path = folder.join("pit.html");
    store::write_atomically(&path, page.as_bytes())?;
    Ok(path)
}

fn page(folder: &Path, season: Season, zone: &TimeZone) -> Result<PitPage, StageError> {
    let mut cards = SheetReading::default();
    for name in &season.sheets {
        cards.append(ingest::read_season_sheet(&folder.join(name), name, &zone.into())?)?;
    }
    ingest::resolve_marks(&mut cards, &mut [], &BTreeSet::new(), zone);
    let cards = cards.cards;
    let mut milestones: Vec<(i64, PitMilestone)> =
        cards.iter().flat_map(|card| planned(card, zone)).collect();
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
fn planned(card: &Card, zone: &TimeZone) -> Vec<(i64, PitMilestone)> {
    let marks = [("Planned pull", card.planned_pull_ms), ("Turn-in", card.turn_in_ms)];
    let milestone = |(label, at_ms): (&str, Option<i64>)| {
        let at_ms = at_ms?;
        let milestone = PitMilestone {
            cook: card.cook.clone(),
            label: label.into(),
            at: local(at_ms, zone, "%Y-%m-%dT%H:%M:%S%:z"),
            at_local: local(at_ms, zone, MOMENT),
            range: None,
        };
        Some((at_ms, milestone))
    };
    marks.into_iter().filter_map(milestone).collect()
}
