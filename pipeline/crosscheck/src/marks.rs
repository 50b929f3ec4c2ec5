//! Meat-on, wraps and pull of one cook against its curve.
//!
//! A mark of which the curve shows nothing is a warning of the phases, no contradiction: a quick hand
//! leaves no sign. Here are marks of which the curve shows another time.

mod on;
mod pull;
mod wrap;

use crate::curve::{Curve, LEVEL_MS};
use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::say::{self, HOUR_MS, MINUTE_MS};
use crate::shifts::Moved;
use crate::{Cook, Season};
use columns::card;
use cook::{Answer, Mark, Question, QuestionCode};
use on::{MeatOn, meat_on};
use phases::marks::signs::FAR_OFF_MS;
use pull::{Pull, pull};
use std::collections::BTreeSet;
use wrap::wraps;

/// A lid or a dip this near to a mark is its sign, ms (20 min).
const SIGN_WITHIN_MS: i64 = 20 * MINUTE_MS;
/// A mark without a sign is another time's if the only sign that nobody noted is this far off, ms (1½ h).
const HOURS_MS: i64 = 90 * MINUTE_MS;
/// A pit that has fallen by this without ever rising has no fire, °C: a lid costs as much, and is made good.
const FIRE_OUT_C: f64 = 30.0;
/// Half of a day's clock, ms.
const HALF_DAY_MS: i64 = 12 * HOUR_MS;

/// What the curve says against a stated mark, and when it shows it.
struct Against {
    mark: Mark,
    said: i64,
    /// `None` where it cannot be as stated, and nothing tells when it was.
    seen: Option<i64>,
    why: String,
    /// Whether the phases take the curve's time already.
    curve_is_used: bool,
}

/// `asked` are marks that are asked about already, by cook.
pub(crate) fn find(
    season: &Season<'_>,
    moved: &Moved,
    asked: &BTreeSet<(usize, Mark)>,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        let Some(curve) = cook.curve.filter(|_| !moved.settled.contains(&at)) else { continue };
        if cook.zero_is_in_doubt() {
            continue;
        }
        let by_ms = moved.by.iter().find(|(cook, _)| *cook == at).map_or(0, |(_, by_ms)| *by_ms);
        let found = against(cook, curve, by_ms, season);
        for against in found.into_iter().filter(|found| !asked.contains(&(at, found.mark))) {
            findings.push(finding(season, at, against, by_ms));
        }
    }
    findings
}

/// Whether meat-on or pull cannot be where it is stated.
pub(crate) fn is_impossible(cook: &Cook<'_>) -> bool {
    let Some(curve) = cook.curve else { return false };
    let marks = &cook.card.marks;
    let outside = |ms: i64| ms < curve.first_ms - FAR_OFF_MS || ms > curve.last_ms + FAR_OFF_MS;
    let on = marks.meat_on_ms.is_some_and(|said| outside(said) || meat_on(curve, said).is_some());
    let from = marks.meat_on_ms.unwrap_or(curve.first_ms);
    on || marks.pull_ms.is_some_and(|said| outside(said) || pull(curve, from, said).is_some())
}

/// Whether the phases take what the curve shows in place of a stated meat-on or pull.
pub(crate) fn is_overruled(cook: &Cook<'_>) -> bool {
    let Some(curve) = cook.curve else { return false };
    let marks = &cook.card.marks;
    let on = marks.meat_on_ms.and_then(|said| meat_on(curve, said));
    let from = marks.meat_on_ms.unwrap_or(curve.first_ms);
    let off = marks.pull_ms.and_then(|said| pull(curve, from, said));
    on.is_some_and(|(_, reason)| reason.curve_is_used())
        || off.is_some_and(|(seen, reason)| seen.is_some() && reason.curve_is_used())
}

fn against(cook: &Cook<'_>, curve: &Curve, by_ms: i64, season: &Season<'_>) -> Vec<Against> {
    let marks = &cook.card.marks;
    let told = |celsius: Option<f64>| {
        celsius.map_or_else(String::new, |celsius| say::temperature(celsius, season.units))
    };
    let mut found = Vec::new();
    if let Some(said) = marks.meat_on_ms.map(|ms| ms + by_ms)
        && let Some((seen, reason)) = meat_on(curve, said)
    {
        let why = match reason {
            MeatOn::InAir => format!(
                "the probe reads {} then, and is put into raw meat later",
                told(curve.core_at(said))
            ),
            MeatOn::LongOn => {
                format!("the core is at {} by then, and was raw before", told(curve.core_at(said)))
            }
            MeatOn::Warming => format!(
                "the core has warmed to {} over the lit pit by then",
                told(curve.core_at(said))
            ),
            MeatOn::Asleep => "the core lies still for hours after it".to_owned(),
            MeatOn::StillRaw(core) => format!(
                "the log begins {} later, and the core is raw still, at {}",
                say::span(curve.first_ms - said),
                say::temperature(core, season.units)
            ),
        };
        let curve_is_used = reason.curve_is_used();
        found.push(Against { mark: Mark::MeatOn, said, seen, why, curve_is_used });
    }
    let stated_pull = marks.pull_ms.map(|ms| ms + by_ms);
    if let Some(said) = stated_pull {
        let from = marks.meat_on_ms.map_or(curve.first_ms, |ms| ms + by_ms);
        if let Some((seen, reason)) = pull(curve, from, said) {
            let why = match reason {
                Pull::GoesOn { to, .. } => format!(
                    "the core is at {} then, and goes on to {}",
                    told(curve.core_at(said)),
                    told(Some(to))
                ),
                Pull::LongCooled => match curve.core_at(said) {
                    Some(core) => format!(
                        "the core has cooled to {} by then",
                        say::temperature(core, season.units)
                    ),
                    None => "the core has long cooled by then".to_owned(),
                },
            };
            let curve_is_used = seen.is_some() && reason.curve_is_used();
            found.push(Against { mark: Mark::Pull, said, seen, why, curve_is_used });
        } else if let Some(seen) = curve.pull_ms.filter(|seen| {
            said > curve.last_ms + HOURS_MS
                || (said > curve.last_ms && said - seen >= HOURS_MS && fire_is_out(curve, *seen))
        }) {
            let why = format!(
                "the log ends {} before, and shows the meat come off {} earlier",
                say::span(said - curve.last_ms),
                say::span(said - seen)
            );
            let seen = Some(seen);
            found.push(Against { mark: Mark::Pull, said, seen, why, curve_is_used: false });
        }
    }
    // Where meat-on or pull is in doubt, so is all that lies between them.
    if found.is_empty() {
        found.extend(wraps(cook, curve, by_ms, season));
    }
    found
}

