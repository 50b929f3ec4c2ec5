//! Cooks as a lock knows them.

use crate::claims::hex;
use crate::error::StudyError;
use crate::table::MeasureTable;
use columns::measures;
use jiff::Timestamp;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;

/// Digits of a hash of content: two of a hundred thousand cooks are alike by chance one time in a
/// billion.
const DIGITS: usize = 16;

/// A cook of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeenCook {
    /// Its name.
    pub name: String,
    /// What it is whatever it is called: a hash of the instant at which its meat went on, its weights, its
    /// thickness and its cut. `None` where that instant is not known.
    pub content: Option<String>,
    /// When its meat went on, ms since 1970 UTC.
    pub meat_on_ms: Option<i64>,
}

impl SeenCook {
    /// Name and content, as a lock has them.
    pub(super) fn entry(&self) -> (String, String) {
        (self.name.clone(), self.content.clone().unwrap_or_default())
    }

    /// Whether it is the cook of this entry.
    pub(crate) fn is(&self, name: &str, content: &str) -> bool {
        self.name == name || (!content.is_empty() && self.content.as_deref() == Some(content))
    }
}

/// A run that sees claims.
#[derive(Debug, Clone, Copy)]
pub struct Look<'a> {
    /// When.
    pub at: Timestamp,
    /// Hash of the phase definition.
    pub definition: &'a str,
    /// The cooks of the table.
    pub cooks: &'a [SeenCook],
}

impl MeasureTable {
    /// The cooks as a lock knows them, in the order of the table.
    ///
    /// # Errors
    /// Columns that hold something else than their name promises.
    pub fn seen_cooks(&self) -> Result<Vec<SeenCook>, StudyError> {
        let meat_on = self.meat_on_ms()?;
        let weights = [
            self.numbers_or_missing(measures::RAW_WEIGHT_KG.name)?,
            self.numbers_or_missing(measures::TRIMMED_WEIGHT_KG.name)?,
            self.numbers_or_missing(measures::THICKNESS_MM.name)?,
        ];
        let cuts = self.texts_or_missing(measures::CUT.name)?;
        let seen = self.cooks().iter().enumerate().map(|(row, name)| {
            let content = meat_on[row].map(|meat_on| {
                let mut text = format!("cookstudy/cook/1\n{meat_on}\n");
                for column in &weights {
                    // To the gram, so that a weight in pounds that is written in kilograms is the same.
                    let value = column[row].map_or(String::new(), |value| format!("{value:.3}"));
                    _ = writeln!(text, "{value}");
                }
                text.push_str(cuts[row].as_deref().unwrap_or_default());
                hex(&Sha256::digest(text.as_bytes())[..DIGITS / 2])
            });
            SeenCook { name: name.clone(), content, meat_on_ms: meat_on[row] }
        });
        Ok(seen.collect())
    }
}
