//! Questions of a log or sheet, and what their answers settle.

use crate::place::Place;
use cook::{Answer, Question, QuestionCode};

/// A question that stops a file from being read, and what each answer settles.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// The question, with the place where it arose.
    pub question: Question,
    /// The setting that decides as well.
    pub setting: String,
    /// What it hangs on.
    evidence: Vec<String>,
    /// What each answer settles, in the order of the question's answers.
    settles: Vec<Settles>,
}

/// What an answer settles: a setting, and its value; without one, the answer is the value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Settles {
    pub(crate) setting: Setting,
    value: Option<String>,
}

impl Settles {
    /// A setting with its value as a layout or season.toml has it.
    pub(crate) fn to(setting: Setting, value: &str) -> Self {
        Self { setting, value: Some(value.to_owned()) }
    }

    /// A setting whose value is the answer.
    pub(crate) fn by_answer(setting: Setting) -> Self {
        Self { setting, value: None }
    }

    /// Nothing of a log: what it settles is settled where it is asked.
    pub(crate) fn elsewhere() -> Self {
        Self::by_answer(Setting::Elsewhere)
    }
}

/// A setting of a log that an answer can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Setting {
    Delimiter,
    /// The decimal sign of times.
    DecimalOfTimes,
    Decimal,
    TimeFormat,
    DateOrder,
    FirstDay,
    Start,
    /// Dates of a clock that was never set are believed.
    AsDated,
    ClockJump,
    /// Whether a clock was put forward: the instant, ms, and which of its times are right.
    ClockPutOn,
    UtcOffset,
    Unit,
    /// The scale of all numbers that have one unit.
    Scale,
    /// From an instant on the numbers are in another unit: ms, and the unit.
    UnitChange,
    Elsewhere,
}

impl Asked {
    /// A question at a place. Each answer is its word, what it makes of the place, and what it
    /// settles.
    pub(crate) fn new(
        code: QuestionCode,
        place: &Place,
        evidence: Vec<String>,
        asks: String,
        answers: Vec<(String, String, Settles)>,
        setting: String,
    ) -> Self {
        let mut offered = Vec::new();
        let mut settles = Vec::new();
        for (take, then, settled) in answers {
            offered.push(Answer { take, then });
            settles.push(settled);
        }
        let parts: Vec<&str> = evidence.iter().map(String::as_str).collect();
        let because = place.text.clone();
        let question = Question::new(code, &parts, asks, because, offered).at(place.short());
        Self { question, setting, evidence, settles }
    }

    /// The same question of logs of a kind: theirs is one answer.
    pub(crate) fn of_kind(mut self, kind: &str) -> Self {
        // The zone is that of the season, whatever kind of log asks for it.
        if self.question.code == QuestionCode::TimeZone {
            return self;
        }
        self.evidence.insert(0, kind.to_owned());
        let parts: Vec<&str> = self.evidence.iter().map(String::as_str).collect();
        let Question { code, asks, places, because, answers, used, .. } = self.question;
        self.question =
            Question { places, used, ..Question::new(code, &parts, asks, because, answers) };
        self
    }

    /// The setting that an answer settles, and its value.
    pub(crate) fn settled_by(&self, answer: &str) -> Option<(Setting, String)> {
        let offered = self.question.answers.iter();
        let (offer, settles) = offered.zip(&self.settles).find(|(offer, _)| offer.is(answer))?;
        // `<date>` stands for what was written; a word is taken as it is offered.
        let written = if offer.take.starts_with('<') { answer } else { &offer.take };
        Some((settles.setting, settles.value.as_deref().unwrap_or(written).trim().to_owned()))
    }

    /// Says of each answer what the cook would then be, as `tell` has it of what it settles.
    pub(crate) fn tell(&mut self, tell: impl Fn(Setting, &str) -> Option<String>) {
        for (answer, settles) in self.question.answers.iter_mut().zip(&self.settles) {
            let value = settles.value.as_deref().unwrap_or(&answer.take);
            if value.starts_with('<') || settles.setting == Setting::Elsewhere {
                continue;
            }
            if let Some(then) = tell(settles.setting, value) {
                answer.then =
                    if answer.then.is_empty() { then } else { format!("{}; {then}", answer.then) };
            }
        }
    }
}
