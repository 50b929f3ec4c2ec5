//! Meats that are on at the same time, in one log: whose channel is whose.
//!
//! Two rows that name the log and no channel read the same core. Two rows of which each one's pull, or meat-on, is
//! seen in the other's channel have their channels exchanged, or their marks: either way what is read of
//! one is not all its own.

use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::swapped::{NEAR_MS, OFF_MS};
use crate::{Cook, Season, say};
use cook::{Answer, Mark, Question, QuestionCode};
use std::collections::{BTreeMap, BTreeSet};

/// What was found, and which cooks are asked about by it.
pub(crate) fn find(season: &Season<'_>) -> (Vec<Finding>, BTreeSet<usize>) {
    let mut by_log: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        for log in cook.logs.iter().filter(|_| cook.card.exclude.is_none() && cook.curve.is_some())
        {
            by_log.entry(log).or_default().push(at);
        }
    }
    let (mut findings, mut settled) = (Vec::new(), BTreeSet::new());
    for (log, cooks) in by_log {
        let unpicked = unpicked(season, &cooks);
        if !unpicked.is_empty() {
            findings.push(no_channel(season, log, &unpicked));
            settled.extend(unpicked);
        }
        for (index, &one) in cooks.iter().enumerate() {
            let mut others = cooks[index + 1..].iter().copied();
            let is_free = !settled.contains(&one);
            let other = others.find_map(|other| {
                let is_open = is_free && !settled.contains(&other);
                let mark = is_open.then(|| are_exchanged(season, one, other)).flatten()?;
                Some((other, mark))
            });
            if let Some((other, mark)) = other {
                findings.push(exchanged(season, log, (one, other), mark));
                settled.extend([one, other]);
            }
        }
    }
    (findings, settled)
}

/// The channel that a card picks of its log.
fn picked(cook: &Cook<'_>) -> Option<String> {
    let of_log = cook.card.logs.iter().find_map(|log| log.split_once('#'));
    let picked = of_log.map(|(_, channel)| channel).or(cook.card.lead_channel.as_deref());
    picked.map(|channel| channel.trim().to_lowercase())
}

/// Whether two cooks were on together, as their marks are stated; one whose pull is not, to the end of its log.
fn are_together(one: &Cook<'_>, other: &Cook<'_>) -> bool {
    let time = |cook: &Cook<'_>| {
        let off = cook.card.marks.pull_ms.or(cook.curve.map(|curve| curve.last_ms));
        cook.card.marks.meat_on_ms.zip(off)
    };
    let times = time(one).zip(time(other));
    times.is_some_and(|((on, off), (other_on, other_off))| on < other_off && other_on < off)
}

/// Cooks of a log with several meats that name no channel, though another one was on at that time.
fn unpicked(season: &Season<'_>, cooks: &[usize]) -> Vec<usize> {
    let cook = |at: usize| &season.cooks[at];
    let several = |at: usize| cook(at).curve.is_some_and(|curve| curve.meats.len() > 1);
    let bare = |at: usize| several(at) && picked(cook(at)).is_none();
    let bare: Vec<usize> = cooks.iter().copied().filter(|at| bare(*at)).collect();
    let has_mate =
        |at: usize| bare.iter().any(|other| *other != at && are_together(cook(at), cook(*other)));
    bare.iter().copied().filter(|at| has_mate(*at)).collect()
}

/// The mark by which each of two cooks with channels of their own is seen in the other's, and not in its own; no other
/// mark speaks against it.
fn are_exchanged(season: &Season<'_>, one: usize, other: usize) -> Option<Mark> {
    let (one, other) = (&season.cooks[one], &season.cooks[other]);
    let (channel, other_channel) = picked(one).zip(picked(other))?;
    if channel == other_channel || !are_together(one, other) {
        return None;
    }
    let near = |a: i64, b: i64| (a - b).abs() <= NEAR_MS;
    let off = |a: i64, b: i64| (a - b).abs() >= OFF_MS;
    let told = |mark: Mark| {
        let pair = |cook: &Cook<'_>| stated(cook, mark).zip(seen(cook, mark));
        let ((said, own), (other_said, others)) = pair(one).zip(pair(other))?;
        let crossed = near(said, others) && near(other_said, own);
        // Meats that go on together tell nothing of each other.
        let is_own = near(said, own) && near(other_said, others) && off(said, other_said);
        Some((crossed && off(said, own) && off(other_said, others), is_own))
    };
    let marks = [Mark::Pull, Mark::MeatOn];
    if marks.iter().any(|mark| told(*mark).is_some_and(|(_, is_own)| is_own)) {
        return None;
    }
    marks.into_iter().find(|mark| told(*mark).is_some_and(|(crossed, _)| crossed))
}

