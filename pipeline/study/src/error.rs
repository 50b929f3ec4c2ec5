//! The one error type of the crate.

use crate::claims::ClaimProblem;
use cook::SettingsError;
use std::path::PathBuf;
use thiserror::Error;

/// Why a study could not be made. A question that the data cannot answer is not an error
/// but a refusal inside the result.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum StudyError {
    /// A column that every table needs is missing.
    #[error("the table has no column `{column}` ({why}){}", did_you_mean(nearest.as_deref()))]
    MissingColumn {
        /// The column.
        column: String,
        /// What it is needed for.
        why: String,
        /// The table's column with the nearest name.
        nearest: Option<String>,
    },
    /// A column holds something other than what its name promises.
    #[error("column `{column}` should hold {expected}, but row {row} has `{text}`")]
    ColumnValue {
        /// The column.
        column: String,
        /// What it should hold.
        expected: &'static str,
        /// Row of the table, from 1.
        row: usize,
        /// The value.
        text: String,
    },
    /// A column is of a type that cannot be read at all.
    #[error("column `{column}` should hold {expected}, but is of type {found}")]
    ColumnType {
        /// The column.
        column: String,
        /// What it should hold.
        expected: &'static str,
        /// The type found.
        found: String,
    },
    /// An argument that cannot be made a claim as it was answered.
    #[error("{message}")]
    Argument {
        /// What is wrong, and what to type.
        message: String,
    },
    /// A file of effects that cannot be combined.
    #[error("{}: {message}", path.display())]
    Effects {
        /// The file.
        path: PathBuf,
        /// What is wrong, and what to do.
        message: String,
    },
    /// A row does not say which cook it is.
    #[error("row {row} has no value in column `cook`: every row needs its cook's name")]
    UnnamedCook {
        /// Row of the table, from 1.
        row: usize,
    },
    /// Two rows bear the same cook.
    #[error("cook `{cook}` is in the table twice (rows {first} and {second}): one row a cook")]
    DuplicateCook {
        /// The cook.
        cook: String,
        /// The first of the rows, from 1.
        first: usize,
        /// The second of them, from 1.
        second: usize,
    },
    /// The claims contradict themselves or the table.
    #[error("{}: {}", path.display(), list(problems))]
    Claims {
        /// The claims file.
        path: PathBuf,
        /// All that is wrong, in the file's order.
        problems: Vec<ClaimProblem>,
    },
    /// Claims or lock are not the TOML that was expected.
    #[error(transparent)]
    Settings(#[from] SettingsError),
    /// The lock contradicts itself.
    #[error("{}: {message}", path.display())]
    Lock {
        /// The lock file.
        path: PathBuf,
        /// What is wrong and what to try.
        message: String,
    },
    /// A text could not be written as TOML or JSON.
    #[error("the {what} could not be written: {message}")]
    Write {
        /// What was to be written.
        what: &'static str,
        /// What the serialiser said.
        message: String,
    },
    /// A model could not be made that could be a moment before.
    #[error("a model could not be made: {message}")]
    Unexpected {
        /// What was said.
        message: String,
    },
    /// An estimator failed on input that was checked before.
    #[error("an estimate failed: {0}")]
    Statistics(#[from] stats::StatsError),
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or(String::new(), |name| format!("; did you mean `{name}`?"))
}

fn list(problems: &[ClaimProblem]) -> String {
    match problems {
        [one] => one.to_string(),
        many => {
            many.iter().fold(String::new(), |text, problem| text + "\n  - " + &problem.to_string())
        }
    }
}
