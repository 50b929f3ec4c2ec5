//! Whether what a stage reads is what was written, by the stamps of the store.

use crate::error::StageError;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use store::stamps::{Derived, FILE, Reason, Stage, Stamps, table_inputs};
use store::{Store, StoreError, TableName};

/// What is damaged of that which ingest wrote.
#[derive(Debug, Default)]
pub(crate) struct Damage {
    /// Tables and files of readings.
    pub(crate) files: BTreeSet<PathBuf>,
    /// A line each, and one where a stage was cut off.
    pub(crate) notes: Vec<String>,
}

impl Damage {
    /// Looks at every file that ingest or merge wrote. Where no hash is known, a file is whole if it can
    /// be opened.
    pub(crate) fn find(store: &Store, stamps: &Stamps) -> Result<Self, StageError> {
        let stage = Stage::Ingest;
        let mut this = Self::default();
        let mut add = |file: PathBuf, reason: &Reason| {
            this.notes.extend(reason.said(stage));
            this.files.insert(file);
        };
        if let Some(reason) = stamps.lost() {
            add(store.root().join(FILE), reason);
        }
        for (file, reason) in stamps.damage(stage) {
            add(file, &reason);
        }
        let tables =
            PROVENANCE.map(|name| store.table_path(name)).into_iter().filter(|f| f.is_file());
        for file in tables.chain(store.readings_files()?) {
            if !stamps.has_noted(stage, &file) && !store.is_readable(&file) {
                let output = file.strip_prefix(store.root().parent().unwrap_or(Path::new("")));
                let output = output.unwrap_or(&file).to_owned();
                add(file, &Reason::Differs { output });
            }
        }
        if stamps.is_open(stage) {
            this.notes.extend(Reason::CutOff.said(stage));
        }
        Ok(this)
    }

    /// Whether a table of the store is damaged, or the stamps are, so that none can be relied on.
    pub(crate) fn has_table(&self, store: &Store, name: TableName) -> bool {
        self.files.contains(&store.table_path(name))
            || self.files.contains(&store.root().join(FILE))
    }
}

/// The tables that ingest and merge write.
pub(crate) const PROVENANCE: [TableName; 5] = [
    TableName::Cooks,
    TableName::Events,
    TableName::Scores,
    TableName::Rejected,
    TableName::Sources,
];

/// Refuses a store of which one of these tables is not what was written.
pub(crate) fn expect_whole(store: &Store, names: &[TableName]) -> Result<(), StageError> {
    let stamps = Stamps::read(store);
    for name in names {
        let file = store.table_path(*name);
        for stage in [Stage::Ingest, Stage::Phases, Stage::Measures] {
            // One that a later stage has not made yet is told as such by whoever reads it.
            let is_there = stage == Stage::Ingest || file.exists();
            if is_there && !stamps.is_whole(stage, &file) {
                return Err(StoreError::Damaged { path: file, stage: stage.as_str() }.into());
            }
        }
    }
    Ok(())
}

/// Files of readings that were looked at: each is hashed once, when it is first read.
#[derive(Debug)]
pub(crate) struct WholeReadings {
    stamps: Stamps,
    seen: Mutex<BTreeSet<PathBuf>>,
}

impl WholeReadings {
    pub(crate) fn new(stamps: Stamps) -> Self {
        Self { stamps, seen: Mutex::default() }
    }

    /// Refuses readings that are not what was written.
    pub(crate) fn expect(&self, files: Vec<PathBuf>) -> Result<(), StageError> {
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        for file in files {
            if !seen.contains(&file) {
                if !self.stamps.is_whole(Stage::Ingest, &file) {
                    let stage = Stage::Ingest.as_str();
                    return Err(StoreError::Damaged { path: file, stage }.into());
                }
                seen.insert(file);
            }
        }
        Ok(())
    }
}

/// Checks that the phases are those of the cooks that the store has now.
pub(crate) fn check_phases(store: &Store) -> Result<(), StageError> {
    check(store, Derived::Phases)
}

/// Checks that the measures are those of the cooks and phases that the store has now.
pub(crate) fn check_measures(store: &Store) -> Result<(), StageError> {
    check(store, Derived::Measures)
}

fn check(store: &Store, of: Derived) -> Result<(), StageError> {
    let (stamps, stage) = (Stamps::read(store), of.stage());
    stamps.expect_whole(stage)?;
    if stamps.knows(stage, &table_inputs(store, of.reads())) {
        return Ok(());
    }
    Err(StageError::Stale { stage: stage.as_str(), store: store.root().to_owned() })
}
