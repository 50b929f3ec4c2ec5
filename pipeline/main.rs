//! The `cookstudy` command: parse, call a stage, print.
fn main() {}
