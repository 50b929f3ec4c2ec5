//! Wrap timing on the core's clock: a parametric g-formula.
//!
//! The clock is the core. For each °C from 55 to 88 a cook has a *dose*: the heat that it was offered
//! (lagged pit less core, over time), times its own `k_ref`, in logs. Two ridge models foretell the next
//! dose from what is known at the beginning of a degree, one for degrees that are not wrapped and one
//! for those that are ([`model`]), the former with weights ([`weights`]). Each cook keeps its own path up to where it left the strategy, and is
//! then run on from its own state under its own pit ([`run`]): Robins (1986), Mathematical Modelling 7,
//! 1393–1512; Hernán & Robins, Causal Inference: What If, chapters 13 and 21.
//!
//! A degree in which a cook was wrapped is no whole degree before the wrap: its unwrapped part, like the
//! last degree of a log, is a lower bound of a dose. What was left of it is a wrapped step of a part of a
//! degree.
//!
//! # What is compared
//! One cook's wrap, its fire-mates and its fire as they were: the pit is the one that was logged, a set-point
//! raised later included; beyond the log it stands as in its last two hours. The lid that is open for a
//! wrap shows in that pit, and is there under both strategies. All cooks of a method are taken as wrapped
//! alike. `k_ref` is taken up to 60 °C: cooks that were wrapped before are left out.

mod cooks;
mod habit;
mod judged;
mod model;
mod natural;
mod run;
mod shown;
mod support;
mod weights;

use super::cooks::Cooks;
use super::estimate::Asked;
use crate::claims::Strategy;
use crate::degrees::Degrees;
use crate::error::StudyError;
use crate::result::g_formula::{GFormula, Rests, Tilted};
use crate::result::wrap_timing::Difference;
use crate::table::MeasureTable;
use cooks::{Pace, Paced, Place};
use habit::Habit;
pub(super) use judged::weigh_hidden_habit;
use judged::{fewest_unwrapped, refusal, too_few};
use model::Model as DoseModel;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use run::{Coefficients, Draws, From, Rules, Then};
pub(super) use shown::model;
use shown::pace_by_degree;
use support::{Like, Seen};

/// Runs of each cook.
const RUNS: usize = 16;
/// Runs of each cook in a resample, at most and at least; in between as many as make this many in all.
const RUNS_AGAIN: (usize, usize) = (8, 2);
const RUNS_OF_A_RESAMPLE: usize = 480;
/// Runs of each cook that are asked what they rest on.
const RUNS_LOOKED_AT: usize = 2;
/// Resamples of fires.
const RESAMPLES: usize = 200;
/// A wrap so shortly before the window opens counts as at it, min, as in the copies.
const EARLY_MIN: f64 = 5.0;
/// What the models are off by however many cooks there are, min, and as a share of the effect; more where fewer
/// than so many cooks were left unwrapped, by as much as they are fewer. Found on simulated seasons that no figure
/// of `docs/wrap-timing.md` is of.
const MODEL_ERROR_MIN: f64 = 15.0;
const MODEL_ERROR_SHARE: f64 = 0.12;
const WELL_KNOWN: f64 = 24.0;

/// A strategy on the core's clock.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Rule {
    Any,
    Never,
    Window { level: usize, core_c: f64, grace_min: f64 },
}

/// Where a cook's time under a strategy comes from.
#[allow(clippy::large_enum_variant, reason = "a plan lives for one cook")]
enum Plan<'a> {
    /// It did so itself.
    Own(f64),
    /// It is run on.
    Run { cook: &'a Paced, place: Place, wrapped: Option<usize>, then: Then },
}

