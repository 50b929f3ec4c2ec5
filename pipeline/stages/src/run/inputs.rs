//! What a season's results rest on: files and their hashes.

use super::Place;
use crate::error::StageError;
use crate::folder::QUESTIONS;
use crate::ingest_stage::IngestRequest;
use crate::study_stage::{ClaimsFile, study_tables};
use std::collections::{BTreeMap, BTreeSet};
use store::Store;
use store::stamps::hash_of;
use study::result::InputHash;

/// The files that a season's results rest on.
pub(super) struct InputFiles<'a> {
    pub(super) place: &'a Place<'a>,
    pub(super) request: &'a IngestRequest,
    pub(super) store: &'a Store,
    pub(super) claims: &'a ClaimsFile,
}

impl InputFiles<'_> {
    /// Their hashes by path from the folder; `lock` is that of the lock, if there is one.
    pub(super) fn hashes(&self, lock: Option<String>) -> Result<Vec<InputHash>, StageError> {
        let Self { place, request, store, claims } = self;
        let Place { base: folder, home } = **place;
        let mut names: BTreeSet<String> = BTreeSet::new();
        // Logs alone have no settings; a file of that name beside them is not read.
        if home == folder {
            names.insert("season.toml".to_owned());
        }
        names.extend(request.sheets.iter().cloned());
        names.extend(request.events.iter().chain(&request.score_sheets).cloned());
        for path in ingest::Layout::files(folder, &request.layouts)? {
            let relative = path.strip_prefix(folder).unwrap_or(&path);
            names.insert(relative.display().to_string());
        }
        names.extend(store.read_sources()?.into_iter().map(|source| source.path));
        let tables = study_tables(&claims.claims);
        let tables = tables.iter().map(|name| format!("store/{}.parquet", name.as_str()));
        let own: BTreeSet<String> = tables.chain([QUESTIONS.to_owned()]).collect();
        names.extend(own.iter().cloned());
        let mut known: BTreeMap<String, String> = BTreeMap::new();
        if let Some(name) = claims.path.as_ref().and_then(|path| path.strip_prefix(folder).ok()) {
            known.insert(name.display().to_string(), claims.sha256.clone());
        }
        known.extend(lock.map(|hash| (super::LOCK.to_owned(), hash)));
        for name in names {
            let path = if own.contains(&name) { home } else { folder }.join(&name);
            if path.is_file() && !known.contains_key(&name) {
                let hash = hash_of(&path)?;
                known.insert(name, hash);
            }
        }
        Ok(known.into_iter().map(|(path, sha256)| InputHash { path, sha256 }).collect())
    }
}
