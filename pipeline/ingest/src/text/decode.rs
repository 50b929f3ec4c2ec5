//! Bytes of a file to text in UTF-8.

use super::input;
use super::long::LongText;
use crate::error::{IngestError, Place};
use columns::Packed;
use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::borrow::Cow;

/// How a file's bytes are to be read as text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Encoding {
    /// UTF-8, with or without a byte order mark.
    Utf8,
    /// UTF-16, little end first.
    Utf16Le,
    /// UTF-16, big end first.
    Utf16Be,
    /// UTF-8, and Windows-1252 (of which ISO 8859-1 is a part) where it is no UTF-8.
    Windows1252,
}

/// Units of UTF-16 before an offset of the text are counted from the last of these.
pub(super) const CHECKPOINT: usize = 1 << 16;

/// Where a text is.
enum Body<'a> {
    Held(Cow<'a, [u8]>),
    Long(LongText),
}

/// A file's text in UTF-8, without byte order mark.
pub(crate) struct Text<'a> {
    body: Body<'a>,
    encoding: Encoding,
    /// Length of the byte order mark.
    mark: usize,
    /// Windows-1252: offsets of bytes that the file does not have, in order.
    widened: Packed<usize>,
    /// UTF-16: offset in the text and units before it.
    checkpoints: Vec<(usize, usize)>,
    quotes: bool,
    padded: bool,
}

impl<'a> Text<'a> {
    /// Decodes UTF-8 with or without a byte order mark, UTF-16 with one or told by its
    /// zero bytes, and Windows-1252 wherever a byte is no UTF-8.
    ///
    /// # Errors
    /// [`IngestError::NotText`] for workbooks, PDFs, other binaries and endless lines.
    pub(crate) fn decode(bytes: &'a [u8], shown_as: &str) -> Result<Self, IngestError> {
        refuse_other_files(bytes, shown_as)?;
        let (encoding, mark) = encoding_of(bytes);
        let body = &bytes[mark..];
        let mut text = Text {
            body: Body::Held(Cow::Borrowed(body)),
            encoding,
            mark,
            widened: Packed::new(),
            checkpoints: Vec::new(),
            quotes: false,
            padded: false,
        };
        match encoding {
            Encoding::Utf16Le | Encoding::Utf16Be => text.decode_utf16(body),
            Encoding::Utf8 | Encoding::Windows1252 => text.decode_utf8(body),
        }
        let all = text.head();
        refuse_binary(all, shown_as)?;
        if let Some(start) = input::long_line(all) {
            let line = input::count_lines(&all[..start]) + 1;
            return Err(input::too_long(shown_as, line, &all[start..]));
        }
        (text.quotes, text.padded) = (memchr::memchr(b'"', all).is_some(), is_padded(all));
        Ok(text)
    }

    /// A text that is not held; with encoding and length of the mark, with widened bytes and checkpoints, and
    /// with whether there are quotes and whether it is padded.
    pub(super) fn long_of(
        long: LongText,
        (encoding, mark): (Encoding, usize),
        (widened, checkpoints): (Packed<usize>, Vec<(usize, usize)>),
        (quotes, padded): (bool, bool),
    ) -> Self {
        Text { body: Body::Long(long), encoding, mark, widened, checkpoints, quotes, padded }
    }

    fn decode_utf8(&mut self, body: &'a [u8]) {
        let Err(error) = std::str::from_utf8(body) else { return };
        self.encoding = Encoding::Windows1252;
        let mut out = Vec::with_capacity(body.len() + 64);
        let mut rest = body;
        let mut valid = error.valid_up_to();
        loop {
            out.extend_from_slice(&rest[..valid]);
            rest = &rest[valid..];
            let Some(first) = rest.get(..1) else { break };
            let (character, _) = WINDOWS_1252.decode_without_bom_handling(first);
            out.extend_from_slice(character.as_bytes());
            self.widened.extend(out.len() + 1 - character.len()..out.len());
            rest = &rest[1..];
            valid = match std::str::from_utf8(rest) {
                Ok(_) => rest.len(),
                Err(error) => error.valid_up_to(),
            };
        }
        self.body = Body::Held(Cow::Owned(out));
    }

    fn decode_utf16(&mut self, body: &'a [u8]) {
        let decoder = if self.encoding == Encoding::Utf16Le { UTF_16LE } else { UTF_16BE };
        let (text, _) = decoder.decode_without_bom_handling(body);
        let mut units = 0;
        let mut last = 0;
        for (at, character) in text.char_indices() {
            if at - last >= CHECKPOINT {
                self.checkpoints.push((at, units));
                last = at;
            }
            units += character.len_utf16();
        }
        self.body = Body::Held(Cow::Owned(text.into_owned().into_bytes()));
    }

