//! A log of several nights, and rows of which each date names one.
//!
//! Where a meat-on is stated, [`ingest::share_out`] parts a log by that. A row that states only its date has the cook
//! whose meat went on that day, as the curve shows it.

use super::groups::{Context, Parts, Picks, uses_of};
use super::siblings;
use cook::Card;
use crosscheck::{CookInLog, Curve};
use ingest::{LogFile, LogPart, LogSpan, LogUse, ReadOptions};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Gives each card without a meat-on the part of its log that its date names, where exactly one cook of the log is of
/// that day.
pub(super) fn by_date(
    parts: &mut Parts,
    cards: &[Card],
    logs: &BTreeMap<&str, ingest::Log>,
    picks: &Picks,
    context: &Context<'_>,
) {
    // By log and channel: several rows read the same.
    let mut nights: HashMap<(String, Option<String>), Vec<CookInLog>> = HashMap::new();
    let undated_marks = |card: &&Card| card.marks.meat_on_ms.is_none() && card.date.is_some();
    for card in cards.iter().filter(undated_marks) {
        // The date of a log that no row names is that of its first reading.
        if context.sheets.is_lone(&card.cook) {
            continue;
        }
        let found = context.uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
        let [only] = found else { continue };
        let log = only.file.shown_as.as_str();
        let is_absolute = |log: &ingest::Log| log.time == ingest::TimeBase::Absolute;
        if !logs.get(log).is_some_and(is_absolute) {
            continue;
        }
        let key = (log.to_owned(), only.channel.clone());
        let cooks = nights.entry(key).or_insert_with(|| {
            cooks_of(card, &uses_of(&card.cook, found, logs, &Parts::new(), picks))
        });
        let date = card.date.as_deref().unwrap_or_default();
        let mut of_day = cooks.iter().filter(|one| day(one.on_ms, &context.sheets.zone) == date);
        if let (Some(one), None) = (of_day.next(), of_day.next()) {
            let part = LogPart { from_ms: one.from_ms, until_ms: one.until_ms };
            parts.insert((card.cook.clone(), log.to_owned()), part);
        }
    }
}

/// The cooks that follow each other in what a card reads of its logs.
fn cooks_of(card: &Card, uses: &[LogUse<'_>]) -> Vec<CookInLog> {
    let assembled = ingest::assemble(card, None, uses).ok();
    let curve = assembled.and_then(|assembled| Curve::of_packed(&assembled.readings, card));
    curve.map_or_else(Vec::new, |curve| crosscheck::cooks_in(&curve))
}

/// A log with fewer hours in it is of one cook, ms (18 h).
const ONE_COOK_MS: i64 = 64_800_000;

/// The span of each cook of a log that no row names, from its meat-on; the log's own where it has one cook, or two of
/// one day, which only a row can tell apart.
pub(super) fn spans(
    span: &LogSpan,
    file: &LogFile,
    options: &ReadOptions,
    zone: &TimeZone,
) -> Vec<LogSpan> {
    let whole = || vec![span.clone()];
    if span.last_ms - span.first_ms < ONE_COOK_MS {
        return whole();
    }
    let Ok(read) = siblings::read(file, options, None) else { return whole() };
    let log = LogUse {
        shown_as: &file.shown_as,
        log: &read.log,
        channel: None,
        answered: None,
        part: LogPart::default(),
    };
    let cooks = cooks_of(&Card::default(), &[log]);
    let days: BTreeSet<String> = cooks.iter().map(|one| day(one.on_ms, zone)).collect();
    if cooks.len() < 2 || days.len() < cooks.len() {
        return whole();
    }
    let of_cook = |one: &CookInLog| LogSpan {
        first_ms: one.on_ms,
        last_ms: one.until_ms.unwrap_or(span.last_ms),
        ..span.clone()
    };
    cooks.iter().map(of_cook).collect()
}

/// The local date of an instant.
fn day(at_ms: i64, zone: &TimeZone) -> String {
    let at = Timestamp::from_millisecond(at_ms).unwrap_or_default();
    zone.to_datetime(at).date().to_string()
}
