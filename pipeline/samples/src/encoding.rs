//! Text as bytes, in the encodings that loggers export.

/// An encoding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8.
    Utf8,
    /// UTF-8 with a byte order mark.
    Utf8Marked,
    /// UTF-16, low byte first, with a byte order mark.
    Utf16Le,
    /// UTF-16, high byte first, with a byte order mark.
    Utf16Be,
    /// Windows-1252.
    Windows1252,
    /// ISO/IEC 8859-1.
    Latin1,
}

/// Characters from here on stand for a byte that is no text: `BYTE_BASE` + 0xE9 for 0xE9.
/// They lie in Unicode's private use area, so no name or remark has them by accident.
const BYTE_BASE: u32 = 0xF700;

/// The character that stands for a byte which is written as it is.
pub(crate) fn raw_byte(byte: u8) -> char {
    char::from_u32(BYTE_BASE + u32::from(byte)).expect("the private use area is all characters")
}

fn byte_of(letter: char) -> Option<u8> {
    (BYTE_BASE..BYTE_BASE + 256).contains(&u32::from(letter)).then_some(letter as u8)
}

impl Encoding {
    /// Every encoding.
    pub const ALL: [Self; 6] = [
        Self::Utf8,
        Self::Utf8Marked,
        Self::Utf16Le,
        Self::Utf16Be,
        Self::Windows1252,
        Self::Latin1,
    ];

    /// The bytes of a text. A character that an encoding does not have becomes `?`.
    pub fn encode(self, text: &str) -> Vec<u8> {
        match self {
            Self::Utf8 => parts(text, |part| part.as_bytes().to_vec()),
            Self::Utf8Marked => {
                let mut bytes = vec![0xEF, 0xBB, 0xBF];
                bytes.extend(Self::Utf8.encode(text));
                bytes
            }
            Self::Utf16Le => utf16(text, u16::to_le_bytes),
            Self::Utf16Be => utf16(text, u16::to_be_bytes),
            Self::Windows1252 => parts(text, |part| {
                part.chars()
                    .flat_map(|letter| {
                        let mut utf8 = [0; 4];
                        let letter: &str = letter.encode_utf8(&mut utf8);
                        let (bytes, _, lossy) = encoding_rs::WINDOWS_1252.encode(letter);
                        if lossy { b"?".to_vec() } else { bytes.into_owned() }
                    })
                    .collect()
            }),
            Self::Latin1 => parts(text, |part| {
                part.chars().map(|letter| u8::try_from(u32::from(letter)).unwrap_or(b'?')).collect()
            }),
        }
    }
}

/// Encodes the text between raw bytes by `encode`.
fn parts(text: &str, encode: impl Fn(&str) -> Vec<u8>) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text;
    while let Some((at, letter)) =
        rest.char_indices().find(|(_, letter)| byte_of(*letter).is_some())
    {
        bytes.extend(encode(&rest[..at]));
        bytes.extend(byte_of(letter));
        rest = &rest[at + letter.len_utf8()..];
    }
    bytes.extend(encode(rest));
    bytes
}

fn utf16(text: &str, order: fn(u16) -> [u8; 2]) -> Vec<u8> {
    let mark = std::iter::once(0xFEFF);
    mark.chain(text.encode_utf16()).flat_map(order).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Decodes by the Encoding Standard's own decoders, byte order marks looked at.
    fn decoded(encoding: Encoding, bytes: &[u8]) -> String {
        let by = match encoding {
            Encoding::Windows1252 | Encoding::Latin1 => encoding_rs::WINDOWS_1252,
            _ => encoding_rs::UTF_8,
        };
        let (text, _, malformed) = by.decode(bytes);
        assert!(!malformed);
        text.into_owned()
    }

    proptest! {
        #[test]
        fn what_is_encoded_can_be_decoded(text in "[ -~°éüß\n\r\t\u{0}]{0,80}") {
            for encoding in Encoding::ALL {
                prop_assert_eq!(&decoded(encoding, &encoding.encode(&text)), &text);
            }
        }

        #[test]
        fn unicode_survives_in_unicode_encodings(text in "\\PC{0,40}") {
            for encoding in [Encoding::Utf8Marked, Encoding::Utf16Le, Encoding::Utf16Be] {
                let bytes = encoding.encode(&text);
                if !text.chars().any(|letter| byte_of(letter).is_some()) {
                    prop_assert_eq!(&decoded(encoding, &bytes), &text);
                }
            }
        }
    }

    #[test]
    fn a_degree_sign_in_every_encoding() {
        let bytes = |encoding: Encoding| encoding.encode("°F");
        assert_eq!(bytes(Encoding::Utf8), [0xC2, 0xB0, 0x46]);
        assert_eq!(bytes(Encoding::Utf8Marked), [0xEF, 0xBB, 0xBF, 0xC2, 0xB0, 0x46]);
        assert_eq!(bytes(Encoding::Utf16Le), [0xFF, 0xFE, 0xB0, 0x00, 0x46, 0x00]);
        assert_eq!(bytes(Encoding::Utf16Be), [0xFE, 0xFF, 0x00, 0xB0, 0x00, 0x46]);
        assert_eq!(bytes(Encoding::Windows1252), [0xB0, 0x46]);
        assert_eq!(bytes(Encoding::Latin1), [0xB0, 0x46]);
        // The two differ where Windows-1252 has printable characters (Encoding Standard).
        assert_eq!(Encoding::Windows1252.encode("–€"), [0x96, 0x80]);
        assert_eq!(Encoding::Latin1.encode("–€"), b"??");
    }

    #[test]
    fn raw_bytes_pass_as_they_are() {
        let text = format!("2{}5", raw_byte(0xE9));
        assert_eq!(Encoding::Utf8.encode(&text), [b'2', 0xE9, b'5']);
        assert_eq!(Encoding::Latin1.encode(&text), [b'2', 0xE9, b'5']);
    }
}
