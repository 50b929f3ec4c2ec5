//! Cooks as a table, and back.
//!
//! Every field of [`columns::card::FIELDS`] is one column, its unit in the name. Scores and the
//! columns that the vocabulary does not know follow in the order of first appearance.

use crate::error::RowsError;
use crate::typed::{Typed, required};
use columns::card;
use columns::tables::cooks as own;
use columns::{Column, Table};
use cook::Card;

/// One cook as a store keeps it: its card, and what is known of its log as a whole.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CookRecord {
    /// The card, marks resolved.
    pub card: Card,
    /// Hash of all that card and readings were computed from.
    pub computed_from: String,
    /// First reading of any channel, ms UTC; `None` where the cook has no readings.
    pub log_start_ms: Option<i64>,
    /// Last reading of any channel, ms UTC.
    pub log_end_ms: Option<i64>,
}

impl CookRecord {
    /// First and last reading, ms UTC; `None` for a cook without readings.
    pub fn log_ms(&self) -> Option<(i64, i64)> {
        self.log_start_ms.zip(self.log_end_ms)
    }
}

/// Prefix of a column the vocabulary does not know but whose name it uses itself.
const CLASH_PREFIX: &str = "sheet_";

fn is_known(name: &str) -> bool {
    card::field_of(name).is_some() || own::ALL.iter().any(|column| column.name == name)
}

/// The table of cooks: one row a card.
pub fn cooks_to_table(cooks: &[CookRecord]) -> Table {
    let cards: Vec<&Card> = cooks.iter().map(|record| &record.card).collect();
    let mut table = Table::new();
    for field in card::FIELDS {
        let values = cards.iter().map(|card| field.get(card));
        table.push(field.column, field.column.kind.column(values));
    }
    let instants = |of: fn(&CookRecord) -> Option<i64>| cooks.iter().map(of).collect();
    table.push(own::LOG_START_AT, Column::Instant(instants(|cook| cook.log_start_ms)));
    table.push(own::LOG_END_AT, Column::Instant(instants(|cook| cook.log_end_ms)));
    let hashes = cooks.iter().map(|c| Some(c.computed_from.clone()));
    table.push(own::COMPUTED_FROM, Column::Text(hashes.collect()));
    for name in names_in_order(cards.iter().map(|c| &c.scores)) {
        let score = |card: &&Card| value_of(&card.scores, &name).copied();
        table.push(&name, Column::Float(cards.iter().map(score).collect()));
    }
    for name in names_in_order(cards.iter().map(|c| &c.extra)) {
        let value = |card: &&Card| value_of(&card.extra, &name).cloned();
        let column = Column::Text(cards.iter().map(value).collect());
        if is_known(&name) || table.column(&name).is_some() {
            table.push(format!("{CLASH_PREFIX}{name}"), column);
        } else {
            table.push(&name, column);
        }
    }
    table
}

fn value_of<'a, T>(pairs: &'a [(String, T)], name: &str) -> Option<&'a T> {
    pairs.iter().find(|(n, _)| n == name).map(|(_, value)| value)
}

fn names_in_order<'a, T: 'a>(cards: impl Iterator<Item = &'a Vec<(String, T)>>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (name, _) in cards.flatten() {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}

/// Reads the table of cooks back.
///
/// # Errors
/// A column that is missing, of another kind, or without a value that it must have.
pub fn cooks_from_table(table: &Table) -> Result<Vec<CookRecord>, RowsError> {
    let hashes = table.text(own::COMPUTED_FROM)?;
    let starts = table.instants(own::LOG_START_AT)?;
    let ends = table.instants(own::LOG_END_AT)?;
    let mut cards = vec![Card::default(); table.rows()];
    for field in card::FIELDS {
        let column = table.described(field.column)?;
        for (row, card) in cards.iter_mut().enumerate() {
            field.set(card, column.value(row));
        }
    }
    for (name, column) in table.columns().iter().filter(|(name, _)| !is_known(name)) {
        match column {
            Column::Float(values) => fill(&mut cards, values, |card, value| {
                card.scores.push((name.clone(), value));
            }),
            Column::Text(values) => {
                let name = name
                    .strip_prefix(CLASH_PREFIX)
                    .filter(|rest| table.column(rest).is_some())
                    .unwrap_or(name);
                fill(&mut cards, values, |card, value| card.extra.push((name.to_owned(), value)));
            }
            _ => return Err(RowsError::column(name, "is of a type that no card has")),
        }
    }
    let mut cooks = Vec::with_capacity(cards.len());
    for (row, card) in cards.into_iter().enumerate() {
        cooks.push(CookRecord {
            card,
            computed_from: required(own::COMPUTED_FROM, row, hashes[row].clone())?,
            log_start_ms: starts[row],
            log_end_ms: ends[row],
        });
    }
    Ok(cooks)
}

fn fill<T: Clone>(cards: &mut [Card], values: &[Option<T>], set: impl Fn(&mut Card, T)) {
    for (card, value) in cards.iter_mut().zip(values) {
        if let Some(value) = value {
            set(card, value.clone());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::sheet::Stated;
    use columns::{Kind, Value};

    /// A card that states every field, each otherwise.
    fn full() -> Card {
        let mut card = Card {
            scores: vec![("score_taste".into(), 8.5)],
            extra: vec![("judge".into(), "M".into()), ("logs".into(), "odd".into())],
            ..Card::default()
        };
        for (n, field) in card::FIELDS.iter().enumerate() {
            let value = match (field.stated, field.column.kind) {
                (Stated::Words { example, .. }, _) => Value::Text(example.into()),
                (_, Kind::Text) => Value::Text(format!("text {n}")),
                (_, Kind::Float) => Value::Float(n as f64 + 0.5),
                (_, Kind::Bool) => Value::Bool(n % 2 == 0),
                (_, Kind::Instant) => Value::Instant(n as i64),
                (_, Kind::Int) => Value::Int(n as i64),
            };
            field.set(&mut card, value.clone());
            assert_eq!(field.get(&card), value);
        }
        card
    }

    #[test]
    fn cards_come_back_full_and_empty() {
        let bare = Card {
            cook: "c-2".into(),
            season: "2025".into(),
            fire: "f2".into(),
            ..Card::default()
        };
        let cooks = vec![
            CookRecord {
                card: full(),
                computed_from: "h1".into(),
                log_start_ms: Some(1),
                log_end_ms: Some(9),
            },
            CookRecord { card: bare, computed_from: "h2".into(), ..CookRecord::default() },
        ];
        let table = cooks_to_table(&cooks);
        assert_eq!(cooks_from_table(&table).unwrap(), cooks);
    }
}
