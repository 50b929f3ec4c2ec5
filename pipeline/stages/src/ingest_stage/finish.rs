//! What was read joined with what stays, and the tables written.

use super::before::Before;
use super::examine;
use super::groups::GroupResult;
use super::{
    EVENTS_SHEET, IngestRequest, IngestSummary, LOG_REFUSED, NEEDS_ANSWER, Refusal, SCORES_SHEET,
    SEASON_SHEET, Sheets, Subject, edited, is_whole_log, sort_scores,
};
use crate::error::StageError;
use crate::outside;
use cook::{Card, Event, Question, RejectedRow, SourceRecord};
use ingest::{CookSpan, FoundLog, LogFile};
use std::collections::{BTreeSet, HashMap};
use std::path::PathBuf;
use store::stamps::{Inputs, Stage, Stamps};
use store::{Column, CookRecord, Ingested, ReadingsBatch, Store, Table};

/// Joins what was read with what stays, and writes the tables.
pub(super) fn finish(
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
