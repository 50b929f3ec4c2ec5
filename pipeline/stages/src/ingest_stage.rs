//! Logs and sheets into the store; what has not changed is not read again.
//!
//! Cooks that share a log are taken together: a log is then read once, and memory is
//! bounded by the largest such group. Groups are worked on side by side.

mod before;
mod by_hand;
pub(crate) mod edited;
mod examine;
pub(crate) mod gone;
mod groups;
mod meats;
mod nights;
mod partition;
mod scores;
pub(crate) mod siblings;
mod unchanged;
mod unnamed;
mod zeros;

use self::before::Before;
use self::groups::{Context, GroupResult, ingest_group, refuse};
use self::partition::group;
pub(crate) use self::scores::sort_scores;
use crate::error::StageError;
use crate::outside;
use crate::progress::Progress;
use crate::stamps::Damage;
use cook::{Answers, Card, Event, Question, RejectedRow, Season, SourceRecord};
use ingest::{
    CookSpan, EventsReading, FoundLog, IngestError, Layout, LogFile, LogNames, ReadOptions,
    ScoresReading, SheetOptions, SheetReading,
};
use jiff::tz::TimeZone;
use rayon::prelude::*;
use rows::Fingerprint;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::PathBuf;
use std::sync::OnceLock;
use store::stamps::{Inputs, Stage, Stamps};
use store::{Column, CookRecord, Ingested, ReadingsBatch, Store, Table};

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

/// Sheets, read and checked; nothing is written yet.
#[derive(Clone)]
pub(crate) struct Sheets {
    pub(crate) zone: TimeZone,
    /// Whether anybody said the zone.
    pub(crate) zone_known: bool,
    pub(crate) cards: SheetReading,
    pub(crate) events: Vec<EventsReading>,
    pub(crate) scores: Vec<ScoresReading>,
    /// What came of cards and scores together.
    scored: scores::Scored,
    /// What was read before and is not there any more.
    told: Vec<String>,
    /// Cooks that are all of a log which no row names.
    lone: BTreeSet<String>,
}

impl Sheets {
    /// Whether a cook is all of a log that no row names.
    fn is_lone(&self, cook: &str) -> bool {
        self.lone.contains(cook)
    }

    /// What is to be told of how the sheets were read.
    fn notes(&self) -> Vec<String> {
        let evidence = self.events.iter().flat_map(|e| &e.evidence);
        let evidence = evidence.chain(self.scores.iter().flat_map(|s| &s.evidence));
        let warnings = self.events.iter().flat_map(|e| &e.warnings);
        let warnings = warnings.chain(self.scores.iter().flat_map(|s| &s.warnings));
        self.cards
            .evidence
            .iter()
            .chain(evidence)
            .map(|e| {
                format!(
                    "{}: {} ({}; to decide otherwise: {})",
                    e.what, e.taken_as, e.because, e.setting
                )
            })
            .chain(self.cards.warnings.iter().chain(warnings).cloned())
            .chain(self.scored.warnings.iter().cloned())
            .collect()
    }
}

