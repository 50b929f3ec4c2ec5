//! When a claim was written down, and which cooks were known then: `claims.lock`.
//!
//! A claim is worth more on cooks that were cooked after it was written down. The lock
//! keeps, for every claim text ever seen, its hash, the cooks known when it was first seen,
//! and its *family*: the claims first seen in the same run. Since the claims of one family
//! were first seen together, the known cooks are kept once a family.
//!
//! The caller reads the lock, updates it with [`Lock::update`], writes it, and only then
//! hands it to [`crate::study()`]: a run that stops halfway has still written down what it
//! was about to ask.
//!
//! - The size m of a family includes claims that were withdrawn later: five questions asked
//!   and four taken back are still five chances of a lucky answer.
//! - A claim whose text changes is a new claim; its old text stays in the lock.
//! - A claim that is taken out and later put back word for word keeps its first family.

use crate::claims::Claims;
use crate::error::StudyError;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::path::Path;

/// The format that [`Lock::to_toml`] writes.
pub const LOCK_SCHEMA: &str = "cookstudy/claims-lock/1";

/// The lock file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lock {
    /// Always [`LOCK_SCHEMA`].
    pub schema: String,
    /// The families, in the order in which they were first seen.
    #[serde(default, rename = "family")]
    pub families: Vec<Family>,
}

/// Claims that were first seen in the same run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Family {
    /// Names of the cooks known then, sorted.
    pub known_cooks: Vec<String>,
    /// The claims, in the order of the claims file then; withdrawn ones stay.
    #[serde(rename = "claim")]
    pub claims: Vec<LockedClaim>,
}

/// A claim text that was seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LockedClaim {
    /// The claim's name, for people; the hash decides.
    pub id: String,
    /// [`crate::Claim::hash`].
    pub hash: String,
}

impl Default for Lock {
    fn default() -> Self {
        Self { schema: LOCK_SCHEMA.to_owned(), families: Vec::new() }
    }
}

impl Lock {
    /// Reads and checks the text of `claims.lock`; `path` is only for messages.
    ///
    /// # Errors
    /// Text that is not TOML, an unknown key, another schema, an empty family, a hash that
    /// is none or is there twice.
    pub fn parse(text: &str, path: &Path) -> Result<Self, StudyError> {
        let mut lock: Self = cook::settings::parse(text, path)?;
        let problem = |message: String| StudyError::Lock { path: path.to_owned(), message };
        if lock.schema != LOCK_SCHEMA {
            return Err(problem(format!(
                "`schema` is `{}`, but this version reads `{LOCK_SCHEMA}`",
                lock.schema
            )));
        }
        let mut seen = BTreeSet::new();
        for family in &mut lock.families {
            // Order carries no meaning; a hand that resolved a merge may have broken it.
            family.known_cooks.sort_unstable();
            family.known_cooks.dedup();
            if family.claims.is_empty() {
                return Err(problem("a `[[family]]` has no claims: take it out".into()));
            }
            for claim in &family.claims {
                let hexadecimal =
                    claim.hash.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
                if claim.hash.len() != 64 || !hexadecimal {
                    return Err(problem(format!(
                        "the hash of claim `{}` is not 64 lower-case hexadecimal digits: `{}`",
                        claim.id, claim.hash
                    )));
                }
                if !seen.insert(claim.hash.clone()) {
                    return Err(problem(format!(
                        "claim `{}` is locked twice (hash {}): keep the first entry",
                        claim.id, claim.hash
                    )));
                }
            }
        }
        Ok(lock)
    }

    /// The text of `claims.lock`.
    ///
    /// # Errors
    /// [`StudyError::Write`], which only a fault of the serialiser can cause.
    pub fn to_toml(&self) -> Result<String, StudyError> {
        let body = toml::to_string_pretty(self)
            .map_err(|error| StudyError::Write { what: "lock", message: error.to_string() })?;
        Ok(format!(
            "# Written by cookstudy before it analyses; keep it with the season.\n\
             # It says which cooks were known when each claim was first seen.\n{body}"
        ))
    }

    /// The lock after a run that sees `claims` while `known_cooks` are known.
    ///
    /// Claims that the old lock has keep their entry; all others form one new family. The
    /// same call again changes nothing.
    #[must_use]
    pub fn update<S: AsRef<str>>(old: Option<&Self>, claims: &Claims, known_cooks: &[S]) -> Self {
        let mut lock = old.cloned().unwrap_or_default();
        let mut fresh: Vec<LockedClaim> = Vec::new();
        for claim in &claims.claims {
            let hash = claim.hash();
            if lock.family(&hash).is_none() && !fresh.iter().any(|other| other.hash == hash) {
                fresh.push(LockedClaim { id: claim.id.clone(), hash });
            }
        }
        if !fresh.is_empty() {
            let known: BTreeSet<&str> = known_cooks.iter().map(AsRef::as_ref).collect();
            lock.families.push(Family {
                known_cooks: known.into_iter().map(str::to_owned).collect(),
                claims: fresh,
            });
        }
        lock
    }

    /// The family of the claim with this hash.
    pub fn family(&self, hash: &str) -> Option<&Family> {
        self.families.iter().find(|family| family.claims.iter().any(|claim| claim.hash == hash))
    }
}

impl Family {
    /// The number m of claims in the family, withdrawn ones included.
    pub fn size(&self) -> usize {
        self.claims.len()
    }

