//! Logs and sheets into the store; what has not changed is not read again.
//!
//! Cooks that share a log are taken together: a log is then read once, and memory is
//! bounded by the largest such group. Groups are worked on side by side.

use crate::error::StageError;
use crate::hash::{Fingerprint, sha256};
use crate::progress::Progress;
use cook::{Card, Event, RejectedRow, Season, SourceRecord};
use ingest::{
    CookSpan, EventsReading, FoundLog, IngestError, Layout, LogFile, LogUse, ReadOptions,
    SheetReading, TimeBase,
};
use jiff::tz::TimeZone;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::PathBuf;
use store::{Column, CookRecord, Store, StoreError, Table};

/// Longest name of a cook, encoded as a file name: file systems take 255 bytes with ending.
const LONGEST_NAME: usize = 200;
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
    /// Layout files, tried first.
    pub layouts: Vec<String>,
    /// The store's folder.
    pub store: PathBuf,
    /// Zone, and what to assume of logs that do not say.
    pub season: Season,
    /// Whether cooks that these sheets do not have leave the store.
    pub prune: bool,
}

/// A cook whose log could not be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The cook.
    pub cook: String,
    /// Where, why, and what to try.
    pub message: String,
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
    /// Cooks left without readings.
    pub refusals: Vec<Refusal>,
    /// Things to know although all went well.
    pub warnings: Vec<String>,
    /// Whether any file of the store changed.
    pub changed: bool,
    /// One row a cook: name, season, fire, first and last reading.
    pub table: Table,
}

/// Sheets, read and checked; nothing is written yet.
pub(crate) struct Sheets {
    pub(crate) zone: TimeZone,
    pub(crate) cards: SheetReading,
    pub(crate) events: Vec<EventsReading>,
}

/// Reads the sheets of a request.
pub(crate) fn read_sheets(request: &IngestRequest) -> Result<Sheets, StageError> {
    let zone = TimeZone::get(&request.season.time_zone).map_err(|e| StageError::Usage {
        message: format!(
            "`{}` is no IANA time zone ({e}); write one such as America/Chicago or UTC",
            request.season.time_zone
        ),
    })?;
    let mut cards = SheetReading::default();
    for name in &request.sheets {
        cards.append(ingest::read_season_sheet(&request.base.join(name), name, &zone)?)?;
    }
    let mut events = Vec::new();
    for name in &request.events {
        let path = request.base.join(name);
        events.push(ingest::read_events_sheet(&path, name, &zone, &cards.cards)?);
    }
    Ok(Sheets { zone, cards, events })
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

/// What the store had before.
#[derive(Default)]
struct Before {
    records: Vec<CookRecord>,
    events: Vec<Event>,
    rejected: Vec<RejectedRow>,
    sources: Vec<SourceRecord>,
}

impl Before {
    /// The four tables are written one after the other; after a crash between them, or where
    /// one is damaged or of an older version, the right reading of a half-made set is that
    /// nothing was there: all is read from the sheets and logs again.
    fn read(store: &Store) -> Self {
        let read = || -> Result<Self, StoreError> {
            Ok(Self {
                records: store.read_cooks()?,
                events: store.read_events()?,
                rejected: store.read_rejected()?,
                sources: store.read_sources()?,
            })
        };
        read().unwrap_or_default()
    }

    fn record(&self, cook: &str) -> Option<&CookRecord> {
        self.records.iter().find(|record| record.card.cook == cook)
    }
}

/// Cooks that share logs.
#[derive(Default)]
struct Group {
    cooks: BTreeSet<String>,
    logs: BTreeMap<String, LogFile>,
}

/// What became of a group.
#[derive(Default)]
struct GroupResult {
    records: Vec<CookRecord>,
    events: Vec<Event>,
    rejected: Vec<RejectedRow>,
    sources: Vec<SourceRecord>,
    refusals: Vec<Refusal>,
    warnings: Vec<String>,
    read: usize,
    readings: usize,
}

/// Everything that the groups share.
struct Context<'a> {
    store: &'a Store,
    sheets: &'a Sheets,
    options: ReadOptions,
    uses: HashMap<String, Vec<FoundLog>>,
    before: &'a Before,
    settings_hash: String,
    prune: bool,
}

