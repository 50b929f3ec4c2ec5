//! One column of a table.

use crate::{Field, Kind, Value};

/// One column; `None` is a missing value.
#[derive(Debug, Clone, PartialEq)]
pub enum Column {
    /// Text.
    Text(Vec<Option<String>>),
    /// Floating-point numbers.
    Float(Vec<Option<f64>>),
    /// Whole numbers.
    Int(Vec<Option<i64>>),
    /// Yes or no.
    Bool(Vec<Option<bool>>),
    /// Instants, ms UTC.
    Instant(Vec<Option<i64>>),
}

/// What is done alike with the values of a column, whatever their type.
macro_rules! each {
    ($column:expr, $values:ident => $done:expr) => {
        match $column {
            Column::Text($values) => Column::Text($done),
            Column::Float($values) => Column::Float($done),
            Column::Int($values) => Column::Int($done),
            Column::Bool($values) => Column::Bool($done),
            Column::Instant($values) => Column::Instant($done),
        }
    };
}

impl Column {
    /// Number of rows.
    pub fn len(&self) -> usize {
        match self {
            Self::Text(v) => v.len(),
            Self::Float(v) => v.len(),
            Self::Int(v) | Self::Instant(v) => v.len(),
            Self::Bool(v) => v.len(),
        }
    }

    /// Whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Number of rows without a value.
    pub fn missing(&self) -> usize {
        fn count<T>(values: &[Option<T>]) -> usize {
            values.iter().filter(|value| value.is_none()).count()
        }
        match self {
            Self::Text(v) => count(v),
            Self::Float(v) => count(v),
            Self::Int(v) | Self::Instant(v) => count(v),
            Self::Bool(v) => count(v),
        }
    }

    /// What the values are, as a message names it.
    pub fn kind(&self) -> &'static str {
        self.holds().in_words()
    }

    /// What the values are.
    pub fn holds(&self) -> Kind {
        match self {
            Self::Text(_) => Kind::Text,
            Self::Float(_) => Kind::Float,
            Self::Int(_) => Kind::Int,
            Self::Bool(_) => Kind::Bool,
            Self::Instant(_) => Kind::Instant,
        }
    }

    /// The value of a row.
    ///
    /// # Panics
    /// Where the row is beyond the last: a mistake in the caller.
    pub fn value(&self, row: usize) -> Value {
        match self {
            Self::Text(v) => v[row].value(),
            Self::Float(v) => v[row].value(),
            Self::Int(v) => v[row].value(),
            Self::Bool(v) => v[row].value(),
            Self::Instant(v) => v[row].map_or(Value::Null, Value::Instant),
        }
    }

    /// The values as numbers; true and false are 1 and 0. `None` for texts and instants.
    pub fn numbers(&self) -> Option<Vec<Option<f64>>> {
        match self {
            Self::Float(v) => Some(v.clone()),
            Self::Int(v) => Some(v.iter().map(|value| value.map(|n| n as f64)).collect()),
            Self::Bool(v) => {
                Some(v.iter().map(|value| value.map(|yes| f64::from(u8::from(yes)))).collect())
            }
            Self::Text(_) | Self::Instant(_) => None,
        }
    }

    /// The values of some rows, in the order named; a row may be named more than once.
    ///
    /// # Panics
    /// Where a row is beyond the last: a mistake in the caller.
    #[must_use]
    pub fn take(&self, rows: &[usize]) -> Self {
        fn taken<T: Clone>(values: &[T], rows: &[usize]) -> Vec<T> {
            rows.iter().map(|&row| values[row].clone()).collect()
        }
        each!(self, values => taken(values, rows))
    }
}

/// A value that a column can be made of. The type of the values decides the kind of the column.
pub trait Cell: Sized {
    /// Makes the column.
    fn column(values: impl Iterator<Item = Self>) -> Column;
}

macro_rules! cells {
    ($($of:ty => $kind:ident, $into:expr;)*) => { $(
        impl Cell for $of {
            fn column(values: impl Iterator<Item = Self>) -> Column {
                Column::$kind(values.map(|value| Some($into(value))).collect())
            }
        }
        impl Cell for Option<$of> {
            fn column(values: impl Iterator<Item = Self>) -> Column {
                Column::$kind(values.map(|value| value.map($into)).collect())
            }
        }
    )* };
}

cells! {
    String => Text, std::convert::identity;
    &String => Text, String::clone;
    &str => Text, str::to_owned;
    f64 => Float, std::convert::identity;
    i64 => Int, std::convert::identity;
    i32 => Int, i64::from;
    u32 => Int, i64::from;
    usize => Int, |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    bool => Bool, std::convert::identity;
}

impl<T: Cell> FromIterator<T> for Column {
    fn from_iter<I: IntoIterator<Item = T>>(values: I) -> Self {
        T::column(values.into_iter())
    }
}

impl<T: Cell> From<Vec<T>> for Column {
    fn from(values: Vec<T>) -> Self {
        values.into_iter().collect()
    }
}

impl<T: Cell, const N: usize> From<[T; N]> for Column {
    fn from(values: [T; N]) -> Self {
        values.into_iter().collect()
    }
}

impl<T: Cell + Clone> From<&[T]> for Column {
    fn from(values: &[T]) -> Self {
        values.iter().cloned().collect()
    }
}

impl<T: Cell + Clone> From<&Vec<T>> for Column {
    fn from(values: &Vec<T>) -> Self {
        values.as_slice().into()
    }
}

/// An instant in ISO 8601, UTC, with a fraction of a second only where there is one.
pub fn iso_instant(ms: i64) -> String {
    jiff::Timestamp::from_millisecond(ms).map_or_else(|_| ms.to_string(), |t| t.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_type_of_the_values_decides_the_kind() {
        assert_eq!(Column::from(["a", "b"]).kind(), "text");
        assert_eq!(Column::from([1.5, f64::NAN]).kind(), "floating-point numbers");
        assert_eq!(Column::from(&vec![Some(3_usize), None]), Column::Int(vec![Some(3), None]));
        let flags: Column = [true, false].into_iter().collect();
        assert_eq!(flags, Column::Bool(vec![Some(true), Some(false)]));
    }

    #[test]
    fn rows_are_taken_in_the_order_named() {
        let column = Column::from(["a", "b", "c"]);
        assert_eq!(column.take(&[2, 0, 2]), Column::from(["c", "a", "c"]));
        assert_eq!(column.take(&[]).len(), 0);
    }

    #[test]
    fn instants_keep_their_milliseconds_and_no_more() {
        assert_eq!(iso_instant(0), "1970-01-01T00:00:00Z");
        assert_eq!(iso_instant(1_700_000_000_120), "2023-11-14T22:13:20.12Z");
    }
}
