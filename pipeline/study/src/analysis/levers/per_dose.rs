//! What a dose adds to the time to the finish, and to the core's rise over the half hour after.
//!
//! Both by [`stats::GEstimation`]: at each step only cooks that have come that far are compared, those
//! given a dose in it with those not, alike in their history; doses that follow are taken out by the
//! effect itself. Cooks that were pulled because time was up, or lost, have no time to the finish:
//! the others stand for them, weighted by the inverse probability of having been seen to the end
//! (Robins & Finkelstein 2000, Biometrics 56, 779–788).

use super::steps::{BY_THE_CLOCK, History, STEP_MIN, Step};
use crate::analysis::wrap_timing::cooks::{Cook, End};
use crate::analysis::wrap_timing::estimate::TRUNCATE_AT;
use crate::regression::{TERM_LEVEL, model_terms};
use crate::result::lever::LeverEffect;
use crate::result::{Model, Term, finite};
use stats::{
    Design, Doses, ErrorKind, GEstimation, LeastSquares, Logistic, LogisticOptions, StatsError,
};
use std::collections::BTreeSet;

/// Fewest cooks with a dose and fewest without one in a step, fewest fires of the former: what is
/// below rests on a handful of cooks. The project's own rule, no source.
const FEWEST_COOKS: usize = 20;
const FEWEST_FIRES: usize = 10;
/// Fewest cooks with and without a dose behind an association.
pub(super) const FEWEST_WITH_COX: usize = 10;
/// The core's rise is looked at over so long, min.
const RISE_AFTER_MIN: f64 = 30.0;

/// Steps and what came after them, ready to be estimated from.
struct Rows<'a> {
    steps: Vec<&'a Step>,
    /// All the dose that counts, the step's own with it.
    dose: Vec<f64>,
    outcome: Vec<f64>,
    weights: Option<Vec<f64>>,
}

/// An effect with its models, or why there is none.
pub(super) type Estimated = Result<(LeverEffect, Vec<Model>), String>;

/// Whether a cook was seen to the finish, or pulled tender before.
fn is_whole(cook: &Cook<'_>) -> bool {
    matches!(cook.end, End::Finish | End::Tender)
}