pub(crate) fn ingest_sheets(
    request: &IngestRequest,
    sheets: &Sheets,
    progress: &dyn Progress,
) -> Result<IngestSummary, StageError> {
    let layouts = read_layouts(request)?;
    let files = ingest::list_logs(&request.logs, &request.base)?;
    let store = Store::create(&request.store)?;
    let _lock = store.lock()?;
    let before = Before::read(&store);

    let mut refused = GroupResult::default();
    let mut uses: HashMap<String, Vec<FoundLog>> = HashMap::new();
    for (card, row) in sheets.cards.cards.iter().zip(&sheets.cards.rows) {
        if store::encode_name(&card.cook).len() > LONGEST_NAME {
            refused.refusals.push(Refusal {
                cook: card.cook.chars().take(40).collect::<String>() + "…",
                message: format!(
                    "{}:{}, column `cook`: the name is too long for a file\n  try: at most {LONGEST_NAME} plain letters",
                    row.sheet, row.line
                ),
            });
            continue;
        }
        match ingest::find_logs(card, row, &files) {
            Ok(found) => {
                uses.insert(card.cook.clone(), found);
            }
            Err(error) => refuse(&mut refused, &card.cook, &error),
        }
    }
    // A cook whose logs were not found is refused already.
    let with_logs = sheets.cards.cards.iter().filter(|card| uses.contains_key(&card.cook));
    let groups = group(with_logs, &uses);
    let mut hash = Fingerprint::new("settings of ingest");
    hash.json(&request.season.time_zone);
    hash.json(&request.season.log);
    hash.json(&layouts);
    let context = Context {
        store: &store,
        options: ReadOptions {
            zone: sheets.zone.clone(),
            unit: request.season.log.unit,
            roles: request.season.log.roles.clone(),
            layouts,
        },
        sheets,
        uses,
        before: &before,
        settings_hash: hash.finish(),
        prune: request.prune,
    };
    progress.begin("ingest", sheets.cards.cards.len() as u64);
    let results: Vec<Result<GroupResult, StageError>> = groups
        .par_iter()
        .map(|group| {
            let result = ingest_group(group, &context);
            group.cooks.iter().for_each(|cook| progress.step(cook));
            result
        })
        .collect();
    progress.end();

    let mut all = refused;
    for result in results {
        let result = result?;
        all.records.extend(result.records);
        all.events.extend(result.events);
        all.rejected.extend(result.rejected);
        all.sources.extend(result.sources);
        all.refusals.extend(result.refusals);
        all.warnings.extend(result.warnings);
        all.read += result.read;
        all.readings += result.readings;
    }
    all.rejected.extend(sheets.cards.rejected.iter().cloned());
    all.rejected.extend(sheets.events.iter().flat_map(|e| e.rejected.iter().cloned()));
    let named: BTreeSet<&str> =
        groups.iter().flat_map(|group| group.logs.keys().map(String::as_str)).collect();
    for file in files.iter().filter(|file| !named.contains(file.shown_as.as_str())) {
        all.warnings.push(format!("{}: no row of a season sheet names this log", file.shown_as));
    }
    finish(request, &store, sheets, &before, all)
}

fn read_layouts(request: &IngestRequest) -> Result<Vec<Layout>, StageError> {
    Ok(request
        .layouts
        .iter()
        .map(|name| Layout::read(&request.base.join(name)))
        .collect::<Result<_, _>>()?)
}

fn refuse(result: &mut GroupResult, cook: &str, error: &IngestError) {
    let place = error.place().cloned().unwrap_or_default();
    result.rejected.push(RejectedRow {
        source: place.path,
        line: place.line,
        byte: 0,
        column: place.column,
        code: if error.needs_answer() { NEEDS_ANSWER } else { LOG_REFUSED }.into(),
        text: place.text,
    });
    result.refusals.push(Refusal { cook: cook.to_owned(), message: error.to_string() });
}

/// Joins cooks that share a log, in the sheet's order.
fn group<'a>(
    cards: impl Iterator<Item = &'a Card>,
    uses: &HashMap<String, Vec<FoundLog>>,
) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for card in cards {
        let mut joined = Group::default();
        joined.cooks.insert(card.cook.clone());
        for found in uses.get(&card.cook).into_iter().flatten() {
            joined.logs.insert(found.file.shown_as.clone(), found.file.clone());
        }
        let (shares, rest): (Vec<Group>, Vec<Group>) = groups
            .into_iter()
            .partition(|group| group.logs.keys().any(|log| joined.logs.contains_key(log)));
        groups = rest;
        for other in shares {
            joined.cooks.extend(other.cooks);
            joined.logs.extend(other.logs);
        }
        groups.push(joined);
    }
    groups
}

