//! One log: its bytes in, its channels, rejected rows and account out.
//!
//! The way of a log, in folders of these names:
//!
//! 1. text: bytes decoded to records (`crate::text`).
//! 2. `grid`: where the table begins, and how its cells are parted.
//! 3. `facts`: what the log itself shows.
//! 4. `plan`: how it is to be read; decided once, and only looked at from then on.
//! 5. `rows`: one pass over all lines.
//! 6. `settle`: passes over the rows in a stated order, each for one thing.
//! 7. `finished`: the log.
//!
//! What a step finds out is a `finding`, what it must ask a `question`: both are data, and
//! their words are made there alone.

mod answered;
mod describe;
mod facts;
mod finding;
mod finish;
mod finished;
mod grid;
mod options;
mod physics;
mod plan;
mod question;
mod range;
mod reason;
mod rows;
mod settle;
mod shown;
mod siblings;
mod sketch;
mod suggest;
mod words;

pub use answered::Answered;
pub(crate) use finish::{further_questions, kind_of, read_hashed, read_likeliest};
pub use finish::{log_kind, read_log_bytes};
pub use finished::{Log, LogChannel, TimeBase};
pub use options::{ReadOptions, SheetHint};
pub use siblings::SiblingOrders;
