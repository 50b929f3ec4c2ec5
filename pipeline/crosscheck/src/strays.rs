//! Marks that lie outside the cook's own log: another cook's, or of another day.

use crate::curve::Curve;
use crate::finding::{Change, Finding};
use crate::shifts::Moved;
use crate::{Season, say};
use cook::{Answer, Mark, MarkTimes, Question, QuestionCode};
use jiff::ToSpan;
use jiff::tz::TimeZone;
use phases::marks::signs::FAR_OFF_MS;
use std::collections::BTreeSet;

/// A log begins this long after meat-on at most, and ends this long before the pull at most, where marks
/// are to be its own, ms (90 min): loggers are switched on late.
const LATE_MS: i64 = 2 * FAR_OFF_MS;
const MARKS: [Mark; 4] = [Mark::MeatOn, Mark::Wrap, Mark::Pull, Mark::Slice];
/// The answers.
const EXCHANGE: &str = "exchange";
const LEAVE_OUT: &str = "leave-out";

fn of(marks: &MarkTimes, mark: Mark) -> Option<i64> {
    match mark {
        Mark::MeatOn => marks.meat_on_ms,
        Mark::Wrap => marks.wrap_ms,
        Mark::Pull => marks.pull_ms,
        Mark::Slice => marks.slice_ms,
    }
}

/// Whether no part of the cook that the marks tell lies in the log.
fn is_outside(curve: &Curve, marks: &MarkTimes) -> bool {
    marks.meat_on_ms.is_some_and(|on| on >= curve.last_ms)
        || marks.pull_ms.is_some_and(|off| off <= curve.first_ms)
}

/// Whether marks lie in a log, meat-on and pull at the least.
fn fits(curve: &Curve, marks: &[Option<i64>; 4]) -> bool {
    let inside = |ms: &i64| (curve.first_ms - LATE_MS..=curve.last_ms + LATE_MS).contains(ms);
    let [on, _, off, _] = marks;
    on.is_some() && off.is_some() && marks.iter().take(3).flatten().all(inside)
}

/// Marks as they are, and on another's day.
fn on_its_day(
    marks: &MarkTimes,
    own: Option<&str>,
    its: Option<&str>,
    zone: &TimeZone,
) -> [[Option<i64>; 4]; 2] {
    let date = |text: Option<&str>| text?.parse::<jiff::civil::Date>().ok();
    let days = date(own).zip(date(its)).map(|(own, its)| (its - own).get_days());
    let later = |ms: i64| {
        let local = zone.to_datetime(jiff::Timestamp::from_millisecond(ms).ok()?);
        let there = local.checked_add(days?.days()).ok()?;
        Some(zone.to_timestamp(there).ok()?.as_millisecond())
    };
    let as_they_are = MARKS.map(|mark| of(marks, mark));
    [as_they_are, as_they_are.map(|ms| later(ms?))]
}

/// `asked` are marks that are asked about already, by cook; those of this question join them.
pub(crate) fn find(
    season: &Season<'_>,
    moved: &Moved,
    asked: &mut BTreeSet<(usize, Mark)>,
) -> Vec<Finding> {
    let is_moved =
        |at: usize| moved.settled.contains(&at) || moved.by.iter().any(|(cook, _)| *cook == at);
    let strays: Vec<usize> = (0..season.cooks.len())
        .filter(|at| {
            let cook = &season.cooks[*at];
            let outside = cook.curve.is_some_and(|curve| is_outside(curve, &cook.card.marks));
            outside && !is_moved(*at) && !cook.zero_is_meat_on
        })
        .collect();
    let mut findings = Vec::new();
    let mut paired: BTreeSet<usize> = BTreeSet::new();
    for (index, &one) in strays.iter().enumerate() {
        asked.extend(MARKS.map(|mark| (one, mark)));
        if paired.contains(&one) {
            continue;
        }
        let others = strays[index + 1..].iter().filter(|other| !paired.contains(other));
        let pair = others.copied().find_map(|other| {
            Some((other, taken(season, one, other)?, taken(season, other, one)?))
        });
        match pair {
            Some((other, of_one, of_other)) => {
                paired.extend([one, other]);
                findings.push(exchanged(season, (one, of_one), (other, of_other)));
            }
            None => findings.push(alone(season, one)),
        }
    }
    findings
}

