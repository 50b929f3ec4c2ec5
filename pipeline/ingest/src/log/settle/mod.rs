//! Rows to readings: what hangs on more than one line, in passes.
//!
//! Each pass is a file, and [`passes::PASSES`] is their order, with the reason for each place.

mod book;
mod curve;
mod direction;
mod doubles;
mod first_day;
mod footer;
mod instants;
mod jumps;
mod never_set;
mod order;
pub(crate) mod passes;
mod put_on;
mod readings;
mod resets;
mod restart;
mod roles;
pub(crate) mod scale;
mod sentinels;
mod steps;
mod tails;
mod unit;
mod usable;
mod zero;
