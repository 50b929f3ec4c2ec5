//! What each stage of a store was last computed from: `store/stamps.json`.
//!
//! | stage | what enters its stamp |
//! |---|---|
//! | ingest | its number; the names of the sheets; what they and the logs say is compared cook by cook (`computed_from` of the cooks) |
//! | phases | its number; cooks and events; definition, seed, draws |
//! | measures | its number; cooks, events and phases; definition, assumed dew point |
//! | study | its number; claims and lock; cards and scores of entries; measures and history, what forecasts are computed from; with claims those of the moved constants; scales of scores, definition, seed, assumptions |
//! | report | its number; the study, and every table that is shown; team, time zone, units, scales of scores, definition |
//!
//! A stage has a number of its own, raised whenever it would compute something else from the same
//! inputs; the version of the program says nothing about that. A stamp is opened before its stage
//! writes and closed after the stage is whole, so that a crash in between makes the next run do the
//! stage again. It holds the hash of each file that the stage wrote: one that was damaged or edited since
//! is made anew, and the run says so. The stamps hold a hash of themselves for the same end.

use crate::error::StageError;
use rayon::prelude::*;
use rows::hash::sha256;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use store::{Store, TableName};

/// A stage of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Logs and sheets into the store.
    Ingest,
    /// Phases of every cook.
    Phases,
    /// Measures, history and moved constants of every cook.
    Measures,
    /// Drivers and verdicts.
    Study,
    /// The pages.
    Report,
}

impl Stage {
    /// Its word in stamps and messages.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Ingest => "ingest",
            Self::Phases => "phases",
            Self::Measures => "measures",
            Self::Study => "study",
            Self::Report => "report",
        }
    }

    /// Raised whenever the stage would make something else of the same inputs. A change of a stage
    /// that only another one's results show raises that one's.
    pub(crate) const fn number(self) -> u32 {
        match self {
            Self::Phases => rows::PHASES,
            Self::Measures => rows::MEASURES,
            Self::Ingest => 4,
            Self::Study => 6,
            Self::Report => 3,
        }
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Why a stage is done again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// It never was done, or its stamp is lost.
    NeverDone,
    /// It was begun and did not come to its end.
    CutOff,
    /// It was done by another number of the stage.
    Number {
        /// That number; 0 where stages had none yet.
        was: u32,
        /// The number now.
        is: u32,
    },
    /// Something that it reads is not what it was.
    Changed {
        /// The file or the settings.
        input: String,
    },
    /// Something that it wrote is gone.
    Gone {
        /// The file.
        output: PathBuf,
    },
    /// Something that it wrote is not what it wrote.
    Differs {
        /// The file.
        output: PathBuf,
    },
}

impl Reason {
    /// Whether what is there can be trusted to be what was once computed.
    pub(crate) fn is_damage(&self) -> bool {
        matches!(self, Self::CutOff | Self::Gone { .. } | Self::Differs { .. })
    }

    /// Whether rows that are there may be taken over where they were computed from the same.
    pub(crate) fn leaves_rows(&self) -> bool {
        !self.is_damage() && *self != Self::NeverDone
    }

    /// The line that says why all of a stage is made anew although none of its inputs changed.
    pub(crate) fn said(&self, stage: Stage) -> Option<String> {
        let unasked = self.is_damage() || matches!(self, Self::Number { .. });
        unasked.then(|| format!("{stage}: {self}: made anew"))
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NeverDone => f.write_str("not done yet"),
            Self::CutOff => f.write_str("the run before was cut off while it wrote"),
            Self::Number { was, is } => {
                write!(f, "what the store holds was made by number {was} of this stage, now {is}")
            }
            Self::Changed { input } => write!(f, "{input} changed"),
            Self::Gone { output } => write!(f, "{} is gone", output.display()),
            Self::Differs { output } => {
                write!(f, "{} is not what was written there", output.display())
            }
        }
    }
}

/// What a stage reads: a hash by name.
pub(crate) type Inputs = BTreeMap<String, String>;

