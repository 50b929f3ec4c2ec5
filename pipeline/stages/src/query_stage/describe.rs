//! What a column is, by the table that it stands in.

use columns::{Description, Quantity, derived, names, tables};

/// What a column of a table is; `None` of a team's own.
pub(super) fn description(table: &str, column: &str) -> Option<Description> {
    let stored = tables::all().into_iter().find(|(name, _)| *name == table);
    let columns = stored.map_or_else(|| derived::ALL.to_vec(), |(_, columns)| columns);
    columns.into_iter().find(|own| own.name == column)
}

/// What the numbers of a column are numbers of, whatever its table: one name means one quantity
/// wherever it stands, and a team's own column what its name promises.
pub(super) fn quantity(column: &str) -> Quantity {
    tables::all()
        .into_iter()
        .flat_map(|(_, columns)| columns)
        .filter(|own| own.name == column)
        .find_map(|own| own.quantity)
        .unwrap_or_else(|| names::quantity(column))
}
