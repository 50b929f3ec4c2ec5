//! Logs and sheets that were read before and are gone, or cannot be opened any more: what the store has of
//! them is kept, and they are named.

use super::before::Before;
use super::groups::{Context, GroupResult};
use super::{
    EVENTS_SHEET, IngestRequest, IngestSummary, Refusal, SCORES_SHEET, SEASON_SHEET, Sheets,
    Subject, scores,
};
use crate::error::StageError;
use crate::stamps::Damage;
use cook::{Card, CookReadings};
use ingest::{EventsReading, FoundLog, IngestError, LogFile, ScoresReading};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fs::File;
use std::path::Path;
use store::stamps::{Stage, Stamps};
use store::{CookRecord, Store};

/// `computed_from` of a cook of which the store has no more than its readings.
const UNKNOWN: &str = "kept";

/// The logs of a store that are gone or cannot be opened, by path. One whose content lies elsewhere
/// among the logs was moved, and is not gone.
pub(super) fn logs(
    before: &Before,
    files: &[LogFile],
    request: &IngestRequest,
) -> BTreeSet<String> {
    let listed: HashMap<&str, &LogFile> =
        files.iter().map(|file| (file.shown_as.as_str(), file)).collect();
    let mut gone: BTreeMap<&str, &str> = BTreeMap::new();
    for source in &before.sources {
        let is_gone = match listed.get(source.path.as_str()) {
            Some(file) => file.content_hash().is_err(),
            None => !is_file(&request.base.join(&source.path)),
        };
        if is_gone {
            gone.insert(&source.path, &source.content_hash);
        }
    }
    if gone.is_empty() {
        return BTreeSet::new();
    }
    let there: BTreeSet<String> =
        files.iter().filter_map(|file| file.content_hash().ok()).collect();
    let gone = gone.into_iter().filter(|(_, content)| !there.contains(*content));
    gone.map(|(path, _)| path.to_owned()).collect()
}

/// Leaves sheets out of a request that were read before and cannot be opened any more, and tells which of them
/// are season sheets.
pub(crate) fn leave_out_sheets(request: &mut IngestRequest) -> Vec<String> {
    let Ok(store) = Store::open(&request.store) else { return Vec::new() };
    let stamps = Stamps::read(&store);
    let Some(read) = stamps.inputs(Stage::Ingest) else { return Vec::new() };
    let mut season_sheets = Vec::new();
    let IngestRequest { base, sheets, events, score_sheets, .. } = request;
    for (names, what) in
        [(sheets, SEASON_SHEET), (events, EVENTS_SHEET), (score_sheets, SCORES_SHEET)]
    {
        names.retain(|name| {
            let path = base.join(name);
            let is_there = is_file(&path) && File::open(&path).is_ok();
            let is_gone = !is_there && read.get(name).is_some_and(|kind| kind == what);
            if is_gone && what == SEASON_SHEET {
                season_sheets.push(name.clone());
            }
            !is_gone
        });
    }
    season_sheets
}

/// What an ingest says that reads nothing, since season sheets or answers are gone: without them nobody knows whose
/// the logs are, or how to read them, and every cook of the store stays as it is.
///
/// # Errors
/// A store that is damaged, which only its sheets and logs can mend.
pub(crate) fn keep_all(
    request: &IngestRequest,
    sheets: &[String],
) -> Result<IngestSummary, StageError> {
    let store = Store::open(&request.store)?;
    let _lock = store.lock()?;
    let shown: Vec<String> =
        sheets.iter().map(|name| request.base.join(name).display().to_string()).collect();
    let shown = shown.join(", ");
    let damage = Damage::find(&store, &Stamps::read(&store))?;
    if let Some(file) = damage.files.first() {
        return Err(StageError::Usage {
            message: format!(
                "{}: is not what was written there, and {shown} is not there to make it anew; put that back",
                file.display()
            ),
        });
    }
    let cooks = store.read_cooks()?.len();
    let told = format!(
        "{shown}: was read before and cannot be opened any more; nothing was read, and the {cooks} cooks of the store stay as they are: put it back, or give up what it said with `cookstudy run --prune`"
    );
    Ok(IngestSummary { cooks, told: vec![told], ..IngestSummary::default() })
}

/// Sheets of events and scores that were read before, are still named by the settings, and are not
/// there any more, each with what it is.
pub(super) fn sheets(request: &IngestRequest, stamps: &Stamps) -> Vec<(String, &'static str)> {
    let Some(read) = stamps.inputs(Stage::Ingest).filter(|_| request.whole && !request.prune)
    else {
        return Vec::new();
    };
    let season = &request.season;
    let kinds = [
        (EVENTS_SHEET, &season.events, &request.events),
        (SCORES_SHEET, &season.score_sheets, &request.score_sheets),
    ];
    let mut gone = Vec::new();
    for (what, named, there) in kinds {
        let is_gone = |name: &&String| {
            !there.contains(name) && read.get(*name).is_some_and(|kind| kind == what)
        };
        gone.extend(named.iter().filter(is_gone).map(|name| (name.clone(), what)));
    }
    gone
}