fn ingest_group(group: &Group, context: &Context<'_>) -> Result<GroupResult, StageError> {
    let mut result = GroupResult::default();
    let mut cards = context.sheets.cards.of(&group.cooks);
    let mut events: Vec<EventsReading> =
        context.sheets.events.iter().map(|reading| reading.of(&group.cooks)).collect();

    let mut contents: BTreeMap<&str, Vec<u8>> = BTreeMap::new();
    let mut failed: BTreeMap<&str, IngestError> = BTreeMap::new();
    let mut hash = Fingerprint::new("cooks that share logs");
    hash.part(context.settings_hash.as_bytes());
    // With their lines in the sheets, which rejected rows cite.
    hash.part(format!("{cards:?} {events:?}").as_bytes());
    for (name, file) in &group.logs {
        match std::fs::read(&file.path) {
            Ok(bytes) => {
                hash.part(name.as_bytes());
                hash.part(sha256(&bytes).as_bytes());
                contents.insert(name, bytes);
            }
            // Let the reader say it in its own words.
            Err(_) => {
                if let Err(error) = ingest::read_log(&file.path, name, &context.options) {
                    failed.insert(name, error);
                }
            }
        }
    }
    let computed_from = hash.finish();
    let sheet_rows: BTreeSet<(String, u64)> = cards
        .rows
        .iter()
        .map(|row| (row.sheet.clone(), row.line))
        .chain(events.iter().flat_map(EventsReading::waiting_rows).map(|(s, l)| (s.to_owned(), l)))
        .collect();
    if let Some(kept) = unchanged(group, context, &computed_from, &sheet_rows) {
        return Ok(kept);
    }

    let mut logs = BTreeMap::new();
    for (name, bytes) in contents {
        match ingest::read_log_bytes(&bytes, name, &context.options) {
            Ok(log) => {
                result.warnings.extend(log.warnings.iter().map(|w| format!("{name}: {w}")));
                result.rejected.extend(log.rejected.iter().cloned());
                logs.insert(name, log);
            }
            Err(error) => {
                failed.insert(name, error);
            }
        }
    }
    let elapsed: BTreeSet<String> = cards
        .cards
        .iter()
        .filter(|card| {
            context.uses.get(&card.cook).into_iter().flatten().any(|found| {
                logs.get(found.file.shown_as.as_str())
                    .is_some_and(|log| log.time == TimeBase::Elapsed)
            })
        })
        .map(|card| card.cook.clone())
        .collect();
    let anchors = ingest::resolve_marks(&mut cards, &mut events, &elapsed, &context.sheets.zone);
    for (cook, anchor) in &anchors {
        result.warnings.push(format!(
            "cook `{cook}`: its log counts from its own zero, taken as {} ({}); a `start` line in the log or layout `time.start` says otherwise",
            crate::export::iso_instant(anchor.zero_ms),
            anchor.because
        ));
    }
    result.rejected.append(&mut cards.rejected);
    for reading in events {
        result.events.extend(reading.events);
        result.rejected.extend(reading.rejected);
    }

    let mut evidence: BTreeMap<String, Vec<cook::Evidence>> = BTreeMap::new();
    for card in cards.cards {
        let mut record = CookRecord {
            card,
            computed_from: computed_from.clone(),
            log_start_ms: None,
            log_end_ms: None,
        };
        let found = context.uses.get(&record.card.cook).map(Vec::as_slice).unwrap_or_default();
        if let Some(message) = unreadable_meat_on(&record.card.cook, context, &result.rejected) {
            result.refusals.push(Refusal { cook: record.card.cook.clone(), message });
            result.records.push(record);
            continue;
        }
        if let Some(error) = found.iter().find_map(|found| failed.get(found.file.shown_as.as_str()))
        {
            refuse(&mut result, &record.card.cook, error);
            result.records.push(record);
            continue;
        }
        let log_uses: Vec<LogUse<'_>> = found
            .iter()
            .filter_map(|found| {
                let (name, log) = logs.get_key_value(found.file.shown_as.as_str())?;
                Some(LogUse { shown_as: name, log, channel: found.channel.as_deref() })
            })
            .collect();
        match ingest::assemble(&record.card, anchors.get(&record.card.cook), &log_uses) {
            Ok(assembled) => {
                record.log_start_ms = assembled.readings.first_ms();
                record.log_end_ms = assembled.readings.last_ms();
                result.read += 1;
                result.readings += assembled.readings.len();
                result.rejected.extend(assembled.rejected);
                for log in &log_uses {
                    let said = evidence.entry(log.shown_as.to_owned()).or_default();
                    said.extend(assembled.evidence.iter().cloned());
                }
                make_room(&record.card, context)?;
                context.store.write_readings(&assembled.readings)?;
            }
            Err(error) => refuse(&mut result, &record.card.cook, &error),
        }
        result.records.push(record);
    }
    result.warnings.extend(shared_meat(&result.records, context, &logs));
    for (name, log) in logs {
        let mut source = log.record;
        source.evidence.extend(evidence.remove(name).unwrap_or_default());
        result.sources.push(source);
    }
    Ok(result)
}

