//! Times to the finish of which some are lower bounds, as pseudo-values of the restricted mean.
//!
//! The restricted mean is the area under the Kaplan–Meier curve up to a horizon: the mean time to the
//! finish, counted up to there. A cook's pseudo-value is n times that of all n cooks less n − 1 times
//! that without it; where nothing is a lower bound it is the cook's own time, cut at the horizon. The
//! horizon is the claim's or the season's, both written down before looking. A curve is known up to it
//! where every log that ended early was outlasted by enough others; where not, time is counted up to
//! where it is known, and a claim that named its horizon is refused. A
//! regression of pseudo-values estimates differences of restricted means (Andersen, Hansen & Klein
//! 2004, Lifetime Data Analysis 10, 335–350). Curves are those of each compared level, so that logs
//! may end early more often in one of them.

use super::By;
use crate::claims::{Claim, Scale};
use crate::outcome::Outcome;
use crate::regression::{NotFitted, Regression};
use crate::result::ClaimResult;
use crate::rows::Rows;
use columns::measures;
use stats::{Followup, KaplanMeier, StatsError};

/// So many cooks of a level must be at risk where one of its logs ends early, itself among them: as in
/// wrap timing.
const AT_RISK: usize = 5;

/// Times as a regression can take them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PseudoValues {
    /// Up to where time was to be counted, in the unit of the times.
    pub(super) asked: f64,
    /// Up to where it is counted.
    pub(super) horizon: f64,
    /// One a row.
    pub(super) values: Vec<f64>,
}

/// The pseudo-values of a claim's outcome, one a used row, if it is a time to the finish with lower
/// bounds among it or counted up to a horizon that the claim names.
///
/// # Errors
/// A logarithmic scale; a named horizon up to which too little is known; too few cooks: see
/// [`pseudo_values`].
pub(super) fn of_claim(
    claim: &Claim,
    outcome: &Outcome,
    rows: &Rows,
    by: &By,
    of_season: f64,
) -> Result<Option<PseudoValues>, NotFitted> {
    let bounds = rows.censored(outcome) > 0;
    if claim.outcome != measures::CLOCK_TO_FINISH_MIN.name
        || !(bounds || claim.horizon_min.is_some())
    {
        return Ok(None);
    }
    if claim.scale == Scale::Log && !bounds {
        return Err(NotFitted::Refused(
            "`horizon_min` asks of a mean up to there, which has no logarithmic scale; write `scale \
             = \"identity\"`"
                .into(),
        ));
    }
    if claim.scale == Scale::Log {
        return Err(NotFitted::Refused(format!(
            "{} of {} cooks ended before the finish temperature: their times are compared by \
             restricted means, which have no logarithmic scale; write `scale = \"identity\"`",
            rows.censored(outcome),
            rows.used.len()
        )));
    }
    // A trend has one curve, a comparison one for each level.
    let second =
        |row: &usize| usize::from(by.levels.get(*row).is_some() && by.values[*row] == Some(0.0));
    let level: Vec<usize> = rows.used.iter().map(second).collect();
    let asked = claim.horizon_min.unwrap_or(of_season);
    let found = pseudo_values(&rows.take(&outcome.values), &rows.observed(outcome), &level, asked)?;
    if claim.horizon_min.is_some() && found.horizon < asked {
        return Err(NotFitted::Refused(format!(
            "the claim counts up to {asked:.0} min, but so many logs ended early that only {:.0} min are \
             known; log more cooks to there",
            found.horizon
        )));
    }
    Ok(Some(found))
}

impl PseudoValues {
    /// Names the model, and says what a reader must know of it.
    pub(super) fn describe(
        &self,
        claim: &Claim,
        bounds: usize,
        regression: &mut Regression,
        result: &mut ClaimResult,
    ) {
        let model = &mut regression.model;
        model.name = "restricted-mean".into();
        model.events = model.n - bounds;
        model.log_likelihood = None;
        model.method = format!(
            "pseudo-values of the restricted mean up to {:.0} min, {}",
            self.horizon, model.method
        );
        result.horizon_min = Some(self.horizon);
        let up_to =
            format!("means are of the time to the finish, counted up to {:.0} min", self.horizon);
        result.notes.push(if bounds > 0 {
            format!(
                "{bounds} of {} cooks ended before the finish temperature and count with the time that \
                 is known of them: {up_to}",
                model.n
            )
        } else {
            format!("the claim names its horizon: {up_to} at most")
        });
        if bounds > 0 && !claim.group.is_empty() {
            result.notes.push(format!(
                "`mixed` is left out: {bounds} of {} outcomes are lower bounds, which it does not allow \
                 for; the interval is clustered by fire",
                model.n
            ));
        }
    }
}

