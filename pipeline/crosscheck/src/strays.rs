//! Marks that lie outside the cook's own log, or on another day than its date: another cook's, or of
//! another day.

use crate::curve::Curve;
use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::shifts::Moved;
use crate::{Cook, Season, say, swapped};
use columns::card;
use cook::{Answer, Mark, MarkTimes, Question, QuestionCode};
use jiff::ToSpan;
use jiff::tz::TimeZone;
use phases::marks::signs::FAR_OFF_MS;
use std::collections::BTreeSet;

/// A log begins this long after meat-on at most, and ends this long before the pull at most, where marks
/// are to be its own, ms (90 min): loggers are switched on late.
const LATE_MS: i64 = 2 * FAR_OFF_MS;
/// The first mark that is stated of a cook lies at most so many days after its date: a pull, of one that
/// began in the evening before.
const DAYS_AFTER: i32 = 2;
pub(crate) const MARKS: [Mark; 4] = [Mark::MeatOn, Mark::Wrap, Mark::Pull, Mark::Slice];
/// The answers.
const EXCHANGE: &str = "exchange";

pub(crate) fn of(marks: &MarkTimes, mark: Mark) -> Option<i64> {
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

/// The calendar days from a cook's date to its first mark.
fn days_off(cook: &Cook<'_>, marks: &[Option<i64>; 4], zone: &TimeZone) -> Option<i32> {
    let date: jiff::civil::Date = cook.card.date.as_deref()?.parse().ok()?;
    let first = marks.iter().flatten().min()?;
    let day = zone.to_datetime(jiff::Timestamp::from_millisecond(*first).ok()?).date();
    Some((day - date).get_days())
}

/// Whether the marks state another day than the date, which is that of meat-on, or the evening before.
fn is_off_its_day(cook: &Cook<'_>, zone: &TimeZone) -> bool {
    let marks = MARKS.map(|mark| of(&cook.card.marks, mark));
    days_off(cook, &marks, zone).is_some_and(|days| !(-1..=DAYS_AFTER).contains(&days))
}

/// Whether marks can be a cook's: they lie in its log, or without one on its day.
fn fits(cook: &Cook<'_>, marks: &[Option<i64>; 4], zone: &TimeZone) -> bool {
    let mut stated = marks.iter().take(3).flatten().peekable();
    if stated.peek().is_none() {
        return false;
    }
    match cook.curve.filter(|_| !cook.zero_is_meat_on) {
        Some(curve) => {
            stated.all(|ms| (curve.first_ms - LATE_MS..=curve.last_ms + LATE_MS).contains(ms))
        }
        None => days_off(cook, marks, zone).is_some_and(|days| (0..=1).contains(&days)),
    }
}

/// Whether nothing is known of when a cook of the sheet went on or came off.
pub(crate) fn has_no_marks(cook: &Cook<'_>) -> bool {
    let marks = &cook.card.marks;
    !cook.cells.is_empty() && marks.meat_on_ms.is_none() && marks.pull_ms.is_none()
}

/// Marks as they are, and on another's day.
pub(crate) fn on_its_day(
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
            let outside = outside && !cook.zero_is_meat_on;
            (outside || is_off_its_day(cook, season.zone)) && !is_moved(*at)
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
        // Or it has those of a cook that has none.
        let pair = pair.or_else(|| {
            let bare = |at: &usize| *at != one && has_no_marks(&season.cooks[*at]);
            let mut bare = (0..season.cooks.len()).filter(bare).filter(|at| !paired.contains(at));
            bare.find_map(|other| {
                let cook = &season.cooks[other];
                let marks = taken(season, other, one)?;
                let fits = cook.curve.is_none() || swapped::bears_out(cook, &marks);
                fits.then_some((other, [None; 4], marks))
            })
        });
        match pair {
            Some((other, of_one, of_other)) => {
                paired.extend([one, other]);
                findings.push(exchanged(season, (one, of_one), (other, of_other), true));
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
    ways.into_iter().find(|marks| fits(own, marks, season.zone))
}

pub(crate) fn set(
    season: &Season<'_>,
    cook: usize,
    marks: [Option<i64>; 4],
) -> Vec<(usize, Change)> {
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
    let said: Vec<String> = MARKS
        .into_iter()
        .take(3)
        .filter_map(|mark| Some((mark, of(&cook.card.marks, mark)?)))
        .map(|(mark, ms)| format!("{} {}", mark.as_str(), instant(ms)))
        .collect();
    let said = if said.is_empty() { "no mark that is known".to_owned() } else { said.join(", ") };
    let where_else = match (cook.curve, &cook.card.date) {
        (Some(curve), _) if !cook.zero_is_meat_on => {
            format!(
                ", and its log lasts from {} to {}",
                instant(curve.first_ms),
                instant(curve.last_ms)
            )
        }
        (_, Some(date)) => format!(", and its date is {date}"),
        _ => String::new(),
    };
    format!("cook `{}`: {said}{where_else}", cook.card.cook)
}

fn evidence(season: &Season<'_>, at: usize) -> String {
    let marks = &season.cooks[at].card.marks;
    format!("{}: {:?}", season.cooks[at].card.cook, MARKS.map(|mark| of(marks, mark)))
}

/// With the cells that state a cook's marks, and its logs, against which they are held.
pub(crate) fn at_marks(mut question: Question, cook: &Cook<'_>) -> Question {
    let fields = [card::MEAT_ON_AT, card::WRAP_AT, card::PULL_AT].map(|field| field.stated_as());
    let stated: Vec<&str> = fields.into_iter().filter(|field| cook.cell(field).is_some()).collect();
    for field in if stated.is_empty() { &fields[..1] } else { &stated[..] } {
        question = question.at(cook.place(field));
    }
    cook.at_logs(question)
}

/// Two cooks of which each may have the other's marks. Where `is_certain`, their own cannot be theirs
/// and wait for the answer; else they are used as written.
pub(crate) fn exchanged(
    season: &Season<'_>,
    (one, of_one): (usize, [Option<i64>; 4]),
    (other, of_other): (usize, [Option<i64>; 4]),
    is_certain: bool,
) -> Finding {
    let name = |at: usize| season.cooks[at].card.cook.as_str();
    // Readings that count from their own zero were put where the marks are.
    let hangs = [one, other].iter().any(|at| season.cooks[*at].zero_is_meat_on);
    // What the other's row states and could not be placed would be lost.
    let fields = [card::WRAP_AT, card::PULL_AT].map(|field| field.stated_as());
    let lost = [one, other]
        .map(|at| &season.cooks[at])
        .into_iter()
        .any(|cook| has_no_marks(cook) && fields.iter().any(|field| cook.cell(field).is_some()));
    // Each log is of the other row's date: it is the logs that were exchanged, not the marks.
    let (one_cook, other_cook) = (&season.cooks[one], &season.cooks[other]);
    let of_date = |log: &Cook<'_>, dated: &Cook<'_>| {
        let first = log.curve.map(|curve| curve.first_ms);
        days_off(dated, &[first, None, None, None], season.zone)
            .is_some_and(|days| (-1..=1).contains(&days))
    };
    let logs_are_exchanged = !hangs
        && of_date(one_cook, other_cook)
        && of_date(other_cook, one_cook)
        && !of_date(one_cook, one_cook)
        && !of_date(other_cook, other_cook);
    let mut answers = Vec::new();
    let (mut exchange, mut left_out) = (Vec::new(), Vec::new());
    if !hangs && !lost && !logs_are_exchanged {
        answers.push(Answer::new(EXCHANGE, "each has the other's: they lie in its log"));
        exchange = set(season, one, of_one);
        exchange.extend(set(season, other, of_other));
    }
    if logs_are_exchanged {
        // Which of the two it was, only their team knows: weights and wraps stay with their row.
        let dates = one_cook.card.date.clone().zip(other_cook.card.date.clone());
        let dates = dates.filter(|(a, b)| !lost && a.get(..4) == b.get(..4));
        if let Some((of_one_row, of_other_row)) = dates {
            answers.push(Answer::new(
                EXCHANGE,
                "the logs are right: date and marks of each stand in the other's row",
            ));
            exchange = set(season, one, of_one);
            exchange.extend(set(season, other, of_other));
            exchange.extend([(one, Change::Date(of_other_row)), (other, Change::Date(of_one_row))]);
        }
        answers.push(Answer::new(LEAVE_OUT, "both are left out of the analysis"));
        let reason = "it is not known which of two logs is its own";
        left_out.extend([one, other].map(|at| (at, Change::Exclude(reason.to_owned()))));
    } else {
        answers.push(Answer::new(LEAVE_OUT, "the marks of both are not used"));
        for at in [one, other] {
            left_out.extend(set(season, at, [None; 4]));
        }
    }
    if !is_certain {
        answers.push(Answer::new(AS_WRITTEN, "each has its own"));
    }
    let shares_a_log = one_cook.logs.iter().any(|log| other_cook.logs.contains(log));
    let remedy = match (hangs, lost) {
        (true, _) => {
            "; their logs count from a zero that hangs on the marks: write each into its own row"
        }
        (_, true) => "; one row has times that could not be placed: write each into its own row",
        _ if logs_are_exchanged => {
            "; each log is of the other's date: exchange the two cells of `logs` in the sheet"
        }
        _ if shares_a_log => {
            "; where it is the channels that were exchanged, exchange them in the two cells of `logs` instead"
        }
        _ => "",
    };
    let whose = if logs_are_exchanged { "log" } else { "marks" };
    let question = Question::new(
        QuestionCode::MarksOfAnother,
        &[&evidence(season, one), &evidence(season, other)],
        format!("have the cooks `{}` and `{}` each other's {whose}?", name(one), name(other)),
        format!("{}; {}{remedy}", told(season, one), told(season, other)),
        answers,
    );
    let question = at_marks(at_marks(question, &season.cooks[one]), &season.cooks[other]);
    let used = if is_certain { LEAVE_OUT } else { AS_WRITTEN };
    let mut answered = vec![(LEAVE_OUT, left_out.clone())];
    answered.extend((!exchange.is_empty()).then_some((EXCHANGE, exchange)));
    Finding {
        question: Question { used: Some(used.to_owned()), ..question },
        answered,
        open: if is_certain { left_out } else { Vec::new() },
    }
}

fn alone(season: &Season<'_>, at: usize) -> Finding {
    let cook = &season.cooks[at];
    let lies = if is_off_its_day(cook, season.zone) {
        "its marks are of another day than its date"
    } else {
        "its marks lie outside its log"
    };
    let question = Question::new(
        QuestionCode::MarksOfAnother,
        &[&evidence(season, at)],
        format!("cook `{}`: {lies}", cook.card.cook),
        format!("{}; a date, a clock or the log is wrong in the sheet", told(season, at)),
        vec![Answer::new(LEAVE_OUT, "the marks are not used; write the right ones into the sheet")],
    );
    let question = at_marks(question, cook);
    let left_out = set(season, at, [None; 4]);
    Finding {
        question: Question { used: Some(LEAVE_OUT.to_owned()), ..question },
        answered: vec![(LEAVE_OUT, left_out.clone())],
        open: left_out,
    }
}
