//! A shift that all marks of a cook, and perhaps of several, have against their curves: the zone, the
//! date or a clock is wrong.

use crate::finding::{AS_WRITTEN, Change, Finding};
use crate::say::{self, HOUR_MS, MINUTE_MS};
use crate::{Cook, Season};
use cook::{Answer, EventKind, Mark, Question, QuestionCode};
use phases::marks::signs::FAR_OFF_MS;
use std::collections::BTreeSet;

/// A shift below this is a late hand, ms.
const LEAST_MS: i64 = FAR_OFF_MS;
/// Two marks that show a smaller shift than a zone's, an hour of daylight saving, must show it within
/// this of each other, ms (12 min).
const CLOSELY_MS: i64 = 12 * MINUTE_MS;
/// Two marks of a cook show the same shift within this, ms (30 min): a mark is seen in a curve to
/// within a quarter of an hour, and written down as late as that.
const ALIKE_MS: i64 = 30 * MINUTE_MS;
/// Cooks share a shift within this of their middle, ms (20 min).
const SHARED_MS: i64 = 20 * MINUTE_MS;
/// So many cooks of which one mark alone shows the shift are no accident.
const COOKS: usize = 3;
/// A shift is that of a zone if it lies this near to a whole half hour, ms (15 min): all zones in use
/// but a few are whole half hours apart (IANA time zone database).
const WHOLE_WITHIN_MS: i64 = 15 * MINUTE_MS;
const HALF_HOUR_MS: i64 = 30 * MINUTE_MS;
const DAY_MS: i64 = 24 * HOUR_MS;
/// Raw meat out of a cold room is colder than this, °C. Common practice, no source.
const RAW_C: f64 = 15.0;
/// A lid or a dip this near to a mark is its sign, ms (20 min).
const SIGN_WITHIN_MS: i64 = 20 * MINUTE_MS;

#[derive(Debug, Clone)]
struct Lag {
    cook: usize,
    by_ms: i64,
    /// Whether two marks show it.
    by_two: bool,
}

/// What was found; and which cooks' marks are not to be asked about one by one, with the shift that
/// was made. `settled` are asked about already.
pub(crate) fn find(season: &Season<'_>, settled: BTreeSet<usize>) -> (Vec<Finding>, Moved) {
    let mut lags: Vec<Lag> = season
        .cooks
        .iter()
        .enumerate()
        .filter(|(at, _)| !settled.contains(at))
        .filter_map(|(at, cook)| {
            lag_of(cook).map(|(by_ms, by_two)| Lag { cook: at, by_ms, by_two })
        })
        .collect();
    lags.sort_by_key(|lag| (lag.by_ms, lag.cook));
    let mut findings = Vec::new();
    let mut moved = Moved { settled, ..Moved::default() };
    let mut rest = &lags[..];
    while let Some(first) = rest.first() {
        let count = rest.partition_point(|lag| lag.by_ms - first.by_ms <= 2 * SHARED_MS);
        let (group, later) = rest.split_at(count);
        rest = later;
        if group.len() >= COOKS || group.iter().any(|lag| lag.by_two) {
            let group = with_the_rest(season, group, &moved.settled);
            let finding = shifted(season, &group);
            let is_moved = season
                .answers
                .to(&finding.question)
                .is_some_and(|answer| answer.eq_ignore_ascii_case(MOVE));
            for lag in group.iter().filter(|_| !is_moved) {
                moved.settled.insert(lag.cook);
            }
            if is_moved {
                let shifts = finding.answered.iter().flat_map(|(_, changes)| changes);
                moved.by.extend(shifts.filter_map(|(cook, change)| match change {
                    Change::Shift(by_ms) => Some((*cook, *by_ms)),
                    _ => None,
                }));
            }
            findings.push(finding);
        }
    }
    (findings, moved)
}

/// A group with the cooks that are of it although they alone would not show it: one mark of theirs lies as far off;
/// or nothing of them tells, and no cook's marks lie where its curve shows them.
fn with_the_rest(season: &Season<'_>, group: &[Lag], settled: &BTreeSet<usize>) -> Vec<Lag> {
    let mut all: Vec<Lag> = group.to_vec();
    let by_two = group.iter().filter(|lag| lag.by_two).count() >= COOKS;
    if !by_two && group.len() < COOKS {
        return all;
    }
    let by_ms = group[group.len() / 2].by_ms;
    let others: Vec<usize> = (0..season.cooks.len())
        .filter(|at| !settled.contains(at) && group.iter().all(|lag| lag.cook != *at))
        .filter(|at| season.cooks[*at].curve.is_some() && !season.cooks[*at].zero_is_in_doubt())
        .collect();
    let shows = |at: usize, by_ms: i64| {
        mark_lags(&season.cooks[at])
            .into_iter()
            .flatten()
            .any(|lag| (lag - by_ms).abs() <= SHARED_MS)
    };
    let some_are_right = others.iter().any(|&at| shows(at, 0));
    let joins = |at: &usize| {
        let is_known = mark_lags(&season.cooks[*at]).iter().any(Option::is_some);
        (shows(*at, by_ms) && !shows(*at, 0)) || (by_two && !is_known && !some_are_right)
    };
    all.extend(others.into_iter().filter(joins).map(|cook| Lag { cook, by_ms, by_two: false }));
    all.sort_by_key(|lag| (lag.by_ms, lag.cook));
    all
}

