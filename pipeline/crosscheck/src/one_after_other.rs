//! Cooks one after the other in one log.

use crate::curve::{Curve, LEVEL_MS};
use crate::finding::{Change, Finding, LEAVE_OUT};
use crate::{Cook, Season, say};
use cook::{Answer, Mark, Question, QuestionCode};
use phases::marks::signs::LIT_ABOVE_C;

/// Meat below this is not cooked yet, °C, and above the other it is being cooked …
const RAW_C: f64 = 35.0;
const COOKED_C: f64 = 60.0;
/// … and takes so many levels at least from one to the other, an hour: a probe that is put back into warm
/// meat leaps.
const LEVELS: usize = 6;
/// A core this far below its highest has come off, °C, as for a pull.
const COOLED_OFF_C: f64 = phases::marks::signs::COOLED_OFF_C;
/// A core has begun to rise when it is so far above its lowest, °C.
const RISEN_C: f64 = 1.5;

/// A core that is heated from raw.
struct Rise {
    /// The last level at which it is raw.
    raw: usize,
    /// The first at which it is cooked.
    cooked: usize,
}

/// One of several cooks in a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CookInLog {
    /// Where its part of the log begins, ms UTC; `None` at the log's beginning.
    pub from_ms: Option<i64>,
    /// Where it ends: the next one's begins there.
    pub until_ms: Option<i64>,
    /// About when its meat went on.
    pub on_ms: i64,
    /// The first level at which it is cooked.
    cooked_ms: i64,
    /// About when it came off, and when it had cooled down; `None` of the last one.
    off_ms: Option<(i64, i64)>,
}

/// The cooks that follow each other in a curve, where there are several.
pub fn cooks_in(curve: &Curve) -> Vec<CookInLog> {
    let begins = |index: usize| curve.first_ms + index as i64 * LEVEL_MS;
    let rises = rises(curve);
    if rises.len() < 2 {
        return Vec::new();
    }
    let mut cooks: Vec<CookInLog> = Vec::new();
    let mut from = 0;
    for (nth, rise) in rises.iter().enumerate() {
        let cold = levels(curve, from, rise.raw + 1);
        let lowest = cold.iter().map(|level| level.1).fold(f64::INFINITY, f64::min);
        let on = cold.iter().rfind(|(_, level)| *level <= lowest + RISEN_C);
        let on_ms = begins(on.map_or(rise.raw, |(index, _)| *index));
        let before = cooks.last().and_then(|before| before.until_ms);
        let mut cook = CookInLog {
            from_ms: before,
            until_ms: None,
            on_ms,
            cooked_ms: begins(rise.cooked),
            off_ms: None,
        };
        if let Some(next) = rises.get(nth + 1) {
            let (pulled, fallen) = off(curve, rise, next);
            from = border(curve, pulled, next.raw);
            cook.off_ms = Some((begins(pulled), begins(fallen)));
            cook.until_ms = Some(begins(from));
        }
        cooks.push(cook);
    }
    cooks
}

/// The core's levels from a place until another, °C.
fn levels(curve: &Curve, from: usize, until: usize) -> Vec<(usize, f64)> {
    let part = curve.core.iter().enumerate().take(until).skip(from);
    part.filter_map(|(index, level)| Some((index, f64::from((*level)?) / 10.0))).collect()
}

/// Where the meat of a rise comes off before the next, and where it is down again.
fn off(curve: &Curve, rise: &Rise, next: &Rise) -> (usize, usize) {
    let between = levels(curve, rise.cooked, next.raw + 1);
    let highest = between.iter().map(|level| level.1).fold(f64::NEG_INFINITY, f64::max);
    let pulled = between.iter().rfind(|(_, level)| *level >= highest - COOLED_OFF_C);
    let pulled = pulled.map_or(rise.cooked, |(index, _)| *index);
    let fallen = between.iter().find(|(index, level)| *index > pulled && *level <= RAW_C);
    (pulled, fallen.map_or(next.raw, |(index, _)| *index))
}

/// Where the part of one cook ends and that of the next begins: in the middle of the longest time without readings
/// between them, else of the longest without a fire, else where the meat is coldest.
fn border(curve: &Curve, pulled: usize, raw: usize) -> usize {
    let longest = |is_in: &dyn Fn(usize) -> bool| {
        let (mut best, mut begins) = (0..0, None);
        for index in pulled + 1..=raw + 1 {
            if index <= raw && is_in(index) {
                begins.get_or_insert(index);
            } else if let Some(from) = begins.take()
                && index - from > best.len()
            {
                best = from..index;
            }
        }
        (best.len() >= LEVELS).then(|| usize::midpoint(best.start, best.end))
    };
    let level = |of: &[Option<i16>], index: usize| of.get(index).copied().flatten();
    let silent =
        |index: usize| level(&curve.core, index).is_none() && level(&curve.pit, index).is_none();
    let unlit = |index: usize| {
        level(&curve.pit, index).is_some_and(|tenths| f64::from(tenths) / 10.0 < LIT_ABOVE_C)
    };
    let cold = levels(curve, pulled + 1, raw + 1);
    let coldest = || cold.iter().min_by(|a, b| a.1.total_cmp(&b.1)).map_or(raw, |level| level.0);
    longest(&silent).or_else(|| longest(&unlit)).unwrap_or_else(coldest)
}