/// The marks that a cook would have of another, where they lie in its log.
fn taken(season: &Season<'_>, cook: usize, of_cook: usize) -> Option<[Option<i64>; 4]> {
    let (own, other) = (&season.cooks[cook], &season.cooks[of_cook]);
    let dates = (other.card.date.as_deref(), own.card.date.as_deref());
    let ways = on_its_day(&other.card.marks, dates.0, dates.1, season.zone);
    ways.into_iter().find(|marks| own.curve.is_some_and(|curve| fits(curve, marks)))
}

fn set(season: &Season<'_>, cook: usize, marks: [Option<i64>; 4]) -> Vec<(usize, Change)> {
    let stated = &season.cooks[cook].card.marks;
    let change = |(mark, now): (Mark, Option<i64>)| match (of(stated, mark), now) {
        (Some(was), now) => Some((cook, Change::Mark { mark, was, now })),
        (None, Some(now)) => Some((cook, Change::NewMark(mark, now))),
        (None, None) => None,
    };
    MARKS.into_iter().zip(marks).filter_map(change).collect()
}

/// Where a cook's marks are stated, and its log, in words.
fn told(season: &Season<'_>, at: usize) -> String {
    let cook = &season.cooks[at];
    let instant = |ms: i64| say::instant(ms, season.zone);
    let marks = &cook.card.marks;
    let said: Vec<String> = [(Mark::MeatOn, marks.meat_on_ms), (Mark::Pull, marks.pull_ms)]
        .into_iter()
        .filter_map(|(mark, ms)| Some(format!("{} {}", mark.as_str(), instant(ms?))))
        .collect();
    let log = cook.curve.map_or_else(String::new, |curve| {
        format!("{} to {}", instant(curve.first_ms), instant(curve.last_ms))
    });
    format!("cook `{}`: {}, and its log lasts from {log}", cook.card.cook, said.join(", "))
}

fn evidence(season: &Season<'_>, at: usize) -> String {
    let marks = &season.cooks[at].card.marks;
    format!("{}: {:?}", season.cooks[at].card.cook, MARKS.map(|mark| of(marks, mark)))
}

fn exchanged(
    season: &Season<'_>,
    (one, of_one): (usize, [Option<i64>; 4]),
    (other, of_other): (usize, [Option<i64>; 4]),
) -> Finding {
    let name = |at: usize| season.cooks[at].card.cook.as_str();
    let question = Question::new(
        QuestionCode::MarksOfAnother,
        &[&evidence(season, one), &evidence(season, other)],
        format!("have the cooks `{}` and `{}` each other's marks?", name(one), name(other)),
        format!("{}; {}", told(season, one), told(season, other)),
        vec![
            Answer::new(EXCHANGE, "each has the other's: they lie in its log"),
            Answer::new(LEAVE_OUT, "the marks of both are not used"),
        ],
    )
    .at(season.cooks[one].place("meat_on"))
    .at(season.cooks[other].place("meat_on"));
    let none = [None; 4];
    let left_out: Vec<_> = [one, other].into_iter().flat_map(|at| set(season, at, none)).collect();
    let mut exchanged = set(season, one, of_one);
    exchanged.extend(set(season, other, of_other));
    Finding {
        question: Question { used: Some(LEAVE_OUT.to_owned()), ..question },
        answered: vec![(EXCHANGE, exchanged), (LEAVE_OUT, left_out.clone())],
        open: left_out,
    }
}

fn alone(season: &Season<'_>, at: usize) -> Finding {
    let question = Question::new(
        QuestionCode::MarksOfAnother,
        &[&evidence(season, at)],
        format!("cook `{}`: its marks lie outside its log", season.cooks[at].card.cook),
        format!("{}; a date, a clock or the log is wrong in the sheet", told(season, at)),
        vec![Answer::new(LEAVE_OUT, "the marks are not used; write the right ones into the sheet")],
    )
    .at(season.cooks[at].place("meat_on"));
    let left_out = set(season, at, [None; 4]);
    Finding {
        question: Question { used: Some(LEAVE_OUT.to_owned()), ..question },
        answered: vec![(LEAVE_OUT, left_out.clone())],
        open: left_out,
    }
}
