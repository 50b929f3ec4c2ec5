//! All stages over a season folder; only what changed is done again.

use crate::error::StageError;
use crate::folder::read_season;
use crate::hash::Fingerprint;
use crate::ingest_stage::{IngestRequest, IngestSummary, Sheets, ingest_sheets, read_sheets};
use crate::measures_stage::{measures_of_store, measures_under_moved_constants};
use crate::phases_stage::phases_of_store;
use crate::progress::Progress;
use crate::report_stage::{ReportRequest, report};
use crate::stamps::Stamps;
use crate::study_stage::{
    StudyRequest, StudySource, read_claims, read_lock, settings_hash, study_table,
};
use cook::{Season, Units};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use store::{Column, Store, Table, TableName, write_atomically};
use study::{Claims, Lock, MeasureTable};

/// What a run did.
#[derive(Debug, Clone)]
pub struct RunSummary {
    /// Logs and sheets.
    pub ingest: IngestSummary,
    /// One line a stage, for people.
    pub lines: Vec<String>,
    /// Whether nothing had changed.
    pub nothing_to_do: bool,
    /// The season report.
    pub report: PathBuf,
}

/// Runs all stages over a season folder. `units` overrides the season's for the report.
///
/// # Errors
/// Settings, sheets, claims or a lock that cannot be used: nothing is done then. A log
/// that cannot be used is no error; see [`IngestSummary::refusals`].
pub fn run(
    folder: &Path,
    units: Option<Units>,
    progress: &dyn Progress,
) -> Result<RunSummary, StageError> {
    let mut season = read_season(folder)?;
    if let Some(units) = units {
        season.units = units;
    }
    let request = IngestRequest {
        base: folder.to_owned(),
        logs: season.logs.clone(),
        sheets: season.sheets.clone(),
        events: present(folder, &season.events),
        layouts: season.layouts.clone(),
        store: folder.join("store"),
        season: season.clone(),
        prune: true,
    };
    let sheets = read_sheets(&request)?;
    let claims_path = season
        .claims
        .as_ref()
        .map(|name| folder.join(name))
        .filter(|path| path.exists() || season.claims != Season::default().claims);
    let (claims, _) = read_claims(claims_path.as_deref())?;
    if let Some(path) = &claims_path {
        check_claims_early(&claims, path, &sheets)?;
    }
    let lock_path = folder.join("claims.lock");
    let old_lock = lock_path.is_file().then(|| read_lock(&lock_path)).transpose()?;

    let mut lines = Vec::new();
    let ingested = ingest_sheets(&request, &sheets, progress)?;
    lines.push(format!(
        "ingest: {} of {} cooks read, {} readings, {} rejected rows and cells",
        ingested.read,
        ingested.cooks,
        ingested.readings,
        ingested.rejected.len()
    ));
    let store = Store::open(&request.store)?;
    let _lock = store.lock()?;
    let phases = phases_of_store(&store, &season, progress)?;
    lines.push(phases.line("phases"));
    lines.extend(phases.notes.iter().map(|note| format!("  {note}")));
    let measures = measures_of_store(&store, &season, progress)?;
    lines.push(measures.line("measures"));

    let out = folder.join("out");
    let mut changed = ingested.changed || phases.changed || measures.changed;
    let table = store.read_table(TableName::Measures)?;
    let history = store.read_table(TableName::History)?;
    let lock = (!claims.claims.is_empty() || old_lock.is_some())
        .then(|| Lock::update(old_lock.as_ref(), &claims, &known_cooks(&table)));
    if let Some(lock) = &lock {
        changed |= write_atomically(&lock_path, lock.to_toml()?.as_bytes())?;
    }

    let mut step = Step {
        season: &season,
        store: &store,
        out: &out,
        stamps: Stamps::read(&store),
        progress,
        lines: &mut lines,
    };
    let inputs = inputs(folder, &request, &store, claims_path.as_deref(), lock.is_some())?;
    let asked = StudyRequest {
        source: StudySource::Store(store.root().to_owned()),
        claims: claims_path,
        lock: lock.is_some().then_some(lock_path),
        out: out.clone(),
        season: season.clone(),
        shown_from: folder.to_owned(),
    };
    changed |= step.study(&asked, (&table, &history), inputs, claims.claims.len())?;
    changed |= step.report()?;
    Ok(RunSummary {
        ingest: ingested,
        lines,
        nothing_to_do: !changed,
        report: out.join("report.html"),
    })
}

/// The stages after the store, each done only where what it is computed from changed.
struct Step<'a> {
    season: &'a Season,
    store: &'a Store,
    out: &'a Path,
    stamps: Stamps,
    progress: &'a dyn Progress,
    lines: &'a mut Vec<String>,
}

