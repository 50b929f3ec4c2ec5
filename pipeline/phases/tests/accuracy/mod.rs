//! Scores the segmenter on cooks with known truth; shared by the test that asserts the figures
//! and the example that prints the whole table.
#![allow(dead_code, unreachable_pub, missing_docs, reason = "each user takes a part of it")]

pub mod cooks;
pub mod export;
pub mod logger;
pub mod profiles;
pub mod score;
pub mod worst;

use cook::{Card, MarkTimes, PhaseKind};
use cooks::{Category, TrueCook};
use logger::Logged;
use phases::{SegmentOptions, segment_cook, stall_delay};
use score::{Found, FoundStall, Score};

/// What the segmenter says of a logged cook, with all the card's marks or with none.
pub fn segmented(logged: &Logged, with_card: bool, draws: u32) -> Option<Found> {
    let options = SegmentOptions { draws, seed: 11, ..SegmentOptions::default() };
    let card = if with_card {
        logged.card.clone()
    } else {
        Card { marks: MarkTimes::default(), ..logged.card.clone() }
    };
    let found = match segment_cook(&logged.readings, &card, &[], &options) {
        Ok(found) => found,
        Err(error) => {
            eprintln!("{error}");
            return None;
        }
    };
    let segmentation = &found.segmentation;
    let judgement = &segmentation.judgement;
    let closed = |interval: &phases::BoundaryInterval| {
        (interval.lo_ms.is_some() || interval.hi_ms.is_some())
            .then(|| (interval.lo_ms.unwrap_or(i64::MIN), interval.hi_ms.unwrap_or(i64::MAX)))
    };
    let stalls = judgement
        .phases
        .iter()
        .enumerate()
        .filter(|(_, span)| span.kind == PhaseKind::Stall)
        .map(|(index, span)| {
            let intervals = segmentation.boundaries.get(index);
            FoundStall {
                start_ms: span.start_ms,
                end_ms: span.end_ms,
                open: !span.complete,
                start_90: intervals.and_then(|(start, _)| closed(start)),
                end_90: intervals.and_then(|(_, end)| closed(end)),
            }
        })
        .collect();
    let delay = stall_delay(judgement, &options.definition, segmentation.bounds.pull_ms).ok();
    Some(Found {
        stalls,
        unknown: judgement.not_judged.is_some(),
        stall_min_90: segmentation
            .stall_min_90
            .map(|i| (i.lo.unwrap_or(0.0), i.hi.unwrap_or(f64::INFINITY))),
        delay_min: delay.filter(|delay| !delay.censored).map(|delay| delay.minutes),
        delay_90: segmentation
            .stall_delay_90
            .map(|i| (i.lo.unwrap_or(f64::NEG_INFINITY), i.hi.unwrap_or(f64::INFINITY))),
        pull_ms: segmentation.bounds.pull_known.then_some(segmentation.bounds.pull_ms),
    })
}

/// First cook of the kept scores: the segmenter's constants were set on cooks below.
pub const HELD_OUT: u64 = 1_000;

/// Scores `count` cooks of a category, from number `first` on.
pub fn score(
    category: Category,
    first: u64,
    count: u64,
    with_card: bool,
    segmenter: impl Fn(&TrueCook, &Logged) -> Option<Found> + Sync,
) -> Score {
    let mut score = Score::default();
    for (truth, logged, found) in each(category, first, count, segmenter) {
        score.add(&truth, &logged, &found, with_card);
    }
    score
}

/// Every cook with what was found of it, in order, on two cores.
pub fn each(
    category: Category,
    first: u64,
    count: u64,
    segmenter: impl Fn(&TrueCook, &Logged) -> Option<Found> + Sync,
) -> Vec<(TrueCook, Logged, Found)> {
    let one = |index: u64| {
        let truth = cooks::true_cook(category, index);
        let logged = logger::log(category, &truth, index);
        let found =
            segmenter(&truth, &logged).unwrap_or(Found { unknown: true, ..Found::default() });
        (truth, logged, found)
    };
    of_each(first, count, &one)
}

/// What comes of each of `count` cooks from number `first` on, in their order; on two threads.
pub fn of_each<T: Send>(first: u64, count: u64, one: &(impl Fn(u64) -> T + Sync)) -> Vec<T> {
    let middle = first + count / 2;
    std::thread::scope(|scope| {
        let second = scope.spawn(|| (middle..first + count).map(one).collect::<Vec<T>>());
        let mut all: Vec<T> = (first..middle).map(one).collect();
        all.extend(second.join().expect("no cook panics"));
        all
    })
}
