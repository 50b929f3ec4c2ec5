//! Plan to rows: the one pass over the lines of a log.
//!
//! It reads what each line says and judges nothing that hangs on other lines; that is for
//! [`settle`](super::settle).

mod cell;
pub(crate) mod ledger;
mod missing;
pub(crate) mod pass;
pub(crate) mod series;
pub(crate) mod tails;
