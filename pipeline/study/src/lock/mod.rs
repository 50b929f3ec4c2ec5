//! When a claim was written down, and which cooks were known then: `claims.lock`.
//!
//! A claim is worth more on cooks that were cooked after it was written down. The lock
//! keeps, for every claim text ever seen, its hash and its *family*: the claims first seen in the
//! same run, with the instant of that run, the cooks known then, the phase definition of then, and the
//! share of the year's error that the family may use up.
//!
//! The caller reads the lock, updates it with [`Lock::look`], writes it, and only then
//! hands it to [`crate::study()`]: a run that stops halfway has still written down what it
//! was about to ask.
//!
//! - The size m of a family includes claims that were withdrawn later: five questions asked
//!   and four taken back are still five chances of a lucky answer.
//! - A claim whose text changes is a new claim; its old text stays in the lock.
//! - A claim that is taken out and later put back word for word keeps its first family.
//! - A cook confirms if its meat went on after the family was first seen, and neither its name nor its
//!   content ([`SeenCook::content`]) was known then. A renamed, merged or returning cook is so the cook
//!   that it was.
//! - The cooks that a claim is judged on are written down once there are enough of them: one that turns
//!   up later does not push another one out.
//! - A claim with a date is looked at each tenth confirming cook ([`planned_looks`]). What a look found is
//!   written down ([`TakenLook`]) and never taken again; the one that decides, or is the last, seals the claim.
//!   Looks draw on the family's share of error by a spending function that is fixed when the claim is
//!   first seen, so that looking often costs nothing but width (Lan & `DeMets` 1983).
//!
//! **What a lock proves:** that these words stood there when this computer's clock showed that instant,
//! and which cooks were known then, as long as nobody set the clock or wrote into the file. It cannot
//! prove that nobody had looked at the cooks by other means, or has thrown another lock away.
//!
//! Format 1 knew names alone, and no instant. It is read: its families have no date and the whole share
//! of error, as they were judged by until then.

mod format;
mod looks;
mod seen;
mod spending;
#[cfg(test)]
mod tests;
mod trial;

pub use looks::planned_looks;
pub use seen::{Look, SeenCook};
pub use spending::Spending;
pub use trial::{LockedLook, LockedTrial, Lot, TrialDesign, TrialKind};

use crate::claims::Claims;
use crate::error::StudyError;
use crate::result::TakenLook;
use jiff::Timestamp;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The format that [`Lock::to_toml`] writes.
pub const LOCK_SCHEMA: &str = "cookstudy/claims-lock/2";

/// Share of the year's error of the first family of a calendar year, and what each further one has of
/// the one before it. 0.6 · (1 + 0.4 + 0.4² + …) = 1: however many families a year has, all of its claims
/// together are wrong at most one time in ten (alpha spending; Lan & `DeMets` 1983, Biometrika 70, 659–663).
const FIRST_SHARE: f64 = 0.6;
const NEXT_SHARE: f64 = 0.4;

/// The lock file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lock {
    /// Always [`LOCK_SCHEMA`].
    pub schema: String,
    /// The families, in the order in which they were first seen.
    #[serde(default, rename = "family")]
    pub families: Vec<Family>,
    /// The trials, in the order in which they were begun.
    #[serde(default, rename = "trial", skip_serializing_if = "Vec::is_empty")]
    pub trials: Vec<LockedTrial>,
}

/// Claims that were first seen in the same run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Family {
    /// When, an instant in UTC; nothing for a family of format 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen_at: Option<String>,
    /// s in the level 1 − 0.10·s/m of its claims' intervals: its share of the year's error, above 0 to 1.
    #[serde(default = "whole")]
    pub share: f64,
    /// Hash of the phase definition of then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub definition: Option<String>,
    /// The cooks known then: name and content, the latter empty where it was not known.
    #[serde(default)]
    pub known: BTreeMap<String, String>,
    /// The claims, in the order of the claims file then; withdrawn ones stay.
    #[serde(rename = "claim")]
    pub claims: Vec<LockedClaim>,
}

fn whole() -> f64 {
    1.0
}

