//! A team's past cooks, from its store.

use crate::error::StageError;
use cook::{Card, Event, EventKind, Season};
use outlook::{Course, Past};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use store::{Store, TableName};

/// Which of a store's cooks are the past.
pub(super) struct Which<'a> {
    /// Cooks that are asked about: neither they nor others on their fires are past.
    pub(super) asked: &'a BTreeSet<String>,
    /// Only cooks whose log ended by then, ms UTC.
    pub(super) ended_by_ms: i64,
}

/// A team's past in a folder's store, the bundled cooks beside it where `bundled` says so. A folder
/// without a store is a team without a past.
pub(super) fn past(
    folder: &Path,
    season: &Season,
    which: &Which<'_>,
    bundled: bool,
) -> Result<Past, StageError> {
    let definition = &season.phases;
    let courses = match Store::open(folder) {
        Ok(store) if store.has_table(TableName::Cooks) => courses(&store, season, which)?,
        _ => Vec::new(),
    };
    let bundled = if bundled { outlook::prior::bundled(definition) } else { Vec::new() };
    Ok(Past::new(&courses, &bundled, definition))
}

/// The courses of the cooks of a store that are past and not left out of the analysis.
fn courses(store: &Store, season: &Season, which: &Which<'_>) -> Result<Vec<Course>, StageError> {
    let records = store.read_cooks()?;
    let fires: BTreeSet<(&str, &str)> = records
        .iter()
        .filter(|record| which.asked.contains(&record.card.cook))
        .map(|record| (record.card.season.as_str(), record.card.fire.as_str()))
        .collect();
    let cards: BTreeMap<&str, &Card> = records
        .iter()
        .filter(|record| {
            let card = &record.card;
            card.exclude.is_none()
                && !fires.contains(&(card.season.as_str(), card.fire.as_str()))
                && record.log_end_ms.is_some_and(|end_ms| end_ms <= which.ended_by_ms)
        })
        .map(|record| (record.card.cook.as_str(), &record.card))
        .collect();
    let mut events: BTreeMap<&str, Vec<Event>> = BTreeMap::new();
    let all_events = store.read_events()?;
    for event in &all_events {
        events.entry(event.cook.as_str()).or_default().push(event.clone());
    }
    let on_fire = |card: &Card| -> Vec<Event> {
        let others = cards.values().filter(|other| {
            other.cook != card.cook && other.season == card.season && other.fire == card.fire
        });
        others
            .filter_map(|other| events.get(other.cook.as_str()))
            .flatten()
            .filter(|event| event.kind == EventKind::Setpoint)
            .cloned()
            .collect()
    };
    let mut found: Vec<Course> = store
        .readings_parts()?
        .into_par_iter()
        .map(|part| -> Result<Vec<Course>, StageError> {
            let mut courses = Vec::new();
            for readings in part.cooks(|cook| cards.contains_key(cook))? {
                let readings = readings?;
                let Some(card) = cards.get(readings.cook.as_str()) else { continue };
                let own = events.get(card.cook.as_str()).map_or(&[][..], Vec::as_slice);
                let followed =
                    Course::follow(&readings, card, own, &on_fire(card), i64::MAX, &season.phases);
                // A past cook whose log cannot be followed teaches nothing; `run` says why.
                courses.extend(followed.ok().map(|followed| followed.course));
            }
            Ok(courses)
        })
        .collect::<Result<Vec<_>, StageError>>()?
        .into_iter()
        .flatten()
        .collect();
    found.sort_by(|a, b| (a.meat_on_ms, &a.about.cook).cmp(&(b.meat_on_ms, &b.about.cook)));
    Ok(found)
}
