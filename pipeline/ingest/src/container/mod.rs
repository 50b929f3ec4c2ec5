//! Compressed files and archives as named inner files.
//!
//! Logs come plain, as `.gz`, as `.zst`, and several in one `.zip`; what a file is, its
//! first bytes say. Nothing is ever unpacked to disk, so the names inside an archive are
//! labels and no more; and no file gives more bytes than [`Limits`] allow, whatever it
//! claims to hold.

pub(crate) mod capped;
mod label;
mod zstandard;

pub(crate) use capped::Capped;
pub(crate) use label::litter;

use crate::disk::unreadable;
use crate::error::{IngestError, Place};
use crate::text::{Bytes, LONG, LongFile, read_lines};
use flate2::bufread::MultiGzDecoder;
use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use zip::ZipArchive;
use zstandard::ZstandardReader;

/// What a file may hold at the most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of one log, inflated.
    pub log_bytes: u64,
    /// Bytes of a log for each byte that it takes compressed. Readings every few seconds
    /// compress by 5 to 20; the densest text of zeros by 1,032 (DEFLATE, RFC 1951).
    pub ratio: u64,
    /// Logs smaller than this are not held to the ratio.
    pub free_bytes: u64,
    /// Entries of an archive.
    pub entries: usize,
    /// Bytes of an archive's entries together, as it states them.
    pub archive_bytes: u64,
}

impl Default for Limits {
    /// 256 MiB a log (six million lines; a week of readings a second from ten probes has about
    /// 40 MB), 250 to one from 1 MiB on, 10,000 entries and
    /// 16 GiB an archive.
    fn default() -> Self {
        Self {
            log_bytes: 256 << 20,
            ratio: 250,
            free_bytes: 1 << 20,
            entries: 10_000,
            archive_bytes: 16 << 30,
        }
    }
}

/// What a file is, by its first bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Not compressed.
    Plain,
    /// One or more gzip members (RFC 1952).
    Gzip,
    /// One or more Zstandard frames (RFC 8878).
    Zstandard,
    /// A ZIP archive.
    Zip,
}

impl Kind {
    /// By the first four bytes of a file (fewer if it has fewer).
    fn of(head: &[u8]) -> Self {
        match head {
            [0x1F, 0x8B, ..] => Self::Gzip,
            // A frame, or one to be skipped (RFC 8878, 3.1).
            [0x28, 0xB5, 0x2F, 0xFD, ..] | [0x50..=0x5F, 0x2A, 0x4D, 0x18, ..] => Self::Zstandard,
            // A first entry, or an archive without any.
            [b'P', b'K', 3, 4, ..] | [b'P', b'K', 5, 6, ..] => Self::Zip,
            _ => Self::Plain,
        }
    }
}

/// A file inside an archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name, `/` between parts, without anything that would lead elsewhere.
    pub label: String,
    /// Its number in the archive.
    index: usize,
}

/// What an archive holds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Listing {
    /// Its files, by label.
    pub entries: Vec<Entry>,
    /// What is in it besides, and why it is left out, in words.
    pub skipped: Vec<String>,
}

/// An open file that may hold others.
#[derive(Debug)]
pub struct Container<R> {
    source: R,
    kind: Kind,
    size: u64,
    shown_as: String,
    limits: Limits,
}

impl Container<File> {
    /// The file itself, where it is so long that it is better not held, and no longer than allowed.
    pub(crate) fn long_file(&self) -> Option<LongFile> {
        let is_long = self.size > LONG as u64 && self.size <= self.limits.log_bytes;
        is_long.then(|| LongFile::on_disk(self.source.try_clone().ok()?).ok()).flatten()
    }
}

impl<R: Read + Seek> Container<R> {
    /// Opens a container; `shown_as` is its name in messages.
    ///
    /// # Errors
    /// [`IngestError::Unreadable`].
    pub fn open(mut source: R, shown_as: &str, limits: Limits) -> Result<Self, IngestError> {
        let sniff = |source: &mut R| -> io::Result<(Vec<u8>, u64)> {
            let mut head = Vec::with_capacity(4);
            source.by_ref().take(4).read_to_end(&mut head)?;
            let size = source.seek(SeekFrom::End(0))?;
            source.rewind()?;
            Ok((head, size))
        };
        let (head, size) = sniff(&mut source).map_err(|error| unreadable(shown_as, error))?;
        let mut kind = Kind::of(&head);
        // A workbook is a ZIP archive too, but not one of logs: the reader says so.
        if kind == Kind::Zip
            && let Ok(archive) = ZipArchive::new(&mut source)
            && ["xl/workbook.xml", "xl/workbook.bin", "content.xml"]
                .iter()
                .any(|part| archive.index_for_name(part).is_some())
        {
            kind = Kind::Plain;
        }
        source.rewind().map_err(|error| unreadable(shown_as, error))?;
        Ok(Self { source, kind, size, shown_as: shown_as.to_owned(), limits })
    }

