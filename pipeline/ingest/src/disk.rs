//! Files on disk: reading them whole, and hashing them a block at a time.

use crate::container::capped::Capped;
use crate::error::{IngestError, Place};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs::File;
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
    let read = File::open(path).and_then(|file| Capped::new(file, most).read_to_end(&mut bytes));
    match read {
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
    let hash = || -> io::Result<String> {
        let mut file = File::open(path)?;
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
