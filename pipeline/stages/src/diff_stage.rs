//! Two studies side by side: what changed after a corrected card, and why.

mod cells;
mod side;

use self::cells::Changes;
use self::side::Side;
use crate::error::StageError;
use query::Tables;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use store::Table;
use study::result::{ClaimResult, StudyResult};

/// What differs between two studies.
#[derive(Debug, Clone)]
pub struct StudyDiff {
    /// One row a claim that is in either and not the same in both.
    pub table: Table,
    /// What was the same, and which inputs and settings differ.
    pub notes: Vec<String>,
}

/// Compares two `study.json`, claim by claim.
///
/// # Errors
/// A file that cannot be read, or that is no study of this version.
pub fn diff(before: &Path, after: &Path) -> Result<StudyDiff, StageError> {
    let (before, after) = (Side::read(before)?, Side::read(after)?);
    let changes = Changes::between(&before, &after);
    let mut notes: Vec<String> = [&before, &after].iter().filter_map(|s| s.note.clone()).collect();
    notes.extend(changes.iter().flat_map(Changes::notes));
    let (before, after) = (before.study, after.study);
    let mut settings = Vec::new();
    let (old, new) = (&before.provenance.settings, &after.provenance.settings);
    differences("", old, new, &mut settings);
    let of = |study: &StudyResult| -> BTreeMap<String, ClaimResult> {
        study.claims.iter().map(|claim| (claim.id.clone(), claim.clone())).collect()
    };
    let (old, new) = (of(&before), of(&after));
    let ids: BTreeSet<&String> = old.keys().chain(new.keys()).collect();
    let all = ids.len();
    let rows: Vec<(&String, Option<&ClaimResult>, Option<&ClaimResult>)> = ids
        .into_iter()
        .map(|id| (id, old.get(id), new.get(id)))
        .filter(|(_, old, new)| old != new)
        .collect();
    notes.splice(0..0, differing_inputs(&before, &after, &settings));
    notes.push(format!("{} of {all} claims are the same in both", all - rows.len()));

    let changed = columns::table!(
        "claim" => rows.iter().map(|(id, ..)| *id).collect::<Vec<_>>(),
        "why" => rows
            .iter()
            .map(|(_, old, new)| why(*old, *new, &settings, changes.as_ref()))
            .collect::<Vec<_>>(),
    );
    let mut tables = Tables::default();
    tables.add("changed", &changed)?;
    tables.add("earlier", &ClaimResult::rows(&before.claims))?;
    tables.add("later", &ClaimResult::rows(&after.claims))?;
    let table = tables.ask(
        "SELECT c.claim, e.verdict AS verdict_before, l.verdict AS verdict_after,
            e.estimate AS estimate_before, l.estimate AS estimate_after,
            e.cooks AS cooks_before, l.cooks AS cooks_after,
            e.standing AS standing_before, l.standing AS standing_after, c.why
         FROM changed AS c
            LEFT JOIN earlier AS e ON c.claim = e.claim
            LEFT JOIN later AS l ON c.claim = l.claim",
    )?;
    Ok(StudyDiff { table, notes })
}

/// What may have made the difference, as far as the two results tell.
fn why(
    old: Option<&ClaimResult>,
    new: Option<&ClaimResult>,
    settings: &[String],
    changes: Option<&Changes>,
) -> String {
    let (old, new) = match (old, new) {
        (Some(old), Some(new)) => (old, new),
        (None, _) => return "a new claim".into(),
        (_, None) => return "withdrawn".into(),
    };
    let mut reasons = Vec::new();
    if old.asked != new.asked {
        let parts =
            serde_json::to_value(&old.asked).ok().zip(serde_json::to_value(&new.asked).ok());
        let mut differing = Vec::new();
        if let Some((old, new)) = parts {
            differences("", &old, &new, &mut differing);
        }
        reasons.push(format!("the claim itself was changed ({})", differing.join(", ")));
    }
    if !settings.is_empty() {
        reasons.push(format!("settings: {}", settings.join(", ")));
    }
    if old.standing != new.standing {
        reasons.push("other cooks are judged: its standing changed".to_owned());
    }
    if old.family_size != new.family_size {
        reasons.push(format!("its family has {} claims, not {}", new.family_size, old.family_size));
    }
    let left_out: BTreeMap<&str, usize> =
        old.left_out.iter().map(|left| (left.reason.as_str(), left.cooks)).collect();
    let now: BTreeMap<&str, usize> =
        new.left_out.iter().map(|left| (left.reason.as_str(), left.cooks)).collect();
    let all: BTreeSet<&str> = left_out.keys().chain(now.keys()).copied().collect();
    for reason in all {
        let count = |of: &BTreeMap<&str, usize>| of.get(reason).copied().unwrap_or(0);
        if count(&left_out) != count(&now) {
            reasons.push(format!(
                "left out for `{reason}`: {}, before {}",
                count(&now),
                count(&left_out)
            ));
        }
    }
    if let Some(changes) = changes {
        reasons.extend(changes.of_claim(new));
    }
    if reasons.is_empty() {
        reasons.push(if (old.verdict, &old.effect, old.n) == (new.verdict, &new.effect, new.n) {
            "verdict and effect are the same; what stands beside them changed".into()
        } else if old.n == new.n {
            "values of the cooks changed".into()
        } else {
            format!("{} cooks are used, before {}", new.n, old.n)
        });
    }
    reasons.join("; ")
}

/// The values that differ between two JSON objects, by their path: `phases.stall_fraction 0.4 → 0.45`.
fn differences(path: &str, old: &Value, new: &Value, found: &mut Vec<String>) {
    match (old, new) {
        (Value::Object(a), Value::Object(b)) => {
            let keys: BTreeSet<&String> = a.keys().chain(b.keys()).collect();
            for key in keys {
                let below = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                let of = |map: &Map<String, Value>| map.get(key).cloned().unwrap_or_default();
                differences(&below, &of(a), &of(b), found);
            }
        }
        (a, b) if a != b => found.push(format!("{path} {a} → {b}")),
        _ => {}
    }
}

/// Versions, settings and input files that differ.
fn differing_inputs(before: &StudyResult, after: &StudyResult, settings: &[String]) -> Vec<String> {
    let (old, new) = (&before.provenance, &after.provenance);
    let mut notes = Vec::new();
    if old.version != new.version {
        notes.push(format!("made by version {} and by version {}", old.version, new.version));
    }
    notes.extend(settings.iter().map(|setting| format!("season.toml: {setting}")));
    if old.settings_hash != new.settings_hash && settings.is_empty() {
        notes.push("the settings differ, in nothing that the study itself rests on".to_owned());
    }
    let hashes = |study: &StudyResult| -> BTreeMap<String, String> {
        let inputs = study.provenance.inputs.iter();
        inputs.map(|input| (input.path.clone(), input.sha256.clone())).collect()
    };
    let (old, new) = (hashes(before), hashes(after));
    let paths: BTreeSet<&String> = old.keys().chain(new.keys()).collect();
    for path in paths {
        match (old.get(path), new.get(path)) {
            (Some(old), Some(new)) if old == new => {}
            (Some(_), Some(_)) => notes.push(format!("{path} has changed")),
            (None, _) => notes.push(format!("{path} is new")),
            (_, None) => notes.push(format!("{path} is no longer there")),
        }
    }
    notes
}
