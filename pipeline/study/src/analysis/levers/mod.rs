//! The other levers: raising the set-point, spraying, opening the lid.
//!
//! Each is done because of how the cook goes: the core stands, the clock runs. So cooks with it are not
//! compared with cooks without. What a dose does is asked step by step, of cooks alike up to then:
//! [`LeverEffect`]. A raised set-point is also asked as two strategies that begin at a core every cook
//! passes: [`LeverStrategies`]. A time-varying Cox model stands beside as an association, the slope of
//! the naive comparison beside that, and what goes with a lever is described.
//!
//! What is not in the logs (whose hands, how wet a spray, a lid opened and not written down) may still
//! stand behind it.

mod cox;
mod described;
mod per_dose;
mod steps;
mod strategies;

use super::wrap_timing::cooks::{self, Cooks};
use crate::error::StudyError;
use crate::history::History;
use crate::result::lever::{Lever, LeverKind};
use crate::rows::Rows;
use crate::table::MeasureTable;

const KINDS: [LeverKind; 4] =
    [LeverKind::SetpointRaised, LeverKind::Spritz, LeverKind::LidOpened, LeverKind::LidMinutes];

/// What each lever does, in a fixed order; none where no cook can be used or, of a lever, where no
/// history says whether it was used. `seed` is that of the bootstrap.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn levers(
    table: &MeasureTable,
    history: &History,
    seed: u64,
) -> Result<Vec<Lever>, StudyError> {
    let cooks = cooks::read(table, history, &[], Rows::all(table))?;
    if cooks.all.is_empty() {
        return Ok(Vec::new());
    }
    KINDS.into_iter().filter_map(|kind| lever(table, &cooks, kind, seed).transpose()).collect()
}

fn lever(
    table: &MeasureTable,
    cooks: &Cooks<'_>,
    kind: LeverKind,
    seed: u64,
) -> Result<Option<Lever>, StudyError> {
    let Some(steps) = steps::steps(kind, &cooks.all) else { return Ok(None) };
    let mut notes = Vec::new();
    let mut models = Vec::new();
    let used = described::used(&cooks.all, &steps);
    // The clustered errors of a handful of cooks are far too small.
    if used.cooks_with.min(used.cooks_without) >= per_dose::FEWEST_WITH_COX {
        match cox::model(&cooks.all, &steps) {
            Ok(model) => models.push(model),
            Err(error) => notes.push(format!("`cox` could not be fitted: {error}")),
        }
    }
    let (per_dose_min, per_dose_reason) = match per_dose::to_finish(&cooks.all, &steps) {
        Ok((effect, found)) => {
            models.extend(found);
            (Some(effect), None)
        }
        Err(reason) => (None, Some(reason)),
    };
    let half_hour_c = match per_dose::half_hour(&cooks.all, &steps) {
        Ok((effect, found)) => {
            models.extend(found);
            Some(effect)
        }
        Err(_) => None,
    };
    let (strategies, strategies_reason) = match kind {
        LeverKind::SetpointRaised => match strategies::compare(&cooks.all, seed) {
            Ok(found) => (Some(found), None),
            Err(reason) => (None, Some(reason)),
        },
        _ => (None, None),
    };
    if kind == LeverKind::SetpointRaised && cooks.without_setpoint > 0 {
        notes.push(format!("{} cooks state no set-point and are not used", cooks.without_setpoint));
    }
    let (pit_fall_c, pit_back_min) = described::falls(kind, &cooks.all, &steps);
    Ok(Some(Lever {
        lever: kind,
        n: cooks.all.len(),
        fires: cooks.rows.fires(table),
        left_out: cooks.rows.left_out.clone(),
        naive_min: if used.cooks_with > 0 { per_dose::naive(&cooks.all, &steps) } else { None },
        used,
        per_dose_min,
        per_dose_reason,
        half_hour_c,
        strategies,
        strategies_reason,
        described: described::with_and_without(table, cooks, &steps)?,
        pit_fall_c,
        pit_back_min,
        notes,
        models,
    }))
}

#[cfg(test)]
mod tests;
