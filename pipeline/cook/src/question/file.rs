//! `questions.toml`: questions as they are written down, and answered by hand.

use super::{Answer, Answers, Question, is_offered};
use crate::settings::{self, SettingsError};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, Value};

/// What the file says that it is.
const SCHEMA: &str = "cookstudy/questions/1";
/// What a new file begins with.
const HEAD: &str = "# What the files leave open. Write one `take` of its answers into each `answer`, and run again.\n# An entry without an answer waits; answers and remarks are never changed.\n\n";

/// The text of `questions.toml`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct QuestionsText {
    /// `cookstudy/questions/1`.
    pub schema: String,
    /// The questions.
    #[serde(default)]
    pub question: Vec<QuestionText>,
}

/// One question as it is written down.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct QuestionText {
    /// Its code and a hash of the evidence: other evidence is a new question.
    pub id: String,
    /// The question in words.
    #[serde(default)]
    pub asks: String,
    /// Where it arose.
    #[serde(default, rename = "where")]
    pub places: Vec<String>,
    /// Why it is asked.
    #[serde(default)]
    pub because: String,
    /// What can be answered, the likeliest first.
    #[serde(default)]
    pub answers: Vec<AnswerText>,
    /// One `take` of the answers; empty where nobody answered yet.
    #[serde(default)]
    pub answer: String,
}

/// One answer as it is written down.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AnswerText {
    /// The word to write into `answer`; `<date>`, `<time>`, `<zone>` and `<cooks>` stand for any of their kind.
    pub take: String,
    /// What the cook would then be.
    #[serde(default)]
    pub then: String,
}

/// A file of questions: what was asked and answered before, to which new questions are added.
#[derive(Debug, Clone, Default)]
pub struct Questions {
    path: PathBuf,
    document: DocumentMut,
    known: QuestionsText,
}

impl Questions {
    /// Reads the file; one that is not there has no question.
    ///
    /// # Errors
    /// A file that cannot be read, is not TOML, has an unknown key or another schema; an answer
    /// that is not among those offered, with its line.
    pub fn read(path: &Path) -> Result<Self, SettingsError> {
        let unreadable = |source| SettingsError::Unreadable { path: path.to_owned(), source };
        match std::fs::read_to_string(path) {
            Ok(text) => Self::parse(&text, path),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(Self {
                path: path.to_owned(),
                document: DocumentMut::new(),
                known: QuestionsText::default(),
            }),
            Err(error) => Err(unreadable(error)),
        }
    }

    /// As [`Self::read`], of a text; `path` is for messages.
    ///
    /// # Errors
    /// As [`Self::read`].
    pub fn parse(text: &str, path: &Path) -> Result<Self, SettingsError> {
        let known: QuestionsText = settings::parse(text, path)?;
        let wrong = |line: usize, message: String| SettingsError::Text {
            path: path.to_owned(),
            line,
            column: 1,
            text: text.lines().nth(line.saturating_sub(1)).unwrap_or("").trim().to_owned(),
            suggestion: None,
            message,
        };
        if known.schema != SCHEMA {
            let message = format!("`schema` is `{}`; this program reads `{SCHEMA}`", known.schema);
            return Err(wrong(line_of(text, 0, "schema"), message));
        }
        let mut seen: HashMap<&str, usize> = HashMap::new();
        for (at, question) in known.question.iter().enumerate() {
            if seen.insert(&question.id, at).is_some() {
                let message = format!("the question `{}` stands here twice", question.id);
                return Err(wrong(line_of(text, at + 1, "id"), message));
            }
            let answer = question.answer.trim();
            let offered = || question.answers.iter().map(|answer| answer.take.as_str());
            // An entry that was typed by hand may offer nothing; what is asked then decides.
            let told = !question.answers.is_empty();
            if told && !answer.is_empty() && !offered().any(|take| is_offered(take, answer)) {
                let takes: Vec<String> = offered().map(|take| format!("`{take}`")).collect();
                let message =
                    format!("`{answer}` is none of the answers: write {}", takes.join(" or "));
                return Err(wrong(line_of(text, at + 1, "answer"), message));
            }
        }
        let document = text.parse::<DocumentMut>().map_err(|error| wrong(1, error.to_string()))?;
        Ok(Self { path: path.to_owned(), document, known })
    }

    /// Where it is read from and written to.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether no question was ever written down here.
    pub fn is_empty(&self) -> bool {
        self.known.question.is_empty()
    }

    /// How many questions have no answer.
    pub fn unanswered(&self) -> usize {
        self.known.question.iter().filter(|question| question.answer.trim().is_empty()).count()
    }

    /// The answers that were given.
    pub fn answers(&self) -> Answers {
        let given = self.known.question.iter().filter(|q| !q.answer.trim().is_empty());
        given.map(|q| (q.id.clone(), q.answer.trim().to_owned())).collect()
    }

