//! Raising the set-point soon after a core that every cook passes, against never raising it.
//!
//! Both strategies begin when the core first passes 68 °C with the set-point as it was: a moment that
//! both have in common, unlike the start of a stall. Who raises it within the hour follows the first
//! as this team times it; every cook is copied into both, and copies are censored and weighted as in
//! wrap timing.

use super::steps::{History, STEP_MIN, Step};
use crate::analysis::wrap_timing::clones::as_they_turned_out;
use crate::analysis::wrap_timing::cooks::Cook;
use crate::analysis::wrap_timing::estimate::{
    EFFECTIVE_AT_HORIZON, FINISHES, FOLDS, RESAMPLES, TRUNCATE_AT, too_thin,
};
use crate::regression::TERM_LEVEL;
use crate::result::lever::LeverStrategies;
use stats::clone_censor_weight::{
    Arm, CloneCensorWeight, Decision, Period, Requirement, WeightedArm, Weighting,
};
use stats::{Estimate, StatsError};
use std::collections::BTreeSet;

/// Core at which the strategies begin, °C: about where stalls begin. Common practice, no source.
const BEGINS_C: f64 = 68.0;
/// How long the first may take, min.
const WITHIN_MIN: f64 = 60.0;

/// A cook that passed the core with the set-point as it was.
struct Eligible<'a> {
    cook: usize,
    on: &'a Cook<'a>,
    begins_min: f64,
    /// When it was raised, counted from there.
    raised_min: Option<f64>,
    /// When it ended, counted from there.
    end_min: f64,
}

impl Eligible<'_> {
    /// Starts and stops of its periods.
    fn periods(&self) -> Vec<(f64, f64)> {
        let starts = (0..).map(|period| f64::from(period) * STEP_MIN);
        starts
            .take_while(|start| *start < self.end_min)
            .map(|start| (start, (start + STEP_MIN).min(self.end_min)))
            .collect()
    }

    fn is_raised_in(&self, (start, stop): (f64, f64)) -> bool {
        self.raised_min.is_some_and(|raised| raised > start && raised <= stop)
    }

    fn step(&self, start: f64) -> Step {
        Step {
            cook: self.cook,
            minute: self.begins_min + start,
            dose: 0.0,
            so_far: 0.0,
            since_min: 0.0,
            open: true,
        }
    }
}

fn eligible<'a>(cooks: &'a [Cook<'a>]) -> Vec<Eligible<'a>> {
    let begun = cooks.iter().enumerate().filter(|(_, cook)| cook.course.states_setpoint());
    begun
        .filter_map(|(place, on)| {
            let begins_min = on.course.first_at(BEGINS_C, None)?;
            if begins_min >= on.end_min || on.bump_min.is_some_and(|bump| bump <= begins_min) {
                return None;
            }
            Some(Eligible {
                cook: place,
                on,
                begins_min,
                raised_min: on.bump_min.map(|bump| bump - begins_min),
                end_min: on.end_min - begins_min,
            })
        })
        .collect()
}

/// The two strategies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rule {
    Soon,
    Never,
}