    /// What it is.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// Lists the files of an archive, by label; nothing is inflated. Folders and what
    /// operating systems leave behind are skipped, links refused. A file that is no archive
    /// has none.
    ///
    /// # Errors
    /// [`IngestError::BadContainer`]: a damaged archive, too many entries, more bytes than
    /// allowed, two entries of one label.
    pub fn list(&mut self) -> Result<Listing, IngestError> {
        let mut listing = Listing::default();
        if self.kind != Kind::Zip {
            return Ok(listing);
        }
        let limits = self.limits;
        let name = self.shown_as.clone();
        let refuse = |what: String, try_this: &str| bad(&name, what, try_this);
        let mut archive = self.archive()?;
        if archive.len() > limits.entries {
            return Err(refuse(
                format!(
                    "the archive has {} entries; at most {} are read",
                    archive.len(),
                    limits.entries
                ),
                "pack fewer logs in one archive",
            ));
        }
        if archive.has_duplicate_names() {
            return Err(refuse(
                "two entries of the archive have one name".to_owned(),
                "pack it again, each log under a name of its own",
            ));
        }
        let mut stated = 0_u64;
        for index in 0..archive.len() {
            let entry = archive.by_index_raw(index).map_err(|error| damaged(&name, &error))?;
            let written = entry.name().map_err(|error| damaged(&name, &error))?;
            let label = label::clean(&written);
            if entry.is_dir() {
                continue;
            }
            if entry.is_symlink() {
                listing.skipped.push(format!("{name}/{label}: a link, which is not followed"));
                continue;
            }
            if let Some(why) = label::litter(&label) {
                listing.skipped.push(format!("{name}/{label}: {why}"));
                continue;
            }
            if label != written {
                listing.skipped.push(format!(
                    "{name}: the entry `{}` is called `{label}` here",
                    crate::error::shown(written.as_bytes())
                ));
            }
            stated = stated.saturating_add(entry.size());
            listing.entries.push(Entry { label, index });
        }
        if stated > limits.archive_bytes {
            return Err(refuse(
                format!(
                    "the archive holds {stated} bytes; at most {} are read",
                    limits.archive_bytes
                ),
                "check where it comes from; if it is yours, split it",
            ));
        }
        listing.entries.sort_by(|a, b| a.label.cmp(&b.label));
        if let Some(pair) = listing.entries.windows(2).find(|pair| pair[0].label == pair[1].label) {
            return Err(refuse(
                format!("two entries of the archive come to one name, `{}`", pair[0].label),
                "pack it again, each log under a name of its own",
            ));
        }
        Ok(listing)
    }

    /// The bytes of the file itself (inflated, if it is compressed), or of one of its
    /// entries, which may be compressed once more.
    ///
    /// # Errors
    /// [`IngestError::Unreadable`]; [`IngestError::BadContainer`]: damaged, encrypted, or
    /// more bytes than allowed.
    pub fn read(&mut self, entry: Option<&Entry>) -> Result<Vec<u8>, IngestError> {
        match self.bytes(entry)? {
            Bytes::Held(bytes) => Ok(bytes),
            Bytes::Long(file) => file.read().map_err(|error| unreadable(&self.shown_as, error)),
        }
    }

