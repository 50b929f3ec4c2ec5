//! Columns of a known kind.

use crate::error::RowsError;
use columns::{Column, Description, Table};

/// The values of a column that must be there and of one kind.
pub trait Typed {
    /// A column, whatever its kind, if it is of the described one.
    ///
    /// # Errors
    /// No such column, or one of another kind; so everywhere here.
    fn described(&self, column: Description) -> Result<&Column, RowsError>;
    /// Texts.
    fn text(&self, column: impl Into<String>) -> Result<&[Option<String>], RowsError>;
    /// Floating-point numbers.
    fn floats(&self, column: impl Into<String>) -> Result<&[Option<f64>], RowsError>;
    /// Whole numbers.
    fn integers(&self, column: impl Into<String>) -> Result<&[Option<i64>], RowsError>;
    /// Instants, ms UTC.
    fn instants(&self, column: impl Into<String>) -> Result<&[Option<i64>], RowsError>;
    /// Yes or no.
    fn booleans(&self, column: impl Into<String>) -> Result<&[Option<bool>], RowsError>;
}

macro_rules! typed {
    ($($of:ident -> $value:ty, $kind:ident, $wanted:literal;)*) => {
        impl Typed for Table {
            fn described(&self, column: Description) -> Result<&Column, RowsError> {
                let wanted = column.kind.in_words();
                match self.column(column.name) {
                    Some(found) if found.holds() == column.kind => Ok(found),
                    Some(found) => Err(of_another_kind(column.name, found, wanted)),
                    None => {
                        Err(RowsError::column(column.name, format!("is missing ({wanted})")))
                    }
                }
            }
            $(
            fn $of(&self, column: impl Into<String>) -> Result<&[Option<$value>], RowsError> {
                let name = column.into();
                match self.column(&name) {
                    Some(Column::$kind(values)) => Ok(values),
                    Some(found) => Err(of_another_kind(name, found, $wanted)),
                    None => Err(RowsError::column(name, concat!("is missing (", $wanted, ")"))),
                }
            }
        )* }
    };
}

typed! {
    text -> String, Text, "text";
    floats -> f64, Float, "floating-point numbers";
    integers -> i64, Int, "whole numbers";
    instants -> i64, Instant, "instants";
    booleans -> bool, Bool, "yes or no";
}

fn of_another_kind(name: impl Into<String>, found: &Column, wanted: &str) -> RowsError {
    RowsError::column(name, format!("is {}, not {wanted}", found.kind()))
}

/// A value that a row must have; rows count from 0 here.
///
/// # Errors
/// It is missing.
pub fn required<T>(
    column: impl Into<String>,
    row: usize,
    value: Option<T>,
) -> Result<T, RowsError> {
    value.ok_or_else(|| RowsError::column(column, "has a missing value").at_row(row as u64 + 1))
}
