//! Facts to plan: how a log is read, decided once and never changed.
//!
//! Each file decides one thing, and says at its head or function by what, the strongest first. A
//! decision is a [`Finding`](super::finding::Finding) with what decided it; where nothing decides,
//! it is a [`Question`](super::question::Question).

pub(crate) mod channels;
pub(crate) mod date_order;
pub(crate) mod decide;
mod decimal;
pub(crate) mod form;
mod missing;
mod time_columns;
mod time_format;
mod unit;
