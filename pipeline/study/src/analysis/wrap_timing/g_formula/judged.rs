//! Whether the answer judges a claim: what it must rest on, and what a habit that no log shows could do to it.

use super::super::FINISH_C;
use super::super::cooks::Cooks;
use super::cooks::{Pace, Paced, Step};
use super::{Rule, Said};
use crate::claims::Claim;
use crate::degrees::Degrees;
use crate::result::ClaimResult;
use crate::result::g_formula::{GFormula, UNNOTED_BARK_LEAN_MIN};
use crate::table::MeasureTable;
use crate::verdict::Verdict;

/// Fewest cooks, and fires, that were wrapped in the method that is asked about; and fewest that went through each
/// degree from 66 °C on unwrapped. Common practice, no source.
const FEWEST_WRAPPED: (usize, usize) = (6, 5);
const FEWEST_UNWRAPPED: (usize, usize) = (4, 4);
const LATE_C: f64 = 66.0;
/// A wrap that so many of those who used it took off again is not what is asked about.
const MOST_TAKEN_OFF: f64 = 1.0 / 3.0;
/// Most of the run minutes that may be in states that no three cooks of other fires were in.
const MOST_UNSUPPORTED: f64 = 0.30;
/// A tilt beyond this, and beyond three standard errors, is a wrong model.
const MOST_TILT: f64 = 0.20;
const TILT_ERRORS: f64 = 3.0;
/// A `yes` that a lean of less would overturn is open where the bark was not noted, min: half of what teams lean by
/// that wrap by a bark which no log shows.
const LEAST_TIPPING_MIN: f64 = 0.5 * UNNOTED_BARK_LEAN_MIN;
/// Why what was estimated is not to be believed.
pub(super) fn refusal(found: &GFormula) -> Said {
    let Some(rests) = &found.rests_on else { return Ok(()) };
    let mut reasons = Vec::new();
    if rests.unsupported_share > MOST_UNSUPPORTED {
        reasons.push(format!(
            "{:.0} % of the minutes that cooks were run on lie in states in which fewer than three cooks of other \
             fires ever were, {:.0} % are borne",
            100.0 * rests.unsupported_share,
            100.0 * MOST_UNSUPPORTED
        ));
    }
    for (tilt, what) in rests.tilt.iter().zip(["unwrapped", "wrapped"]) {
        let Some(tilt) = tilt else { continue };
        if tilt.slope.abs() > MOST_TILT && tilt.slope.abs() > TILT_ERRORS * tilt.std_error {
            reasons.push(format!(
                "on fires that the model had not seen its errors one degree ahead go with the pace of the cook so far \
                 ({what}: {:+.2} per log unit)",
                tilt.slope
            ));
        }
    }
    if reasons.is_empty() { Ok(()) } else { Err(reasons.join("; ")) }
}

/// Whether too few cooks were wrapped, or left unwrapped, to learn from.
pub(super) fn too_few(pace: &Pace, rules: &[Rule]) -> Option<String> {
    let count = |is: &dyn Fn(&Paced) -> bool| {
        let cooks: Vec<usize> =
            pace.cooks.iter().filter(|cook| is(cook)).map(|cook| cook.fire).collect();
        let mut fires = cooks.clone();
        fires.sort_unstable();
        fires.dedup();
        (cooks.len(), fires.len())
    };
    let short = |(cooks, fires): (usize, usize), needed: (usize, usize), what: &str| {
        (cooks < needed.0 || fires < needed.1).then(|| {
            format!(
                "{cooks} cooks of {fires} fires {what}; {} of {} are needed",
                needed.0, needed.1
            )
        })
    };
    let (_, thinnest_c) = fewest_unwrapped(pace);
    let late = |cook: &Paced| {
        cook.steps.iter().any(|step| {
            let state = &step.state;
            state.wrap.is_none() && step.passed && (state.core_c - thinnest_c).abs() < 0.5
        })
    };
    let what = "show what a cook without a wrap does late on";
    let mut reasons: Vec<String> =
        short(count(&late), FEWEST_UNWRAPPED, what).into_iter().collect();
    for rule in rules {
        if let Rule::Window { level, .. } = rule {
            let wrapped = |cook: &Paced| cook.wrap.is_some_and(|(_, used)| used == *level);
            let what = format!("were wrapped in {}", pace.methods[*level]);
            let all = count(&wrapped);
            reasons.extend(short(all, FEWEST_WRAPPED, &what));
            let (taken_off, _) = count(&|cook: &Paced| wrapped(cook) && cook.was_taken_off);
            if taken_off as f64 > MOST_TAKEN_OFF * all.0 as f64 {
                reasons.push(format!(
                    "{taken_off} of {} cooks wrapped in {} were unwrapped before the finish, and the answer would be of wraps \
                     that stay on",
                    all.0, pace.methods[*level]
                ));
            }
        }
    }
    if rules.iter().all(|rule| !matches!(rule, Rule::Window { .. })) {
        reasons.extend(short(
            count(&|cook: &Paced| cook.wrap.is_some()),
            FEWEST_WRAPPED,
            "were wrapped",
        ));
    }
    (!reasons.is_empty()).then(|| reasons.join("; "))
}

/// The fewest cooks that went through a degree unwrapped, of those from [`LATE_C`] to the finish, and that degree:
/// what a run without a wrap rests on is no more than these.
pub(super) fn fewest_unwrapped(pace: &Pace) -> (usize, f64) {
    let through = |core_c: f64| {
        let there = |step: &Step| {
            let state = &step.state;
            let is_of = (state.core_c - core_c).abs() < 0.5;
            is_of && step.passed && step.is_learnt && state.wrap.is_none()
        };
        pace.cooks.iter().filter(|cook| cook.steps.iter().any(&there)).count()
    };
    let degrees = (0..).map(|degree| LATE_C + f64::from(degree)).take_while(|c| *c < FINISH_C);
    degrees
        .map(|core_c| (through(core_c), core_c))
        .min_by_key(|(cooks, _)| *cooks)
        .unwrap_or_default()
}

/// Beside a `yes`: how far the answer would have to lean, and that it is open where that is little and
/// nobody noted what the bark looked like.
pub(in crate::analysis) fn weigh_hidden_habit(
    claim: &Claim,
    cooks: &Cooks<'_>,
    (table, degrees): (&MeasureTable, &Degrees),
    result: &mut ClaimResult,
) {
    if result.verdict != Verdict::Yes {
        return;
    }
    let bounds = result.effect.as_ref().and_then(|effect| Some((effect.lo?, effect.hi?)));
    let Some((lo, hi)) = bounds else { return };
    let lowest = if claim.sign() > 0.0 { lo } else { -hi };
    let tipping = lowest - claim.matters;
    let names = cooks.rows.used.iter().map(|&row| &table.cooks()[row]);
    let wrapped: Vec<_> =
        cooks.all.iter().zip(names).filter(|(cook, _)| cook.wrap.is_some()).collect();
    let is_noted = |name: &str| degrees.of(name).iter().any(|row| row.bark.is_some());
    let noted = wrapped.iter().filter(|(_, name)| is_noted(name)).count();
    if let Some(found) = &mut result.g_formula {
        found.tipping_min = Some(tipping);
    }
    if tipping < LEAST_TIPPING_MIN && 2 * noted < wrapped.len() {
        result.notes.push(format!(
            "`yes` by {tipping:.0} min only, while the bark was noted in {noted} of {} wrapped cooks: a habit that no \
             log shows could make up {LEAST_TIPPING_MIN:.0} min, so that it stays open",
            wrapped.len()
        ));
        result.verdict = Verdict::Open;
    }
}
