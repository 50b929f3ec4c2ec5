//! Facts to plan: how a log is read, decided once and never changed.
//!
//! What decides is, in this order: the layout, the season's settings for this log, the log's own
//! facts, what the sheet and sibling logs tell, the season's default. Each decision is a
//! [`Finding`](super::finding::Finding) with what decided it; where nothing decides, it is a
//! [`Question`](super::question::Question).

pub(crate) mod channels;
mod date_order;
pub(crate) mod decide;
mod decimal;
pub(crate) mod form;
mod missing;
mod time_columns;
mod time_format;
mod unit;
