//! The columns of the tables that the store writes.

use crate::Store;

impl Store {
    /// Name and Arrow type of every column of the readings, which are packed.
    pub fn types_of_readings() -> Vec<(String, String)> {
        rows::readings::fields()
            .into_iter()
            .map(|field| (field.name().clone(), field.data_type().to_string()))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scores::scores_to_table;
    use crate::tables::{rejected_to_table, sources_to_table};
    use columns::{Kind, Table};
    use rows::{cooks_to_table, events_to_table};

    #[test]
    fn every_sheet_and_account_has_the_columns_described_in_order_and_kind() {
        let written = |name: &str| -> Option<Table> {
            Some(match name {
                "cooks" => cooks_to_table(&[]),
                "events" => events_to_table(&[]),
                "scores" => scores_to_table(&[]),
                "rejected" => rejected_to_table(&[]),
                "sources" => sources_to_table(&[]),
                _ => return None,
            })
        };
        let mut tables = 0;
        for (name, described) in columns::tables::all() {
            let Some(table) = written(name) else { continue };
            let found: Vec<(&str, Kind)> =
                table.columns().iter().map(|(name, c)| (name.as_str(), c.holds())).collect();
            let described: Vec<(&str, Kind)> =
                described.iter().map(|column| (column.name, column.kind)).collect();
            assert_eq!(found, described, "{name}");
            tables += 1;
        }
        assert_eq!(tables, 5);
    }

    #[test]
    fn the_readings_have_the_columns_described() {
        let types = Store::types_of_readings();
        let found: Vec<&str> = types.iter().map(|(name, _)| name.as_str()).collect();
        let described: Vec<&str> =
            columns::tables::readings::ALL.iter().map(|column| column.name).collect();
        assert_eq!(found, described);
    }
}
