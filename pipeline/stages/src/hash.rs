//! What something was computed from, as a hash: equal hashes, equal results.

use sha2::{Digest, Sha256};
use std::fmt::Write;

/// A hash under construction. Every part is framed by its length, so that no two lists of
/// parts run together into the same bytes.
#[derive(Clone)]
pub(crate) struct Fingerprint(Sha256);

impl Fingerprint {
    /// Begins a hash for one purpose, bound to this version of the program: another
    /// version may compute something else from the same input.
    pub(crate) fn new(purpose: &str) -> Self {
        let mut this = Self(Sha256::new());
        this.part(purpose.as_bytes());
        this.part(env!("CARGO_PKG_VERSION").as_bytes());
        this
    }

    /// Begins a hash that only whoever has the secret can make. It is not bound to a version, so that
    /// names made from it last.
    pub(crate) fn keyed(purpose: &str, secret: &str) -> Self {
        let mut this = Self(Sha256::new());
        // Every part is framed by its length, so nothing can be added behind (no length extension).
        this.part(secret.as_bytes());
        this.part(purpose.as_bytes());
        this
    }

    /// Adds one part.
    pub(crate) fn part(&mut self, bytes: &[u8]) {
        self.0.update((bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
    }

    /// Adds the JSON text of a value: the derived order of fields is fixed.
    pub(crate) fn json<T: serde::Serialize>(&mut self, value: &T) {
        self.part(&serde_json::to_vec(value).unwrap_or_default());
    }

    /// The hash, hexadecimal.
    pub(crate) fn finish(self) -> String {
        hexadecimal(&self.0.finalize())
    }
}

/// SHA-256 (FIPS 180-4) of some bytes, hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sha256_of_abc() {
        // FIPS 180-4 example "abc" (NIST, SHA256 example file).
        assert_eq!(
            sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn parts_do_not_run_together() {
        let of = |parts: &[&str]| {
            let mut hash = Fingerprint::new("test");
            for part in parts {
                hash.part(part.as_bytes());
            }
            hash.finish()
        };
        assert_ne!(of(&["ab", "c"]), of(&["a", "bc"]));
        assert_eq!(of(&["ab", "c"]), of(&["ab", "c"]));
    }
}
