//! Texts that are too long to be held: they are read from the disk, a piece at a time, as often as they are asked.
//!
//! What is UTF-8 and not compressed is read where it lies; all else is written as such text to a file without
//! a name first, of which nothing is left however the program ends.

use super::decode::{
    CHECKPOINT, Encoding, Text, encoding_of, is_padded, refuse_binary, refuse_other_files,
};
use super::input::{LONGEST_LINE, too_long};
use super::long::{LongFile, LongText, no_room};
use super::record::{HEAD_RECORDS, LONGEST_QUOTED_LINES};
use crate::disk::unreadable;
use crate::error::IngestError;
use columns::Packed;
use encoding_rs::{CoderResult, UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::io::Write;

/// Bytes that are read at once.
const STEP: usize = 1 << 18;
/// What is told of the first bytes of a text is told of as many as this.
const FIRST: usize = 1 << 16;

impl Text<'static> {
    /// As [`Text::decode`], of a file that is not held.
    ///
    /// # Errors
    /// As [`Text::decode`]; [`IngestError::Unreadable`].
    pub(crate) fn read_long(file: &LongFile, shown_as: &str) -> Result<Self, IngestError> {
        let io = |error| unreadable(shown_as, error);
        let mut first = Vec::new();
        file.append(0, FIRST, &mut first).map_err(io)?;
        refuse_other_files(&first, shown_as)?;
        let (mut encoding, mark) = encoding_of(&first);
        let mut long = LongText::new(file.clone(), mark);
        let mut seen = Seen::default();
        if encoding == Encoding::Utf8 && !long.scan(&mut seen, shown_as)? {
            encoding = Encoding::Windows1252;
        }
        let mut places = Places::default();
        if encoding != Encoding::Utf8 {
            let decoded = match encoding {
                Encoding::Windows1252 => places.of_windows_1252(&long, shown_as)?,
                _ => places.of_utf16(&long, encoding, shown_as)?,
            };
            seen = Seen::default();
            let failed = long.failed;
            long = LongText::new(decoded, 0);
            long.failed = failed;
            long.scan(&mut seen, shown_as)?;
        }
        long.check(shown_as)?;
        refuse_binary(&long.head, shown_as)?;
        let padded = is_padded(&long.head);
        Ok(Text::long_of(
            long,
            (encoding, mark),
            (places.widened, places.checkpoints),
            (seen.quotes, padded),
        ))
    }
}

/// What a pass over a text sees.
#[derive(Default)]
struct Seen {
    quotes: bool,
    /// Line ends.
    lines: u64,
    /// Where the line begins that is not over.
    line: usize,
    /// Whether the last byte was a carriage return.
    after_return: bool,
}

impl LongText {
    /// Goes over all of it once, and keeps its head; false where it is not UTF-8.
    ///
    /// # Errors
    /// Of a line that is too long.
    fn scan(&mut self, seen: &mut Seen, shown_as: &str) -> Result<bool, IngestError> {
        let most = (HEAD_RECORDS * LONGEST_QUOTED_LINES as usize) as u64;
        let mut head = Vec::new();
        let (mut part, mut from) = (Vec::new(), 0);
        loop {
            let more = self.append(from + part.len(), STEP, &mut part);
            let valid = match std::str::from_utf8(&part) {
                Ok(_) => part.len(),
                Err(error) if error.error_len().is_none() && more => error.valid_up_to(),
                Err(_) => return Ok(false),
            };
            if head.len() < FIRST || seen.lines <= most {
                head.extend_from_slice(&part[..valid]);
            }
            if let Some(line) = seen.add(&part[..valid], from) {
                let mut text = Vec::new();
                self.append(line, 400, &mut text);
                return Err(too_long(shown_as, seen.lines + 1, &text));
            }
            part.drain(..valid);
            from += valid;
            if !more {
                break;
            }
        }
        self.head = head;
        if self.len() - seen.line <= LONGEST_LINE {
            return Ok(true);
        }
        let mut text = Vec::new();
        self.append(seen.line, 400, &mut text);
        Err(too_long(shown_as, seen.lines + 1, &text))
    }
}

