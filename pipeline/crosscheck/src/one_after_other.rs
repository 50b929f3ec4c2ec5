//! Two cooks one after the other in one log, taken for one.

use crate::curve::{Curve, LEVEL_MS};
use crate::finding::{Change, Finding, LEAVE_OUT};
use crate::{Cook, Season, say};
use cook::{Answer, Mark, Question, QuestionCode};

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

pub(crate) fn find(season: &Season<'_>) -> Vec<Finding> {
    let cooks = season.cooks.iter().enumerate();
    cooks.filter_map(|(at, cook)| two(season, at, cook, cook.curve?)).collect()
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

fn two(season: &Season<'_>, at: usize, cook: &Cook<'_>, curve: &Curve) -> Option<Finding> {
    let begins = |index: usize| curve.first_ms + index as i64 * LEVEL_MS;
    let marks = &cook.card.marks;
    // What is sliced is over; without that, a cook's rest lasts to the end of its log.
    let on = marks.meat_on_ms.unwrap_or(curve.first_ms);
    let end = marks.slice_ms.unwrap_or(curve.last_ms);
    let own: Vec<Rise> =
        rises(curve).into_iter().filter(|rise| (on..=end).contains(&begins(rise.cooked))).collect();
    let [first, second, ..] = &own[..] else { return None };
    let levels = |from: usize, until: usize| {
        let part = curve.core.iter().enumerate().take(until).skip(from);
        part.filter_map(|(index, level)| Some((index, f64::from((*level)?) / 10.0)))
            .collect::<Vec<_>>()
    };
    let between = levels(first.cooked, second.raw + 1);
    let highest = between.iter().map(|level| level.1).fold(f64::NEG_INFINITY, f64::max);
    let pulled = between.iter().rfind(|(_, level)| *level >= highest - COOLED_OFF_C)?.0;
    let fallen = between.iter().find(|(index, level)| *index > pulled && *level <= RAW_C)?.0;
    let cold = levels(fallen, second.raw + 1);
    let lowest = cold.iter().map(|level| level.1).fold(f64::INFINITY, f64::min);
    let on_again = cold.iter().rfind(|(_, level)| *level <= lowest + RISEN_C)?.0;

    let told = |index: usize| say::instant(begins(index), season.zone);
    let name = &cook.card.cook;
    let log = cook.card.logs.join("; ");
    let question = Question::new(
        QuestionCode::TwoCooksInALog,
        &[name, &log],
        format!("cook `{name}`: are there two cooks in its log?"),
        format!(
            "the core is cooked by {}, is down to {} at {}, and is heated once more from {} on ({log}). Until this is answered, all of it is taken for one cook; a row for each with its meat_on and pull, both naming the log, shares the log out",
            told(first.cooked),
            say::temperature(lowest, season.units),
            told(fallen),
            told(on_again)
        ),
        vec![
            Answer::new("first", format!("the first alone, pulled at about {}", told(pulled))),
            Answer::new("second", format!("the second alone, on at about {}", told(on_again))),
            Answer::new(LEAVE_OUT, "the cook is left out"),
            Answer::new("one", "all of it is one cook"),
        ],
    )
    .at(cook.place("logs"));
    let (pulled_ms, fallen_ms, on_again_ms) = (begins(pulled), begins(fallen), begins(on_again));
    let set = |mark: Mark, stated: Option<i64>, now: Option<i64>| match (stated, now) {
        (Some(was), now) => Some((at, Change::Mark { mark, was, now })),
        (None, Some(now)) => Some((at, Change::NewMark(mark, now))),
        (None, None) => None,
    };
    // What is stated of the one that is meant stays.
    let stays = |ms: i64| ms <= fallen_ms;
    let pull = marks.pull_ms.filter(|ms| !stays(*ms));
    let of_first = [
        (pull.is_some() || marks.pull_ms.is_none())
            .then(|| set(Mark::Pull, pull, Some(pulled_ms)))
            .flatten(),
        set(Mark::Slice, marks.slice_ms, Some(fallen_ms)),
    ];
    let of_second = [
        set(Mark::MeatOn, marks.meat_on_ms, Some(on_again_ms)),
        set(Mark::Wrap, marks.wrap_ms.filter(|ms| stays(*ms)), None),
        set(Mark::Pull, marks.pull_ms.filter(|ms| stays(*ms)), None),
    ];
    let of_first = of_first.into_iter().flatten().collect();
    let of_second = of_second.into_iter().flatten().collect();
    let left_out = Change::Exclude("two cooks in one log".to_owned());
    Some(Finding {
        question: Question { used: Some("one".to_owned()), ..question },
        answered: vec![
            ("first", of_first),
            ("second", of_second),
            (LEAVE_OUT, vec![(at, left_out)]),
        ],
        open: Vec::new(),
    })
}
