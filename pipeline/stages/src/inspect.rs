//! How logs would be read; writes nothing.

use crate::error::StageError;
use cook::Season;
use ingest::{IngestError, Layout, ReadOptions};
use jiff::tz::TimeZone;
use std::path::{Path, PathBuf};

/// How a log would be read.
pub struct Inspection {
    /// The log, read; or why it cannot be.
    pub outcome: Result<ingest::Log, IngestError>,
    /// The path as shown.
    pub shown_as: String,
}

/// Reads logs (files, folders, globs; those inside archives among them) as `ingest` would,
/// and writes nothing.
pub fn inspect(
    logs: &[PathBuf],
    season: &Season,
    layouts: &[PathBuf],
) -> Result<Vec<Inspection>, StageError> {
    let zone = TimeZone::get(&season.time_zone)
        .map_err(|e| StageError::Usage { message: e.to_string() })?;
    let layouts =
        layouts.iter().map(|path: &PathBuf| Layout::read(path)).collect::<Result<_, _>>()?;
    let options = ReadOptions::new(zone, &season.log, layouts);
    let mut inspections = Vec::new();
    for path in logs {
        let written = path.display().to_string();
        match ingest::list_logs(std::slice::from_ref(&written), Path::new("")) {
            Ok(list) => inspections.extend(list.files.into_iter().map(|file| Inspection {
                outcome: file.read_log(&options),
                shown_as: file.shown_as,
            })),
            Err(error) => inspections.push(Inspection { outcome: Err(error), shown_as: written }),
        }
    }
    Ok(inspections)
}
