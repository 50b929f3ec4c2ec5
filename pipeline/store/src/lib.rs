//! The columnar store of a season: Parquet files that any reader can open without us.
//!
//! ```text
//! store/
//!   readings/season=<season>/part-<n>.parquet some hundred cooks each, by name, all channels
//!   cooks.parquet  events.parquet             the sheets, normalised
//!   phases.parquet measures.parquet           derived
//!   flags.parquet channels.parquet            what cleaning made of the readings; their channels
//!   warnings.parquet                          what is odd about a cook
//!   history.parquet                           cook × 10 min on the study clock
//!   degrees.parquet                           cook × 1 °C of core on the study clock
//!   moved.parquet moved_history.parquet       both under each moved constant of the definition
//!   rejected.parquet sources.parquet          what could not be used; how each log was read
//! ```
//!
//! A file is written beside its place, synced and then renamed, so that a crash at any
//! instant leaves the old file or the new one. One writer at a time holds an advisory
//! lock ([`Store::lock`]); readers need none. Equal content leaves a file untouched.
//!
//! [`Table`] is the border to other programs: plain typed columns that turn into an Arrow
//! record batch and back.

mod atomic;
mod derived;
mod error;
mod names;
mod readings;
mod schemas;
mod scores;
pub mod stamps;
mod table;
mod tables;

pub use atomic::{remove_partial_files, write_atomically, write_input, write_page};
pub use columns::{Column, Table};
pub use error::StoreError;
pub use names::{decode_name, encode_name};
pub use readings::{CooksOfPart, ReadingsBatch, ReadingsPart};
pub use rows::{CookCleaning, CookPhases, CookRecord, PhaseRow};
pub use scores::scores_from_table;
pub use table::{TableFile, read_parquet_table};
pub use tables::{EncodedTables, Ingested, TableName, rejected_to_table};

use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};

/// A store folder.
#[derive(Debug, Clone)]
pub struct Store {
    root: PathBuf,
}

/// The right to write, held until dropped.
#[derive(Debug)]
pub struct WriteLock {
    _file: File,
}

impl Store {
    /// Opens a store that is there, or the one in a season folder.
    ///
    /// # Errors
    /// [`StoreError::Missing`] where the folder is not there.
    pub fn open(root: &Path) -> Result<Self, StoreError> {
        let inside = root.join("store");
        let has_cooks = |folder: &Path| folder.join("cooks.parquet").is_file();
        if root.is_dir() {
            let is_inside = !has_cooks(root) && has_cooks(&inside);
            Ok(Self { root: if is_inside { inside } else { root.to_owned() } })
        } else {
            Err(StoreError::Missing { path: root.to_owned() })
        }
    }

    /// Opens a store, making its folder first where needed.
    pub fn create(root: &Path) -> Result<Self, StoreError> {
        std::fs::create_dir_all(root).map_err(|e| StoreError::io(root, e))?;
        Ok(Self { root: root.to_owned() })
    }

    /// The store's folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Takes the write lock.
    ///
    /// # Errors
    /// [`StoreError::Locked`] where another process holds it.
    pub fn lock(&self) -> Result<WriteLock, StoreError> {
        let path = self.root.join(".lock");
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(|e| StoreError::io(&path, e))?;
        match file.try_lock() {
            Ok(()) => {
                // Whoever held the lock before and was cut off left these.
                atomic::remove_partial_files_below(&self.root);
                Ok(WriteLock { _file: file })
            }
            Err(TryLockError::WouldBlock) => Err(StoreError::Locked { path: self.root.clone() }),
            Err(TryLockError::Error(e)) => Err(StoreError::io(&path, e)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_writer_is_turned_away_until_the_first_is_done() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(folder.path()).unwrap();
        let held = store.lock().unwrap();
        assert!(matches!(store.lock(), Err(StoreError::Locked { .. })));
        drop(held);
        store.lock().unwrap();
    }

    #[test]
    fn a_store_that_is_not_there_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let error = Store::open(&folder.path().join("nowhere")).unwrap_err();
        assert!(error.to_string().contains("nowhere"), "{error}");
    }
}