/// One stage's stamp. What an older program wrote has neither number nor inputs.
#[derive(Debug, Default, Serialize, Deserialize)]
struct Stamp {
    #[serde(default)]
    number: u32,
    #[serde(default)]
    inputs: Inputs,
    /// Hashes of what it wrote, by the path from the store's folder, or `../` and the path from the
    /// folder around it.
    #[serde(default)]
    wrote: BTreeMap<String, String>,
    /// Whether it is being written.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    open: bool,
}

/// Stamps by the word of their stage.
type ByStage = BTreeMap<String, Stamp>;

/// `stamps.json`: what an older program wrote is the stages alone.
#[derive(Serialize, Deserialize)]
struct StampsFile {
    stages: ByStage,
    /// Hash of the stages as compact JSON.
    sha256: String,
}

#[derive(Debug)]
pub(crate) struct Stamps {
    root: PathBuf,
    of: ByStage,
    /// Whether there is a file that holds no stamps, or none beside a store's tables.
    lost: Option<Reason>,
}

/// The file of the stamps in a store.
const FILE: &str = "stamps.json";

impl Stamps {
    /// Reads the stamps of a store.
    pub(crate) fn read(store: &Store) -> Self {
        let root = store.root().to_owned();
        let mut this = Self { root, of: ByStage::new(), lost: None };
        let output = this.shown(FILE);
        match std::fs::read(this.root.join(FILE)) {
            Ok(bytes) => match parse(&bytes) {
                Some(of) => this.of = of,
                None => this.lost = Some(Reason::Differs { output }),
            },
            Err(_) if store.has_table(TableName::Cooks) => {
                this.lost = Some(Reason::Gone { output });
            }
            Err(_) => {}
        }
        this
    }

    /// A file as its stage notes it.
    fn key(&self, file: &Path) -> String {
        let from = |folder: &Path| file.strip_prefix(folder).ok().map(slashed);
        let beside = || Some(format!("../{}", from(self.root.parent()?)?));
        from(&self.root).or_else(beside).unwrap_or_else(|| slashed(file))
    }

    fn file(&self, key: &str) -> PathBuf {
        match (key.strip_prefix("../"), self.root.parent()) {
            (Some(rest), Some(parent)) => parent.join(rest),
            _ => self.root.join(key),
        }
    }

    /// A noted file as people are shown it: from the folder around the store.
    fn shown(&self, key: &str) -> PathBuf {
        let file = self.file(key);
        let parent = self.root.parent().unwrap_or(Path::new(""));
        file.strip_prefix(parent).map(Path::to_owned).unwrap_or(file)
    }

    /// Why a stage that reads these must be done; `None` where it was last computed from the same
    /// and all that it wrote is still there.
    pub(crate) fn why(&self, stage: Stage, inputs: &Inputs) -> Option<Reason> {
        if let Some(lost) = &self.lost {
            return Some(lost.clone());
        }
        let Some(stamp) = self.of.get(stage.as_str()) else { return Some(Reason::NeverDone) };
        if stamp.open {
            return Some(Reason::CutOff);
        }
        if stamp.number != stage.number() {
            return Some(Reason::Number { was: stamp.number, is: stage.number() });
        }
        let damage = || self.damage(stage).into_iter().next().map(|(_, damage)| damage);
        // Rows that are there may be taken over by these; the others write everything anew, and two of
        // them write the measures.
        let takes_rows = matches!(stage, Stage::Phases | Stage::Measures);
        if let Some(damage) = takes_rows.then(damage).flatten() {
            return Some(damage);
        }
        let names = inputs.keys().chain(stamp.inputs.keys());
        let mut changed = names.filter(|name| inputs.get(*name) != stamp.inputs.get(*name));
        changed.next().map(|input| Reason::Changed { input: input.clone() }).or_else(damage)
    }

    /// The files of a stage that are gone or not what it wrote.
    pub(crate) fn damage(&self, stage: Stage) -> Vec<(PathBuf, Reason)> {
        let Some(stamp) = self.of.get(stage.as_str()) else { return Vec::new() };
        let wrote: Vec<(&String, &String)> = stamp.wrote.iter().collect();
        let found = wrote.par_iter().filter_map(|(key, hash)| {
            let (file, output) = (self.file(key), self.shown(key));
            let damage = match std::fs::read(&file) {
                Ok(bytes) if sha256(&bytes) == **hash => return None,
                Ok(_) => Reason::Differs { output },
                Err(_) => Reason::Gone { output },
            };
            Some((file, damage))
        });
        found.collect()
    }

