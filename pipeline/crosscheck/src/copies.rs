//! The same curve under two names: a log that was exported twice, perhaps in another unit, with
//! another offset or cut at its ends.

use crate::curve::{Curve, LEVEL_MS};
use crate::finding::{Change, Finding};
use crate::same::level_on_line;
use crate::{Cook, Season};
use cook::{Answer, Card, Question, QuestionCode};
use std::collections::BTreeSet;

/// Two levels of one core differ by no more than this, °C: whole degrees of one export, tenths of the
/// other, and the straight line between levels.
const ALIKE_C: f64 = 0.7;
/// So large a share of the levels must be alike: two cores of one pit and one weight run a few degrees
/// apart, and never alike for hours.
const SHARE: f64 = 0.97;
/// Levels of a coarse log (a backup that reads every five minutes) are of a reading or two, each with its noise
/// and somewhere in its ten minutes, °C. They are believed where the pits were logged and are alike as well …
const COARSE_ALIKE_C: f64 = 1.2;
const COARSE_SHARE: f64 = 0.95;
/// … within what a fire swings in ten minutes, °C, in so large a share: fires of two nights are not for hours.
const PITS_ALIKE_C: f64 = 3.0;
const PITS_SHARE: f64 = 0.85;
/// At least so many levels, three hours …
pub(crate) const LEVELS: usize = 18;
/// … and so much rise between the first and the last of them, °C: resting meat is all alike.
pub(crate) const RISE_C: f64 = 25.0;
/// Curves are laid over each other where they pass these, °C, within what meat heats through.
pub(crate) const PASS_C: (f64, f64) = (30.0, 50.0);
/// They take as long between the two within this, ms (6 min).
pub(crate) const PACE_MS: i64 = 360_000;

/// Clocks of one log differ by no more than this, ms (26 h): zones lie between 12 h behind and 14 h ahead
/// of UTC. What is dated further apart was dated by somebody.
const APART_MS: i64 = 26 * 3_600_000;

/// `whose_is_open` are cooks whose channel is asked about.
pub(crate) fn find(season: &Season<'_>, whose_is_open: &BTreeSet<usize>) -> Vec<Finding> {
    let mut paces: Vec<(i64, i64, usize)> = season
        .cooks
        .iter()
        .enumerate()
        .filter(|(at, cook)| cook.card.exclude.is_none() && !whose_is_open.contains(at))
        .filter_map(|(at, cook)| {
            let curve = cook.curve?;
            let (from, to) = (curve.core_reaches(PASS_C.0)?, curve.core_reaches(PASS_C.1)?);
            Some((to - from, to, at))
        })
        .collect();
    paces.sort_unstable();
    let mut findings = Vec::new();
    for (index, &(pace, passes, one)) in paces.iter().enumerate() {
        let near = paces[index + 1..].iter().take_while(|other| other.0 - pace <= PACE_MS);
        for &(_, other_passes, other) in near {
            let (Some(a), Some(b)) = (season.cooks[one].curve, season.cooks[other].curve) else {
                continue;
            };
            if are_two_of_one_log(season.cooks[one].card, season.cooks[other].card) {
                continue;
            }
            let apart = (passes - other_passes).abs();
            if apart <= APART_MS && are_one(a, passes, b, other_passes) {
                findings.push(twice(season, one.min(other), one.max(other)));
            }
        }
    }
    findings
}

/// Whether two cooks are two channels of one log, which is no second export of it.
fn are_two_of_one_log(one: &Card, other: &Card) -> bool {
    let file = |log: &String| log.split('#').next().unwrap_or(log).to_owned();
    let share = one.logs.iter().any(|log| other.logs.iter().any(|of| file(of) == file(log)));
    share && (one.logs != other.logs || one.lead_channel != other.lead_channel)
}

