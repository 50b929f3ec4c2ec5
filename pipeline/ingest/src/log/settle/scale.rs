//! Numbers read on another scale, or in another unit from an instant on, as answers say.

use crate::log::finding::Findings;
use crate::log::physics;
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;

/// The unit that all cells with one say, where no other is said.
pub(crate) fn unit_in_cells(
    plan: &Plan<'_>,
    rows: &Rows<'_>,
) -> Option<cook::season::TemperatureUnit> {
    // A cell without a unit is in the default; where that is the same, all are in one.
    rows.units.only().filter(|only| plan.unit.is_none_or(|unit| unit == *only))
}

pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let answered = &plan.options.answered;
    if let Some(scale) = answered.scale {
        let in_cells = unit_in_cells(plan, rows);
        scale.apply(&mut rows.readings, in_cells);
    }
    for (at_ms, unit) in &answered.changes {
        if let Some(unit) = unit {
            physics::change_from(&mut rows.readings, *at_ms, *unit);
        }
    }
    Findings::default()
}