    /// Whether a file is what its stage wrote; true where nothing was noted of it.
    pub(crate) fn is_whole(&self, stage: Stage, file: &Path) -> bool {
        let noted = self.of.get(stage.as_str()).and_then(|stamp| stamp.wrote.get(&self.key(file)));
        noted.is_none_or(|hash| std::fs::read(file).is_ok_and(|bytes| sha256(&bytes) == *hash))
    }

    /// Whether a file is among those that a stage noted.
    pub(crate) fn has_noted(&self, stage: Stage, file: &Path) -> bool {
        self.of.get(stage.as_str()).is_some_and(|stamp| stamp.wrote.contains_key(&self.key(file)))
    }

    /// What a stage last read, where its stamp is closed.
    pub(crate) fn inputs(&self, stage: Stage) -> Option<&Inputs> {
        self.of.get(stage.as_str()).filter(|stamp| !stamp.open).map(|stamp| &stamp.inputs)
    }

    /// What became of the stamps themselves, if they are lost.
    pub(crate) fn lost(&self) -> Option<&Reason> {
        self.lost.as_ref()
    }

    /// Notes that a stage is about to write.
    pub(crate) fn open(&mut self, stage: Stage) -> Result<(), StageError> {
        let stamp = self.of.entry(stage.as_str().to_owned()).or_default();
        stamp.open = true;
        stamp.wrote.clear();
        self.write()
    }

    /// The line that says that all of a stage is made anew, since another number of it made what the
    /// store holds.
    pub(crate) fn other_number(&self, stage: Stage) -> Option<String> {
        let was = match self.of.get(stage.as_str()) {
            Some(stamp) => stamp.number,
            // A program in which stages had no numbers wrote no stamp of what it ingested.
            None if stage == Stage::Ingest && self.of.values().any(|s| s.number == 0) => 0,
            None => return None,
        };
        let is = stage.number();
        (was != is).then(|| Reason::Number { was, is }.said(stage)).flatten()
    }

    /// Notes that a stage is whole.
    pub(crate) fn set(
        &mut self,
        stage: Stage,
        inputs: Inputs,
        outputs: &[PathBuf],
    ) -> Result<(), StageError> {
        let wrote = outputs
            .par_iter()
            .map(|path| Ok((self.key(path), hash_of(path)?)))
            .collect::<Result<_, StageError>>()?;
        let stamp = Stamp { number: stage.number(), inputs, wrote, open: false };
        self.of.insert(stage.as_str().to_owned(), stamp);
        self.write()
    }

    /// Notes that a file of a stage was written again without doing the stage.
    pub(crate) fn rewrote(&mut self, stage: Stage, file: &Path) -> Result<(), StageError> {
        let (key, hash) = (self.key(file), hash_of(file)?);
        if let Some(stamp) = self.of.get_mut(stage.as_str()) {
            stamp.wrote.insert(key, hash);
        }
        self.write()
    }

    fn write(&mut self) -> Result<(), StageError> {
        let text = serde_json::to_string(&self.of).unwrap_or_default();
        let file =
            StampsFile { sha256: sha256(text.as_bytes()), stages: std::mem::take(&mut self.of) };
        let text = serde_json::to_string_pretty(&file).unwrap_or_default() + "\n";
        self.of = file.stages;
        store::write_atomically(&self.root.join(FILE), text.as_bytes())?;
        self.lost = None;
        Ok(())
    }

    /// Whether a stage was last computed from these tables, by the number that it has now.
    fn knows(&self, stage: Stage, tables: &Inputs) -> bool {
        self.of.get(stage.as_str()).is_some_and(|stamp| {
            stamp.number == stage.number()
                && !stamp.open
                && tables.iter().all(|(name, hash)| stamp.inputs.get(name) == Some(hash))
        })
    }
}

/// The stamps of a file; `None` where it does not hold what was written.
fn parse(bytes: &[u8]) -> Option<ByStage> {
    if let Ok(StampsFile { stages, sha256: noted }) = serde_json::from_slice(bytes) {
        let text = serde_json::to_string(&stages).ok()?;
        return (sha256(text.as_bytes()) == noted).then_some(stages);
    }
    serde_json::from_slice(bytes).ok()
}

