//! Weighting, and what it takes to be believed.

use super::clones::{self, Copies, Treatment, as_they_turned_out, copies};
use super::cooks::{Cooks, FINISH, OUT_OF_TIME, TENDER};
use super::decisions::Decisions;
use super::in_words;
use crate::claims::{Claim, Strategy};
use crate::error::StudyError;
use crate::regression::{NotFitted, TERM_LEVEL};
use crate::result::wrap_timing::{
    AtRisk, Difference, Incidence, SetpointUnchanged, Weights, WrapArm, WrapTiming,
};
use crate::result::{ClaimResult, LeftOut, Model, Term, finite};
use cook::WrapMethod;
use stats::clone_censor_weight::{CloneCensorWeight, WeightedArm, Weighting};
use stats::{Estimate, StatsError};
use std::collections::BTreeMap;

/// Fewest copies never artificially censored, finishes and effective copies of an arm, and the
/// smallest mean probability of following it. What is below rests on a handful of cooks: the
/// project's own rule, no source.
pub(in crate::analysis) const FEWEST_STAYED: usize = 20;
const FEWEST_FINISHES: usize = 10;
const LEAST_EFFECTIVE: f64 = 12.0;
const LEAST_PROBABILITY: f64 = 0.05;
/// The horizon is the largest time with at least so many effective copies at risk in every arm.
pub(in crate::analysis) const EFFECTIVE_AT_HORIZON: f64 = 5.0;
/// Weights above this quantile are cut down to it.
pub(in crate::analysis) const TRUNCATE_AT: f64 = 0.99;
/// Parts of the fires of which one is left out of the models that weigh it. Ten is the usual number
/// (Hastie, Tibshirani & Friedman 2009, The Elements of Statistical Learning, section 7.10).
pub(in crate::analysis) const FOLDS: usize = 10;
/// Draws of fires.
pub(in crate::analysis) const RESAMPLES: usize = 200;
/// A set-point raised so near to the wrap came with it, min.
const WITH_WRAP_MIN: f64 = 30.0;
/// From this share of wraps with a bump on, what a wrap does by itself cannot be told.
const NEARLY_EVERY: f64 = 0.9;

/// What is asked.
pub(super) struct Asked<'a> {
    pub(super) claim: &'a Claim,
    pub(super) first: &'a Strategy,
    pub(super) second: &'a Strategy,
    pub(super) seed: u64,
    /// How far the clock runs if the claim does not say, min.
    pub(super) horizon_min: f64,
}

/// Places of the arms in the engine.
const WEIGHTED: usize = 0;
const UNWEIGHTED: usize = 2;
const NAIVE: usize = 4;
/// After the others, if they are there.
const UNCHANGED: usize = 6;

pub(in crate::analysis) const FINISHES: [usize; 2] = [FINISH, TENDER];

