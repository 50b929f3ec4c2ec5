//! What can go wrong with rows.

use thiserror::Error;

/// Why a table does not hold the rows that it should.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RowsError {
    /// A column is missing, of another kind, or without a value that it must have.
    #[error("column `{column}`: {message}")]
    Column {
        /// The column.
        column: String,
        /// What is wrong.
        message: String,
    },
}

impl RowsError {
    /// What is wrong with a column.
    pub fn column(column: impl Into<String>, message: impl Into<String>) -> Self {
        Self::Column { column: column.into(), message: message.into() }
    }
}