/// A path with `/` between its parts.
fn slashed(path: &Path) -> String {
    let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
    parts.join("/")
}

/// What is damaged of that which ingest wrote.
#[derive(Debug, Default)]
pub(crate) struct Damage {
    /// Tables and files of readings.
    pub(crate) files: BTreeSet<PathBuf>,
    /// A line each, and one where a stage was cut off.
    pub(crate) notes: Vec<String>,
}

impl Damage {
    /// Looks at every file that ingest or merge wrote. Where no hash is known, a file is whole if it can
    /// be opened.
    pub(crate) fn find(store: &Store, stamps: &Stamps) -> Result<Self, StageError> {
        let stage = Stage::Ingest;
        let mut this = Self::default();
        let mut add = |file: PathBuf, reason: &Reason| {
            this.notes.extend(reason.said(stage));
            this.files.insert(file);
        };
        if let Some(reason) = stamps.lost() {
            add(store.root().join(FILE), reason);
        }
        for (file, reason) in stamps.damage(stage) {
            add(file, &reason);
        }
        let tables =
            PROVENANCE.map(|name| store.table_path(name)).into_iter().filter(|f| f.is_file());
        for file in tables.chain(store.readings_files()?) {
            if !stamps.has_noted(stage, &file) && !store.is_readable(&file) {
                let output = file.strip_prefix(store.root().parent().unwrap_or(Path::new("")));
                let output = output.unwrap_or(&file).to_owned();
                add(file, &Reason::Differs { output });
            }
        }
        if stamps.of.get(stage.as_str()).is_some_and(|stamp| stamp.open) {
            this.notes.extend(Reason::CutOff.said(stage));
        }
        Ok(this)
    }

    /// Whether a table of the store is damaged, or the stamps are, so that none can be relied on.
    pub(crate) fn has_table(&self, store: &Store, name: TableName) -> bool {
        self.files.contains(&store.table_path(name))
            || self.files.contains(&store.root().join(FILE))
    }
}

/// The tables that ingest and merge write.
pub(crate) const PROVENANCE: [TableName; 5] = [
    TableName::Cooks,
    TableName::Events,
    TableName::Scores,
    TableName::Rejected,
    TableName::Sources,
];

/// Refuses a store of which one of these tables is not what was written.
pub(crate) fn expect_whole(store: &Store, names: &[TableName]) -> Result<(), StageError> {
    let stamps = Stamps::read(store);
    for name in names {
        let file = store.table_path(*name);
        for stage in [Stage::Ingest, Stage::Phases, Stage::Measures] {
            // One that a later stage has not made yet is told as such by whoever reads it.
            let is_there = stage == Stage::Ingest || file.exists();
            if is_there && !stamps.is_whole(stage, &file) {
                return Err(StageError::Damaged { path: file, stage: stage.as_str() });
            }
        }
    }
    Ok(())
}

/// Files of readings that were looked at: each is hashed once, when it is first read.
#[derive(Debug)]
pub(crate) struct WholeReadings {
    stamps: Stamps,
    seen: Mutex<BTreeSet<PathBuf>>,
}

impl WholeReadings {
    pub(crate) fn new(stamps: Stamps) -> Self {
        Self { stamps, seen: Mutex::default() }
    }

    /// Refuses readings that are not what was written.
    pub(crate) fn expect(&self, files: Vec<PathBuf>) -> Result<(), StageError> {
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        for file in files {
            if !seen.contains(&file) {
                if !self.stamps.is_whole(Stage::Ingest, &file) {
                    return Err(StageError::Damaged { path: file, stage: Stage::Ingest.as_str() });
                }
                seen.insert(file);
            }
        }
        Ok(())
    }
}

/// SHA-256 of a file.
pub(crate) fn hash_of(path: &Path) -> Result<String, StageError> {
    Ok(sha256(&std::fs::read(path).map_err(|e| StageError::io(path, e))?))
}

/// Hashes of some of a store's tables; a table that is missing counts as empty.
pub(crate) fn table_inputs(store: &Store, names: &[TableName]) -> Inputs {
    names
        .iter()
        .map(|name| {
            let bytes = std::fs::read(store.table_path(*name)).unwrap_or_default();
            (format!("{}.parquet", name.as_str()), sha256(&bytes))
        })
        .collect()
}

