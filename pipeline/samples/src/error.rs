//! Why a recording cannot be written as text.

use thiserror::Error;

/// Why no log was written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WriteError {
    /// A row of readings that does not fit its set's channels.
    #[error("row {row} (from 0) has {found} values for {expected} channels")]
    RowLength {
        /// Index of the row.
        row: usize,
        /// Values in it.
        found: usize,
        /// Channels of the set.
        expected: usize,
    },
    /// An instant outside the calendar.
    #[error("instant {at_ms} ms UTC cannot be written: {reason}")]
    Instant {
        /// The instant.
        at_ms: i64,
        /// Why.
        reason: String,
    },
}
