//! What something was computed from, as a hash: equal hashes, equal results.

use sha2::{Digest, Sha256};
use std::fmt::Write;

/// A hash under construction. Every part is framed by its length, so that no two lists of
/// parts run together into the same bytes.
#[derive(Debug, Clone)]
pub struct Fingerprint(Sha256);

impl Fingerprint {
    /// Begins a hash for one purpose, bound to the number of the step that computes: a step whose
    /// results change is given another number, so that what it made before no longer counts as current.
    pub fn new(purpose: &str, number: u32) -> Self {
        let mut this = Self(Sha256::new());
        this.part(purpose.as_bytes());
        this.part(&number.to_le_bytes());
        this
    }

    /// Begins a hash that only whoever has the secret can make. It is not bound to a number, so that
    /// names made from it last.
    pub fn keyed(purpose: &str, secret: &str) -> Self {
        let mut this = Self(Sha256::new());
        // Every part is framed by its length, so nothing can be added behind (no length extension).
        this.part(secret.as_bytes());
        this.part(purpose.as_bytes());
        this
    }

    /// Adds one part.
    pub fn part(&mut self, bytes: &[u8]) {
        self.0.update((bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
    }

    /// Adds the JSON text of a value: the derived order of fields is fixed.
    pub fn json<T: serde::Serialize>(&mut self, value: &T) {
        self.part(&serde_json::to_vec(value).unwrap_or_default());
    }

    /// The hash, hexadecimal.
    pub fn finish(self) -> String {
        hexadecimal(&self.0.finalize())
    }
}

/// A seed of the cook's own, so that its draws do not depend on which cooks are there.
pub(crate) fn seed_of(season_seed: u64, cook: &str) -> u64 {
    // Part of what a season's seed means: with another text here every drawn interval would change.
    const DRAWN_SINCE: &str = "0.1.0";
    let mut hash = Fingerprint(Sha256::new());
    hash.part(b"seed");
    hash.part(DRAWN_SINCE.as_bytes());
    hash.part(&season_seed.to_le_bytes());
    hash.part(cook.as_bytes());
    let text = hash.finish();
    u64::from_str_radix(&text[..16], 16).unwrap_or(season_seed)
}

/// SHA-256 (FIPS 180-4) of some bytes, hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
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
            let mut hash = Fingerprint::new("test", 1);
            for part in parts {
                hash.part(part.as_bytes());
            }
            hash.finish()
        };
        assert_ne!(of(&["ab", "c"]), of(&["a", "bc"]));
        assert_eq!(of(&["ab", "c"]), of(&["ab", "c"]));
    }

    #[test]
    fn another_number_gives_another_hash() {
        assert_ne!(Fingerprint::new("test", 1).finish(), Fingerprint::new("test", 2).finish());
    }

    #[test]
    fn every_cook_draws_by_a_seed_of_its_own_that_stays() {
        assert_ne!(seed_of(1, "a"), seed_of(1, "b"));
        assert_ne!(seed_of(1, "a"), seed_of(2, "a"));
        // A snapshot: intervals of seasons that were studied before rest on it.
        assert_eq!(seed_of(20_260_101, "2025-01"), 5_622_504_981_314_768_265);
    }
}
