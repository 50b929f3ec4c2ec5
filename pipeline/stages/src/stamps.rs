//! What each stage of a store was last computed from: `store/stamps.json`.
//!
//! A stamp is written after its stage is whole, so that a crash in between makes the next
//! run do the stage again.

use crate::error::StageError;
use crate::hash::Fingerprint;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use store::{Store, TableName};

/// One stage's stamp.
#[derive(Default, Serialize, Deserialize)]
struct Stamp {
    /// Hash of all it was computed from.
    computed_from: String,
    /// Hash of the store's tables among that; empty where there are none.
    tables: String,
    /// What it wrote, relative to the store's parent where it lies below that.
    outputs: Vec<PathBuf>,
}

pub(crate) struct Stamps {
    path: PathBuf,
    base: PathBuf,
    of: BTreeMap<String, Stamp>,
}

impl Stamps {
    /// Reads the stamps of a store; a file that cannot be read is no stamp at all.
    pub(crate) fn read(store: &Store) -> Self {
        let path = store.root().join("stamps.json");
        let of = std::fs::read_to_string(&path)
            .ok()
            .and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default();
        let base = store.root().parent().unwrap_or(Path::new("")).to_owned();
        Self { path, base, of }
    }

    /// Whether a stage was last computed from this, and all that it wrote is still there.
    pub(crate) fn is_current(&self, stage: &str, computed_from: &str) -> bool {
        self.of.get(stage).is_some_and(|stamp| {
            stamp.computed_from == computed_from
                && stamp.outputs.iter().all(|path| self.base.join(path).is_file())
        })
    }

    /// Whether a stage was last computed from these tables.
    pub(crate) fn knows_tables(&self, stage: &str, tables: &str) -> bool {
        self.of.get(stage).is_some_and(|stamp| stamp.tables == tables)
    }

    /// Notes that a stage is whole.
    pub(crate) fn set(
        &mut self,
        stage: &str,
        computed_from: String,
        tables: String,
        outputs: Vec<PathBuf>,
    ) -> Result<(), StageError> {
        let outputs = outputs
            .into_iter()
            .map(|path| path.strip_prefix(&self.base).map(Path::to_owned).unwrap_or(path))
            .collect();
        self.of.insert(stage.to_owned(), Stamp { computed_from, tables, outputs });
        let text = serde_json::to_string_pretty(&self.of).unwrap_or_default() + "\n";
        store::write_atomically(&self.path, text.as_bytes())?;
        Ok(())
    }
}

/// Hash of some of a store's tables; a table that is missing counts as empty.
pub(crate) fn tables_hash(store: &Store, names: &[TableName]) -> String {
    let mut hash = Fingerprint::new("tables");
    for name in names {
        hash.part(&std::fs::read(store.table_path(*name)).unwrap_or_default());
    }
    hash.finish()
}

/// What phases are computed from.
pub(crate) const PHASES_FROM: [TableName; 2] = [TableName::Cooks, TableName::Events];
/// What measures are computed from.
pub(crate) const MEASURES_FROM: [TableName; 3] =
    [TableName::Cooks, TableName::Events, TableName::Phases];

/// Checks that the phases are those of the cooks that the store has now.
pub(crate) fn check_phases(store: &Store) -> Result<(), StageError> {
    check(store, "phases", &PHASES_FROM)
}

/// Checks that the measures are those of the cooks and phases that the store has now.
pub(crate) fn check_measures(store: &Store) -> Result<(), StageError> {
    check(store, "measures", &MEASURES_FROM)
}

fn check(store: &Store, stage: &'static str, names: &[TableName]) -> Result<(), StageError> {
    if Stamps::read(store).knows_tables(stage, &tables_hash(store, names)) {
        return Ok(());
    }
    Err(StageError::Stale { stage, store: store.root().to_owned() })
}