/// A claim text that was seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LockedClaim {
    /// The claim's name, for people; the hash decides.
    pub id: String,
    /// [`crate::Claim::hash`].
    pub hash: String,
    /// Numbers of confirming cooks at which it is looked at, the last that of its `judge_after_cooks`; empty
    /// where it was first seen before looks were planned: it is judged once then.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub looks: Vec<usize>,
    /// The function by which looks spend the error.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spending: Option<Spending>,
    /// The confirming cooks that it is judged on, name and content, once there are enough; looks add to
    /// them, and nothing takes one away.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub judged: BTreeMap<String, String>,
    /// The looks that were taken.
    #[serde(default, rename = "look", skip_serializing_if = "Vec::is_empty")]
    pub taken: Vec<TakenLook>,
}

impl Default for Lock {
    fn default() -> Self {
        Self { schema: LOCK_SCHEMA.to_owned(), families: Vec::new(), trials: Vec::new() }
    }
}

impl Lock {
    /// The lock after claims were seen at no known instant while cooks of these names were known, for
    /// tables without a season: the new family has no date, no definition and the whole share of error.
    ///
    /// Claims that the old lock has keep their entry; all others form one new family. The
    /// same call again changes nothing.
    #[must_use]
    pub fn update<S: AsRef<str>>(old: Option<&Self>, claims: &Claims, known_cooks: &[S]) -> Self {
        let mut lock = old.cloned().unwrap_or_default();
        let claims = lock.not_seen(claims, false);
        if !claims.is_empty() {
            let known = known_cooks.iter().map(|name| (name.as_ref().to_owned(), String::new()));
            let (seen_at, definition) = (None, None);
            let known = known.collect();
            lock.families.push(Family { seen_at, share: whole(), definition, known, claims });
        }
        lock
    }

    /// The lock after a run over a season.
    ///
    /// Claims that the old lock has keep their entry; all others form one new family, with the next
    /// share of its calendar year (UTC). Content that was not known of known cooks is added, and so is a
    /// definition to a family of format 1; the cooks of a claim that has enough confirming ones now are
    /// written down. The same look again changes nothing.
    #[must_use]
    pub fn look(old: Option<&Self>, claims: &Claims, look: &Look<'_>) -> Self {
        let mut lock = old.cloned().unwrap_or_default();
        for family in &mut lock.families {
            if family.definition.is_none() {
                family.definition = Some(look.definition.to_owned());
            }
            for cook in look.cooks {
                if let (Some(known), Some(content)) =
                    (family.known.get_mut(&cook.name), &cook.content)
                    && known.is_empty()
                {
                    known.clone_from(content);
                }
            }
        }
        let fresh = lock.not_seen(claims, true);
        if !fresh.is_empty() {
            let known = look.cooks.iter().map(SeenCook::entry).collect();
            lock.families.push(Family {
                seen_at: Some(look.at.to_string()),
                share: lock.next_share(look.at),
                definition: Some(look.definition.to_owned()),
                known,
                claims: fresh,
            });
        }
        for claim in &claims.claims {
            let hash = claim.hash();
            // The cooks of a planned look are written down with the look.
            let is_judged_once =
                |locked: &LockedClaim| locked.looks.is_empty() && locked.judged.is_empty();
            let family = lock.family(&hash);
            if family.and_then(|family| family.claim(&hash)).is_some_and(is_judged_once) {
                lock.fix_cooks(&hash, claim.judge_after_cooks, look.cooks);
            }
        }
        lock
    }

    /// Claims that no family has, once each.
    fn not_seen(&self, claims: &Claims, is_dated: bool) -> Vec<LockedClaim> {
        let mut fresh: Vec<LockedClaim> = Vec::new();
        for claim in &claims.claims {
            let hash = claim.hash();
            if self.family(&hash).is_none() && !fresh.iter().any(|other| other.hash == hash) {
                fresh.push(LockedClaim::first_seen(claim, hash, is_dated));
            }
        }
        fresh
    }

