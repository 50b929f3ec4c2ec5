//! Results as tables, for `data/`: one row a thing, columns named as in the store.

use columns::Table;
use serde::Serialize;

/// A table with a row for each thing, made column by column.
pub(super) struct Rows<'a, T> {
    things: &'a [T],
    table: Table,
}

impl<'a, T> Rows<'a, T> {
    pub(super) fn of(things: &'a [T]) -> Self {
        Self { things, table: Table::new() }
    }

    pub(super) fn text(
        mut self,
        name: impl Into<String>,
        value: impl Fn(&T) -> Option<String>,
    ) -> Self {
        self.table.push(name, self.things.iter().map(value).collect());
        self
    }

    pub(super) fn float(
        mut self,
        name: impl Into<String>,
        value: impl Fn(&T) -> Option<f64>,
    ) -> Self {
        self.table.push(name, self.things.iter().map(value).collect());
        self
    }

    pub(super) fn count(
        mut self,
        name: impl Into<String>,
        value: impl Fn(&T) -> Option<usize>,
    ) -> Self {
        let whole = |thing: &T| value(thing).and_then(|n| i64::try_from(n).ok());
        self.table.push(name, self.things.iter().map(whole).collect());
        self
    }

    pub(super) fn flag(
        mut self,
        name: impl Into<String>,
        value: impl Fn(&T) -> Option<bool>,
    ) -> Self {
        self.table.push(name, self.things.iter().map(value).collect());
        self
    }

    pub(super) fn table(self) -> Table {
        self.table
    }
}

/// The word that a value without fields is in `study.json`.
pub(super) fn word<T: Serialize>(value: &T) -> Option<String> {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => Some(word),
        _ => None,
    }
}
