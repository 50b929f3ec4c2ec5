//! Phases of every cook of a store; a cook whose input is the same keeps its rows.

use crate::cleaning_rows::{self, cleaning_of, cleaning_unsegmented};
use crate::error::StageError;
use crate::hash::Fingerprint;
use crate::progress::Progress;
use crate::segmenting::{OwnReferences, events_by_cook, options_for, segment_record};
use crate::stamps::{PHASES_FROM, Stamps, tables_hash};
use columns::iso_instant;
use cook::{Event, PhaseKind, PhaseSpan, Season};
use phases::{BorrowedReference, PhasesError, SegmentedCook, segment_cook};
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};
use std::path::Path;
use store::{CookCleaning, CookPhases, CookRecord, PhaseRow, Store, Table, TableName};

/// What a stage over the cooks of a store did.
#[derive(Debug, Clone)]
pub struct TableSummary {
    /// The listing.
    pub table: Table,
    /// Cooks worked on in this run.
    pub computed: usize,
    /// Cooks in the listing.
    pub cooks: usize,
    /// Whether any file changed.
    pub changed: bool,
    /// Things to know.
    pub notes: Vec<String>,
}

impl TableSummary {
    pub(crate) fn line(&self, stage: &str) -> String {
        if self.computed == 0 {
            format!("{stage}: up to date")
        } else {
            format!("{stage}: {} of {} cooks", self.computed, self.cooks)
        }
    }
}

/// Segments every cook of a store.
///
/// # Errors
/// No store, or one without cooks. A cook that cannot be segmented is `unknown`, with the
/// reason.
pub fn phases(
    store: &Path,
    season: &Season,
    progress: &dyn Progress,
) -> Result<TableSummary, StageError> {
    let store = Store::open(store)?;
    let _lock = store.lock()?;
    phases_of_store(&store, season, progress)
}

/// A cook's problem in words, with instants that people can read.
fn in_words(error: &PhasesError) -> String {
    match error {
        PhasesError::OutsideLog { meat_on_ms, pull_ms, log_start_ms, log_end_ms } => {
            let at = |ms: &i64| iso_instant(*ms);
            format!(
                "the cook runs from {} to {}, its log from {} to {}: check the card's date and times, and the season's time zone",
                at(meat_on_ms),
                at(pull_ms),
                at(log_start_ms),
                at(log_end_ms)
            )
        }
        PhasesError::PullBeforeMeatOn { meat_on_ms, pull_ms } => format!(
            "the pull ({}) is not after meat-on ({}): correct the card's times",
            iso_instant(*pull_ms),
            iso_instant(*meat_on_ms)
        ),
        error => error.to_string(),
    }
}

/// The columns that a listing shows; the store has more.
const LISTED: [&str; 9] = [
    "cook",
    "phase",
    "start_s",
    "end_s",
    "start_at",
    "end_at",
    "start_core_c",
    "end_core_c",
    "complete",
];

/// What the store keeps of one segmented cook.
#[derive(Clone)]
struct Segmented {
    phases: CookPhases,
    cleaning: CookCleaning,
}

/// What the last run found of each cook. What cannot be read is made anew like what is missing.
fn last_run(store: &Store) -> HashMap<String, Segmented> {
    let mut cleaning: HashMap<String, CookCleaning> = store
        .read_cleaning()
        .unwrap_or_default()
        .into_iter()
        .map(|cook| (cook.cook.clone(), cook))
        .collect();
    store
        .read_phases()
        .unwrap_or_default()
        .into_iter()
        .filter_map(|phases| {
            let cleaning = cleaning.remove(&phases.cook)?;
            let both = phases.computed_from == cleaning.computed_from;
            both.then(|| (phases.cook.clone(), Segmented { phases, cleaning }))
        })
        .collect()
}

/// A cook after the first pass.
enum FirstPass {
    /// The rows of the last run hold.
    Kept(Box<Segmented>),
    /// It has a reference of its own (or cannot be segmented at all).
    Own,
    /// It needs a reference from others.
    Needs,
}