/// Whether the pit only falls from an instant to the log's end, as one without a fire, and the core no longer rises.
fn fire_is_out(curve: &Curve, from: i64) -> bool {
    let levels = curve.pit_between(from, curve.last_ms + LEVEL_MS);
    let only_falls = levels.windows(2).all(|pair| pair[1] < pair[0]);
    let fallen = levels.first().zip(levels.last()).is_some_and(|(a, b)| a - b >= FIRE_OUT_C);
    let core = curve.core_at(from).zip(curve.core_at(curve.last_ms));
    only_falls && fallen && core.is_none_or(|(then, last)| last <= then)
}

fn opened_near(curve: &Curve, ms: i64) -> bool {
    curve.opened_ms.iter().any(|seen| (seen - ms).abs() <= SIGN_WITHIN_MS)
}

/// The column of the sheet that states a mark.
fn column(mark: Mark) -> &'static str {
    match mark {
        Mark::MeatOn => card::MEAT_ON_AT.stated_as(),
        Mark::Wrap => card::WRAP_AT.stated_as(),
        Mark::Slice => card::SLICE_AT.stated_as(),
        Mark::Pull => card::PULL_AT.stated_as(),
    }
}

fn finding(season: &Season<'_>, at: usize, against: Against, by_ms: i64) -> Finding {
    let Against { mark, said, seen, why, curve_is_used } = against;
    let cook = &season.cooks[at];
    let place = cook.place(column(mark));
    // In the hour that a clock is put back, the time of day alone does not tell two instants apart.
    let is_twice = seen.is_some_and(|seen| {
        seen != said && say::instant(seen, season.zone) == say::instant(said, season.zone)
    });
    let say = if is_twice { say::instant_in_zone } else { say::instant };
    let told = |ms: i64| say(ms, season.zone);
    let word = mark.as_str();
    let mut answers = Vec::new();
    let mut answered = Vec::new();
    if let Some(seen) = seen {
        let half = (seen - said).abs() - HALF_DAY_MS;
        let half = if half.abs() <= FAR_OFF_MS {
            ": morning and afternoon were taken for each other"
        } else {
            ""
        };
        let then = if is_twice {
            format!("{word} at {}, the second time", told(seen))
        } else {
            format!("{word} at {}, as the curve shows it{half}", told(seen))
        };
        answers.push(Answer::new("curve", then));
        let change = Change::Mark { mark, was: said - by_ms, now: Some(seen - by_ms) };
        answered.push(("curve", vec![(at, change)]));
    }
    answers.push(Answer::new(LEAVE_OUT, format!("no {word} is stated")));
    answered.push((LEAVE_OUT, vec![(at, Change::Mark { mark, was: said - by_ms, now: None })]));
    // Where the phases cannot judge a cook by what is stated, that is no answer.
    if !curve_is_used {
        answers.push(Answer::new(AS_WRITTEN, format!("{word} at {}", told(said))));
    }
    let used = if curve_is_used { "curve" } else { AS_WRITTEN };
    let text = cook.cell(column(mark)).map_or_else(|| told(said), |cell| cell.text.to_owned());
    let asks = match seen {
        Some(_) if is_twice => {
            format!("{place}: is `{text}` the first or the second time that the clock showed it?")
        }
        Some(seen) => {
            format!("{place}: is `{text}` right? The curve shows {word} at {}", told(seen))
        }
        None => format!("{place}: is `{text}` right? The curve does not bear it out"),
    };
    let question = Question::new(
        QuestionCode::MarkAgainstCurve,
        &[&cook.card.cook, word, &text, &(said / MINUTE_MS).to_string()],
        asks,
        format!("cook `{}`: {why}", cook.card.cook),
        answers,
    )
    .at(place);
    let question = cook.at_logs(question);
    Finding {
        question: Question { used: Some(used.to_owned()), ..question },
        answered,
        open: Vec::new(),
    }
}