/// Where the sheet states a meat-on that cannot be read, everything that counts from it would
/// be wrong: the cook waits until it is corrected.
fn unreadable_meat_on(
    cook: &str,
    context: &Context<'_>,
    resolved: &[RejectedRow],
) -> Option<String> {
    let sheet = &context.sheets.cards;
    let at = sheet.cards.iter().position(|card| card.cook == cook)?;
    let row = &sheet.rows[at];
    let rejected = sheet.rejected.iter().chain(resolved).find(|rejected| {
        rejected.source == row.sheet
            && rejected.line == row.line
            && rejected.column.as_deref() == Some("meat_on")
    })?;
    Some(format!(
        "{}:{}, column `meat_on`: `{}` cannot be read ({})\n  try: a date and time such as 2025-06-01 22:00, or a clock time with the row's `date`",
        rejected.source, rejected.line, rejected.text, rejected.code
    ))
}

/// A cook that moved to another season leaves its old place, where the sheets are the whole
/// truth. Where they add to a store, another cook of the same name is a clash: one of
/// another date, none of whose logs this one names.
fn make_room(card: &Card, context: &Context<'_>) -> Result<(), StageError> {
    let Some(old) = context.before.record(&card.cook).map(|record| &record.card) else {
        return Ok(());
    };
    if context.prune {
        if old.season != card.season {
            context.store.remove_readings(&old.season, &old.cook)?;
        }
        return Ok(());
    }
    let shares_a_log = old.logs.iter().any(|log| card.logs.contains(log));
    if old.date != card.date && !shares_a_log {
        let dated = |card: &Card| {
            format!("{} on {}", card.season, card.date.as_deref().unwrap_or("an unknown date"))
        };
        return Err(StoreError::Clash {
            cook: card.cook.clone(),
            there: dated(old),
            here: dated(card),
        }
        .into());
    }
    Ok(())
}

/// Cooks of one day that read the same meat channel of the same log: one cook counted twice,
/// or a channel that was not picked.
fn shared_meat(
    records: &[CookRecord],
    context: &Context<'_>,
    logs: &BTreeMap<&str, ingest::Log>,
) -> Vec<String> {
    let mut users: BTreeMap<(&str, &str, Option<&str>), Vec<&str>> = BTreeMap::new();
    for record in records.iter().filter(|record| record.log_start_ms.is_some()) {
        for found in context.uses.get(&record.card.cook).into_iter().flatten() {
            let Some((name, log)) = logs.get_key_value(found.file.shown_as.as_str()) else {
                continue;
            };
            let picked = found.channel.as_deref();
            let meat = log.channels.iter().filter(|channel| {
                channel.role == cook::Role::Meat
                    && picked.is_none_or(|picked| channel.name.eq_ignore_ascii_case(picked))
            });
            for channel in meat {
                let key = (*name, channel.name.as_str(), record.card.date.as_deref());
                users.entry(key).or_default().push(&record.card.cook);
            }
        }
    }
    users
        .into_iter()
        .filter(|(_, cooks)| cooks.len() > 1)
        .map(|((log, channel, _), cooks)| {
            format!(
                "{log}: the cooks {} all read the meat channel `{channel}`; pick one for each with `{log}#Channel`",
                cooks.join(", ")
            )
        })
        .collect()
}