impl Seen {
    /// Takes note of a part that begins at a place; the place of a line that is too long, where there is one.
    fn add(&mut self, part: &[u8], from: usize) -> Option<usize> {
        self.quotes = self.quotes || memchr::memchr(b'"', part).is_some();
        for at in memchr::memchr2_iter(b'\n', b'\r', part) {
            let is_second = part[at] == b'\n'
                && if at == 0 { self.after_return } else { part[at - 1] == b'\r' };
            if !is_second {
                if from + at - self.line > LONGEST_LINE {
                    return Some(self.line);
                }
                self.lines += 1;
            }
            self.line = from + at + 1;
        }
        self.after_return = part.last() == Some(&b'\r');
        (from + part.len() - self.line > LONGEST_LINE).then_some(self.line)
    }
}

/// A text as UTF-8, and what tells the places of its bytes in the file.
#[derive(Default)]
struct Places {
    /// As in [`Text`].
    widened: Packed<usize>,
    checkpoints: Vec<(usize, usize)>,
}

impl Places {
    fn of_windows_1252(
        &mut self,
        long: &LongText,
        shown_as: &str,
    ) -> Result<LongFile, IngestError> {
        let mut file = LongFile::without_name(shown_as)?;
        let (mut part, mut from, mut written) = (Vec::new(), 0, 0);
        loop {
            let more = long.append(from + part.len(), STEP, &mut part);
            let mut out = Vec::with_capacity(part.len() + 64);
            let mut rest = &part[..];
            loop {
                let broken = match std::str::from_utf8(rest) {
                    Ok(_) => None,
                    Err(error) => Some((error.valid_up_to(), error.error_len())),
                };
                let Some((valid, error)) = broken else {
                    out.extend_from_slice(rest);
                    rest = &[];
                    break;
                };
                out.extend_from_slice(&rest[..valid]);
                rest = &rest[valid..];
                // It may go on in the next part.
                if error.is_none() && more {
                    break;
                }
                let (character, _) = WINDOWS_1252.decode_without_bom_handling(&rest[..1]);
                out.extend_from_slice(character.as_bytes());
                let end = written + out.len();
                self.widened.extend(end + 1 - character.len()..end);
                rest = &rest[1..];
            }
            file.write_all(&out).map_err(|error| no_room(shown_as, error))?;
            written += out.len();
            let used = part.len() - rest.len();
            part.drain(..used);
            from += used;
            if !more {
                return Ok(LongFile::own(file, written as u64));
            }
        }
    }

