//! Logs that no card names, and cards that name no log.

use super::before::Before;
use super::groups::{GroupResult, refuse};
use super::nights;
use super::siblings;
use super::{Refusal, Sheets, Subject};
use cook::Card;
use ingest::{
    EventsReading, FoundLog, IngestError, LogFile, LogSpan, ReadOptions, SiblingOrders, TakenNames,
};
use rayon::prelude::*;
use std::collections::{BTreeSet, HashMap};

/// When a log's readings are, or why it cannot be read.
pub(super) type Span = Result<Option<LogSpan>, IngestError>;

/// Logs that no card names. Where the store keeps cooks of other sheets, a log that it holds
/// already is theirs, unless it was itself kept as a cook without a card.
pub(super) fn unnamed<'a>(
    files: &'a [LogFile],
    uses: &HashMap<String, Vec<FoundLog>>,
    before: &Before,
    sheets: &Sheets,
    whole: bool,
) -> Vec<&'a LogFile> {
    let named: BTreeSet<&str> =
        uses.values().flatten().map(|found| found.file.shown_as.as_str()).collect();
    let in_sheets: BTreeSet<&str> =
        sheets.cards.cards.iter().map(|card| card.cook.as_str()).collect();
    let others_stay = !whole
        && before.records.iter().any(|record| !in_sheets.contains(record.card.cook.as_str()));
    let is_anothers = |file: &LogFile| {
        others_stay
            && before.source(&file.shown_as).is_some()
            && before.with_only_log(&file.shown_as).next().is_none()
    };
    files
        .iter()
        .filter(|file| !named.contains(file.shown_as.as_str()) && !is_anothers(file))
        .collect()
}

/// The logs without those that are another one byte for byte: a copy is no second cook.
pub(super) fn without_copies<'a>(
    unnamed: Vec<&'a LogFile>,
    uses: &HashMap<String, Vec<FoundLog>>,
    result: &mut GroupResult,
) -> Vec<&'a LogFile> {
    // Files of an archive bear its hash. One that cannot be hashed is refused where it is read.
    let hash = |file: &LogFile| match file.archive() {
        Some(_) => None,
        None => file.content_hash().ok(),
    };
    let named = uses.values().flatten();
    let mut known: HashMap<String, String> =
        named.filter_map(|found| Some((hash(&found.file)?, found.file.shown_as.clone()))).collect();
    unnamed
        .into_iter()
        .filter(|file| {
            let Some(hash) = hash(file) else { return true };
            match known.get(&hash) {
                Some(first) if *first != file.shown_as => {
                    result.warnings.push(format!(
                        "{}: it is {first} byte for byte, and is read once",
                        file.shown_as
                    ));
                    false
                }
                _ => {
                    known.insert(hash, file.shown_as.clone());
                    true
                }
            }
        })
        .collect()
}

/// The spans of logs, in their order; `None` for a log that counts from its own zero or has
/// no reading.
pub(super) fn spans(
    unnamed: &[&LogFile],
    options: &ReadOptions,
    before: &Before,
    orders: Option<&SiblingOrders>,
) -> Vec<Span> {
    unnamed.par_iter().map(|file| span(file, options, before, orders)).collect()
}

/// Whether a log's order of day and month is all that keeps it from being read.
pub(super) fn ask_siblings(spans: &[Span]) -> bool {
    spans.iter().any(|span| span.as_ref().is_err_and(IngestError::asks_siblings))
}

