//! What each stage of a store was last computed from: `store/stamps.json`.
//!
//! | stage | what enters its stamp |
//! |---|---|
//! | ingest | its number; sheets and logs are compared cook by cook (`computed_from` of the cooks) |
//! | phases | its number; cooks and events; definition, seed, draws |
//! | measures | its number; cooks, events and phases; definition, assumed dew point |
//! | study | its number; claims and lock; measures and history, with claims those of the moved constants; scales of scores, definition, seed, assumptions |
//! | report | its number; the study, and every table that is shown; team, time zone, units, scales of scores, definition |
//!
//! A stage has a number of its own, raised whenever it would compute something else from the same
//! inputs; the version of the program says nothing about that. A stamp is written after its stage is
//! whole, so that a crash in between makes the next run do the stage again. It holds the hash of each
//! file that the stage wrote: one that was damaged or edited since is made anew, and the run says so.

use crate::error::StageError;
use rows::hash::sha256;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};
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
            Self::Ingest | Self::Study => 2,
            Self::Report => 1,
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
        matches!(self, Self::Gone { .. } | Self::Differs { .. })
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
#[derive(Default, Serialize, Deserialize)]
struct Stamp {
    #[serde(default)]
    number: u32,
    #[serde(default)]
    inputs: Inputs,
    /// Hashes of what it wrote, by the path from the store's parent where it lies below that.
    #[serde(default)]
    wrote: BTreeMap<PathBuf, String>,
}

pub(crate) struct Stamps {
    path: PathBuf,
    base: PathBuf,
    of: BTreeMap<String, Stamp>,
}

impl Stamps {
    /// Reads the stamps of a store; a file that cannot be read is no stamp at all.
    pub(crate) fn read(store: &Store) -> Self {
        let path = store.root().join("stamps.json");
        let of = std::fs::read_to_string(&path)
            .ok()
            .and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default();
        let base = store.root().parent().unwrap_or(Path::new("")).to_owned();
        Self { path, base, of }
    }

    /// Why a stage that reads these must be done; `None` where it was last computed from the same
    /// and all that it wrote is still there.
    pub(crate) fn why(&self, stage: Stage, inputs: &Inputs) -> Option<Reason> {
        let Some(stamp) = self.of.get(stage.as_str()) else { return Some(Reason::NeverDone) };
        if stamp.number != stage.number() {
            return Some(Reason::Number { was: stamp.number, is: stage.number() });
        }
        let names = inputs.keys().chain(stamp.inputs.keys());
        let mut changed = names.filter(|name| inputs.get(*name) != stamp.inputs.get(*name));
        if let Some(input) = changed.next() {
            return Some(Reason::Changed { input: input.clone() });
        }
        stamp.wrote.iter().find_map(|(output, hash)| {
            let output = output.clone();
            match std::fs::read(self.base.join(&output)) {
                Ok(bytes) => (sha256(&bytes) != *hash).then_some(Reason::Differs { output }),
                Err(_) => Some(Reason::Gone { output }),
            }
        })
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
        outputs: Vec<PathBuf>,
    ) -> Result<(), StageError> {
        let wrote = outputs
            .into_iter()
            .map(|path| {
                let hash = hash_of(&path)?;
                Ok((path.strip_prefix(&self.base).map(Path::to_owned).unwrap_or(path), hash))
            })
            .collect::<Result<_, StageError>>()?;
        let stamp = Stamp { number: stage.number(), inputs, wrote };
        self.of.insert(stage.as_str().to_owned(), stamp);
        self.write()
    }

    /// Notes that a file of a stage was written again without doing the stage.
    pub(crate) fn rewrote(&mut self, stage: Stage, file: &Path) -> Result<(), StageError> {
        let hash = hash_of(file)?;
        let path = file.strip_prefix(&self.base).unwrap_or(file).to_owned();
        if let Some(stamp) = self.of.get_mut(stage.as_str()) {
            stamp.wrote.insert(path, hash);
        }
        self.write()
    }

    fn write(&self) -> Result<(), StageError> {
        let text = serde_json::to_string_pretty(&self.of).unwrap_or_default() + "\n";
        store::write_atomically(&self.path, text.as_bytes())?;
        Ok(())
    }

    /// Whether a stage was last computed from these tables, by the number that it has now.
    fn knows(&self, stage: Stage, tables: &Inputs) -> bool {
        self.of.get(stage.as_str()).is_some_and(|stamp| {
            stamp.number == stage.number()
                && tables.iter().all(|(name, hash)| stamp.inputs.get(name) == Some(hash))
        })
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
    if Stamps::read(store).knows(stage, &table_inputs(store, names)) {
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
        stamps.set(Stage::Study, read.clone(), vec![written.clone()]).unwrap();

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
            stamps.set(stage, Inputs::new(), Vec::new()).unwrap();
            assert_eq!(stamps.other_number(stage), None);
        }
    }
}