/// Weights both strategies and adds what was found to `result`. Gives the difference that is
/// judged, and why it must not be.
pub(super) fn estimate(
    asked: &Asked<'_>,
    cooks: &Cooks<'_>,
    result: &mut ClaimResult,
) -> Result<(Option<Difference>, Option<String>), NotFitted> {
    let strategies = [asked.first, asked.second];
    let methods: Vec<WrapMethod> = strategies.iter().filter_map(|s| s.method.clone()).collect();
    let bumped = cooks.all.iter().any(|cook| cook.bump_min.is_some());
    let statistics = |error: StatsError| NotFitted::Failed(StudyError::Statistics(error));
    let mut decisions = Decisions::new(&cooks.all, &cooks.adjusters, &methods, bumped)
        .map_err(|error| cannot_model(&error))?;
    result.notes.extend(decisions.notes.iter().cloned());

    let mut sets: Vec<Copies> = Vec::new();
    for (weighted, setpoint_unchanged) in [(true, false), (false, false), (true, true)] {
        let treatment = Treatment { weighted, setpoint_unchanged };
        for strategy in strategies {
            let name = in_words(strategy);
            sets.push(copies(&name, &cooks.all, strategy, treatment, &mut decisions)?);
        }
    }
    let stays: Vec<Vec<bool>> =
        sets.iter().map(|set| set.left.iter().map(Option::is_none).collect()).collect();
    let mut arms: Vec<_> = sets.iter().map(|set| set.arm.clone()).collect();
    let unchanged = arms.split_off(UNWEIGHTED + 2);
    for place in 0..2 {
        let name = in_words(strategies[place]);
        let ends = cooks.all.iter().map(|cook| (cook.end_min, cook.end));
        arms.push(as_they_turned_out(&name, ends, &stays[place]));
    }
    let unchanged_reason = unchanged_refusal(cooks, &stays[UNWEIGHTED + 2..]);
    if unchanged_reason.is_none() {
        arms.extend(unchanged);
    }
    let fires: Vec<usize> = cooks.all.iter().map(|cook| cook.fire).collect();
    let described = decisions.described();
    let weighting = Weighting { truncate_at: Some(TRUNCATE_AT), folds: FOLDS };
    let engine = CloneCensorWeight::new(&fires, decisions.models.clone(), arms, weighting)
        .map_err(|error| cannot_model(&error))?;
    result.models.extend(decisions.fitted(&engine, cooks.all.len()));

    let weighted = engine.weighted();
    let mut reasons: Vec<String> = (0..2)
        .filter_map(|place| too_thin(&weighted[place], &stays[place], cooks.all.len()))
        .collect();
    let borne = |first: usize| {
        let last = |place: usize| weighted[place].last_with_effective(EFFECTIVE_AT_HORIZON);
        last(first).min(last(first + 1))
    };
    let bears = borne(WEIGHTED);
    let horizon = asked.claim.horizon_min.unwrap_or(bears.min(asked.horizon_min));
    if bears <= 0.0 {
        reasons.push("no time has five effective cooks at risk in both".into());
        return Ok((None, Some(reasons.join("; "))));
    }
    let ended = |arm: &WeightedArm<'_>| {
        arm.survival(&FINISHES).iter().any(|(time, left)| *time <= horizon && *left < 1e-9)
    };
    if horizon > bears && !(ended(&weighted[0]) && ended(&weighted[1])) {
        reasons.push(format!(
            "at {horizon} min fewer than five effective cooks are at risk in one of the two; the \
             data bear {bears:.0} min"
        ));
    }
    let has_naive = (0..2).all(|place| stays[place].iter().any(|stays| *stays));
    let has_unchanged = unchanged_reason.is_none() && {
        let thin = |place: usize| {
            let stays = &stays[UNWEIGHTED + 2 + place];
            too_thin(&weighted[UNCHANGED + place], stays, cooks.all.len())
        };
        thin(0).or(thin(1)).is_none()
    };
    let of_arms = |arms: &[WeightedArm<'_>]| {
        let mut values = Vec::with_capacity(12);
        let mut pair = |first: usize, counts: &[usize]| {
            let means = [0, 1].map(|k| arms[first + k].restricted_mean(horizon, counts));
            values.extend([means[0], means[1], means[0] - means[1]]);
        };
        pair(WEIGHTED, &FINISHES);
        pair(WEIGHTED, &[FINISH]);
        pair(UNWEIGHTED, &FINISHES);
        pair(NAIVE, &FINISHES);
        if has_unchanged {
            pair(UNCHANGED, &FINISHES);
        }
        values
    };
    let drawn = match engine.bootstrap(RESAMPLES, asked.seed, &of_arms) {
        Ok(drawn) => drawn,
        Err(StatsError::NoConvergence { what }) => {
            reasons.push(format!("{what} did not settle: too few cooks decided either way"));
            return Ok((None, Some(reasons.join("; "))));
        }
        Err(error) => return Err(statistics(error)),
    };
    let at = |set: usize| Difference {
        estimate: drawn.estimates[3 * set + 2],
        std_error: drawn.std_errors[3 * set + 2],
    };
    let (weighted_difference, tender_censored, unweighted) = (at(0), at(1), at(2));
    let naive = has_naive.then(|| at(3));
    let setpoint_difference = has_unchanged.then(|| at(4));
    let setpoint_reason = match (unchanged_reason, has_unchanged) {
        (Some(reason), _) => Some(reason),
        (None, false) => Some("too few cooks followed it with the set-point unchanged".into()),
        (None, true) => None,
    };
    let mean = |set: usize, place: usize| drawn.estimates[3 * set + place];
    let found_arms = (0..2).map(|place| WrapArm {
        restricted_mean_min: mean(0, place),
        restricted_mean_std_error: drawn.std_errors[place],
        tender_censored_min: mean(1, place),
        naive_mean_min: has_naive.then(|| mean(3, place)),
        ..described_arm(&weighted[place], &sets[place], &stays[place], horizon)
    });
    let (wraps, wraps_with_bump) = bumps_with_wraps(cooks);
    let found = WrapTiming {
        horizon_min: horizon,
        arms: found_arms.collect(),
        naive,
        immortal_time_min: naive.map(|naive| naive.estimate - unweighted.estimate),
        confounding_min: Some(unweighted.estimate - weighted_difference.estimate),
        unweighted,
        weighted: weighted_difference,
        tender_censored,
        setpoint_unchanged: SetpointUnchanged {
            difference: setpoint_difference,
            reason: setpoint_reason.clone(),
            wraps,
            wraps_with_bump,
        },
        resamples: drawn.replicates.len(),
        resamples_failed: drawn.failed,
        decisions: described,
    };
    result.models.extend(models(&found, cooks, result.fires));
    result.wrap_timing = Some(found);
    let judged = if asked.claim.setpoint_unchanged {
        reasons.extend(setpoint_reason);
        setpoint_difference
    } else {
        Some(weighted_difference)
    };
    Ok((judged, (!reasons.is_empty()).then(|| reasons.join("; "))))
}

