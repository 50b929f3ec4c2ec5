//! What can go wrong with a store.

use rows::RowsError;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why the store could not be read or written.
#[derive(Debug, Error)]
pub enum StoreError {
    /// The folder is not there.
    #[error("{}: no store here; `cookstudy ingest` or `cookstudy run` makes one", path.display())]
    Missing {
        /// The folder.
        path: PathBuf,
    },
    /// A table is not there yet.
    #[error("{}: not there yet; make it with `{command}`", path.display())]
    MissingTable {
        /// The file.
        path: PathBuf,
        /// The command that makes it.
        command: &'static str,
    },
    /// Somebody else is writing.
    #[error("{}: another cookstudy is writing this store; try again when it is done", path.display())]
    Locked {
        /// The store's folder.
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
    /// The file is no Parquet file, or a damaged one.
    #[error("{}: not a readable Parquet file ({message}); delete it and run the stage again", path.display())]
    Parquet {
        /// The file.
        path: PathBuf,
        /// What the reader said.
        message: String,
    },
    /// A file that is not what its stage wrote there.
    #[error("{}: is not what was written there; make it anew with `cookstudy run`, or `cookstudy {stage}` where there is no season folder", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The stage that wrote it.
        stage: &'static str,
    },
    /// A table that was written after the rows that belong to it were made.
    #[error("{}: was written anew while rows were made of it; make them once more", path.display())]
    WrittenMeanwhile {
        /// The file.
        path: PathBuf,
    },
    /// A column is missing or of another type than the store writes.
    #[error("{}: column `{column}`: {message}", path.display())]
    Column {
        /// The file.
        path: PathBuf,
        /// The column.
        column: String,
        /// What is wrong.
        message: String,
    },
    /// A cook without readings.
    #[error(
        "{}: no readings of the cook `{cook}` (season {season}); run `cookstudy run` or `cookstudy ingest` again",
        folder.display()
    )]
    NoReadings {
        /// The cook.
        cook: String,
        /// The season it was looked for in.
        season: String,
        /// The season's folder.
        folder: PathBuf,
    },
    /// Two cooks of one name.
    #[error(
        "cook `{cook}` is already in the store, in season {there}; names must be unique: rename one of them (here it is in season {here})"
    )]
    Clash {
        /// The cook.
        cook: String,
        /// The season it is in already.
        there: String,
        /// The season it was to be written to.
        here: String,
    },
}

impl StoreError {
    /// What is wrong with the rows of a file.
    pub fn rows(path: &Path, error: RowsError) -> Self {
        match error {
            RowsError::Column { column, row: None, message } => {
                Self::Column { path: path.to_owned(), column, message }
            }
            RowsError::Column { column, row: Some(row), message } => Self::Column {
                path: path.to_owned(),
                column,
                message: format!("row {row}: {message}"),
            },
        }
    }

    pub(crate) fn io(path: &Path, source: std::io::Error) -> Self {
        Self::Io { path: path.to_owned(), source }
    }

    pub(crate) fn parquet(path: &Path, message: &dyn std::fmt::Display) -> Self {
        Self::Parquet { path: path.to_owned(), message: message.to_string() }
    }

    pub(crate) fn column(path: &Path, column: &str, message: impl Into<String>) -> Self {
        Self::Column { path: path.to_owned(), column: column.to_owned(), message: message.into() }
    }
}
