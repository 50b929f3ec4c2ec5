//! Cooks that share logs, read together: a log is read once, and what has not changed is
//! taken from the store.

use super::before::Before;
use super::by_hand;
use super::gone;
use super::meats::{exchange_meats, shared_meat};
use super::nights;
use super::partition::Group;
use super::siblings::{self, SiblingReading};
use super::unchanged::{ANSWERS, ELAPSED, WITH_SIBLINGS, keep, span_text, unchanged};
use super::zeros;
use super::{LOG_REFUSED, NEEDS_ANSWER, Refusal, Sheets, Subject};
use crate::error::StageError;
use cook::{Card, Event, Question, RejectedRow, Score, SourceRecord};
use crosscheck::Curve;
use ingest::{
    CardRow, EventsReading, FoundLog, IngestError, LogFile, LogPart, LogSpan, LogUse, Logged,
    ReadOptions, SheetHint, SheetReading, SiblingOrders, TimeBase,
};
use jiff::civil::Date;
use rows::Fingerprint;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::OnceLock;
use store::stamps::Stage;
use store::{CookRecord, ReadingsBatch, Store, StoreError};

/// What became of a group.
#[derive(Default)]
pub(super) struct GroupResult {
    pub(super) records: Vec<CookRecord>,
    pub(super) events: Vec<Event>,
    pub(super) scores: Vec<Score>,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) sources: Vec<SourceRecord>,
    pub(super) refusals: Vec<Refusal>,
    pub(super) questions: Vec<Question>,
    /// What was used without something that was stated and cannot be.
    pub(super) told: Vec<String>,
    pub(super) warnings: Vec<String>,
    pub(super) read: usize,
    pub(super) readings: usize,
    /// The curves of the cooks that were read, in short.
    pub(super) curves: BTreeMap<String, Curve>,
    /// Sheets of events and scores that are gone, and of which the store keeps what it has.
    pub(super) gone_sheets: Vec<(String, &'static str)>,
    /// Whether a log's order of day and month is all that kept it from being read.
    pub(super) asks_siblings: bool,
}

impl GroupResult {
    /// Takes what came of the sheets' rows.
    pub(super) fn take_sheets(&mut self, unresolved: &[RejectedRow], events: Vec<EventsReading>) {
        self.rejected.extend_from_slice(unresolved);
        for reading in events {
            self.events.extend(reading.events);
            self.rejected.extend(reading.rejected);
        }
    }
}

/// Everything that the groups share.
pub(super) struct Context<'a> {
    pub(super) store: &'a Store,
    pub(super) batch: &'a ReadingsBatch<'a>,
    /// Logs that were read before and are gone, or cannot be opened.
    pub(super) gone: BTreeSet<String>,
    /// Why the logs of a card were not found, of cooks that may keep their readings all the same.
    pub(super) not_found: HashMap<String, IngestError>,
    pub(super) sheets: &'a Sheets,
    pub(super) options: ReadOptions,
    pub(super) uses: HashMap<String, Vec<FoundLog>>,
    pub(super) before: &'a Before,
    pub(super) settings_hash: String,
    pub(super) whole: bool,
    /// Whether cooks whose logs are gone are given up.
    pub(super) prune: bool,
    /// Cells of the season sheets that state a meat-on and could not be read, by row.
    pub(super) unread_meat_on: HashMap<(&'a str, u64), &'a RejectedRow>,
    /// The first events sheet, from which what was read by hand is said to come.
    pub(super) events_sheet: &'a str,
    /// All logs, whether a cook has them or not.
    pub(super) files: &'a [LogFile],
    /// What they prove of the order of day and month; `None` until a log needs it.
    pub(super) orders: Option<SiblingOrders>,
    /// Hash of all logs, once it is asked for.
    pub(super) logs_hash: OnceLock<String>,
}

/// The column of the season sheet from which everything counts.
const MEAT_ON: &str = "meat_on";