    /// Whether the cook was known when the claims of this family were first seen.
    pub fn knew(&self, cook: &str) -> bool {
        self.known_cooks.binary_search_by(|known| known.as_str().cmp(cook)).is_ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn claims(ids: &[(&str, f64)]) -> Claims {
        let one = |(id, matters): &(&str, f64)| {
            format!(
                "[[claim]]\nid = \"{id}\"\nsays = \"s\"\nkind = \"trend\"\noutcome = \"o\"\n\
                 better = \"lower\"\nby = \"b\"\nper = 1\nmatters = {matters}\n"
            )
        };
        let text = ids.iter().map(one).collect::<Vec<_>>().concat();
        Claims::parse(&text, Path::new("claims.toml")).unwrap()
    }

    fn read(text: &str) -> Result<Lock, StudyError> {
        Lock::parse(text, Path::new("claims.lock"))
    }

    #[test]
    fn claims_seen_together_form_a_family() {
        let both = claims(&[("one", 1.0), ("two", 1.0)]);
        let lock = Lock::update(None, &both, &["b", "a", "b"]);
        assert_eq!(lock.families.len(), 1);
        assert_eq!(lock.families[0].known_cooks, ["a", "b"]);
        assert_eq!(lock.families[0].size(), 2);
        assert!(lock.families[0].knew("a") && !lock.families[0].knew("c"));

        let later = claims(&[("one", 1.0), ("two", 1.0), ("three", 1.0)]);
        let second = Lock::update(Some(&lock), &later, &["a", "b", "c"]);
        assert_eq!(second.families[0], lock.families[0]);
        assert_eq!(second.families[1].known_cooks, ["a", "b", "c"]);
        assert_eq!(second.families[1].size(), 1);
    }

    #[test]
    fn the_same_run_again_changes_nothing() {
        let both = claims(&[("one", 1.0), ("two", 1.0)]);
        let lock = Lock::update(None, &both, &["a"]);
        assert_eq!(Lock::update(Some(&lock), &both, &["a"]), lock);
        // Nor does a later run with more cooks: the claims are known already.
        assert_eq!(Lock::update(Some(&lock), &both, &["a", "b"]), lock);
    }

    #[test]
    fn withdrawn_and_changed_claims_stay() {
        let lock = Lock::update(None, &claims(&[("one", 1.0), ("two", 1.0)]), &["a"]);
        let withdrawn = Lock::update(Some(&lock), &claims(&[("one", 1.0)]), &["a", "b"]);
        assert_eq!(withdrawn, lock);
        let changed = Lock::update(Some(&lock), &claims(&[("one", 2.0)]), &["a", "b"]);
        assert_eq!(changed.families.len(), 2);
        assert_eq!(changed.families[0].size(), 2);
        assert_eq!(changed.families[1].known_cooks, ["a", "b"]);
        let back = Lock::update(Some(&changed), &claims(&[("one", 1.0)]), &["a", "b", "c"]);
        assert_eq!(back, changed);
    }

    #[test]
    fn the_text_reads_back() {
        let lock = Lock::update(None, &claims(&[("one", 1.0), ("two", 1.0)]), &["b", "a"]);
        let text = lock.to_toml().unwrap();
        assert!(text.starts_with("# Written by cookstudy"), "{text}");
        assert_eq!(read(&text).unwrap(), lock);
        assert_eq!(read(&Lock::default().to_toml().unwrap()).unwrap(), Lock::default());
    }

    #[test]
    fn a_broken_lock_is_refused_with_the_reason() {
        let lock = Lock::update(None, &claims(&[("one", 1.0)]), &["a"]);
        let text = lock.to_toml().unwrap();
        let hash = &lock.families[0].claims[0].hash;
        for (changed, expected) in [
            (text.replace("lock/1", "lock/2"), "this version reads `cookstudy/claims-lock/1`"),
            (text.replace(hash.as_str(), "abc"), "not 64 lower-case hexadecimal digits: `abc`"),
            (text.replace(hash.as_str(), &"G".repeat(64)), "hexadecimal"),
            (text.replace("known_cooks", "knwon_cooks"), "did you mean `known_cooks`?"),
            (format!("{text}\n[[family]]\nknown_cooks = []\nclaim = []\n"), "has no claims"),
            (
                format!(
                    "{text}\n[[family]]\nknown_cooks = []\n[[family.claim]]\nid = \"one\"\nhash = \"{hash}\"\n"
                ),
                "locked twice",
            ),
        ] {
            let message = read(&changed).unwrap_err().to_string();
            assert!(message.contains(expected), "{message}");
        }
    }

    proptest! {
        /// What is written is read back, whatever the cooks are called.
        #[test]
        fn any_lock_reads_back(
            families in prop::collection::vec(
                (prop::collection::vec("\\PC{1,12}", 0..6), 1usize..4), 0..4,
            ),
        ) {
            let mut lock = Lock::default();
            let mut asked = Vec::new();
            for (cooks, count) in &families {
                for _ in 0..*count {
                    asked.push((format!("claim-{}", asked.len()), 1.0));
                }
                let ids: Vec<(&str, f64)> = asked.iter().map(|(id, m)| (id.as_str(), *m)).collect();
                lock = Lock::update(Some(&lock), &claims(&ids), cooks);
            }
            prop_assert_eq!(lock.families.len(), families.len());
            for (family, (cooks, count)) in lock.families.iter().zip(&families) {
                prop_assert_eq!(family.size(), *count);
                prop_assert!(cooks.iter().all(|cook| family.knew(cook)));
            }
            prop_assert_eq!(read(&lock.to_toml().unwrap()).unwrap(), lock);
        }

        /// Any text is read or refused, never a panic.
        #[test]
        fn any_text_is_read_or_refused(text in "(schema|family|claim|[\\[\\]=\"\n éλ{},#x0-9]){0,40}") {
            let _ = read(&text);
            let _ = Claims::parse(&text, Path::new("claims.toml"));
        }
    }
}
