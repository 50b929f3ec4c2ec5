//! The logs under the given paths, plain or in containers.

use crate::container::{Container, Entry, Kind, Limits, litter};
use crate::disk;
use crate::error::{IngestError, Place};
use crate::log::{Log, ReadOptions, further_questions, kind_of, read_hashed, read_likeliest};
use crate::text::{Bytes, Text};
use cook::Question;
use std::cmp::Ordering;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// A log under the given paths: a file, or a file inside an archive.
#[derive(Debug, Clone)]
pub struct LogFile {
    /// Path relative to the season folder with `/` between parts, as shown; a file inside
    /// an archive stands behind the archive's: `logs/runs.zip/pit-a.csv`.
    pub shown_as: String,
    /// Where the file on disk is.
    pub path: PathBuf,
    /// Which file of the archive.
    entry: Option<Entry>,
    /// Content hash of the file on disk, once it is known; shared by all files of one
    /// archive.
    hash: Arc<OnceLock<String>>,
}

/// The bytes of a log, inflated; those of a long one lie on the disk.
#[derive(Debug)]
pub struct LogBytes {
    bytes: Bytes,
    /// Path as shown, of the log.
    shown_as: String,
    /// SHA-256, hexadecimal, of the file on disk that holds them.
    content_hash: String,
}

/// What [`list_logs`] finds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LogList {
    /// The logs, by `shown_as`.
    pub files: Vec<LogFile>,
    /// What was left out or renamed, in words.
    pub notes: Vec<String>,
}

impl LogFile {
    /// A file on disk that is not an archive.
    pub fn on_disk(path: PathBuf, shown_as: impl Into<String>) -> Self {
        Self { shown_as: shown_as.into(), path, entry: None, hash: Arc::default() }
    }

    /// The archive that it is in, as shown.
    pub fn archive(&self) -> Option<&str> {
        let label = &self.entry.as_ref()?.label;
        self.shown_as.strip_suffix(label.as_str())?.strip_suffix('/')
    }

    /// SHA-256, hexadecimal, of the file on disk. It is read once for all the files of an
    /// archive, a block at a time.
    ///
    /// # Errors
    /// [`IngestError::Unreadable`]; [`IngestError::BadContainer`] for a file that is larger
    /// than any that is read.
    pub fn content_hash(&self) -> Result<String, IngestError> {
        if let Some(hash) = self.hash.get() {
            return Ok(hash.clone());
        }
        let limits = Limits::default();
        let most = if self.entry.is_some() { limits.archive_bytes } else { limits.log_bytes };
        let disk_name = self.archive().unwrap_or(&self.shown_as);
        let hash = disk::content_hash(&self.path, disk_name, most)?;
        Ok(self.hash.get_or_init(|| hash).clone())
    }

    /// Reads and inflates it. This is the only way by which logs are read: what may be
    /// larger inside than outside is held to [`Limits`].
    ///
    /// # Errors
    /// [`IngestError::Unreadable`]; [`IngestError::BadContainer`]: damaged, encrypted, too
    /// large.
    pub fn read(&self) -> Result<LogBytes, IngestError> {
        let disk_name = self.archive().unwrap_or(&self.shown_as);
        let file = disk::open(&self.path, disk_name)?;
        let limits = Limits::default();
        let mut container = Container::open(file, disk_name, limits)?;
        let is_plain = container.kind() == Kind::Plain && self.entry.is_none();
        let bytes = match is_plain.then(|| container.long_file()).flatten() {
            Some(file) => Bytes::Long(file),
            None => container.bytes(self.entry.as_ref())?,
        };
        let content_hash = match &bytes {
            // What was read need not be read again to be hashed.
            Bytes::Held(bytes) if is_plain => {
                self.hash.get_or_init(|| crate::text::content_hash(bytes)).clone()
            }
            _ => self.content_hash()?,
        };
        Ok(LogBytes { bytes, shown_as: self.shown_as.clone(), content_hash })
    }

    /// Reads it as a log.
    ///
    /// # Errors
    /// As [`Self::read`] and [`crate::read_log_bytes`].
    pub fn read_log(&self, options: &ReadOptions) -> Result<Log, IngestError> {
        self.read()?.read_log(options)
    }
}

impl LogBytes {
    fn text(&self) -> Result<Text<'_>, IngestError> {
        match &self.bytes {
            Bytes::Held(bytes) => Text::decode(bytes, &self.shown_as),
            Bytes::Long(file) => Text::read_long(file, &self.shown_as),
        }
    }

    /// Their beginning, at most so many.
    pub fn first(&self, most: usize) -> Vec<u8> {
        match &self.bytes {
            Bytes::Held(bytes) => bytes[..bytes.len().min(most)].to_vec(),
            Bytes::Long(file) => {
                let mut first = Vec::new();
                // A log that cannot be read any more has none.
                let _ = file.append(0, most, &mut first);
                first
            }
        }
    }

    /// Reads them as a log whose source is the file on disk.
    ///
    /// # Errors
    /// As [`crate::read_log_bytes`].
    pub fn read_log(&self, options: &ReadOptions) -> Result<Log, IngestError> {
        read_hashed(&self.text()?, &self.content_hash, &self.shown_as, options)
    }

    /// Reads them with the likeliest answer to each question, for a layout to begin with; `None` where
    /// no answer lets them be read.
    pub fn read_likeliest(&self, options: &ReadOptions) -> Option<Log> {
        read_likeliest(&self.text().ok()?, &self.content_hash, &self.shown_as, options)
    }

    /// What the log asks behind its first question, were that answered in the likeliest way: all of it can be
    /// asked at once. A question that another answer would not raise may be among it.
    pub fn further_questions(&self, options: &ReadOptions) -> Vec<Question> {
        let text = self.text();
        text.map_or(Vec::new(), |text| further_questions(&text, &self.shown_as, options))
    }

    /// The kind of the log ([`Log::kind`]) without reading it through; `None` for what is no log.
    pub fn kind(&self, options: &ReadOptions) -> Option<String> {
        kind_of(&self.text().ok()?, &self.shown_as, options)
    }
}

