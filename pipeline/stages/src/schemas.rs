//! JSON Schemas of everything that people write or programs read, made from the code.

use cook::Season;
use serde_json::{Value, json};
use store::Store;

/// File name below `schemas/` and text of every generated schema, sorted.
pub fn generated_schemas() -> Vec<(String, String)> {
    let mut schemas = vec![
        ("season.json", schemars::schema_for!(Season).to_value()),
        ("claims.json", study::Claims::schema()),
        ("claims-lock.json", schemars::schema_for!(study::Lock).to_value()),
        ("study.json", study::result::schema()),
        ("layout.json", schemars::schema_for!(ingest::Layout).to_value()),
        ("season-sheet.json", ingest::season_sheet_schema()),
        ("events-sheet.json", ingest::events_sheet_schema()),
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

/// Columns of the store's tables, by table, and what the measures mean.
fn store_tables() -> Value {
    let mut tables = Store::schemas();
    for (name, docs) in
        [("measures", measures::COLUMN_DOCS), ("history", measures::HISTORY_COLUMN_DOCS)]
    {
        let columns = docs.iter().map(|doc| {
            json!({
                "name": doc.name,
                "type": doc.kind.as_str(),
                "unit": doc.unit,
                "meaning": doc.meaning,
            })
        });
        tables.insert(name.into(), Value::Array(columns.collect()));
    }
    json!({ "schema": "cookstudy/store/1", "tables": tables })
}
