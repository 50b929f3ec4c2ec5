//! Trials over a season folder: `trial new`, `trial next`, `trial look`, and what `run` makes of them.

mod begin;
mod key;
mod next;
mod page;
mod words;

pub use begin::{TrialBegun, TrialNewRequest, trial_new};
pub use next::{TrialDrawn, TrialNextRequest, trial_next};

use crate::error::StageError;
use crate::folder::read_season;
use crate::study_stage::{ClaimsFile, Entered, LockFile, definition_hash};
use cook::{Card, Season};
use jiff::Timestamp;
use key::Keys;
use outlook::trial::{Looked, look};
use std::path::{Path, PathBuf};
use store::{Store, Table, TableName, WriteLock, write_atomically};
use study::lock::LockedTrial;
use study::result::trial::{TrialResult, TrialState};
use study::{Claim, Claims, Lock, MeasureTable, Verdict};

pub(super) fn usage(message: impl Into<String>) -> StageError {
    StageError::Usage { message: message.into() }
}

/// A season as its trials see it.
struct Trials {
    folder: PathBuf,
    season: Season,
    claims: Claims,
    lock_path: PathBuf,
    lock: Lock,
    keys: Keys,
    /// Measures of the past; `None` before the first `run`.
    measures: Option<Table>,
    cards: Vec<Card>,
    /// Keeps `run` from writing the lock meanwhile.
    _held: Option<WriteLock>,
}

impl Trials {
    fn open(folder: &Path) -> Result<Self, StageError> {
        let season = read_season(folder)?;
        let claims = season.claims.as_ref().map(|name| folder.join(name));
        let claims = ClaimsFile::read(claims.filter(|path| path.is_file()).as_deref())?.claims;
        let root = folder.join("store");
        let (mut measures, mut cards, mut held) = (None, Vec::new(), None);
        if root.is_dir() {
            let store = Store::open(&root)?;
            held = Some(store.lock()?);
            if store.has_table(TableName::Measures) {
                measures = Some(store.read_table(TableName::Measures)?);
                cards = Entered::read(&store)?.cards;
            }
        }
        let lock_path = folder.join("claims.lock");
        let lock =
            if lock_path.is_file() { LockFile::read(&lock_path)?.lock } else { Lock::default() };
        Ok(Self {
            folder: folder.to_owned(),
            season,
            claims,
            lock_path,
            lock,
            keys: Keys::read(folder)?,
            measures,
            cards,
            _held: held,
        })
    }

    fn table(&self) -> Result<Option<MeasureTable>, StageError> {
        let table = self.measures.as_ref().filter(|table| table.column("cook").is_some());
        Ok(table.map(MeasureTable::new).transpose()?)
    }

    fn claim(&self, id: &str) -> Result<&Claim, StageError> {
        let found = self.claims.claims.iter().find(|claim| claim.id == id);
        found.ok_or_else(|| {
            let known: Vec<&str> = self.claims.claims.iter().map(|c| c.id.as_str()).collect();
            let hint = cook::settings::nearest(id, known.iter().copied()).map_or_else(
                || match known.as_slice() {
                    [] => "write one down in claims.toml first".to_owned(),
                    known => format!("there are {}", known.join(", ")),
                },
                |name| format!("did you mean `{name}`?"),
            );
            usage(format!("no claim is called `{id}`; {hint}"))
        })
    }

    /// The place of the trial meant: the one named, or the one that is alone.
    fn place(&self, id: Option<&str>) -> Result<usize, StageError> {
        let named = |trial: &LockedTrial| id.is_none_or(|id| trial.id == id);
        let found: Vec<usize> =
            (0..self.lock.trials.len()).filter(|at| named(&self.lock.trials[*at])).collect();
        match (found.as_slice(), id) {
            ([one], _) => Ok(*one),
            ([], _) if let Some((id, begun_at)) = self.keys.forgotten(&[]).next() => {
                Err(usage(words::forgotten(id, begun_at)))
            }
            ([], None) => {
                Err(usage("no trial was begun here\n  try: cookstudy trial new --claim ID"))
            }
            ([], Some(id)) => Err(usage(format!(
                "no trial of the claim `{id}` was begun here\n  try: cookstudy trial new --claim {id}"
            ))),
            // The last of a name is the one that goes on.
            (several, Some(_)) => Ok(several[several.len() - 1]),
            (several, None) => {
                let names: Vec<&str> =
                    several.iter().map(|at| self.lock.trials[*at].id.as_str()).collect();
                Err(usage(format!(
                    "there are several trials ({}): name one with --claim",
                    names.join(", ")
                )))
            }
        }
    }

