//! Scores against those of the team's other cooks.
//!
//! A score on another scale, or without its point (80 for 8.0), pulls every mean along.

use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::{Cook, Season};
use cook::{Answer, Question, QuestionCode};
use std::collections::BTreeMap;

/// Fewer others than this tell no scale.
const FEWEST_OTHERS: usize = 4;
/// Scores of which the lowest is so many times the highest of the rest are on another scale …
const TIMES: f64 = 4.0;
/// … and reach beyond this, which the rest do not: judges give 9 or 10 points at most, or a hundred. Common practice,
/// no source.
const TEN: f64 = 10.0;

/// Questions about scores that no other cook's come near, and about those below nothing.
pub(crate) fn find(season: &Season<'_>) -> Vec<Finding> {
    let mut by_name: BTreeMap<&str, Vec<(usize, f64)>> = BTreeMap::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        for (name, score) in &cook.card.scores {
            by_name.entry(name).or_default().push((at, *score));
        }
    }
    let mut findings = Vec::new();
    for (name, mut scores) in by_name {
        scores.sort_by(|a, b| a.1.total_cmp(&b.1));
        let below = scores.partition_point(|(_, score)| *score < 0.0);
        if below < scores.len() {
            let others = "no other score lies below zero";
            let asked = |(at, score): &(usize, f64)| {
                finding(&season.cooks[*at], *at, (name, *score), others)
            };
            findings.extend(scores[..below].iter().map(asked));
        }
        let scores = &scores[below..];
        let Some(place) = parts(scores).filter(|_| scores.len() > FEWEST_OTHERS) else { continue };
        let (low, high) = scores.split_at(place);
        let (few, others) = if high.len() <= low.len() {
            (high, format!("the highest `{name}` of the others is {}", low[low.len() - 1].1))
        } else {
            (low, format!("the lowest `{name}` of the others is {}", high[0].1))
        };
        let asked =
            |(at, score): &(usize, f64)| finding(&season.cooks[*at], *at, (name, *score), &others);
        findings.extend(few.iter().map(asked));
    }
    findings
}

/// Where scores in order part into two scales.
fn parts(scores: &[(usize, f64)]) -> Option<usize> {
    let place = scores.windows(2).position(|pair| {
        let (low, high) = (pair[0].1, pair[1].1);
        low > 0.0 && low <= TEN && high > TEN && high >= TIMES * low
    })?;
    Some(place + 1)
}

fn finding(cook: &Cook<'_>, at: usize, (name, score): (&str, f64), others: &str) -> Finding {
    let place = match cook.cells.first() {
        Some(cell) => format!("{}:{} {name}", cell.sheet, cell.line),
        None => cook.place(name),
    };
    let question = Question::new(
        QuestionCode::ScoreInDoubt,
        &[&cook.card.cook, name, &score.to_string()],
        format!("{place}: is `{score}` right?"),
        format!(
            "cook `{}`: {others}; write the score on the others' scale, here or in the scores sheet",
            cook.card.cook
        ),
        vec![
            Answer::new(LEAVE_OUT, "the cook has no such score"),
            Answer::new(AS_WRITTEN, format!("{score} is used as written")),
        ],
    )
    .at(place);
    let without = vec![(at, Change::NoScore(name.to_owned()))];
    Finding {
        question: Question { used: Some(LEAVE_OUT.to_owned()), ..question },
        answered: vec![(LEAVE_OUT, without.clone())],
        open: without,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::{Answers, Card, Units};
    use jiff::tz::TimeZone;

    fn asked(scores: &[f64]) -> Vec<String> {
        let card = |(at, score): (usize, &f64)| Card {
            cook: format!("may-{at}"),
            scores: vec![("score_taste".into(), *score)],
            ..Card::default()
        };
        let cards: Vec<Card> = scores.iter().enumerate().map(card).collect();
        let cook = |card| Cook {
            card,
            events: Vec::new(),
            curve: None,
            cells: Vec::new(),
            noted_at: Vec::new(),
            zero_is_meat_on: false,
            logs: Vec::new(),
        };
        let season = Season {
            cooks: cards.iter().map(cook).collect(),
            zone: &TimeZone::UTC,
            units: Units::Metric,
            answers: &Answers::default(),
        };
        find(&season).into_iter().map(|finding| finding.question.asks).collect()
    }

    #[test]
    fn a_score_without_its_point_is_asked_about_and_a_good_one_is_not() {
        assert_eq!(asked(&[7.0, 6.5, 80.0, 8.0, 9.0]), ["cook `may-2`: is `80` right?"]);
        assert!(asked(&[1.0, 2.0, 9.0, 8.0, 9.0]).is_empty());
        // Some of ten points and some of a hundred: the fewer are asked about.
        let mixed = ["cook `may-2`: is `90` right?", "cook `may-3`: is `85` right?"];
        let mut found = asked(&[8.0, 7.0, 90.0, 85.0, 6.0]);
        found.sort_unstable();
        assert_eq!(found, mixed);
        assert_eq!(asked(&[80.0, 75.0, 90.0, 85.0, 9.0]), ["cook `may-4`: is `9` right?"]);
        assert_eq!(asked(&[8.0, -7.0, 9.0]), ["cook `may-1`: is `-7` right?"]);
        assert!(asked(&[80.0, 15.0, 90.0, 85.0, 70.0]).is_empty());
        // A scale is not known of so few; nor where all but one gave nothing.
        assert!(asked(&[7.0, 80.0, 8.0]).is_empty());
        assert!(asked(&[0.0, 0.0, 0.0, 0.0, 9.0]).is_empty());
    }
}
