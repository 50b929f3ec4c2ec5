//! Logs and sheets into the store; what has not changed is not read again.
//!
//! Cooks that share a log are taken together: a log is then read once, and memory is
//! bounded by the largest such group. Groups are worked on side by side.

mod before;
mod by_hand;
pub(crate) mod edited;
mod examine;
mod finish;
pub(crate) mod gone;
mod groups;
mod meats;
mod nights;
mod partition;
mod scores;
mod sheets;
pub(crate) mod siblings;
mod unchanged;
mod unnamed;
mod zeros;

use self::before::Before;
pub(crate) use self::finish::{sort_others, sort_records};
use self::groups::{Context, GroupResult, ingest_group, refuse};
use self::partition::group;
pub(crate) use self::scores::sort_scores;
pub(crate) use self::sheets::{Sheets, read_sheets};
use crate::error::StageError;
use crate::progress::Progress;
use crate::stamps::Damage;
use cook::{Answers, Card, Question, RejectedRow, Season};
use ingest::{FoundLog, IngestError, Layout, LogNames, ReadOptions};
use rayon::prelude::*;
use rows::Fingerprint;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::PathBuf;
use std::sync::OnceLock;
use store::stamps::{Stage, Stamps};
use store::{Store, Table};

/// Longest name of a cook, encoded as a file name: file systems take 255 bytes with ending.
pub(crate) const LONGEST_NAME: usize = 200;
/// What the stamps call a season sheet.
const SEASON_SHEET: &str = "season sheet";
/// What the stamps call an events sheet.
pub(crate) const EVENTS_SHEET: &str = "events sheet";
/// What they call a scores sheet.
pub(crate) const SCORES_SHEET: &str = "scores sheet";
/// Code of a rejected row that stands for a whole log.
const LOG_REFUSED: &str = "log-refused";
/// Code of a rejected row that stands for a log that can be read in two ways.
pub(crate) const NEEDS_ANSWER: &str = "needs-answer";

/// Whether a rejected row stands for a whole log.
pub(crate) fn is_whole_log(row: &RejectedRow) -> bool {
    row.code == LOG_REFUSED || row.code == NEEDS_ANSWER
}

/// What to read, and where to put it.
#[derive(Debug, Clone)]
pub struct IngestRequest {
    /// Folder that all names are relative to.
    pub base: PathBuf,
    /// Log files, folders and globs.
    pub logs: Vec<String>,
    /// Season sheets.
    pub sheets: Vec<String>,
    /// Events sheets.
    pub events: Vec<String>,
    /// Scores sheets.
    pub score_sheets: Vec<String>,
    /// Layout files, tried first.
    pub layouts: Vec<String>,
    /// The store's folder.
    pub store: PathBuf,
    /// Zone, and what to assume of logs that do not say.
    pub season: Season,
    /// What was answered to questions.
    pub answers: Answers,
    /// Whether these are all sheets and logs of the store: cooks that they do not have leave it.
    pub whole: bool,
    /// Whether what was read from files that are gone, or cannot be opened any more, leaves too.
    pub prune: bool,
}

/// Whom a refusal leaves without readings.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// A cook, by its name.
    Cook(String),
    /// A log that no card names, by its path.
    Log(String),
    /// A cook whose log is gone or cannot be opened, and which keeps its readings.
    Kept(String),
}

/// A cook whose log could not be used, or a log that could not become a cook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The cook or log.
    pub subject: Subject,
    /// Where, why, and what to try.
    pub message: String,
    /// The id of the question that it waits for, where an answer would do.
    pub waits_for: Option<String>,
}

/// What `ingest` did.
#[derive(Debug, Clone, Default)]
pub struct IngestSummary {
    /// Cooks in the store now.
    pub cooks: usize,
    /// Cooks read in this run.
    pub read: usize,
    /// Readings written in this run.
    pub readings: usize,
    /// Rows and cells that could not be used, over the whole store; logs refused whole are
    /// among the refusals.
    pub rejected: Vec<RejectedRow>,
    /// Those of sheets in words (sheet, cell, value, rule, nearest right spelling); parallel
    /// to `rejected`.
    pub rejected_in_words: Vec<Option<String>>,
    /// Cooks left without readings, and logs left without a cook.
    pub refusals: Vec<Refusal>,
    /// What was used without something that was stated and cannot be: file, value and remedy.
    pub told: Vec<String>,
    /// Questions that are open, one for all that have it in common.
    pub questions: Vec<Question>,
    /// Things to know although all went well.
    pub warnings: Vec<String>,
    /// Whether any file of the store changed.
    pub changed: bool,
    /// One row a cook: name, season, fire, first and last reading.
    pub table: Table,
}