    fn write_lock(&self) -> Result<(), StageError> {
        write_atomically(&self.lock_path, self.lock.to_toml()?.as_bytes())?;
        Ok(())
    }
}

/// The instant of a request, or the clock's, to the second.
pub(crate) fn instant(now_ms: Option<i64>) -> Timestamp {
    let now = now_ms.and_then(|now| Timestamp::from_millisecond(now).ok());
    let at = now.unwrap_or_else(Timestamp::now);
    Timestamp::from_second(at.as_second()).unwrap_or(at)
}

/// What trials are looked at with.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Asked<'a> {
    /// The season folder.
    pub(crate) folder: &'a Path,
    pub(crate) claims: &'a Claims,
    pub(crate) measures: &'a Table,
    pub(crate) cards: &'a [Card],
    /// Hash of the phase definition behind the measures.
    pub(crate) definition: &'a str,
    /// The instant of looks that are due; without it none is taken.
    pub(crate) at: Option<Timestamp>,
}

/// What all trials of a lock say; looks that are due are written into the lock.
pub(crate) fn results(lock: &mut Lock, asked: Asked<'_>) -> Result<Vec<TrialResult>, StageError> {
    if lock.trials.is_empty() {
        return Ok(Vec::new());
    }
    let keys = Keys::read(asked.folder)?;
    let at = asked.at.map(|at| at.to_string());
    let empty = empty_table();
    let has_cooks = asked.measures.column("cook").is_some();
    let table = MeasureTable::new(if has_cooks { asked.measures } else { &empty })?;
    let looked = Looking {
        claims: asked.claims,
        table: &table,
        cards: asked.cards,
        keys: &keys,
        definition: asked.definition,
        at: at.as_deref(),
    };
    lock.trials.iter_mut().map(|trial| result(trial, looked)).collect()
}

/// Writes the looks of a lock that was written into the file of the keys.
pub(crate) fn keep_looks(folder: &Path, lock: &Lock) -> Result<(), StageError> {
    if lock.trials.iter().all(|trial| trial.looks.is_empty()) {
        return Ok(());
    }
    Keys::read(folder)?.keep_looks(&lock.trials)
}

/// What is not as the key's file has it, for the lines of a run.
pub(crate) fn forgotten(folder: &Path, lock: Option<&Lock>) -> Result<Vec<String>, StageError> {
    let keys = Keys::read(folder)?;
    let trials = lock.map_or(&[][..], |lock| &lock.trials);
    Ok(keys.forgotten(trials).map(|(id, begun_at)| words::forgotten(id, begun_at)).collect())
}

/// The same for one trial.
#[derive(Debug, Clone, Copy)]
struct Looking<'a> {
    claims: &'a Claims,
    table: &'a MeasureTable,
    cards: &'a [Card],
    keys: &'a Keys,
    definition: &'a str,
    at: Option<&'a str>,
}

