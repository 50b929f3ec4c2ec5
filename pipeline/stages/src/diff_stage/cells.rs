//! Which cells of the measures differ between two studies: a card corrected, a log read otherwise.

use super::side::Side;
use crate::export::cell;
use columns::card::{self, CardField};
use columns::{measures, tables};
use std::collections::{BTreeMap, BTreeSet};
use store::{Column, Table};
use study::ClaimKind;
use study::result::ClaimResult;

/// Cells and cooks that are named before the rest is only counted.
const NAMED: usize = 3;

/// Columns that a comparison of wrapping strategies reads, besides its adjusters.
const WRAP_TIMING: [&str; 9] = [
    measures::CLOCK_TO_FINISH_MIN.name,
    measures::FINISH_REACHED.name,
    measures::END_REASON.name,
    measures::WRAP_METHOD.name,
    measures::CLOCK_TO_WRAP_MIN.name,
    measures::WRAP_TIME_KNOWN.name,
    measures::TRIMMED_WEIGHT_KG.name,
    measures::RAW_WEIGHT_KG.name,
    measures::MEAT_ON_MS.name,
];
/// Columns that say whether an outcome is a lower bound.
const FLAGS: [&str; 3] = [
    measures::STALL_MIN_CENSORED.name,
    measures::STALL_DELAY_CENSORED.name,
    measures::FINISH_REACHED.name,
];

/// One cell that differs.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Change {
    pub(super) cook: String,
    pub(super) column: String,
    pub(super) before: String,
    pub(super) after: String,
}

impl Change {
    /// `wood oak → hickory`.
    fn in_words(&self) -> String {
        format!("{} {} → {}", self.column, self.before, self.after)
    }
}

/// What differs between two tables of measures.
#[derive(Debug, Default)]
pub(super) struct Changes {
    /// Cooks of the later table alone.
    pub(super) joined: Vec<String>,
    /// Cooks of the earlier table alone.
    pub(super) gone: Vec<String>,
    /// Cells of cooks that are in both, by cook, columns of the card first.
    pub(super) cells: Vec<Change>,
}

impl Changes {
    /// `None` where either study has no table of measures beside it.
    pub(super) fn between(before: &Side, after: &Side) -> Option<Self> {
        let (old, new) = (before.measures.as_ref()?, after.measures.as_ref()?);
        let (old_rows, new_rows) = (rows(old), rows(new));
        let mut changes = Self {
            joined: new_rows.keys().filter(|c| !old_rows.contains_key(*c)).cloned().collect(),
            gone: old_rows.keys().filter(|c| !new_rows.contains_key(*c)).cloned().collect(),
            cells: Vec::new(),
        };
        let names: BTreeSet<&str> =
            old.columns().iter().chain(new.columns()).map(|(name, _)| name.as_str()).collect();
        let marks = Marks::of(before.cooks.as_ref(), after.cooks.as_ref());
        for (cook, &old_row) in &old_rows {
            let Some(&new_row) = new_rows.get(cook) else { continue };
            let mut of_cook = marks.as_ref().map(|marks| marks.changed(cook)).unwrap_or_default();
            // Of a mark that is named its instant as a number says nothing more.
            let is_told = |name: &str| {
                name == tables::COMPUTED_FROM.name
                    || (marks.is_some() && name == measures::MEAT_ON_MS.name)
            };
            for name in names.iter().filter(|name| !is_told(name)) {
                of_cook.extend(changed(cook, name, (old, old_row), (new, new_row)));
            }
            of_cook.sort_by_key(|change| !is_stated(&change.column));
            changes.cells.extend(of_cook);
        }
        Some(changes)
    }