fn plan(cook: &Paced, rule: Rule) -> Plan<'_> {
    let run =
        |place: Place, wrapped: Option<usize>, then: Then| Plan::Run { cook, place, wrapped, then };
    let own = |then: Then| {
        if cook.finished { Plan::Own(cook.end_min) } else { run(cook.end(), None, then) }
    };
    let first_wrap = || cook.before_wrap();
    match rule {
        Rule::Any => own(Then::Habit),
        Rule::Never => match cook.wrap.and_then(|_| first_wrap()) {
            None => own(Then::Bare),
            Some(place) => run(place, None, Then::Bare),
        },
        Rule::Window { level, core_c, grace_min } => {
            let opens = cook.first_at(core_c).filter(|opens| *opens < cook.end_min);
            let then = |opened| Then::Window { level, core_c, grace_min, opened };
            let Some(opens) = opens else {
                return match cook.wrap.and_then(|_| first_wrap()) {
                    Some(place) => run(place, None, then(None)),
                    None => own(then(None)),
                };
            };
            let closes = opens + grace_min;
            match cook.wrap {
                Some((at, used)) if used == level && at >= opens - EARLY_MIN && at <= closes => {
                    own(Then::Bare)
                }
                Some((at, _)) if at <= closes => match first_wrap() {
                    Some(place) => run(place, None, then((at >= opens).then_some(opens))),
                    None => own(then(Some(opens))),
                },
                _ if cook.end_min > closes => run(cook.at(closes), Some(level), Then::Bare),
                _ => own(then(Some(opens))),
            }
        }
    }
}

/// Where a run begins. What a cook's own pace says is in its state, the same under both strategies; its
/// part beyond that is drawn anew.
fn from<'a>(plan: &Plan<'a>) -> Option<(From<'a>, Then)> {
    let Plan::Run { cook, place, wrapped, then } = plan else { return None };
    let (state, spent) = match wrapped {
        Some(level) => (place.wrapped(*level), 0.0),
        None => (place.state, place.spent),
    };
    Some((From { cook, state, now_min: place.minute, spent }, *then))
}

/// Mean time of each cook under a rule, min up to the horizon.
fn times(
    pace: &Pace,
    rule: Rule,
    rules: &Rules<'_>,
    draws: &[Vec<Draws>],
    wanted: &dyn Fn(usize) -> bool,
    seen: &mut dyn FnMut(usize, run::Passage<'_>),
) -> Vec<f64> {
    let mut out = vec![0.0; pace.cooks.len()];
    for (place, cook) in pace.cooks.iter().enumerate().filter(|(place, _)| wanted(*place)) {
        let plan = plan(cook, rule);
        out[place] = match from(&plan) {
            None => match plan {
                Plan::Own(minute) => minute.min(rules.horizon_min),
                Plan::Run { .. } => rules.horizon_min,
            },
            Some((from, then)) => {
                let ran = draws[place].iter().enumerate().map(|(number, draws)| {
                    let mut told = |passage: run::Passage<'_>| {
                        if number < RUNS_LOOKED_AT {
                            seen(place, passage);
                        }
                    };
                    run::run(from, then, rules, draws, &mut told).finish_min
                });
                ran.sum::<f64>() / draws[place].len() as f64
            }
        };
    }
    out
}

/// Estimates the difference of two strategies; or says in words why not, with what there is to see
/// all the same. `beside` is the weighted estimate with its horizon. `Err` is a fault.
pub(super) fn estimate(
    table: &MeasureTable,
    cooks: &Cooks<'_>,
    degrees: &Degrees,
    asked: &Asked<'_>,
    beside: Option<(f64, Difference)>,
) -> Result<GFormula, StudyError> {
    let mut pace = cooks::read(table, cooks, degrees)?;
    let habit = Habit::fit(&pace, &vec![1.0; pace.fires]);
    weights::weigh(&mut pace, &habit);
    let mut found = GFormula {
        n: pace.cooks.len(),
        fires: pace.fires,
        left_out: pace.left_out.clone(),
        horizon_min: asked.claim.horizon_min.unwrap_or(asked.horizon_min),
        ..GFormula::default()
    };
    match estimated(&pace, asked, beside, &mut found) {
        Ok(Ok(())) => {}
        Ok(Err(reason)) => found.reason = Some(reason),
        // Too few degrees of one way, as a part of the fires without any wrap.
        Err(StudyError::Statistics(error)) => {
            found.difference = None;
            found.reason = Some(format!("the models of doses cannot be fitted: {error}"));
        }
        Err(error) => return Err(error),
    }
    if asked.claim.setpoint_unchanged && found.reason.is_none() {
        let reason = "the claim asks for an unchanged set-point, and cooks are run on under the pit that was logged";
        found.reason = Some(reason.into());
    }
    Ok(found)
}