fn cannot_model(error: &StatsError) -> NotFitted {
    NotFitted::Refused(format!("this team's habits cannot be modelled: {error}"))
}

/// Why an arm is too thin to be believed, and how many more cooks it would take.
pub(in crate::analysis) fn too_thin(
    arm: &WeightedArm<'_>,
    stays: &[bool],
    cooks: usize,
) -> Option<String> {
    let (stayed, effective) = arm.stayed(stays);
    let finishes = arm.ends(FINISH) + arm.ends(TENDER);
    let probability = arm.probability_of_staying(stays);
    let mut short: Vec<(String, f64)> = Vec::new();
    if stayed < FEWEST_STAYED {
        let what =
            format!("{stayed} of {cooks} cooks followed it to the end, {FEWEST_STAYED} are needed");
        short.push((what, FEWEST_STAYED as f64 / stayed as f64));
    }
    if finishes < FEWEST_FINISHES {
        let what = format!("{finishes} finishes, {FEWEST_FINISHES} are needed");
        short.push((what, FEWEST_FINISHES as f64 / finishes as f64));
    }
    if effective < LEAST_EFFECTIVE {
        let what = format!(
            "their weights leave {effective:.1} effective cooks, {LEAST_EFFECTIVE} are needed"
        );
        short.push((what, LEAST_EFFECTIVE / effective));
    }
    let rare = probability < LEAST_PROBABILITY;
    if short.is_empty() && !rare {
        return None;
    }
    let factor = short.iter().map(|(_, factor)| *factor).fold(1.0, f64::max);
    let mut reasons: Vec<String> = short.into_iter().map(|(what, _)| what).collect();
    if rare {
        reasons.push(format!(
            "this team would follow it in {:.1} % of cooks, less than {} %",
            100.0 * probability,
            100.0 * LEAST_PROBABILITY
        ));
    }
    let missing = if factor > 1.0 && factor.is_finite() {
        let more = ((factor - 1.0) * cooks as f64).ceil();
        format!("; if the team goes on as it did, about {more} more cooks are missing")
    } else if factor.is_infinite() {
        format!("; at least {FEWEST_STAYED} cooks that follow it are missing")
    } else {
        String::new()
    };
    Some(format!("too few cooks for “{}”: {}{missing}", arm.name(), reasons.join(", ")))
}

/// Cooks wrapped, and how many of the wraps came with a bump.
fn bumps_with_wraps(cooks: &Cooks<'_>) -> (usize, usize) {
    let wrapped: Vec<_> = cooks
        .all
        .iter()
        .filter(|cook| cook.course.states_setpoint())
        .filter_map(|cook| cook.wrap.as_ref().map(|(minute, _)| (*minute, cook.bump_min)))
        .collect();
    let with = wrapped
        .iter()
        .filter(|(wrap, bump)| bump.is_some_and(|bump| (bump - wrap).abs() <= WITH_WRAP_MIN));
    (wrapped.len(), with.count())
}

fn unchanged_refusal(cooks: &Cooks<'_>, stays: &[Vec<bool>]) -> Option<String> {
    let (wraps, with) = bumps_with_wraps(cooks);
    if wraps > 0 && with as f64 >= NEARLY_EVERY * wraps as f64 {
        return Some(format!(
            "{with} of {wraps} wraps came with a raised set-point: what a wrap does without one \
             cannot be told"
        ));
    }
    let few = stays.iter().map(|s| s.iter().filter(|stays| **stays).count()).min()?;
    (few < FEWEST_STAYED).then(|| {
        format!("{few} cooks followed a strategy with the set-point unchanged, {FEWEST_STAYED} are needed")
    })
}