/// The first cell of each row that states a meat-on and could not be read.
pub(super) fn unread_meat_on(cards: &SheetReading) -> HashMap<(&str, u64), &RejectedRow> {
    let mut unread = HashMap::new();
    for row in cards.rejected.iter().filter(|row| row.column.as_deref() == Some(MEAT_ON)) {
        unread.entry((row.source.as_str(), row.line)).or_insert(row);
    }
    unread
}

impl Context<'_> {
    /// What a group was computed from if its own parts give `own` and its siblings were asked.
    fn with_siblings(&self, own: &str) -> Result<String, IngestError> {
        let mut hash =
            Fingerprint::new("cooks that share logs, and all other logs", Stage::Ingest.number());
        hash.part(own.as_bytes());
        hash.part(self.all_logs()?.as_bytes());
        Ok(format!("{WITH_SIBLINGS}{}", hash.finish()))
    }

    /// The hash of all logs, made once.
    fn all_logs(&self) -> Result<&str, IngestError> {
        if let Some(hash) = self.logs_hash.get() {
            return Ok(hash);
        }
        let mut hash = Fingerprint::new("all logs", Stage::Ingest.number());
        for file in self.files {
            hash.part(file.shown_as.as_bytes());
            hash.part(file.content_hash()?.as_bytes());
        }
        Ok(self.logs_hash.get_or_init(|| hash.finish()))
    }
}

pub(super) fn refuse(result: &mut GroupResult, subject: Subject, error: &IngestError) {
    let place = error.place().cloned().unwrap_or_default();
    result.rejected.push(RejectedRow {
        source: place.path,
        line: place.line,
        byte: 0,
        column: place.column,
        code: if error.needs_answer() { NEEDS_ANSWER } else { LOG_REFUSED }.into(),
        text: place.text,
    });
    result.questions.extend(error.question().cloned());
    result.refusals.push(Refusal {
        subject,
        message: error.to_string(),
        waits_for: error.question().map(|question| question.id.clone()),
    });
}

/// What the sheet says of a log's cooks: it decides the order of day and month, or the day of
/// a clock, where the log leaves them open.
fn hint(cards: &[Card], log: &str, uses: &HashMap<String, Vec<FoundLog>>) -> SheetHint {
    let mut hint = SheetHint::default();
    for card in cards {
        let found = uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
        if found.iter().any(|found| found.file.shown_as == log) {
            hint.dates.extend(card.date.as_deref().and_then(|date| date.parse::<Date>().ok()));
            hint.meat_on_ms.extend(card.marks.meat_on_ms);
            hint.pull_ms.extend(card.marks.pull_ms);
        }
    }
    hint
}

