//! Clock times without morning or afternoon.

use super::CardRow;
use super::stated::Time;
use columns::card;
use cook::{Answer, Answers, Question, QuestionCode};

const HOUR_MS: i64 = 3_600_000;
const HALF_MS: i64 = 12 * HOUR_MS;
const DAY_MS: i64 = 2 * HALF_MS;
/// No cook is on the pit for longer, ms; common practice, no source.
const LONGEST_MS: i64 = 20 * HOUR_MS;

/// Whether a text is a clock time of one to twelve that says neither half of the day, ms since
/// midnight as on a 24-hour clock.
fn bare(time: Time, text: &str) -> Option<i64> {
    let Time::Clock(ms) = time else { return None };
    let says_half = text.to_lowercase().contains(['m', 'n']);
    (!says_half && (HOUR_MS..13 * HOUR_MS).contains(&ms)).then_some(ms)
}

/// Whether a time of a row can only be of a 24-hour clock: beyond twelve, at zero, or with a zero
/// before the hour. Other rows say nothing of this one: several people fill in a sheet.
fn is_24_hour_clock(row: &CardRow) -> bool {
    row.stated.iter().any(|(_, time, text)| match time {
        Time::Clock(ms) => {
            let says_half = text.to_lowercase().contains(['m', 'n']);
            !says_half && (*ms >= 13 * HOUR_MS || *ms < HOUR_MS || text.trim().starts_with('0'))
        }
        _ => false,
    })
}

/// A card whose clock times, read on a 24-hour clock, keep the meat on for longer than anybody
/// does, and read on a 12-hour clock do not: a question, by which the times are settled. Without
/// an answer they are nobody's, and are taken out of the row.
pub(super) fn settle(row: &mut CardRow, answers: &Answers) -> Option<Question> {
    if is_24_hour_clock(row) {
        return None;
    }
    let marks =
        [card::MEAT_ON_AT.stated_as(), card::WRAP_AT.stated_as(), card::PULL_AT.stated_as()];
    let times: Vec<(usize, i64)> = marks
        .iter()
        .filter_map(|mark| {
            let at = row.stated.iter().position(|(column, ..)| column == mark)?;
            let (_, time, text) = &row.stated[at];
            Some((at, bare(*time, text)?))
        })
        .collect();
    let ((first, start), rest) = times.split_first().map(|(first, rest)| (*first, rest))?;
    if row.stated[first].0 != marks[0] || rest.is_empty() {
        return None;
    }
    // Each mark is the first such time after the one before.
    let spans = |clock_ms: i64| {
        let mut at = start;
        rest.iter()
            .map(|(_, time)| {
                at += (time - at).rem_euclid(clock_ms);
                at - start
            })
            .collect::<Vec<i64>>()
    };
    let (as_written, halves) = (spans(DAY_MS), spans(HALF_MS));
    let last = |spans: &[i64]| spans.last().copied().unwrap_or(0);
    if last(&as_written) <= LONGEST_MS || last(&halves) > LONGEST_MS {
        return None;
    }
    let texts: Vec<&str> = times.iter().map(|(at, _)| row.stated[*at].2.as_str()).collect();
    let told = |ms: i64| {
        format!("{} h {:02} from meat-on to the last of them", ms / HOUR_MS, ms / 60_000 % 60)
    };
    let question = Question::new(
        QuestionCode::ClockWithoutAmPm,
        &texts,
        format!("{}: is {} in the morning or in the afternoon?", texts.join(", "), texts[0]),
        format!("on a 24-hour clock that is {}", told(last(&as_written))),
        vec![
            Answer::new("am", format!("{} am; {}", texts[0], told(last(&halves)))),
            Answer::new("pm", format!("{} pm; {}", texts[0], told(last(&halves)))),
            Answer::new("as-written", told(last(&as_written))),
        ],
    )
    .at(format!("{}:{} {}", row.sheet, row.line, marks[0]));
    match answers.to(&question).map(str::to_lowercase).as_deref() {
        Some("as-written") => None,
        Some(half) => {
            let start = start % HALF_MS + if half == "pm" { HALF_MS } else { 0 };
            row.stated[first].1 = Time::Clock(start);
            for ((at, _), span) in rest.iter().zip(halves) {
                row.stated[*at].1 = Time::Clock((start + span) % DAY_MS);
            }
            None
        }
        None => {
            let open: Vec<&str> = times.iter().map(|(at, _)| row.stated[*at].0).collect();
            row.stated.retain(|(column, ..)| !open.contains(column));
            Some(question)
        }
    }
}
