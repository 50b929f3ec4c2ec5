//! How much a claim's verdict is worth, and on which cooks it is judged.

use crate::claims::Claim;
use crate::error::StudyError;
use crate::lock::Lock;
use crate::table::MeasureTable;
use crate::verdict::Standing;
use std::collections::BTreeSet;

/// The standing of a claim.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ClaimStanding {
    pub(super) standing: Standing,
    pub(super) confirming_cooks: usize,
    pub(super) family_size: usize,
    /// The cooks that are judged, as positions in the table; `None` is all.
    pub(super) judged: Option<BTreeSet<usize>>,
}

/// Works out the standing. A claim that the lock does not know is as if first seen now, by
/// itself.
pub(super) fn of(
    table: &MeasureTable,
    claim: &Claim,
    lock: &Lock,
) -> Result<ClaimStanding, StudyError> {
    let family = lock.family(&claim.hash());
    let is_new: Vec<bool> =
        table.cooks().iter().map(|cook| family.is_some_and(|family| !family.knew(cook))).collect();
    let confirming_cooks = is_new.iter().filter(|new| **new).count();
    let confirmed = confirming_cooks >= claim.judge_after_cooks;
    let judged = if confirmed {
        let order = table.by_meat_on()?;
        let first = order.into_iter().filter(|&position| is_new[position]);
        Some(first.take(claim.judge_after_cooks).collect())
    } else {
        None
    };
    Ok(ClaimStanding {
        standing: if confirmed { Standing::Confirmed } else { Standing::AfterTheFact },
        confirming_cooks,
        family_size: family.map_or(1, crate::lock::Family::size),
        judged,
    })
}
