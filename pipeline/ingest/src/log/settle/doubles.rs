//! Rows that tell one time twice.

use super::order;
use crate::code::Code;
use crate::log::finding::Findings;
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;

/// Puts rows in order of time. Of rows that tell one time twice, the first in the log counts; a
/// later one only fills what the first leaves open. Its other cells are rejected: as
/// `duplicate-time` where they say the same, else as `conflicting-time`.
pub(crate) fn settle(_plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    for series in &mut rows.series {
        let (order, moved) = order::sorted(&series.at_ms);
        let mut seen: Vec<f32> = Vec::new();
        let mut group = 0..0;
        while group.end < order.len() {
            let at = series.at_ms.at(order.at(group.end) as usize);
            let from = group.end;
            let is_same = |place: &usize| series.at_ms.at(order.at(*place) as usize) == at;
            group = from..from + (from..order.len()).take_while(is_same).count();
            if group.len() > 1 {
                seen.clear();
                let first = order.at(group.start) as usize;
                seen.extend(series.values.iter().map(|values| values.at(first)));
                for place in group.start + 1..group.end {
                    join(series, &mut seen, order.at(place) as usize);
                }
            }
        }
        (series.order, series.moved) = (order, moved);
    }
    Findings::default()
}

/// Settles a later row of a time for which `seen` is known already.
fn join(series: &mut Series, seen: &mut [f32], later: usize) {
    let (mut fills, mut repeats, mut conflicts) = (0, Vec::new(), Vec::new());
    for (channel, old) in seen.iter_mut().enumerate() {
        let new = series.values[channel].at(later);
        if new.is_nan() {
            continue;
        }
        if old.is_nan() {
            fills += 1;
            *old = new;
        } else {
            series.values[channel].set(later, f32::NAN);
            if *old == new { repeats.push(channel) } else { conflicts.push(channel) }
        }
    }
    if fills > 0 {
        series.cells_out.extend(repeats.into_iter().map(|c| (later, c, Code::DuplicateTime)));
        series.cells_out.extend(conflicts.into_iter().map(|c| (later, c, Code::ConflictingTime)));
    } else if !conflicts.is_empty() {
        series.out.push((later, Code::ConflictingTime));
    } else if !repeats.is_empty() {
        series.out.push((later, Code::DuplicateTime));
    }
}
