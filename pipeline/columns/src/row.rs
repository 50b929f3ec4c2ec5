//! Rows with a field for each column, to tables and back.

use crate::{Column, Description, Table, Value};

/// A row that has a field for each column of its list; `row!` makes one.
pub trait Row: Sized {
    /// Its columns, in the table's order.
    const ALL: &'static [Description];

    /// The value of one of its columns.
    fn value(&self, column: Description) -> Value;

    /// One row of a table: a column that is not there is null, one of another name is passed over.
    ///
    /// # Panics
    /// Where the row is beyond the last: a mistake in the caller.
    fn of_row(table: &Table, row: usize) -> Self;

    /// The table of these rows.
    fn table<'a>(rows: impl Iterator<Item = &'a Self> + Clone) -> Table
    where
        Self: 'a,
    {
        let mut table = Table::new();
        for column in Self::ALL {
            let values = rows.clone().map(|row| row.value(*column));
            table = table.with(*column, column.kind.column(values));
        }
        table
    }

    /// Every row of a table.
    ///
    /// # Errors
    /// A column that is missing, of another kind, or with a value that its field cannot hold, as one
    /// without a value where there must be one: its name, and what is wrong with it.
    fn all_of(table: &Table) -> Result<Vec<Self>, (&'static str, String)> {
        let columns = Self::ALL.iter().map(|column| match table.column(column.name) {
            Some(values) if values.holds() == column.kind => Ok((*column, values)),
            Some(_) => Err((column.name, format!("is not {}", column.kind.in_words()))),
            None => Err((column.name, format!("is missing ({})", column.kind.in_words()))),
        });
        let columns: Vec<(Description, &Column)> = columns.collect::<Result<_, _>>()?;
        let read = |at: usize| {
            let row = Self::of_row(table, at);
            let lost =
                columns.iter().find(|(column, values)| row.value(*column) != values.value(at));
            match lost {
                None => Ok(row),
                Some((column, values)) => Err((
                    column.name,
                    match values.value(at) {
                        Value::Null => format!("has a missing value in row {}", at + 1),
                        value => {
                            format!("has a value in row {} that means nothing: {value:?}", at + 1)
                        }
                    },
                )),
            }
        };
        (0..table.rows()).map(read).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::flags::{self, FlagRow};
    use cook::FlagKind;

    fn rows() -> Vec<FlagRow> {
        let gap = FlagRow { cook: "a".into(), flag: FlagKind::Gap, ..FlagRow::default() };
        let spike =
            FlagRow { size_c: Some(31.0), readings: 2, flag: FlagKind::Spike, ..gap.clone() };
        vec![gap, spike]
    }

    #[test]
    fn rows_come_back_from_their_table() {
        let table = FlagRow::table(rows().iter());
        assert_eq!(table.names().count(), flags::ALL.len());
        assert_eq!(FlagRow::all_of(&table), Ok(rows()));
    }

    #[test]
    fn a_table_that_rows_cannot_hold_is_refused_by_column() {
        let whole = FlagRow::table(rows().iter());
        let with = |column: Column| {
            let mut table = whole.clone();
            table.set(flags::FLAG.name, column);
            FlagRow::all_of(&table).unwrap_err()
        };
        let (column, problem) = with(Column::from(["spike", "smudge"]));
        assert_eq!(column, "flag");
        assert!(problem.contains("row 2") && problem.contains("smudge"), "{problem}");
        assert_eq!(with(Column::Text(vec![None, None])).1, "has a missing value in row 1");
        assert_eq!(with(Column::from([1, 2])).1, "is not text");
        let (column, problem) = FlagRow::all_of(&whole.select(&["cook"])).unwrap_err();
        assert_eq!((column, problem.as_str()), ("channel", "is missing (text)"));
    }
}
