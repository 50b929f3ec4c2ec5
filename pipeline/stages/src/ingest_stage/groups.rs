//! Cooks that share logs, read together: a log is read once, and what has not changed is
//! taken from the store.

use super::siblings::{self, SiblingReading};
use super::{LOG_REFUSED, NEEDS_ANSWER, Refusal, Sheets, Subject};
use crate::error::StageError;
use crate::stamps::Stage;
use cook::{Card, Event, RejectedRow, SourceRecord};
use ingest::{
    EventsReading, FoundLog, IngestError, LogFile, LogUse, ReadOptions, SheetHint, SiblingOrders,
    TimeBase,
};
use jiff::civil::Date;
use rows::Fingerprint;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use store::{CookRecord, ReadingsBatch, Store, StoreError};

/// What the store had before.
#[derive(Default)]
pub(super) struct Before {
    pub(super) records: Vec<CookRecord>,
    pub(super) events: Vec<Event>,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) sources: Vec<SourceRecord>,
}

impl Before {
    /// The four tables are written one after the other; after a crash between them, or where
    /// one is damaged or of an older version, the right reading of a half-made set is that
    /// nothing was there: all is read from the sheets and logs again.
    pub(super) fn read(store: &Store) -> Self {
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
pub(super) struct Group {
    pub(super) cooks: BTreeSet<String>,
    pub(super) logs: BTreeMap<String, LogFile>,
}

/// What became of a group.
#[derive(Default)]
pub(super) struct GroupResult {
    pub(super) records: Vec<CookRecord>,
    pub(super) events: Vec<Event>,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) sources: Vec<SourceRecord>,
    pub(super) refusals: Vec<Refusal>,
    pub(super) warnings: Vec<String>,
    pub(super) read: usize,
    pub(super) readings: usize,
    /// Whether a log's order of day and month is all that kept it from being read.
    pub(super) asks_date_order: bool,
}

/// Everything that the groups share.
pub(super) struct Context<'a> {
    pub(super) store: &'a Store,
    pub(super) batch: &'a ReadingsBatch<'a>,
    pub(super) sheets: &'a Sheets,
    pub(super) options: ReadOptions,
    pub(super) uses: HashMap<String, Vec<FoundLog>>,
    pub(super) before: &'a Before,
    pub(super) settings_hash: String,
    pub(super) prune: bool,
    /// All logs, whether a cook has them or not.
    pub(super) files: &'a [LogFile],
    /// What they prove of the order of day and month; `None` until a log needs it.
    pub(super) orders: Option<SiblingOrders>,
}

/// Opens the `computed_from` of cooks with a log that was read in its siblings' order: what
/// they were computed from is then all the logs there are.
const WITH_SIBLINGS: &str = "siblings:";

impl Context<'_> {
    /// What a group was computed from if its own parts give `own` and its siblings were asked.
    fn with_siblings(&self, own: &str) -> Result<String, IngestError> {
        let mut hash =
            Fingerprint::new("cooks that share logs, and all other logs", Stage::Ingest.number());
        hash.part(own.as_bytes());
        for file in self.files {
            hash.part(file.shown_as.as_bytes());
            hash.part(file.content_hash()?.as_bytes());
        }
        Ok(format!("{WITH_SIBLINGS}{}", hash.finish()))
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
    result.refusals.push(Refusal { subject, message: error.to_string() });
}

/// Joins cooks that share a log, in the sheet's order.
pub(super) fn group<'a>(
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

/// What the sheet says of a log's cooks: it decides the order of day and month, or the day of
/// a clock, where the log leaves them open.
fn hint(cards: &[Card], log: &str, uses: &HashMap<String, Vec<FoundLog>>) -> SheetHint {
    let mut hint = SheetHint::default();
    for card in cards {
        let found = uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
        if found.iter().any(|found| found.file.shown_as == log) {
            hint.dates.extend(card.date.as_deref().and_then(|date| date.parse::<Date>().ok()));
            hint.meat_on_ms.extend(card.marks.meat_on_ms);
        }
    }
    hint
}

