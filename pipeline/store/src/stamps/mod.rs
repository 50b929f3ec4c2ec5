//! What each stage of a store was last computed from: `store/stamps.json`.
//!
//! | stage | what enters its stamp |
//! |---|---|
//! | ingest | its number; the names of the sheets; what they and the logs say is compared cook by cook (`computed_from` of the cooks) |
//! | phases | its number; cooks and events; definition, seed, draws |
//! | measures | its number; cooks, events and phases; definition, assumed dew point |
//! | study | its number; claims and lock; cards and scores of entries; measures and history, what forecasts are computed from; with claims those of the moved constants, with wrap timing the degrees; scales of scores, definition, seed, assumptions |
//! | report | its number; the study, and every table that is shown; team, time zone, units, scales of scores, definition |
//!
//! A stage has a number of its own, raised whenever it would compute something else from the same
//! inputs; the version of the program says nothing about that. A stamp is opened before its stage
//! writes and closed after the stage is whole, so that a crash in between makes the next run do the
//! stage again. It holds the hash of each file that the stage wrote: one that was damaged or edited since
//! is made anew, and the run says so. The stamps hold a hash of themselves for the same end.

mod stage;

pub use stage::{Derived, Reason, Stage, definition_hash, settings_hash};

use crate::{Store, StoreError, TableName};
use rayon::prelude::*;
use rows::Rules;
use rows::hash::sha256;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What a stage reads: a hash by name.
pub type Inputs = BTreeMap<String, String>;

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

/// What each stage of a store was last computed from.
#[derive(Debug)]
pub struct Stamps {
    root: PathBuf,
    of: ByStage,
    /// Whether there is a file that holds no stamps, or none beside a store's tables.
    lost: Option<Reason>,
}

/// The file of the stamps in a store.
pub const FILE: &str = "stamps.json";

impl Stamps {
    /// Reads the stamps of a store.
    pub fn read(store: &Store) -> Self {
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
    pub fn why(&self, stage: Stage, inputs: &Inputs) -> Option<Reason> {
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
    pub fn damage(&self, stage: Stage) -> Vec<(PathBuf, Reason)> {
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

    /// Refuses a stage of which a file is gone or not what it wrote.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] with the first such file.
    pub fn expect_whole(&self, stage: Stage) -> Result<(), StoreError> {
        match self.damage(stage).into_iter().next() {
            Some((path, _)) => Err(StoreError::Damaged { path, stage: stage.as_str() }),
            None => Ok(()),
        }
    }

    /// Whether a file is what its stage wrote; true where nothing was noted of it.
    pub fn is_whole(&self, stage: Stage, file: &Path) -> bool {
        let noted = self.of.get(stage.as_str()).and_then(|stamp| stamp.wrote.get(&self.key(file)));
        noted.is_none_or(|hash| std::fs::read(file).is_ok_and(|bytes| sha256(&bytes) == *hash))
    }

    /// Whether a file is among those that a stage noted.
    pub fn has_noted(&self, stage: Stage, file: &Path) -> bool {
        self.of.get(stage.as_str()).is_some_and(|stamp| stamp.wrote.contains_key(&self.key(file)))
    }

    /// What a stage last read, where its stamp is closed.
    pub fn inputs(&self, stage: Stage) -> Option<&Inputs> {
        self.of.get(stage.as_str()).filter(|stamp| !stamp.open).map(|stamp| &stamp.inputs)
    }

    /// What became of the stamps themselves, if they are lost.
    pub fn lost(&self) -> Option<&Reason> {
        self.lost.as_ref()
    }

    /// Notes that a stage is about to write.
    pub fn open(&mut self, stage: Stage) -> Result<(), StoreError> {
        let stamp = self.of.entry(stage.as_str().to_owned()).or_default();
        stamp.open = true;
        stamp.wrote.clear();
        self.write()
    }

    /// The line that says that all of a stage is made anew, since another number of it made what the
    /// store holds.
    pub fn other_number(&self, stage: Stage) -> Option<String> {
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
    pub fn set(
        &mut self,
        stage: Stage,
        inputs: Inputs,
        outputs: &[PathBuf],
    ) -> Result<(), StoreError> {
        let wrote = outputs
            .par_iter()
            .map(|path| Ok((self.key(path), hash_of(path)?)))
            .collect::<Result<_, StoreError>>()?;
        let stamp = Stamp { number: stage.number(), inputs, wrote, open: false };
        self.of.insert(stage.as_str().to_owned(), stamp);
        self.write()
    }

    /// Notes that a file of a stage was written again without doing the stage.
    pub fn rewrote(&mut self, stage: Stage, file: &Path) -> Result<(), StoreError> {
        let (key, hash) = (self.key(file), hash_of(file)?);
        if let Some(stamp) = self.of.get_mut(stage.as_str()) {
            stamp.wrote.insert(key, hash);
        }
        self.write()
    }

    fn write(&mut self) -> Result<(), StoreError> {
        let text = serde_json::to_string(&self.of).unwrap_or_default();
        let file =
            StampsFile { sha256: sha256(text.as_bytes()), stages: std::mem::take(&mut self.of) };
        let text = serde_json::to_string_pretty(&file).unwrap_or_default() + "\n";
        self.of = file.stages;
        crate::write_atomically(&self.root.join(FILE), text.as_bytes())?;
        self.lost = None;
        Ok(())
    }

    /// Writes the tables of a stage that makes rows cook by cook, between opening and closing its stamp;
    /// `write` says whether a file changed, and so does this.
    pub fn write_derived(
        &mut self,
        store: &Store,
        stage: Derived,
        rules: &Rules,
        write: impl FnOnce() -> Result<bool, StoreError>,
    ) -> Result<bool, StoreError> {
        self.open(stage.stage())?;
        let changed = write()?;
        let files: Vec<PathBuf> =
            stage.writes().iter().map(|name| store.table_path(*name)).collect();
        self.set(stage.stage(), stage.inputs(store, rules), &files)?;
        Ok(changed)
    }

    /// Whether a stage was begun and did not come to its end.
    pub fn is_open(&self, stage: Stage) -> bool {
        self.of.get(stage.as_str()).is_some_and(|stamp| stamp.open)
    }

    /// Whether a stage was last computed from these tables, by the number that it has now.
    pub fn knows(&self, stage: Stage, tables: &Inputs) -> bool {
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

/// SHA-256 of a file.
pub fn hash_of(path: &Path) -> Result<String, StoreError> {
    Ok(sha256(&std::fs::read(path).map_err(|e| StoreError::io(path, e))?))
}

/// Hashes of some of a store's tables; a table that is missing counts as empty.
pub fn table_inputs(store: &Store, names: &[TableName]) -> Inputs {
    names
        .iter()
        .map(|name| {
            let bytes = std::fs::read(store.table_path(*name)).unwrap_or_default();
            (format!("{}.parquet", name.as_str()), sha256(&bytes))
        })
        .collect()
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
