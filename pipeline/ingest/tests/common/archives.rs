//! ZIP archives in memory.

use std::io::{Cursor, Write as _};
use zip::write::SimpleFileOptions;

/// An archive of named parts.
pub(crate) fn archive(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in parts {
        archive.start_file(*name, SimpleFileOptions::default()).unwrap();
        archive.write_all(bytes).unwrap();
    }
    archive.finish().unwrap().into_inner()
}