/// Matches cards to logs by time, adds what fits to `uses`, and gives logs that no card
/// fits a card of their own. Returns the sheets with those cards.
///
/// A card without any log stays, for the statistics; a log that cannot be read, or counts
/// from its own zero, is refused.
pub(super) fn match_unnamed(
    sheets: &Sheets,
    unnamed: &[&LogFile],
    spans: Vec<Span>,
    options: &ReadOptions,
    uses: &mut HashMap<String, Vec<FoundLog>>,
    result: &mut GroupResult,
) -> Sheets {
    let mut sheets = sheets.clone();
    let mut logs = Vec::new();
    for (file, span) in unnamed.iter().zip(spans) {
        let subject = Subject::Log(file.shown_as.clone());
        match span {
            Ok(Some(span)) => logs.push(span),
            Ok(None) => result.refusals.push(Refusal {
                subject,
                message: format!(
                    "{}: it counts from its own zero, or has no reading, so that no time tells its cook\n  try: name it in the column `logs` of its cook's row",
                    file.shown_as
                ),
                waits_for: None,
            }),
            Err(error) => refuse(result, subject, &error),
        }
    }

    let matching =
        ingest::match_by_time(&sheets.cards, &sheets.events, &sheets.zone, &logs, &options.answers);
    let files: HashMap<&str, &LogFile> =
        unnamed.iter().map(|file| (file.shown_as.as_str(), *file)).collect();
    let found = |name: &String| {
        let file = files.get(name.as_str())?;
        Some(FoundLog { file: (*file).clone(), channel: None })
    };
    for evidence in &matching.evidence {
        let (what, cook, because) = (&evidence.what, &evidence.taken_as, &evidence.because);
        result.warnings.push(format!("{what}: taken as `{cook}`: {because}"));
    }
    for (cook, names) in matching.logs {
        uses.insert(cook, names.iter().filter_map(found).collect());
    }
    for (cook, error) in &matching.questions {
        refuse(result, Subject::Cook(cook.clone()), error);
    }

    let refused: BTreeSet<Subject> = result.refusals.iter().map(|r| r.subject.clone()).collect();
    for card in &sheets.cards.cards {
        let is_refused = refused.contains(&Subject::Cook(card.cook.clone()));
        if !uses.contains_key(&card.cook) && !is_refused {
            uses.insert(card.cook.clone(), Vec::new());
        }
    }
    let has_cards = !sheets.cards.cards.is_empty();
    let mut taken = TakenNames::new(sheets.cards.cards.iter().map(|card| card.cook.clone()));
    let spans: HashMap<&str, &LogSpan> =
        logs.iter().map(|log| (log.shown_as.as_str(), log)).collect();
    for name in &matching.left_over {
        let Some(log) = spans.get(name.as_str()) else { continue };
        let file = files.get(name.as_str()).copied();
        let parts = file.map(|file| nights::spans(log, file, options, &sheets.zone));
        let parts = parts.unwrap_or_default();
        let cards: Vec<Card> =
            parts.iter().map(|one| ingest::card_for_log(one, &sheets.zone, &mut taken)).collect();
        let names: Vec<String> = cards.iter().map(|card| format!("`{}`", card.cook)).collect();
        if let [one] = &names[..] {
            sheets.lone.insert(cards[0].cook.clone());
            result.warnings.extend(has_cards.then(|| {
                format!(
                    "{name}: no card fits this log; it is kept as the cook {one} without a card"
                )
            }));
        } else {
            result.warnings.push(format!(
                "{name}: cooks follow each other in it, and it is kept as {}, one each",
                names.join(", ")
            ));
        }
        for card in cards {
            uses.insert(card.cook.clone(), found(name).into_iter().collect());
            sheets.cards.add_without_row(card);
        }
    }
    sheets
}

/// The time of a cook as its card states it, ms UTC.
fn stated_time(card: &Card) -> Option<(i64, i64)> {
    let marks = &card.marks;
    marks.meat_on_ms.zip(marks.slice_ms.or(marks.pull_ms)).filter(|(on, off)| on < off)
}