pub(crate) fn phases_of_store(
    store: &Store,
    season: &Season,
    progress: &dyn Progress,
) -> Result<TableSummary, StageError> {
    let records = store.read_cooks()?;
    let events = events_by_cook(store.read_events()?);
    let before = last_run(store);
    let with_readings: Vec<&CookRecord> =
        records.iter().filter(|record| record.log_start_ms.is_some()).collect();
    let events_of = |record: &CookRecord| -> &[Event] {
        events.get(&record.card.cook).map_or(&[], Vec::as_slice)
    };
    let hash_of = |record: &CookRecord, borrowed: Option<&BorrowedReference>| {
        cook_hash(record, events_of(record), season, borrowed)
    };

    progress.begin("phases", with_readings.len() as u64);
    // First pass: which cooks have a reference of their own, and what is it?
    let first: Vec<(FirstPass, Option<f64>)> = with_readings
        .par_iter()
        .map(|record| {
            if let Some(old) = before.get(&record.card.cook)
                && old.phases.k_ref_per_h.is_some()
                && !old.phases.k_ref_borrowed
                && old.phases.computed_from == hash_of(record, None)
            {
                return Ok((FirstPass::Kept(Box::new(old.clone())), old.phases.k_ref_per_h));
            }
            let segmented = segment_record(store, record, events_of(record), season, 0, None)?;
            Ok(match segmented {
                Err(_) => (FirstPass::Own, None),
                Ok(found) => match found.segmentation.judgement.reference {
                    Some(reference) => (FirstPass::Own, Some(reference.k_per_h)),
                    None => (FirstPass::Needs, None),
                },
            })
        })
        .collect::<Result<_, StageError>>()?;
    let mut references = OwnReferences::default();
    for (record, (_, k_ref)) in with_readings.iter().zip(&first) {
        if let Some(k_ref) = k_ref {
            references.add(&record.card, *k_ref);
        }
    }

    // Second pass: phases with intervals, where they do not hold already.
    let second: Vec<(Segmented, bool)> = with_readings
        .par_iter()
        .zip(first)
        .map(|(record, (first, _))| {
            let borrowed = match first {
                FirstPass::Kept(kept) => {
                    progress.step(&record.card.cook);
                    return Ok((*kept, false));
                }
                FirstPass::Own => None,
                FirstPass::Needs => references.borrowed_for(&record.card),
            };
            let hash = hash_of(record, borrowed.as_ref());
            let old = before.get(&record.card.cook);
            if let Some(old) = old.filter(|old| old.phases.computed_from == hash) {
                progress.step(&record.card.cook);
                return Ok((old.clone(), false));
            }
            let draws = season.study.interval_draws;
            let found =
                segmented_anew(store, record, events_of(record), (season, draws), borrowed, hash)?;
            progress.step(&record.card.cook);
            Ok((found, true))
        })
        .collect::<Result<_, StageError>>()?;
    progress.end();

    let computed = second.iter().filter(|(_, computed)| *computed).count();
    let (all, cleaning): (Vec<CookPhases>, Vec<CookCleaning>) =
        second.into_iter().map(|(cook, _)| (cook.phases, cook.cleaning)).unzip();
    let changed = store.write_phases(&all)? | store.write_cleaning(&cleaning)?;
    let tables = tables_hash(store, &PHASES_FROM);
    let outputs = [TableName::Phases, TableName::Flags, TableName::Channels, TableName::Warnings];
    let outputs = outputs.into_iter().map(|name| store.table_path(name)).collect();
    let mut notes = notes(&all);
    notes.extend(cleaning_rows::notes(&cleaning));
    Stamps::read(store).set("phases", String::new(), tables, outputs)?;
    Ok(TableSummary {
        table: store.read_table(TableName::Phases)?.select(&LISTED),
        computed,
        cooks: all.len(),
        changed,
        notes,
    })
}

fn segmented_anew(
    store: &Store,
    record: &CookRecord,
    events: &[Event],
    (season, draws): (&Season, u32),
    borrowed: Option<BorrowedReference>,
    hash: String,
) -> Result<Segmented, StageError> {
    let card = &record.card;
    let readings = store.read_readings(&card.season, &card.cook)?;
    let options = options_for(card, season, draws, borrowed);
    Ok(match segment_cook(&readings, card, events, &options) {
        Ok(found) => Segmented {
            cleaning: cleaning_of(&readings, card, &found, hash.clone()),
            phases: cook_phases(record, &found, hash),
        },
        Err(error) => Segmented {
            cleaning: cleaning_unsegmented(&readings, card, hash.clone()),
            phases: unsegmented(record, &error, hash),
        },
    })
}

fn cook_hash(
    record: &CookRecord,
    events: &[Event],
    season: &Season,
    borrowed: Option<&BorrowedReference>,
) -> String {
    let mut hash = Fingerprint::new("phases of a cook");
    hash.part(record.computed_from.as_bytes());
    let mut card = record.card.clone();
    // Which fire a cook shares moves no phase.
    card.fire.clear();
    hash.json(&card);
    hash.json(&events);
    hash.json(&season.phases);
    hash.json(&season.study);
    if let Some(other) = borrowed {
        hash.part(&other.median_per_h.to_le_bytes());
        hash.part(&other.spread_log.to_le_bytes());
    }
    hash.finish()
}

