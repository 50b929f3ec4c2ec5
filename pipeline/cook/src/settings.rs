//! Reading TOML settings with errors that say where and what to try.

use serde::de::DeserializeOwned;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why settings could not be read.
#[derive(Debug, Error)]
pub enum SettingsError {
    /// The file cannot be read.
    #[error("{}: {source}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The text is not what was expected.
    #[error("{}:{line}:{column}: {message}\n  {text}{}", path.display(), suggestion_text(suggestion.as_deref()))]
    Text {
        /// The file.
        path: PathBuf,
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What is wrong.
        message: String,
        /// The line's text.
        text: String,
        /// The known key nearest to an unknown one.
        suggestion: Option<String>,
    },
    /// Values that contradict each other or the world.
    #[error("{}: {message}", path.display())]
    Value {
        /// The file.
        path: PathBuf,
        /// What is wrong and what to try.
        message: String,
    },
}

fn suggestion_text(suggestion: Option<&str>) -> String {
    suggestion.map_or(String::new(), |key| format!("\n  did you mean `{key}`?"))
}

/// Reads a TOML file into `T`.
///
/// # Errors
/// [`SettingsError::Unreadable`] and [`SettingsError::Text`].
pub fn read<T: DeserializeOwned>(path: &Path) -> Result<T, SettingsError> {
    let text = std::fs::read_to_string(path)
        .map_err(|source| SettingsError::Unreadable { path: path.to_owned(), source })?;
    parse(&text, path)
}

/// Parses TOML text into `T`; `path` is only for messages.
///
/// # Errors
/// [`SettingsError::Text`].
pub fn parse<T: DeserializeOwned>(text: &str, path: &Path) -> Result<T, SettingsError> {
    toml::from_str(text).map_err(|error| {
        let start = error.span().map_or(0, |span| span.start.min(text.len()));
        let before = &text[..start];
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().map_or(0, |tail| tail.chars().count()) + 1;
        let message = error.message().trim().to_owned();
        SettingsError::Text {
            path: path.to_owned(),
            line,
            column,
            text: text.lines().nth(line - 1).unwrap_or("").trim().to_owned(),
            suggestion: nearest_known(&message),
            message,
        }
    })
}

/// The known key nearest to the unknown one that serde's message names: the first word
/// in back-ticks is what was found, the others what was expected.
fn nearest_known(message: &str) -> Option<String> {
    if !message.starts_with("unknown ") {
        return None;
    }
    let mut words = message.split('`').skip(1).step_by(2);
    let found = words.next()?;
    nearest(found, words)
}

/// The candidate most like `word`, if any is alike (Jaro–Winkler similarity of at least
/// 0.75; Winkler 1990); capitals tell no words apart.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let word = word.to_lowercase();
    candidates
        .into_iter()
        .map(|candidate| (strsim::jaro_winkler(&word, &candidate.to_lowercase()), candidate))
        .filter(|(score, _)| *score >= 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::season::Season;

    fn error(text: &str) -> String {
        parse::<Season>(text, Path::new("season.toml")).unwrap_err().to_string()
    }

    #[test]
    fn an_unknown_key_is_named_with_place_and_suggestion() {
        let message = error("team = \"A\"\ntime_zome = \"UTC\"\n");
        assert!(message.starts_with("season.toml:2:1: unknown field `time_zome`"), "{message}");
        assert!(message.ends_with("did you mean `time_zone`?"), "{message}");
    }

    #[test]
    fn an_unknown_nested_key_is_named() {
        let message = error("[phases]\nstall_fracton = 0.3\n");
        assert!(message.contains(":2:1:"), "{message}");
        assert!(message.contains("did you mean `stall_fraction`?"), "{message}");
    }

    #[test]
    fn a_value_of_the_wrong_kind_is_shown() {
        let message = error("team = \"A\"\nunits = \"imperial\"\n");
        assert!(message.contains("season.toml:2:"), "{message}");
        assert!(message.contains("units = \"imperial\""), "{message}");
    }

    #[test]
    fn nothing_alike_gives_no_suggestion() {
        assert_eq!(nearest("zzz", ["team", "units"]), None);
        assert_eq!(nearest("unit", ["team", "units"]).as_deref(), Some("units"));
    }
}