    fn of_utf16(
        &mut self,
        long: &LongText,
        encoding: Encoding,
        shown_as: &str,
    ) -> Result<LongFile, IngestError> {
        let utf16 = if encoding == Encoding::Utf16Le { UTF_16LE } else { UTF_16BE };
        let mut decoder = utf16.new_decoder_without_bom_handling();
        let mut file = LongFile::without_name(shown_as)?;
        let (mut from, mut written, mut units, mut last) = (0, 0, 0, 0);
        let mut out = String::with_capacity(2 * STEP);
        loop {
            let mut part = Vec::new();
            let more = long.append(from, STEP, &mut part);
            from += part.len();
            let mut rest = &part[..];
            loop {
                out.clear();
                let (result, read, _) = decoder.decode_to_string(rest, &mut out, !more);
                rest = &rest[read..];
                for (at, character) in out.char_indices() {
                    if written + at - last >= CHECKPOINT {
                        self.checkpoints.push((written + at, units));
                        last = written + at;
                    }
                    units += character.len_utf16();
                }
                file.write_all(out.as_bytes()).map_err(|error| no_room(shown_as, error))?;
                written += out.len();
                if result == CoderResult::InputEmpty {
                    break;
                }
            }
            if !more {
                return Ok(LongFile::own(file, written as u64));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Splitter;
    use super::*;
    use proptest::prelude::*;
    use std::fs::File;
    use std::ops::ControlFlow;

    fn long(bytes: &[u8]) -> LongFile {
        let mut file = tempfile::tempfile().unwrap();
        file.write_all(bytes).unwrap();
        LongFile::own(file, bytes.len() as u64)
    }

    /// Every record with its place in the file, as it is visited, and as it is read again.
    fn records(text: &Text<'_>) -> Vec<(u32, u32, u64, Vec<String>)> {
        let mut splitter = Splitter::new(b',');
        let mut found = Vec::new();
        let broke_off = text.visit(b',', |index, record| {
            assert_eq!(index, found.len());
            let again = text.record_at(record.at(), b',').unwrap();
            assert_eq!((again.record().raw, again.record().line), (record.raw, record.line));
            assert_eq!((again.record().ended, again.record().lines), (record.ended, record.lines));
            let place = text.file_offset(record.start);
            found.push((record.line, record.lines, place, splitter.split(record).texts()));
            ControlFlow::<()>::Continue(())
        });
        assert!(broke_off.is_none());
        found
    }

    fn same(bytes: &[u8]) {
        let (held, long) =
            match (Text::decode(bytes, "t.csv"), Text::read_long(&long(bytes), "t.csv")) {
                (Ok(held), Ok(long)) => (held, long),
                (held, long) => {
                    let said =
                        |text: Result<Text<'_>, IngestError>| text.err().map(|e| e.to_string());
                    return assert_eq!(said(long), said(held));
                }
            };
        assert_eq!(long.len(), held.len());
        assert_eq!(long.encoding(), held.encoding());
        assert_eq!(long.one_byte_characters(), held.one_byte_characters());
        assert_eq!(long.has_quotes(), held.has_quotes());
        assert_eq!(records(&long), records(&held));
        long.check("t.csv").unwrap();
    }

    fn utf16(text: &str) -> Vec<u8> {
        [&b"\xFF\xFE"[..], &text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>()]
            .concat()
    }

    #[test]
    fn a_text_on_the_disk_is_read_as_one_in_memory() {
        let line = |at: usize| format!("{at},\"é, {}\",€\r\n", at % 7);
        let text: String = (0..40_000).map(line).collect();
        assert!(text.len() > 2 * STEP);
        same(text.as_bytes());
        same(&[b"\xEF\xBB\xBF", text.as_bytes()].concat());
        same(&text.bytes().filter(|byte| *byte != b'\n').collect::<Vec<u8>>());
        // One byte that is no UTF-8, at the end and in the midst.
        same(&[text.as_bytes(), b"a,\xB0F"].concat());
        same(&[&text.as_bytes()[..STEP - 1], b"\xB0", &text.as_bytes()[STEP..]].concat());
        same(&utf16(&text));
        // A quote that is never closed, before very many lines.
        same(&[b"a,\"b\n", text.as_bytes()].concat());
    }

    #[test]
    fn a_quoted_cell_goes_over_the_end_of_a_part() {
        let mut text = "1,2\n".repeat(STEP / 4 - 2);
        text += "1,\"";
        text += &"x\n".repeat(20);
        text += "y\",3\n4,5";
        same(text.as_bytes());
    }

    #[test]
    fn lines_that_are_too_long_are_named() {
        for ended in ["", "\n1,2\n"] {
            let text = format!("a,b\r\n1,2\r3,4\n{}{ended}", "7".repeat(LONGEST_LINE + 1));
            let held = Text::decode(text.as_bytes(), "t.csv").err().unwrap().to_string();
            let long = Text::read_long(&long(text.as_bytes()), "t.csv").err().unwrap().to_string();
            assert_eq!(long, held);
            assert!(held.contains("t.csv:4"), "{held}");
        }
    }

    #[test]
    fn a_file_that_is_changed_meanwhile_is_refused() {
        let mut named = tempfile::NamedTempFile::new().unwrap();
        named.write_all(b"a,b\n1,2\n").unwrap();
        let file = LongFile::on_disk(File::open(named.path()).unwrap()).unwrap();
        let text = Text::read_long(&file, "t.csv").unwrap();
        named.write_all(b"3,4\n").unwrap();
        let error = text.check("t.csv").unwrap_err().to_string();
        assert!(error.contains("changed while it was read"), "{error}");
        named.as_file().set_len(3).unwrap();
        assert_eq!(records(&text), []);
        assert!(text.check("t.csv").is_err());
    }

    proptest! {
        #[test]
        fn any_text_is_read_as_one_in_memory(bytes in "[a-c,\"\\\\\r\n\0é]{0,60}", cut in 0..9_usize) {
            let mut bytes = format!("Time,Pit\n{bytes}").into_bytes();
            same(&bytes);
            bytes.truncate(bytes.len().saturating_sub(cut));
            same(&bytes);
        }
    }
}