/// Reads what changed into the store.
///
/// # Errors
/// A sheet or layout that cannot be read, a path without logs, a store that cannot be
/// written. A log that cannot be used is no error: its cook is among the refusals.
pub fn ingest(
    request: &IngestRequest,
    progress: &dyn Progress,
) -> Result<IngestSummary, StageError> {
    let sheets = read_sheets(request)?;
    ingest_sheets(request, &sheets, progress)
}

pub(crate) fn ingest_sheets(
    request: &IngestRequest,
    sheets: &Sheets,
    progress: &dyn Progress,
) -> Result<IngestSummary, StageError> {
    let layouts = read_layouts(request)?;
    let list = ingest::list_logs(&request.logs, &request.base)?;
    let files = list.files;
    check_seasons(&sheets.cards.cards)?;
    let store = Store::create(&request.store)?;
    let _lock = store.lock()?;
    let mut stamps = Stamps::read(&store);
    let damage = Damage::find(&store, &stamps)?;
    let before = Before::read(&store, &damage);
    let gone = if request.prune { BTreeSet::new() } else { gone::logs(&before, &files, request) };
    let gone_sheets = gone::sheets(request, &stamps);
    let mut with_kept = None;
    if !gone_sheets.is_empty() {
        gone::keep_rows(with_kept.insert(sheets.clone()), &before, &gone_sheets, request);
    }
    let sheets = with_kept.as_ref().unwrap_or(sheets);
    let options = ReadOptions {
        answers: request.answers.clone(),
        units: request.season.units,
        zone_known: sheets.zone_known,
        // Without any card nothing else will say when a log began that counts from its own zero.
        asks_start: sheets.cards.cards.is_empty(),
        ..ReadOptions::new(sheets.zone.clone(), &request.season.log, layouts.clone())
    };

    let mut refused = GroupResult { warnings: list.notes, ..GroupResult::default() };
    refused.warnings.extend(sheets.notes());
    refused.warnings.extend(stamps.other_number(Stage::Ingest));
    refused.warnings.extend(damage.notes.iter().cloned());
    let mut uses: HashMap<String, Vec<FoundLog>> = HashMap::new();
    let mut not_found: HashMap<String, IngestError> = HashMap::new();
    let names = LogNames::new(&files);
    for (card, row) in sheets.cards.cards.iter().zip(&sheets.cards.rows) {
        if store::encode_name(&card.cook).len() > LONGEST_NAME {
            refused.refusals.push(Refusal {
                subject: Subject::Cook(card.cook.chars().take(40).collect::<String>() + "…"),
                message: format!(
                    "{}:{}, column `cook`: the name is too long for a file\n  try: at most {LONGEST_NAME} plain letters",
                    row.sheet, row.line
                ),
                waits_for: None,
            });
            continue;
        }
        match names.find(card, row, &request.answers) {
            Ok(found) if found.is_empty() => {}
            Ok(found) => {
                uses.insert(card.cook.clone(), found);
            }
            // Its readings may be kept for as long as its log is away.
            Err(error @ IngestError::LogNotFound { .. }) if gone::keeps(&before, card, &gone) => {
                uses.insert(card.cook.clone(), Vec::new());
                not_found.insert(card.cook.clone(), error);
            }
            Err(error) => refuse(&mut refused, Subject::Cook(card.cook.clone()), &error),
        }
    }
    // Cards without logs and logs without a card, by time; what is left of the logs gets
    // cards of its own.
    let unnamed = unnamed::unnamed(&files, &uses, &before, sheets, request.whole);
    let unnamed = unnamed::without_copies(unnamed, &uses, &mut refused);
    let mut spans = unnamed::spans(&unnamed, &options, &before, None);
    let mut orders = None;
    if unnamed::ask_siblings(&spans) {
        orders = Some(siblings::orders(&files, &options));
        spans = unnamed::spans(&unnamed, &options, &before, orders.as_ref());
    }
    for (file, span) in unnamed.iter().zip(&spans) {
        if let Err(error) = span {
            refused.questions.extend(siblings::further(file, &options, error));
        }
    }
    let mut sheets =
        unnamed::match_unnamed(sheets, &unnamed, spans, &options, &mut uses, &mut refused);
    unnamed::in_others_logs(&sheets, (&options, &before), &mut uses, &mut refused);
    gone::add_cards(&mut sheets, &before, &gone, &mut uses);
    let sheets = &sheets;
    if !request.whole {
        sheets.cards.cards.iter().try_for_each(|card| groups::check_clash(card, &before))?;
    }
    let groups = group(sheets, &uses);
    let kept = gone_sheets.iter().find(|(_, what)| *what == EVENTS_SHEET);
    let events_sheet = request.events.first().or(kept.map(|(name, _)| name)).cloned();
    let events_sheet = events_sheet.unwrap_or_default();
    let mut hash = Fingerprint::new("settings of ingest", Stage::Ingest.number());
    hash.json(&sheets.zone.iana_name());
    hash.json(&request.season.log);
    hash.json(&layouts);
    let batch = store.readings_batch_without(&damage.files)?;
    let mut context = Context {
        store: &store,
        batch: &batch,
        gone,
        not_found,
        options,
        sheets,
        uses,
        before: &before,
        settings_hash: hash.finish(),
        whole: request.whole,
        prune: request.prune,
        unread_meat_on: groups::unread_meat_on(&sheets.cards),
        events_sheet: &events_sheet,
        files: &files,
        orders,
        logs_hash: OnceLock::new(),
    };
    progress.begin("ingest", sheets.cards.cards.len() as u64);
    let mut results: Vec<Result<GroupResult, StageError>> = groups
        .par_iter()
        .map(|group| {
            let result = ingest_group(group, &context);
            group.cooks().for_each(|cook| progress.step(cook));
            result
        })
        .collect();
    progress.end();
    let asks = |result: &Result<GroupResult, _>| result.as_ref().is_ok_and(|r| r.asks_siblings);
    if context.orders.is_none() && results.iter().any(asks) {
        context.orders = Some(siblings::orders(&files, &context.options));
        for (group, result) in groups.iter().zip(&mut results) {
            if asks(result) {
                *result = ingest_group(group, &context);
            }
        }
    }

    let mut all = refused;
    for result in results {
        let result = result?;
        all.records.extend(result.records);
        all.events.extend(result.events);
        all.rejected.extend(result.rejected);
        all.sources.extend(result.sources);
        all.refusals.extend(result.refusals);
        all.questions.extend(result.questions);
        all.told.extend(result.told);
        all.warnings.extend(result.warnings);
        all.curves.extend(result.curves);
        all.read += result.read;
        all.readings += result.readings;
    }
    all.questions.extend(sheets.cards.questions.iter().cloned());
    all.questions.extend(sheets.events.iter().flat_map(|e| e.questions.iter().cloned()));
    all.questions.extend(sheets.scores.iter().flat_map(|s| s.questions.iter().cloned()));
    all.rejected.extend(sheets.scores.iter().flat_map(|s| s.rejected.iter().cloned()));
    all.scores.extend(sheets.scores.iter().flat_map(|s| s.scores.iter().cloned()));
    all.told.extend(sheets.told.iter().chain(&sheets.scored.told).cloned());
    all.rejected.extend(sheets.cards.rejected.iter().cloned());
    all.rejected.extend(sheets.events.iter().flat_map(|e| e.rejected.iter().cloned()));
    all.gone_sheets = gone_sheets;
    let uses = std::mem::take(&mut context.uses);
    finish::finish(request, &store, &mut stamps, batch, (sheets, &uses, &files), &before, all)
}

/// Each season has a folder; two must not be one where capitals and accents do not count.
fn check_seasons(cards: &[Card]) -> Result<(), StageError> {
    let mut seasons: BTreeMap<String, &str> = BTreeMap::new();
    for Card { cook, season, .. } in cards {
        let first = *seasons.entry(ingest::folded(season)).or_insert(season);
        if first != season {
            return Err(StageError::Usage {
                message: format!(
                    "cook `{cook}`, column `season`: `{season}` differs from `{first}` by capitals or accents alone, which not every computer tells apart; write them alike, or otherwise"
                ),
            });
        }
    }
    Ok(())
}

fn read_layouts(request: &IngestRequest) -> Result<Vec<Layout>, StageError> {
    let files = Layout::files(&request.base, &request.layouts)?;
    Ok(files.iter().map(|path| Layout::read(path)).collect::<Result<_, _>>()?)
}

#[cfg(test)]
mod tests;