/// The pseudo-values of `time` up to `asked`, within each level of `level`. `ended` is false where a
/// time is a lower bound; one that reaches `asked` is known as far as is asked.
///
/// # Errors
/// A level of one row; a level of fewer than five rows with a lower bound among them.
pub(super) fn pseudo_values(
    time: &[f64],
    ended: &[bool],
    level: &[usize],
    asked: f64,
) -> Result<PseudoValues, NotFitted> {
    let ended: &Vec<bool> =
        &time.iter().zip(ended).map(|(time, ended)| *ended || *time >= asked).collect();
    let time: &Vec<f64> = &time.iter().map(|time| time.min(asked)).collect();
    let levels = level.iter().max().map_or(0, |most| most + 1);
    let rows_of: Vec<Vec<usize>> = (0..levels)
        .map(|own| (0..time.len()).filter(|&row| level[row] == own).collect())
        .filter(|rows: &Vec<usize>| !rows.is_empty())
        .collect();
    let bears = rows_of.iter().map(|rows| borne(time, ended, rows)).collect::<Option<Vec<f64>>>();
    let Some(bears) = bears else {
        return Err(NotFitted::Refused(format!(
            "too few cooks: some ended before the finish temperature, and fewer than {AT_RISK} can be \
             compared"
        )));
    };
    let horizon = bears.into_iter().fold(asked, f64::min);
    let mut values = vec![f64::NAN; time.len()];
    for rows in &rows_of {
        let mean = |rows: &[usize]| restricted_mean(time, ended, rows, horizon);
        let n = rows.len() as f64;
        let all = mean(rows).map_err(failed)?;
        for &row in rows {
            let others: Vec<usize> = rows.iter().copied().filter(|&other| other != row).collect();
            values[row] = n * all - (n - 1.0) * mean(&others).map_err(failed)?;
        }
    }
    Ok(PseudoValues { asked, horizon, values })
}

fn failed(error: StatsError) -> NotFitted {
    NotFitted::Failed(error.into())
}

/// Up to where the curve of some rows is known, with and without any of them.
fn borne(time: &[f64], ended: &[bool], rows: &[usize]) -> Option<f64> {
    let last_bound = rows.iter().filter(|&&row| !ended[row]).map(|&row| time[row]);
    let Some(last_bound) = last_bound.reduce(f64::max) else {
        return (rows.len() > 1).then_some(f64::INFINITY);
    };
    if rows.iter().filter(|&&row| time[row] >= last_bound).count() >= AT_RISK
        && rows.iter().any(|&row| time[row] > last_bound)
    {
        return Some(f64::INFINITY);
    }
    let mut times: Vec<f64> = rows.iter().map(|&row| time[row]).collect();
    times.sort_unstable_by(|a, b| b.total_cmp(a));
    times.get(AT_RISK - 1).copied()
}

fn restricted_mean(
    time: &[f64],
    ended: &[bool],
    rows: &[usize],
    horizon: f64,
) -> Result<f64, StatsError> {
    let times: Vec<f64> = rows.iter().map(|&row| time[row]).collect();
    let events: Vec<bool> = rows.iter().map(|&row| ended[row]).collect();
    KaplanMeier::fit(&Followup::right_censored(&times, &events)?).restricted_mean(horizon)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Worked by hand: the curve of 1, 2+, 3, 3+, 3+, 3+ is 1 up to 1 and 5/6 from there up to 3.
    #[test]
    fn a_lower_bound_has_the_pseudo_value_worked_by_hand() {
        let time = [1.0, 2.0, 3.0, 3.0, 3.0, 3.0];
        let ended = [true, false, true, false, false, false];
        let found = pseudo_values(&time, &ended, &[0; 6], 720.0).unwrap();
        // The fifth of the latest is at 2.
        assert_eq!(found.horizon, 2.0);
        // All: 1 + 5/6. Without the first: 2. Without any other: 1 + 4/5.
        let other = 6.0 * (11.0 / 6.0) - 5.0 * 1.8;
        for (value, wanted) in found.values.iter().zip([1.0, other, other, other, other, other]) {
            assert!((value - wanted).abs() < 1e-12, "{value} {wanted}");
        }
    }

    /// A log that ended early while others went on leaves the curve known to its end.
    #[test]
    fn a_log_that_others_outlast_cuts_nothing() {
        let time = [100.0, 200.0, 250.0, 300.0, 350.0, 400.0];
        let ended = [false, true, true, true, true, true];
        let found = pseudo_values(&time, &ended, &[0; 6], 720.0).unwrap();
        assert_eq!((found.asked, found.horizon), (720.0, 720.0));
        // Cut as late as the second latest, it leaves too few behind.
        let late = [380.0, 200.0, 250.0, 300.0, 350.0, 400.0];
        assert_eq!(pseudo_values(&late, &ended, &[0; 6], 720.0).unwrap().horizon, 250.0);
        // But not where no more is asked than it was watched.
        let short = pseudo_values(&late, &ended, &[0; 6], 300.0).unwrap();
        assert_eq!(short.horizon, 300.0);
        for (value, wanted) in short.values.iter().zip([300.0, 200.0, 250.0, 300.0, 300.0, 300.0]) {
            assert!((value - wanted).abs() < 1e-9, "{value} {wanted}");
        }
    }

    #[test]
    fn too_few_at_risk_are_refused() {
        let found = pseudo_values(&[1.0, 2.0], &[true, false], &[0, 0], 720.0);
        assert!(matches!(found, Err(NotFitted::Refused(_))));
        let one = pseudo_values(&[1.0], &[true], &[0], 720.0);
        assert!(matches!(one, Err(NotFitted::Refused(_))));
    }

    proptest! {
        /// Where everything ended, pseudo-values are the times themselves.
        #[test]
        fn times_that_ended_are_their_own(
            rows in prop::collection::vec((1.0..600.0_f64, 0_usize..2), 6..40)
        ) {
            let mut level: Vec<usize> = rows.iter().map(|row| row.1).collect();
            level[..4].copy_from_slice(&[0, 0, 1, 1]);
            let time: Vec<f64> = rows.iter().map(|row| row.0).collect();
            let found = pseudo_values(&time, &vec![true; time.len()], &level, 720.0).unwrap();
            for (value, time) in found.values.iter().zip(&time) {
                prop_assert!((value - time).abs() < 1e-9 * found.horizon);
            }
        }
    }
}
