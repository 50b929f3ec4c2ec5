//! Questions that only the user can answer, and their answers.
//!
//! A question is asked once for all that has it in common: eight logs of one logger without a
//! unit are one question with eight places. Its [`Question::id`] is its code and a hash of the
//! evidence, so an answer holds for as long as the evidence is what it was, and no longer.

mod code;
mod file;

pub use code::{CodeState, QuestionCode};
pub use file::{Questions, QuestionsText};

use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// Something that files leave open, with what each answer would make of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// What it is about.
    pub code: QuestionCode,
    /// Its code and a hash of the evidence; see [`Question::new`].
    pub id: String,
    /// The question in words.
    pub asks: String,
    /// Where it arose: `file`, `file:line` or `file:line column`; sorted.
    pub places: Vec<String>,
    /// Why it is asked.
    pub because: String,
    /// What can be answered, the likeliest first.
    pub answers: Vec<Answer>,
    /// The answer that was used meanwhile, for a contradiction that stops nobody; `None` where
    /// the cook waits.
    pub used: Option<String>,
}

/// One answer to a [`Question`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The word to write down; `<date>`, `<time>` or `<zone>` stands for any of its kind, and `<cooks>` behind a
    /// word for names of cooks.
    pub take: String,
    /// What the cook would then be.
    pub then: String,
}

impl Answer {
    /// An answer.
    pub fn new(take: impl Into<String>, then: impl Into<String>) -> Self {
        Self { take: take.into(), then: then.into() }
    }

    /// The names that a text gives, where this answer takes names of cooks: of `pm in a, b` what stands behind `in`.
    pub fn names_in<'t>(&self, text: &'t str) -> Option<&'t str> {
        let word = self.take.strip_suffix(COOKS)?;
        let text = text.trim();
        let (said, names) = text.split_at_checked(word.len())?;
        let (_, names) =
            names.split_at_checked(4).filter(|(of, _)| of.eq_ignore_ascii_case(" in "))?;
        (said.eq_ignore_ascii_case(word) && !names.trim().is_empty()).then(|| names.trim())
    }

    /// Whether a text is this answer: its word without regard to case, or what its word stands
    /// for.
    pub fn is(&self, text: &str) -> bool {
        is_offered(&self.take, text)
    }
}

/// What stands for names of cooks at the end of an answer: `pm in <cooks>`.
const COOKS: &str = " in <cooks>";

/// Whether a text is the offered answer, or of the kind that it stands for.
fn is_offered(take: &str, text: &str) -> bool {
    let text = text.trim();
    if take.ends_with(COOKS) {
        return Answer::new(take, "").names_in(text).is_some();
    }
    match take {
        "<date>" => text.parse::<jiff::civil::Date>().is_ok(),
        "<time>" => text.parse::<jiff::civil::DateTime>().is_ok() && text.len() > 10,
        "<zone>" => jiff::tz::TimeZone::get(text).is_ok(),
        word => word.eq_ignore_ascii_case(text),
    }
}

impl Question {
    /// A question. `evidence` is what makes it this question and no other: what the answer hangs
    /// on (a header, a cell, a file's name), and nothing that may change while the answer stays
    /// right (a line's number, other files).
    pub fn new(
        code: QuestionCode,
        evidence: &[&str],
        asks: impl Into<String>,
        because: impl Into<String>,
        answers: Vec<Answer>,
    ) -> Self {
        let mut hash = Sha256::new();
        // Answers that `<date>` stands for are examples of it: other examples are no other question.
        let is_example = |take: &str| {
            let mut kinds = answers.iter().filter(|answer| answer.take.starts_with('<'));
            !take.starts_with('<') && kinds.any(|kind| is_offered(&kind.take, take))
        };
        let takes = answers.iter().map(|a| a.take.as_str()).filter(|take| !is_example(take));
        // By cook is a finer way to say what other answers say.
        let takes = takes.filter(|take| !take.ends_with(COOKS));
        for part in evidence.iter().copied().chain(takes) {
            hash.update(part.as_bytes());
            hash.update([0]);
        }
        let id = hash.finalize().iter().take(4).fold(format!("{code}/"), |mut id, byte| {
            id.push_str(&format!("{byte:02x}"));
            id
        });
        Self {
            code,
            id,
            asks: asks.into(),
            places: Vec::new(),
            because: because.into(),
            answers,
            used: None,
        }
    }

    /// The zone of a season of which nobody says it: one question for all that hangs on it.
    pub fn time_zone() -> Self {
        Self::new(
            QuestionCode::TimeZone,
            &[],
            "of which time zone are these times?",
            "they have no offset, and nothing says where the clock hangs",
            vec![
                Answer::new(
                    "<zone>",
                    "local times of the IANA zone that you write, such as America/Chicago",
                ),
                Answer::new("UTC", "times of Greenwich"),
            ],
        )
    }

