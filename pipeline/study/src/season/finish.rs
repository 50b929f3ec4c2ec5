//! Share of cooks that have not reached the finish, by wrap, with numbers at risk: described, not
//! caused.

use crate::error::StudyError;
use crate::outcome::Outcome;
use crate::result::finish::{FinishByWrap, FinishCurve, FinishStep};
use crate::rows::Rows;
use crate::table::MeasureTable;
use columns::measures;
use stats::{Followup, KaplanMeier};
use std::collections::BTreeMap;

/// Fewest cooks of a wrap for a curve.
const FEWEST: usize = 5;
/// Numbers at risk are told this often, min.
const RISK_EVERY_MIN: f64 = 120.0;
/// Level of the intervals.
const LEVEL: f64 = 0.95;

pub(super) fn by_wrap(table: &MeasureTable) -> Result<Option<FinishByWrap>, StudyError> {
    const OUTCOME: &str = measures::CLOCK_TO_FINISH_MIN.name;
    if !table.has(OUTCOME) || !table.has(measures::WRAP_METHOD.name) {
        return Ok(None);
    }
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    let outcome = Outcome::read(table, OUTCOME)?;
    rows.keep_outcome(OUTCOME, &outcome);
    let wraps = table.texts(measures::WRAP_METHOD.name)?;
    let mut groups: BTreeMap<&str, Vec<(f64, bool)>> = BTreeMap::new();
    for &row in &rows.used {
        if let (Some(wrap), Some(minutes)) = (wraps[row].as_deref(), outcome.values[row])
            && minutes > 0.0
        {
            groups.entry(wrap).or_default().push((minutes, outcome.censored[row] != Some(true)));
        }
    }
    let too_few = groups.values().filter(|group| group.len() < FEWEST).map(Vec::len).sum();
    groups.retain(|_, group| group.len() >= FEWEST);
    if groups.len() < 2 {
        return Ok(None);
    }
    let last = groups.values().flatten().map(|row| row.0).fold(0.0, f64::max);
    let risk_at_min: Vec<f64> =
        (0..=(last / RISK_EVERY_MIN) as usize).map(|i| i as f64 * RISK_EVERY_MIN).collect();
    let curves = groups
        .into_iter()
        .map(|(wrap, group)| curve(wrap, &group, &risk_at_min))
        .collect::<Result<_, StudyError>>()?;
    Ok(Some(FinishByWrap {
        heading: "by wrap: described, not caused".to_owned(),
        risk_at_min,
        curves,
        level: LEVEL,
        too_few,
    }))
}

fn curve(
    wrap: &str,
    group: &[(f64, bool)],
    risk_at_min: &[f64],
) -> Result<FinishCurve, StudyError> {
    let (minutes, finished): (Vec<f64>, Vec<bool>) = group.iter().copied().unzip();
    let fitted = KaplanMeier::fit(&Followup::right_censored(&minutes, &finished)?);
    let median = fitted.quantile(0.5, LEVEL)?;
    let mut steps = Vec::with_capacity(fitted.steps.len());
    for step in &fitted.steps {
        let interval = step.interval(LEVEL)?;
        steps.push(FinishStep {
            min: step.time,
            share: step.survival,
            lo: interval.map(|ends| ends.lo),
            hi: interval.map(|ends| ends.hi),
            censored: step.censored,
        });
    }
    Ok(FinishCurve {
        wrap: wrap.to_owned(),
        cooks: group.len(),
        finished: finished.iter().filter(|finished| **finished).count(),
        median_min: median.estimate,
        median_lo_min: median.lo,
        median_hi_min: median.hi,
        steps,
        at_risk: fitted.at_risk(risk_at_min),
    })
}