    /// All of a short text; of a long one the first lines, as many as [`HEAD_RECORDS`] need.
    pub(super) fn head(&self) -> &[u8] {
        match &self.body {
            Body::Held(bytes) => bytes,
            Body::Long(long) => long.head(),
        }
    }

    /// Its length, bytes.
    pub(crate) fn len(&self) -> usize {
        match &self.body {
            Body::Held(bytes) => bytes.len(),
            Body::Long(long) => long.len(),
        }
    }

    /// A text that is not held.
    pub(super) fn long(&self) -> Option<&LongText> {
        match &self.body {
            Body::Held(_) => None,
            Body::Long(long) => Some(long),
        }
    }

    /// Whether all that was asked of a long text could be read.
    ///
    /// # Errors
    /// [`IngestError::Unreadable`].
    pub(crate) fn check(&self, shown_as: &str) -> Result<(), IngestError> {
        self.long().map_or(Ok(()), |long| long.check(shown_as))
    }

    /// How the bytes were read.
    pub(crate) fn encoding(&self) -> Encoding {
        self.encoding
    }

    /// Whether a byte order mark came first.
    pub(crate) fn has_mark(&self) -> bool {
        self.mark > 0
    }

    /// Bytes that were read as Windows-1252.
    pub(crate) fn one_byte_characters(&self) -> usize {
        self.widened.len()
    }

    /// Whether there is a quote anywhere.
    pub(crate) fn has_quotes(&self) -> bool {
        self.quotes
    }

    /// Whether lines are filled up with zero bytes as a rule.
    pub(crate) fn is_padded(&self) -> bool {
        self.padded
    }

    /// The offset in the file of an offset in the text.
    pub(crate) fn file_offset(&self, at: usize) -> u64 {
        let offset = match self.encoding {
            Encoding::Utf8 | Encoding::Windows1252 => {
                at - self.widened.partition_point(|extra| extra < at)
            }
            Encoding::Utf16Le | Encoding::Utf16Be => {
                let next = self.checkpoints.partition_point(|&(text, _)| text <= at);
                let (from, units) =
                    next.checked_sub(1).map_or((0, 0), |last| self.checkpoints[last]);
                let between = match &self.body {
                    Body::Held(bytes) => Cow::Borrowed(&bytes[from..at]),
                    Body::Long(long) => {
                        let mut bytes = Vec::new();
                        long.append(from, at - from, &mut bytes);
                        Cow::Owned(bytes)
                    }
                };
                let between = std::str::from_utf8(&between).unwrap_or_default();
                2 * (units + between.chars().map(char::len_utf16).sum::<usize>())
            }
        };
        (offset + self.mark) as u64
    }
}

/// The encoding and the length of the byte order mark. Without a mark, text of mostly
/// ASCII letters in UTF-16 has a zero in every other byte and hardly any elsewhere.
pub(super) fn encoding_of(bytes: &[u8]) -> (Encoding, usize) {
    if bytes.starts_with(b"\xEF\xBB\xBF") {
        return (Encoding::Utf8, 3);
    }
    if bytes.starts_with(b"\xFF\xFE") {
        return (Encoding::Utf16Le, 2);
    }
    if bytes.starts_with(b"\xFE\xFF") {
        return (Encoding::Utf16Be, 2);
    }
    let head = &bytes[..bytes.len().min(4096)];
    let zeros = |from: usize| head.iter().skip(from).step_by(2).filter(|b| **b == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    let half = head.len() / 2;
    if half >= 2 && odd * 10 >= half * 7 && even * 10 <= half {
        (Encoding::Utf16Le, 0)
    } else if half >= 2 && even * 10 >= half * 7 && odd * 10 <= half {
        (Encoding::Utf16Be, 0)
    } else {
        (Encoding::Utf8, 0)
    }
}

fn not_text(shown_as: &str, what: &str, try_this: &str) -> IngestError {
    IngestError::NotText {
        place: Place::file(shown_as).into(),
        what: what.to_owned(),
        try_this: try_this.to_owned(),
    }
}

pub(super) fn refuse_other_files(bytes: &[u8], shown_as: &str) -> Result<(), IngestError> {
    const CSV: &str = "open it in a spreadsheet program and export the sheet as CSV (UTF-8)";
    let refuse = |what: &str, try_this: &str| Err(not_text(shown_as, what, try_this));
    if bytes.starts_with(b"PK\x03\x04") {
        return refuse("this is a workbook (XLSX or ODS) or another archive, not CSV text", CSV);
    }
    if bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        return refuse("this is an old binary workbook, not CSV text", CSV);
    }
    if bytes.starts_with(b"%PDF") {
        return refuse("this is a PDF, not CSV text", "export the readings as CSV");
    }
    Ok(())
}

