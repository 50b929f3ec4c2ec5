//! What can be wrong with a claim.

use thiserror::Error;

/// What is wrong with a claim, and what to try.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ClaimProblem {
    /// A claim without a name.
    #[error("claim number {position} has an empty `id`: give it a short unique name")]
    NoId {
        /// Place in the file, from 1.
        position: usize,
    },
    /// Two claims bear the same name.
    #[error("two claims have the id `{id}`: rename one")]
    DuplicateId {
        /// The name.
        id: String,
    },
    /// A key that this kind of claim needs.
    #[error("claim `{id}`: kind `{kind}` needs `{key}` ({what})")]
    MissingKey {
        /// The claim.
        id: String,
        /// Its kind.
        kind: &'static str,
        /// The key.
        key: &'static str,
        /// What it says.
        what: &'static str,
    },
    /// A key that this kind of claim does not use.
    #[error("claim `{id}`: kind `{kind}` does not use `{key}`; take it out or change the kind")]
    UnusedKey {
        /// The claim.
        id: String,
        /// Its kind.
        kind: &'static str,
        /// The key.
        key: &'static str,
    },
    /// A number that must lie above zero does not.
    #[error("claim `{id}`: `{key}` must be a number above 0, not {value}")]
    NotAboveZero {
        /// The claim.
        id: String,
        /// The key.
        key: &'static str,
        /// Its value.
        value: f64,
    },
    /// A number beyond anything that can be meant.
    #[error("claim `{id}`: `{key}` is {}, more than {most}: check the unit", in_brief(*value))]
    TooLarge {
        /// The claim.
        id: String,
        /// The key.
        key: &'static str,
        /// Its value.
        value: f64,
        /// The largest that is taken.
        most: f64,
    },
    /// `levels` are not two different ones.
    #[error(
        "claim `{id}`: `levels` must name two different levels, first against second, not {}",
        listed(found)
    )]
    Levels {
        /// The claim.
        id: String,
        /// What it names.
        found: Vec<String>,
    },
    /// A wrapping strategy that cannot be followed.
    #[error("claim `{id}`: {message}")]
    Strategies {
        /// The claim.
        id: String,
        /// What is wrong and what to write.
        message: String,
    },
    /// A value that the kind does not allow.
    #[error("claim `{id}`: {key} = `{value}`: {message}")]
    BadValue {
        /// The claim.
        id: String,
        /// The key.
        key: &'static str,
        /// Its value.
        value: String,
        /// What is wrong and what to write.
        message: String,
    },
    /// A column that plays two parts.
    #[error("claim `{id}`: column `{column}` is named twice: {parts}")]
    ColumnTwice {
        /// The claim.
        id: String,
        /// The column.
        column: String,
        /// The parts it plays.
        parts: String,
    },
    /// A column that the table does not have.
    #[error("claim `{id}`: `{key}` names column `{column}`, which the table does not have{}", did_you_mean(nearest.as_deref()))]
    UnknownColumn {
        /// The claim.
        id: String,
        /// The key.
        key: &'static str,
        /// The column.
        column: String,
        /// The table's column with the nearest name.
        nearest: Option<String>,
    },
    /// A column that must hold numbers does not.
    #[error("claim `{id}`: `{key}` needs numbers, but column `{column}` {found}")]
    NotNumeric {
        /// The claim.
        id: String,
        /// The key.
        key: &'static str,
        /// The column.
        column: String,
        /// What it holds.
        found: String,
    },
}

fn listed(found: &[String]) -> String {
    if found.is_empty() {
        "none".into()
    } else {
        found.iter().map(|level| format!("`{level}`")).collect::<Vec<_>>().join(", ")
    }
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or(String::new(), |name| format!("; did you mean `{name}`?"))
}

/// A number that people can read at a glance, however large it is.
fn in_brief(value: f64) -> String {
    if value < 1e9 { value.to_string() } else { format!("{value:e}") }
}
