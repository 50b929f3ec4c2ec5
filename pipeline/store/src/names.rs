//! Names of cooks and seasons as file names, the way Hive-style partitions are written.

use std::fmt::Write;

/// Percent-encodes every byte that is not an ASCII letter, digit, `-`, `_` or `.`
/// (RFC 3986 percent-encoding; a leading dot is encoded too, so that no file is hidden).
pub fn encode_name(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    for (index, byte) in name.bytes().enumerate() {
        let plain = byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.');
        if plain && !(index == 0 && byte == b'.') {
            out.push(byte as char);
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

/// Turns an encoded name back; `None` where it was not made by [`encode_name`].
pub fn decode_name(encoded: &str) -> Option<String> {
    let bytes = encoded.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while at < bytes.len() {
        if bytes[at] == b'%' {
            let pair = encoded.get(at + 1..at + 3)?;
            out.push(u8::from_str_radix(pair, 16).ok()?);
            at += 3;
        } else {
            out.push(bytes[at]);
            at += 1;
        }
    }
    String::from_utf8(out).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn names_come_back_and_never_leave_their_folder(name in ".{1,20}") {
            let encoded = encode_name(&name);
            prop_assert!(!encoded.contains(['/', '\\', '\0']) && !encoded.starts_with('.'));
            prop_assert_eq!(decode_name(&encoded), Some(name));
        }
    }
}
