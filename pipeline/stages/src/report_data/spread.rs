//! Which measures are told with their spread over the cooks.

use columns::{Description, Kind, Shown, measures};
use std::collections::BTreeMap;
use store::Table;
use study::result::summary::Spread;
use study::summary::spread;

/// The small table of what was cooked, in the order shown.
const SUMMARY: [Description; 7] = [
    measures::TRIMMED_WEIGHT_KG,
    measures::PIT_MEAN_C,
    measures::TOTAL_MIN,
    measures::STALL_MIN,
    measures::STALL_DELAY_MIN,
    measures::PULL_CORE_C,
    measures::YIELD_FRACTION,
];

/// The small table of what was cooked.
pub(super) fn summary_rows(table: &Table) -> Vec<Spread> {
    SUMMARY.iter().filter_map(|column| spread(table, column)).collect()
}

/// The spread of the measures that cook pages and the figures of food rules show, by column; a count
/// has none.
pub(super) fn by_column(table: &Table) -> BTreeMap<String, Spread> {
    let is_shown =
        |column: &&Description| column.is_shown(Shown::CookPage) || column.is_shown(Shown::Probe);
    let shown = measures::ALL.iter().filter(is_shown);
    shown
        .filter(|column| column.kind == Kind::Float)
        .filter_map(|column| Some((column.name.to_owned(), spread(table, column)?)))
        .collect()
}
