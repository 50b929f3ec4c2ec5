//! Named columns of equal length.

use crate::column::Column;

/// Named columns of equal length, in order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    columns: Vec<(String, Column)>,
}

impl Table {
    /// A table without columns.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a column.
    ///
    /// # Panics
    /// Where its length is not the table's, or its name is taken: a mistake in the caller.
    pub fn push(&mut self, name: impl Into<String>, column: Column) {
        let name = name.into();
        assert!(
            self.columns.is_empty() || column.len() == self.rows(),
            "column `{name}` has {} rows, the table has {}",
            column.len(),
            self.rows()
        );
        assert!(self.column(&name).is_none(), "column `{name}` is there already");
        self.columns.push((name, column));
    }

    /// With one more column.
    #[must_use]
    pub fn with(mut self, name: impl Into<String>, column: Column) -> Self {
        self.push(name, column);
        self
    }

    /// Puts a column in the place of the one of that name, or adds it behind the others.
    ///
    /// # Panics
    /// Where its length is not the table's: a mistake in the caller.
    pub fn set(&mut self, name: &str, column: Column) {
        match self.columns.iter().position(|(n, _)| n == name) {
            Some(place) => {
                assert_eq!(column.len(), self.rows(), "rows of column `{name}`");
                self.columns[place].1 = column;
            }
            None => self.push(name, column),
        }
    }

    /// The columns, in order.
    pub fn columns(&self) -> &[(String, Column)] {
        &self.columns
    }

    /// The names of the columns, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.columns.iter().map(|(name, _)| name.as_str())
    }

    /// A column by name.
    pub fn column(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|(n, _)| n == name).map(|(_, column)| column)
    }

    /// Some of the columns, in the order named; names that are not there are passed over.
    #[must_use]
    pub fn select(&self, names: &[&str]) -> Self {
        let columns =
            names.iter().filter_map(|name| Some(((*name).to_owned(), self.column(name)?.clone())));
        Self { columns: columns.collect() }
    }

    /// Some of the rows, in the order named.
    ///
    /// # Panics
    /// Where a row is beyond the last: a mistake in the caller.
    #[must_use]
    pub fn take(&self, rows: &[usize]) -> Self {
        let columns = self.columns.iter().map(|(name, column)| (name.clone(), column.take(rows)));
        Self { columns: columns.collect() }
    }

    /// The first `n` rows; all of them where there are fewer.
    #[must_use]
    pub fn head(&self, n: usize) -> Self {
        self.take(&(0..n.min(self.rows())).collect::<Vec<_>>())
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |(_, column)| column.len())
    }
}

/// A table of the columns named: `table!("cook" => ["a", "b"], "stall_min" => [212.0, 95.5])`.
#[macro_export]
macro_rules! table {
    ($($name:expr => $values:expr),* $(,)?) => {
        $crate::Table::new()$(.with($name, $crate::Column::from($values)))*
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Table {
        table!("name" => ["a", "b"], "weight" => [Some(5.5), None], "stalls" => [None, Some(2)])
    }

    #[test]
    fn columns_are_selected_in_the_order_named() {
        let selected = sample().select(&["stalls", "nothing", "name"]);
        assert_eq!(selected.names().collect::<Vec<_>>(), ["stalls", "name"]);
        assert_eq!(selected.rows(), 2);
    }

    #[test]
    fn a_column_that_is_set_keeps_its_place_or_goes_last() {
        let mut table = sample();
        table.set("weight", Column::from([1.0, 2.0]));
        table.set("wood", Column::from(["oak", "ash"]));
        assert_eq!(table.names().collect::<Vec<_>>(), ["name", "weight", "stalls", "wood"]);
        assert_eq!(table.column("weight"), Some(&Column::from([1.0, 2.0])));
    }

    #[test]
    fn rows_are_taken_from_every_column() {
        let last = sample().take(&[1]);
        assert_eq!(last, table!("name" => ["b"], "weight" => [None::<f64>], "stalls" => [2]));
    }

    #[test]
    #[should_panic(expected = "is there already")]
    fn a_name_is_used_once() {
        let _ = sample().with("name", Column::from([1, 2]));
    }
}