/// Gives cards that name no log, and fit none that nobody names, the log of a cook before or after in
/// which all of their time lies: a logger that runs on for days holds several cooks, and each gets the
/// readings of its own time (see [`ingest::share_out`]). Tells of cards that stay without.
pub(super) fn in_others_logs(
    sheets: &Sheets,
    (options, before): (&ReadOptions, &Before),
    uses: &mut HashMap<String, Vec<FoundLog>>,
    result: &mut GroupResult,
) {
    let by_hand: BTreeSet<&str> =
        sheets.events.iter().flat_map(EventsReading::cooks_read_by_hand).collect();
    let cards = &sheets.cards.cards;
    let mut spans: HashMap<String, Option<LogSpan>> = HashMap::new();
    for card in cards.iter().filter(|card| card.logs.is_empty()) {
        let cook = card.cook.as_str();
        if uses.get(cook).is_none_or(|found| !found.is_empty()) || by_hand.contains(cook) {
            continue;
        }
        // Loggers are switched off when the meat comes off, before it is sliced.
        let off_ms = card.marks.pull_ms.or(card.marks.slice_ms);
        let found = stated_time(card).zip(off_ms).and_then(|(time, off)| {
            neighbours(cards, uses, time).into_iter().find_map(|(mate, found)| {
                let span = spans
                    .entry(found.file.shown_as.clone())
                    .or_insert_with(|| span(&found.file, options, before, None).ok().flatten());
                let on = time.0;
                span.as_ref()
                    .is_some_and(|span| span.first_ms <= on && off <= span.last_ms)
                    .then_some((mate, found))
            })
        });
        match found {
            Some((mate, found)) => {
                result.warnings.push(format!(
                    "cook `{cook}`: it names no log, and its time lies in {}, which `{mate}` names: its part of that is taken. Write the log into its row",
                    found.file.shown_as
                ));
                uses.insert(card.cook.clone(), vec![found]);
            }
            None => result
                .warnings
                .push(format!("cook `{cook}` has no log; its card is kept for the statistics")),
        }
    }
}

/// Logs of the cooks that were over last before a time and on first after it, each with its cook; none of
/// which another cook was on in that time.
fn neighbours(
    cards: &[Card],
    uses: &HashMap<String, Vec<FoundLog>>,
    (on, off): (i64, i64),
) -> Vec<(String, FoundLog)> {
    let others = || {
        cards.iter().filter_map(|card| {
            let found = uses.get(&card.cook).filter(|found| !found.is_empty())?;
            Some((stated_time(card)?, card, found))
        })
    };
    let before = others().filter(|((_, end), ..)| *end <= on).max_by_key(|((_, end), ..)| *end);
    let after = others().filter(|((from, _), ..)| *from >= off).min_by_key(|((from, _), ..)| *from);
    let is_free = |log: &FoundLog| {
        !others().any(|((from, end), _, found)| {
            from < off && on < end && found.iter().any(|of| of.file.shown_as == log.file.shown_as)
        })
    };
    let logs = before
        .into_iter()
        .chain(after)
        .flat_map(|(_, card, found)| found.iter().map(|found| (card.cook.clone(), found.clone())));
    logs.filter(|(_, found)| is_free(found)).collect()
}

/// The span of a log; of one that is in the store unchanged and a cook's only log, without
/// reading it again.
fn span(
    file: &LogFile,
    options: &ReadOptions,
    before: &Before,
    orders: Option<&SiblingOrders>,
) -> Span {
    if let Some(span) = known_span(file, before) {
        return Ok(Some(span));
    }
    Ok(LogSpan::of(&file.shown_as, &siblings::read(file, options, orders)?.log))
}

fn known_span(file: &LogFile, before: &Before) -> Option<LogSpan> {
    let source = before.source(&file.shown_as)?;
    if source.content_hash != file.content_hash().ok()? {
        return None;
    }
    let mut users = before.with_only_log(&file.shown_as);
    let (only, None) = (users.next()?, users.next()) else { return None };
    Some(LogSpan {
        shown_as: file.shown_as.clone(),
        first_ms: only.log_start_ms?,
        last_ms: only.log_end_ms?,
        has_meat: true,
    })
}
