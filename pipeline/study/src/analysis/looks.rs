//! Planned looks at confirming cooks, taken when they are due.
//!
//! Look k of K rests on the first `n_k` confirming cooks. The family's two-sided error 0.10·s/m is spent on
//! the looks by Lan & `DeMets`' function of O'Brien & Fleming's form with the information `n_k/n_K`; the interval
//! of look k has the level 1 − 2(1 − Φ(c)) for its boundary c. Such repeated confidence intervals hold the
//! truth at all looks together (Jennison & Turnbull 1989, "Interim analyses: the repeated confidence interval
//! approach", Journal of the Royal Statistical Society B 51, 305–361), so that whoever stops at the first
//! look that decides is wrong no more often than the budget says. The boundary is that of normal statistics;
//! the interval takes it as a level of Student's t with the look's own degrees of freedom.

use super::standing::ClaimStanding;
use super::{Depth, Evidence, judged_as, standing};
use crate::claims::{Claim, hex};
use crate::error::StudyError;
use crate::lock::{Lock, Spending};
use crate::result::{ClaimResult, TakenLook};
use crate::table::MeasureTable;
use crate::verdict::{Standing, Verdict, interval_level};
use columns::measures;
use jiff::Timestamp;
use sha2::{Digest, Sha256};
use stats::Estimate;
use stats::sequential::spending_boundary;
use std::collections::BTreeSet;

/// Level of the interval of the look at `cooks`, of a claim that is looked at as `planned` and spends so, when all of its
/// looks together have the level `whole`.
fn level_at(
    whole: f64,
    (planned, spending): (&[usize], Spending),
    cooks: usize,
) -> Result<f64, StudyError> {
    let last = planned.last().copied().unwrap_or(cooks) as f64;
    let until = planned.iter().filter(|look| **look <= cooks);
    let information: Vec<f64> = until.map(|look| *look as f64 / last).collect();
    if information == [1.0] {
        return Ok(whole);
    }
    let alpha = (1.0 - whole) / 2.0;
    let upper = spending_boundary(spending.function(), alpha, &information, false)?;
    let z = upper.last().copied().unwrap_or(f64::INFINITY);
    let normal = Estimate { estimate: z, std_error: 1.0, df: f64::INFINITY };
    Ok(1.0 - normal.p_value())
}

/// Takes the looks that are due and writes them into the lock; gives them, by the claim's name.
///
/// A look that is open leaves the next one to come; one that decides, or the last, seals the claim. No look
/// is taken under another phase definition than that of the lock.
///
/// # Errors
/// As [`judge`](super::judge).
pub fn take_looks(
    table: &MeasureTable,
    claims: &[Claim],
    lock: &mut Lock,
    at: Timestamp,
    evidence: Evidence<'_>,
) -> Result<Vec<(String, TakenLook)>, StudyError> {
    let cooks = table.seen_cooks()?;
    let mut taken = Vec::new();
    for claim in claims {
        let hash = claim.hash();
        while lock.is_look_due(&hash, &cooks) {
            let Some(family) = lock.family(&hash) else { break };
            let Some(locked) = family.claim(&hash) else { break };
            let is_moved = evidence.definition.is_none()
                || family
                    .definition
                    .as_deref()
                    .is_some_and(|then| evidence.definition != Some(then));
            let Some(enough) = locked.next_look().filter(|_| !is_moved) else { break };
            let whole = interval_level(family.size(), family.share);
            let spending = locked.spending.unwrap_or(Spending::PLANNED);
            let level = level_at(whole, (&locked.looks, spending), enough)?;
            let planned = locked.looks.clone();
            lock.fix_cooks(&hash, enough, &cooks);
            let mut now = standing::of(table, claim, lock, evidence.definition)?;
            let Some(judged) = lock.family(&hash).and_then(|family| {
                let fixed = &family.claim(&hash)?.judged;
                let place = |(name, content): (&String, &String)| {
                    cooks.iter().position(|cook| cook.is(name, content))
                };
                fixed.iter().map(place).collect::<Option<BTreeSet<usize>>>()
            }) else {
                // A cook of an earlier look is gone: the standing says so.
                break;
            };
            now = ClaimStanding {
                standing: Standing::Confirmed,
                look_level: Some(level),
                judged: Some(judged),
                ..now
            };
            let found = judged_as(table, claim, &now, Depth::Verdict, evidence)?;
            let look = TakenLook {
                at: at.to_string(),
                cooks: enough,
                verdict: found.verdict,
                estimate: found.effect.as_ref().map(|effect| effect.estimate),
                lo: found.effect.as_ref().and_then(|effect| effect.lo),
                hi: found.effect.as_ref().and_then(|effect| effect.hi),
                level,
                estimator: estimator(&found),
                data: data_hash(table, claim, now.judged.iter().flatten().copied())?,
                definition: evidence.definition.unwrap_or_default().to_owned(),
                rules: claim.kind.rules(),
            };
            taken.push((claim.id.clone(), look.clone()));
            let is_sealed = look.seals(&planned);
            if let Some(locked) = lock.claim_mut(&hash) {
                locked.taken.push(look);
            }
            if is_sealed {
                break;
            }
        }
    }
    Ok(taken)
}

