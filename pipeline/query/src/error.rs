//! Why a question has no answer.

use thiserror::Error;

/// What is wrong with a question; nothing was answered.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum QueryError {
    /// The text is no SQL.
    #[error("this is no SQL that can be read: {message}{}", hint(nearest.as_deref()))]
    Syntax {
        /// What the reader expected, and where.
        message: String,
        /// The word that may have been meant.
        nearest: Option<String>,
    },
    /// The text is SQL, but asks for more than reading a table.
    #[error("{0}")]
    Refused(String),
    /// A table or column that is not there.
    #[error("there is no {what} `{name}`{}", hint(nearest.as_deref()))]
    Unknown {
        /// `table`, `column` or `function`.
        what: &'static str,
        /// The name.
        name: String,
        /// The name that may have been meant, or what to do.
        nearest: Option<String>,
    },
    /// The question cannot be answered.
    #[error("{0}")]
    Failed(String),
}

fn hint(nearest: Option<&str>) -> String {
    nearest.map_or(String::new(), |name| format!("; did you mean {name}?"))
}

/// The candidate nearest to a word, in backquotes; `None` where none is near.
pub(crate) fn nearest<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    cook::settings::nearest(word, candidates).map(|name| format!("`{name}`"))
}