/// Text has next to no control characters, and zero bytes only as padding behind it.
pub(super) fn refuse_binary(text: &[u8], shown_as: &str) -> Result<(), IngestError> {
    let head = &text[..text.len().min(4096)];
    let used = head.iter().rposition(|&b| b != 0).map_or(0, |last| last + 1);
    let control = head[..used]
        .iter()
        .filter(|&&b| b < 0x20 && !matches!(b, b'\t' | b'\n' | b'\r' | 0x0C | 0x1A))
        .count();
    if used == 0 && !head.is_empty() {
        return Err(not_text(
            shown_as,
            "the file begins with zero bytes only: it was never written",
            "copy or export the log again",
        ));
    }
    // Lines filled up with zero bytes are text: they end all the same.
    if control * 5 > used && !is_padded(head) {
        return Err(not_text(
            shown_as,
            "a fifth or more of the file's head are control characters: no text",
            "export the log as CSV",
        ));
    }
    Ok(())
}

/// Whether at least half of the head's lines end in zero bytes.
pub(super) fn is_padded(text: &[u8]) -> bool {
    let head = &text[..text.len().min(1 << 16)];
    if memchr::memchr(0, head).is_none() {
        return false;
    }
    let (mut lines, mut padded) = (0, 0);
    for at in memchr::memchr2_iter(b'\n', b'\r', head) {
        if at > 0 && !matches!(head[at - 1], b'\n' | b'\r') {
            lines += 1;
            padded += usize::from(head[at - 1] == 0);
        }
    }
    lines >= 2 && padded * 2 > lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn utf16(text: &str, big: bool) -> Vec<u8> {
        text.encode_utf16()
            .flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() })
            .collect()
    }

    #[test]
    fn one_byte_characters_are_read_and_offsets_stay_those_of_the_file() {
        let bytes = b"t,Pit \xB0F\n1,2\n";
        let text = Text::decode(bytes, "t.csv").unwrap();
        let starts: Vec<u64> =
            text.records(b',').map(|record| text.file_offset(record.start)).collect();
        assert_eq!(starts, [0, 9]);
        let text = Text::decode(b"caf\xE9 \x80\nx\n", "t.csv").unwrap();
        assert_eq!(text.head(), "café €\nx\n".as_bytes());
        assert_eq!(text.file_offset("café €\n".len()), 7);
        assert_eq!(text.encoding(), Encoding::Windows1252);
    }

    #[test]
    fn utf16_is_told_by_its_mark_or_its_zero_bytes() {
        let written = "Time,Pit °F\n2026-05-02 06:00,225\n";
        for big in [false, true] {
            let bare = utf16(written, big);
            let text = Text::decode(&bare, "t.csv").unwrap();
            assert_eq!(text.head(), written.as_bytes());
            assert!(!text.has_mark());
            let marked = utf16(&format!("\u{feff}{written}"), big);
            let text = Text::decode(&marked, "t.csv").unwrap();
            assert_eq!(text.head(), written.as_bytes());
            assert_eq!(text.file_offset("Time,Pit °F\n".len()), 2 + 24);
        }
    }

    #[test]
    fn what_is_no_text_is_refused() {
        for bytes in [&b"PK\x03\x04rest"[..], b"%PDF-1.7", b"\0\0\0\0", b"\x01\x02\x03\x04abc"] {
            assert!(Text::decode(bytes, "t.csv").is_err(), "{bytes:?}");
        }
    }

    proptest! {
        #[test]
        fn offsets_are_those_of_the_file(
            text in "[a-z°é€😀\n]{0,40}", at in any::<prop::sample::Index>(), big in any::<bool>(),
        ) {
            let text = format!("Time,Pit\n{text}");
            let bytes = utf16(&format!("\u{feff}{text}"), big);
            let decoded = Text::decode(&bytes, "t").unwrap();
            let (offset, _) = text.char_indices().nth(at.index(text.chars().count())).unwrap();
            let expected = 2 + utf16(&text[..offset], big).len() as u64;
            prop_assert_eq!(decoded.file_offset(offset), expected);
        }
    }
}
