//! Stores of several teams into one season folder.
//!
//! Every cook, fire and pit bears its team's name in front, and a column `team` says whose it is; what
//! is derived is computed anew on the merged store, by one definition for all. Anonymised, the store
//! holds codes in place of names, and nothing that somebody wrote in words of their own.

mod anonymise;
mod inputs;
mod key;
mod named;
mod season;
mod selection;
mod vocabulary;
mod withdraw;

pub use inputs::MergeInput;

use self::inputs::{Source, real_path};
use self::key::Key;
use self::named::{Merged, MergedCook};
use self::selection::Selection;
use crate::QUESTIONS;
use crate::error::StageError;
use crate::ingest_stage::{LONGEST_NAME, sort_others, sort_records, sort_scores};
use crate::progress::Progress;
use crate::stamps::Damage;
use cook::{CookReadings, Questions};
use ingest::folded;
use query::Tables;
use rayon::prelude::*;
use rows::Fingerprint;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use store::stamps::{Inputs, Stage, Stamps};
use store::{CookRecord, Ingested, ReadingsBatch, Store, Table, write_atomically};

/// Where the store lies in its season folder.
const STORE: &str = "store";
/// What says that a store was made by merging, and of what.
const MERGED: &str = "merged.json";

/// What to merge, and where to.
#[derive(Debug, Clone)]
pub struct MergeRequest {
    /// The stores.
    pub inputs: Vec<MergeInput>,
    /// The season folder to make, or one that was made so before; the store lies in it.
    pub out: PathBuf,
    /// Replace or drop what identifies.
    pub anonymise: bool,
    /// Columns to keep all the same.
    pub keep: BTreeSet<String>,
    /// Where the key lies, or is to be written; no key is written without it.
    pub key: Option<PathBuf>,
    /// Teams whose cooks stay away.
    pub without: BTreeSet<String>,
    /// Count a cook that lies in two stores twice.
    pub twice: bool,
}

/// What was merged.
#[derive(Debug, Clone)]
pub struct MergeSummary {
    /// One row a team: its name in the merged store, cooks, fires, readings.
    pub table: Table,
    /// Cooks in the merged store.
    pub cooks: usize,
    /// Whether any file changed.
    pub changed: bool,
    /// Things to know.
    pub notes: Vec<String>,
    /// What became of the verdicts without the teams that were withdrawn.
    pub verdicts: Vec<String>,
}

/// `merged.json`.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
struct Marker {
    version: String,
    anonymised: bool,
    /// Cooks by team, under the names of the merged store.
    teams: BTreeMap<String, usize>,
}

fn usage<T>(message: String) -> Result<T, StageError> {
    Err(StageError::Usage { message })
}

/// Merges stores. Where teams are withdrawn, the season is run with and without them, so that the verdicts that
/// change can be named.
///
/// # Errors
/// A store that cannot be read, or was written by another version; cooks without a team; two cooks of
/// one name; a team to withdraw that is not there; a folder that holds anything but a store merged before:
/// nothing is written then.
pub fn merge(request: &MergeRequest, progress: &dyn Progress) -> Result<MergeSummary, StageError> {
    if request.without.is_empty() {
        return join(request, progress);
    }
    withdraw::withdraw(request, progress)
}