/// Copies every cook into a strategy; gives the arm and who stayed in it.
fn copies(
    rule: Rule,
    cooks: &[Eligible<'_>],
    decision: Option<(&mut Decision, &History)>,
) -> Result<(Arm, Vec<bool>), StatsError> {
    let mut decision = decision;
    let (mut periods, mut stays) = (Vec::new(), Vec::new());
    for (subject, cook) in cooks.iter().enumerate() {
        let mut stayed = true;
        for (start, stop) in cook.periods() {
            let raised = cook.is_raised_in((start, stop));
            let before = cook.raised_min.is_some_and(|raised| raised <= start);
            let closes = start < WITHIN_MIN && start + STEP_MIN >= WITHIN_MIN;
            // A period cut short by the end of the cook leaves no time to fail in.
            let closes = closes && stop - start >= STEP_MIN;
            let left = match rule {
                Rule::Soon => closes && !raised && !before,
                Rule::Never => raised,
            };
            if left {
                stayed = false;
                break;
            }
            let mut requirements = Vec::new();
            let asks = match rule {
                Rule::Soon => closes && !before,
                Rule::Never => true,
            };
            if let Some((decision, history)) = decision.as_mut().filter(|_| asks) {
                let asked = decision.ask(subject, &history.row(cook.on, &cook.step(start)))?;
                let exposure = (stop - start) / STEP_MIN;
                requirements.push(match rule {
                    Rule::Soon => Requirement::Made { decision: 0, asked, kind: None, exposure },
                    Rule::Never => Requirement::NotMade { decision: 0, asked, exposure },
                });
            }
            let end = cook.on.end.kind().filter(|_| stop >= cook.end_min);
            periods.push(Period { subject, start, stop, end, requirements });
        }
        stays.push(stayed);
    }
    let name = in_words(rule);
    Ok((Arm::new(&name, periods), stays))
}

fn in_words(rule: Rule) -> String {
    match rule {
        Rule::Soon => format!("raised within {WITHIN_MIN} min of {BEGINS_C} °C"),
        Rule::Never => "never raised".to_owned(),
    }
}

/// The comparison, or why there is none.
pub(super) fn compare(all: &[Cook<'_>], seed: u64) -> Result<LeverStrategies, String> {
    let cooks = eligible(all);
    let fires: Vec<usize> = cooks.iter().map(|cook| cook.on.fire).collect();
    let fire_count = fires.iter().collect::<BTreeSet<_>>().len();
    if fire_count < 2 {
        return Err("no two cooks of two fires passed 68 °C with the set-point as it was".into());
    }
    let cannot = |error: StatsError| format!("it cannot be modelled: {error}");
    let (decision, history) = decision(all, &cooks).map_err(cannot)?;
    let mut decision = decision;
    let mut arms = Vec::new();
    let mut stays = Vec::new();
    for rule in [Rule::Soon, Rule::Never] {
        let (arm, stayed) =
            copies(rule, &cooks, Some((&mut decision, &history))).map_err(cannot)?;
        arms.push(arm);
        stays.push(stayed);
    }
    for rule in [Rule::Soon, Rule::Never] {
        arms.push(copies(rule, &cooks, None).map_err(cannot)?.0);
    }
    for (rule, stayed) in [Rule::Soon, Rule::Never].into_iter().zip(&stays) {
        let ends = cooks.iter().map(|cook| (cook.end_min, cook.on.end));
        arms.push(as_they_turned_out(&in_words(rule), ends, stayed));
    }
    let weighting = Weighting { truncate_at: Some(TRUNCATE_AT), folds: FOLDS };
    let engine = CloneCensorWeight::new(&fires, vec![decision], arms, weighting).map_err(cannot)?;
    let weighted = engine.weighted();
    let thin: Vec<String> =
        (0..2).filter_map(|arm| too_thin(&weighted[arm], &stays[arm], cooks.len())).collect();
    if !thin.is_empty() {
        return Err(thin.join("; "));
    }
    let bears = |arm: usize| weighted[arm].last_with_effective(EFFECTIVE_AT_HORIZON);
    let horizon = bears(0).min(bears(1));
    if horizon <= 0.0 {
        return Err("no time has five effective cooks at risk in both".into());
    }
    let of_arms = |arms: &[WeightedArm<'_>]| {
        let mut values = Vec::with_capacity(9);
        for pair in arms.chunks_exact(2) {
            let means = [0, 1].map(|arm| pair[arm].restricted_mean(horizon, &FINISHES));
            values.extend([means[0], means[1], means[0] - means[1]]);
        }
        values
    };
    let drawn = engine.bootstrap(RESAMPLES, seed, &of_arms).map_err(cannot)?;
    let difference = Estimate {
        estimate: drawn.estimates[2],
        std_error: drawn.std_errors[2],
        df: fire_count as f64 - 1.0,
    };
    let interval = difference.interval(TERM_LEVEL).map_err(cannot)?;
    let effective = [0, 1].map(|arm| weighted[arm].stayed(&stays[arm]));
    Ok(LeverStrategies {
        strategies: [in_words(Rule::Soon), in_words(Rule::Never)],
        horizon_min: horizon,
        eligible: cooks.len(),
        stayed: effective.map(|(stayed, _)| stayed),
        effective: effective.map(|(_, effective)| effective),
        mean_min: [drawn.estimates[0], drawn.estimates[1]],
        difference_min: difference.estimate,
        std_error: difference.std_error,
        lo: interval.lo,
        hi: interval.hi,
        naive_min: Some(drawn.estimates[8]),
        unweighted_min: drawn.estimates[5],
        resamples: drawn.replicates.len(),
        resamples_failed: drawn.failed,
    })
}

/// The model of whether the set-point is raised in ten minutes.
fn decision(all: &[Cook<'_>], cooks: &[Eligible<'_>]) -> Result<(Decision, History), StatsError> {
    let (mut steps, mut made, mut subject) = (Vec::new(), Vec::new(), Vec::new());
    for (position, cook) in cooks.iter().enumerate() {
        for period in cook.periods() {
            if cook.raised_min.is_some_and(|raised| raised <= period.0) {
                break;
            }
            steps.push(cook.step(period.0));
            made.push(cook.is_raised_in(period));
            subject.push(position);
        }
    }
    let times = made.iter().filter(|made| **made).count();
    let steps: Vec<&Step> = steps.iter().collect();
    let (history, design) = History::design(all, &steps, times.min(made.len() - times), &[])?;
    Ok((Decision::new("whether to raise the set-point", &design, &made, &subject)?, history))
}
