//! Judgements by family of pollution.

use super::{Fate, Judgement};
use samples::PollutedLog;
use samples::dialect::Expected;
use samples::pollute::Family;
use std::collections::BTreeMap;
use std::fmt;

/// Counts of one family, or of all files.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Counts {
    /// Files.
    pub(crate) files: u64,
    /// Files that can be read without asking, and were.
    pub(crate) read: u64,
    /// Files that can be read without asking, and asked.
    pub(crate) asked: u64,
    /// Files that can be read without asking, and were refused.
    pub(crate) refused: u64,
    /// Files that are ambiguous by construction.
    pub(crate) ambiguous: u64,
    /// Of these, files that asked.
    pub(crate) ambiguous_asked: u64,
    /// Of these, files that were read all the same.
    pub(crate) guessed: u64,
    /// Files that hint at an answer: reading and asking are both right.
    pub(crate) hinted: u64,
    /// Files that asked and were read with the answer given.
    pub(crate) answered: u64,
    /// Files that asked and were given an answer.
    pub(crate) given: u64,
    /// Data lines with every value right.
    pub(crate) rows_equal: u64,
    /// Data lines with something rejected.
    pub(crate) rows_rejected: u64,
    /// Data lines that went with a rejected line before them.
    pub(crate) rows_swallowed: u64,
    /// Values that vanished.
    pub(crate) vanished: u64,
    /// Files with readings that are wrong and not flagged.
    pub(crate) wrong_files: u64,
    /// Such readings.
    pub(crate) wrong: u64,
    /// Files whose account does not close.
    pub(crate) unclosed: u64,
    /// Panics.
    pub(crate) panics: u64,
}

/// Counts by family.
#[derive(Debug, Clone, Default)]
pub(crate) struct Table {
    /// All files.
    pub(crate) all: Counts,
    /// By family; a file is in every one of its families.
    pub(crate) families: BTreeMap<Family, Counts>,
}

impl Table {
    /// Adds a file.
    pub(crate) fn add(&mut self, file: &PollutedLog, judgement: &Judgement) {
        self.all.add(judgement);
        for family in &file.families {
            self.families.entry(*family).or_default().add(judgement);
        }
    }

    /// Share of the files that are not ambiguous which were read without asking.
    pub(crate) fn read_share(&self) -> f64 {
        let counted = self.all.files - self.all.ambiguous - self.all.hinted;
        self.all.read as f64 / counted.max(1) as f64
    }
}

impl Counts {
    fn add(&mut self, judgement: &Judgement) {
        self.files += 1;
        match (judgement.expected, judgement.fate) {
            (Expected::Read, Fate::Read) => self.read += 1,
            (Expected::Read, Fate::Asked) => self.asked += 1,
            (Expected::Read, Fate::Refused) => self.refused += 1,
            (Expected::Ask, fate) => {
                self.ambiguous += 1;
                self.ambiguous_asked += u64::from(fate == Fate::Asked);
                self.guessed += u64::from(fate == Fate::Read);
            }
            (Expected::ReadOrAsk, _) => self.hinted += 1,
            (Expected::Read, Fate::Panicked) => {}
        }
        self.panics += u64::from(judgement.fate == Fate::Panicked);
        for part in [Some(judgement), judgement.answered.as_deref()].into_iter().flatten() {
            self.rows_equal += part.rows_equal;
            self.rows_rejected += part.rows_rejected;
            self.rows_swallowed += part.rows_swallowed;
            self.vanished += part.vanished.len() as u64;
            self.wrong_files += u64::from(!part.wrong.is_empty());
            self.wrong += part.wrong.len() as u64;
            self.unclosed += u64::from(!part.unclosed.is_empty());
        }
        if let Some(answered) = &judgement.answered {
            self.given += 1;
            self.answered += u64::from(answered.fate == Fate::Read);
        }
    }

    fn row(&self, f: &mut fmt::Formatter<'_>, name: &str) -> fmt::Result {
        writeln!(
            f,
            "| {name} | {} | {} | {} | {} | {} | {} | {} | {} | {}/{} | {} | {} | {} | {} | {} | {} | {} |",
            self.files,
            self.read,
            self.asked,
            self.refused,
            self.hinted,
            self.ambiguous,
            self.ambiguous_asked,
            self.guessed,
            self.answered,
            self.given,
            self.rows_equal,
            self.rows_rejected,
            self.rows_swallowed,
            self.vanished,
            self.wrong,
            self.unclosed,
            self.panics,
        )
    }
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const HEADINGS: [&str; 17] = [
            "family",
            "files",
            "read",
            "asked",
            "refused",
            "hinted",
            "ambiguous",
            "asked",
            "guessed",
            "answered",
            "rows equal",
            "rows rejected",
            "rows swallowed",
            "vanished",
            "silent wrong values",
            "unclosed",
            "panics",
        ];
        writeln!(f, "| {} |", HEADINGS.join(" | "))?;
        writeln!(f, "|---{}|", "|--:".repeat(HEADINGS.len() - 1))?;
        for (family, counts) in &self.families {
            counts.row(f, family.name())?;
        }
        self.all.row(f, "**all files**")
    }
}
