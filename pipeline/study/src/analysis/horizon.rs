//! What logs that ended early leave open.
//!
//! Restricted means take it that a cook whose log ended went on as those that were still watched did,
//! and they say nothing of the time beyond the last that was watched. That a difference is too small
//! to matter, or that one that matters is ruled out, is then said only if no fate of the cut cooks could
//! overturn it: the claim is judged once more with each cut cook taken as finishing at once, or at twice
//! the horizon, so that one side is favoured most, and then the other. These are bounds without any
//! assumption: Manski (1990), "Nonparametric bounds on treatment effects", American Economic Review
//! 80(2), 319–323, of an outcome between nought and twice the horizon. A claim that names its horizon
//! asks of the time up to there alone and is not held to this.

use super::{By, effect};
use crate::claims::Claim;
use crate::error::StudyError;
use crate::regression::{Data, NotFitted};
use crate::result::ClaimResult;
use crate::verdict::Verdict;

/// Cooks that were cut, among those that are used.
pub(super) struct Cut {
    /// The time of each, or its lower bound.
    pub(super) times: Vec<f64>,
    /// True where it is a lower bound.
    pub(super) bounds: Vec<bool>,
    /// Up to where time was to be counted.
    pub(super) horizon: f64,
}

/// Leaves open what the cut cooks could overturn.
pub(super) fn limit(
    claim: &Claim,
    by: &By,
    data: &Data,
    cut: &Cut,
    level: f64,
    result: &mut ClaimResult,
) -> Result<(), NotFitted> {
    let verdict = result.verdict;
    if !matters_of_absence(verdict) || upheld(claim, by, data, cut, level, verdict)? {
        return Ok(());
    }
    result.verdict = Verdict::Open;
    let count = cut.bounds.iter().filter(|bound| **bound).count();
    result.notes.push(left_open(count, cut.bounds.len(), verdict));
    Ok(())
}

/// Whether a verdict says that something is not there.
pub(super) fn matters_of_absence(verdict: Verdict) -> bool {
    matches!(verdict, Verdict::No | Verdict::TooSmallToMatter)
}

/// Why it is open.
pub(super) fn left_open(cut: usize, cooks: usize, verdict: Verdict) -> String {
    let what = if verdict == Verdict::No {
        "rules out a difference that matters"
    } else {
        "shows a difference too small to matter"
    };
    format!(
        "what was watched {what}, but {cut} of {cooks} cooks ({:.0} %) were cut before they finished: \
         had they gone on long on one side, the answer could be another; log cooks to the finish, or \
         write a claim with `horizon_min`, which asks of the time up to there alone",
        100.0 * cut as f64 / cooks as f64
    )
}

fn upheld(
    claim: &Claim,
    by: &By,
    data: &Data,
    cut: &Cut,
    level: f64,
    verdict: Verdict,
) -> Result<bool, NotFitted> {
    let statistics = |error| NotFitted::Failed(StudyError::Statistics(error));
    let place = data.terms.iter().position(|term| *term == by.term).unwrap_or_default();
    let column = &data.columns[place];
    let middle = column.iter().sum::<f64>() / column.len() as f64;
    for late_above in [true, false] {
        let end = |row: usize| match (cut.bounds[row], (column[row] > middle) == late_above) {
            (true, true) => 2.0 * cut.horizon,
            _ => cut.times[row],
        };
        let extreme = Data { y: (0..cut.times.len()).map(end).collect(), ..data.clone() };
        let fitted = match extreme.fit() {
            Ok(fitted) => fitted,
            Err(NotFitted::Refused(_)) => return Ok(false),
            Err(failed) => return Err(failed),
        };
        let found = effect::estimate(claim, &by.term, &fitted.estimates, &fitted.rows)
            .map_err(statistics)?;
        let interval = fitted.infer(&found, level).map_err(statistics)?.interval;
        let there = effect::verdict(claim, found.estimate.estimate, interval);
        let holds = match verdict {
            Verdict::TooSmallToMatter => there == Some(Verdict::TooSmallToMatter),
            _ => matches!(there, Some(Verdict::No | Verdict::TooSmallToMatter | Verdict::Reverse)),
        };
        if !holds {
            return Ok(false);
        }
    }
    Ok(true)
}
