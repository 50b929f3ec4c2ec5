//! Simulated cooks, to try things on: a team that nobody is, whose every draw comes from a seed.

use crate::errors::{fault, guarded};
use crate::table::Table;
use ::simulate::{SimulateError, TeamModel};
use outlook::simulated::Recorded;
use pyo3::prelude::*;
use rayon::prelude::*;
use rows::{CookRecord, cooks_to_table, events_to_table};

/// Fires that are simulated between two looks for an interrupt.
const AT_ONCE: usize = 8;

/// Readings, cards and events of so many fires of a team, from the `first` on.
#[pyfunction]
pub(crate) fn simulate(
    py: Python<'_>,
    fires: usize,
    seed: u64,
    first: usize,
) -> PyResult<Vec<(&'static str, Table)>> {
    guarded(|| {
        let team = TeamModel::middling();
        let name = format!("simulated-{seed}");
        let of_fire = |index: usize| -> Result<Vec<Recorded>, SimulateError> {
            // A fire's day is its place in a season, so seasons follow each other: a fire is the same in whatever
            // part it is asked for.
            let season = (index / team.fires) as u64;
            let mut fire = team.fire((seed << 24) + season, index % team.fires)?;
            fire.index = index;
            let truth = fire.run()?;
            Ok(Recorded::of_fire(&fire, &truth, &name))
        };
        let mut cooks: Vec<Recorded> = Vec::new();
        let indices: Vec<usize> = (first..first + fires).collect();
        for some in indices.chunks(AT_ONCE) {
            let found: Result<Vec<Vec<Recorded>>, SimulateError> =
                py.detach(|| some.par_iter().map(|index| of_fire(*index)).collect());
            let found = found.map_err(|error| fault(&error.to_string()))?;
            cooks.extend(found.into_iter().flatten());
            py.check_signals()?;
        }
        py.detach(|| tables(cooks))
    })
}

fn tables(cooks: Vec<Recorded>) -> PyResult<Vec<(&'static str, Table)>> {
    let (mut readings, mut records, mut events) = (Vec::new(), Vec::new(), Vec::new());
    for cook in cooks {
        records.push(CookRecord {
            log_start_ms: cook.readings.first_ms(),
            log_end_ms: cook.readings.last_ms(),
            card: cook.card,
            ..CookRecord::default()
        });
        events.extend(cook.events);
        readings.push(cook.readings);
    }
    let readings = rows::readings::to_batch(&readings).map_err(|e| fault(&e.to_string()))?;
    Ok(vec![
        ("readings", Table::of_batch(readings)),
        ("cooks", Table::of(&cooks_to_table(&records))?),
        ("events", Table::of(&events_to_table(&events))?),
    ])
}
