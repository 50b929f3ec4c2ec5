//! Measures, history and moved constants of every cook of a store.

use crate::derive_stage::{Asked, derive};
use crate::error::StageError;
use crate::phases_stage::TableSummary;
use crate::progress::Progress;
use cook::Season;
use std::path::Path;
use store::{Store, TableName};

/// Measures every cook of a store.
///
/// # Errors
/// No store, or one whose phases are not there yet.
pub fn measures(
    store: &Path,
    season: &Season,
    progress: &dyn Progress,
) -> Result<TableSummary, StageError> {
    let store = Store::open(store)?;
    let _lock = store.lock()?;
    let pass = derive(&store, season, Asked::Measures, progress)?;
    let table = match pass.measured {
        Some(tables) => tables.measures,
        None => store.read_table(TableName::Measures)?,
    };
    Ok(TableSummary {
        cooks: table.rows(),
        table,
        computed: pass.measures.computed,
        changed: pass.measures.changed,
        notes: pass.notes,
    })
}