    /// Takes up what is asked now: new questions are added behind the others, those without
    /// an answer are told as they are now, and those asked no more leave that have neither an answer
    /// nor a remark. Answers and remarks stay as they are. Returns whether the text changed.
    pub fn add(&mut self, asked: &[Question]) -> bool {
        let before = self.text();
        let mut new = ArrayOfTables::new();
        self.drop_what_is_asked_no_more(asked);
        if let Some(entries) = self.entries() {
            for (entry, question) in entries {
                tell(entry, asked.iter().find(|asked| asked.id == question));
            }
        }
        let mut text = self.text();
        let known: Vec<&str> = self.known.question.iter().map(|known| known.id.as_str()).collect();
        for question in asked.iter().filter(|asked| !known.contains(&asked.id.as_str())) {
            let mut entry = Table::new();
            entry.decor_mut().set_prefix("\n");
            entry.insert("id", toml_edit::value(question.id.as_str()));
            tell(&mut entry, Some(question));
            entry.insert("answer", toml_edit::value(""));
            new.push(entry);
        }
        if !new.is_empty() {
            // Behind all that stands there: a remark at the end of the file stays where it is.
            if text.is_empty() {
                text = format!("{HEAD}schema = \"{SCHEMA}\"\n");
            } else if !text.ends_with('\n') {
                text.push('\n');
            }
            let mut added = DocumentMut::new();
            added.insert("question", Item::ArrayOfTables(new));
            text.push_str(&added.to_string());
        }
        if text != before
            && let Ok(now) = Self::parse(&text, &self.path)
        {
            *self = now;
            return true;
        }
        false
    }

    fn drop_what_is_asked_no_more(&mut self, asked: &[Question]) {
        let entries = self.document.get_mut("question").and_then(Item::as_array_of_tables_mut);
        let Some(entries) = entries else { return };
        for at in (0..entries.len().min(self.known.question.len())).rev() {
            let known = &self.known.question[at];
            let is_asked = asked.iter().any(|question| question.id == known.id);
            let has_remark = entries.get(at).is_some_and(has_remark);
            if known.answer.trim().is_empty() && !is_asked && !has_remark {
                entries.remove(at);
                self.known.question.remove(at);
            }
        }
    }

    /// The entries that have no answer yet, with their ids.
    fn entries(&mut self) -> Option<impl Iterator<Item = (&mut Table, &str)>> {
        let known = self.known.question.iter();
        let entries = self.document.get_mut("question")?.as_array_of_tables_mut()?;
        let open =
            entries.iter_mut().zip(known).filter(|(_, known)| known.answer.trim().is_empty());
        Some(open.map(|(entry, known)| (entry, known.id.as_str())))
    }

    /// The file's text.
    pub fn text(&self) -> String {
        self.document.to_string()
    }
}

/// Whether somebody wrote a remark before an entry or within it.
fn has_remark(entry: &Table) -> bool {
    let is_remark = |text: Option<&toml_edit::RawString>| {
        text.and_then(toml_edit::RawString::as_str).is_some_and(|text| text.contains('#'))
    };
    let of = |decor: &toml_edit::Decor| is_remark(decor.prefix()) || is_remark(decor.suffix());
    let within = entry.iter().any(|(key, item)| {
        let of_key = entry.key(key).is_some_and(|key| of(key.leaf_decor()));
        of_key || item.as_value().is_some_and(|value| of(value.decor()))
    });
    of(entry.decor()) || within
}

/// Says what a question is now.
fn tell(entry: &mut Table, question: Option<&Question>) {
    let Some(question) = question else { return };
    let mut places: Array = question.places.iter().map(String::as_str).collect();
    one_a_line(&mut places);
    let mut answers: Array = question
        .answers
        .iter()
        .map(|Answer { take, then }| {
            let mut answer = InlineTable::new();
            answer.insert("take", take.as_str().into());
            answer.insert("then", then.as_str().into());
            Value::InlineTable(answer)
        })
        .collect();
    one_a_line(&mut answers);
    let values: [(&str, Value); 4] = [
        ("asks", question.asks.as_str().into()),
        ("where", places.into()),
        ("because", question.because.as_str().into()),
        ("answers", answers.into()),
    ];
    for (key, value) in values {
        // Remarks belong to the value that they stand behind, and stay with it.
        match entry.get_mut(key).and_then(Item::as_value_mut) {
            Some(old) => {
                let decor = old.decor().clone();
                *old = value;
                *old.decor_mut() = decor;
            }
            None => {
                entry.insert(key, Item::Value(value));
            }
        }
    }
}

/// Puts each element of an array with more than one on a line of its own.
fn one_a_line(array: &mut Array) {
    if array.len() < 2 {
        return;
    }
    for value in array.iter_mut() {
        value.decor_mut().set_prefix("\n  ");
    }
    array.set_trailing("\n");
    array.set_trailing_comma(true);
}

