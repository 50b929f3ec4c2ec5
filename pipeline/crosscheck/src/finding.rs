//! What was found, and what becomes of it.

use cook::{Answers, Celsius, EventKind, Kilograms, Mark, Question, WrapMethod};
use std::collections::BTreeSet;

/// A change of a cook that an answer, or the want of one, makes.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// The card's date.
    Date(String),
    /// The card's set-point.
    SetPoint(Option<Celsius>),
    /// The card's target.
    Target(Option<Celsius>),
    /// A weight of the card, by the column of the store.
    Weight(&'static str, Option<Kilograms>),
    /// The value of a noted set-point, by its instant, ms UTC.
    NotedSetPoint(i64, String),
    /// All marks and events lie so much later, ms.
    Shift(i64),
    /// One mark, ms UTC: `was` is what was stated, `None` is a mark that is not used.
    Mark {
        /// Which mark.
        mark: Mark,
        /// What was stated.
        was: i64,
        /// What is used.
        now: Option<i64>,
    },
    /// A mark of which nothing is stated, ms UTC.
    NewMark(Mark, i64),
    /// A score that the card is without, by its name.
    NoScore(String),
    /// The method of wrapping.
    Wrapped(WrapMethod),
    /// An event, by its kind and instant, ms UTC, that was not.
    NoEvent(EventKind, i64),
    /// The cook is left out of the analysis, with the reason.
    Exclude(String),
}

/// The answer that leaves out what is in doubt.
pub(crate) const LEAVE_OUT: &str = "leave-out";
/// The answer by which what is in doubt stays.
pub(crate) const AS_WRITTEN: &str = "as-written";

/// A contradiction with what each answer makes of it.
#[derive(Debug)]
pub(crate) struct Finding {
    pub(crate) question: Question,
    /// By the answer: changes of cooks, by their place. An answer that changes nothing is missing.
    pub(crate) answered: Vec<(&'static str, Vec<(usize, Change)>)>,
    /// What is changed for as long as there is no answer.
    pub(crate) open: Vec<(usize, Change)>,
}

/// What a season's examination found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Examination {
    /// Contradictions that nobody has settled.
    pub questions: Vec<Question>,
    /// What becomes of cooks, by their place.
    pub changes: Vec<(usize, Change)>,
}

impl Examination {
    /// Cooks whose pull is not used as it is stated.
    pub(crate) fn changed_pulls(&self) -> BTreeSet<usize> {
        let is_pull = |change: &Change| matches!(change, Change::Mark { mark: Mark::Pull, .. });
        self.changes.iter().filter(|(_, change)| is_pull(change)).map(|(at, _)| *at).collect()
    }

    pub(crate) fn settle(&mut self, finding: Finding, answers: &Answers) {
        let Finding { question, answered, open } = finding;
        let Some(answer) = answers.to(&question).map(str::to_lowercase) else {
            self.questions.push(question);
            self.changes.extend(open);
            return;
        };
        let made = answered.into_iter().find(|(take, _)| take.eq_ignore_ascii_case(&answer));
        self.changes.extend(made.into_iter().flat_map(|(_, changes)| changes));
    }
}