/// Why nothing can be said, or nothing.
type Said = Result<(), String>;

fn rule(strategy: &Strategy, pace: &Pace) -> Result<Rule, String> {
    if strategy.never {
        return Ok(Rule::Never);
    }
    match (&strategy.method, strategy.core_c(), strategy.grace_min) {
        (Some(method), Some(core_c), Some(grace_min)) if !strategy.any => {
            let level = pace.methods.iter().position(|known| known == method);
            let level = level.ok_or_else(|| format!("no cook was wrapped in {method}"))?;
            Ok(Rule::Window { level, core_c, grace_min })
        }
        _ => Ok(Rule::Any),
    }
}

fn estimated(
    pace: &Pace,
    asked: &Asked<'_>,
    beside: Option<(f64, Difference)>,
    found: &mut GFormula,
) -> Result<Said, StudyError> {
    let mut rules = Vec::new();
    for strategy in [asked.first, asked.second] {
        match rule(strategy, pace) {
            Ok(rule) => rules.push(rule),
            Err(reason) => return Ok(Err(reason)),
        }
    }
    found.pace = pace_by_degree(pace);
    if let Some(reason) = too_few(pace, &rules) {
        return Ok(Err(reason));
    }
    let ones = vec![1.0; pace.fires];
    let bare = DoseModel::fit(pace, false, &ones)?;
    let wrapped = DoseModel::fit(pace, true, &ones)?;
    let habit = Habit::fit(pace, &ones);
    let draws = run::draws(pace, RUNS, asked.seed);
    let own = [&bare, &wrapped].map(|model| Coefficients::of(model, &model.fit.coefficients));
    let all = Rules {
        bare: &own[0],
        wrapped: Some(&own[1]),
        habit: &habit,
        bark_per_min: pace.bark_per_min,
        horizon_min: found.horizon_min,
    };

    let seen = Seen::of(pace);
    let (mut minutes, mut unsupported) = (0.0, 0.0);
    let means: Vec<Vec<f64>> = rules
        .iter()
        .map(|&rule| {
            let mut ask = |place: usize, passage: run::Passage<'_>| {
                let cook = &pace.cooks[place];
                let like = Like::of(passage.state, passage.gap_c, cook.log_weight);
                minutes += passage.minutes;
                if !seen.holds(cook.fire, &like) {
                    unsupported += passage.minutes;
                }
            };
            times(pace, rule, &all, &draws, &|_| true, &mut ask)
        })
        .collect();
    let n = pace.cooks.len() as f64;
    let mean = |arm: usize| means[arm].iter().sum::<f64>() / n;
    let estimate = mean(0) - mean(1);
    found.restricted_mean_min = [mean(0), mean(1)];
    for (arm, &rule) in rules.iter().enumerate() {
        found.own_path[arm] =
            pace.cooks.iter().filter(|cook| matches!(plan(cook, rule), Plan::Own(_))).count();
    }
    let std_error = bootstrap(pace, &rules, [&bare, &wrapped], &all, asked.seed, &draws)?;
    let (left, _) = fewest_unwrapped(pace);
    let thin = (WELL_KNOWN / left.max(1) as f64).max(1.0);
    let model_error = thin * MODEL_ERROR_MIN.max(MODEL_ERROR_SHARE * estimate.abs());
    found.fewest_unwrapped = Some(left);
    found.sampling_error_min = std_error;
    found.model_error_min = model_error;
    found.difference = Some(Difference { estimate, std_error: std_error.hypot(model_error) });

    found.less_weighted = beside.map(|(horizon_min, weighted)| {
        // At the horizon of the weights, which may be shorter.
        let shorter = Rules { horizon_min, ..all };
        let mean = |rule: Rule| {
            let times = times(pace, rule, &shorter, &draws, &|_| true, &mut |_, _| {});
            times.iter().sum::<f64>() / n
        };
        Difference {
            estimate: mean(rules[0]) - mean(rules[1]) - weighted.estimate,
            std_error: std_error.hypot(weighted.std_error),
        }
    });

    let held = [support::held_out(pace, false)?, support::held_out(pace, true)?];
    let tilts = [support::tilt(pace, false, &held[0]), support::tilt(pace, true, &held[1])];
    found.natural_course = natural::course(pace, &held, found.horizon_min, asked.seed);
    found.rests_on = Some(Rests {
        run_min: minutes / (RUNS_LOOKED_AT as f64 * n),
        unsupported_share: if minutes > 0.0 { unsupported / minutes } else { 0.0 },
        tilt: tilts
            .map(|tilt| {
                tilt.map(|tilt| Tilted {
                    slope: tilt.slope,
                    std_error: tilt.std_error,
                    steps: tilt.steps,
                })
            })
            .to_vec(),
    });
    Ok(refusal(found))
}