pub(super) fn ingest_group(
    group: &Group,
    context: &Context<'_>,
) -> Result<GroupResult, StageError> {
    let mut failed: BTreeMap<&str, IngestError> = BTreeMap::new();
    let mut hash = Fingerprint::new("cooks that share logs", Stage::Ingest.number());
    hash.part(context.settings_hash.as_bytes());
    // What the sheets say, not where they say it: a row that moves reads no log again.
    hash.json(&group.cards.content());
    for events in &group.events {
        hash.json(&events.content());
    }
    for (name, file) in &group.logs {
        match file.content_hash() {
            Ok(content) => {
                hash.part(name.as_bytes());
                hash.part(content.as_bytes());
            }
            Err(error) => {
                failed.insert(name, error);
            }
        }
    }
    let own = hash.finish();
    let asked_siblings = |cook: &str| {
        context.before.record(cook).is_some_and(|old| old.computed_from.starts_with(WITH_SIBLINGS))
    };
    // A log that cannot be read to be hashed says so below, where it is read.
    let with_siblings = || context.with_siblings(&own).unwrap_or_else(|_| own.clone());
    let mut computed_from = own.clone();
    if group.cooks().any(asked_siblings) {
        computed_from = with_siblings();
    }
    if let Some(records) = unchanged(group, context, &computed_from) {
        return Ok(keep(group, context, &records));
    }

    let mut result = GroupResult::default();
    let (mut cards, mut events) = (group.cards.clone(), group.events.clone());
    computed_from.clone_from(&own);
    let mut logs = BTreeMap::new();
    let mut answers: BTreeMap<String, String> = BTreeMap::new();
    for (name, file) in &group.logs {
        if failed.contains_key(name.as_str()) {
            continue;
        }
        let options = ReadOptions {
            sheet: hint(&cards.cards, name, &context.uses),
            ..context.options.clone()
        };
        match siblings::read(file, &options, context.orders.as_ref()) {
            Ok(SiblingReading { log, by_siblings }) => {
                if by_siblings {
                    computed_from = with_siblings();
                }
                result.warnings.extend(log.warnings.iter().map(|w| format!("{name}: {w}")));
                result.rejected.extend(log.rejected.iter().cloned());
                answers.extend(log.answers.iter().cloned());
                logs.insert(name.as_str(), log);
            }
            Err(error) => {
                result.asks_siblings |= error.asks_siblings();
                result.questions.extend(siblings::further(file, &options, &error));
                failed.insert(name, error);
            }
        }
    }
    let picks = picks(&cards.cards, context, &logs, &mut answers);
    exchange_meats(&mut logs, &cards.cards, context, &mut answers, &mut result);
    let mut kept = BTreeMap::new();
    for card in &cards.cards {
        if let Some(readings) = gone::kept(card, context, &failed)? {
            kept.insert(card.cook.clone(), readings);
        }
    }
    let was_elapsed = |cook: &str| {
        let old = context.before.record(cook);
        kept.contains_key(cook) && old.is_some_and(|old| old.computed_from.ends_with(ELAPSED))
    };
    let elapsed: BTreeSet<String> = cards
        .cards
        .iter()
        .filter(|card| {
            context.uses.get(&card.cook).into_iter().flatten().any(|found| {
                logs.get(found.file.shown_as.as_str())
                    .is_some_and(|log| log.time == TimeBase::Elapsed)
            }) || was_elapsed(&card.cook)
        })
        .map(|card| card.cook.clone())
        .collect();
    let mut spans: BTreeMap<String, Logged> = BTreeMap::new();
    for (card, row) in cards.cards.iter().zip(&mut cards.rows) {
        let names = context.uses.get(&card.cook).into_iter().flatten();
        let own = names.filter_map(|found| {
            let name = &found.file.shown_as;
            let log = logs.get(name.as_str()).filter(|log| log.time == TimeBase::Absolute)?;
            LogSpan::of(name, log)
        });
        let span = own.map(|span| (span.first_ms, span.last_ms));
        let span = span.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
        if let Some((first_ms, last_ms)) = span.filter(|_| row.has_halves()) {
            let found = context.uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
            let uses = uses_of(&card.cook, found, &logs, &Parts::new(), &picks);
            let assembled = ingest::assemble(card, None, &uses).ok();
            let curve = assembled.and_then(|assembled| Curve::of_packed(&assembled.readings, card));
            let (meat_on_ms, pull_ms) =
                curve.map_or((None, None), |curve| (curve.meat_on_ms, curve.pull_ms));
            let logged = Logged { first_ms, last_ms, meat_on_ms, pull_ms };
            row.settle_halves(&context.sheets.zone, &logged);
            spans.insert(card.cook.clone(), logged);
        }
    }
    let mut anchors =
        ingest::resolve_marks(&mut cards, &mut events, &elapsed, &context.sheets.zone);
    for (cook, anchor) in &anchors {
        let told = if anchor.is_assumed { &mut result.told } else { &mut result.warnings };
        told.push(format!(
            "cook `{cook}`: its log counts from its own zero, taken as {} ({}); a `start` line in the log or layout `time.start` says otherwise",
            columns::iso_instant(anchor.zero_ms),
            anchor.because
        ));
    }
    let unresolved = std::mem::take(&mut cards.rejected);
    result.take_sheets(&unresolved, events);

    let no_logs = Vec::new();
    let found_by_cook: Vec<(&Card, &[FoundLog])> = cards
        .cards
        .iter()
        .map(|card| (card, context.uses.get(&card.cook).unwrap_or(&no_logs).as_slice()))
        .collect();
    let mut parts = ingest::share_out(&found_by_cook);
    nights::by_date(&mut parts, &cards.cards, &logs, &picks, context);
    zeros::before_meat_on(
        &mut anchors,
        &cards,
        &logs,
        (&parts, &picks),
        context,
        &mut answers,
        &mut result,
    );

    let events_sheet = context.events_sheet;
    // Nobody else reads its logs, which may be large.
    let is_only = cards.cards.len() == 1;
    let mut evidence: BTreeMap<String, Vec<cook::Evidence>> = BTreeMap::new();
    for (card, row) in cards.cards.into_iter().zip(&cards.rows) {
        let mut computed_from = computed_from.clone();
        computed_from.extend(spans.get(&card.cook).map(span_text));
        if !answers.is_empty() {
            let told: Vec<String> =
                answers.iter().map(|(id, answer)| format!("{id}={answer}")).collect();
            computed_from.push_str(ANSWERS);
            computed_from.push_str(&told.join(";"));
        }
        if elapsed.contains(&card.cook) {
            computed_from.push_str(ELAPSED);
        }
        let mut record = CookRecord { card, computed_from, log_start_ms: None, log_end_ms: None };
        let found = context.uses.get(&record.card.cook).map(Vec::as_slice).unwrap_or_default();
        if let Some(message) = unreadable_meat_on(row, context, &unresolved) {
            result.told.push(format!("cook `{}`: {message}", record.card.cook));
        }
        if let Some(readings) = kept.remove(&record.card.cook) {
            gone::keep(readings, record, found, &failed, context, &mut result)?;
            continue;
        }
        if found.is_empty() {
            if let Some(error) = context.not_found.get(&record.card.cook) {
                refuse(&mut result, Subject::Cook(record.card.cook.clone()), error);
            } else if let Some(readings) =
                by_hand::readings(&record.card, &result.events, events_sheet)
            {
                record.log_start_ms = readings.first_ms();
                record.log_end_ms = readings.last_ms();
                result.read += 1;
                result.readings += readings.len();
                make_room(&record.card, context);
                context.batch.write(&readings)?;
            }
            result.records.push(record);
            continue;
        }
        if let Some(error) = found.iter().find_map(|found| failed.get(found.file.shown_as.as_str()))
        {
            refuse(&mut result, Subject::Cook(record.card.cook.clone()), error);
            result.records.push(record);
            continue;
        }
        let log_uses = uses_of(&record.card.cook, found, &logs, &parts, &picks);
        match ingest::assemble(&record.card, anchors.get(&record.card.cook), &log_uses) {
            Ok(mut assembled) => {
                by_hand::add(&mut assembled.readings, &record.card, &result.events, events_sheet);
                record.log_start_ms = assembled.readings.first_ms();
                record.log_end_ms = assembled.readings.last_ms();
                result.read += 1;
                result.readings += assembled.readings.len();
                let curve = Curve::of_packed(&assembled.readings, &record.card);
                result.curves.extend(curve.map(|curve| (record.card.cook.clone(), curve)));
                result.rejected.extend(assembled.rejected);
                result.warnings.extend(assembled.warnings);
                for log in &log_uses {
                    let said = evidence.entry(log.shown_as.to_owned()).or_default();
                    said.extend(assembled.evidence.iter().cloned());
                }
                make_room(&record.card, context);
                if is_only {
                    logs.values_mut().for_each(ingest::Log::give_up_readings);
                }
                context.batch.write_packed(&assembled.readings)?;
            }
            Err(error) => {
                refuse(&mut result, Subject::Cook(record.card.cook.clone()), &error);
            }
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

/// The parts of logs by cook and log, as shown.
pub(super) type Parts = BTreeMap<(String, String), LogPart>;

/// What a cook reads of its logs.
pub(super) fn uses_of<'l>(
    cook: &str,
    found: &'l [FoundLog],
    logs: &'l BTreeMap<&'l str, ingest::Log>,
    parts: &Parts,
    picks: &'l Picks,
) -> Vec<LogUse<'l>> {
    let used = found.iter().filter_map(|found| {
        let (name, log) = logs.get_key_value(found.file.shown_as.as_str())?;
        let part = parts.get(&(cook.to_owned(), (*name).to_owned()));
        let channel = found.channel.as_deref();
        let pick = channel.and_then(|of| picks.get(&((*name).to_owned(), of.to_owned())));
        let answered = pick.map(String::as_str);
        let part = part.copied().unwrap_or_default();
        Some(LogUse { shown_as: name, log, channel, answered, part })
    });
    used.collect()
}

/// What a log calls a channel that the sheet calls otherwise, by log and the sheet's name, as it was answered.
pub(super) type Picks = BTreeMap<(String, String), String>;

/// The channels that sheets pick and their logs do not know, as far as it was answered which they are.
fn picks(
    cards: &[Card],
    context: &Context<'_>,
    logs: &BTreeMap<&str, ingest::Log>,
    answers: &mut BTreeMap<String, String>,
) -> Picks {
    let mut picks = Picks::new();
    for found in cards.iter().filter_map(|card| context.uses.get(&card.cook)).flatten() {
        let name = found.file.shown_as.as_str();
        let known = found.channel.as_deref().zip(logs.get(name));
        let asked = known.and_then(|(channel, log)| {
            Some((channel, ingest::which_channel(name, channel, &log.channels)?))
        });
        let Some((channel, question)) = asked else { continue };
        if let Some(answer) = context.options.answers.to(&question) {
            answers.insert(question.id.clone(), answer.to_owned());
            picks.insert((name.to_owned(), channel.to_owned()), answer.to_owned());
        }
    }
    picks
}

/// Where the sheet states a meat-on that cannot be read, the curve is used without it, which must be
/// told: what counts from meat-on is then not known.
pub(super) fn unreadable_meat_on(
    row: &CardRow,
    context: &Context<'_>,
    unresolved: &[RejectedRow],
) -> Option<String> {
    let here = |rejected: &&RejectedRow| {
        rejected.source == row.sheet
            && rejected.line == row.line
            && rejected.column.as_deref() == Some(MEAT_ON)
    };
    let unread = context.unread_meat_on.get(&(row.sheet.as_str(), row.line)).copied();
    let rejected = unread.or_else(|| unresolved.iter().find(here))?;
    Some(format!(
        "{}:{}, column `meat_on`: `{}` cannot be read ({}); the curve is used without it\n  try: a date and time such as 2025-06-01 22:00, or a clock time with the row's `date`",
        rejected.source, rejected.line, rejected.text, rejected.code
    ))
}

/// That no card would take the place of another cook of the same name. Looked at before
/// anything is written.
pub(super) fn check_clash(card: &Card, before: &Before) -> Result<(), StageError> {
    let Some(old) = before.record(&card.cook).map(|record| &record.card) else {
        return Ok(());
    };
    let shares_a_log = old.logs.iter().any(|log| card.logs.contains(log));
    if old.date == card.date || shares_a_log {
        return Ok(());
    }
    let dated = |card: &Card| {
        format!("{} on {}", card.season, card.date.as_deref().unwrap_or("an unknown date"))
    };
    Err(StoreError::Clash { cook: card.cook.clone(), there: dated(old), here: dated(card) }.into())
}

/// Takes away the readings of a cook that moved to another season.
fn make_room(card: &Card, context: &Context<'_>) {
    let old = context.before.record(&card.cook).map(|record| &record.card);
    if let Some(old) = old.filter(|old| context.whole && old.season != card.season) {
        context.batch.remove(&old.season, &old.cook);
    }
}