/// The answers that take one of the cooks alone.
const TAKES: [&str; 8] =
    ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];

pub(crate) fn find(season: &Season<'_>) -> Vec<Finding> {
    let cooks = season.cooks.iter().enumerate();
    cooks.filter_map(|(at, cook)| several(season, at, cook, cook.curve?)).collect()
}

/// Rises of the core from raw, as meat is heated.
fn rises(curve: &Curve) -> Vec<Rise> {
    let mut found = Vec::new();
    let mut raw = None;
    for (index, level) in curve.core.iter().enumerate() {
        let Some(level) = level.map(|tenths| f64::from(tenths) / 10.0) else { continue };
        if level <= RAW_C {
            raw = Some(index);
        } else if level >= COOKED_C
            && let Some(raw) = raw.take()
            && index - raw >= LEVELS
        {
            found.push(Rise { raw, cooked: index });
        }
    }
    found
}

fn several(season: &Season<'_>, at: usize, cook: &Cook<'_>, curve: &Curve) -> Option<Finding> {
    let marks = &cook.card.marks;
    // What is sliced is over; without that, a cook's rest lasts to the end of its log.
    let on = marks.meat_on_ms.unwrap_or(curve.first_ms);
    let end = marks.slice_ms.unwrap_or(curve.last_ms);
    let own: Vec<CookInLog> =
        cooks_in(curve).into_iter().filter(|one| (on..=end).contains(&one.cooked_ms)).collect();
    let [first, second, ..] = &own[..] else { return None };
    let (_, fallen_ms) = first.off_ms?;
    let told = |ms: i64| say::instant(ms, season.zone);
    let name = &cook.card.cook;
    let log = cook.card.logs.join("; ");
    let count = own.len();
    let mut answers = Vec::new();
    let mut answered = Vec::new();
    for (nth, (take, one)) in TAKES.iter().zip(&own).enumerate() {
        let then = match (nth, one.off_ms) {
            (0, Some((off, _))) => format!("the first alone, pulled at about {}", told(off)),
            _ => format!("the {take} alone, on at about {}", told(one.on_ms)),
        };
        answers.push(Answer::new(*take, then));
        let before = own.get(nth.wrapping_sub(1)).and_then(|before| before.off_ms);
        answered.push((*take, alone(at, cook, one, before.map(|(_, fallen)| fallen))));
    }
    answers.push(Answer::new(LEAVE_OUT, "the cook is left out"));
    answers.push(Answer::new("one", "all of it is one cook"));
    let left_out = Change::Exclude("several cooks in one log".to_owned());
    answered.push((LEAVE_OUT, vec![(at, left_out)]));
    let question = Question::new(
        QuestionCode::TwoCooksInALog,
        &[name, &log],
        match count {
            2 => format!("cook `{name}`: are there two cooks in its log?"),
            _ => format!("cook `{name}`: are there {count} cooks in its log?"),
        },
        format!(
            "the core is cooked by {}, is down again at {}, and is heated once more from {} on ({log}). Until this is answered, all of it is taken for one cook; a row for each with its `date`, all naming the log, shares the log out",
            told(first.cooked_ms),
            told(fallen_ms),
            told(second.on_ms)
        ),
        answers,
    )
    .at(cook.place("logs"));
    Some(Finding {
        question: Question { used: Some("one".to_owned()), ..question },
        answered,
        open: Vec::new(),
    })
}

/// The marks of a cook that is one of several in its log. What is stated of the one that is meant stays. `fallen_ms`
/// is when the meat before was down again.
fn alone(
    at: usize,
    cook: &Cook<'_>,
    one: &CookInLog,
    fallen_ms: Option<i64>,
) -> Vec<(usize, Change)> {
    let marks = &cook.card.marks;
    let end_ms = one.off_ms.map_or(i64::MAX, |(_, fallen)| fallen);
    let is_its = |ms: &i64| (fallen_ms.unwrap_or(i64::MIN)..=end_ms).contains(ms);
    let set = |mark: Mark, stated: Option<i64>, now: Option<i64>| match (stated, now) {
        (Some(was), now) if !is_its(&was) => Some((at, Change::Mark { mark, was, now })),
        (None, Some(now)) => Some((at, Change::NewMark(mark, now))),
        _ => None,
    };
    let changes = [
        set(Mark::MeatOn, marks.meat_on_ms, fallen_ms.map(|_| one.on_ms)),
        set(Mark::Wrap, marks.wrap_ms, None),
        set(Mark::Pull, marks.pull_ms, one.off_ms.map(|(off, _)| off)),
        // A rest ends where the meat has cooled down at the latest.
        match marks.slice_ms.filter(|slice| !is_its(slice)) {
            Some(was) => {
                let now = one.off_ms.map(|(_, fallen)| fallen);
                Some((at, Change::Mark { mark: Mark::Slice, was, now }))
            }
            None => None,
        },
    ];
    changes.into_iter().flatten().collect()
}