/// Reads the sheets of a request.
pub(crate) fn read_sheets(request: &IngestRequest) -> Result<Sheets, StageError> {
    if let Some(name) = &request.season.time_zone {
        TimeZone::get(name).map_err(|e| StageError::Usage {
            message: format!(
                "`{name}` is no IANA time zone ({e}); write one such as America/Chicago or UTC"
            ),
        })?;
    }
    let known = request.season.zone(&request.answers);
    let zone_known = known.is_some();
    let zone = known.unwrap_or(TimeZone::UTC);
    let options = SheetOptions {
        zone: zone.clone(),
        zone_known,
        answers: request.answers.clone(),
        units: request.season.units,
    };
    let mut cards = SheetReading::default();
    for name in &request.sheets {
        cards.append(ingest::read_season_sheet(&request.base.join(name), name, &options)?)?;
    }
    cards.settle_spellings(&request.answers);
    let mut events = Vec::new();
    for name in &request.events {
        let path = request.base.join(name);
        events.push(ingest::read_events_sheet(&path, name, &options, &cards.cards)?);
    }
    let mut scores = Vec::new();
    let codes = crate::trial_stage::codes(&request.base, !request.score_sheets.is_empty())?;
    for name in &request.score_sheets {
        let path = request.base.join(name);
        let scales = &request.season.scores;
        scores.push(ingest::read_scores_sheet(
            &path,
            name,
            &options,
            &cards.cards,
            scales,
            &codes,
        )?);
    }
    let warnings = scores::count_once(&mut scores);
    let before = scores::Scored::new(warnings);
    let scored = scores::complete_cards(&mut cards, &scores, &request.season, &before);
    Ok(Sheets {
        zone,
        zone_known,
        cards,
        events,
        scores,
        scored,
        told: Vec::new(),
        lone: BTreeSet::new(),
    })
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
    finish(request, &store, &mut stamps, batch, (sheets, &uses, &files), &before, all)
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

/// Joins what was read with what stays, and writes the tables.
fn finish(
    request: &IngestRequest,
    store: &Store,
    stamps: &mut Stamps,
    batch: ReadingsBatch<'_>,
    (sheets, uses, files): (&Sheets, &HashMap<String, Vec<FoundLog>>, &[LogFile]),
    before: &Before,
    mut all: GroupResult,
) -> Result<IngestSummary, StageError> {
    let rows: HashMap<&str, &ingest::CardRow> =
        sheets.cards.cards.iter().map(|card| card.cook.as_str()).zip(&sheets.cards.rows).collect();
    let in_sheets: HashMap<&str, &Card> =
        sheets.cards.cards.iter().map(|card| (card.cook.as_str(), card)).collect();
    // A cook whose log was not found has a card all the same.
    let recorded: BTreeSet<String> =
        all.records.iter().map(|record| record.card.cook.clone()).collect();
    for card in sheets.cards.cards.iter().filter(|card| !recorded.contains(&card.cook)) {
        all.records.push(CookRecord { card: card.clone(), ..CookRecord::default() });
    }
    for old in before.records.iter().filter(|r| !in_sheets.contains_key(r.card.cook.as_str())) {
        if request.whole {
            batch.remove(&old.card.season, &old.card.cook);
            continue;
        }
        let mut record = old.clone();
        if record.log_start_ms.is_some() && !batch.has(&old.card.season, &old.card.cook) {
            (record.log_start_ms, record.log_end_ms) = (None, None);
            all.refusals.push(Refusal {
                subject: Subject::Cook(old.card.cook.clone()),
                message: "the file of its readings was damaged\n  try: ingest its sheet and its log again".into(),
                waits_for: None,
            });
        }
        all.records.push(record);
    }
    if !request.whole {
        let others = before.events.iter().filter(|e| !in_sheets.contains_key(e.cook.as_str()));
        all.events.extend(others.cloned());
        // Scores of other sheets stay: those of other cooks, and where no scores sheet was read
        // those without a cook.
        let others = before.scores.iter().filter(|score| match &score.cook {
            Some(cook) => !in_sheets.contains_key(cook.as_str()),
            None => request.score_sheets.is_empty(),
        });
        all.scores.extend(others.cloned());
    }
    for now in &all.records {
        // A cook that moved to another season, or lost its log, leaves nothing behind.
        let Some(old) = before.record(&now.card.cook) else { continue };
        if now.card.season != old.card.season || now.log_start_ms.is_none() {
            batch.remove(&old.card.season, &old.card.cook);
        }
    }
    if !request.whole {
        let read: BTreeSet<&str> = request
            .sheets
            .iter()
            .chain(&request.events)
            .chain(&request.score_sheets)
            .map(String::as_str)
            .chain(all.sources.iter().map(|source| source.path.as_str()))
            .collect();
        // Rows of a workbook name their worksheet behind `#`.
        let is_read = |source: &str| {
            read.contains(source)
                || source.rsplit_once('#').is_some_and(|(file, _)| read.contains(file))
        };
        let kept: Vec<RejectedRow> = before
            .rejected
            .iter()
            .filter(|row| {
                !is_read(&row.source) && row.code != LOG_REFUSED && row.code != NEEDS_ANSWER
            })
            .cloned()
            .collect();
        let kept_sources: Vec<SourceRecord> = before
            .sources
            .iter()
            .filter(|source| !read.contains(source.path.as_str()))
            .cloned()
            .collect();
        all.rejected.extend(kept);
        all.sources.extend(kept_sources);
    }

    for record in &all.records {
        let row = rows.get(record.card.cook.as_str());
        all.questions.extend(row.and_then(|row| row.open_halves(&record.card)));
    }
    let mut cards: Vec<Card> = all.records.iter().map(|record| record.card.clone()).collect();
    for card in &mut cards {
        // A fire that was worked out is worked out again: another cook may have joined it.
        if let Some(stated) = in_sheets.get(card.cook.as_str()) {
            card.fire.clone_from(&stated.fire);
        }
    }
    let spans: Vec<CookSpan> = all
        .records
        .iter()
        .filter_map(|record| {
            Some(CookSpan {
                cook: record.card.cook.clone(),
                first_ms: record.log_start_ms?,
                last_ms: record.log_end_ms?,
            })
        })
        .collect();
    ingest::resolve_fires(&mut cards, &spans);
    for (record, card) in all.records.iter_mut().zip(cards) {
        record.card.fire = card.fire;
    }
    let curves = examine::examine(request, (store, stamps), sheets, uses, &mut all);

    let cards = all.records.iter().map(|record| &record.card);
    let sheets_of_events = request.events.join(", ");
    all.warnings.extend(outside::warnings(cards, &all.events, &sheets_of_events, &sheets.zone));

    sort_records(&mut all.records);
    sort_scores(&mut all.scores);
    sort_others(&mut all.events, &mut all.rejected, &mut all.sources);
    all.rejected.dedup();
    all.sources.dedup_by(|a, b| a.path == b.path);
    all.refusals.sort_by(|a, b| a.subject.cmp(&b.subject));
    all.warnings.sort();
    all.warnings.dedup();

    let mut inputs = Inputs::new();
    if request.whole {
        let names = [
            (&request.sheets, SEASON_SHEET),
            (&request.events, EVENTS_SHEET),
            (&request.score_sheets, SCORES_SHEET),
        ];
        for (names, what) in names {
            inputs.extend(names.iter().map(|name| (name.clone(), what.to_owned())));
        }
        inputs
            .extend(all.gone_sheets.iter().map(|(name, what)| (name.clone(), (*what).to_owned())));
        inputs.extend(edited::hashes(request));
        inputs.extend(edited::noted(request, files, &all.sources));
    }
    let changed = write(store, stamps, inputs, batch, &all, &curves)? || all.read > 0;
    let rejected: Vec<RejectedRow> =
        all.rejected.into_iter().filter(|row| !is_whole_log(row)).collect();
    let in_words = |row: &RejectedRow| {
        let by_events = || sheets.events.iter().find_map(|reading| reading.explain(row));
        let by_scores = || sheets.scores.iter().find_map(|reading| reading.explain(row));
        sheets.cards.explain(row).or_else(by_events).or_else(by_scores)
    };
    Ok(IngestSummary {
        cooks: all.records.len(),
        read: all.read,
        readings: all.readings,
        rejected_in_words: rejected.iter().map(in_words).collect(),
        rejected,
        refusals: all.refusals,
        told: all.told,
        questions: Question::merged(all.questions),
        warnings: all.warnings,
        changed,
        table: listing(&all.records),
    })
}

/// Writes what was ingested and notes the hash of every file; true where a file changed.
fn write(
    store: &Store,
    stamps: &mut Stamps,
    inputs: Inputs,
    batch: ReadingsBatch<'_>,
    all: &GroupResult,
    curves: &examine::CurvesFile,
) -> Result<bool, StageError> {
    let tables = store.encode_ingested(Ingested {
        events: &all.events,
        scores: &all.scores,
        rejected: &all.rejected,
        sources: &all.sources,
        cooks: &all.records,
    })?;
    let is_noted = stamps.inputs(Stage::Ingest) == Some(&inputs)
        && tables.paths().all(|path| stamps.has_noted(Stage::Ingest, path))
        && stamps.has_noted(Stage::Ingest, &curves.path);
    if is_noted && batch.is_untouched() && tables.are_there() && curves.is_there() {
        return Ok(false);
    }
    stamps.open(Stage::Ingest)?;
    // What the tables speak of is there before they are.
    let mut changed = batch.finish()?;
    changed |= tables.write()?;
    changed |= curves.write()?;
    let mut files: Vec<PathBuf> = tables.paths().cloned().chain(store.readings_files()?).collect();
    files.push(curves.path.clone());
    stamps.set(Stage::Ingest, inputs, &files)?;
    Ok(changed)
}

/// The order of cooks in a store.
pub(crate) fn sort_records(records: &mut [CookRecord]) {
    records.sort_by(|a, b| {
        (&a.card.season, a.card.marks.meat_on_ms, &a.card.cook).cmp(&(
            &b.card.season,
            b.card.marks.meat_on_ms,
            &b.card.cook,
        ))
    });
}

/// The order of the other tables.
pub(crate) fn sort_others(
    events: &mut [Event],
    rejected: &mut [RejectedRow],
    sources: &mut [SourceRecord],
) {
    events.sort_by(|a, b| (&a.cook, a.at_ms, a.kind).cmp(&(&b.cook, b.at_ms, b.kind)));
    rejected.sort_by(|a, b| {
        (&a.source, a.line, &a.column, &a.code, &a.text)
            .cmp(&(&b.source, b.line, &b.column, &b.code, &b.text))
    });
    sources.sort_by(|a, b| a.path.cmp(&b.path));
}

fn listing(records: &[CookRecord]) -> Table {
    let text =
        |of: &dyn Fn(&CookRecord) -> Option<String>| Column::Text(records.iter().map(of).collect());
    Table::new()
        .with("cook", text(&|r| Some(r.card.cook.clone())))
        .with("season", text(&|r| Some(r.card.season.clone())))
        .with("fire", text(&|r| Some(r.card.fire.clone())))
        .with("meat_on", Column::Instant(records.iter().map(|r| r.card.marks.meat_on_ms).collect()))
        .with("log_start", Column::Instant(records.iter().map(|r| r.log_start_ms).collect()))
        .with("log_end", Column::Instant(records.iter().map(|r| r.log_end_ms).collect()))
}

#[cfg(test)]
mod tests;