    /// The share of the year's error that a family first seen at this instant, or a trial begun then, has:
    /// a trial asks anew, so it takes the next share as a family does.
    pub fn next_share(&self, at: Timestamp) -> f64 {
        let begun = self.trials.iter().filter_map(|trial| trial.begun_at.parse().ok());
        let before = self.families.iter().filter_map(Family::seen).chain(begun);
        share(before.filter(|seen| year(*seen) == year(at)).count())
    }

    /// Gives each dated family the share of its place in its year, where that is less than its own:
    /// locks that were merged draw on one budget.
    pub fn share_out(&mut self) {
        let mut order: Vec<usize> = (0..self.families.len()).collect();
        order.sort_by_key(|&place| (self.families[place].seen(), place));
        let mut of_year: BTreeMap<i16, usize> = BTreeMap::new();
        for place in order {
            let Some(seen) = self.families[place].seen() else { continue };
            let before = of_year.entry(year(seen)).or_default();
            let family = &mut self.families[place];
            family.share = family.share.min(share(*before));
            *before += 1;
        }
    }

    /// The family of the claim with this hash.
    pub fn family(&self, hash: &str) -> Option<&Family> {
        self.families.iter().find(|family| family.claim(hash).is_some())
    }

    /// The latest instant at which claims were first seen.
    pub fn last_seen(&self) -> Option<Timestamp> {
        self.families.iter().filter_map(Family::seen).max()
    }
}

fn year(at: Timestamp) -> i16 {
    jiff::tz::TimeZone::UTC.to_datetime(at).year()
}

fn share(before: usize) -> f64 {
    FIRST_SHARE * NEXT_SHARE.powi(i32::try_from(before).unwrap_or(i32::MAX))
}

impl Family {
    /// The number m of claims in the family, withdrawn ones included.
    pub fn size(&self) -> usize {
        self.claims.len()
    }

    /// When its claims were first seen.
    pub fn seen(&self) -> Option<Timestamp> {
        self.seen_at.as_ref()?.parse().ok()
    }

    /// Its claim with this hash.
    pub fn claim(&self, hash: &str) -> Option<&LockedClaim> {
        self.claims.iter().find(|claim| claim.hash == hash)
    }

    /// Whether the cook was known, by name or by content, when the claims of this family were first
    /// seen.
    pub fn knew(&self, cook: &SeenCook) -> bool {
        let same = |content: &String| self.known.values().any(|known| known == content);
        self.known.contains_key(&cook.name) || cook.content.as_ref().is_some_and(same)
    }

    /// Whether the cook is one that was not known, and was cooked after the claims were first seen.
    pub fn is_confirmed_by(&self, cook: &SeenCook) -> bool {
        let seen = self.seen().map(Timestamp::as_millisecond);
        let is_later = |seen| cook.meat_on_ms.is_some_and(|meat_on| meat_on > seen);
        seen.is_none_or(is_later) && !self.knew(cook)
    }

    /// Known cooks, whose content is known, that are no longer among `cooks`: by name, sorted.
    pub fn gone(&self, cooks: &[SeenCook]) -> Vec<&str> {
        let is_here = |name: &str, content: &str| {
            cooks.iter().any(|cook| cook.name == name || cook.content.as_deref() == Some(content))
        };
        let known = self.known.iter().filter(|(_, content)| !content.is_empty());
        known
            .filter(|(name, content)| !is_here(name, content))
            .map(|(name, _)| name.as_str())
            .collect()
    }
}

impl Lock {
    /// The text of `claims.lock`.
    ///
    /// # Errors
    /// [`StudyError::Write`], which only a fault of the serialiser can cause.
    pub fn to_toml(&self) -> Result<String, StudyError> {
        format::write(self)
    }

    /// Reads and checks the text of `claims.lock`; `path` is only for messages. Format 1 is read as
    /// the module says.
    ///
    /// # Errors
    /// Text that is not TOML, an unknown key, another schema, an empty family, an instant that is none, a
    /// share that is not above 0 to 1, a hash that is none or is there twice, looks that do not rise, a spending
    /// function that this version does not know.
    pub fn parse(text: &str, path: &std::path::Path) -> Result<Self, StudyError> {
        format::read(text, path)
    }
}
