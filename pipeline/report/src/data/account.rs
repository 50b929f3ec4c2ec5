//! What was read, what was not used, and how to make the same report again.

use cook::LineAccount;
/// A label and how many there are of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Counted {
    /// What is counted.
    pub label: String,
    /// How many.
    pub count: usize,
}

/// A caution beyond the standing ones, for instance a cook whose food was held too cool.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Caution {
    /// The cook it is about; `None` for the whole season.
    pub cook: Option<String>,
    /// One or two sentences.
    pub text: String,
}

/// A row that was not used.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RejectedRow {
    /// The file, relative to the season folder.
    pub source: String,
    /// Line in the file, from 1.
    pub line: Option<u64>,
    /// Column name, or its number from 1 where the file names none.
    pub column: Option<String>,
    /// The stable code of the reason, for instance `bad-number`.
    pub code: String,
    /// The offending text as it stands in the file (a builder may cut it).
    pub text: String,
    /// The reason in words.
    pub explanation: Option<String>,
}

/// A cook left out of the report.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ExcludedCook {
    /// The cook's id.
    pub cook: String,
    /// Why, in words: the card's own reason, or what was missing.
    pub reason: String,
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
    pub layout: Option<String>,
    /// Where its lines went.
    pub account: LineAccount,
    /// What else is to be known of how it was read, one sentence.
    pub note: Option<String>,
}

/// A section of the methods text.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TextSection {
    /// Its heading.
    pub heading: String,
    /// Its paragraphs, as plain text.
    pub paragraphs: Vec<String>,
    /// The sources of its formulas, as plain text.
    pub sources: Vec<String>,
}

/// A file that holds what the report shows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DataFile {
    /// Its path, relative to the report.
    pub path: String,
    /// What is in it.
    pub holds: String,
}

/// One input and its content hash.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct InputHash {
    /// The file, relative to the season folder.
    pub path: String,
    /// Its SHA-256 in lower-case hexadecimal digits.
    pub sha256: String,
}

/// What is needed to make the same report again.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Stamp {
    /// The version of the program.
    pub version: String,
    /// SHA-256 of the settings in use.
    pub settings_hash: String,
    /// The inputs with their hashes, in path order.
    pub inputs: Vec<InputHash>,
    /// The seed of every random draw.
    pub seed: u64,
}