/// Merges the stores of the teams that stay.
fn join(request: &MergeRequest, progress: &dyn Progress) -> Result<MergeSummary, StageError> {
    if !request.anonymise && (request.key.is_some() || !request.keep.is_empty()) {
        return usage(
            "--key and --keep speak of anonymising; add --anonymise, or leave them away".into(),
        );
    }
    let old = old_marker(request)?;
    let sources = inputs::read(&request.inputs)?;
    check_apart(request, &sources)?;
    let selection = Selection::of(&sources, &request.without, request.twice)?;
    let mut merged = named::join(&sources, &selection, &request.without)?;
    let mut notes = Vec::new();
    let mut key = request.key.as_deref().map(Key::read).transpose()?.flatten();
    if request.anonymise {
        let key = key.get_or_insert_with(|| Key::new(secret(&merged)));
        (merged, notes) = anonymise::anonymise(merged, &request.keep, key)?;
    }
    check_names(&merged)?;

    let mut teams: Vec<&str> = merged.cooks.iter().map(team_of).collect();
    teams.sort_unstable();
    teams.dedup();
    let carried =
        season::carried(&sources, &selection, &request.without, &teams, request.anonymise)?;
    notes.extend(selection.notes.iter().cloned());
    notes.extend(carried.notes.iter().cloned());
    for source in &sources {
        notes.extend(open_questions(source)?);
    }
    let store = Store::create(&request.out.join(STORE))?;
    let _lock = store.lock()?;
    let marker = marker(request, &merged);
    // First, so that a merge that is cut off can be done again.
    if old.is_none() {
        write_marker(&store, &marker)?;
    }
    // The key next: codes without it could not be told apart again.
    if let (Some(path), Some(key)) = (&request.key, &key) {
        key.write(path)?;
    }
    let mut stamps = Stamps::read(&store);
    let damage = Damage::find(&store, &stamps)?;
    notes.extend(damage.notes.iter().cloned());
    let changed = write(&store, &mut stamps, &damage, &sources, &mut merged, progress)?;
    let changed = write_marker(&store, &marker)? | carried.write(&request.out)? | changed;
    let (table, cooks) = (listing(&merged)?, merged.cooks.len());
    Ok(MergeSummary { table, cooks, changed, notes, verdicts: Vec::new() })
}

/// That questions of a season wait for an answer: what hangs on them is not among what is merged.
fn open_questions(source: &Source) -> Result<Option<String>, StageError> {
    let Some(season) = &source.season else { return Ok(None) };
    let path = season.join(QUESTIONS);
    let open = Questions::read(&path)?.unanswered();
    let are = match open {
        0 => return Ok(None),
        1 => "1 question has no answer".to_owned(),
        many => format!("{many} questions have no answer"),
    };
    Ok(Some(format!(
        "{}: {are}: write one to each, run {} again, and merge again",
        path.display(),
        source.shown.display()
    )))
}

/// The marker of a store that is to be merged into again.
fn old_marker(request: &MergeRequest) -> Result<Option<Marker>, StageError> {
    let out = &request.out;
    let path = out.join(STORE).join(MERGED);
    match std::fs::read_to_string(&path) {
        Ok(text) => {
            let marker: Marker = serde_json::from_str(&text).map_err(|e| StageError::Usage {
                message: format!("{}: not readable ({e}); choose another --out", path.display()),
            })?;
            if marker.anonymised == request.anonymise {
                return Ok(Some(marker));
            }
            let (was, is) = if marker.anonymised { ("is", "is not") } else { ("is not", "is") };
            usage(format!(
                "{}: the store there {was} anonymised, this one {is}; choose another --out",
                out.display()
            ))
        }
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
            // A merge that was cut off at its first step leaves a store without a file.
            let is_empty = is_empty(out, &[STORE])? && is_empty(&out.join(STORE), &[])?;
            if is_empty { Ok(None) } else { Err(StageError::Occupied { path: out.clone() }) }
        }
        Err(e) => Err(StageError::io(&path, e)),
    }
}

/// Whether a folder is not there, or holds nothing but hidden files and these.
fn is_empty(folder: &Path, but: &[&str]) -> Result<bool, StageError> {
    match std::fs::read_dir(folder) {
        Ok(mut entries) => Ok(entries.all(|entry| {
            entry.is_ok_and(|entry| {
                let name = entry.file_name();
                let name = name.to_string_lossy();
                name.starts_with('.') || but.contains(&&*name)
            })
        })),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(true),
        Err(e) => Err(StageError::io(folder, e)),
    }
}

/// Whether the store in a season folder was made by merging: its cooks come from no log there.
pub(crate) fn is_merged(folder: &Path) -> bool {
    folder.join(STORE).join(MERGED).is_file()
}

