//! Groups of cooks that were computed from the same before: the store's rows are kept.

use super::groups::{Context, GroupResult, unreadable_meat_on};
use super::partition::Group;
use cook::Answers;
use ingest::Logged;
use store::CookRecord;

/// Opens the `computed_from` of cooks with a log that was read in its siblings' order: what
/// they were computed from is then all the logs there are.
pub(super) const WITH_SIBLINGS: &str = "siblings:";
/// Closes the `computed_from` of cooks with a log that counts from its own zero: their marks
/// hang on that, and are resolved without the log where it has not changed.
pub(super) const ELAPSED: &str = ":elapsed";
/// Stands before the answers by which a cook's logs were read, in its `computed_from`: the cook
/// is read again where one of them is another now.
pub(super) const ANSWERS: &str = ":answers:";

/// Stands before the first and last instant of a cook's logs and the meat-on and pull that they show, ms UTC, in its
/// `computed_from`, where they settle clock times without am or pm: its readings may be a part of them.
pub(super) const SPAN: &str = ":span:";

/// The end of a `computed_from` that says what a cook's logs show of when it was.
pub(super) fn span_text(logged: &Logged) -> String {
    let Logged { first_ms, last_ms, meat_on_ms, pull_ms } = *logged;
    let seen = |ms: Option<i64>| ms.map_or_else(String::new, |ms| ms.to_string());
    format!("{SPAN}{first_ms}..{last_ms}..{}..{}", seen(meat_on_ms), seen(pull_ms))
}

/// What a cook's logs show of when it was; in a store that does not say, its readings.
fn span_of(record: &CookRecord) -> Option<Logged> {
    let said = || {
        let known = record.computed_from.strip_suffix(ELAPSED).unwrap_or(&record.computed_from);
        let (_, span) =
            known.split_once(ANSWERS).map_or(known, |(known, _)| known).split_once(SPAN)?;
        let mut parts = span.split("..").map(|part| part.parse::<i64>().ok());
        let (first_ms, last_ms) = (parts.next()??, parts.next()??);
        let (meat_on_ms, pull_ms) = (parts.next().flatten(), parts.next().flatten());
        Some(Logged { first_ms, last_ms, meat_on_ms, pull_ms })
    };
    said().or_else(|| {
        let (first_ms, last_ms) = record.log_start_ms.zip(record.log_end_ms)?;
        Some(Logged { first_ms, last_ms, meat_on_ms: None, pull_ms: None })
    })
}

/// What the store has of a group's cooks, where it was computed from the same.
pub(super) fn unchanged<'a>(
    group: &Group,
    context: &Context<'a>,
    computed_from: &str,
) -> Option<Vec<&'a CookRecord>> {
    let of = |cook| {
        let record = context.before.record(cook)?;
        let known = &record.computed_from;
        let known = known.strip_suffix(ELAPSED).unwrap_or(known);
        let (known, given) = known.split_once(ANSWERS).unwrap_or((known, ""));
        let known = known.split_once(SPAN).map_or(known, |(known, _)| known);
        let is_same = known == computed_from && are_given(given, &context.options.answers);
        let is_there =
            record.log_start_ms.is_some() && context.batch.has(&record.card.season, cook);
        (is_same && is_there && !context.before.is_half).then_some(record)
    };
    group.cooks().map(of).collect()
}

/// Whether all the answers by which a cook was read are what is answered now. What was left open is
/// read again, so that it is asked again.
fn are_given(known: &str, answers: &Answers) -> bool {
    known.split(';').filter(|pair| !pair.is_empty()).all(|pair| {
        pair.split_once('=').is_some_and(|(id, answer)| answers.get(id) == Some(answer))
    })
}

/// The result of a group that is not read again. What its rows say is resolved anew: it costs
/// next to nothing, and rejected cells are told with their places as they are now.
pub(super) fn keep(group: &Group, context: &Context<'_>, records: &[&CookRecord]) -> GroupResult {
    let mut result = GroupResult::default();
    let (mut cards, mut events) = (group.cards.clone(), group.events.clone());
    let elapsed = records
        .iter()
        .filter(|record| record.computed_from.ends_with(ELAPSED))
        .map(|record| record.card.cook.clone())
        .collect();
    for (row, record) in cards.rows.iter_mut().zip(records) {
        if let Some(logged) = span_of(record).filter(|_| !record.computed_from.ends_with(ELAPSED)) {
            row.settle_halves(&context.sheets.zone, &logged);
        }
    }
    ingest::resolve_marks(&mut cards, &mut events, &elapsed, &context.sheets.zone);
    for (card, row) in cards.cards.iter().zip(&cards.rows) {
        let message = unreadable_meat_on(row, context, &cards.rejected);
        result.told.extend(message.map(|message| format!("cook `{}`: {message}", card.cook)));
    }
    result.take_sheets(&cards.rejected, events);
    result.records = cards
        .cards
        .into_iter()
        .zip(records)
        .map(|(card, record)| CookRecord { card, ..(*record).clone() })
        .collect();
    for log in group.logs.keys() {
        result.rejected.extend(context.before.rejected_of(log).cloned());
        result.sources.extend(context.before.source(log).cloned());
    }
    result
}
