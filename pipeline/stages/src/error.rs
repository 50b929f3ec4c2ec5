//! Why a stage could not do its work.

use std::path::{Path, PathBuf};
use thiserror::Error;

/// What stops a stage. A single log that cannot be read stops only its cook and is listed
/// in the stage's summary instead.
#[derive(Debug, Error)]
pub enum StageError {
    /// The folder is no season folder.
    #[error("{}: no season.toml here; `cookstudy new DIR` makes a season folder, and `cookstudy run LOG…` reads logs without one", path.display())]
    NoSeason {
        /// The folder.
        path: PathBuf,
    },
    /// A file that would be overwritten.
    #[error("{}: is there already and is left alone; choose another folder", path.display())]
    Occupied {
        /// The file or folder.
        path: PathBuf,
    },
    /// The system refused.
    #[error("{}: {source}", path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A table that cannot be used.
    #[error("{}:{line}: {}{message}", path.display(), in_column(column))]
    Table {
        /// The file.
        path: PathBuf,
        /// Line, from 1.
        line: u64,
        /// The column, empty where the whole row is meant.
        column: String,
        /// What is wrong and what to try.
        message: String,
    },
    /// A stage that was computed from an older store.
    #[error("{}: the {stage} are older than what they are computed from; make them anew with `cookstudy {stage} --store {}`", store.display(), store.display())]
    Stale {
        /// The stage.
        stage: &'static str,
        /// The store.
        store: PathBuf,
    },
    /// A request that makes no sense.
    #[error("{message}")]
    Usage {
        /// What is wrong and what to try.
        message: String,
    },
    /// Settings.
    #[error(transparent)]
    Settings(#[from] cook::SettingsError),
    /// Logs and sheets.
    #[error(transparent)]
    Ingest(#[from] ingest::IngestError),
    /// The store.
    #[error(transparent)]
    Store(#[from] store::StoreError),
    /// Phases.
    #[error(transparent)]
    Phases(#[from] phases::PhasesError),
    /// A question in SQL.
    #[error(transparent)]
    Query(#[from] query::QueryError),
    /// The study.
    #[error(transparent)]
    Study(#[from] study::StudyError),
}

fn in_column(column: &str) -> String {
    if column.is_empty() { String::new() } else { format!("column `{column}`: ") }
}

impl StageError {
    pub(crate) fn io(path: &Path, source: std::io::Error) -> Self {
        Self::Io { path: path.to_owned(), source }
    }
}

impl From<outlook::OutlookError> for StageError {
    fn from(error: outlook::OutlookError) -> Self {
        Self::Usage { message: error.to_string() }
    }
}