    /// As [`Self::read`]; what is long is not held.
    pub(crate) fn bytes(&mut self, entry: Option<&Entry>) -> Result<Bytes, IngestError> {
        let limits = self.limits;
        let Some(entry) = entry else {
            let name = self.shown_as.clone();
            self.source.rewind().map_err(|error| unreadable(&name, error))?;
            if self.kind == Kind::Zip {
                // Only its entries are logs; what is wrong with it is said first.
                let listing = self.list()?;
                if listing.entries.is_empty() {
                    let left_out: Vec<String> =
                        listing.skipped.iter().map(|why| format!("\n  {why}")).collect();
                    let what = format!("the archive holds no log{}", left_out.concat());
                    return Err(bad(&name, what, "pack logs in it, or take it away"));
                }
                return Err(bad(
                    &name,
                    "the archive has no log of its own".to_owned(),
                    "name a log inside it, such as `archive.zip/log.csv`",
                ));
            }
            let size = self.size;
            return inflate(BufReader::new(&mut self.source), self.kind, size, &name, limits);
        };
        let name = format!("{}/{}", self.shown_as, entry.label);
        let mut archive = self.archive()?;
        let file = archive.by_index(entry.index).map_err(|error| match error {
            zip::result::ZipError::UnsupportedArchive(zip::result::ZipError::PASSWORD_REQUIRED) => {
                bad(&name, "the entry is encrypted".to_owned(), "pack it again without a password")
            }
            error => damaged(&name, &error),
        })?;
        let packed = file.compressed_size();
        let bytes = inflate(BufReader::new(file), Kind::Plain, packed, &name, limits)?;
        let failed = |error| unreadable(&name, error);
        let head = match &bytes {
            Bytes::Held(bytes) => bytes[..bytes.len().min(4)].to_vec(),
            Bytes::Long(file) => {
                let mut head = Vec::new();
                file.append(0, 4, &mut head).map_err(failed)?;
                head
            }
        };
        match Kind::of(&head) {
            kind @ (Kind::Gzip | Kind::Zstandard) => match bytes {
                Bytes::Held(bytes) => inflate(&bytes[..], kind, bytes.len() as u64, &name, limits),
                Bytes::Long(file) => {
                    let reader = BufReader::new(file.reader().map_err(failed)?);
                    inflate(reader, kind, file.len(), &name, limits)
                }
            },
            Kind::Zip => Err(bad(
                &name,
                "this is an archive inside an archive".to_owned(),
                "unpack the outer one, or pack the logs in one archive",
            )),
            Kind::Plain => Ok(bytes),
        }
    }

    fn archive(&mut self) -> Result<ZipArchive<BufReader<&mut R>>, IngestError> {
        let name = &self.shown_as;
        self.source.rewind().map_err(|error| unreadable(name, error))?;
        ZipArchive::new(BufReader::new(&mut self.source)).map_err(|error| damaged(name, &error))
    }
}

/// Reads to the end, inflating a stream of this kind that takes `packed` bytes.
fn inflate(
    source: impl io::BufRead,
    kind: Kind,
    packed: u64,
    name: &str,
    limits: Limits,
) -> Result<Bytes, IngestError> {
    let by_ratio = packed.saturating_mul(limits.ratio).max(limits.free_bytes);
    let most = limits.log_bytes.min(by_ratio);
    let too_large = || {
        let what = format!("the log has more than {} MiB", limits.log_bytes >> 20);
        bad(name, what, "split it into several logs, or export it with fewer readings a minute")
    };
    if packed > limits.log_bytes {
        return Err(too_large());
    }
    let read = match kind {
        Kind::Gzip => read_lines(Capped::new(MultiGzDecoder::new(source), most), 0, name),
        Kind::Zstandard => read_lines(Capped::new(ZstandardReader::new(source), most), 0, name),
        Kind::Plain | Kind::Zip => read_lines(Capped::new(source, most), packed as usize, name),
    };
    match read {
        Ok(read) => read,
        Err(error) if Capped::<&[u8]>::is_over(&error) && most == limits.log_bytes => {
            Err(too_large())
        }
        Err(error) if Capped::<&[u8]>::is_over(&error) => Err(bad(
            name,
            format!("inflated it is more than {} times as large: this is no log", limits.ratio),
            "check where it comes from; if it is yours, unpack it",
        )),
        Err(error) if kind == Kind::Plain && error.raw_os_error().is_some() => {
            Err(unreadable(name, error))
        }
        Err(error) => Err(damaged(name, &error)),
    }
}

fn bad(name: &str, what: String, try_this: &str) -> IngestError {
    IngestError::BadContainer {
        place: Place::file(name).into(),
        what,
        try_this: try_this.to_owned(),
    }
}

fn damaged(name: &str, error: &dyn std::error::Error) -> IngestError {
    bad(name, format!("it is damaged: {error}"), "copy or export it again")
}
