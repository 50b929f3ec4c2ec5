//! Readings of a cook, and the account of every line they came from.

use crate::role::Role;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What is to be known of one reading before it is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Flag {
    /// Nothing special.
    Good,
    /// Colder or hotter than the channel can have been; kept in the store, not used.
    OutOfRange,
    /// The row came out of time order in the log and was put in its place.
    Reordered,
    /// The logger's clock was wrong here and was put right by a stated rule.
    Retimed,
}

impl Flag {
    /// Every flag.
    pub const ALL: [Self; 4] = [Self::Good, Self::OutOfRange, Self::Reordered, Self::Retimed];
}

impl Flag {
    /// The flag's word in the store.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::OutOfRange => "out-of-range",
            Self::Reordered => "reordered",
            Self::Retimed => "retimed",
        }
    }

    /// Reads the store's word.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.as_str() == text)
    }

    /// Whether the reading may be used.
    pub fn usable(self) -> bool {
        self != Self::OutOfRange
    }
}

/// Readings of one channel, in time order: five columns of equal length.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelReadings {
    /// The channel's name in its log.
    pub name: String,
    /// What it measures.
    pub role: Role,
    /// Instants, ms UTC, strictly increasing.
    pub at_ms: Vec<i64>,
    /// Temperatures, °C.
    pub temp_c: Vec<f32>,
    /// What is to be known of each.
    pub flag: Vec<Flag>,
    /// Index of each reading's log in [`CookReadings::sources`].
    pub source: Vec<u32>,
    /// Line of each reading in its log, from 1.
    pub line: Vec<u32>,
}

impl ChannelReadings {
    /// An empty channel.
    pub fn new(name: impl Into<String>, role: Role) -> Self {
        Self {
            name: name.into(),
            role,
            at_ms: Vec::new(),
            temp_c: Vec::new(),
            flag: Vec::new(),
            source: Vec::new(),
            line: Vec::new(),
        }
    }

    /// Number of readings.
    pub fn len(&self) -> usize {
        self.at_ms.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.at_ms.is_empty()
    }
}

/// All readings of one cook.
#[derive(Debug, Clone, PartialEq)]
pub struct CookReadings {
    /// The cook.
    pub cook: String,
    /// Its season.
    pub season: String,
    /// Its channels.
    pub channels: Vec<ChannelReadings>,
    /// The logs they came from, relative to the season folder.
    pub sources: Vec<String>,
}

impl CookReadings {
    /// The first instant of any channel, ms UTC: zero of `elapsed_ms`.
    pub fn first_ms(&self) -> Option<i64> {
        self.channels.iter().filter_map(|channel| channel.at_ms.first().copied()).min()
    }

    /// The last instant of any channel, ms UTC.
    pub fn last_ms(&self) -> Option<i64> {
        self.channels.iter().filter_map(|channel| channel.at_ms.last().copied()).max()
    }

    /// Number of readings over all channels.
    pub fn len(&self) -> usize {
        self.channels.iter().map(ChannelReadings::len).sum()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Something that was read and could not be used, with its place and its reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RejectedRow {
    /// The file, relative to the season folder.
    pub source: String,
    /// Line, from 1; 0 where the whole file is meant.
    pub line: u64,
    /// Byte offset of the line in the file.
    pub byte: u64,
    /// Column name, where one cell is to blame.
    pub column: Option<String>,
    /// A short stable code (`bad-time`, `bad-number`, `duplicate-time`, …).
    pub code: String,
    /// The offending text.
    pub text: String,
}

/// What became of every line of a file. [`LineAccount::closes`] must hold.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineAccount {
    /// Lines in the file.
    pub lines: u64,
    /// Lines before the header.
    pub preamble: u64,
    /// Header lines (names, units, repeats).
    pub header: u64,
    /// Empty lines.
    pub blank: u64,
    /// Lines that gave at least one reading, or only missing values.
    pub data: u64,
    /// Lines rejected whole.
    pub rejected: u64,
    /// Lines after the data (totals, remarks).
    pub footer: u64,
    /// Cells that gave a reading.
    pub readings: u64,
    /// Cells that say "no value" (empty, or a sentinel).
    pub missing: u64,
    /// Cells rejected in lines otherwise used.
    pub rejected_cells: u64,
}

impl LineAccount {
    /// Whether every line is accounted for.
    pub fn closes(&self) -> bool {
        self.lines
            == self.preamble + self.header + self.blank + self.data + self.rejected + self.footer
    }
}

impl fmt::Display for LineAccount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} lines = {} preamble + {} header + {} blank + {} data + {} rejected + {} footer",
            self.lines,
            self.preamble,
            self.header,
            self.blank,
            self.data,
            self.rejected,
            self.footer
        )
    }
}

/// One thing that was decided on reading a log, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Evidence {
    /// What was decided (`delimiter`, `time`, `unit of Pit`, `role of Pit`, …).
    pub what: String,
    /// What it was taken to be.
    pub taken_as: String,
    /// What speaks for it.
    pub because: String,
    /// The setting that decides otherwise.
    pub setting: String,
}

/// How one log was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SourceRecord {
    /// The file, relative to the season folder.
    pub path: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub content_hash: String,
    /// Name of the layout it was read by.
    pub layout: String,
    /// Everything that was decided.
    pub evidence: Vec<Evidence>,
    /// What became of its lines.
    pub account: LineAccount,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_account_closes_only_when_every_line_is_placed() {
        let mut account =
            LineAccount { lines: 10, header: 1, data: 8, blank: 1, ..Default::default() };
        assert!(account.closes());
        account.lines = 11;
        assert!(!account.closes());
    }

    #[test]
    fn flags_read_back() {
        for flag in Flag::ALL {
            assert_eq!(Flag::parse(flag.as_str()), Some(flag));
        }
        assert_eq!(Flag::parse("odd"), None);
    }
}
