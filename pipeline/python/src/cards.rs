//! Cards and events as Python gives them: what a season sheet would refuse is refused here too.

use crate::given;
use columns::{Column, Description, Table, card};
use cook::Event;
use rows::{CookRecord, RowsError, cooks_from_table, events_from_table};
use std::collections::HashSet;

/// What pandas calls the columns of an index that it sends along.
const INDEX: &str = "__index_level_";

/// Cards, in the columns that a store has.
pub(crate) fn records(table: &Table) -> Result<Vec<CookRecord>, RowsError> {
    are_named(table)?;
    let own: Vec<Description> = card::FIELDS
        .iter()
        .map(|field| field.column)
        .chain(columns::tables::cooks::ALL.iter().copied())
        .collect();
    let mut cards = Table::new();
    for (name, column) in given::completed(table, &own, &[card::COOK.column.name])?.columns() {
        let is_known = own.iter().any(|known| known.name == name);
        let column = match column.clone() {
            // Who does not say what its card and readings were read from has a hash of the readings.
            Column::Text(hashes) if name == columns::tables::COMPUTED_FROM.name => Column::Text(
                hashes.into_iter().map(|hash| Some(hash.unwrap_or_default())).collect(),
            ),
            // What is no number is missing.
            Column::Float(numbers) if is_known => {
                let endless = |number: &Option<f64>| number.is_some_and(f64::is_infinite);
                if let Some(row) = numbers.iter().position(endless) {
                    let error = RowsError::column(name, "is infinite");
                    return Err(error.at_row(row as u64 + 1));
                }
                let number = |number: Option<f64>| number.filter(|n| !n.is_nan());
                Column::Float(numbers.into_iter().map(number).collect())
            }
            column if is_known => column,
            _ if name.starts_with(INDEX) => continue,
            column => given::own_column(name, column),
        };
        cards.push(name, column);
    }
    can_be(&cards)?;
    let records = cooks_from_table(&cards)?;
    let mut seen = HashSet::new();
    for (row, record) in records.iter().enumerate() {
        let name = &record.card.cook;
        let refused =
            |said: String| RowsError::column(card::COOK.column.name, said).at_row(row as u64 + 1);
        if name.is_empty() {
            return Err(refused("names no cook".to_owned()));
        }
        if !seen.insert(name) {
            return Err(refused(format!("`{name}` is there twice: one row a cook")));
        }
        let marks = &record.card.marks;
        let in_order = [
            (card::MEAT_ON_AT, marks.meat_on_ms, card::PULL_AT, marks.pull_ms),
            (card::MEAT_ON_AT, marks.meat_on_ms, card::WRAP_AT, marks.wrap_ms),
            (card::PULL_AT, marks.pull_ms, card::SLICE_AT, marks.slice_ms),
        ];
        for (first, first_ms, then, then_ms) in in_order {
            if let (Some(first_ms), Some(then_ms)) = (first_ms, then_ms)
                && then_ms < first_ms
            {
                let said = format!(
                    "{} lies before `{}`, {}",
                    columns::iso_instant(then_ms),
                    first.column.name,
                    columns::iso_instant(first_ms)
                );
                let error = RowsError::column(then.column.name, said);
                return Err(error.at_row(row as u64 + 1));
            }
        }
    }
    Ok(records)
}

/// Refuses columns that would be passed over, since a card's columns have other names.
fn are_named(table: &Table) -> Result<(), RowsError> {
    for (name, column) in table.columns() {
        if card::field_of(name).is_some() || column.missing() == column.len() {
            continue;
        }
        let lower = name.trim().to_lowercase();
        if let Some(field) = card::field_of(&lower) {
            let said = format!("is called `{}` here", field.column.name);
            return Err(RowsError::column(name, said));
        }
        let of_sheet = |field: &&card::CardField| field.named_otherwise().any(|c| c.name == lower);
        if let Some(field) = card::FIELDS.iter().find(of_sheet) {
            let own = field.column;
            let unit = match own.unit() {
                "" => own.kind.in_words().to_owned(),
                unit => format!("numbers, {unit}"),
            };
            let said = format!("is one of the season sheet; a table has `{}` ({unit})", own.name);
            return Err(RowsError::column(name, said));
        }
    }
    Ok(())
}

/// Refuses values that no card can have.
fn can_be(cards: &Table) -> Result<(), RowsError> {
    for field in card::FIELDS {
        let Some(column) = cards.column(field.column.name) else { continue };
        if column.holds() != field.column.kind {
            continue;
        }
        for row in 0..column.len() {
            if let Some(said) = field.refuses(&column.value(row)) {
                return Err(RowsError::column(field.column.name, said).at_row(row as u64 + 1));
            }
        }
    }
    Ok(())
}

/// Events, with their values in their usual writing.
pub(crate) fn events(table: &Table) -> Result<Vec<Event>, RowsError> {
    let table = given::completed(table, columns::tables::events::ALL, &["cook", "at", "event"])?;
    let mut events = events_from_table(&table)?;
    for (row, event) in events.iter_mut().enumerate() {
        let Some(value) = event.value.take().filter(|value| !value.trim().is_empty()) else {
            continue;
        };
        let usual = ingest::event_value(event.kind, &value).ok_or_else(|| {
            let said = format!(
                "`{value}` is no value of `{}`: a temperature has its °C or °F, a mass its unit",
                event.kind
            );
            RowsError::column("value", said).at_row(row as u64 + 1)
        })?;
        event.value = Some(usual);
    }
    Ok(events)
}
