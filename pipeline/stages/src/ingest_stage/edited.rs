//! Whether a season's files are still those that its store was read from.

use super::IngestRequest;
use crate::error::StageError;
use crate::folder::QUESTIONS;
use cook::{Answers, Season, SourceRecord};
use ingest::LogFile;
use std::collections::BTreeSet;
use std::path::Path;
use store::Store;
use store::stamps::{Inputs, Stage, Stamps, hash_of};

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

/// What the stamps call answered questions.
const ANSWERED: &str = "answers";
/// Stands before the name of a log that no cook was made of, as one that was refused.
const NOT_USED: &str = "log ";

/// What else the stamps hold of a run over `files`: that questions were answered, and logs of which nothing
/// was read.
pub(super) fn noted(request: &IngestRequest, files: &[LogFile], read: &[SourceRecord]) -> Inputs {
    let is_answered =
        request.answers != Answers::default() && request.base.join(QUESTIONS).is_file();
    let answered = is_answered.then(|| (QUESTIONS.to_owned(), ANSWERED.to_owned()));
    let read: BTreeSet<&str> = read.iter().map(|source| source.path.as_str()).collect();
    let not_used = files.iter().filter(|file| !read.contains(file.shown_as.as_str()));
    let not_used = not_used.map(|file| (format!("{NOT_USED}{}", file.shown_as), String::new()));
    answered.into_iter().chain(not_used).collect()
}

/// Whether a season folder's questions were answered when it was read last, and are gone now.
pub(crate) fn answers_are_gone(folder: &Path, store: &Path) -> bool {
    !folder.join(QUESTIONS).is_file()
        && Store::open(store).is_ok_and(|store| {
            let stamps = Stamps::read(&store);
            stamps.inputs(Stage::Ingest).is_some_and(|noted| noted.contains_key(QUESTIONS))
        })
}

/// A sheet's file: a worksheet is named behind `#`.
fn path(folder: &Path, name: &str) -> std::path::PathBuf {
    let whole = folder.join(name);
    if whole.is_file() { whole } else { folder.join(name.split('#').next().unwrap_or(name)) }
}

/// The files of a season folder that are not what its store was read from: settings, sheets and logs, by
/// name, and logs that are new. One that is gone is none: the store keeps what it had of it.
///
/// # Errors
/// Sources that cannot be read, and logs that the settings name and that are not there.
pub(crate) fn edited(
    folder: &Path,
    season: &Season,
    store: &Store,
) -> Result<Vec<String>, StageError> {
    let stamps = Stamps::read(store);
    let noted = stamps.inputs(Stage::Ingest);
    let mut edited: Vec<String> = noted
        .into_iter()
        .flatten()
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
        let is_other = match of {
            Some(source) => file.content_hash().is_ok_and(|now| now != source.content_hash),
            // Before hashes were noted, logs that were not used were not noted either.
            None => noted.is_some_and(|noted| {
                noted.keys().any(|key| key.starts_with(HASH))
                    && !noted.contains_key(&format!("{NOT_USED}{}", file.shown_as))
            }),
        };
        if is_other {
            edited.push(file.shown_as.clone());
        }
    }
    Ok(edited)
}
