//! What can stop a file from being read.

pub use crate::place::Place;
pub(crate) use crate::place::shown;
use crate::question::Asked;
use cook::{Question, QuestionCode};
use thiserror::Error;

fn quoted(place: &Place) -> String {
    if place.text.is_empty() { String::new() } else { format!("\n  {}", place.text) }
}

fn answers(question: &Question) -> String {
    question.answers.iter().fold(String::new(), |mut lines, answer| {
        lines.push_str(&format!("\n  {}: {}", answer.take, answer.then));
        lines
    })
}

/// Why a log or sheet could not be read. Every variant says where, what and what to try.
#[derive(Debug, Error)]
pub enum IngestError {
    /// The file cannot be opened or read.
    #[error("{place}: cannot be read: {source}\n  try: {try_this}")]
    Unreadable {
        /// The file.
        place: Box<Place>,
        /// What the system said.
        source: std::io::Error,
        /// What to try.
        try_this: String,
    },
    /// The file is no text this crate reads (another encoding, a workbook, an archive).
    #[error("{place}: {what}{}\n  try: {try_this}", quoted(place))]
    NotText {
        /// Where the first thing that is no text stands.
        place: Box<Place>,
        /// What it looks like.
        what: String,
        /// What to try.
        try_this: String,
    },
    /// A workbook, an archive or a compressed file that is damaged, encrypted, or larger
    /// inside than it may be.
    #[error("{place}: {what}\n  try: {try_this}")]
    BadContainer {
        /// The file.
        place: Box<Place>,
        /// What is wrong with it.
        what: String,
        /// What to try.
        try_this: String,
    },
    /// No table of times and temperatures, or of cooks, was found in the file.
    #[error("{place}: {what}{}\n  try: {try_this}", quoted(place))]
    NoTable {
        /// Where the search ended or what it stumbled over.
        place: Box<Place>,
        /// What is missing.
        what: String,
        /// What to try.
        try_this: String,
    },
    /// The file can be read in two ways that give different values; nobody but the user
    /// knows which.
    #[error(
        "{place}: {}{}{}\n  try: an answer to {} in questions.toml, or {}",
        asked.question.asks, quoted(place), answers(&asked.question), asked.question.id, asked.setting
    )]
    NeedsAnswer {
        /// The first line on which the readings differ.
        place: Box<Place>,
        /// What is asked.
        asked: Box<Asked>,
    },
    /// The file contradicts itself or the layout it is read by.
    #[error("{place}: {what}{}\n  try: {try_this}", quoted(place))]
    Contradiction {
        /// Where.
        place: Box<Place>,
        /// What contradicts what.
        what: String,
        /// What to try.
        try_this: String,
    },
    /// More lines would be rejected than used: the file is not what it was taken for.
    #[error(
        "{place}: {rejected} of {lines} lines with data cannot be used, most for `{code}`; the first of them:{}\n  try: {try_this}",
        quoted(place)
    )]
    MostLinesRejected {
        /// The first line that would be rejected for the commonest reason.
        place: Box<Place>,
        /// Lines that would be rejected.
        rejected: u64,
        /// Lines that should have held data.
        lines: u64,
        /// The commonest reason.
        code: String,
        /// What to try.
        try_this: String,
    },
    /// A layout file says something that cannot be.
    #[error("{place}: {what}{}\n  try: {try_this}", quoted(place))]
    BadLayout {
        /// The layout's name or file, and the key as column.
        place: Box<Place>,
        /// What is wrong.
        what: String,
        /// What to try.
        try_this: String,
    },
    /// A layout file that is not what a layout is: not TOML, an unknown key.
    #[error(transparent)]
    LayoutText(#[from] cook::SettingsError),
    /// Two rows of the season sheets name the same cook.
    #[error(
        "{place}: the cook `{}` is already on line {first_line} of {first_path}\n  try: {try_this}",
        place.text
    )]
    DuplicateCook {
        /// The later row.
        place: Box<Place>,
        /// The file of the earlier row.
        first_path: String,
        /// The earlier row's line.
        first_line: u64,
        /// What to try.
        try_this: String,
    },
    /// The sheet names a log that is not among the logs.
    #[error("{place}: no log is called{}\n  try: {try_this}", quoted(place))]
    LogNotFound {
        /// The sheet's cell.
        place: Box<Place>,
        /// What to try, with the nearest file name.
        try_this: String,
    },
    /// The cook's logs cannot be joined into its readings.
    #[error("{place}: {what}{}\n  try: {try_this}", quoted(place))]
    CannotAssemble {
        /// The log, or the sheet's cell.
        place: Box<Place>,
        /// What is in the way.
        what: String,
        /// What to try.
        try_this: String,
    },
}

impl IngestError {
    /// Where the error was found; `None` only for a layout's TOML, whose message has it.
    pub fn place(&self) -> Option<&Place> {
        match self {
            Self::Unreadable { place, .. }
            | Self::NotText { place, .. }
            | Self::BadContainer { place, .. }
            | Self::NoTable { place, .. }
            | Self::NeedsAnswer { place, .. }
            | Self::Contradiction { place, .. }
            | Self::MostLinesRejected { place, .. }
            | Self::BadLayout { place, .. }
            | Self::DuplicateCook { place, .. }
            | Self::LogNotFound { place, .. }
            | Self::CannotAssemble { place, .. } => Some(place),
            Self::LayoutText(_) => None,
        }
    }

    /// Whether the order of day and month, or the unit, is open: other logs of the same
    /// layout may tell it ([`crate::SiblingOrders`]).
    pub fn asks_siblings(&self) -> bool {
        let asked = [QuestionCode::DateOrder, QuestionCode::UnitOfTemperatures];
        self.question().is_some_and(|question| asked.contains(&question.code))
    }

    /// Whether an answer would let the file be read.
    pub fn needs_answer(&self) -> bool {
        matches!(self, Self::NeedsAnswer { .. })
    }

    /// What is asked, where an answer would let the file be read.
    pub fn question(&self) -> Option<&Question> {
        match self {
            Self::NeedsAnswer { asked, .. } => Some(&asked.question),
            _ => None,
        }
    }

    /// The same error in a log of a kind; see [`Asked`].
    pub(crate) fn of_kind(self, kind: &str) -> Self {
        match self {
            Self::NeedsAnswer { place, asked } => {
                Self::NeedsAnswer { place, asked: Box::new(asked.of_kind(kind)) }
            }
            other => other,
        }
    }
}
