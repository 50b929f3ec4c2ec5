//! Readings of many cooks, packed into parts once all of them are there.

use super::decode::{CooksOfPart, PartReader};
use super::encode::PartWriter;
use super::place::{Files, PartNumber, pack};
use super::spill::{Bytes, ChannelRows, Slot, Spill};
use crate::Store;
use crate::atomic::{Beside, sync_folder};
use crate::error::StoreError;
use columns::PackedReadings;
use cook::CookReadings;
use rayon::prelude::*;
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Readings from which on a cook is large: four days of two channels every second have fewer.
const LARGE: usize = 1 << 20;

/// Readings that are being written. The store's files stay as they are until
/// [`ReadingsBatch::finish`]; a batch that is dropped before has written nothing.
///
/// Cooks may come in any order and from many threads. They wait on the disk, so that memory
/// holds one row group of each part that is being packed, whatever their number.
#[derive(Debug)]
pub struct ReadingsBatch<'s> {
    store: &'s Store,
    /// What the store had when the batch began.
    before: BTreeMap<String, Season>,
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    /// The season of every cook that will have readings.
    season_of: HashMap<String, String>,
    /// The cooks written, by season and name.
    written: BTreeMap<String, BTreeMap<String, Slot>>,
    spill: Option<Spill>,
}

/// What a season's folder held.
#[derive(Debug, Default)]
struct Season {
    files: Files,
    /// The cooks of each part, by name.
    cooks: BTreeMap<PartNumber, Vec<String>>,
}

impl Season {
    fn read(folder: &Path, season: &str, damaged: &BTreeSet<PathBuf>) -> Result<Self, StoreError> {
        let mut files = Files::list(folder, |path| {
            Ok(damaged.contains(path) || PartReader::open(path, "")?.is_packed())
        })?;
        files.hide(damaged);
        let cooks = files
            .parts
            .iter()
            .map(|(number, path)| Ok((*number, PartReader::open(path, season)?.cooks()?)))
            .collect::<Result<_, StoreError>>()?;
        Ok(Self { files, cooks })
    }

    fn names(&self) -> impl Iterator<Item = &String> {
        self.cooks.values().flatten().chain(self.files.single.keys())
    }
}

impl Store {
    /// Begins to write the readings of many cooks.
    ///
    /// # Errors
    /// [`StoreError::Io`], [`StoreError::Parquet`] for readings that are there and cannot be
    /// read.
    pub fn readings_batch(&self) -> Result<ReadingsBatch<'_>, StoreError> {
        self.readings_batch_without(&BTreeSet::new())
    }

    /// As [`Store::readings_batch`] where some files of readings are damaged: their cooks count as
    /// without readings, and [`ReadingsBatch::finish`] removes or replaces the files.
    ///
    /// # Errors
    /// As [`Store::readings_batch`], for the other files.
    pub fn readings_batch_without(
        &self,
        damaged: &BTreeSet<PathBuf>,
    ) -> Result<ReadingsBatch<'_>, StoreError> {
        let mut before = BTreeMap::new();
        let mut season_of = HashMap::new();
        for (season, folder) in self.season_folders()? {
            let there = Season::read(&folder, &season, damaged)?;
            season_of.extend(there.names().map(|cook| (cook.clone(), season.clone())));
            before.insert(season, there);
        }
        let state = State { season_of, ..State::default() };
        Ok(ReadingsBatch { store: self, before, state: Mutex::new(state) })
    }
}

