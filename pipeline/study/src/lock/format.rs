//! The text of `claims.lock`, formats 1 and 2.

use super::{Family, LOCK_SCHEMA, Lock, LockedClaim, whole};
use crate::error::StudyError;
use jiff::Timestamp;
use serde::Deserialize;
use std::collections::BTreeSet;
use std::path::Path;

/// The format before: names of known cooks, and no instant.
const FIRST_SCHEMA: &str = "cookstudy/claims-lock/1";

#[derive(Deserialize)]
struct Schema {
    schema: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct First {
    #[serde(rename = "schema")]
    _schema: String,
    #[serde(default, rename = "family")]
    families: Vec<FirstFamily>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FirstFamily {
    known_cooks: Vec<String>,
    #[serde(rename = "claim")]
    claims: Vec<LockedClaim>,
}

impl From<First> for Lock {
    fn from(first: First) -> Self {
        let families = first.families.into_iter().map(|family| Family {
            seen_at: None,
            share: whole(),
            definition: None,
            known: family.known_cooks.into_iter().map(|name| (name, String::new())).collect(),
            claims: family.claims,
        });
        Self { families: families.collect(), ..Self::default() }
    }
}

pub(super) fn read(text: &str, path: &Path) -> Result<Lock, StudyError> {
    let problem = |message: String| StudyError::Lock { path: path.to_owned(), message };
    let schema = toml::from_str::<Schema>(text).ok().and_then(|found| found.schema);
    let lock: Lock = match schema.as_deref() {
        Some(FIRST_SCHEMA) => cook::settings::parse::<First>(text, path)?.into(),
        Some(LOCK_SCHEMA) | None => cook::settings::parse(text, path)?,
        Some(other) => {
            return Err(problem(format!(
                "`schema` is `{other}`, but this version reads `{LOCK_SCHEMA}` and `{FIRST_SCHEMA}`"
            )));
        }
    };
    let mut seen = BTreeSet::new();
    for family in &lock.families {
        if family.claims.is_empty() {
            return Err(problem("a `[[family]]` has no claims: take it out".into()));
        }
        if let Some(at) = family.seen_at.as_ref().filter(|at| at.parse::<Timestamp>().is_err()) {
            return Err(problem(format!(
                "`seen_at = \"{at}\"` is no instant such as 2026-11-30T08:15:00Z"
            )));
        }
        if !(family.share > 0.0 && family.share <= 1.0) {
            return Err(problem(format!(
                "`share = {}` is no share: it lies above 0 and is at most 1",
                family.share
            )));
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
            check_looks(&claim.id, &claim.looks).map_err(problem)?;
            if claim.looks.is_empty() != claim.spending.is_none() {
                return Err(problem(format!(
                    "claim `{}` has `looks = {:?}` and {}: both stand there, or neither",
                    claim.id,
                    claim.looks,
                    if claim.spending.is_some() { "a `spending`" } else { "no `spending`" }
                )));
            }
            if !seen.insert(&claim.hash) {
                return Err(problem(format!(
                    "claim `{}` is locked twice (hash {}): keep the first entry",
                    claim.id, claim.hash
                )));
            }
        }
    }
    for trial in &lock.trials {
        check_looks(&trial.id, &trial.design.looks).map_err(problem)?;
        if trial.design.looks.last() != Some(&trial.design.planned) {
            return Err(problem(format!(
                "the trial `{}` has `planned = {}`, and its last look is another one: `looks = {:?}`",
                trial.id, trial.design.planned, trial.design.looks
            )));
        }
    }
    Ok(lock)
}

/// Each look takes more than the one before it: else the error that it may spend is none, or less.
fn check_looks(id: &str, looks: &[usize]) -> Result<(), String> {
    let rises = looks.first() != Some(&0) && looks.windows(2).all(|pair| pair[0] < pair[1]);
    if rises {
        return Ok(());
    }
    Err(format!(
        "`{id}`: `looks = {looks:?}` do not rise from above 0; put back what was there when it was written down"
    ))
}

pub(super) fn write(lock: &Lock) -> Result<String, StudyError> {
    let body = toml::to_string_pretty(lock)
        .map_err(|error| StudyError::Write { what: "lock", message: error.to_string() })?;
    Ok(format!(
        "# Written by cookstudy before it analyses; keep it with the season.\n\
         # It says when each claim was first seen, by this computer's clock, and which cooks were known then.\n\
         # It proves that the words stood there then, if nobody set the clock or wrote in here; not that\n\
         # nobody had looked before.\n{body}"
    ))
}
