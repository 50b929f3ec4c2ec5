//! The bundled seasons, packed into the command by `build.rs`.

use flate2::read::GzDecoder;
use std::io::{self, Read};

const ARCHIVE: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/sample.gz"));
#[allow(clippy::unreadable_literal, reason = "nobody reads what the build script writes")]
const INDEX: &[(&str, usize)] = include!(concat!(env!("OUT_DIR"), "/sample.rs"));

/// Every file of `sample-data/`: path and bytes, sorted by path.
pub(crate) fn files() -> io::Result<Vec<(&'static str, Vec<u8>)>> {
    let mut archive = GzDecoder::new(ARCHIVE);
    INDEX
        .iter()
        .map(|&(name, length)| {
            let mut bytes = vec![0; length];
            archive.read_exact(&mut bytes)?;
            Ok((name, bytes))
        })
        .collect()
}
