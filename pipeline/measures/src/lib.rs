//! One cook in, one row of measures out.
//!
//! [`measure`] takes a cook's card and its segmentation and gives a [`MeasureRow`]: the
//! columns of the season's measure table. [`COLUMN_DOCS`] says what each column is, from
//! which schemas and documents are made; struct, view and docs come from one list
//! (`row.rs`), so that they cannot disagree. [`history()`] gives the cook on the study
//! clock, one row every ten minutes.
//!
//! The **study clock** starts at the first core sample at `stall_from_c` (55 °C) and ends
//! at the first at `finish_c` (88 °C), for every cook, whatever the card's target. A clock
//! instant that the log does not show (it begins when the core is already past it) is not
//! known, and everything that counts from it is null.

mod clock;
mod column;
mod handling;
mod history;
mod measure;
mod row;
mod tender;
mod time_temperature;
mod wet_bulb;

pub use clock::StudyClock;
pub use column::{ColumnDoc, ColumnKind, Value};
pub use history::{HISTORY_COLUMN_DOCS, HistoryInput, HistoryRow, history};
pub use measure::{MeasureInput, measure};
pub use phases::{NoStallDelay, StallDelay, stall_delay};
pub use row::{COLUMN_DOCS, MeasureRow, Named};
