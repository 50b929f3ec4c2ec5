//! JSON Schemas of everything that people write or programs read, made from the code.

use columns::tables::READINGS;
use cook::Season;
use serde_json::{Map, Value, json};
use store::Store;

/// File name below `schemas/` and text of every generated schema, sorted.
pub fn generated_schemas() -> Vec<(String, String)> {
    let mut schemas = vec![
        ("season.json", schemars::schema_for!(Season).to_value()),
        ("questions.json", schemars::schema_for!(cook::question::QuestionsText).to_value()),
        ("claims.json", study::Claims::schema()),
        ("claims-lock.json", schemars::schema_for!(study::Lock).to_value()),
        ("study.json", study::result::schema()),
        ("effects.json", study::result::effects_schema()),
        ("pool.json", study::result::pool_schema()),
        ("layout.json", schemars::schema_for!(ingest::Layout).to_value()),
        ("season-sheet.json", ingest::season_sheet_schema()),
        ("events-sheet.json", ingest::events_sheet_schema()),
        ("scores-sheet.json", ingest::scores_sheet_schema()),
        ("store.json", store_tables()),
    ];
    schemas.sort_by_key(|(name, _)| *name);
    schemas
        .into_iter()
        .map(|(name, schema)| {
            let text = serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n";
            (name.to_owned(), text)
        })
        .collect()
}

/// The columns of the store's tables, by table. The readings are packed: their types are the
/// store's own.
fn store_tables() -> Value {
    let packed = Store::types_of_readings();
    let mut tables = Map::new();
    for (name, columns) in columns::tables::all() {
        let columns = columns.iter().map(|column| {
            let packed = packed.iter().find(|(own, _)| name == READINGS && own == column.name);
            json!({
                "name": column.name,
                "type": packed.map_or(column.kind.as_str(), |(_, kind)| kind),
                "unit": column.unit(),
                "meaning": column.meaning,
            })
        });
        tables.insert(name.into(), Value::Array(columns.collect()));
    }
    json!({ "schema": "cookstudy/store/1", "tables": tables })
}