    /// With the place where it arose.
    #[must_use]
    pub fn at(mut self, place: impl Into<String>) -> Self {
        self.places.push(place.into());
        self.places.sort();
        self.places.dedup();
        self
    }

    /// The offered answer that a text is.
    pub fn answer(&self, text: &str) -> Option<&Answer> {
        self.answers.iter().find(|answer| answer.is(text))
    }

    /// One entry for each id, with the places of all; sorted by id.
    pub fn merged(questions: impl IntoIterator<Item = Self>) -> Vec<Self> {
        let mut by_id: BTreeMap<String, Self> = BTreeMap::new();
        for question in questions {
            match by_id.get_mut(&question.id) {
                None => {
                    by_id.insert(question.id.clone(), question);
                }
                Some(known) => {
                    // What an answer would make of the cook is told of the first place.
                    if question.places < known.places {
                        known.answers = question.answers;
                        known.because = question.because;
                    }
                    known.places.extend(question.places);
                    known.places.sort();
                    known.places.dedup();
                }
            }
        }
        by_id.into_values().collect()
    }
}

/// Answers by the id of their question.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Answers(BTreeMap<String, String>);

impl Answers {
    /// What was answered to a question, as an answer that is offered.
    pub fn to(&self, question: &Question) -> Option<&str> {
        let text = self.0.get(&question.id)?.as_str();
        question.answer(text).map(|_| text.trim())
    }

    /// What was answered under an id.
    pub fn get(&self, id: &str) -> Option<&str> {
        self.0.get(id).map(String::as_str)
    }

    /// These, and another.
    #[must_use]
    pub fn with(mut self, id: &str, answer: &str) -> Self {
        self.0.insert(id.to_owned(), answer.to_owned());
        self
    }

    /// Those of the questions that have no answer.
    pub fn open<'q>(&self, questions: &'q [Question]) -> Vec<&'q Question> {
        questions.iter().filter(|question| self.to(question).is_none()).collect()
    }
}

impl FromIterator<(String, String)> for Answers {
    fn from_iter<T: IntoIterator<Item = (String, String)>>(answers: T) -> Self {
        Self(answers.into_iter().collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(log: &str) -> Question {
        let answers = vec![Answer::new("F", "pit 225 °F"), Answer::new("C", "pit 437 °F")];
        Question::new(QuestionCode::UnitOfTemperatures, &["time | pit"], "°F or °C?", "", answers)
            .at(log)
    }

    #[test]
    fn eight_logs_with_one_question_are_one_entry() {
        let merged = Question::merged((1..=8).rev().map(|n| unit(&format!("logs/{n}.csv"))));
        assert_eq!(merged.len(), 1);
        assert_eq!(merged[0].places.len(), 8);
        assert_eq!(merged[0].places[0], "logs/1.csv");
    }

    #[test]
    fn other_evidence_is_another_question() {
        let of = |evidence: &[&str]| {
            Question::new(QuestionCode::FirstDay, evidence, "", "", Vec::new()).id
        };
        assert_eq!(of(&["a", "b"]), of(&["a", "b"]));
        assert_ne!(of(&["a", "b"]), of(&["ab"]));
        assert_ne!(of(&["a", "b"]), of(&["b", "a"]));
        assert!(of(&["a"]).starts_with("first-day/") && of(&["a"]).len() == "first-day/".len() + 8);
    }

    #[test]
    fn an_answer_is_a_word_or_of_a_kind() {
        let is = |take: &str, text: &str| Answer::new(take, "").is(text);
        assert!(is("am", " AM ") && !is("am", "pm"));
        assert!(is("<date>", "2026-05-02") && !is("<date>", "2 May"));
        assert!(is("<time>", "2026-05-02 06:00") && !is("<time>", "2026-05-02"));
        assert!(is("<zone>", "America/Chicago") && !is("<zone>", "Chicago"));
        assert!(is("pm in <cooks>", "PM in May 5, 9") && !is("pm in <cooks>", "pm in "));
        assert!(!is("pm in <cooks>", "pm") && !is("pm in <cooks>", "am in 9"));
        let pm = Answer::new("pm in <cooks>", "");
        assert_eq!(pm.names_in(" pm in  a, b "), Some("a, b"));
    }

    #[test]
    fn an_answer_that_is_not_offered_is_none() {
        let question = unit("a.csv");
        let answers = |text: &str| Answers::from_iter([(question.id.clone(), text.to_owned())]);
        assert_eq!(answers("f").to(&question), Some("f"));
        assert_eq!(answers("K").to(&question), None);
        assert_eq!(Answers::default().open(std::slice::from_ref(&question)).len(), 1);
    }
}
