//! Events as a table, and back.

use crate::error::RowsError;
use crate::typed::{Typed, required};
use columns::tables::events as own;
use columns::{Column, Table};
use cook::{Event, EventKind};

/// The table of events: one row an event.
pub fn events_to_table(events: &[Event]) -> Table {
    let text = |of: fn(&Event) -> Option<String>| Column::Text(events.iter().map(of).collect());
    Table::new()
        .with(own::COOK, text(|e| Some(e.cook.clone())))
        .with(own::AT, Column::Instant(events.iter().map(|e| Some(e.at_ms)).collect()))
        .with(own::EVENT, text(|e| Some(e.kind.as_str().to_owned())))
        .with(own::VALUE, text(|e| e.value.clone()))
        .with(own::NOTE, text(|e| e.note.clone()))
}

/// Reads the table of events back.
///
/// # Errors
/// A column that is missing, of another kind, or without a value that it must have; a word that is no
/// event.
pub fn events_from_table(table: &Table) -> Result<Vec<Event>, RowsError> {
    let (cooks, at) = (table.text(own::COOK)?, table.instants(own::AT)?);
    let kinds = table.text(own::EVENT)?;
    let (values, notes) = (table.text(own::VALUE)?, table.text(own::NOTE)?);
    (0..table.rows())
        .map(|row| {
            let kind = required(own::EVENT, row, kinds[row].as_ref())?;
            Ok(Event {
                cook: required(own::COOK, row, cooks[row].clone())?,
                at_ms: required(own::AT, row, at[row])?,
                kind: kind.parse::<EventKind>().map_err(|known| {
                    RowsError::column(own::EVENT, format!("`{kind}` is none of {known}"))
                        .at_row(row as u64 + 1)
                })?,
                value: values[row].clone(),
                note: notes[row].clone(),
            })
        })
        .collect()
}
