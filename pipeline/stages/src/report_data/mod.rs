//! Builds [`ReportData`] from the store's tables and a finished study.

mod cleaning;
mod cooks;
pub(crate) mod row;
mod season;
mod spread;

use crate::error::StageError;
use crate::ingest_stage::{NEEDS_ANSWER, is_whole_log};
use ::cook::{Event, RejectedRow, Season};
use columns::measures::{Measures, RAW_WEIGHT_KG, TOTAL_MIN};
pub(crate) use cooks::local;
use cooks::{CookParts, cook_report};
use jiff::tz::TimeZone;
use rayon::prelude::*;
use report::ReportData;
use report::data::{CookReport, Counted, DataFile, RefusedLog, SourceAccount, Summary};
use row::Row;
use std::collections::{BTreeMap, BTreeSet};
use store::{CookCleaning, CookRecord, Store, Table, TableName};
use study::MeasureTable;
use study::result::StudyResult;
use study::result::summary::Excluded;

/// Rejected rows shown in the report; the data folder has them all.
const REJECTED_SHOWN: usize = 200;

/// Everything the report needs of a store.
pub(crate) struct StoreTables {
    pub(crate) cooks: Vec<CookRecord>,
    pub(crate) events: Vec<Event>,
    pub(crate) phases: Table,
    pub(crate) measures: Table,
    pub(crate) history: Table,
    pub(crate) rejected: Vec<RejectedRow>,
    pub(crate) cleaning: Vec<CookCleaning>,
}

impl StoreTables {
    pub(crate) fn read(store: &Store) -> Result<Self, StageError> {
        Ok(Self {
            cooks: store.read_cooks()?,
            events: store.read_events()?,
            phases: store.read_table(TableName::Phases)?,
            measures: store.read_table(TableName::Measures)?,
            history: store.read_table(TableName::History)?,
            rejected: store.read_rejected()?,
            cleaning: store.read_cleaning()?,
        })
    }
}

/// Builds the report's data. `data_files` are the files written beside it.
pub(crate) fn build(
    store: &Store,
    tables: &StoreTables,
    found: &StudyResult,
    settings: &Season,
    data_files: Vec<DataFile>,
) -> Result<ReportData, StageError> {
    let zone = settings.shown_zone();
    let by_cook = |table| {
        let mut rows: BTreeMap<&str, Vec<Row<'_>>> = BTreeMap::new();
        for row in Row::all(table) {
            rows.entry(row.text("cook").unwrap_or_default()).or_default().push(row);
        }
        rows
    };
    let mut events: BTreeMap<&str, Vec<&Event>> = BTreeMap::new();
    for event in &tables.events {
        events.entry(event.cook.as_str()).or_default().push(event);
    }
    let phases = by_cook(&tables.phases);
    let measures: BTreeMap<String, Measures> = (0..tables.measures.rows())
        .map(|row| Measures::of_row(&tables.measures, row))
        .map(|own| (own.cook.clone(), own))
        .collect();
    let cleaning: BTreeMap<&str, &CookCleaning> =
        tables.cleaning.iter().map(|cook| (cook.cook.as_str(), cook)).collect();
    let history = by_cook(&tables.history);
    let mut rejected: BTreeMap<&str, usize> = BTreeMap::new();
    for row in &tables.rejected {
        *rejected.entry(row.source.as_str()).or_default() += 1;
    }
    let refused: BTreeSet<&str> = tables
        .cooks
        .iter()
        .filter(|record| record.log_start_ms.is_none())
        .map(|record| record.card.cook.as_str())
        .collect();
    let shown: Vec<CookParts<'_>> = tables
        .cooks
        .iter()
        .filter(|record| {
            record.card.exclude.is_none() && !refused.contains(record.card.cook.as_str())
        })
        .map(|record| {
            let cook = record.card.cook.as_str();
            CookParts {
                record,
                events: events.remove(cook).unwrap_or_default(),
                phases: phases.get(cook).cloned().unwrap_or_default(),
                history: history.get(cook).cloned().unwrap_or_default(),
                measures: measures.get(cook).cloned().unwrap_or_else(not_measured),
                rejected: &rejected,
                cleaning: cleaning.get(cook).copied(),
            }
        })
        .collect();
    let mut cooks: Vec<CookReport> =
        shown.par_iter().map(|parts| cook_report(parts, store, &zone)).collect::<Result<_, _>>()?;
    cooks.sort_by(|a, b| (a.meat_on_ms, a.id()).cmp(&(b.meat_on_ms, b.id())));

    let mut excluded: Vec<Excluded> = tables
        .cooks
        .iter()
        .filter_map(|record| {
            let card = &record.card;
            let reason = card.exclude.clone().or_else(|| {
                let is_refused = refused.contains(card.cook.as_str());
                let reason = if card.logs.is_empty() {
                    "it has no log and no reading by hand"
                } else {
                    "its log could not be used"
                };
                is_refused.then(|| reason.to_owned())
            })?;
            Some(Excluded { cook: card.cook.clone(), reason })
        })
        .collect();
    excluded.sort_by(|a, b| a.cook.cmp(&b.cook));
    let rows: Vec<&RejectedRow> = tables.rejected.iter().filter(|r| !is_whole_log(r)).collect();
    let seasons: BTreeSet<String> = cooks.iter().map(|cook| cook.card.season.clone()).collect();
    Ok(ReportData {
        team: settings.team.clone(),
        seasons: seasons.into_iter().collect(),
        time_zone: settings.time_zone.clone().unwrap_or_default(),
        summary: summary(&cooks, tables, &zone),
        spread: spread::by_column(&tables.measures),
        habits: spread::habits(&tables.measures),
        contests: season::contests(&cooks),
        bests: season::bests(&cooks, &settings.scores),
        rejected_total: rows.len(),
        rejected: rows.into_iter().take(REJECTED_SHOWN).cloned().collect(),
        excluded,
        refused_logs: tables
            .rejected
            .iter()
            .filter(|row| is_whole_log(row))
            .map(|row| RefusedLog {
                source: row.source.clone(),
                reason: if row.code == NEEDS_ANSWER {
                    "it can be read in two ways that give different values".into()
                } else {
                    format!("it could not be used: {}", row.text)
                },
                remedy: Some("`cookstudy inspect` on the log says what decides".into()),
            })
            .collect(),
        sources: store
            .read_sources()?
            .into_iter()
            .map(|source| SourceAccount {
                source: source.path,
                layout: source.layout,
                account: source.account,
            })
            .collect(),
        phase_definition: settings.phases,
        study: told_apart(found.clone()),
        data_files,
        cooks,
        ..ReportData::default()
    })
}

