//! Rests that last the best part of a day.
//!
//! A clock time without a date is the first one after the mark before it. A slice that was written half an hour
//! before its pull, or with the wrong half of the day, therefore comes out on the day after.

use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::say::HOUR_MS;
use crate::{Cook, Season, say};
use columns::card;
use cook::{Answer, LONGEST_REST_MS, Mark, Question, QuestionCode};
use std::collections::BTreeSet;

/// So many rests of other cooks tell how long this team's last.
const OTHERS: usize = 3;
/// Rests are alike within this, ms (2 h): one is written half a day off that is theirs but for it.
const ALIKE_MS: i64 = 2 * HOUR_MS;
const HALF_DAY_MS: i64 = 12 * HOUR_MS;
/// The answer by which a slice is half a day earlier.
const EARLIER: &str = "earlier";

/// Questions about slices that come too long after their pull, or half a day later than this team's others do. Where
/// the pull is another than is stated, a slice that is stated by the clock is placed anew after it. A slice with its
/// date in its cell means what it says, and so does a team that always rests as long.
pub(crate) fn find(season: &Season<'_>, changed_pulls: &BTreeSet<usize>) -> Vec<Finding> {
    let rests: Vec<Option<i64>> = season
        .cooks
        .iter()
        .map(|cook| {
            let marks = &cook.card.marks;
            marks.slice_ms.zip(marks.pull_ms).map(|(slice, pull)| slice - pull)
        })
        .collect();
    let cooks = season.cooks.iter().enumerate().filter(|(at, _)| !changed_pulls.contains(at));
    let asked = cooks.filter_map(|(at, cook)| {
        let rest = rests[at]?;
        let alike = |ms: i64| {
            let others = rests.iter().enumerate().filter(|(other, _)| *other != at);
            let others = others.filter_map(|(_, rest)| *rest);
            others.filter(|other| (other - ms).abs() <= ALIKE_MS).count()
        };
        let others = rests.iter().flatten().count() - 1;
        let is_usual = alike(rest) >= OTHERS;
        // All of the others rest as long as this one would half a day earlier.
        let earlier = rest - HALF_DAY_MS;
        let is_half_a_day_off = earlier >= 0 && others >= OTHERS && alike(earlier) == others;
        let is_asked = (rest > LONGEST_REST_MS && !is_usual) || is_half_a_day_off;
        let field = card::SLICE_AT.stated_as();
        let has_date = cook.cell(field).is_some_and(|cell| has_date(cell.text));
        (is_asked && !has_date).then(|| finding(season, at, cook, is_half_a_day_off)).flatten()
    });
    asked.collect()
}

/// Whether a cell has a date beside its time of day.
fn has_date(text: &str) -> bool {
    let parts = text.split(|c: char| !c.is_ascii_digit()).filter(|part| !part.is_empty());
    let has_month = text.split(|c: char| !c.is_alphabetic()).any(|word| {
        word.len() >= 3 && !matches!(word.to_lowercase().as_str(), "noon" | "midnight")
    });
    // A date has two numbers at least, or one and a month's name, beside those of the time.
    let marks = text.matches(['-', '/']).count();
    let count = parts.count();
    count >= 3 && (marks > 0 || has_month)
}

fn finding(
    season: &Season<'_>,
    at: usize,
    cook: &Cook<'_>,
    is_half_a_day_off: bool,
) -> Option<Finding> {
    let (pull, slice) = (cook.card.marks.pull_ms?, cook.card.marks.slice_ms?);
    let field = card::SLICE_AT.stated_as();
    let told = |ms: i64| say::instant(ms, season.zone);
    let text = cook.cell(field).map_or_else(|| told(slice), |cell| cell.text.to_owned());
    let place = cook.place(field);
    let mut answers = vec![
        Answer::new(LEAVE_OUT, "no slice is stated"),
        Answer::new(AS_WRITTEN, format!("slice at {}", told(slice))),
    ];
    let earlier = slice - HALF_DAY_MS;
    if is_half_a_day_off {
        let then = format!(
            "slice at {}: morning and afternoon were taken for each other, and the team's others rest as long as that",
            told(earlier)
        );
        answers.insert(0, Answer::new(EARLIER, then));
    }
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
        answers,
    )
    .at(place);
    let without = vec![(at, Change::Mark { mark: Mark::Slice, was: slice, now: None })];
    Some(Finding {
        question: Question { used: Some(LEAVE_OUT.to_owned()), ..question },
        answered: vec![
            (LEAVE_OUT, without.clone()),
            (
                EARLIER,
                vec![(at, Change::Mark { mark: Mark::Slice, was: slice, now: Some(earlier) })],
            ),
        ],
        open: without,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_is_told_from_a_time_of_day() {
        for text in [
            "2025-05-03 10:00",
            "5/3/2025 10:00",
            "May 3 10:00",
            "3/5 10:00 pm",
            "2025-05-03T10:00",
        ] {
            assert!(has_date(text), "{text}");
        }
        for text in ["10:00", "10:00:30", "7.15 pm", "noon", "1000", "~10:30 or so"] {
            assert!(!has_date(text), "{text}");
        }
    }
}
