//! Bytes of a file, within stated limits.

use crate::error::{IngestError, Place};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::io::Read;
use std::path::Path;

/// The largest log or sheet that is read, bytes: a week of readings a second from ten
/// probes is about 40 MB.
pub(crate) const LARGEST_FILE: usize = 256 << 20;
/// The longest line that is read, bytes: a line of a thousand channels has about 10 kB.
pub(crate) const LONGEST_LINE: usize = 256 << 10;

/// Reads a file, refusing it as soon as it is larger or has a longer line than allowed.
pub(crate) fn read_bytes(path: &Path, shown_as: &str) -> Result<Vec<u8>, IngestError> {
    let file = std::fs::File::open(path).map_err(|source| unreadable(shown_as, source))?;
    let size = file.metadata().map_or(0, |m| m.len());
    if size > LARGEST_FILE as u64 {
        return Err(too_large(shown_as));
    }
    read_limited(file, size as usize, shown_as)
}

/// Reads to the end of a stream, refusing it as soon as it is larger or has a longer line
/// than allowed, so that no more than that is ever held. `expected` is a guess of its
/// length.
pub(crate) fn read_limited(
    mut stream: impl Read,
    expected: usize,
    shown_as: &str,
) -> Result<Vec<u8>, IngestError> {
    const STEP: usize = 1 << 20;
    let mut bytes = Vec::with_capacity(expected.min(LARGEST_FILE) + 1);
    let mut line = 0;
    let mut lines = 1;
    loop {
        let from = bytes.len();
        let read = (&mut stream)
            .take(STEP as u64)
            .read_to_end(&mut bytes)
            .map_err(|source| unreadable(shown_as, source))?;
        if read == 0 {
            return Ok(bytes);
        }
        if bytes.len() > LARGEST_FILE {
            return Err(too_large(shown_as));
        }
        // A line that is too long is longer than a step's share without a line end.
        match memchr::memrchr2(b'\n', b'\r', &bytes[from..]) {
            Some(last) => {
                if let Some(start) = long_line(&bytes[line..from + last]) {
                    let before = memchr::memchr_iter(b'\n', &bytes[..line + start]).count();
                    return Err(too_long(shown_as, before as u64 + 1, &bytes[line + start..]));
                }
                lines += memchr::memchr_iter(b'\n', &bytes[from..=from + last]).count();
                line = from + last + 1;
            }
            None if bytes.len() - line > LONGEST_LINE => {
                return Err(too_long(shown_as, lines as u64, &bytes[line..]));
            }
            None => {}
        }
    }
}

/// Where a line begins that is longer than allowed. Looks at few bytes: behind each line
/// start the last line end within the allowed length is searched from behind.
pub(crate) fn long_line(bytes: &[u8]) -> Option<usize> {
    let mut start = 0;
    while bytes.len() - start > LONGEST_LINE {
        match memchr::memrchr2(b'\n', b'\r', &bytes[start..=start + LONGEST_LINE]) {
            Some(end) => start += end + 1,
            None => return Some(start),
        }
    }
    None
}

fn unreadable(shown_as: &str, source: std::io::Error) -> IngestError {
    IngestError::Unreadable {
        place: Place::file(shown_as).into(),
        try_this: match source.kind() {
            std::io::ErrorKind::NotFound => "check the name and the folder".to_owned(),
            std::io::ErrorKind::PermissionDenied => "give yourself leave to read it".to_owned(),
            std::io::ErrorKind::IsADirectory => "name a file in this folder".to_owned(),
            _ => "copy the file to this disk and read the copy".to_owned(),
        },
        source,
    }
}

fn too_large(shown_as: &str) -> IngestError {
    IngestError::NotText {
        place: Place::file(shown_as).into(),
        what: format!("the file is larger than {} MB: no log", LARGEST_FILE >> 20),
        try_this: "split it, or export the log with fewer readings a minute".to_owned(),
    }
}

pub(crate) fn too_long(shown_as: &str, line: u64, text: &[u8]) -> IngestError {
    IngestError::NotText {
        place: Place::line(shown_as, line, &text[..text.len().min(400)]).into(),
        what: format!("the line is longer than {} kB: no log", LONGEST_LINE >> 10),
        try_this: "export the log again; this file has lost its line ends or is no text".to_owned(),
    }
}

/// SHA-256 of bytes, hexadecimal.
pub(crate) fn content_hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stream that counts what is taken from it.
    struct Endless<'a>(&'a [u8], &'a mut usize);

    impl Read for Endless<'_> {
        fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
            for (i, byte) in buffer.iter_mut().enumerate() {
                *byte = self.0[(*self.1 + i) % self.0.len()];
            }
            *self.1 += buffer.len();
            Ok(buffer.len())
        }
    }

    #[test]
    fn a_line_without_end_is_refused_early() {
        let mut taken = 0;
        let error = read_limited(Endless(b"1", &mut taken), 0, "a").unwrap_err();
        assert!(error.to_string().contains("a:1: the line is longer than 256 kB"), "{error}");
        assert!(taken <= 4 << 20, "{taken}");
    }

    #[test]
    fn a_file_without_end_is_refused_at_the_limit() {
        let mut taken = 0;
        let error = read_limited(Endless(b"1,2,3,4,5,6,7\n", &mut taken), 0, "a").unwrap_err();
        assert!(error.to_string().contains("larger than 256 MB"), "{error}");
        assert!(taken <= LARGEST_FILE + (4 << 20), "{taken}");
    }

    #[test]
    fn a_long_line_among_others_is_named() {
        let mut text = b"a,b\n1,2\n".to_vec();
        text.resize(text.len() + LONGEST_LINE + 5, b'x');
        text.extend_from_slice(b"\n3,4\n");
        let error = read_limited(&text[..], 0, "a").unwrap_err();
        assert!(error.to_string().contains("a:3: the line is longer"), "{error}");
        assert_eq!(long_line(&text), Some(8));
        assert_eq!(long_line(&b"1,2,3\n".repeat(100_000)), None);
    }
}