impl ReadingsBatch<'_> {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Whether a cook has readings in a season, or will have them.
    pub fn has(&self, season: &str, cook: &str) -> bool {
        self.state().season_of.get(cook).is_some_and(|there| there == season)
    }

    /// The cooks that have readings, or will have them, with their seasons before them, sorted.
    pub fn cooks(&self) -> Vec<(String, String)> {
        let state = self.state();
        let mut cooks: Vec<_> =
            state.season_of.iter().map(|(cook, season)| (season.clone(), cook.clone())).collect();
        cooks.sort();
        cooks
    }

    /// Whether finishing now would leave every file as it is.
    pub fn is_untouched(&self) -> bool {
        let state = self.state();
        let is_tidy =
            |season: &Season| season.files.hidden.is_empty() && season.files.single.is_empty();
        state.written.values().all(BTreeMap::is_empty)
            && self.before.values().all(is_tidy)
            && self.before.values().flat_map(Season::names).count() == state.season_of.len()
    }

    /// Writes one cook's readings, in the place of those that it had.
    ///
    /// # Errors
    /// [`StoreError::Clash`] where another season of the store has a cook of this name;
    /// [`StoreError::Io`].
    pub fn write(&self, readings: &CookReadings) -> Result<(), StoreError> {
        let CookReadings { cook, season, channels, sources } = readings;
        self.put((cook, season, sources), channels)
    }

    /// As [`ReadingsBatch::write`].
    ///
    /// # Errors
    /// As [`ReadingsBatch::write`].
    pub fn write_packed(&self, readings: &PackedReadings) -> Result<(), StoreError> {
        let PackedReadings { cook, season, channels, sources } = readings;
        self.put((cook, season, sources), channels)
    }

    fn put<C: ChannelRows>(
        &self,
        (cook, season, sources): (&str, &str, &[String]),
        channels: &[C],
    ) -> Result<(), StoreError> {
        let rows: usize = channels.iter().map(|channel| channel.about().2).sum();
        if rows == 0 {
            self.remove(season, cook);
            return Ok(());
        }
        // Side by side with other cooks; of a large one, no more than a piece at a time.
        let ready: Vec<Bytes> = match rows {
            ..LARGE => channels.iter().map(Bytes::of).collect(),
            _ => Vec::new(),
        };
        let mut guard = self.state();
        let state = &mut *guard;
        if let Some(there) = state.season_of.get(cook).filter(|there| *there != season) {
            return Err(StoreError::Clash {
                cook: cook.to_owned(),
                there: there.clone(),
                here: season.to_owned(),
            });
        }
        let spill = match &mut state.spill {
            Some(spill) => spill,
            none => none.insert(Spill::new(self.store.root())?),
        };
        let slot = spill.put((cook, season, sources), channels, &ready)?;
        state.season_of.insert(cook.to_owned(), season.to_owned());
        state.written.entry(season.to_owned()).or_default().insert(cook.to_owned(), slot);
        Ok(())
    }

    /// Takes a cook's readings away, where there are any.
    pub fn remove(&self, season: &str, cook: &str) {
        let mut state = self.state();
        if state.season_of.get(cook).is_some_and(|there| there == season) {
            state.season_of.remove(cook);
            if let Some(written) = state.written.get_mut(season) {
                written.remove(cook);
            }
        }
    }

    /// Packs all that was written, and all that still lies in the old layout (a file a cook),
    /// into parts; true where a file changed. Parts of the same cooks with the same readings
    /// are left alone.
    ///
    /// # Errors
    /// The first [`StoreError::Io`] of any part; each part is then still the old one or
    /// already the new one, whole.
    pub fn finish(self) -> Result<bool, StoreError> {
        let Self { store, before, state } = self;
        let State { season_of, written, spill } =
            state.into_inner().unwrap_or_else(PoisonError::into_inner);
        let spill = spill.map(Mutex::new);
        let mut cooks_of: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for (cook, season) in &season_of {
            cooks_of.entry(season).or_default().insert(cook);
        }
        let (nothing_before, nothing_written) = (Season::default(), BTreeMap::new());
        let seasons: BTreeSet<&str> =
            before.keys().map(String::as_str).chain(cooks_of.keys().copied()).collect();
        let mut parts = Vec::new();
        let mut obsolete: Vec<&Path> = Vec::new();
        let mut folders = Vec::new();
        for season in seasons {
            let packing = Packing {
                season,
                folder: store.season_folder(season),
                before: before.get(season).unwrap_or(&nothing_before),
                written: written.get(season).unwrap_or(&nothing_written),
                spill: spill.as_ref(),
            };
            let cooks = cooks_of.remove(season).unwrap_or_default();
            let wanted = pack(cooks);
            let files = &packing.before.files;
            let given_up = files.parts.iter().filter(|(number, _)| !wanted.contains_key(number));
            obsolete.extend(given_up.map(|(_, path)| path.as_path()));
            let places: BTreeSet<PathBuf> = wanted.keys().map(|part| packing.path(*part)).collect();
            let others = files.hidden.iter().chain(files.single.values());
            obsolete.extend(others.filter(|path| !places.contains(*path)).map(PathBuf::as_path));
            folders.push(packing.folder.clone());
            let packing = Arc::new(packing);
            parts.extend(
                wanted
                    .into_iter()
                    .filter(|(number, cooks)| !packing.is_kept(*number, cooks))
                    .map(|(number, cooks)| (Arc::clone(&packing), number, cooks)),
            );
        }
        let placed = parts
            .par_iter()
            .map(|(packing, number, cooks)| packing.write(*number, cooks))
            .collect::<Result<Vec<bool>, _>>()?;
        let changed = placed.contains(&true) || !obsolete.is_empty();
        if !changed {
            return Ok(false);
        }
        // What takes over is in its place for good before what it takes over from goes.
        for folder in &folders {
            sync_folder(folder);
        }
        for path in obsolete {
            match std::fs::remove_file(path) {
                Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
                    return Err(StoreError::io(path, e));
                }
                _ => {}
            }
        }
        for folder in &folders {
            sync_folder(folder);
        }
        Ok(true)
    }
}

