//! Whether a season's files are still those that its store was read from.

use super::{IngestRequest, Inputs};
use crate::error::StageError;
use cook::Season;
use std::path::Path;
use store::Store;
use store::stamps::{Stage, Stamps, hash_of};

/// Stands before a file's name where the stamps hold its hash; the name alone says what kind of sheet it is.
const HASH: &str = "sha256 ";

/// The hashes of settings and sheets of a request, as the stamps hold them.
pub(super) fn hashes(request: &IngestRequest) -> Inputs {
    let settings = "season.toml".to_owned();
    let sheets = request.sheets.iter().chain(&request.events).chain(&request.score_sheets);
    std::iter::once(&settings)
        .chain(sheets)
        .filter_map(|name| {
            Some((format!("{HASH}{name}"), hash_of(&path(&request.base, name)).ok()?))
        })
        .collect()
}

/// A sheet's file: a worksheet is named behind `#`.
fn path(folder: &Path, name: &str) -> std::path::PathBuf {
    let whole = folder.join(name);
    if whole.is_file() { whole } else { folder.join(name.split('#').next().unwrap_or(name)) }
}

/// The files of a season folder that are not what its store was read from: settings, sheets and logs, by
/// name. One that is gone is none: the store keeps what it had of it.
///
/// # Errors
/// Sources that cannot be read, and logs that the settings name and that are not there.
pub(crate) fn edited(
    folder: &Path,
    season: &Season,
    store: &Store,
) -> Result<Vec<String>, StageError> {
    let stamps = Stamps::read(store);
    let noted = stamps.inputs(Stage::Ingest).into_iter().flatten();
    let mut edited: Vec<String> = noted
        .filter_map(|(key, hash)| {
            let name = key.strip_prefix(HASH)?;
            let is_other = hash_of(&path(folder, name)).is_ok_and(|now| now != *hash);
            is_other.then(|| name.to_owned())
        })
        .collect();
    let sources = store.read_sources()?;
    let Ok(list) = ingest::list_logs(&season.logs, folder) else { return Ok(edited) };
    for file in &list.files {
        let of = sources.iter().find(|source| source.path == file.shown_as);
        if let (Some(source), Ok(now)) = (of, file.content_hash())
            && now != source.content_hash
        {
            edited.push(file.shown_as.clone());
        }
    }
    Ok(edited)
}