/// By how much later a log begins than meat-on is stated, of one that begins with raw meat: a logger that is switched
/// on late shows a core that has begun to warm.
fn begins_later(cook: &Cook<'_>) -> Option<i64> {
    let curve = cook.curve.filter(|curve| curve.meat_on_ms.is_none())?;
    let later = curve.first_ms - cook.card.marks.meat_on_ms?;
    let is_raw = curve.core_at(curve.first_ms).is_some_and(|core| core < RAW_C);
    (later >= LEAST_MS && is_raw).then_some(later)
}

/// By how much later the curve shows meat-on and the pull.
fn mark_lags(cook: &Cook<'_>) -> [Option<i64>; 2] {
    let marks = &cook.card.marks;
    let seen = |mark: fn(&crate::Curve) -> Option<i64>| cook.curve.and_then(mark);
    let on = marks.meat_on_ms.zip(seen(|curve| curve.meat_on_ms));
    let off = marks.pull_ms.zip(seen(|curve| curve.pull_ms));
    [on, off].map(|pair| pair.map(|(said, seen)| seen - said))
}

/// The answer by which marks are moved.
const MOVE: &str = "move";

/// What became of shifts.
#[derive(Debug, Default)]
pub(crate) struct Moved {
    /// Cooks whose marks are asked about together, or stay as they are.
    pub(crate) settled: BTreeSet<usize>,
    /// Cooks whose marks were moved, and by how much, ms.
    pub(crate) by: Vec<(usize, i64)>,
}

/// By how much later the curve shows a cook's marks, and whether two of them do.
fn lag_of(cook: &Cook<'_>) -> Option<(i64, bool)> {
    let curve = cook.curve.filter(|_| !cook.zero_is_in_doubt())?;
    let marks = &cook.card.marks;
    let [on, off] = mark_lags(cook);
    // What does not show meat-on may bear out what the pull shows, and tells nothing alone.
    let borne_out =
        || begins_later(cook).filter(|on| off.is_some_and(|off| (on - off).abs() <= CLOSELY_MS));
    let on = on.or_else(borne_out);
    let mut closely = false;
    let (by_ms, by_two) = match (on, off) {
        (Some(on), Some(off)) if (on - off).abs() <= ALIKE_MS => {
            closely = (on - off).abs() <= CLOSELY_MS;
            (i64::midpoint(on, off), true)
        }
        (Some(_), Some(_)) | (None, None) => return None,
        (Some(one), None) | (None, Some(one)) => (one, false),
    };
    if by_ms.abs() < LEAST_MS {
        return None;
    }
    // A wrap, or another note of hands at the meat, that the curve shows where it is stated.
    let wrap = marks.wrap_ms.filter(|_| curve.dense);
    let is_near =
        |seen: &[i64], ms: i64| seen.iter().any(|seen| (seen - ms).abs() <= SIGN_WITHIN_MS);
    let shown = |ms: i64| is_near(&curve.opened_ms, ms);
    // Where two marks tell the same, a lid at the stated wrap is an accident; hands at the meat are none.
    let is_wrapped = |ms: i64| if closely { is_near(&curve.handled_ms, ms) } else { shown(ms) };
    if wrap.is_some_and(|wrap| is_wrapped(wrap) && !shown(wrap + by_ms)) {
        return None;
    }
    // A shift of an hour: hands were at the meat that long after each stated mark. A fire that is fed, or meat
    // that is sprayed, every hour shows as many at the stated ones.
    let stated: Vec<i64> = [marks.meat_on_ms, wrap, marks.pull_ms].into_iter().flatten().collect();
    let shown_at = |by_ms: i64| stated.iter().filter(|ms| shown(**ms + by_ms)).count();
    let (moved, stays) = (shown_at(by_ms), shown_at(0));
    let by_all = closely && curve.dense && (moved > stays || moved >= 2.max(stays));
    // One mark alone, or a small shift without that, must be impossible where it is stated.
    let impossible = crate::marks::is_impossible(cook);
    ((by_two && by_ms.abs() >= 2 * LEAST_MS) || by_all || impossible).then_some((by_ms, by_two))
}

/// A cook's date once its marks are moved by whole days.
fn date_later(cook: &Cook<'_>, by_ms: i64) -> Option<String> {
    let date: jiff::civil::Date = cook.card.date.as_deref()?.parse().ok()?;
    let days = i32::try_from(by_ms / DAY_MS).ok()?;
    Some(date.checked_add(jiff::Span::new().days(days)).ok()?.to_string())
}

/// Whether a cook's season is the year of its date, and that is another once it is moved: the store keeps readings by
/// season, so that the sheet must say it.
fn follows_year(cook: &Cook<'_>, by_ms: i64) -> bool {
    let is_year = cook.card.date.as_ref().is_some_and(|date| date.starts_with(&cook.card.season));
    is_year && date_later(cook, by_ms).is_none_or(|date| !date.starts_with(&cook.card.season))
}

