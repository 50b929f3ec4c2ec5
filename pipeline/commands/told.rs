//! What is said of logs and sheets that were read: questions, refusals, rejected rows.

use super::{Outcome, say};
use cook::{Question, RejectedRow};
use stages::{IngestSummary, Subject};
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::path::Path;

/// Rejected rows said on the terminal.
const REJECTED_SHOWN: usize = 20;

/// Places of a question that are said on the terminal.
const PLACES_SHOWN: usize = 3;

/// Says what is asked, each question once for all that have it in common.
pub(crate) fn list_questions(questions: &[Question]) {
    for question in questions {
        let shown = question.places.iter().take(PLACES_SHOWN).cloned().collect::<Vec<_>>();
        let more = match question.places.len() - shown.len() {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let mut said = format!("question {}: {}", question.id, question.asks);
        said += &format!("\n  at {}{more}", shown.join(", "));
        if !question.because.is_empty() {
            said += &format!("\n  {}", question.because);
        }
        for answer in &question.answers {
            said += &format!("\n  {}: {}", answer.take, answer.then);
        }
        if let Some(used) = &question.used {
            said += &format!("\n  until it is answered: {used}");
        }
        say(&said);
    }
}

/// Says what to do about open questions; `file` is the one that has them.
pub(crate) fn tell_open(questions: &[Question], file: Option<&Path>) {
    let are = match questions.len() {
        0 => return,
        1 => "1 question is".to_owned(),
        count => format!("{count} questions are"),
    };
    say(&match file {
        Some(file) => {
            format!("{are} open: write an answer to each into {} and run again", file.display())
        }
        None => format!(
            "{are} open: write each id and its answer into a file for --questions, such as\n  schema = \"cookstudy/questions/1\"\n  [[question]]\n  id = \"{}\"\n  answer = \"{}\"",
            questions[0].id,
            questions[0].answers.first().map_or("", |answer| answer.take.as_str())
        ),
    });
}

/// Exit code of whatever ingested.
pub(crate) fn outcome(summary: &IngestSummary, strict: bool) -> Outcome {
    if !summary.refusals.is_empty()
        || !summary.questions.is_empty()
        || !summary.told.is_empty()
        || (strict && !summary.rejected.is_empty())
    {
        Outcome::DoneInPart
    } else {
        Outcome::Done
    }
}

/// Says what could not be used and what is worth knowing.
pub(crate) fn list_refusals(summary: &IngestSummary) {
    for refusal in &summary.refusals {
        let waits = refusal.waits_for.as_ref().map(|id| format!("it waits for the answer to {id}"));
        let message = waits.as_ref().unwrap_or(&refusal.message);
        match &refusal.subject {
            Subject::Cook(cook) => say(&format!("cook `{cook}` has no readings: {message}")),
            Subject::Kept(cook) => {
                say(&format!("cook `{cook}` keeps its readings of before: {message}"));
            }
            Subject::Log(log) if message.starts_with(log) => {
                say(&format!("a log that no row of a sheet names: {message}"));
            }
            Subject::Log(log) => {
                say(&format!("a log that no row of a sheet names, {log}: {message}"));
            }
        }
    }
    summary.told.iter().for_each(|told| say(told));
    list_questions(&summary.questions);
    list_rejected(summary);
    for warning in &summary.warnings {
        say(&format!("note: {warning}"));
    }
}

/// Rejected rows: those of sheets first, which people wrote and can mend; cells of a sheet with the same
/// value and reason are said once, and so are the lines of a log with the same reason.
fn list_rejected(summary: &IngestSummary) {
    let mut alike: Vec<(&RejectedRow, Option<&str>, usize)> = Vec::new();
    let mut known: HashMap<_, usize> = HashMap::new();
    for (row, words) in summary.rejected.iter().zip(&summary.rejected_in_words) {
        let of_sheet = words.is_some();
        let text = if of_sheet { row.text.as_str() } else { "" };
        let column = row.column.as_ref().filter(|_| of_sheet);
        match known.entry((&row.source, column, &row.code, text)) {
            Entry::Occupied(first) => alike[*first.get()].2 += 1,
            Entry::Vacant(none) => {
                none.insert(alike.len());
                alike.push((row, words.as_deref(), 0));
            }
        }
    }
    // Stable: within each, the order stays that of files and lines.
    alike.sort_by_key(|(_, words, _)| words.is_none());
    for (row, words, more) in alike.iter().take(REJECTED_SHOWN) {
        let said = words.map_or_else(
            || {
                let column =
                    row.column.as_ref().map_or(String::new(), |c| format!(", column `{c}`"));
                let rule = stages::LogCode::parse(&row.code)
                    .map_or_else(String::new, |code| format!("\n  {}", code.meaning()));
                format!("{}:{}{column}: {} `{}`{rule}", row.source, row.line, row.code, row.text)
            },
            str::to_owned,
        );
        let again = match (more, words) {
            (0, _) => String::new(),
            (_, None) => format!("\n  and {more} more of this log with {}", row.code),
            (1, _) => "\n  and once more".to_owned(),
            _ => format!("\n  and {more} times more in this column"),
        };
        say(&format!("rejected: {said}{again}"));
    }
    let left: usize = alike.iter().skip(REJECTED_SHOWN).map(|(.., more)| more + 1).sum();
    if left > 0 {
        say(&format!("… and {left} more; the store's rejected.parquet has all"));
    }
}
