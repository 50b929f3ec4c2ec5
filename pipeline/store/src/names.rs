//! Names of cooks and seasons as file names, the way Hive-style partitions are written.

use std::fmt::Write;

/// Names that Windows gives to devices, whatever ending follows (Microsoft, "Naming Files, Paths, and
/// Namespaces").
const DEVICES: [&str; 6] = ["CON", "PRN", "AUX", "NUL", "COM", "LPT"];

/// Whether a name up to its first dot is that of a device.
fn is_device(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or(name).to_ascii_uppercase();
    DEVICES.iter().any(|device| match stem.strip_prefix(device) {
        Some("") => !matches!(*device, "COM" | "LPT"),
        Some(number) => {
            matches!(*device, "COM" | "LPT")
                && number.len() == 1
                && number.bytes().all(|byte| byte.is_ascii_digit())
        }
        None => false,
    })
}

/// Percent-encodes every byte that is not an ASCII letter, digit, `-`, `_` or `.`
/// (RFC 3986 percent-encoding). A dot at either end is encoded too, so that no file is hidden and none
/// loses its end on Windows, and so is the first letter of a device's name.
pub fn encode_name(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    let is_device = is_device(name);
    for (index, byte) in name.bytes().enumerate() {
        let plain = byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.');
        let is_end = index == 0 || index + 1 == name.len();
        if plain && !(is_end && byte == b'.') && !(index == 0 && is_device) {
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

    #[test]
    fn no_name_is_that_of_a_device_or_ends_in_a_dot() {
        for (name, encoded) in [
            ("con", "%63on"),
            ("NUL.may", "%4EUL.may"),
            ("Com1", "%43om1"),
            ("lpt", "lpt"),
            ("console", "console"),
            ("may.", "may%2E"),
            ("may ", "may%20"),
            (".", "%2E"),
        ] {
            assert_eq!(encode_name(name), encoded);
            assert_eq!(decode_name(encoded).as_deref(), Some(name));
        }
    }

    proptest! {
        #[test]
        fn names_come_back_and_never_leave_their_folder(name in ".{1,20}") {
            let encoded = encode_name(&name);
            prop_assert!(!encoded.contains(['/', '\\', '\0']) && !encoded.starts_with('.'));
            prop_assert_eq!(decode_name(&encoded), Some(name));
        }
    }
}