/// The model that the verdict rests on.
pub(super) fn estimator(found: &ClaimResult) -> Option<String> {
    if found.verdict == Verdict::Refused {
        return None;
    }
    let by_degrees = found.g_formula.as_ref().is_some_and(|own| own.judges().is_some());
    if by_degrees {
        return Some("g-formula".into());
    }
    if found.wrap_timing.is_some() {
        return Some("clone-censor-weight".into());
    }
    found.models.first().map(|model| model.name.clone())
}

/// Hash of what a claim is judged from: of each cook its content and fire-mates, its outcome with what makes
/// it a bound, its side and its adjusters, whatever the cooks are called.
pub(super) fn data_hash(
    table: &MeasureTable,
    claim: &Claim,
    rows: impl Iterator<Item = usize>,
) -> Result<String, StudyError> {
    let mut columns: Vec<&str> = vec![&claim.outcome];
    columns.extend(claim.by.as_deref());
    columns.extend(claim.adjust.iter().map(String::as_str));
    columns.extend([
        measures::FINISH_REACHED.name,
        measures::WRAP_METHOD.name,
        measures::CLOCK_TO_WRAP_MIN.name,
        measures::EXCLUDE.name,
    ]);
    let texts = columns
        .into_iter()
        .map(|column| table.texts_or_missing(column))
        .collect::<Result<Vec<_>, _>>()?;
    let cooks = table.seen_cooks()?;
    let rounded = |text: &String| match text.parse::<f64>() {
        // To six digits, so that the last bits of a sum are no change.
        Ok(number) if number.is_finite() => format!("{number:.5e}"),
        _ => text.clone(),
    };
    let mut lines: Vec<String> = rows
        .map(|row| {
            let content = cooks[row].content.clone().unwrap_or_else(|| cooks[row].name.clone());
            let cells =
                texts.iter().map(|column| column[row].as_ref().map_or(String::new(), rounded));
            format!("{content}\t{}", cells.collect::<Vec<_>>().join("\t"))
        })
        .collect();
    lines.sort();
    let hash = Sha256::digest(lines.join("\n").as_bytes());
    Ok(hex(&hash[..16]))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One-sided boundaries of Lan and `DeMets`' function for four equal looks at 2.5 %, as commonly printed
    /// (4.333, 2.963, 2.359, 2.014; from memory, recomputed here).
    #[test]
    fn looks_share_the_error() {
        let planned = [10, 20, 30, 40];
        for (cooks, z) in [(10, 4.333), (20, 2.963), (30, 2.359), (40, 2.014)] {
            let level = level_at(0.95, (&planned, Spending::PLANNED), cooks).unwrap();
            let p = Estimate { estimate: z, std_error: 1.0, df: f64::INFINITY }.p_value();
            assert!(((1.0 - level) / p - 1.0).abs() < 0.01, "{cooks}: {level}");
        }
        // One look has all of it.
        assert_eq!(level_at(0.94, (&[12], Spending::PLANNED), 12).unwrap(), 0.94);
    }
}
