//! Where in a file something is.

use std::fmt;

/// Where in a file something was found: the start of every message.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Place {
    /// The file as it is shown, relative to the season folder.
    pub path: String,
    /// Line, from 1; 0 where the whole file is meant.
    pub line: u64,
    /// Column name, where one cell is to blame.
    pub column: Option<String>,
    /// The offending text; empty where there is none.
    pub text: String,
}

impl Place {
    /// A whole file.
    pub fn file(path: &str) -> Self {
        Self { path: path.to_owned(), ..Self::default() }
    }

    /// A line of a file and its text.
    pub fn line(path: &str, line: u64, text: &[u8]) -> Self {
        Self { path: path.to_owned(), line, column: None, text: shown(text) }
    }

    /// A cell of a file and its text.
    pub fn cell(path: &str, line: u64, column: &str, text: &[u8]) -> Self {
        Self { path: path.to_owned(), line, column: Some(column.to_owned()), text: shown(text) }
    }
}

impl Place {
    /// As `file`, `file:line` or `file:line column`.
    pub fn short(&self) -> String {
        let mut short = self.path.clone();
        if self.line > 0 {
            short += &format!(":{}", self.line);
        }
        if let Some(column) = &self.column {
            short += &format!(" {column}");
        }
        short
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.path)?;
        if self.line > 0 {
            write!(f, ":{}", self.line)?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column `{column}`")?;
        }
        Ok(())
    }
}

/// Text of a file as it can be shown in a message: valid, on one line, not endless.
pub(crate) fn shown(text: &[u8]) -> String {
    const LONGEST: usize = 120;
    let text = String::from_utf8_lossy(text);
    let mut line: String = text.trim().chars().take(LONGEST).flat_map(char::escape_debug).collect();
    // `escape_debug` also escapes quotes and accents' marks; quotes read better as they are.
    line = line.replace("\\\"", "\"").replace("\\'", "'");
    if text.trim().chars().count() > LONGEST {
        line.push('…');
    }
    line
}
