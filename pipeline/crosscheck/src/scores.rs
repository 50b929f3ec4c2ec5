//! Scores against those of the team's other cooks.
//!
//! A score on another scale, or without its point (80 for 8.0), pulls every mean along.

use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::{Cook, Season};
use cook::{Answer, Question, QuestionCode};
use std::collections::BTreeMap;

/// Fewer others than this tell no scale.
const FEWEST_OTHERS: usize = 4;
/// A score that is so many times the highest of all others is on another scale: nobody's scale goes from there on.
const TIMES: f64 = 4.0;

/// Questions about scores that no other cook's come near.
pub(crate) fn find(season: &Season<'_>) -> Vec<Finding> {
    let mut by_name: BTreeMap<&str, Vec<(usize, f64)>> = BTreeMap::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        for (name, score) in &cook.card.scores {
            by_name.entry(name).or_default().push((at, *score));
        }
    }
    let mut findings = Vec::new();
    for (name, mut scores) in by_name {
        scores.sort_by(|a, b| b.1.total_cmp(&a.1));
        if let [(at, score), (_, next), ..] = scores[..]
            && scores.len() > FEWEST_OTHERS
            && next > 0.0
            && score >= TIMES * next
        {
            findings.push(finding(&season.cooks[at], at, (name, score), next));
        }
    }
    findings
}

fn finding(cook: &Cook<'_>, at: usize, (name, score): (&str, f64), next: f64) -> Finding {
    let place = match cook.cells.first() {
        Some(cell) => format!("{}:{} {name}", cell.sheet, cell.line),
        None => cook.place(name),
    };
    let question = Question::new(
        QuestionCode::ScoreInDoubt,
        &[&cook.card.cook, name, &score.to_string()],
        format!("{place}: is `{score}` right?"),
        format!(
            "cook `{}`: the highest `{name}` of all other cooks is {next}; write the score on the others' scale, here or in the scores sheet",
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
        // A scale is not known of so few; nor where all but one gave nothing.
        assert!(asked(&[7.0, 80.0, 8.0]).is_empty());
        assert!(asked(&[0.0, 0.0, 0.0, 0.0, 9.0]).is_empty());
    }
}
