//! Files on disk: reading them whole, and hashing them a block at a time.

use crate::container::capped::Capped;
use crate::error::{IngestError, Place};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs::{File, FileType};
use std::io::{self, ErrorKind, Read};
use std::path::Path;

/// Bytes that are read at once.
const BLOCK: usize = 64 << 10;

/// The error of a file that cannot be read.
pub(crate) fn unreadable(shown_as: &str, source: io::Error) -> IngestError {
    let try_this = match source.kind() {
        ErrorKind::NotFound => "check the name and the folder",
        ErrorKind::PermissionDenied => "give yourself leave to read it",
        ErrorKind::IsADirectory => "name a file in this folder",
        _ => "copy the file to this disk and read the copy",
    };
    IngestError::Unreadable {
        place: Place::file(shown_as).into(),
        try_this: try_this.to_owned(),
        source,
    }
}

/// Opens a regular file. Anything else might be waited for, or read, without end.
pub(crate) fn open(path: &Path, shown_as: &str) -> Result<File, IngestError> {
    let kind = match std::fs::metadata(path) {
        Ok(metadata) => metadata.file_type(),
        Err(_) if path.is_symlink() => {
            return Err(no_file(
                shown_as,
                "a link that leads nowhere",
                "mend the link, or take it away",
            ));
        }
        Err(error) => return Err(unreadable(shown_as, error)),
    };
    if !kind.is_file() {
        let try_this = "take it away, or put the file itself in its place";
        return Err(no_file(shown_as, in_words(kind), try_this));
    }
    File::open(path).map_err(|error| unreadable(shown_as, error))
}

fn no_file(shown_as: &str, what: &str, try_this: &str) -> IngestError {
    IngestError::Unreadable {
        place: Place::file(shown_as).into(),
        try_this: try_this.to_owned(),
        source: io::Error::other(format!("this is {what}, no file")),
    }
}

#[cfg(unix)]
fn in_words(kind: FileType) -> &'static str {
    use std::os::unix::fs::FileTypeExt;
    match kind {
        kind if kind.is_dir() => "a folder (links to folders are not followed)",
        kind if kind.is_fifo() => "a pipe",
        kind if kind.is_socket() => "a socket",
        _ => "a device",
    }
}

#[cfg(not(unix))]
fn in_words(kind: FileType) -> &'static str {
    if kind.is_dir() { "a folder (links to folders are not followed)" } else { "a device" }
}

/// The error of a file that has more bytes than are read.
pub(crate) fn too_large(shown_as: &str, most: u64) -> IngestError {
    IngestError::BadContainer {
        place: Place::file(shown_as).into(),
        what: format!("the file has more than {} MiB", most >> 20),
        try_this: "check that it is the file you mean".to_owned(),
    }
}

/// A whole file of at most so many bytes.
pub(crate) fn read(path: &Path, shown_as: &str, most: u64) -> Result<Vec<u8>, IngestError> {
    let mut bytes = Vec::new();
    match Capped::new(open(path, shown_as)?, most).read_to_end(&mut bytes) {
        Ok(_) => Ok(bytes),
        Err(error) if Capped::<File>::is_over(&error) => Err(too_large(shown_as, most)),
        Err(error) => Err(unreadable(shown_as, error)),
    }
}

/// SHA-256, hexadecimal, of a file of at most so many bytes.
pub(crate) fn content_hash(path: &Path, shown_as: &str, most: u64) -> Result<String, IngestError> {
    if std::fs::metadata(path).is_ok_and(|metadata| metadata.len() > most) {
        return Err(too_large(shown_as, most));
    }
    let mut file = open(path, shown_as)?;
    let mut hash = || -> io::Result<String> {
        let mut hasher = Sha256::new();
        let mut block = vec![0; BLOCK];
        loop {
            match file.read(&mut block)? {
                0 => break,
                read => hasher.update(&block[..read]),
            }
        }
        Ok(hasher.finalize().iter().fold(String::with_capacity(64), |mut text, byte| {
            // Writing into memory cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        }))
    };
    hash().map_err(|error| unreadable(shown_as, error))
}