/// Whether two cores are one, laid over each other where they pass the same temperature.
fn are_one(a: &Curve, a_ms: i64, b: &Curve, b_ms: i64) -> bool {
    // A level is where it passes to within a part of its length; a step to either side is tried.
    [-2_i64, -1, 0, 1, 2]
        .into_iter()
        .any(|step| overlap_alike(a, a_ms, b, b_ms + step * LEVEL_MS / 10))
}

fn overlap_alike(a: &Curve, a_ms: i64, b: &Curve, b_ms: i64) -> bool {
    let middles = || {
        let of = |index: i64| a.first_ms + index * LEVEL_MS + LEVEL_MS / 2;
        (0..a.core.len() as i64).map(move |index| (of(index), of(index) - a_ms + b_ms))
    };
    let share = |pairs: &[(f64, f64)], alike_c: f64| {
        let alike = pairs.iter().filter(|(a, b)| (a - b).abs() <= alike_c).count();
        alike as f64 / pairs.len().max(1) as f64
    };
    let pits: Vec<(f64, f64)> =
        middles().filter_map(|(of_a, of_b)| Some((a.pit_at(of_a)?, b.pit_at(of_b)?))).collect();
    let is_coarse = !(a.dense && b.dense) && pits.len() >= LEVELS;
    let on_line = |curve: &Curve, at_ms: i64| {
        if is_coarse { level_on_line(curve, at_ms) } else { curve.core_on_line(at_ms) }
    };
    let pairs: Vec<(f64, f64)> =
        middles().filter_map(|(of_a, of_b)| Some((on_line(a, of_a)?, on_line(b, of_b)?))).collect();
    let are_alike = if is_coarse {
        share(&pairs, COARSE_ALIKE_C) >= COARSE_SHARE && share(&pits, PITS_ALIKE_C) >= PITS_SHARE
    } else {
        share(&pairs, ALIKE_C) >= SHARE
    };
    let highest = pairs.iter().map(|pair| pair.0).fold(f64::NEG_INFINITY, f64::max);
    let lowest = pairs.iter().map(|pair| pair.0).fold(f64::INFINITY, f64::min);
    pairs.len() >= LEVELS
        && highest - lowest >= RISE_C
        && are_alike
        // Most of the shorter one lies over the other.
        && pairs.len() * 10 >= 7 * a.core.len().min(b.core.len())
}

fn twice(season: &Season<'_>, one: usize, other: usize) -> Finding {
    let name = |at: usize| season.cooks[at].card.cook.as_str();
    let log = |cook: &Cook<'_>| cook.card.logs.join("; ");
    let (first, second) = (&season.cooks[one], &season.cooks[other]);
    let said = |cook: &Cook<'_>| {
        let marks = &cook.card.marks;
        let is_own = cook.curve.is_some_and(|curve| {
            let inside = |ms: &i64| (curve.first_ms..=curve.last_ms).contains(ms);
            [marks.meat_on_ms, marks.pull_ms].iter().flatten().all(inside)
        });
        [!cook.cells.is_empty(), marks.meat_on_ms.is_some() && is_own, marks.pull_ms.is_some()]
    };
    // The one that a sheet says more of stays, and whose marks lie in the log.
    let leaves = if said(first) < said(second) { one } else { other };
    let stays = if leaves == one { other } else { one };
    let question = Question::new(
        QuestionCode::SameCurveTwice,
        &[name(one), name(other)],
        format!("are the cooks `{}` and `{}` one?", name(one), name(other)),
        format!(
            "their cores run alike from beginning to end ({} and {}). Until this is answered, both are used",
            log(first),
            log(second)
        ),
        vec![
            Answer::new("one", format!("`{}` is left out of the analysis", name(leaves))),
            Answer::new("two", "both are used"),
        ],
    )
    .at(first.place("logs"))
    .at(second.place("logs"));
    let question = Question { used: Some("two".to_owned()), ..question };
    let left_out = Change::Exclude(format!("the same curve as {}", name(stays)));
    Finding { question, answered: vec![("one", vec![(leaves, left_out)])], open: Vec::new() }
}
