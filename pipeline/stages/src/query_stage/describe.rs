//! What a column is, by the table that it stands in.

use columns::{Description, Quantity, card, derived, history, measures, names, tables};

/// What a column of a table is; `None` of a team's own.
pub(super) fn description(table: &str, column: &str) -> Option<Description> {
    let of = |list: &[Description]| list.iter().find(|own| own.name == column).copied();
    match table {
        "measures" => measures::columns().find(|own| own.name == column),
        "cooks" => {
            card::field_of(column).map(|field| field.column).or_else(|| of(tables::cooks::ALL))
        }
        "history" => of(history::ALL),
        "events" => of(tables::events::ALL),
        "readings" => of(tables::readings::ALL),
        "rejected" => of(tables::rejected::ALL),
        "sources" => of(tables::sources::ALL),
        "phases" => of(tables::phases::ALL),
        "flags" => of(tables::flags::ALL),
        "channels" => of(tables::channels::ALL),
        "warnings" => of(tables::warnings::ALL),
        _ => of(derived::ALL),
    }
}

/// Tables that the store describes.
const TABLES: [&str; 11] = [
    "measures", "cooks", "history", "events", "readings", "rejected", "sources", "phases", "flags",
    "channels", "warnings",
];

/// What the numbers of a column are numbers of, whatever its table: one name means one quantity
/// wherever it stands, and a team's own column what its name promises.
pub(super) fn quantity(column: &str) -> Quantity {
    TABLES
        .iter()
        .find_map(|table| description(table, column)?.quantity)
        .unwrap_or_else(|| names::quantity(column))
}