/// All of an arm but what comes from the bootstrap.
fn described_arm(arm: &WeightedArm<'_>, set: &Copies, stays: &[bool], horizon: f64) -> WrapArm {
    let (stayed, effective) = arm.stayed(stays);
    let mut left: BTreeMap<clones::Left, usize> = BTreeMap::new();
    for reason in set.left.iter().flatten() {
        *left.entry(*reason).or_default() += 1;
    }
    let summary = arm.summary();
    let all = [FINISH, TENDER, OUT_OF_TIME];
    let minutes = [0.0, 0.25, 0.5, 0.75, 1.0].map(|part| (part * horizon).floor().max(1.0));
    WrapArm {
        strategy: arm.name().to_owned(),
        copies: set.left.len(),
        stayed,
        effective,
        finishes: arm.ends(FINISH),
        left: left
            .into_iter()
            .map(|(reason, cooks)| LeftOut { reason: reason.in_words().into(), cooks })
            .collect(),
        probability: arm.probability_of_staying(stays),
        least_probability: arm.least_probability(stays),
        weights: Weights {
            median: summary.median,
            percentile_95: summary.percentile_95,
            percentile_99: summary.percentile_99,
            largest: summary.largest,
            periods_cut: summary.periods_cut,
            periods: summary.periods,
        },
        restricted_mean_min: 0.0,
        restricted_mean_std_error: 0.0,
        tender_censored_min: 0.0,
        incidence: Incidence {
            finish: arm.incidence(FINISH, horizon, &all),
            tender: arm.incidence(TENDER, horizon, &all),
            out_of_time: arm.incidence(OUT_OF_TIME, horizon, &all),
        },
        at_risk: minutes
            .map(|minute| {
                let (copies, effective) = arm.at_risk(minute);
                AtRisk { minute, copies, effective }
            })
            .to_vec(),
        naive_mean_min: None,
    }
}

/// The restricted means as models, for `study.json`.
fn models(found: &WrapTiming, cooks: &Cooks<'_>, fires: usize) -> Vec<Model> {
    let df = fires as f64 - 1.0;
    let term = |name: &str, difference: Difference| {
        let Difference { estimate, std_error } = difference;
        let estimated = Estimate { estimate, std_error, df };
        let interval = estimated.interval(TERM_LEVEL).ok();
        Term {
            term: name.to_owned(),
            estimate: finite(estimate),
            std_error: finite(std_error),
            lo: interval.and_then(|i| finite(i.lo)),
            hi: interval.and_then(|i| finite(i.hi)),
            df: finite(df),
            statistic: finite(estimated.statistic()),
            p: finite(estimated.p_value()),
        }
    };
    let ended = cooks.all.iter().filter(|cook| cook.end.kind().is_some_and(|k| k < OUT_OF_TIME));
    let model = |name: &str, method: String, terms: Vec<Term>| Model {
        name: name.to_owned(),
        method,
        n: cooks.all.len(),
        events: ended.clone().count(),
        log_likelihood: None,
        residual_variance: None,
        random: Vec::new(),
        terms,
    };
    let errors = format!(
        "standard errors from {} draws of {fires} fires, min up to {:.0} min",
        found.resamples, found.horizon_min
    );
    let mut models = Vec::new();
    if let Some(naive) = found.naive {
        models.push(model(
            "kaplan-meier",
            format!("naive: cooks as they turned out, difference of restricted means; {errors}"),
            vec![term("difference", naive)],
        ));
    }
    let mut terms: Vec<Term> = found
        .arms
        .iter()
        .map(|arm| {
            let mean = Difference {
                estimate: arm.restricted_mean_min,
                std_error: arm.restricted_mean_std_error,
            };
            term(&arm.strategy, mean)
        })
        .collect();
    terms.push(term("difference", found.weighted));
    terms.push(term("difference, tender pulls censored", found.tender_censored));
    terms.push(term("difference, copies not weighted", found.unweighted));
    terms.extend(
        found.setpoint_unchanged.difference.map(|d| term("difference, set-point unchanged", d)),
    );
    models.push(model(
        "clone-censor-weight",
        format!("weighted restricted means; weights from habits learnt on other fires, cut at their 99th percentile; {errors}"),
        terms,
    ));
    models
}
