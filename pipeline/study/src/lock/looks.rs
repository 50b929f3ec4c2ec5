//! Looks at confirming cooks, as they are planned before the first of them is cooked.

use super::{Lock, LockedClaim, SeenCook, Spending};
use crate::claims::Claim;
use crate::result::TakenLook;
use std::collections::BTreeMap;

/// Cooks from look to look.
const EVERY: usize = 10;
/// Looks at most: with a hundred of them each would take so little of the error that none could decide.
const MOST: usize = 10;
/// So few cooks before the last look another one would only cost.
const JUST_BEFORE: usize = 5;

/// The numbers of confirming cooks at which a claim is looked at: each tenth, the last at `judge_after`;
/// of more than a hundred cooks ten.
///
/// ```
/// assert_eq!(study::lock::planned_looks(40), [10, 20, 30, 40]);
/// assert_eq!(study::lock::planned_looks(12), [12]);
/// assert_eq!(study::lock::planned_looks(400).len(), 10);
/// ```
pub fn planned_looks(judge_after: usize) -> Vec<usize> {
    let step = EVERY * judge_after.div_ceil(EVERY * MOST).max(1);
    let between = (1..).map(|look| look * step);
    let mut looks: Vec<usize> =
        between.take_while(|cooks| cooks + JUST_BEFORE < judge_after).collect();
    looks.push(judge_after);
    looks
}

impl LockedClaim {
    /// The entry of a claim that is seen for the first time. Where nobody knows the instant nothing is
    /// planned: which cooks came later cannot be told.
    pub(super) fn first_seen(claim: &Claim, hash: String, is_dated: bool) -> Self {
        Self {
            id: claim.id.clone(),
            hash,
            looks: if is_dated { planned_looks(claim.judge_after_cooks) } else { Vec::new() },
            spending: is_dated.then_some(Spending::PLANNED),
            judged: BTreeMap::new(),
            taken: Vec::new(),
        }
    }

    /// The look that settled it.
    pub fn seal(&self) -> Option<&TakenLook> {
        self.taken.iter().find(|look| look.seals(&self.looks))
    }

    /// The number of cooks of the next look; `None` where it is sealed, or no looks are planned.
    pub fn next_look(&self) -> Option<usize> {
        if self.seal().is_some() {
            return None;
        }
        let taken = self.taken.last().map_or(0, |look| look.cooks);
        self.looks.iter().copied().find(|cooks| *cooks > taken)
    }
}

impl Lock {
    /// Whether the claim with this hash has as many confirming cooks among `cooks` as its next look
    /// takes. Claims that lots are drawn for are looked at by their trial.
    pub fn is_look_due(&self, hash: &str, cooks: &[SeenCook]) -> bool {
        let Some(family) = self.family(hash) else { return false };
        let next = family.claim(hash).and_then(LockedClaim::next_look);
        next.is_some_and(|next| {
            cooks.iter().filter(|cook| family.is_confirmed_by(cook)).take(next).count() == next
        }) && !self.trials.iter().any(|trial| trial.claim == hash)
    }

    /// Writes down the cooks of a look: those of the look before, and the earliest that confirm besides.
    pub(crate) fn fix_cooks(&mut self, hash: &str, enough: usize, cooks: &[SeenCook]) {
        let Some(family) = self.families.iter_mut().find(|family| family.claim(hash).is_some())
        else {
            return;
        };
        let mut confirming: Vec<&SeenCook> =
            cooks.iter().filter(|cook| family.is_confirmed_by(cook)).collect();
        if confirming.len() < enough {
            return;
        }
        confirming.sort_by_key(|cook| cook.meat_on_ms.unwrap_or(i64::MAX));
        let Some(claim) = family.claims.iter_mut().find(|claim| claim.hash == hash) else { return };
        for cook in confirming {
            if claim.judged.len() >= enough {
                break;
            }
            let is_there = claim.judged.iter().any(|(name, content)| cook.is(name, content));
            if !is_there {
                let (name, content) = cook.entry();
                claim.judged.insert(name, content);
            }
        }
    }

    pub(crate) fn claim_mut(&mut self, hash: &str) -> Option<&mut LockedClaim> {
        let claims = self.families.iter_mut().flat_map(|family| &mut family.claims);
        claims.into_iter().find(|claim| claim.hash == hash)
    }
}
