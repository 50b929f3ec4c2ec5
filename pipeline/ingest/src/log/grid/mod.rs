//! Text to grid: where the table begins, and how its cells are parted.

pub(crate) mod cells;
pub(crate) mod find;
mod header;
pub(crate) mod score;
