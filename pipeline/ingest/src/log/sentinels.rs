//! Cells that say "no value", counted by what they say.

use super::plan::evidence;
use super::read::Reader;
use std::collections::BTreeMap;

/// Kinds of words that are counted apart; others are counted together.
const MOST_WORDS: usize = 40;
/// Readings this many rows around a number tell whether it can be a temperature: it lies
/// between them, or beyond them by no more than a few of the channel's usual steps.
const NEAR_ROWS: usize = 5;
const STEPS: f32 = 4.0;

/// Missing cells by what they say.
#[derive(Default)]
pub(super) struct Missing(BTreeMap<Vec<u8>, u64>);

impl Missing {
    pub(super) fn count(&mut self, cell: &[u8]) {
        if let Some(count) = self.0.get_mut(cell) {
            *count += 1;
        } else if self.0.len() < MOST_WORDS {
            self.0.insert(cell.to_vec(), 1);
        } else {
            *self.0.entry(b"other words".to_vec()).or_default() += 1;
        }
    }

    /// What they say, the commonest first, with counts.
    fn shown(&self) -> Option<String> {
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
pub(super) struct Suspect {
    pub(super) series: usize,
    pub(super) row: usize,
    pub(super) channel: usize,
    pub(super) text: Vec<u8>,
}

/// The middle of the steps between neighbouring readings.
fn usual_step(values: &[f32]) -> f32 {
    let known: Vec<f32> = values.iter().copied().filter(|value| !value.is_nan()).collect();
    let mut steps: Vec<f32> = known.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    steps.sort_by(f32::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(0.0)
}

impl Reader<'_> {
    /// Tells sentinels from temperatures by the readings around them, and notes what was
    /// taken for missing.
    pub(super) fn settle_sentinels(&mut self) {
        let suspects = std::mem::take(&mut self.suspects);
        let mut kept = 0_u64;
        let mut hidden: BTreeMap<(usize, usize), Vec<(usize, f32)>> = BTreeMap::new();
        for suspect in &suspects {
            let values = &mut self.series[suspect.series].values[suspect.channel];
            let own = hidden.entry((suspect.series, suspect.channel)).or_default();
            own.push((suspect.row, values[suspect.row]));
            values[suspect.row] = f32::NAN;
        }
        let mut real = Vec::new();
        for (&(series, channel), rows) in &hidden {
            let values = &self.series[series].values[channel];
            let slack = STEPS * usual_step(values);
            for &(row, value) in rows {
                let near =
                    &values[row.saturating_sub(NEAR_ROWS)..(row + NEAR_ROWS + 1).min(values.len())];
                let known = near.iter().copied().filter(|other| !other.is_nan());
                let (low, high) = known
                    .fold((f32::INFINITY, f32::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
                if (low - slack..=high + slack).contains(&value) {
                    real.push((series, channel, row, value));
                }
            }
        }
        for &(series, channel, row, value) in &real {
            self.series[series].values[channel][row] = value;
            kept += 1;
        }
        for suspect in &suspects {
            if self.series[suspect.series].values[suspect.channel][suspect.row].is_nan() {
                self.missing.count(&suspect.text);
            }
        }
        if let Some(shown) = self.missing.shown() {
            let because = if kept > 0 {
                format!(
                    "they are no temperatures; {kept} cells of the same numbers are, by the readings around them"
                )
            } else {
                "words for no value or beyond the range, and numbers that loggers write for them"
                    .to_owned()
            };
            self.plan.evidence.push(evidence(
                "missing values",
                &shown,
                &because,
                "layout `sentinels` adds words, `measured` keeps numbers",
            ));
        } else if kept > 0 {
            self.plan.evidence.push(evidence(
                "missing values",
                "none",
                &format!("{kept} cells could be \"no value\" and are temperatures, by the readings around them"),
                "layout `sentinels`",
            ));
        }
    }
}
