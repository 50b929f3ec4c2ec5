//! `trial.key`: the secret numbers of a season's trials, beside `season.toml`. Never merged, never printed.

use crate::error::StageError;
use outlook::trial::{Kept, Key, check, head, seal};
use rand::TryRng as _;
use rand::rngs::SysRng;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};
use store::write_atomically;
use study::lock::LockedTrial;

const NAME: &str = "trial.key";
const HEAD: &str = "# The secret numbers that the lots of this season's trials come from. Keep the file beside season.toml and look at\n# no lot before its turn: who knows these numbers can work the lots out. Written by cookstudy.\n";

#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default, rename = "trial")]
    trials: Vec<Entry>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    id: String,
    /// When the trial was begun: a trial of the same name in another year is another one.
    begun_at: String,
    key: String,
    /// Lots drawn, and the end of their chain: a lock that is older shows.
    lots: usize,
    head: String,
    /// Looks taken, and a hash over them: outcomes that were looked at are looked at once.
    #[serde(default)]
    looks: usize,
    #[serde(default)]
    seal: String,
}

/// The keys of a season's trials.
#[derive(Debug)]
pub(super) struct Keys {
    path: PathBuf,
    file: File,
}

impl Keys {
    pub(super) fn read(folder: &Path) -> Result<Self, StageError> {
        let path = folder.join(NAME);
        let file = match std::fs::read_to_string(&path) {
            Ok(text) => cook::settings::parse(&text, &path)?,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => File::default(),
            Err(error) => return Err(StageError::io(&path, error)),
        };
        Ok(Self { path, file })
    }

    /// A number from the operating system.
    pub(super) fn fresh() -> Result<Key, StageError> {
        let mut bytes = [0; 32];
        SysRng.try_fill_bytes(&mut bytes).map_err(|error| StageError::Usage {
            message: format!("the operating system gives no random number: {error}"),
        })?;
        Ok(Key::new(bytes))
    }

    fn entry(&self, trial: &LockedTrial) -> Option<&Entry> {
        self.file
            .trials
            .iter()
            .find(|entry| entry.id == trial.id && entry.begun_at == trial.begun_at)
    }

    /// The key of a trial.
    pub(super) fn of(&self, trial: &LockedTrial) -> Option<Key> {
        Key::parse(&self.entry(trial)?.key)
    }

    /// What is not as it was drawn or looked at.
    pub(super) fn problems(&self, trial: &LockedTrial) -> Vec<String> {
        let key = self.of(trial);
        let kept = self.entry(trial).zip(key.as_ref()).map(|(entry, key)| Kept {
            key,
            lots: entry.lots,
            head: &entry.head,
            looks: entry.looks,
            seal: &entry.seal,
        });
        check(trial, kept)
    }

    /// Trials with lots of which the lock knows nothing, by name and instant.
    pub(super) fn forgotten<'a>(
        &'a self,
        trials: &'a [LockedTrial],
    ) -> impl Iterator<Item = (&'a str, &'a str)> {
        let known = |entry: &&Entry| {
            trials.iter().any(|trial| trial.id == entry.id && trial.begun_at == entry.begun_at)
        };
        let lost = self.file.trials.iter().filter(move |entry| entry.lots > 0 && !known(entry));
        lost.map(|entry| (entry.id.as_str(), entry.begun_at.as_str()))
    }

    /// Writes down the looks that trials have by now.
    pub(super) fn keep_looks(&mut self, trials: &[LockedTrial]) -> Result<(), StageError> {
        for trial in trials {
            if self.entry(trial).is_some_and(|entry| entry.looks < trial.looks.len())
                && let Some(key) = self.of(trial)
            {
                self.keep(trial, &key)?;
            }
        }
        Ok(())
    }

    /// Writes down what a trial has drawn by now.
    pub(super) fn keep(&mut self, trial: &LockedTrial, key: &Key) -> Result<(), StageError> {
        let entry = Entry {
            id: trial.id.clone(),
            begun_at: trial.begun_at.clone(),
            key: key.to_hex(),
            lots: trial.lots.len(),
            head: head(trial),
            looks: trial.looks.len(),
            seal: seal(trial, trial.looks.len()),
        };
        self.file.trials.retain(|own| own.id != entry.id || own.begun_at != entry.begun_at);
        self.file.trials.push(entry);
        let body = toml::to_string_pretty(&self.file)
            .map_err(|error| StageError::Usage { message: error.to_string() })?;
        write_atomically(&self.path, format!("{HEAD}{body}").as_bytes())?;
        Ok(())
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }
}