fn stated(cook: &Cook<'_>, mark: Mark) -> Option<i64> {
    let marks = &cook.card.marks;
    if mark == Mark::MeatOn { marks.meat_on_ms } else { marks.pull_ms }
}

/// When a channel that was logged often enough shows a mark.
fn seen(cook: &Cook<'_>, mark: Mark) -> Option<i64> {
    let curve = cook.curve.filter(|curve| curve.dense && !cook.zero_is_meat_on)?;
    if mark == Mark::MeatOn { curve.meat_on_ms } else { curve.pull_ms }
}

fn names(season: &Season<'_>, cooks: &[usize]) -> String {
    let names: Vec<String> =
        cooks.iter().map(|at| format!("`{}`", season.cooks[*at].card.cook)).collect();
    names.join(", ")
}

/// Only what a row's `logs` says settles it for good: until then neither is used.
fn asked(question: Question, season: &Season<'_>, cooks: &[usize]) -> Finding {
    let reason = "it is not known which channel of its log is its own";
    let left_out: Vec<(usize, Change)> =
        cooks.iter().map(|at| (*at, Change::Exclude(reason.to_owned()))).collect();
    let question = cooks.iter().fold(question, |question, at| {
        let cook = &season.cooks[*at];
        cook.at_logs(question.at(cook.place("logs")))
    });
    Finding {
        question: Question { used: Some(LEAVE_OUT.to_owned()), ..question },
        answered: vec![(LEAVE_OUT, left_out.clone())],
        open: left_out,
    }
}

fn no_channel(season: &Season<'_>, log: &str, cooks: &[usize]) -> Finding {
    let who = names(season, cooks);
    let meats = season.cooks[cooks[0]].curve.map_or(&[][..], |curve| &curve.meats);
    let quoted: Vec<String> = meats.iter().map(|name| format!("`{log}#{name}`")).collect();
    let question = Question::new(
        QuestionCode::WhoseChannel,
        &[log, &who],
        format!("{log}: which meat channel is whose, of the cooks {who}?"),
        format!(
            "they were on at the same time, and their rows name the log without a channel, so that all would read the same core. Write one of {} into `logs` of each row. Until then none of them is used",
            quoted.join(", ")
        ),
        vec![Answer::new(LEAVE_OUT, "these cooks are left out of the analysis")],
    );
    asked(question, season, cooks)
}

fn exchanged(season: &Season<'_>, log: &str, (one, other): (usize, usize), mark: Mark) -> Finding {
    let word = mark.as_str();
    let told = |at: usize| {
        let cook = &season.cooks[at];
        let instant =
            |ms: Option<i64>| ms.map_or_else(String::new, |ms| say::instant(ms, season.zone));
        format!(
            "cook `{}`: {word} at {}, and its channel shows {}",
            cook.card.cook,
            instant(stated(cook, mark)),
            instant(seen(cook, mark))
        )
    };
    let who = names(season, &[one, other]);
    let question = Question::new(
        QuestionCode::WhoseChannel,
        &[log, &who, &told(one), &told(other)],
        format!("{log}: do the cooks {who} name each other's channel?"),
        format!(
            "{}; {}: each is seen in the other's. If so, exchange the channels in `logs` of both rows; if their marks are exchanged, those. Until this is answered, neither is used",
            told(one),
            told(other)
        ),
        vec![
            Answer::new(LEAVE_OUT, "both are left out of the analysis"),
            Answer::new(AS_WRITTEN, "each has its own"),
        ],
    );
    asked(question, season, &[one, other])
}