impl Step<'_> {
    fn study(
        &mut self,
        asked: &StudyRequest,
        (table, history): (&Table, &Table),
        inputs: Vec<(String, PathBuf)>,
        claims: usize,
    ) -> Result<bool, StageError> {
        let mut hash = Fingerprint::new("study");
        hash.part(settings_hash(self.season).as_bytes());
        for (name, path) in &inputs {
            hash.part(name.as_bytes());
            hash.part(&read(path)?);
        }
        let hash = hash.finish();
        if self.stamps.is_current("study", &hash) {
            self.lines.push("study: up to date".into());
            return Ok(false);
        }
        let definitions = if claims == 0 {
            Vec::new()
        } else {
            measures_under_moved_constants(self.store, self.season, self.progress)?
        };
        self.progress.begin("study", 1);
        let summary = study_table(asked, table, Some(history), &definitions, inputs)?;
        self.progress.step("study");
        self.progress.end();
        self.stamps.set("study", hash, String::new(), summary.files)?;
        self.lines.push(format!("study: {claims} claims judged"));
        Ok(true)
    }

    fn report(&mut self) -> Result<bool, StageError> {
        let study = self.out.join("study.json");
        let mut hash = Fingerprint::new("report");
        hash.part(settings_hash(self.season).as_bytes());
        hash.part(&read(&study)?);
        for name in TableName::ALL {
            hash.part(&read(&self.store.table_path(name))?);
        }
        let hash = hash.finish();
        if self.stamps.is_current("report", &hash) {
            self.lines.push("report: up to date".into());
            return Ok(false);
        }
        self.progress.begin("report", 1);
        let summary = report(&ReportRequest {
            store: self.store.root().to_owned(),
            study,
            out: self.out.to_owned(),
            season: self.season.clone(),
            cook: None,
        })?;
        self.progress.step("report");
        self.progress.end();
        self.stamps.set("report", hash, String::new(), summary.files)?;
        self.lines
            .push(format!("report: one page of the season, {} of cooks", summary.pages.len() - 1));
        Ok(true)
    }
}

fn read(path: &Path) -> Result<Vec<u8>, StageError> {
    std::fs::read(path).map_err(|e| StageError::io(path, e))
}

/// The default events sheet may be missing; one that the settings name may not.
fn present(folder: &Path, events: &[String]) -> Vec<String> {
    let default = Season::default().events;
    events.iter().filter(|name| *events != default || folder.join(name).exists()).cloned().collect()
}

/// A claim on a column that no measure table will have is answered before anything is
/// written. What a column holds can only be checked once it is there.
fn check_claims_early(claims: &Claims, path: &Path, sheets: &Sheets) -> Result<(), StageError> {
    let mut table = Table::new();
    for column in columns::measures::columns() {
        table.push(column, Column::Float(Vec::new()));
    }
    let mut others: BTreeSet<&str> = BTreeSet::new();
    for card in &sheets.cards.cards {
        others.extend(card.scores.iter().map(|(name, _)| name.as_str()));
        others.extend(card.extra.iter().map(|(name, _)| name.as_str()));
    }
    for name in others {
        if table.column(name).is_none() {
            table.push(name, Column::Float(Vec::new()));
        }
    }
    claims.check_columns(&MeasureTable::new(&table)?, path)?;
    Ok(())
}

fn known_cooks(measures: &Table) -> Vec<String> {
    match measures.column("cook") {
        Some(Column::Text(cooks)) => cooks.iter().flatten().cloned().collect(),
        _ => Vec::new(),
    }
}

/// The season's input files, as (path from the folder, path).
fn inputs(
    folder: &Path,
    request: &IngestRequest,
    store: &Store,
    claims: Option<&Path>,
    locked: bool,
) -> Result<Vec<(String, PathBuf)>, StageError> {
    let mut names: BTreeSet<String> = BTreeSet::from(["season.toml".to_owned()]);
    names.extend(request.sheets.iter().cloned());
    names.extend(request.events.iter().cloned());
    names.extend(request.layouts.iter().cloned());
    if let Some(name) = claims.and_then(|path| path.strip_prefix(folder).ok()) {
        names.insert(name.display().to_string());
    }
    if locked {
        names.insert("claims.lock".into());
    }
    names.extend(store.read_sources()?.into_iter().map(|source| source.path));
    names.insert("store/measures.parquet".into());
    names.insert("store/history.parquet".into());
    Ok(names
        .into_iter()
        .map(|name| {
            let path = folder.join(&name);
            (name, path)
        })
        .filter(|(_, path)| path.is_file())
        .collect())
}