/// What the store has of a group, where it was computed from the same.
fn unchanged(
    group: &Group,
    context: &Context<'_>,
    computed_from: &str,
    sheet_rows: &BTreeSet<(String, u64)>,
) -> Option<GroupResult> {
    let records: Vec<CookRecord> = group
        .cooks
        .iter()
        .map(|cook| {
            let record = context.before.record(cook)?;
            let readings = context.store.readings_path(&record.card.season, cook);
            (record.computed_from == computed_from
                && record.log_start_ms.is_some()
                && readings.is_file())
            .then(|| record.clone())
        })
        .collect::<Option<_>>()?;
    let of_logs = |source: &str| group.logs.contains_key(source);
    Some(GroupResult {
        records,
        events: context
            .before
            .events
            .iter()
            .filter(|event| group.cooks.contains(&event.cook))
            .cloned()
            .collect(),
        rejected: context
            .before
            .rejected
            .iter()
            .filter(|row| {
                of_logs(&row.source) || sheet_rows.contains(&(row.source.clone(), row.line))
            })
            .cloned()
            .collect(),
        sources: context.before.sources.iter().filter(|s| of_logs(&s.path)).cloned().collect(),
        ..GroupResult::default()
    })
}

/// Joins what was read with what stays, and writes the tables.
fn finish(
    request: &IngestRequest,
    store: &Store,
    sheets: &Sheets,
    before: &Before,
    mut all: GroupResult,
) -> Result<IngestSummary, StageError> {
    let in_sheets: HashMap<&str, &Card> =
        sheets.cards.cards.iter().map(|card| (card.cook.as_str(), card)).collect();
    // A cook whose log was not found has a card all the same.
    let recorded: BTreeSet<String> =
        all.records.iter().map(|record| record.card.cook.clone()).collect();
    for card in sheets.cards.cards.iter().filter(|card| !recorded.contains(&card.cook)) {
        all.records.push(CookRecord { card: card.clone(), ..CookRecord::default() });
    }
    for old in before.records.iter().filter(|r| !in_sheets.contains_key(r.card.cook.as_str())) {
        if request.prune {
            store.remove_readings(&old.card.season, &old.card.cook)?;
        } else {
            all.records.push(old.clone());
            all.events.extend(before.events.iter().filter(|e| e.cook == old.card.cook).cloned());
        }
    }
    for old in &before.records {
        // A cook that moved to another season, or lost its log, leaves nothing behind.
        let now = all.records.iter().find(|record| record.card.cook == old.card.cook);
        if now.is_some_and(|now| now.card.season != old.card.season || now.log_start_ms.is_none()) {
            store.remove_readings(&old.card.season, &old.card.cook)?;
        }
    }
    if !request.prune {
        let read: BTreeSet<&str> = request
            .sheets
            .iter()
            .chain(&request.events)
            .map(String::as_str)
            .chain(all.sources.iter().map(|source| source.path.as_str()))
            .collect();
        let kept: Vec<RejectedRow> = before
            .rejected
            .iter()
            .filter(|row| {
                !read.contains(row.source.as_str())
                    && row.code != LOG_REFUSED
                    && row.code != NEEDS_ANSWER
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

    all.records.sort_by(|a, b| {
        (&a.card.season, a.card.marks.meat_on_ms, &a.card.cook).cmp(&(
            &b.card.season,
            b.card.marks.meat_on_ms,
            &b.card.cook,
        ))
    });
    all.events.sort_by(|a, b| (&a.cook, a.at_ms, a.kind).cmp(&(&b.cook, b.at_ms, b.kind)));
    all.rejected.sort_by(|a, b| {
        (&a.source, a.line, &a.column, &a.code, &a.text)
            .cmp(&(&b.source, b.line, &b.column, &b.code, &b.text))
    });
    all.rejected.dedup();
    all.sources.sort_by(|a, b| a.path.cmp(&b.path));
    all.refusals.sort_by(|a, b| a.cook.cmp(&b.cook));
    all.warnings.sort();
    all.warnings.dedup();

    let mut changed = all.read > 0;
    changed |= store.write_events(&all.events)?;
    changed |= store.write_rejected(&all.rejected)?;
    changed |= store.write_sources(&all.sources)?;
    changed |= store.write_cooks(&all.records)?;
    Ok(IngestSummary {
        cooks: all.records.len(),
        read: all.read,
        readings: all.readings,
        rejected: all.rejected.into_iter().filter(|r| !is_whole_log(r)).collect(),
        refusals: all.refusals,
        warnings: all.warnings,
        changed,
        table: listing(&all.records),
    })
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