fn shifted(season: &Season<'_>, group: &[Lag]) -> Finding {
    let middle = group[group.len() / 2].by_ms;
    let whole = (middle as f64 / HALF_HOUR_MS as f64).round() as i64 * HALF_HOUR_MS;
    let is_whole = (middle - whole).abs() <= WHOLE_WITHIN_MS && whole != 0;
    let days = (middle as f64 / DAY_MS as f64).round() as i64 * DAY_MS;
    let is_days = days != 0 && (middle - days).abs() <= 2 * WHOLE_WITHIN_MS;
    let by_ms = if is_days {
        days
    } else if is_whole && group.len() > 1 {
        whole
    } else {
        (middle as f64 / MINUTE_MS as f64).round() as i64 * MINUTE_MS
    };
    let mut names: Vec<&str> =
        group.iter().map(|lag| season.cooks[lag.cook].card.cook.as_str()).collect();
    names.sort_unstable();
    let suspect = if is_days {
        "is the date wrong?"
    } else if is_whole && by_ms.abs() <= 14 * HOUR_MS {
        "is the zone wrong, or a clock?"
    } else {
        "is a clock wrong?"
    };
    let direction = if by_ms > 0 { "before" } else { "after" };
    let asks = match &names[..] {
        [one] => format!(
            "cook `{one}`: all marks lie {} {direction} its curve: {suspect}",
            say::span(by_ms)
        ),
        _ => format!(
            "{} cooks: all marks lie {} {direction} their curves: {suspect}",
            names.len(),
            say::span(by_ms)
        ),
    };
    let lag = &group[0];
    let cook = &season.cooks[lag.cook];
    let seen = |mark: Mark| {
        let (said, seen) = match mark {
            Mark::MeatOn => (cook.card.marks.meat_on_ms, cook.curve.and_then(|c| c.meat_on_ms)),
            _ => (cook.card.marks.pull_ms, cook.curve.and_then(|c| c.pull_ms)),
        };
        let told = |ms: i64| say::instant(ms, season.zone);
        Some(format!("{} is stated at {} and seen at {}", mark.as_str(), told(said?), told(seen?)))
    };
    let because: Vec<String> = [Mark::MeatOn, Mark::Pull].into_iter().filter_map(seen).collect();
    // Of several cooks it is the sheet's clock: one more, or a minute more, leaves the answer what it was.
    let whose = match &names[..] {
        [one] => (*one).to_owned(),
        _ => cook.cells.first().map_or_else(String::new, |cell| cell.sheet.to_owned()),
    };
    let has_hand = |cook: &Cook<'_>| cook.events.iter().any(|event| event.kind == EventKind::Core);
    let changes_season = |cook: &Cook<'_>| is_days && follows_year(cook, by_ms);
    let can_be_moved = !group.iter().any(|lag| {
        let cook = &season.cooks[lag.cook];
        has_hand(cook) || changes_season(cook)
    });
    let moved = Answer::new(
        MOVE,
        format!(
            "all marks and events of these cooks are taken {} {}",
            say::span(by_ms),
            if by_ms > 0 { "later" } else { "earlier" }
        ),
    );
    // Where a mark cannot be, the phases take what the curve shows in its place.
    let cannot_be = group.iter().any(|lag| crate::marks::is_overruled(&season.cooks[lag.cook]));
    let stays = if cannot_be {
        "marks stay as written but those that the curve rules out: there the time that it shows is used, and told"
    } else {
        "marks and curves stay as they are"
    };
    let as_written = Answer::new(AS_WRITTEN, stays);
    let mut question = Question::new(
        QuestionCode::MarksShifted,
        &[&whole.to_string(), &whose],
        asks,
        format!(
            "cook `{}`: {}. Until this is answered, the marks are used as written; {}",
            cook.card.cook,
            because.join("; "),
            if group.iter().any(|lag| changes_season(&season.cooks[lag.cook])) {
                "the season is the year of the date: write the right dates into the sheet"
            } else {
                "a wrong `time_zone` in season.toml, a wrong date or clock in the sheet is better mended there"
            }
        ),
        // Readings by hand are part of the curve: they would stay where they are.
        if can_be_moved { vec![moved, as_written] } else { vec![as_written] },
    );
    for lag in group {
        let cook = &season.cooks[lag.cook];
        question = cook.at_logs(question.at(cook.place(columns::card::MEAT_ON_AT.stated_as())));
    }
    let question = Question { used: Some(AS_WRITTEN.to_owned()), ..question };
    let mut changes: Vec<(usize, Change)> =
        group.iter().map(|lag| (lag.cook, Change::Shift(by_ms))).collect();
    if is_days {
        let later =
            |lag: &Lag| Some((lag.cook, Change::Date(date_later(&season.cooks[lag.cook], by_ms)?)));
        changes.extend(group.iter().filter_map(later));
    }
    let answered = if can_be_moved { vec![(MOVE, changes)] } else { Vec::new() };
    Finding { question, answered, open: Vec::new() }
}