pub(super) fn ingest_group(
    group: &Group,
    context: &Context<'_>,
) -> Result<GroupResult, StageError> {
    let mut result = GroupResult::default();
    let mut cards = context.sheets.cards.of(&group.cooks);
    let mut events: Vec<EventsReading> =
        context.sheets.events.iter().map(|reading| reading.of(&group.cooks)).collect();

    let mut failed: BTreeMap<&str, IngestError> = BTreeMap::new();
    let mut hash = Fingerprint::new("cooks that share logs", Stage::Ingest.number());
    hash.part(context.settings_hash.as_bytes());
    // With their lines in the sheets, which rejected rows cite.
    hash.part(format!("{cards:?} {events:?}").as_bytes());
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
    let asked_siblings = |cook: &String| {
        context.before.record(cook).is_some_and(|old| old.computed_from.starts_with(WITH_SIBLINGS))
    };
    // A log that cannot be read to be hashed says so below, where it is read.
    let with_siblings = || context.with_siblings(&own).unwrap_or_else(|_| own.clone());
    let mut computed_from = own.clone();
    if group.cooks.iter().any(asked_siblings) {
        computed_from = with_siblings();
    }
    let sheet_rows: BTreeSet<(String, u64)> = cards
        .rows
        .iter()
        .map(|row| (row.sheet.clone(), row.line))
        .chain(events.iter().flat_map(EventsReading::waiting_rows).map(|(s, l)| (s.to_owned(), l)))
        .collect();
    if let Some(kept) = unchanged(group, context, &computed_from, &sheet_rows) {
        return Ok(kept);
    }

    computed_from.clone_from(&own);
    let mut logs = BTreeMap::new();
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
                logs.insert(name.as_str(), log);
            }
            Err(error) => {
                result.asks_date_order |= error.asks_date_order();
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
            columns::iso_instant(anchor.zero_ms),
            anchor.because
        ));
    }
    result.rejected.append(&mut cards.rejected);
    for reading in events {
        result.events.extend(reading.events);
        result.rejected.extend(reading.rejected);
    }

    let no_logs = Vec::new();
    let found_by_cook: Vec<(&Card, &[FoundLog])> = cards
        .cards
        .iter()
        .map(|card| (card, context.uses.get(&card.cook).unwrap_or(&no_logs).as_slice()))
        .collect();
    let parts = ingest::share_out(&found_by_cook);

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
            let subject = Subject::Cook(record.card.cook.clone());
            result.refusals.push(Refusal { subject, message });
            result.records.push(record);
            continue;
        }
        if found.is_empty() {
            result.records.push(record);
            continue;
        }
        if let Some(error) = found.iter().find_map(|found| failed.get(found.file.shown_as.as_str()))
        {
            refuse(&mut result, Subject::Cook(record.card.cook.clone()), error);
            result.records.push(record);
            continue;
        }
        let log_uses: Vec<LogUse<'_>> = found
            .iter()
            .filter_map(|found| {
                let (name, log) = logs.get_key_value(found.file.shown_as.as_str())?;
                let part = parts.get(&(record.card.cook.clone(), (*name).to_owned()));
                Some(LogUse {
                    shown_as: name,
                    log,
                    channel: found.channel.as_deref(),
                    part: part.copied().unwrap_or_default(),
                })
            })
            .collect();
        match ingest::assemble(&record.card, anchors.get(&record.card.cook), &log_uses) {
            Ok(assembled) => {
                record.log_start_ms = assembled.readings.first_ms();
                record.log_end_ms = assembled.readings.last_ms();
                result.read += 1;
                result.readings += assembled.readings.len();
                result.rejected.extend(assembled.rejected);
                result.warnings.extend(assembled.warnings);
                for log in &log_uses {
                    let said = evidence.entry(log.shown_as.to_owned()).or_default();
                    said.extend(assembled.evidence.iter().cloned());
                }
                make_room(&record.card, context)?;
                context.batch.write(&assembled.readings)?;
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
fn make_room(card: &Card, context: &Context<'_>) -> Result<(), StageError> {
    let old = context.before.record(&card.cook).map(|record| &record.card);
    if let Some(old) = old.filter(|old| context.prune && old.season != card.season) {
        context.store.remove_readings(&old.season, &old.cook)?;
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
            let meant = picked.map(|picked| ingest::channels_called(&log.channels, picked));
            let meat = log.channels.iter().enumerate().filter(|(index, channel)| {
                channel.role == cook::Role::Meat
                    && meant.as_ref().is_none_or(|meant| meant.contains(index))
            });
            for (_, channel) in meat {
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
