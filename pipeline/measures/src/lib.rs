//! One cook in, one row of measures out.
