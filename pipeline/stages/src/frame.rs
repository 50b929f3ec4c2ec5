//! The one conversion from the store's columns to polars: by copying.

use crate::error::StageError;
use polars::prelude::{Column as FrameColumn, DataFrame, NamedFrom, Series};
use store::{Column, Table};

/// A table as a polars frame. Instants become ISO 8601 text (UTC), which sorts in time.
pub(crate) fn to_frame(table: &Table) -> Result<DataFrame, StageError> {
    let columns: Vec<FrameColumn> = table
        .columns()
        .iter()
        .map(|(name, column)| {
            let name = name.as_str().into();
            let series = match column {
                Column::Text(v) => Series::new(name, v),
                Column::Float(v) => Series::new(name, v),
                Column::Int(v) => Series::new(name, v),
                Column::Bool(v) => Series::new(name, v),
                Column::Instant(v) => {
                    let texts: Vec<Option<String>> =
                        v.iter().map(|ms| ms.map(crate::export::iso_instant)).collect();
                    Series::new(name, texts)
                }
            };
            series.into()
        })
        .collect();
    DataFrame::new(table.rows(), columns)
        .map_err(|e| StageError::Usage { message: format!("the table cannot be studied: {e}") })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_copied_with_their_missing_values() {
        let table = Table::new()
            .with("cook", Column::Text(vec![Some("a".into()), Some("b".into())]))
            .with("stall_min", Column::Float(vec![Some(12.5), None]))
            .with("stalls", Column::Int(vec![Some(1), None]))
            .with("meat_on", Column::Instant(vec![Some(0), None]));
        let frame = to_frame(&table).unwrap();
        assert_eq!(frame.shape(), (2, 4));
        assert_eq!(frame.column("stall_min").unwrap().f64().unwrap().get(0), Some(12.5));
        assert_eq!(frame.column("stalls").unwrap().null_count(), 1);
        assert_eq!(
            frame.column("meat_on").unwrap().str().unwrap().get(0),
            Some("1970-01-01T00:00:00Z")
        );
    }
}
