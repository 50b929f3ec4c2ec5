//! Bytes of a file, within stated limits.

use super::long::{LongFile, no_room};
use crate::error::{IngestError, Place};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs::File;
use std::io::{Read, Write as _};

/// The longest line that is read, bytes: a line of a thousand channels has about 10 kB.
pub(crate) const LONGEST_LINE: usize = 256 << 10;

/// Files up to this many bytes are held in memory; a day of readings a second has less.
pub(crate) const LONG: usize = 16 << 20;

/// A file's bytes.
#[derive(Debug)]
pub(crate) enum Bytes {
    Held(Vec<u8>),
    Long(LongFile),
}

/// Reads a stream to its end. A line that is longer than allowed ends it at once, so that not
/// much more than such a line is ever held; how long the stream may be is its own affair.
/// `expected` is a guess of its length.
pub(crate) fn read_lines(
    mut stream: impl Read,
    expected: usize,
    shown_as: &str,
) -> std::io::Result<Result<Bytes, IngestError>> {
    const STEP: usize = 1 << 20;
    let mut bytes = Vec::with_capacity(expected.min(LONG) + 1);
    let mut line = 0;
    // What was set aside on the disk, with its lines.
    let mut aside: Option<(File, u64, u64)> = None;
    loop {
        let from = bytes.len();
        if (&mut stream).take(STEP as u64).read_to_end(&mut bytes)? == 0 {
            let Some((mut file, length, _)) = aside else { return Ok(Ok(Bytes::Held(bytes))) };
            return Ok(match file.write_all(&bytes) {
                Ok(()) => Ok(Bytes::Long(LongFile::own(file, length + bytes.len() as u64))),
                Err(error) => Err(no_room(shown_as, error)),
            });
        }
        let last = memchr::memrchr2(b'\n', b'\r', &bytes[from..]).map(|last| from + last);
        // The last line of a step is judged with the next, unless it is too long already.
        let judged = if bytes.len() - last.unwrap_or(line) > LONGEST_LINE {
            bytes.len()
        } else {
            last.unwrap_or(line)
        };
        if let Some(start) = long_line(&bytes[line..judged]) {
            let start = line + start;
            let set_aside = aside.as_ref().map_or(0, |(_, _, lines)| *lines);
            let before = set_aside + count_lines(&bytes[..start]);
            return Ok(Err(too_long(shown_as, before + 1, &bytes[start..])));
        }
        line = last.map_or(line, |last| last + 1);
        if bytes.len() <= LONG {
            continue;
        }
        let (file, length, lines) = match &mut aside {
            Some(aside) => aside,
            none => match LongFile::without_name(shown_as) {
                Ok(file) => none.insert((file, 0, 0)),
                Err(error) => return Ok(Err(error)),
            },
        };
        // A line end of two bytes stays whole.
        let settled = line.saturating_sub(1);
        *lines += count_lines(&bytes[..settled]);
        *length += settled as u64;
        if let Err(error) = file.write_all(&bytes[..settled]) {
            return Ok(Err(no_room(shown_as, error)));
        }
        bytes.drain(..settled);
        line -= settled;
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

pub(super) fn count_lines(bytes: &[u8]) -> u64 {
    let mut count = 0;
    for at in memchr::memchr2_iter(b'\n', b'\r', bytes) {
        if bytes[at] == b'\n' || bytes.get(at + 1) != Some(&b'\n') {
            count += 1;
        }
    }
    count
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
        let error = read_lines(Endless(b"1", &mut taken), 0, "a").unwrap().unwrap_err();
        assert!(error.to_string().contains("a:1: the line is longer than 256 kB"), "{error}");
        assert!(taken <= 4 << 20, "{taken}");
    }

    #[test]
    fn a_long_line_among_others_is_named() {
        let mut text = b"a,b\n1,2\n".to_vec();
        text.resize(text.len() + LONGEST_LINE + 5, b'x');
        text.extend_from_slice(b"\n3,4\n");
        let error = read_lines(&text[..], 0, "a").unwrap().unwrap_err();
        assert!(error.to_string().contains("a:3: the line is longer"), "{error}");
        assert_eq!(long_line(&text), Some(8));
        assert_eq!(long_line(&b"1,2,3\n".repeat(100_000)), None);
    }
}