/// Standard error from resamples of whole fires. Habit, weights and scatter are those of all cooks: learning them anew
/// in each took five times as long and moved the error by a twentieth.
fn bootstrap(
    pace: &Pace,
    strategies: &[Rule],
    [bare, wrapped]: [&DoseModel; 2],
    all: &Rules<'_>,
    seed: u64,
    draws: &[Vec<Draws>],
) -> Result<f64, StudyError> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(u64::MAX);
    let runs = RUNS_OF_A_RESAMPLE / pace.cooks.len().max(1) / 2 * 2;
    let runs = runs.clamp(RUNS_AGAIN.1, RUNS_AGAIN.0);
    let draws: Vec<Vec<Draws>> =
        draws.iter().map(|draws| draws[..runs.min(draws.len())].to_vec()).collect();
    let mut replicates = Vec::with_capacity(RESAMPLES);
    for _ in 0..RESAMPLES {
        let mut weights = vec![0.0; pace.fires];
        for _ in 0..pace.fires {
            weights[random.random_range(0..pace.fires as u32) as usize] += 1.0;
        }
        // A resample without any wrapped cook says nothing of wraps.
        let (Ok(first), Ok(second)) = (bare.again(&weights), wrapped.again(&weights)) else {
            continue;
        };
        let own = [Coefficients::of(bare, &first), Coefficients::of(wrapped, &second)];
        let rules = Rules { bare: &own[0], wrapped: Some(&own[1]), ..*all };
        let drawn = |place: usize| weights[pace.cooks[place].fire] > 0.0;
        let means = [0, 1].map(|arm| {
            let times = times(pace, strategies[arm], &rules, &draws, &drawn, &mut |_, _| {});
            let (mut sum, mut count) = (0.0, 0.0);
            for (cook, time) in pace.cooks.iter().zip(times) {
                sum += weights[cook.fire] * time;
                count += weights[cook.fire];
            }
            sum / f64::max(count, 1.0)
        });
        replicates.push(means[0] - means[1]);
    }
    let fires = pace.fires as f64;
    let spread = stats::describe::standard_deviation(&replicates)?;
    // A bootstrap over few clusters is too narrow by the degree of freedom that the mean takes.
    Ok(spread * (fires / (fires - 1.0).max(1.0)).sqrt())
}

#[cfg(test)]
mod tests;
