//! Files and texts that are not held in memory.

use crate::disk::unreadable;
use crate::error::{IngestError, Place};
use std::cell::RefCell;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::sync::Arc;
use std::time::SystemTime;

/// A file that is not held in memory.
#[derive(Debug, Clone)]
pub(crate) struct LongFile {
    file: Arc<File>,
    bytes: u64,
    /// When the file of somebody else was changed last.
    modified: Option<SystemTime>,
}

impl LongFile {
    /// A file of somebody else, who must not change it while it is read.
    pub(crate) fn on_disk(file: File) -> io::Result<Self> {
        let metadata = file.metadata()?;
        let modified = metadata.modified().ok();
        Ok(Self { file: Arc::new(file), bytes: metadata.len(), modified })
    }

    /// A file of our own.
    pub(crate) fn own(file: File, bytes: u64) -> Self {
        Self { file: Arc::new(file), bytes, modified: None }
    }

    /// A file without a name for what is too long to be held.
    pub(crate) fn without_name(shown_as: &str) -> Result<File, IngestError> {
        tempfile::tempfile().map_err(|error| no_room(shown_as, error))
    }

    /// Reads up to so many bytes from a place on, behind those that are there.
    pub(crate) fn append(&self, at: u64, bytes: usize, to: &mut Vec<u8>) -> io::Result<usize> {
        let mut file = &*self.file;
        file.seek(SeekFrom::Start(at))?;
        file.take((bytes as u64).min(self.bytes.saturating_sub(at))).read_to_end(to)
    }

    /// All of it.
    pub(crate) fn read(&self) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        self.append(0, self.bytes as usize, &mut bytes)?;
        Ok(bytes)
    }

    /// A reader from its beginning on.
    pub(crate) fn reader(&self) -> io::Result<impl Read + '_> {
        let mut file = &*self.file;
        file.rewind()?;
        Ok(file.take(self.bytes))
    }

    /// Its length.
    pub(crate) fn len(&self) -> u64 {
        self.bytes
    }

    /// Whether it is still what it was.
    fn is_as_it_was(&self) -> bool {
        self.modified.is_none()
            || self
                .file
                .metadata()
                .is_ok_and(|now| now.len() == self.bytes && now.modified().ok() == self.modified)
    }
}

/// The error of a disk without room for a text.
pub(crate) fn no_room(shown_as: &str, source: io::Error) -> IngestError {
    IngestError::Unreadable {
        place: Place::file(shown_as).into(),
        try_this: "it is too long to be held in memory: make room in the folder for temporary files, or name another in `TMPDIR`"
            .to_owned(),
        source,
    }
}

/// A text in a file.
#[derive(Debug)]
pub(super) struct LongText {
    file: LongFile,
    /// Bytes of the file before the text.
    before: usize,
    length: usize,
    /// Its first lines.
    pub(super) head: Vec<u8>,
    /// What reading it came to, where it failed.
    pub(super) failed: RefCell<Option<io::Error>>,
}

impl LongText {
    pub(super) fn new(file: LongFile, before: usize) -> Self {
        let length = file.bytes as usize - before;
        Self { file, before, length, head: Vec::new(), failed: RefCell::new(None) }
    }

    pub(super) fn len(&self) -> usize {
        self.length
    }

    pub(super) fn head(&self) -> &[u8] {
        &self.head
    }

    /// Reads up to so many bytes from a place on, behind those that are there; false where there is nothing more,
    /// or it failed.
    pub(super) fn append(&self, at: usize, bytes: usize, to: &mut Vec<u8>) -> bool {
        let read = self.file.append((self.before + at) as u64, bytes, to);
        let read = read.and_then(|read| match read {
            0 if bytes > 0 && at < self.length => Err(io::ErrorKind::UnexpectedEof.into()),
            read => Ok(read),
        });
        match read {
            Ok(read) => read > 0,
            Err(error) => {
                self.failed.borrow_mut().get_or_insert(error);
                false
            }
        }
    }

    /// Whether all was read, of a file that stayed as it was.
    ///
    /// # Errors
    /// [`IngestError::Unreadable`].
    pub(super) fn check(&self, shown_as: &str) -> Result<(), IngestError> {
        if let Some(error) = self.failed.borrow_mut().take() {
            return Err(unreadable(shown_as, error));
        }
        if self.file.is_as_it_was() {
            return Ok(());
        }
        Err(IngestError::Unreadable {
            place: Place::file(shown_as).into(),
            try_this: "run again once nothing writes to it".to_owned(),
            source: io::Error::other("the file was changed while it was read"),
        })
    }
}