/// The merged store is none of its inputs, and the key lies outside it.
fn check_apart(request: &MergeRequest, sources: &[Source]) -> Result<(), StageError> {
    let out = real_path(&request.out);
    let inside = real_path(&request.out.join(STORE));
    let is_out = |source: &&Source| [&out, &inside].contains(&&real_path(source.store.root()));
    if let Some(source) = sources.iter().find(is_out) {
        return usage(format!(
            "{}: cannot be merged into itself; choose another --out",
            source.shown.display()
        ));
    }
    let Some(key) = &request.key else { return Ok(()) };
    let folder = key.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let absolute = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    if real_path(folder).starts_with(&out) || absolute(folder).starts_with(absolute(&request.out)) {
        return usage(format!(
            "{}: the key would go along with the store that it opens; keep it elsewhere",
            key.display()
        ));
    }
    Ok(())
}

/// A secret of what the stores hold: the same stores give the same names, and nobody who does not have
/// them can make it.
fn secret(merged: &Merged) -> String {
    let mut records: Vec<&CookRecord> = merged.cooks.iter().map(|cook| &cook.record).collect();
    records.sort_by(|a, b| a.card.cook.cmp(&b.card.cook));
    let mut hash = Fingerprint::keyed("secret of a merge", "");
    for record in records {
        hash.part(record.computed_from.as_bytes());
        hash.json(&record.card);
    }
    let mut logs: Vec<&str> = merged.sources.iter().map(|log| log.content_hash.as_str()).collect();
    logs.sort_unstable();
    for log in logs {
        hash.part(log.as_bytes());
    }
    hash.finish()
}

/// Names that files can bear, each once.
fn check_names(merged: &Merged) -> Result<(), StageError> {
    let mut seen = BTreeSet::new();
    for cook in &merged.cooks {
        let name = &cook.record.card.cook;
        if store::encode_name(name).len() > LONGEST_NAME {
            return usage(format!(
                "the cook `{name}`: with its team in front the name is too long for a file (at most {LONGEST_NAME} plain letters); shorten the team's name"
            ));
        }
        if !seen.insert(folded(name)) {
            return usage(format!(
                "`{name}`: two cooks have come to bear this name, but for capitals and accents; rename one, or merge with another --key"
            ));
        }
    }
    Ok(())
}

fn marker(request: &MergeRequest, merged: &Merged) -> Marker {
    let mut teams = BTreeMap::new();
    for cook in &merged.cooks {
        *teams.entry(team_of(cook).to_owned()).or_insert(0) += 1;
    }
    Marker { version: env!("CARGO_PKG_VERSION").into(), anonymised: request.anonymise, teams }
}

fn write_marker(store: &Store, marker: &Marker) -> Result<bool, StageError> {
    let text = serde_json::to_string_pretty(marker).unwrap_or_default() + "\n";
    Ok(write_atomically(&store.root().join(MERGED), text.as_bytes())?)
}

/// The team as the merged store names it.
fn team_of(cook: &MergedCook) -> &str {
    let extra = cook.record.card.extra.iter().find(|(name, _)| name == inputs::TEAM);
    extra.map_or("", |(_, team)| team.as_str())
}

/// Writes readings, then the tables that speak of them; then what no table speaks of goes.
fn write(
    store: &Store,
    stamps: &mut Stamps,
    damage: &Damage,
    sources: &[Source],
    merged: &mut Merged,
    progress: &dyn Progress,
) -> Result<bool, StageError> {
    let wanted: BTreeMap<String, String> = merged
        .cooks
        .iter()
        .filter(|cook| cook.record.log_start_ms.is_some())
        .map(|cook| (cook.record.card.cook.clone(), cook.record.card.season.clone()))
        .collect();
    let batch = store.readings_batch_without(&damage.files)?;
    let there = batch.cooks();
    for (season, cook) in there.iter().filter(|(s, c)| wanted.get(c).is_some_and(|w| w != s)) {
        // A cook that moved to another season makes room for itself.
        batch.remove(season, cook);
    }
    progress.begin("merge", merged.cooks.len() as u64);
    merged.cooks.par_iter_mut().try_for_each(|cook| {
        let done = write_cook(&batch, &sources[cook.source], cook);
        progress.step(&cook.record.card.cook);
        done
    })?;
    progress.end();

    let mut records: Vec<CookRecord> =
        merged.cooks.iter().map(|cook| cook.record.clone()).collect();
    sort_records(&mut records);
    sort_scores(&mut merged.scores);
    sort_others(&mut merged.events, &mut merged.rejected, &mut merged.sources);
    let tables = store.encode_ingested(Ingested {
        events: &merged.events,
        scores: &merged.scores,
        rejected: &merged.rejected,
        sources: &merged.sources,
        cooks: &records,
    })?;
    stamps.open(Stage::Ingest)?;
    let mut changed = batch.finish()?;
    changed |= tables.write()?;
    let unspoken_of = store.readings_batch()?;
    for (season, cook) in there.iter().filter(|(_, cook)| !wanted.contains_key(cook)) {
        unspoken_of.remove(season, cook);
    }
    changed |= unspoken_of.finish()?;
    let files: Vec<PathBuf> = tables.paths().cloned().chain(store.readings_files()?).collect();
    stamps.set(Stage::Ingest, Inputs::new(), &files)?;
    Ok(changed)
}

