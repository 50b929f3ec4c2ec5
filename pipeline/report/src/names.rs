//! Columns in words, and what their numbers are.

pub use columns::names::{
    covariate, label as name_of, label_within as name_within, quantity as quantity_of,
};