/// Minutes to the finish, per dose.
pub(super) fn to_finish(cooks: &[Cook<'_>], steps: &[Step]) -> Estimated {
    let weights = seen_to_the_end(cooks, steps).map_err(|error| cannot(&error))?;
    let mut rows = Rows { steps: Vec::new(), dose: Vec::new(), outcome: Vec::new(), weights: None };
    let mut weighted = Vec::new();
    let mut from = steps.len();
    let mut coming = 0.0;
    // From the last step of each cook back to its first.
    while from > 0 {
        from -= 1;
        let step = &steps[from];
        if steps.get(from + 1).is_none_or(|next| next.cook != step.cook) {
            coming = 0.0;
        }
        coming += step.dose;
        let cook = &cooks[step.cook];
        if step.open && is_whole(cook) {
            rows.steps.push(step);
            rows.dose.push(coming);
            rows.outcome.push(cook.end_min - step.minute);
            weighted.push(weights[from]);
        }
    }
    rows.weights = Some(weighted);
    estimate(cooks, &rows, "minutes to the finish a dose")
}

/// The core's rise over half an hour, °C a dose.
pub(super) fn half_hour(cooks: &[Cook<'_>], steps: &[Step]) -> Estimated {
    let mut rows = Rows { steps: Vec::new(), dose: Vec::new(), outcome: Vec::new(), weights: None };
    for (place, step) in steps.iter().enumerate() {
        let cook = &cooks[step.cook];
        if !step.open || step.minute + RISE_AFTER_MIN > cook.end_min {
            continue;
        }
        let within = steps[place..].iter().take_while(|later| {
            later.cook == step.cook && later.minute < step.minute + RISE_AFTER_MIN
        });
        rows.steps.push(step);
        rows.dose.push(within.map(|later| later.dose).sum());
        let core_c = |minute: f64| cook.course.at(minute).core_c;
        rows.outcome.push(core_c(step.minute + RISE_AFTER_MIN) - core_c(step.minute));
    }
    estimate(cooks, &rows, "°C that the core rises in half an hour a dose")
}

fn cannot(error: &StatsError) -> String {
    format!("it cannot be modelled: {error}")
}

/// Why there are too few cooks, and how many are missing.
fn too_few(cooks: &[Cook<'_>], rows: &Rows<'_>) -> Option<String> {
    let of = |given: bool| -> BTreeSet<usize> {
        let steps = rows.steps.iter().filter(|step| (step.dose > 0.0) == given);
        steps.map(|step| step.cook).collect()
    };
    let (with, without) = (of(true), of(false));
    let fires: BTreeSet<usize> = with.iter().map(|&cook| cooks[cook].fire).collect();
    let mut short = Vec::new();
    if with.len() < FEWEST_COOKS {
        short.push(format!(
            "{} with it seen to the end, {FEWEST_COOKS} are needed: {} more are missing",
            match with.len() {
                1 => "1 cook".to_owned(),
                several => format!("{several} cooks"),
            },
            FEWEST_COOKS - with.len()
        ));
    } else if fires.len() < FEWEST_FIRES {
        short.push(format!(
            "they are of {} fires, {FEWEST_FIRES} are needed: {} more are missing",
            fires.len(),
            FEWEST_FIRES - fires.len()
        ));
    }
    if without.len() < FEWEST_COOKS {
        short.push(format!(
            "{} cooks went ten minutes without it, {FEWEST_COOKS} are needed: {} more are missing",
            without.len(),
            FEWEST_COOKS - without.len()
        ));
    }
    (!short.is_empty()).then(|| short.join("; "))
}

fn estimate(cooks: &[Cook<'_>], rows: &Rows<'_>, what: &str) -> Estimated {
    if let Some(reason) = too_few(cooks, rows) {
        return Err(reason);
    }
    let given: Vec<bool> = rows.steps.iter().map(|step| step.dose > 0.0).collect();
    let times = given.iter().filter(|given| **given).count();
    let rarer = times.min(given.len() - times);
    let fires: Vec<usize> = rows.steps.iter().map(|step| cooks[step.cook].fire).collect();
    let fitted = |but: &[&str]| {
        let (history, design) = History::design(cooks, &rows.steps, rarer, but)?;
        let doses = Doses {
            given: &given,
            dose: &rows.dose,
            outcome: &rows.outcome,
            weights: rows.weights.as_deref(),
            clusters: &fires,
        };
        let fit = GEstimation::fit(&design, &doses)?;
        let interval = fit.effect.interval(TERM_LEVEL)?;
        Ok((history, fit, interval))
    };
    let found = match fitted(&[]) {
        // Doses given by the clock: their own times foretell them.
        Err(StatsError::Separation { .. }) => fitted(&BY_THE_CLOCK),
        found => found,
    };
    let (history, fit, interval) = found.map_err(|error| cannot(&error))?;
    let used: BTreeSet<usize> = rows.steps.iter().map(|step| step.cook).collect();
    let effect = LeverEffect {
        estimate: fit.effect.estimate,
        std_error: fit.effect.std_error,
        lo: interval.lo,
        hi: interval.hi,
        level: TERM_LEVEL,
        cooks: used.len(),
        fires: fit.clusters,
        steps: rows.steps.len(),
        given: times,
    };
    let model = |name: &str, method: String, events: usize, terms: Vec<Term>| Model {
        name: name.into(),
        method,
        n: used.len(),
        events,
        log_likelihood: None,
        residual_variance: None,
        random: Vec::new(),
        terms,
    };
    let term = Term {
        term: "dose".into(),
        estimate: finite(effect.estimate),
        std_error: finite(effect.std_error),
        lo: finite(effect.lo),
        hi: finite(effect.hi),
        df: finite(fit.effect.df),
        statistic: finite(fit.effect.statistic()),
        p: finite(fit.effect.p_value()),
    };
    let clustered = format!("standard errors clustered by fire ({} fires)", fit.clusters);
    let models = vec![
        model(
            "g-estimation",
            format!("structural nested mean model, {what}; {clustered}"),
            times,
            vec![term],
        ),
        model(
            "pooled-logistic",
            format!(
                "whether it is used in ten minutes, on {}; log odds; {clustered}",
                history.in_words()
            ),
            times,
            model_terms(&fit.decision.estimates).map_err(|error| cannot(&error))?,
        ),
    ];
    Ok((effect, models))
}

/// Of each step: one over the probability, given the history, that the cook was seen to the end from
/// there on.
fn seen_to_the_end(cooks: &[Cook<'_>], steps: &[Step]) -> Result<Vec<f64>, StatsError> {
    let all: Vec<&Step> = steps.iter().collect();
    let lost: Vec<bool> = steps
        .iter()
        .map(|step| {
            let cook = &cooks[step.cook];
            !is_whole(cook) && step.minute + STEP_MIN >= cook.end_min
        })
        .collect();
    let times = lost.iter().filter(|lost| **lost).count();
    if times == 0 {
        return Ok(vec![1.0; steps.len()]);
    }
    let (_, design) = History::design(cooks, &all, times, &[])?;
    let options = LogisticOptions { firth: true, ..LogisticOptions::default() };
    let fit = Logistic::fit(&design, &lost, options)?;
    let mut weights = vec![1.0; steps.len()];
    for place in (0..steps.len()).rev() {
        let next = steps.get(place + 1).filter(|next| next.cook == steps[place].cook);
        let after = next.map_or(1.0, |_| weights[place + 1]);
        weights[place] = after / (1.0 - fit.fitted[place]).max(f64::MIN_POSITIVE);
    }
    let whole: Vec<f64> = (0..steps.len())
        .filter(|&place| is_whole(&cooks[steps[place].cook]))
        .map(|place| weights[place])
        .collect();
    let cut = stats::describe::quantile(&whole, TRUNCATE_AT)?;
    Ok(weights.into_iter().map(|weight| weight.min(cut)).collect())
}

/// Slope of the time to the finish on a cook's doses: naive.
pub(super) fn naive(cooks: &[Cook<'_>], steps: &[Step]) -> Option<f64> {
    let mut doses = vec![0.0; cooks.len()];
    for step in steps {
        doses[step.cook] += step.dose;
    }
    let whole: Vec<usize> = (0..cooks.len()).filter(|&cook| is_whole(&cooks[cook])).collect();
    let dose: Vec<f64> = whole.iter().map(|&cook| doses[cook]).collect();
    let minutes: Vec<f64> = whole.iter().map(|&cook| cooks[cook].end_min).collect();
    let design = Design::new(whole.len()).intercept().ok()?.numeric("dose", &dose).ok()?;
    let fit = LeastSquares::fit(&design, &minutes, ErrorKind::Classical).ok()?;
    finite(fit.estimates.term("dose").ok()?.estimate)
}
