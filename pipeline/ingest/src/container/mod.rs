//! Compressed files and archives as named inner files.

mod capped;

pub(crate) use capped::Capped;
