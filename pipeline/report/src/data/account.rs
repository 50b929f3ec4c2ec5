//! What was read and what was not used.

use cook::LineAccount;
/// A label and how many there are of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Counted {
    /// What is counted.
    pub label: String,
    /// How many.
    pub count: usize,
}

/// A log that was not read at all.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RefusedLog {
    /// The file, relative to the season folder.
    pub source: String,
    /// Why, in words.
    pub reason: String,
    /// What to try.
    pub remedy: Option<String>,
}

/// Where the lines of one source went.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SourceAccount {
    /// The file, relative to the season folder.
    pub source: String,
    /// The layout it was read with, or the kind of sheet.
    pub layout: String,
    /// Where its lines went.
    pub account: LineAccount,
}

/// A file that holds what the report shows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DataFile {
    /// Its path, relative to the report.
    pub path: String,
    /// What is in it.
    pub holds: String,
}
