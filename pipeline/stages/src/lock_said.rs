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

#[cfg(test)]
mod tests {
    use super::*;
    use columns::table;
    use std::path::Path;
    use study::lock::{Look, SeenCook};

    const CLAIMS: &str = "[[claim]]\nid = \"ONE\"\nsays = \"s\"\nkind = \"trend\"\noutcome = \"y\"\nbetter = \"lower\"\n\
                          by = \"x\"\nper = 1\nmatters = 5\n";

    fn claims() -> Claims {
        let text = ["one", "two"].map(|id| CLAIMS.replace("ONE", id)).concat();
        Claims::parse(&text, Path::new("claims.toml")).unwrap()
    }

    fn judged(known: &[SeenCook]) -> Vec<ClaimResult> {
        let frame = table!(
            "cook" => ["a", "b", "c", "d", "e", "f", "g", "h"],
            "x" => [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0],
            "y" => [9.0, 7.5, 8.0, 6.0, 6.5, 4.0, 3.5, 3.0],
        );
        let table = MeasureTable::new(&frame).unwrap();
        let (claims, at) = (claims(), "2026-03-01T10:00:00Z".parse().unwrap());
        let lock = Lock::look(None, &claims, &Look { at, definition: "d", cooks: known });
        let judge = |claim| study::analysis::judge(&table, claim, &lock, Evidence::default());
        claims.claims.iter().map(|claim| judge(claim).unwrap()).collect()
    }

    fn cook(name: &str) -> SeenCook {
        SeenCook { name: name.into(), content: Some(format!("{name}-content")), meat_on_ms: None }
    }

    #[test]
    fn cooks_that_are_gone_are_said_once_for_all_claims() {
        assert_eq!(after(&judged(&[cook("a"), cook("b")])), Vec::<String>::new());
        let said = after(&judged(&[cook("a"), cook("lost-1"), cook("lost-2")]));
        assert_eq!(
            said,
            [
                "claims.lock: claims `one`, `two`: 2 cooks known when it was written down are no longer here (lost-1, \
              lost-2): what all cooks say changes with them"
            ]
        );
        let said = after(&judged(&[cook("lost-1")]));
        assert!(
            said[0].contains("1 cook known when it was written down is no longer here"),
            "{said:?}"
        );
    }

    #[test]
    fn a_lock_that_is_gone_and_a_claim_that_was_reworded_are_said() {
        let look =
            Look { at: "2026-03-01T10:00:00Z".parse().unwrap(), definition: "d", cooks: &[] };
        let lock = Lock::look(None, &claims(), &look);
        assert_eq!(before(Some(&lock), true, &claims()), Vec::<String>::new());
        assert_eq!(before(None, false, &claims()), Vec::<String>::new());
        let said = before(None, true, &claims());
        assert!(said[0].starts_with("claims.lock: the file of the last run is gone"), "{said:?}");
        let text = ["one", "two"].map(|id| CLAIMS.replace("ONE", id)).concat();
        let other =
            Claims::parse(&text.replacen("matters = 5", "matters = 9", 1), Path::new("c")).unwrap();
        let said = before(Some(&lock), true, &other);
        assert!(said.len() == 1 && said[0].starts_with("claim `one`: it was reworded"), "{said:?}");
    }
}
