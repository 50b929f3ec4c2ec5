//! One row of a table, read by column name; a missing column is a missing value.

use store::{Column, Table};

/// One row of a table.
#[derive(Clone, Copy)]
pub(crate) struct Row<'a> {
    pub(crate) table: &'a Table,
    pub(crate) row: usize,
}

impl<'a> Row<'a> {
    /// Every row of a table.
    pub(crate) fn all(table: &'a Table) -> impl Iterator<Item = Row<'a>> {
        (0..table.rows()).map(move |row| Row { table, row })
    }

    pub(crate) fn float(self, name: &str) -> Option<f64> {
        match self.table.column(name)? {
            Column::Float(values) => values[self.row],
            Column::Int(values) => values[self.row].map(|n| n as f64),
            _ => None,
        }
    }

    pub(crate) fn instant(self, name: &str) -> Option<i64> {
        match self.table.column(name)? {
            Column::Instant(values) => values[self.row],
            _ => None,
        }
    }

    pub(crate) fn flag(self, name: &str) -> Option<bool> {
        match self.table.column(name)? {
            Column::Bool(values) => values[self.row],
            _ => None,
        }
    }

    pub(crate) fn text(self, name: &str) -> Option<&'a str> {
        match self.table.column(name)? {
            Column::Text(values) => values[self.row].as_deref(),
            _ => None,
        }
    }
}