impl PartialEq for LogFile {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for LogFile {}

impl PartialOrd for LogFile {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for LogFile {
    fn cmp(&self, other: &Self) -> Ordering {
        (&self.shown_as, &self.path).cmp(&(&other.shown_as, &other.path))
    }
}

/// Lists the logs under paths (files, folders and globs), relative to `base`, sorted by
/// `shown_as`; an archive counts as a folder. Hidden files and what operating systems
/// leave behind are left out. An archive that cannot be listed is listed itself: reading it
/// says what is wrong with it.
///
/// # Errors
/// [`IngestError::Unreadable`] for a folder, and [`IngestError::LogNotFound`] for a path or
/// glob that has no file.
pub fn list_logs<P: AsRef<Path>>(paths: &[P], base: &Path) -> Result<LogList, IngestError> {
    let mut found = Vec::new();
    for path in paths {
        let written = &shown(path.as_ref());
        let full = base.join(path);
        let before = found.len();
        if full.is_dir() {
            walk(&full, &mut found)?;
        } else if full.symlink_metadata().is_ok() {
            // Reading it says what is wrong with what is no file.
            found.push(full);
        } else {
            let pattern = full.to_string_lossy();
            let matches =
                glob::glob(&pattern).map_err(|error| not_found(written, &error.to_string()))?;
            for path in matches.filter_map(Result::ok) {
                if path.is_dir() { walk(&path, &mut found)? } else { found.push(path) }
            }
            if found.len() == before {
                return Err(not_found(
                    written,
                    "a file, a folder or a glob that has files; paths are relative to the season folder",
                ));
            }
        }
    }
    found.sort();
    found.dedup();
    let mut list = LogList::default();
    for path in found {
        let relative = path.strip_prefix(base).unwrap_or(&path);
        let shown_as = shown(relative);
        add(LogFile::on_disk(path, shown_as), &mut list);
    }
    list.files.sort();
    if let Some(pair) = list.files.windows(2).find(|pair| pair[0].shown_as == pair[1].shown_as) {
        return Err(not_found(
            &pair[0].shown_as,
            "two files are shown by this name; rename one of them",
        ));
    }
    Ok(list)
}

/// Adds a file, or the files that it holds.
fn add(file: LogFile, list: &mut LogList) {
    let listing = disk::open(&file.path, &file.shown_as)
        .and_then(|open| Container::open(open, &file.shown_as, Limits::default()))
        .and_then(|mut container| Ok((container.kind() == Kind::Zip).then_some(container.list()?)));
    match listing {
        Ok(None) => list.files.push(file),
        Ok(Some(listing)) => {
            list.notes.extend(listing.skipped);
            // Reading it says that there is none.
            if listing.entries.is_empty() {
                list.files.push(file.clone());
            }
            list.files.extend(listing.entries.into_iter().map(|entry| LogFile {
                shown_as: format!("{}/{}", file.shown_as, entry.label),
                path: file.path.clone(),
                entry: Some(entry),
                hash: Arc::clone(&file.hash),
            }));
        }
        Err(error) => {
            list.notes.push(error.to_string());
            list.files.push(file);
        }
    }
}

/// A path with `/` between its parts; bytes of a name that are no UTF-8 as `%` and two digits, so that
/// two files keep two names.
fn shown(path: &Path) -> String {
    let mut parts = Vec::new();
    for part in path {
        let mut text = String::new();
        for chunk in part.as_encoded_bytes().utf8_chunks() {
            text.push_str(chunk.valid());
            text.extend(chunk.invalid().iter().map(|byte| format!("%{byte:02X}")));
        }
        parts.push(text);
    }
    parts.join("/").replace("//", "/")
}

fn not_found(written: &str, try_this: &str) -> IngestError {
    IngestError::LogNotFound { place: Place::file(written).into(), try_this: try_this.to_owned() }
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), IngestError> {
    let unreadable = |source: io::Error| IngestError::Unreadable {
        place: Place::file(&folder.display().to_string()).into(),
        try_this: "check that the folder can be listed".to_owned(),
        source,
    };
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if litter(&name).is_some() {
            continue;
        }
        // Links to folders may lead round in a circle, or anywhere.
        if path.is_dir() && !path.is_symlink() { walk(&path, found)? } else { found.push(path) }
    }
    Ok(())
}