/// A season that is being packed.
struct Packing<'a> {
    season: &'a str,
    folder: PathBuf,
    before: &'a Season,
    written: &'a BTreeMap<String, Slot>,
    spill: Option<&'a Mutex<Spill>>,
}

impl Packing<'_> {
    fn path(&self, number: PartNumber) -> PathBuf {
        self.folder.join(number.file_name())
    }

    /// Whether a part holds just these cooks already, and none of them was written.
    fn is_kept(&self, number: PartNumber, cooks: &[&str]) -> bool {
        self.before.cooks.get(&number).is_some_and(|there| there == cooks)
            && !cooks.iter().any(|cook| self.written.contains_key(*cook))
    }

    /// Writes a part; false where its file held the same bytes.
    fn write(&self, number: PartNumber, cooks: &[&str]) -> Result<bool, StoreError> {
        let path = self.path(number);
        let not_written = |e| StoreError::parquet(&path, &e);
        let mut part = PartWriter::new().map_err(not_written)?;
        let mut kept = Kept { packing: self, cooks, open: BTreeMap::new() };
        for cook in cooks {
            let readings = match (self.written.get(*cook), self.spill) {
                (Some(slot), Some(spill)) if slot.rows() >= LARGE => {
                    part.push_aside(slot, spill).map_err(not_written)?;
                    continue;
                }
                (Some(slot), Some(spill)) => slot.read(spill)?,
                _ => kept.read(cook)?,
            };
            part.push(readings).map_err(not_written)?;
        }
        let bytes = part.finish().map_err(not_written)?;
        let Some(beside) = Beside::unless_equal(&path, &bytes)? else { return Ok(false) };
        beside.take_its_place()?;
        Ok(true)
    }
}

/// Cooks that stay as they were, read from where they lay, each file once.
struct Kept<'a> {
    packing: &'a Packing<'a>,
    cooks: &'a [&'a str],
    open: BTreeMap<PartNumber, CooksOfPart<'a>>,
}

impl Kept<'_> {
    fn read(&mut self, cook: &str) -> Result<CookReadings, StoreError> {
        let Packing { season, before, written, .. } = self.packing;
        let missing = |path: &Path| {
            StoreError::parquet(path, &format!("the cook `{cook}` is not where it was"))
        };
        if let Some(path) = before.files.single.get(cook) {
            return PartReader::open(path, season)?.find(cook)?.ok_or_else(|| missing(path));
        }
        let part = PartNumber::of(cook).find(|part| before.files.parts.contains_key(part));
        let Some((part, path)) = part.and_then(|part| before.files.parts.get_key_value(&part))
        else {
            return Err(missing(&self.packing.folder));
        };
        let cooks = self.cooks;
        let from = match self.open.entry(*part) {
            Entry::Occupied(open) => open.into_mut(),
            Entry::Vacant(none) => {
                let reader = PartReader::open(path, season)?;
                none.insert(CooksOfPart::new(reader, move |name| {
                    cooks.binary_search(&name).is_ok() && !written.contains_key(name)
                }))
            }
        };
        match from.next().transpose()? {
            Some(readings) if readings.cook == cook => Ok(readings),
            _ => Err(missing(path)),
        }
    }
}
