//! Cells that say "no value", counted by what they say.

use super::series::CellAt;
use std::collections::BTreeMap;

/// Kinds of words that are counted apart; others are counted together.
const MOST_WORDS: usize = 40;

/// Missing cells by what they say.
#[derive(Default)]
pub(crate) struct Missing(BTreeMap<Vec<u8>, u64>);

impl Missing {
    pub(crate) fn count(&mut self, cell: &[u8]) {
        if let Some(count) = self.0.get_mut(cell) {
            *count += 1;
        } else if self.0.len() < MOST_WORDS {
            self.0.insert(cell.to_vec(), 1);
        } else {
            *self.0.entry(b"other words".to_vec()).or_default() += 1;
        }
    }

    /// What they say, the commonest first, with counts.
    pub(crate) fn shown(&self) -> Option<String> {
        let mut words: Vec<(&Vec<u8>, &u64)> = self.0.iter().collect();
        words.sort_by(|a, b| b.1.cmp(a.1).then(a.0.cmp(b.0)));
        let shown = |(word, count): &(&Vec<u8>, &u64)| {
            if word.is_empty() {
                format!("{count} empty")
            } else {
                format!("{count} `{}`", String::from_utf8_lossy(word))
            }
        };
        (!words.is_empty()).then(|| words.iter().map(shown).collect::<Vec<_>>().join(", "))
    }
}

/// A number that is a sentinel or a hot fire's temperature.
pub(crate) struct Suspect {
    pub(crate) at: CellAt,
    pub(crate) text: Vec<u8>,
}