/// Claims of several teams may say the same: their names tell them apart.
fn told_apart(mut found: StudyResult) -> StudyResult {
    let all: Vec<String> = found.claims.iter().map(|claim| claim.says.clone()).collect();
    for claim in &mut found.claims {
        if all.iter().filter(|says| **says == claim.says).count() > 1 {
            claim.says = format!("{} ({})", claim.says, claim.id);
        }
    }
    found
}

/// The report's data of a table that is no store's: what the study found of it, and how much there is.
pub(crate) fn of_table(
    table: &Table,
    found: StudyResult,
    settings: &Season,
) -> Result<ReportData, StageError> {
    let cooks = MeasureTable::new(table)?;
    let fires: BTreeSet<usize> = cooks.fires().iter().copied().collect();
    let numbers = |column: &str| {
        if cooks.has(column) { cooks.numbers(column).unwrap_or_default() } else { Vec::new() }
    };
    let minutes: f64 = numbers(TOTAL_MIN.name).into_iter().flatten().sum();
    let raw: Vec<f64> = numbers(RAW_WEIGHT_KG.name).into_iter().flatten().collect();
    Ok(ReportData {
        team: settings.team.clone(),
        summary: Summary {
            cooks: cooks.len(),
            fires: fires.len(),
            cooking_hours: minutes / 60.0,
            raw_weight_kg: (!raw.is_empty()).then(|| raw.iter().sum()),
            rows: spread::summary_rows(table),
            ..Summary::default()
        },
        phase_definition: settings.phases,
        study: found,
        ..ReportData::default()
    })
}

/// The measures of a cook that has no row of them: no more is known of its wrap than of the rest.
fn not_measured() -> Measures {
    Measures { wrap_time_known: true, ..Measures::default() }
}

fn summary(cooks: &[CookReport], tables: &StoreTables, zone: &TimeZone) -> Summary {
    let fires: BTreeSet<&str> = cooks.iter().map(|cook| cook.card.fire.as_str()).collect();
    let count = |of: &dyn Fn(&CookReport) -> Option<String>| {
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        for cook in cooks {
            *counts.entry(of(cook).unwrap_or_else(|| "not stated".into())).or_default() += 1;
        }
        let mut counts: Vec<Counted> =
            counts.into_iter().map(|(label, count)| Counted { label, count }).collect();
        counts.sort_by(|a, b| b.count.cmp(&a.count).then_with(|| a.label.cmp(&b.label)));
        counts
    };
    let raw: Vec<f64> = cooks.iter().filter_map(|cook| cook.measures.raw_weight_kg).collect();
    let yes = |of: fn(&Measures) -> Option<bool>| {
        cooks.iter().filter(|cook| of(&cook.measures) == Some(true)).count()
    };
    let days = |ms: Option<i64>| ms.map(|ms| local(ms, zone, "%Y-%m-%d"));
    Summary {
        cooks: cooks.len(),
        fires: fires.len(),
        cooking_hours: cooks.iter().filter_map(|c| c.measures.total_min).sum::<f64>() / 60.0,
        by_hand: yes(|measures| measures.core_by_hand),
        pit_from_setpoint: yes(|measures| measures.pit_from_setpoint),
        readings: cooks.iter().map(|cook| cook.readings).sum(),
        first_day: days(cooks.iter().map(|cook| cook.meat_on_ms).min()),
        last_day: days(cooks.iter().map(|cook| cook.meat_on_ms).max()),
        raw_weight_kg: (!raw.is_empty()).then(|| raw.iter().sum()),
        cuts: count(&|cook| cook.card.cut.clone()),
        pits: count(&|cook| cook.card.pit.clone()),
        wraps: count(&|cook| cook.measures.wrap_method.clone()),
        kinds: count(&|cook| cook.card.kind.map(|kind| kind.as_str().to_owned())),
        rows: spread::summary_rows(&tables.measures),
    }
}
