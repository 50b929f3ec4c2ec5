//! The columns of the tables whose schema the store itself knows.

use crate::Store;
use crate::cleaning::{channels_to_table, flags_to_table, warnings_to_table};
use crate::cooks::cooks_to_table;
use crate::phases::phases_to_table;
use crate::readings::readings_fields;
use crate::tables::{events_to_table, rejected_to_table, sources_to_table};
use columns::{Column, Table};
use serde_json::{Map, Value, json};

impl Store {
    /// Name and type of every column, by table: all but `measures` and `history`, whose
    /// columns are those of the measures stage.
    pub fn schemas() -> Map<String, Value> {
        let readings = readings_fields()
            .into_iter()
            .map(|field| json!({ "name": field.name(), "type": field.data_type().to_string() }))
            .collect();
        let mut tables = Map::new();
        tables.insert("readings".into(), Value::Array(readings));
        for (name, table) in [
            ("cooks", cooks_to_table(&[])),
            ("events", events_to_table(&[])),
            ("phases", phases_to_table(&[])),
            ("flags", flags_to_table(&[])),
            ("channels", channels_to_table(&[])),
            ("warnings", warnings_to_table(&[])),
            ("rejected", rejected_to_table(&[])),
            ("sources", sources_to_table(&[])),
        ] {
            tables.insert(name.into(), columns(&table));
        }
        tables
    }
}

fn columns(table: &Table) -> Value {
    let of = |column: &Column| match column {
        Column::Text(_) => "text",
        Column::Float(_) => "float64",
        Column::Int(_) => "int64",
        Column::Bool(_) => "bool",
        Column::Instant(_) => "timestamp ms UTC",
    };
    table.columns().iter().map(|(name, c)| json!({ "name": name, "type": of(c) })).collect()
}