/// Keeps what the store has of sheets that are gone: what no sheet that is there says.
pub(super) fn keep_rows(
    sheets: &mut Sheets,
    before: &Before,
    gone: &[(String, &'static str)],
    request: &IngestRequest,
) {
    let is_gone = |what: &str| gone.iter().any(|(_, kind)| *kind == what);
    let cooks: BTreeSet<String> = sheets.cards.cards.iter().map(|card| card.cook.clone()).collect();
    if is_gone(EVENTS_SHEET) {
        let mut kept = EventsReading::default();
        let read: HashSet<String> =
            sheets.events.iter().flat_map(|reading| &reading.events).map(in_full).collect();
        let own = before.events.iter().filter(|event| cooks.contains(&event.cook));
        kept.events = own.filter(|event| !read.contains(&in_full(event))).cloned().collect();
        sheets.events.push(kept);
    }
    if is_gone(SCORES_SHEET) {
        let mut kept = ScoresReading::default();
        let read: HashSet<String> =
            sheets.scores.iter().flat_map(|reading| &reading.scores).map(in_full).collect();
        let own = before.scores.iter().filter(|score| {
            let is_known = score.cook.as_ref().is_none_or(|cook| cooks.contains(cook));
            is_known && !read.contains(&in_full(score))
        });
        kept.scores = own.cloned().collect();
        sheets.scores.push(kept);
        let Sheets { cards, scores, scored, .. } = sheets;
        *scored = scores::complete_cards(cards, scores, &request.season, scored);
    }
    for (name, what) in gone {
        sheets.told.push(format!(
            "{}: was read before and is not there any more; what the store has of this {what} is kept: put it back, or give it up with `cookstudy run --prune`",
            request.base.join(name).display()
        ));
    }
}

/// All that a row says, to find it among others.
fn in_full(row: &impl Serialize) -> String {
    serde_json::to_string(row).unwrap_or_default()
}

fn is_file(path: &Path) -> bool {
    std::fs::metadata(path).is_ok_and(|metadata| metadata.is_file())
}

/// Whether a card whose log was not found may be that of a cook that is kept.
pub(super) fn keeps(before: &Before, card: &Card, gone: &BTreeSet<String>) -> bool {
    let had_readings = |old: &CookRecord| old.log_start_ms.is_some();
    !gone.is_empty() && before.record(&card.cook).is_none_or(had_readings)
}

/// Gives cooks that have no card, since their log is all there was of them, the card that they had.
pub(super) fn add_cards(
    sheets: &mut Sheets,
    before: &Before,
    gone: &BTreeSet<String>,
    uses: &mut HashMap<String, Vec<FoundLog>>,
) {
    let known: BTreeSet<String> = sheets.cards.cards.iter().map(|card| card.cook.clone()).collect();
    for Card { cook, season, logs, date, fire, .. } in before.records.iter().map(|r| &r.card) {
        let bare = Card {
            cook: cook.clone(),
            season: season.clone(),
            logs: logs.clone(),
            date: date.clone(),
            ..Card::default()
        };
        let [log] = &logs[..] else { continue };
        let is_bare = before
            .record(cook)
            .is_some_and(|record| record.card == Card { fire: fire.clone(), ..bare.clone() });
        if is_bare && gone.contains(log) && !known.contains(cook) {
            uses.insert(cook.clone(), Vec::new());
            sheets.cards.add_without_row(bare);
        }
    }
}

/// The readings that a cook keeps: one of the logs they came from is gone, and its card does not name
/// others that are there.
pub(super) fn kept(
    card: &Card,
    context: &Context<'_>,
    failed: &BTreeMap<&str, IngestError>,
) -> Result<Option<CookReadings>, StageError> {
    let cannot_be_opened = |error: &IngestError| {
        matches!(error, IngestError::Unreadable { .. } | IngestError::BadContainer { .. })
    };
    let unopened: BTreeSet<&str> =
        failed.iter().filter(|(_, error)| cannot_be_opened(error)).map(|(name, _)| *name).collect();
    if context.gone.is_empty() && (context.prune || unopened.is_empty()) {
        return Ok(None);
    }
    let old = context.before.record(&card.cook);
    let season = old.map_or(&card.season, |old| &old.card.season);
    if !context.batch.has(season, &card.cook) {
        return Ok(None);
    }
    let found = context.uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
    let has_others = !found.is_empty()
        && found.iter().all(|found| !failed.contains_key(found.file.shown_as.as_str()))
        && old.is_some_and(|old| old.card.logs != card.logs);
    if has_others {
        return Ok(None);
    }
    let readings = context.store.read_readings(season, &card.cook)?;
    let is_away = |path: &String| context.gone.contains(path) || unopened.contains(path.as_str());
    Ok(readings.sources.iter().any(is_away).then_some(readings))
}

/// Keeps a cook's readings, and what is known of its logs, under the card that it has now.
pub(super) fn keep(
    mut readings: CookReadings,
    mut record: CookRecord,
    found: &[FoundLog],
    failed: &BTreeMap<&str, IngestError>,
    context: &Context<'_>,
    result: &mut GroupResult,
) -> Result<(), StageError> {
    let cook = record.card.cook.clone();
    let old = context.before.record(&cook);
    record.computed_from = old.map_or(UNKNOWN.to_owned(), |old| old.computed_from.clone());
    (record.log_start_ms, record.log_end_ms) = (readings.first_ms(), readings.last_ms());
    for path in &readings.sources {
        result.rejected.extend(context.before.rejected_of(path).cloned());
        result.sources.extend(context.before.source(path).cloned());
    }
    let error = found.iter().find_map(|found| failed.get(found.file.shown_as.as_str()));
    let away: Vec<&str> = readings
        .sources
        .iter()
        .map(String::as_str)
        .filter(|path| context.gone.contains(*path))
        .collect();
    let why = error.map_or_else(|| format!("{}: not there", away.join(", ")), ToString::to_string);
    result.refusals.push(Refusal {
        subject: Subject::Kept(cook.clone()),
        message: format!(
            "{why}\n  try: put it back; to give up the readings too, `cookstudy run --prune`"
        ),
        waits_for: None,
    });
    if readings.season != record.card.season {
        context.batch.remove(&readings.season, &cook);
        readings.season.clone_from(&record.card.season);
        context.batch.write(&readings)?;
    }
    result.records.push(record);
    Ok(())
}
