//! Which measures are told with their spread over the cooks, and which of them are a team's habits.

use columns::{Description, Kind, Shown, measures};
use std::collections::BTreeMap;
use store::Table;
use study::result::summary::{Habit, Spread};
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

/// What somebody new to a team asks of a cook, in the order in which it comes up …
const HABITS: [Description; 11] = [
    measures::TRIMMED_WEIGHT_KG,
    measures::PIT_EARLY_C,
    measures::RAMP_MIN,
    measures::WRAP_AT_CORE_C,
    measures::STALL_MIN,
    measures::PUSH_MIN,
    measures::PIT_MEAN_C,
    measures::TOTAL_MIN,
    measures::PULL_CORE_C,
    measures::REST_MIN,
    measures::YIELD_FRACTION,
];
/// … of a wrap …
const OF_WRAPS: [Description; 4] =
    [measures::WRAP_AT_CORE_C, measures::TOTAL_MIN, measures::REST_MIN, measures::YIELD_FRACTION];
/// … and of a contest.
const BEFORE_TURN_IN: [Description; 2] = [measures::MEAT_ON_MS, measures::PLANNED_PULL_MS];

/// How the team cooks each cut.
pub(super) fn habits(table: &Table) -> Vec<Habit> {
    study::summary::habits(table, &HABITS, &OF_WRAPS, &BEFORE_TURN_IN)
}
