//! Two studies side by side: what changed after a corrected card, and why.

use crate::error::StageError;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use store::{Column, Table};
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
    let (before, after) = (read(before)?, read(after)?);
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
    let mut notes = differing_inputs(&before, &after);
    notes.push(format!("{} of {all} claims are the same in both", all - rows.len()));

    let text = |of: &dyn Fn(&ClaimResult) -> Option<String>, later: bool| {
        let side = rows.iter().map(|(_, old, new)| if later { *new } else { *old });
        Column::Text(side.map(|claim| claim.and_then(of)).collect())
    };
    let float = |later: bool| {
        let side = rows.iter().map(|(_, old, new)| if later { *new } else { *old });
        Column::Float(side.map(|claim| Some(claim?.effect.as_ref()?.estimate)).collect())
    };
    let cooks = |later: bool| {
        let side = rows.iter().map(|(_, old, new)| if later { *new } else { *old });
        Column::Int(side.map(|claim| i64::try_from(claim?.n).ok()).collect())
    };
    let verdict = |claim: &ClaimResult| word(&claim.verdict);
    let standing = |claim: &ClaimResult| word(&claim.standing);
    let why = rows.iter().map(|(_, old, new)| Some(why(*old, *new)));
    let table = Table::new()
        .with("claim", Column::Text(rows.iter().map(|(id, ..)| Some((*id).clone())).collect()))
        .with("verdict_before", text(&verdict, false))
        .with("verdict_after", text(&verdict, true))
        .with("estimate_before", float(false))
        .with("estimate_after", float(true))
        .with("cooks_before", cooks(false))
        .with("cooks_after", cooks(true))
        .with("standing_before", text(&standing, false))
        .with("standing_after", text(&standing, true))
        .with("why", Column::Text(why.collect()));
    Ok(StudyDiff { table, notes })
}

fn read(path: &Path) -> Result<StudyResult, StageError> {
    let text = std::fs::read_to_string(path).map_err(|e| StageError::io(path, e))?;
    serde_json::from_str(&text).map_err(|e| StageError::Usage {
        message: format!(
            "{}: not a study.json of this version ({e}); make it anew with `cookstudy study`",
            path.display()
        ),
    })
}

fn word<T: serde::Serialize>(value: &T) -> Option<String> {
    serde_json::to_value(value).ok()?.as_str().map(str::to_owned)
}

/// What may have made the difference, as far as the two results tell.
fn why(old: Option<&ClaimResult>, new: Option<&ClaimResult>) -> String {
    let (old, new) = match (old, new) {
        (Some(old), Some(new)) => (old, new),
        (None, _) => return "a new claim".into(),
        (_, None) => return "withdrawn".into(),
    };
    let mut reasons = Vec::new();
    if old.asked != new.asked {
        reasons.push("the claim itself was changed".to_owned());
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
    if reasons.is_empty() {
        let same_cooks = old.n == new.n;
        reasons.push(if same_cooks {
            "values of the cooks changed".into()
        } else {
            format!("{} cooks are used, before {}", new.n, old.n)
        });
    }
    reasons.join("; ")
}

/// Versions, settings and input files that differ.
fn differing_inputs(before: &StudyResult, after: &StudyResult) -> Vec<String> {
    let (old, new) = (&before.provenance, &after.provenance);
    let mut notes = Vec::new();
    if old.version != new.version {
        notes.push(format!("made by version {} and by version {}", old.version, new.version));
    }
    if old.settings_hash != new.settings_hash {
        notes.push("the settings differ".to_owned());
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
