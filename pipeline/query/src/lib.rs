//! Tables asked across cooks: read-only SQL over named tables, a table as the answer.
//!
//! [`Question::parse`] looks at the words before anything is read: it refuses what is no
//! question and names the tables that are needed. [`Question::ask`] answers it over
//! [`Tables`]; [`Tables::ask`] does both. The rows of an answer come in one order whatever the engine did: that of
//! ORDER BY, ties and questions without one by all columns from left to right; rows without
//! a value come last unless NULLS FIRST is written.
//!
//! ```
//! let cooks = columns::table!("pit" => ["big", "small", "big"], "stall_min" => [212.0, 95.5, 188.0]);
//! let mut tables = query::Tables::default();
//! tables.add("cooks", &cooks)?;
//! let expected = columns::table!("pit" => ["big", "small"], "stall_min" => [200.0, 95.5]);
//! let sql = "SELECT pit, AVG(stall_min) AS stall_min FROM cooks GROUP BY pit";
//! assert_eq!(tables.ask(sql)?, expected);
//! # Ok::<(), query::QueryError>(())
//! ```
//!
//! Instants are compared with ISO 8601 text, with or without `Z`; a difference of instants is
//! given in seconds, in a column whose name ends in `_s`.

mod ask;
mod check;
mod error;
mod frame;
mod order;
mod question;

pub use ask::Answer;
pub use error::QueryError;
pub use frame::Tables;
pub use question::Question;
