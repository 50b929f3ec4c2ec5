//! How logs would be read; writes nothing.

use crate::error::StageError;
use cook::Season;
use ingest::{IngestError, Layout, ReadOptions};
use jiff::tz::TimeZone;
use std::path::PathBuf;

/// How a log would be read.
pub struct Inspection {
    /// The log, read; or why it cannot be.
    pub outcome: Result<ingest::Log, IngestError>,
    /// The path as shown.
    pub shown_as: String,
}

/// Reads logs as `ingest` would, and writes nothing.
pub fn inspect(
    logs: &[PathBuf],
    season: &Season,
    layouts: &[PathBuf],
) -> Result<Vec<Inspection>, StageError> {
    let zone = TimeZone::get(&season.time_zone)
        .map_err(|e| StageError::Usage { message: e.to_string() })?;
    let layouts =
        layouts.iter().map(|path: &PathBuf| Layout::read(path)).collect::<Result<_, _>>()?;
    let options =
        ReadOptions { zone, unit: season.log.unit, roles: season.log.roles.clone(), layouts };
    Ok(logs
        .iter()
        .map(|path: &PathBuf| {
            let shown_as = path.display().to_string();
            Inspection { outcome: ingest::read_log(path, &shown_as, &options), shown_as }
        })
        .collect())
}
