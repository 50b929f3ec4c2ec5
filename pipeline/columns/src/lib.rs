//! Typed columns and tables of them: plain vectors, so that every room can hand rows on
//! without knowing how they are stored or asked; and what each column is, said once.
//!
//! ```
//! let table = columns::table!("cook" => ["a", "b"], "stall_min" => [Some(212.0), None]);
//! assert_eq!(table.rows(), 2);
//! assert_eq!(table.column("stall_min").unwrap().missing(), 1);
//! ```
//!
//! [`measures`], [`card`], [`history`], [`degrees`], [`derived`] and [`tables`] list the columns: one
//! [`Description`] each, from which schemas, the sheet's reader, labels, units and merge's
//! anonymising come. Code names a column by its constant, as in `measures::STALL_MIN.name`; names
//! that come from outside (a claim's, a sheet's) are looked up in [`names`].

mod access;
pub mod card;
mod column;
pub mod degrees;
pub mod derived;
mod describe;
pub mod history;
pub mod measures;
pub mod names;
pub mod packed;
pub mod quantity;
pub mod readings;
mod row;
pub mod sheet;
mod table;
pub mod tables;
mod value;

pub use column::{Cell, Column, iso_instant};
pub use describe::{Bound, Description, Shown};
pub use packed::{Pack, Packed};
pub use quantity::{Covariate, Quantity};
pub use readings::{PackedChannel, PackedReadings};
pub use row::Row;
pub use table::Table;
pub use value::{Field, Instant, Kind, Value};

#[cfg(test)]
mod tests;
