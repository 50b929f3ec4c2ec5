//! Logs that count from their own zero, which was taken for meat-on, and whose curves show meat-on later.

use super::groups::{Context, GroupResult, Parts, uses_of};
use cook::{Answer, Question, QuestionCode};
use crosscheck::Curve;
use ingest::{ElapsedAnchor, SheetReading};
use std::collections::BTreeMap;

/// A meat-on that is seen this soon after a log's zero is that zero, ms (5 min): the lid is closed by then.
/// Common practice, no source.
const SOON_MS: i64 = 300_000;
const MINUTE_MS: i64 = 60_000;

/// The answers.
const CURVE: &str = "curve";
const ZERO: &str = "zero";

/// Asks once for all such cooks where their logs began, and puts the zero of each where its curve shows
/// it if that is answered. What is open is noted as well: the cooks are then looked at again at the next
/// run.
pub(super) fn before_meat_on(
    anchors: &mut BTreeMap<String, ElapsedAnchor>,
    sheet: &SheetReading,
    logs: &BTreeMap<&str, ingest::Log>,
    parts: &Parts,
    context: &Context<'_>,
    answers: &mut BTreeMap<String, String>,
    result: &mut GroupResult,
) {
    // When each log began, by the first cook that shows it.
    let mut began: BTreeMap<&str, i64> = BTreeMap::new();
    for card in &sheet.cards {
        let Some(anchor) = anchors.get(&card.cook).filter(|anchor| anchor.is_meat_on) else {
            continue;
        };
        let found = context.uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
        let uses = uses_of(&card.cook, found, logs, parts);
        let Ok(assembled) = ingest::assemble(card, Some(anchor), &uses) else { continue };
        let curve = Curve::of(&assembled.readings, card).filter(|curve| curve.dense);
        let Some(seen) = curve.and_then(|curve| curve.meat_on_ms) else { continue };
        for log in uses {
            began.entry(log.shown_as).or_insert(2 * anchor.zero_ms - seen);
        }
    }
    for (card, row) in sheet.cards.iter().zip(&sheet.rows) {
        let Some(anchor) = anchors.get_mut(&card.cook).filter(|anchor| anchor.is_meat_on) else {
            continue;
        };
        let found = context.uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
        let began = found.iter().find_map(|found| began.get(found.file.shown_as.as_str()));
        let Some(late_ms) = began.map(|began| anchor.zero_ms - began) else { continue };
        if late_ms < SOON_MS {
            continue;
        }
        let minutes = (late_ms + MINUTE_MS / 2) / MINUTE_MS;
        let question = Question::new(
            QuestionCode::ZeroBeforeMeatOn,
            &[&row.sheet],
            "do logs that count from their own zero begin before meat-on?",
            format!(
                "cook `{}`: its log shows the meat go on {minutes} min after its zero, which is taken to be the meat-on of the card",
                card.cook
            ),
            vec![
                Answer::new(
                    CURVE,
                    format!("each log began as long before meat-on as its curve shows, this one {minutes} min"),
                ),
                Answer::new(ZERO, "the zero of each is meat-on"),
            ],
        )
        .at(format!("{}:{} meat_on", row.sheet, row.line));
        let answer = context.options.answers.to(&question).unwrap_or_default();
        answers.insert(question.id.clone(), answer.to_owned());
        if answer.is_empty() {
            result.questions.push(Question { used: Some(ZERO.to_owned()), ..question });
        } else if answer.eq_ignore_ascii_case(CURVE) {
            anchor.zero_ms -= late_ms;
            anchor.because = format!("its curve shows meat-on {minutes} min after the zero");
        }
    }
}
