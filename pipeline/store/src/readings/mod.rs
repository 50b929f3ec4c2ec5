//! Readings: cooks packed into parts, some hundred to a Parquet file.
//!
//! `readings/season=<season>/part-<number>.parquet` holds its cooks by name, in row groups of
//! 128 cooks; which part a cook lies in follows from its name and the set of cooks (see
//! [`place`]). A store of the layout before, with a file a cook and instants in ms, is read as
//! it is, and packed whole by the next [`ReadingsBatch`].

mod batch;
mod decode;
mod encode;
mod place;
mod runs;
mod spill;

pub use batch::ReadingsBatch;
pub use decode::CooksOfPart;

use self::decode::PartReader;
use self::place::{Files, PartNumber, list};
use crate::Store;
use crate::error::StoreError;
use crate::names::{decode_name, encode_name};
use cook::CookReadings;
use std::path::{Path, PathBuf};

/// A file of readings: of up to 512 cooks, or of one in the old layout.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingsPart {
    season: String,
    path: PathBuf,
}

impl ReadingsPart {
    /// The season of its cooks.
    pub fn season(&self) -> &str {
        &self.season
    }

    /// The cooks that are wanted, by name, decoded as they are asked for: no more than a few
    /// are in memory at once. What is not wanted is not decoded.
    ///
    /// # Errors
    /// [`StoreError::Io`], [`StoreError::Parquet`], [`StoreError::Column`].
    pub fn cooks<'w>(
        &self,
        wanted: impl Fn(&str) -> bool + Send + 'w,
    ) -> Result<CooksOfPart<'w>, StoreError> {
        Ok(CooksOfPart::new(PartReader::open(&self.path, &self.season)?, wanted))
    }
}

impl Files {
    fn read(folder: &Path) -> Result<Self, StoreError> {
        Self::list(folder, |path| Ok(PartReader::open(path, "")?.is_packed()))
    }
}

impl Store {
    fn season_folder(&self, season: &str) -> PathBuf {
        self.root.join("readings").join(format!("season={}", encode_name(season)))
    }

    /// The seasons that have a folder, with it, sorted.
    fn season_folders(&self) -> Result<Vec<(String, PathBuf)>, StoreError> {
        let season = |path: PathBuf| {
            let name = path.file_name()?.to_str()?.strip_prefix("season=").and_then(decode_name)?;
            Some((name, path))
        };
        let mut seasons: Vec<_> =
            list(&self.root.join("readings"))?.into_iter().filter_map(season).collect();
        seasons.sort();
        Ok(seasons)
    }

    /// The files that hold the readings, by season; each cook is in one of them. To go over
    /// many cooks this is the way, a part to a thread: every file is then read once.
    ///
    /// # Errors
    /// [`StoreError::Io`], [`StoreError::Parquet`].
    pub fn readings_parts(&self) -> Result<Vec<ReadingsPart>, StoreError> {
        let mut parts = Vec::new();
        for (season, folder) in self.season_folders()? {
            let files = Files::read(&folder)?;
            let paths = files.parts.into_values().chain(files.single.into_values());
            parts.extend(paths.map(|path| ReadingsPart { season: season.clone(), path }));
        }
        Ok(parts)
    }

    /// The readings of every cook, part after part and by name within one.
    ///
    /// # Errors
    /// As [`Store::readings_parts`].
    pub fn scan_readings(
        &self,
    ) -> Result<impl Iterator<Item = Result<CookReadings, StoreError>>, StoreError> {
        Ok(self.readings_parts()?.into_iter().flat_map(|part| {
            let (cooks, error) = match part.cooks(|_| true) {
                Ok(cooks) => (Some(cooks), None),
                Err(error) => (None, Some(Err(error))),
            };
            cooks.into_iter().flatten().chain(error)
        }))
    }

    /// Every cook that has readings, with its season, sorted.
    ///
    /// # Errors
    /// As [`Store::readings_parts`].
    pub fn cooks_with_readings(&self) -> Result<Vec<(String, String)>, StoreError> {
        let mut found = Vec::new();
        for part in self.readings_parts()? {
            let cooks = PartReader::open(&part.path, &part.season)?.cooks()?;
            found.extend(cooks.into_iter().map(|cook| (part.season.clone(), cook)));
        }
        found.sort();
        found.dedup();
        Ok(found)
    }

    /// Every file of readings that is there, whole or not.
    ///
    /// # Errors
    /// [`StoreError::Io`].
    pub fn readings_files(&self) -> Result<Vec<PathBuf>, StoreError> {
        let mut files = Vec::new();
        for (_, folder) in self.season_folders()? {
            let is_readings = |path: &PathBuf| {
                path.extension().is_some_and(|ending| ending == "parquet")
                    && !path
                        .file_name()
                        .is_some_and(|name| name.as_encoded_bytes().starts_with(b"."))
            };
            files.extend(list(&folder)?.into_iter().filter(is_readings));
        }
        files.sort();
        Ok(files)
    }

    /// Whether a file of readings can be read as one, as far as its footer tells.
    pub fn is_readable(&self, file: &Path) -> bool {
        PartReader::open(file, "").is_ok()
    }

    /// The files in which a cook's readings may lie.
    pub fn readings_files_of(&self, season: &str, cook: &str) -> Vec<PathBuf> {
        let folder = self.season_folder(season);
        let single = folder.join(format!("{}.parquet", encode_name(cook)));
        let parts = PartNumber::of(cook).map(|part| folder.join(part.file_name()));
        parts.chain([single]).filter(|path| path.is_file()).collect()
    }

    /// Reads one cook's readings. For those of many cooks, [`Store::readings_parts`] is faster.
    ///
    /// # Errors
    /// [`StoreError::NoReadings`] where the season has none of this cook.
    pub fn read_readings(&self, season: &str, cook: &str) -> Result<CookReadings, StoreError> {
        let folder = self.season_folder(season);
        let missing = || StoreError::NoReadings {
            cook: cook.to_owned(),
            season: season.to_owned(),
            folder: folder.clone(),
        };
        for path in PartNumber::of(cook).map(|part| folder.join(part.file_name())) {
            if !path.is_file() {
                continue;
            }
            let part = PartReader::open(&path, season)?;
            if part.is_packed() {
                return part.find(cook)?.ok_or_else(missing);
            }
        }
        let single = folder.join(format!("{}.parquet", encode_name(cook)));
        if !single.is_file() {
            return Err(missing());
        }
        PartReader::open(&single, season)?.find(cook)?.ok_or_else(missing)
    }

    /// Writes one cook's readings; false where the store already held exactly these. For
    /// those of many cooks, [`Store::readings_batch`] is faster.
    ///
    /// # Errors
    /// As [`ReadingsBatch::write`] and [`ReadingsBatch::finish`].
    pub fn write_readings(&self, readings: &CookReadings) -> Result<bool, StoreError> {
        let batch = self.readings_batch()?;
        batch.write(readings)?;
        batch.finish()
    }
}

#[cfg(test)]
mod tests;
