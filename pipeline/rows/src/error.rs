//! What can go wrong with rows.

use thiserror::Error;

/// Why a table does not hold the rows that it should.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RowsError {
    /// A column is missing, of another kind, or without a value that it must have.
    #[error("column `{column}`{}: {message}", in_row(*row))]
    Column {
        /// The column.
        column: String,
        /// The row of the table, from 1, where it is one.
        row: Option<u64>,
        /// What is wrong.
        message: String,
    },
}

impl RowsError {
    /// What is wrong with a column.
    pub fn column(column: impl Into<String>, message: impl Into<String>) -> Self {
        Self::Column { column: column.into(), row: None, message: message.into() }
    }

    /// Where it is: a row of the table, from 1.
    #[must_use]
    pub fn at_row(self, row: u64) -> Self {
        let Self::Column { column, message, .. } = self;
        Self::Column { column, row: Some(row), message }
    }

    /// The same of a table that has so many rows more before these.
    #[must_use]
    pub fn behind(self, rows: u64) -> Self {
        match self {
            Self::Column { row: Some(row), .. } => self.at_row(rows + row),
            error @ Self::Column { .. } => error,
        }
    }
}

fn in_row(row: Option<u64>) -> String {
    row.map_or(String::new(), |row| format!(", row {row}"))
}
