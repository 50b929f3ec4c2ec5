//! The stores that are to be merged: where they lie, whose they are, what they hold.

use crate::error::StageError;
use crate::folder::{open_store, read_season};
use crate::ingest_stage::edited::edited;
use crate::stamps::{PROVENANCE, WholeReadings, expect_whole};
use cook::{Event, RejectedRow, Score, Season, SourceRecord};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use store::stamps::Stamps;
use store::{CookRecord, Store, StoreError, WriteLock};

/// The column that says whose a cook is.
pub(super) const TEAM: &str = "team";

/// A store as somebody names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MergeInput {
    /// The team, where it is named; else that of the season folder.
    pub team: Option<String>,
    /// A store, or a season folder that holds one.
    pub path: PathBuf,
}

impl MergeInput {
    /// Reads `PATH` or `TEAM=PATH`. What is there as a path is one, whatever signs it has.
    pub fn parse(text: &str) -> Self {
        match text.split_once('=') {
            Some((team, path)) if !Path::new(text).exists() => {
                Self { team: Some(team.trim().to_owned()), path: path.into() }
            }
            _ => Self { team: None, path: text.into() },
        }
    }
}

/// One store, read.
#[derive(Debug)]
pub(super) struct Source {
    pub(super) store: Store,
    /// Looks at its readings before they are copied.
    pub(super) whole: WholeReadings,
    /// The folder with its settings, where it lies in one.
    pub(super) season: Option<PathBuf>,
    /// How people named it.
    pub(super) shown: PathBuf,
    /// Put before the paths of its logs.
    pub(super) label: String,
    pub(super) records: Vec<CookRecord>,
    pub(super) events: Vec<Event>,
    pub(super) scores: Vec<Score>,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) sources: Vec<SourceRecord>,
    /// The team of each record, parallel to them.
    pub(super) teams: Vec<String>,
    /// Whether its own column says whose they are, as that of a store merged before does.
    pub(super) says_teams: bool,
    /// Held so that nobody writes while it is read; `None` where its folder cannot be written to.
    _lock: Option<WriteLock>,
}

fn usage<T>(message: String) -> Result<T, StageError> {
    Err(StageError::Usage { message })
}

/// Opens and reads every store, each only once.
pub(super) fn read(inputs: &[MergeInput]) -> Result<Vec<Source>, StageError> {
    let mut sources = Vec::new();
    let mut places = BTreeMap::new();
    for input in inputs {
        let (store, season) = open_store(&input.path)?;
        let place = real_path(store.root());
        if let Some(other) = places.insert(place, input.path.clone()) {
            return usage(format!(
                "{} and {} are the same store; name it once",
                other.display(),
                input.path.display()
            ));
        }
        sources.push(read_one(input, store, season)?);
    }
    same_version(&sources)?;
    label(&mut sources);
    Ok(sources)
}

