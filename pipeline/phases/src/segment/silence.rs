//! Stretches without readings in which a stall may have come and gone.

use crate::definition::Judgement;
use cook::PhaseDefinition;

/// A stalled core takes heat about this readily, as a share of its reference. Common practice, no source.
const STALLED: f64 = 0.2;

/// Whether a stretch without readings, where stalls are and beside none, leaves room for one: where none was seen, a
/// length of it that could be a stall and still let the core rise as far as it did; beside others, a core that on
/// the whole of it took heat as in a stall.
pub(super) fn may_hide_a_stall(judgement: &Judgement, definition: &PhaseDefinition) -> bool {
    let (Some(reference), Some(stalls)) = (judgement.reference, judgement.stalls) else {
        return false;
    };
    let heating = &judgement.heating;
    let Some(from) = heating.first_index_at(definition.stall_from_c) else { return false };
    let until = heating.first_index_at(definition.stall_until_c).unwrap_or(heating.len());
    let hour = 3_600_000.0 / heating.step_ms as f64;
    let shortest_h = definition.minimum_stall_s / 3600.0;
    let mut start = from;
    while let Some(first) = (start..until).find(|&index| !heating.observed[index]) {
        let end = (first..until).find(|&index| heating.observed[index]).unwrap_or(until);
        start = end;
        // What follows the last reading is no stretch between two.
        if end == heating.len() {
            break;
        }
        let (before, after) = (first.saturating_sub(1), end);
        if heating.in_stall[before..=after].contains(&true) {
            continue;
        }
        let hours = (after - before) as f64 / hour;
        let offered: f64 = (before..=after)
            .map(|index| heating.lagged_pit_c[index] - heating.core_c[index])
            .map(|gap| gap.max(definition.minimum_gap_c))
            .sum::<f64>()
            / (after - before + 1) as f64;
        let rise = heating.core_c[after] - heating.core_c[before];
        let share = rise / (offered * hours * reference.k_per_h);
        let hidden_h = hours * (1.0 - share) / (1.0 - STALLED);
        let hides = match stalls {
            0 => hidden_h >= shortest_h,
            _ => share < definition.stall_fraction && hours >= shortest_h,
        };
        if hides {
            return true;
        }
    }
    false
}
