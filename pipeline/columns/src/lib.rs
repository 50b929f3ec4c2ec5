//! Typed columns and tables of them: plain vectors, so that every room can hand rows on
//! without knowing how they are stored or asked.
//!
//! ```
//! let table = columns::table!("cook" => ["a", "b"], "stall_min" => [Some(212.0), None]);
//! assert_eq!(table.rows(), 2);
//! assert_eq!(table.column("stall_min").unwrap().missing(), 1);
//! ```

mod column;
mod table;

pub use column::{Cell, Column, iso_instant};
pub use table::Table;