/// The line of a key in the `nth` entry (from 1; 0 is what stands before all), from 1.
fn line_of(text: &str, nth: usize, key: &str) -> usize {
    let mut entry = 0;
    let mut first = 1;
    for (at, line) in text.lines().enumerate() {
        let line = line.trim_start();
        if line.starts_with("[[question]]") {
            entry += 1;
            if entry == nth {
                first = at + 1;
            }
        }
        let named = line.strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with('='));
        if entry == nth && named {
            return at + 1;
        }
    }
    first
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::QuestionCode;

    fn question(header: &str, log: &str) -> Question {
        let answers = vec![Answer::new("F", "pit 225 °F"), Answer::new("C", "pit 437 °F")];
        let asks = "Are these °F or °C?";
        Question::new(QuestionCode::UnitOfTemperatures, &[header], asks, "no unit", answers).at(log)
    }

    fn parse(text: &str) -> Result<Questions, SettingsError> {
        Questions::parse(text, Path::new("questions.toml"))
    }

    #[test]
    fn a_question_is_added_answered_by_hand_and_never_changed() {
        let mut file = Questions::read(Path::new("/nowhere/questions.toml")).unwrap();
        assert!(file.is_empty());
        assert!(!file.add(&[]), "nothing asked, nothing written");
        let first = question("time | pit", "logs/a.csv");
        assert!(file.add(std::slice::from_ref(&first)));
        assert!(!file.add(std::slice::from_ref(&first)), "asked again, nothing changes");
        let answered = file
            .text()
            .replace("answer = \"\"", "answer = \"f\" # the grey box, I am sure\n# more of mine");
        let mut file = parse(&answered).unwrap();
        assert_eq!(file.answers().to(&first), Some("f"));
        let second = question("time | grate", "logs/b.csv").at("logs/c.csv");
        assert!(file.add(&[first.clone().at("logs/z.csv"), second.clone()]));
        let text = file.text();
        assert!(text.starts_with(&answered), "what stands there stays, byte for byte: {text}");
        let again = parse(&text).unwrap();
        assert_eq!(again.answers(), file.answers());
        assert_eq!(again.known, file.known);
        let merged = Question::merged([first, second]);
        assert_eq!(again.answers().open(&merged).len(), 1);
    }

    #[test]
    fn an_open_question_is_told_as_it_is_now_and_keeps_its_remarks() {
        let mut file = parse("schema = \"cookstudy/questions/1\"\n").unwrap();
        file.add(&[question("a", "logs/a.csv")]);
        let text = file.text().replace("[[question]]", "# ask Pat\n[[question]]");
        let mut file = parse(&text).unwrap();
        assert!(file.add(&[question("a", "logs/a.csv").at("logs/b.csv")]));
        assert!(file.text().contains("# ask Pat\n[[question]]"), "{}", file.text());
        assert!(file.text().contains("logs/b.csv"));
    }

    #[test]
    fn what_is_asked_no_more_leaves_unless_somebody_wrote_to_it() {
        let mut file = parse("schema = \"cookstudy/questions/1\"\n").unwrap();
        let asked = ["a", "b", "c", "d"].map(|header| question(header, "logs/a.csv"));
        file.add(&asked);
        let mut parts: Vec<String> = file.text().split("[[question]]").map(str::to_owned).collect();
        parts[2] = parts[2].replace("answer = \"\"", "answer = \"F\"");
        parts[3] = parts[3].replace("answer = \"\"", "answer = \"\" # ask Pat");
        let mut file = parse(&parts.join("[[question]]")).unwrap();
        assert!(file.add(&asked[3..]));
        let left: Vec<&str> = file.known.question.iter().map(|known| known.id.as_str()).collect();
        assert_eq!(left, [&*asked[1].id, &*asked[2].id, &*asked[3].id]);
        assert!(file.text().contains("# ask Pat") && !file.text().contains(&asked[0].id));
        assert!(!file.add(&asked[3..]), "nothing more changes");
    }

    #[test]
    fn an_answer_that_is_not_offered_is_an_error_with_its_line() {
        let mut file = parse("schema = \"cookstudy/questions/1\"\n").unwrap();
        file.add(&[question("a", "logs/a.csv"), question("b", "logs/b.csv")]);
        let text = file.text();
        let (head, tail) = text.rsplit_once("answer = \"\"").unwrap();
        let wrong = format!("{head}answer = \"K\"{tail}");
        let line = head.lines().count() + 1;
        let error = parse(&wrong).unwrap_err().to_string();
        assert!(error.starts_with(&format!("questions.toml:{line}:1: `K` is none")), "{error}");
        assert!(error.contains("write `F` or `C`"), "{error}");
    }

    /// `UPDATE_CODES=1 cargo test -p cook --lib` writes it; `generate` makes the same.
    #[test]
    fn the_json_schema_is_current() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas/questions.json");
        let schema = schemars::schema_for!(QuestionsText).to_value();
        let text = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        if std::env::var_os("UPDATE_CODES").is_some() {
            std::fs::write(&root, &text).unwrap();
        }
        assert_eq!(std::fs::read_to_string(root).unwrap(), text);
    }

    #[test]
    fn another_schema_and_an_unknown_key_are_errors() {
        let error = parse("schema = \"cookstudy/questions/9\"\n").unwrap_err().to_string();
        assert!(error.contains("questions.toml:1:1: `schema` is `cookstudy/questions/9`"));
        let text = "schema = \"cookstudy/questions/1\"\n[[question]]\nid = \"x\"\nanwser = \"\"\n";
        let error = parse(text).unwrap_err().to_string();
        assert!(error.contains("did you mean `answer`?"), "{error}");
    }
}