pub(super) fn real_path(path: &Path) -> PathBuf {
    std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

fn read_one(
    input: &MergeInput,
    store: Store,
    season: Option<PathBuf>,
) -> Result<Source, StageError> {
    let lock = match store.lock() {
        Ok(lock) => Some(lock),
        Err(StoreError::Io { .. }) => None,
        Err(error) => return Err(error.into()),
    };
    expect_whole(&store, &PROVENANCE)?;
    if let Some(folder) = &season {
        expect_unedited(folder, &store, &input.path)?;
    }
    let records = store.read_cooks()?;
    let says_teams = records.iter().any(|record| stated_team(record).is_some());
    let teams = teams(input, &records, season.as_deref())?;
    Ok(Source {
        says_teams,
        events: store.read_events()?,
        scores: store.read_scores()?,
        rejected: store.read_rejected()?,
        sources: store.read_sources()?,
        season,
        shown: input.path.clone(),
        label: String::new(),
        records,
        teams,
        whole: WholeReadings::new(Stamps::read(&store)),
        store,
        _lock: lock,
    })
}

/// Refuses a season whose files were edited since its store was read from them: what would be merged is not
/// what stands there.
fn expect_unedited(folder: &Path, store: &Store, shown: &Path) -> Result<(), StageError> {
    let edited = edited(folder, &read_season(folder)?, store)?;
    let (first, more) = match edited.as_slice() {
        [] => return Ok(()),
        [one] => (one, String::new()),
        [one, rest @ ..] => (one, format!(" and {} more of its files", rest.len())),
    };
    usage(format!(
        "{}: {first}{more} changed since its last run: run `cookstudy run {}`, then merge again",
        shown.display(),
        folder.display()
    ))
}

/// Whose a cook is, by its own column.
fn stated_team(record: &CookRecord) -> Option<&str> {
    let team = record.card.extra.iter().find(|(name, _)| name == TEAM);
    team.map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
}

/// Whose the cooks of one store are.
fn teams(
    input: &MergeInput,
    records: &[CookRecord],
    season: Option<&Path>,
) -> Result<Vec<String>, StageError> {
    let shown = input.path.display();
    let stated: Vec<Option<&str>> = records.iter().map(stated_team).collect();
    if stated.iter().any(Option::is_some) {
        if let Some(team) = &input.team {
            return usage(format!(
                "{shown}: its cooks have a column `{TEAM}` already; leave `{team}=` away to keep what it says"
            ));
        }
        return stated
            .iter()
            .zip(records)
            .map(|(team, record)| match team {
                Some(team) => Ok((*team).to_owned()),
                None => usage(format!(
                    "{shown}: cook `{}` has nothing in the column `{TEAM}`, others have; fill it in on the sheet and run again",
                    record.card.cook
                )),
            })
            .collect();
    }
    let team = match (&input.team, season) {
        (Some(team), _) => team.clone(),
        (None, Some(folder)) => {
            let team = read_season(folder)?.team.trim().to_owned();
            if team == Season::default().team { String::new() } else { team }
        }
        (None, None) => String::new(),
    };
    if team.is_empty() {
        return usage(format!(
            "{shown}: whose cooks are these? Write `TEAM={shown}`, or name the `team` in its season.toml"
        ));
    }
    Ok(vec![team; records.len()])
}

/// Another version may mean something else by the same columns.
fn same_version(sources: &[Source]) -> Result<(), StageError> {
    let own = format!("cookstudy {}", env!("CARGO_PKG_VERSION"));
    for source in sources {
        let by = source.store.written_by()?.unwrap_or_else(|| "an unnamed program".into());
        if by != own {
            return usage(format!(
                "{}: the store was written by {by}, this is {own}, and they may not mean the same by it; make it anew with this version (`cookstudy run` or `cookstudy ingest`)",
                source.shown.display()
            ));
        }
    }
    Ok(())
}

/// Gives each store the label that its logs' paths begin with: the team's name, and where a team has
/// several stores, their folder's name too.
fn label(sources: &mut [Source]) {
    let first_team = |source: &Source| source.teams.first().cloned().unwrap_or_default();
    let mut order: Vec<usize> = (0..sources.len()).collect();
    order.sort_by_key(|&place| real_path(sources[place].store.root()));
    let mut taken = BTreeSet::new();
    for place in order {
        let team = first_team(&sources[place]);
        let several = sources.iter().filter(|other| first_team(other) == team).count() > 1;
        let root = real_path(sources[place].store.root());
        let named = if root.ends_with("store") { root.parent() } else { Some(root.as_path()) };
        let folder = named.and_then(Path::file_name).map(|name| name.to_string_lossy());
        let plain = match folder {
            Some(folder) if several => format!("{team}/{folder}"),
            _ => team,
        };
        let mut label = plain.clone();
        for number in 2..=sources.len() {
            if taken.contains(&label) {
                label = format!("{plain}-{number}");
            }
        }
        taken.insert(label.clone());
        sources[place].label = label;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_with_an_equals_sign_is_a_path_where_it_is_there() {
        let folder = tempfile::tempdir().unwrap();
        let odd = folder.path().join("a=b");
        let text = odd.display().to_string();
        assert_eq!(MergeInput::parse(&text).team, Some(text[..text.len() - 2].to_owned()));
        std::fs::create_dir(&odd).unwrap();
        assert_eq!(MergeInput::parse(&text), MergeInput { team: None, path: odd });
        let named = MergeInput::parse("Oak Hill=../oak/store");
        assert_eq!(named.team.as_deref(), Some("Oak Hill"));
        assert_eq!(named.path, Path::new("../oak/store"));
    }
}