    /// A line a cook: what its card says now, or that its log was read otherwise.
    pub(super) fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let cooks = |what: &str, cooks: &[String]| {
            (!cooks.is_empty()).then(|| format!("{what}: {}", named(cooks)))
        };
        notes.extend(cooks("new cooks", &self.joined));
        notes.extend(cooks("cooks no longer there", &self.gone));
        let mut by_cook: BTreeMap<&str, Vec<&Change>> = BTreeMap::new();
        for change in &self.cells {
            by_cook.entry(&change.cook).or_default().push(change);
        }
        let most = 10;
        for (cook, changes) in by_cook.iter().take(most) {
            let words: Vec<String> = changes.iter().map(|change| change.in_words()).collect();
            let why = if is_stated(&changes[0].column) {
                "card"
            } else {
                "its marks, log, events or settings gave"
            };
            notes.push(format!("{cook}, {why}: {}", named(&words)));
        }
        if by_cook.len() > most {
            notes.push(format!("… and {} more cooks with other values", by_cook.len() - most));
        }
        notes
    }

    /// What of it a claim rests on, in words.
    pub(super) fn of_claim(&self, claim: &ClaimResult) -> Vec<String> {
        let asked = &claim.asked;
        let mut used: BTreeSet<&str> =
            [measures::EXCLUDE.name, measures::FIRE.name, measures::SEASON.name]
                .into_iter()
                .collect();
        used.insert(&asked.outcome);
        used.extend(asked.by.as_deref());
        used.extend(asked.adjust.iter().chain(&asked.group).map(String::as_str));
        used.extend(FLAGS);
        if claim.kind == ClaimKind::WrapTiming {
            used.extend(WRAP_TIMING);
        }
        let cells: Vec<String> = self
            .cells
            .iter()
            .filter(|change| used.contains(change.column.as_str()))
            .map(|change| format!("{}: {}", change.cook, change.in_words()))
            .collect();
        let mut reasons = Vec::new();
        if !cells.is_empty() {
            reasons.push(format!("values changed ({})", named(&cells)));
        }
        if !self.joined.is_empty() {
            reasons.push(format!("new cooks ({})", named(&self.joined)));
        }
        if !self.gone.is_empty() {
            reasons.push(format!("cooks no longer there ({})", named(&self.gone)));
        }
        reasons
    }
}

/// The cell of a column, where it is not the same in two tables.
fn changed(cook: &str, name: &str, old: (&Table, usize), new: (&Table, usize)) -> Option<Change> {
    let text = |(table, row): (&Table, usize)| {
        table.column(name).map_or(String::new(), |column| shown(column, row))
    };
    let (before, after) = (text(old), text(new));
    let dash = |text: String| if text.is_empty() { "–".to_owned() } else { text };
    (before != after).then(|| Change {
        cook: cook.to_owned(),
        column: name.to_owned(),
        before: dash(before),
        after: dash(after),
    })
}

/// The marks of two tables of cards.
struct Marks<'t> {
    tables: [&'t Table; 2],
    rows: [BTreeMap<String, usize>; 2],
}

impl<'t> Marks<'t> {
    /// `None` where either is not there.
    fn of(before: Option<&'t Table>, after: Option<&'t Table>) -> Option<Self> {
        let tables = [before?, after?];
        Some(Self { tables, rows: tables.map(rows) })
    }

    /// The marks of a cook that differ.
    fn changed(&self, cook: &str) -> Vec<Change> {
        let [Some(&old), Some(&new)] = self.rows.each_ref().map(|rows| rows.get(cook)) else {
            return Vec::new();
        };
        let marks = [card::MEAT_ON_AT, card::WRAP_AT, card::PULL_AT, card::SLICE_AT];
        let of = |mark: CardField| {
            changed(cook, mark.column.name, (self.tables[0], old), (self.tables[1], new))
        };
        marks.into_iter().filter_map(of).collect()
    }
}

/// The first few, and how many more.
fn named(words: &[String]) -> String {
    let rest = words.len().saturating_sub(NAMED);
    let first = words[..words.len() - rest].join("; ");
    if rest == 0 { first } else { format!("{first}; and {rest} more") }
}

/// Whether a column says what a card states, not what was found in the log.
fn is_stated(column: &str) -> bool {
    columns::card::field_of(column).is_some() || !columns::names::is_measure(column)
}

/// A value as a diff shows it: numbers to six digits, as much as anybody wrote down.
fn shown(column: &Column, row: usize) -> String {
    match column {
        Column::Float(values) => values[row].map_or(String::new(), |value| {
            let digits = 5 - value.abs().max(1e-300).log10().floor() as i32;
            let scale = 10f64.powi(digits);
            let rounded = (value * scale).round() / scale;
            if rounded.is_finite() { rounded.to_string() } else { value.to_string() }
        }),
        _ => cell(column, row),
    }
}

/// The row of each cook.
fn rows(table: &Table) -> BTreeMap<String, usize> {
    match table.column(measures::COOK.name) {
        Some(Column::Text(cooks)) => {
            cooks.iter().enumerate().filter_map(|(row, cook)| Some((cook.clone()?, row))).collect()
        }
        _ => BTreeMap::new(),
    }
}