fn result(trial: &mut LockedTrial, looking: Looking<'_>) -> Result<TrialResult, StageError> {
    let Looking { claims, table, cards, keys, definition, at } = looking;
    let refused = |trial: &LockedTrial, reason: String| {
        let mut found = outlook::trial::untold(trial);
        found.verdict = Verdict::Refused;
        found.reason = Some(reason);
        found
    };
    let found = keys.problems(trial);
    if !found.is_empty() {
        return Ok(refused(trial, found.join("; ")));
    }
    if trial.definition != definition {
        let reason =
            "the phase definition is not that of the first lot: set `[phases]` in season.toml back";
        return Ok(refused(trial, reason.to_owned()));
    }
    let Some(claim) = claims.claims.iter().find(|claim| claim.hash() == trial.claim) else {
        let reason = format!(
            "the claim `{}` is not in claims.toml as it was when the lots were drawn: put it back word for word",
            trial.id
        );
        return Ok(refused(trial, reason));
    };
    if !table.is_empty() && !table.has(&trial.design.outcome) {
        return Ok(refused(trial, format!("no cook has the outcome `{}`", trial.design.outcome)));
    }
    let mut found = look(trial, Looked { claim, table, cards, at })?;
    if keys.of(trial).is_none() {
        let gone = format!(
            "{} has no key of it, so that nobody can see whether the lots are those that were drawn; put the file back beside season.toml",
            keys.path().display()
        );
        if goes_on(&found) {
            return Ok(refused(trial, gone));
        }
        found.notes.push(gone);
    }
    Ok(found)
}

/// What `trial look` found.
#[derive(Debug, Clone)]
pub struct TrialSeen {
    /// One row a trial.
    pub table: Table,
    /// What there is to say, line by line.
    pub lines: Vec<String>,
    /// Whether anything is not as it was drawn.
    pub is_doubtful: bool,
}

/// Looks at the trials of a season, or at the one of a claim.
///
/// # Errors
/// No season, no trial, a store that cannot be read.
pub fn trial_look(
    folder: &Path,
    claim: Option<&str>,
    now_ms: Option<i64>,
) -> Result<TrialSeen, StageError> {
    let mut trials = Trials::open(folder)?;
    let only = match claim {
        Some(_) => Some(trials.place(claim)?),
        None if trials.lock.trials.is_empty() => Some(trials.place(None)?),
        None => None,
    };
    let empty = empty_table();
    let measures = trials.measures.as_ref().filter(|table| table.column("cook").is_some());
    let table = MeasureTable::new(measures.unwrap_or(&empty))?;
    let at = instant(now_ms).to_string();
    let definition = definition_hash(&trials.season);
    let before = trials.lock.clone();
    let mut found = Vec::new();
    for place in 0..trials.lock.trials.len() {
        if only.is_none_or(|only| only == place) {
            let Trials { lock, claims, cards, keys, .. } = &mut trials;
            let looking = Looking {
                claims,
                table: &table,
                cards,
                keys,
                definition: &definition,
                at: Some(&at),
            };
            found.push(result(&mut lock.trials[place], looking)?);
        }
    }
    if trials.lock != before {
        trials.write_lock()?;
        trials.keys.keep_looks(&trials.lock.trials)?;
    }
    let mut lines: Vec<String> =
        found.iter().flat_map(|trial| words::told(trial, trials.season.units)).collect();
    if trials.measures.is_none() {
        lines.push("Nothing was measured yet: `cookstudy run` first.".into());
    }
    Ok(TrialSeen {
        table: words::rows(&found),
        lines,
        is_doubtful: found.iter().any(|trial| trial.verdict == Verdict::Refused),
    })
}

/// The cooks that the codes of blind tastings stand for, by the season's lock.
pub(crate) fn codes(
    folder: &Path,
    is_asked: bool,
) -> Result<std::collections::BTreeMap<String, String>, StageError> {
    let path = folder.join("claims.lock");
    if !is_asked || !path.is_file() {
        return Ok(std::collections::BTreeMap::new());
    }
    let lock = LockFile::read(&path)?.lock;
    let lots = lock.trials.into_iter().flat_map(|trial| trial.lots);
    Ok(lots.map(|lot| (lot.code, lot.cook)).collect())
}

/// What is not as it was drawn, for the lines of a run.
pub(crate) fn doubts(trials: &[TrialResult]) -> impl Iterator<Item = String> {
    trials.iter().filter_map(|trial| {
        Some(format!("trial `{}` decides nothing: {}", trial.id, trial.reason.as_ref()?))
    })
}

fn empty_table() -> Table {
    let mut table = Table::new();
    table.push("cook", Vec::<Option<String>>::new().into_iter().collect());
    table
}

/// Whether lots may still be drawn, by what has been looked at.
fn goes_on(found: &TrialResult) -> bool {
    found.state == TrialState::Running
}
