//! What became of `claims.lock` and of the cooks that it speaks of, for the lines of a run; and the looks
//! that a run takes.

use crate::error::StageError;
use crate::study_stage::{definition_hash, degrees_of_store};
use cook::Season;
use jiff::Timestamp;
use std::collections::BTreeSet;
use store::{Store, Table, TableName};
use study::analysis::{Evidence, take_looks};
use study::claims::ClaimKind;
use study::result::{ClaimResult, TakenLook};
use study::{Claims, Degrees, History, Lock, MeasureTable};

/// What looks are taken from.
pub(crate) struct LooksAsked<'a> {
    pub(crate) store: &'a Store,
    pub(crate) claims: &'a Claims,
    pub(crate) measures: &'a Table,
}

impl LooksAsked<'_> {
    /// Takes the looks that are due, and says what each found.
    pub(crate) fn take(
        &self,
        lock: &mut Lock,
        season: &Season,
        at: Timestamp,
    ) -> Result<Vec<String>, StageError> {
        if self.measures.column("cook").is_none() {
            return Ok(Vec::new());
        }
        let table = MeasureTable::new(self.measures)?;
        let cooks = table.seen_cooks()?;
        let due = |kind: Option<ClaimKind>| {
            self.claims.claims.iter().any(|claim| {
                kind.is_none_or(|kind| claim.kind == kind)
                    && lock.is_look_due(&claim.hash(), &cooks)
            })
        };
        if !due(None) {
            return Ok(Vec::new());
        }
        let (mut history, mut degrees) = (None, None);
        if due(Some(ClaimKind::WrapTiming)) {
            history = Some(History::new(&self.store.read_table(TableName::History)?)?);
            let own = degrees_of_store(self.store, self.claims)?;
            degrees = own.map(|own| Degrees::new(&own)).transpose()?;
        }
        let definition = definition_hash(season);
        let evidence = Evidence {
            history: history.as_ref(),
            degrees: degrees.as_ref(),
            seed: season.study.seed,
            horizon_min: season.study.horizon_min,
            definition: Some(&definition),
            ..Evidence::default()
        };
        let planned = |lock: &Lock, id: &str| -> Vec<usize> {
            let mut claims = lock.families.iter().flat_map(|family| &family.claims);
            claims.find(|claim| claim.id == id).map(|claim| claim.looks.clone()).unwrap_or_default()
        };
        let taken = take_looks(&table, &self.claims.claims, lock, at, evidence)?;
        Ok(taken.iter().map(|(id, look)| said(id, look, &planned(lock, id))).collect())
    }
}

fn said(id: &str, look: &TakenLook, planned: &[usize]) -> String {
    let verdict = look.verdict.heading().to_lowercase();
    let then = if look.seals(planned) {
        "; that is written into claims.lock and stands".to_owned()
    } else {
        let next = planned.iter().find(|cooks| **cooks > look.cooks);
        next.map_or(String::new(), |next| format!("; the next look is at {next}"))
    };
    format!("claim `{id}`: its first {} new cooks say: {verdict}{then}", look.cooks)
}

/// What a lock that is gone or claims that were reworded mean. `was_locked`: the last run had a lock.
pub(crate) fn before(old: Option<&Lock>, was_locked: bool, claims: &Claims) -> Vec<String> {
    let Some(old) = old else {
        let gone = "claims.lock: the file of the last run is gone, so that every claim counts as written down \
                    now and every cook as known: put it back if you have a copy";
        return was_locked.then(|| gone.to_owned()).into_iter().collect();
    };
    let hashes: BTreeSet<String> = claims.claims.iter().map(study::Claim::hash).collect();
    let known = || old.families.iter().flat_map(|family| &family.claims);
    let reworded = claims.claims.iter().filter_map(|claim| {
        let hash = claim.hash();
        let is_new = !known().any(|locked| locked.hash == hash);
        let before = known().find(|locked| locked.id == claim.id && !hashes.contains(&locked.hash))?;
        let sealed = match before.seal() {
            Some(seal) => format!(
                "; what it said before is sealed as {}",
                seal.verdict.heading().to_lowercase()
            ),
            None => String::new(),
        };
        is_new.then(|| {
            format!(
                "claim `{}`: it was reworded since claims.lock has it, so it counts as written down now, \
                 and the cooks until now as known{sealed}; put the words back to go on with the old one",
                claim.id
            )
        })
    });
    reworded.collect()
}

/// What happened to the lock, or to what it speaks of: a line each, however many claims it is said of.
pub(crate) fn after(claims: &[ClaimResult]) -> Vec<String> {
    let mut told: Vec<(&str, Vec<String>)> = Vec::new();
    for claim in claims {
        for warning in &claim.lock_warnings {
            let id = format!("`{}`", claim.id);
            match told.iter_mut().find(|(said, _)| said == warning) {
                Some((_, ids)) => ids.push(id),
                None => told.push((warning, vec![id])),
            }
        }
    }
    let line = |(said, ids): (&str, Vec<String>)| {
        let claims = if ids.len() == 1 { "claim" } else { "claims" };
        format!("claims.lock: {claims} {}: {said}", ids.join(", "))
    };
    told.into_iter().map(line).collect()
}