fn cook_phases(record: &CookRecord, found: &SegmentedCook, computed_from: String) -> CookPhases {
    let segmentation = &found.segmentation;
    let judgement = &segmentation.judgement;
    let curves = &judgement.heating;
    // A phase ends where the next begins: at the pull the last sample before it speaks.
    let core_at = |at_ms: i64| {
        let last = curves.at_ms(curves.len().saturating_sub(1));
        let inside = at_ms <= segmentation.bounds.pull_ms;
        inside.then(|| judgement.core_at(at_ms.min(last))).flatten()
    };
    let rows = judgement.phases.iter().enumerate().map(|(index, span)| {
        let (start, end) = segmentation.boundaries.get(index).copied().unwrap_or_default();
        PhaseRow {
            span: *span,
            start_core_c: core_at(span.start_ms),
            end_core_c: core_at(span.end_ms).or_else(|| {
                let rest = segmentation.core_after_pull.view();
                (span.kind == PhaseKind::Rest).then(|| rest.at(span.end_ms)).flatten()
            }),
            start_90_ms: (start.lo_ms, start.hi_ms),
            end_90_ms: (end.lo_ms, end.hi_ms),
        }
    });
    let cleaning = &segmentation.cleaning;
    let interval = segmentation.stall_min_90.unwrap_or_default();
    CookPhases {
        cook: record.card.cook.clone(),
        meat_on_ms: found.marks.meat_on.at_ms,
        meat_on_from: found.marks.meat_on.source.as_str().into(),
        pull_ms: segmentation.bounds.pull_known.then_some(segmentation.bounds.pull_ms),
        pull_from: found.marks.pull.source.as_str().into(),
        lead_channel: Some(found.lead.name.clone()),
        lead_because: Some(found.lead.because.clone()),
        k_ref_per_h: judgement.reference.map(|reference| reference.k_per_h),
        k_ref_borrowed: judgement.reference.is_some_and(|r| r.borrowed.is_some()),
        not_judged: judgement.not_judged.map(|reason| reason.as_str().into()),
        not_judged_reason: judgement.not_judged.map(|reason| reason.sentence().into()),
        stall_min_90: (interval.lo, interval.hi),
        spikes: (cleaning.core_spikes.len() + cleaning.pit_spikes.len()) as i64,
        dips: cleaning.dips.len() as i64,
        gaps: (cleaning.core_gaps.len() + cleaning.pit_gaps.len()) as i64,
        computed_from,
        phases: rows.collect(),
    }
}

/// A cook that cannot be segmented is `unknown` from meat-on to its log's end.
fn unsegmented(record: &CookRecord, error: &PhasesError, computed_from: String) -> CookPhases {
    let log_start = record.log_start_ms.unwrap_or(0);
    let log_end = record.log_end_ms.unwrap_or(log_start);
    let stated = record.card.marks.meat_on_ms.filter(|at| *at < log_end);
    let start_ms = stated.unwrap_or(log_start);
    CookPhases {
        cook: record.card.cook.clone(),
        meat_on_ms: start_ms,
        meat_on_from: if stated.is_some() { "card" } else { "log-start" }.into(),
        pull_ms: None,
        pull_from: "log-end".into(),
        lead_channel: None,
        lead_because: None,
        k_ref_per_h: None,
        k_ref_borrowed: false,
        not_judged: Some("not-segmented".into()),
        not_judged_reason: Some(in_words(error)),
        stall_min_90: (None, None),
        spikes: 0,
        dips: 0,
        gaps: 0,
        computed_from,
        phases: vec![PhaseRow {
            span: PhaseSpan {
                kind: PhaseKind::Unknown,
                start_ms,
                end_ms: log_end.max(start_ms),
                complete: false,
            },
            start_core_c: None,
            end_core_c: None,
            start_90_ms: (None, None),
            end_90_ms: (None, None),
        }],
    }
}

fn notes(cooks: &[CookPhases]) -> Vec<String> {
    let mut reasons: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for cook in cooks {
        if let Some(reason) = &cook.not_judged_reason {
            reasons.entry(reason).or_default().push(&cook.cook);
        }
    }
    reasons
        .into_iter()
        .map(|(reason, cooks)| format!("not judged: {}: {reason}", cooks.join(", ")))
        .collect()
}
