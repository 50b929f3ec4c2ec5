//! What is shown beside the answer: the difference as a model, the pace by degree, rows of the natural course.

use super::RESAMPLES;
use super::cooks::Pace;
use crate::result::g_formula::{GFormula, Held, PaceDegree};
use crate::result::wrap_timing::Difference;
use crate::result::{Model, Term, finite};
use stats::Estimate;

/// Level of the intervals of terms.
const TERM_LEVEL: f64 = 0.95;

/// The difference as a model, for `study.json`.
pub(in crate::analysis) fn model(found: &GFormula, difference: Difference) -> Model {
    let estimated = Estimate {
        estimate: difference.estimate,
        std_error: difference.std_error,
        df: found.fires as f64 - 1.0,
    };
    let interval = estimated.interval(TERM_LEVEL).ok();
    Model {
        name: "g-formula".into(),
        method: format!(
            "every cook run on from its own state, dose by dose; standard error from {RESAMPLES} draws of {} fires \
             and a model error of {:.0} min, min up to {:.0} min",
            found.fires, found.model_error_min, found.horizon_min
        ),
        n: found.n,
        events: 0,
        log_likelihood: None,
        residual_variance: None,
        random: Vec::new(),
        terms: vec![Term {
            term: "difference".into(),
            estimate: finite(difference.estimate),
            std_error: finite(difference.std_error),
            lo: interval.and_then(|i| finite(i.lo)),
            hi: interval.and_then(|i| finite(i.hi)),
            df: finite(estimated.df),
            statistic: finite(estimated.statistic()),
            p: finite(estimated.p_value()),
        }],
    }
}

/// Median minutes of each degree, wrapped in each method and not.
pub(super) fn pace_by_degree(pace: &Pace) -> Vec<PaceDegree> {
    let mut out = Vec::new();
    let levels = std::iter::once(None).chain((0..pace.methods.len()).map(Some));
    for level in levels {
        for degree in 55..88 {
            let mut minutes: Vec<f64> = pace
                .cooks
                .iter()
                .flat_map(|cook| &cook.steps)
                .filter(|step| {
                    step.passed
                        && step.part > 0.99
                        && step.is_learnt
                        && step.state.wrap.map(|on| on.level) == level
                        && (step.state.core_c - f64::from(degree)).abs() < 0.5
                })
                .map(|step| step.minutes)
                .collect();
            if minutes.len() < 3 {
                continue;
            }
            minutes.sort_unstable_by(f64::total_cmp);
            let at = |p: f64| stats::describe::quantile(&minutes, p).unwrap_or(f64::NAN);
            out.push(PaceDegree {
                degree_c: f64::from(degree),
                wrapped_in: level.map(|level| pace.methods[level].to_string()),
                cooks: minutes.len(),
                median_min: at(0.5),
                quarter_min: at(0.25),
                three_quarters_min: at(0.75),
            });
        }
    }
    out
}

/// A row of the natural course.
pub(super) fn held(group: &str, observed: &[f64], simulated: &[f64]) -> Held {
    let of = |values: &[f64]| {
        let mean = stats::describe::mean(values).unwrap_or(f64::NAN);
        (mean, stats::describe::standard_deviation(values).unwrap_or(0.0))
    };
    let ((observed_mean_min, observed_sd_min), (simulated_mean_min, simulated_sd_min)) =
        (of(observed), of(simulated));
    Held {
        group: group.to_owned(),
        cooks: observed.len(),
        simulated: simulated.len(),
        observed_mean_min,
        simulated_mean_min,
        observed_sd_min,
        simulated_sd_min,
    }
}