/// The tables that phases are computed from.
pub(crate) const PHASES_FROM: [TableName; 2] = [TableName::Cooks, TableName::Events];
/// The tables that measures are computed from.
pub(crate) const MEASURES_FROM: [TableName; 3] =
    [TableName::Cooks, TableName::Events, TableName::Phases];

/// Checks that the phases are those of the cooks that the store has now.
pub(crate) fn check_phases(store: &Store) -> Result<(), StageError> {
    check(store, Stage::Phases, &PHASES_FROM)
}

/// Checks that the measures are those of the cooks and phases that the store has now.
pub(crate) fn check_measures(store: &Store) -> Result<(), StageError> {
    check(store, Stage::Measures, &MEASURES_FROM)
}

fn check(store: &Store, stage: Stage, names: &[TableName]) -> Result<(), StageError> {
    let stamps = Stamps::read(store);
    if let Some((path, _)) = stamps.damage(stage).into_iter().next() {
        return Err(StageError::Damaged { path, stage: stage.as_str() });
    }
    if stamps.knows(stage, &table_inputs(store, names)) {
        return Ok(());
    }
    Err(StageError::Stale { stage: stage.as_str(), store: store.root().to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inputs(of: &[(&str, &str)]) -> Inputs {
        of.iter().map(|(name, hash)| ((*name).to_owned(), (*hash).to_owned())).collect()
    }

    #[test]
    fn why_a_stage_is_done_again_names_what_changed() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(&folder.path().join("store")).unwrap();
        let mut stamps = Stamps::read(&store);
        let read = inputs(&[("claims.toml", "1"), ("measures.parquet", "2")]);
        assert_eq!(stamps.why(Stage::Study, &read), Some(Reason::NeverDone));
        let written = folder.path().join("study.json");
        std::fs::write(&written, "{}").unwrap();
        stamps.set(Stage::Study, read.clone(), std::slice::from_ref(&written)).unwrap();

        let stamps = Stamps::read(&store);
        assert_eq!(stamps.why(Stage::Study, &read), None);
        let changed = |input: &str| Some(Reason::Changed { input: input.into() });
        let edited = inputs(&[("claims.toml", "9"), ("measures.parquet", "2")]);
        assert_eq!(stamps.why(Stage::Study, &edited), changed("claims.toml"));
        let fewer = inputs(&[("claims.toml", "1")]);
        assert_eq!(stamps.why(Stage::Study, &fewer), changed("measures.parquet"));
        std::fs::write(&written, "{ }").unwrap();
        let differs = Reason::Differs { output: "study.json".into() };
        assert_eq!(
            differs.said(Stage::Study).unwrap(),
            "study: study.json is not what was written there: made anew"
        );
        assert_eq!(stamps.why(Stage::Study, &read), Some(differs));
        std::fs::remove_file(&written).unwrap();
        let gone = Reason::Gone { output: "study.json".into() };
        assert_eq!(stamps.why(Stage::Study, &read), Some(gone));
    }

    #[test]
    fn a_store_of_another_number_is_made_anew_and_said() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(folder.path()).unwrap();
        assert_eq!(Stamps::read(&store).other_number(Stage::Ingest), None, "a new store");
        // As a program wrote them in which stages had no numbers.
        let old = r#"{ "phases": { "computed_from": "", "tables": "0a", "outputs": [] } }"#;
        std::fs::write(folder.path().join("stamps.json"), old).unwrap();
        let mut stamps = Stamps::read(&store);
        let was = Some(Reason::Number { was: 0, is: Stage::Phases.number() });
        assert_eq!(stamps.why(Stage::Phases, &Inputs::new()), was);
        for stage in [Stage::Ingest, Stage::Phases] {
            let line = stamps.other_number(stage).unwrap();
            assert!(
                line.starts_with(&format!("{stage}: ")) && line.ends_with("made anew"),
                "{line}"
            );
            stamps.set(stage, Inputs::new(), &[]).unwrap();
            assert_eq!(stamps.other_number(stage), None);
        }
    }
}
