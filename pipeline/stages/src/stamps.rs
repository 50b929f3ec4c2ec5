//! What each stage of a season was last computed from: `store/stamps.json`.
//!
//! A stamp is written after its stage is whole, so that a crash in between makes the next
//! run do the stage again.

use crate::error::StageError;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

pub(crate) struct Stamps {
    path: PathBuf,
    of: BTreeMap<String, String>,
}

impl Stamps {
    /// Reads the stamps of a store; a file that cannot be read is no stamp at all.
    pub(crate) fn read(store: &Path) -> Self {
        let path = store.join("stamps.json");
        let of = std::fs::read_to_string(&path)
            .ok()
            .and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default();
        Self { path, of }
    }

    /// Whether a stage was last computed from this, and what it wrote is still there.
    pub(crate) fn is_current(&self, stage: &str, hash: &str, outputs: &[PathBuf]) -> bool {
        self.of.get(stage).is_some_and(|stamp| stamp == hash)
            && outputs.iter().all(|path| path.exists())
    }

    /// Notes that a stage is whole.
    pub(crate) fn set(&mut self, stage: &str, hash: String) -> Result<(), StageError> {
        self.of.insert(stage.to_owned(), hash);
        let text = serde_json::to_string_pretty(&self.of).unwrap_or_default() + "\n";
        store::write_atomically(&self.path, text.as_bytes())?;
        Ok(())
    }
}
