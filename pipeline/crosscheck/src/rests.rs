//! Rests that last the best part of a day.
//!
//! A clock time without a date is the first one after the mark before it. A slice that was written half an hour
//! before its pull, or with the wrong half of the day, therefore comes out on the day after.

use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::{Cook, Season, say};
use columns::card;
use cook::{Answer, LONGEST_REST_MS, Mark, Question, QuestionCode};
use std::collections::BTreeSet;

/// Questions about slices that come too long after their pull. Where that is another than is stated, a slice that is
/// stated by the clock is placed anew after it.
pub(crate) fn find(season: &Season<'_>, changed_pulls: &BTreeSet<usize>) -> Vec<Finding> {
    let cooks = season.cooks.iter().enumerate().filter(|(at, _)| !changed_pulls.contains(at));
    cooks.filter_map(|(at, cook)| finding(season, at, cook)).collect()
}

fn finding(season: &Season<'_>, at: usize, cook: &Cook<'_>) -> Option<Finding> {
    let (pull, slice) = (cook.card.marks.pull_ms?, cook.card.marks.slice_ms?);
    if slice - pull <= LONGEST_REST_MS {
        return None;
    }
    let field = card::SLICE_AT.stated_as();
    let told = |ms: i64| say::instant(ms, season.zone);
    let text = cook.cell(field).map_or_else(|| told(slice), |cell| cell.text.to_owned());
    let place = cook.place(field);
    let question = Question::new(
        QuestionCode::LongRest,
        &[&cook.card.cook, &text, &pull.to_string()],
        format!("{place}: is `{text}` right? The rest would last {}", say::span(slice - pull)),
        format!(
            "cook `{}`: pull {}, slice {}; a clock time without a date is the first one after the mark before it",
            cook.card.cook,
            told(pull),
            told(slice)
        ),
        vec![
            Answer::new(LEAVE_OUT, "no slice is stated"),
            Answer::new(AS_WRITTEN, format!("slice at {}", told(slice))),
        ],
    )
    .at(place);
    let without = vec![(at, Change::Mark { mark: Mark::Slice, was: slice, now: None })];
    Some(Finding {
        question: Question { used: Some(LEAVE_OUT.to_owned()), ..question },
        answered: vec![(LEAVE_OUT, without.clone())],
        open: without,
    })
}
