//! One cook in, all its derived rows out.
//!
//! ```text
//! readings, card, events ─> Started ─(what others lend)─> Derived
//!                                                           ├─ phases flags channels warnings
//!                                                           └─ measures history moved moved_history
//! ```
//!
//! [`Started`] cleans and smooths a cook, which is nearly all that a cook costs and is done once,
//! whatever is asked of it afterwards: its phases with their intervals, its measures, its history on
//! the study clock, and what its stall would be under each moved constant of the definition. A cook
//! that has no reference heating coefficient of its own borrows one from the season's other cooks
//! ([`Lent`]): those are started first, and it waits.
//!
//! Cooks that come as record batches of their readings, from any program that has Arrow, become tables
//! by [`BatchRows`]: no cook needs another one's readings, so that they may be parted as one likes.
//!
//! Nothing is read or written here. Tables ([`columns::Table`]) are the rows' form inside the
//! workspace, Arrow record batches ([`arrow`]) the one outside; each row carries the hash of what it
//! was computed from, and a cook's random draws have a seed of the cook's own.

pub mod arrow;
mod batches;
mod cleaning;
mod cleaning_rows;
mod cook_input;
mod cooks;
mod derive;
mod error;
mod events;
pub mod hash;
mod measured;
mod moved;
mod noted;
mod phase_rows;
pub mod readings;
mod references;
mod typed;
mod unsegmented;

pub use batches::{Asked, BatchRows, CookRows};
pub use cleaning_rows::{
    CookCleaning, channels_to_table, cleaning_from_tables, flags_to_table, warnings_to_table,
};
pub use cook_input::{CookInput, MEASURES, PHASES, Rules};
pub use cooks::{CookRecord, cooks_from_table, cooks_to_table};
pub use derive::{Derived, Started, Want};
pub use error::RowsError;
pub use events::{events_from_table, events_to_table};
pub use hash::Fingerprint;
pub use measured::{Measured, MeasuredCooks, MeasuredTables};
pub use moved::{MovedSeason, MovedStall, moved_seasons, moved_stalls};
pub use noted::NotedCooks;
pub use phase_rows::{CookPhases, PhaseRow, phases_from_table, phases_to_table};
pub use references::Lent;
pub use typed::{Typed, required};

#[cfg(test)]
mod tests;