/// Copies one cook's readings under its new names, and binds its record to them.
fn write_cook(
    batch: &ReadingsBatch<'_>,
    source: &Source,
    cook: &mut MergedCook,
) -> Result<(), StageError> {
    let record = &mut cook.record;
    let mut hash = Fingerprint::new("merged cook", Stage::Ingest.number());
    hash.part(record.computed_from.as_bytes());
    hash.part(&cook.shift_ms.to_le_bytes());
    if record.log_start_ms.is_none() {
        if cook.rename_channels {
            record.card.lead_channel = None;
        }
        record.computed_from = hash.finish();
        return Ok(());
    }
    let (season, name) = &cook.was;
    let files = source.store.readings_files_of(season, name);
    source.whole.expect(files)?;
    let old = source.store.read_readings(season, name)?;
    let mut readings = CookReadings {
        cook: record.card.cook.clone(),
        season: record.card.season.clone(),
        sources: old
            .sources
            .iter()
            .map(|path| match cook.logs.get(path) {
                Some(path) => Ok(path.clone()),
                None => usage(format!(
                    "{}: readings of `{name}` come from `{path}`, which sources.parquet does not have; make the store anew with `cookstudy run` or `cookstudy ingest`",
                    source.shown.display()
                )),
            })
            .collect::<Result<_, _>>()?,
        channels: old.channels,
    };
    if cook.rename_channels {
        let names = anonymise::rename_channels(&mut readings);
        record.card.lead_channel = record.card.lead_channel.as_ref().map(|lead| {
            // A lead that is no channel of the log stays one, without its name.
            let known = names.get(&lead.trim().to_lowercase());
            known.cloned().unwrap_or_else(|| "no channel of the log".into())
        });
        record.card.logs.clone_from(&readings.sources);
    }
    for at_ms in readings.channels.iter_mut().flat_map(|channel| &mut channel.at_ms) {
        *at_ms += cook.shift_ms;
    }
    hash.json(&readings.sources);
    hash.json(&readings.channels.iter().map(|channel| &channel.name).collect::<Vec<_>>());
    record.computed_from = hash.finish();
    batch.write(&readings)?;
    Ok(())
}

/// One row a team: what it brings.
fn listing(merged: &Merged) -> Result<Table, StageError> {
    let cards = || merged.cooks.iter().map(|cook| &cook.record.card);
    let cooks = columns::table!(
        "team" => merged.cooks.iter().map(team_of).collect::<Vec<_>>(),
        "fire" => cards().map(|card| &card.fire).collect::<Vec<_>>(),
        "season" => cards().map(|card| &card.season).collect::<Vec<_>>(),
    );
    let mut tables = Tables::default();
    tables.add("cooks", &cooks)?;
    Ok(tables.ask(
        "SELECT team, COUNT(*) AS cooks, COUNT(DISTINCT fire) AS fires,
            COUNT(DISTINCT season) AS seasons
         FROM cooks GROUP BY team",
    )?)
}

#[cfg(test)]
mod tests;
