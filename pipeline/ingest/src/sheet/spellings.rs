//! Spellings of one word over all rows: `Oak`, `oak ` and `OAK` are one wood.

use super::SheetReading;
use columns::Value;
use columns::card::{self, CardField};
use cook::trade;
use cook::{Answer, Answers, Evidence, Question, QuestionCode, WrapMethod};
use std::collections::BTreeMap;

/// Columns whose words are compared between cooks.
const COLUMNS: [&CardField; 9] = [
    &card::PIT,
    &card::COOKER,
    &card::CUT,
    &card::GRADE,
    &card::SUPPLIER,
    &card::WOOD,
    &card::HOLD_KIND,
    &card::CONTEST,
    &card::PLACE,
];
/// So many levels a column may have for its words to be asked about: more are names or notes.
const MOST_LEVELS: usize = 40;

impl SheetReading {
    /// Reads spellings of one word as the one that is written most, in every column of words, and
    /// asks about words that may be one that was misspelt. To be called once all season sheets
    /// are read, since they speak of the same things.
    pub fn settle_spellings(&mut self, answers: &Answers) {
        self.settle_wraps(answers);
        for field in COLUMNS {
            let mut spellings: BTreeMap<String, BTreeMap<String, usize>> = BTreeMap::new();
            for card in &self.cards {
                if let Value::Text(text) = field.get(card) {
                    let of = spellings.entry(trade::meaning(&text)).or_default();
                    *of.entry(text.trim().to_owned()).or_default() += 1;
                }
            }
            let mut word_of: BTreeMap<String, String> = BTreeMap::new();
            for (meaning, texts) in &spellings {
                // Of equals the one in small letters, which sorts last.
                let usual = texts.iter().max_by_key(|(_, count)| **count);
                let word = usual.map_or_else(|| meaning.clone(), |(text, _)| text.clone());
                if texts.len() > 1 {
                    let all: Vec<String> = texts.keys().map(|text| format!("`{text}`")).collect();
                    self.evidence.push(Evidence {
                        what: format!("{} spellings in `{}`", texts.len(), field.stated_as()),
                        taken_as: word.clone(),
                        because: format!("{} mean one thing", all.join(", ")),
                        setting: "give one of them another name in the sheet".to_owned(),
                    });
                }
                word_of.insert(meaning.clone(), word);
            }
            self.settle_twins(field, &spellings, &mut word_of, answers);
            for card in &mut self.cards {
                if let Value::Text(text) = field.get(card)
                    && let Some(word) = word_of.get(&trade::meaning(&text))
                    && *word != text
                {
                    field.set(card, Value::Text(word.clone()));
                }
            }
        }
    }

    /// Wraps in a word that may be a known method misspelt: asked, and methods of their own until answered.
    fn settle_wraps(&mut self, answers: &Answers) {
        let column = card::WRAP_METHOD.stated_as();
        let mut words: BTreeMap<String, WrapMethod> = BTreeMap::new();
        for method in self.cards.iter().filter_map(|card| card.wrap_method.as_ref()) {
            words.extend(method.meant().map(|meant| (method.to_string(), meant)));
        }
        for (word, meant) in words {
            let question = Question::new(
                QuestionCode::NearTwins,
                &[column, &word, meant.as_str()],
                format!("are `{word}` and `{meant}` one {column}?"),
                "they differ by a letter or two",
                vec![
                    Answer::new("one", format!("wrapped in {meant}")),
                    Answer::new("apart", format!("`{word}` is a method of its own")),
                ],
            );
            let is_it =
                |method: Option<&WrapMethod>| method.is_some_and(|method| method.as_str() == word);
            match answers.to(&question) {
                Some(answer) if answer.eq_ignore_ascii_case("one") => {
                    let cards =
                        self.cards.iter_mut().filter(|card| is_it(card.wrap_method.as_ref()));
                    cards.for_each(|card| card.wrap_method = Some(meant.clone()));
                }
                Some(_) => {}
                None => {
                    let rows = self.cards.iter().zip(&self.rows);
                    let places = rows
                        .filter(|(card, _)| is_it(card.wrap_method.as_ref()))
                        .map(|(_, row)| format!("{}:{} {column}", row.sheet, row.line));
                    let places = places.collect();
                    let used = Some("apart".to_owned());
                    self.questions.push(Question { places, used, ..question });
                }
            }
        }
    }

    /// Words that may be one: asked, and apart until they are answered.
    fn settle_twins(
        &mut self,
        field: &CardField,
        spellings: &BTreeMap<String, BTreeMap<String, usize>>,
        word_of: &mut BTreeMap<String, String>,
        answers: &Answers,
    ) {
        let column = field.stated_as();
        let meanings: Vec<&String> = spellings.keys().collect();
        if meanings.len() > MOST_LEVELS {
            return;
        }
        let count = |meaning: &str| spellings[meaning].values().sum::<usize>();
        for (at, one) in meanings.iter().enumerate() {
            for other in &meanings[at + 1..] {
                if !trade::are_near_twins(one, other) {
                    continue;
                }
                // The rarer, or the one that is no word of the trade, is the one that may be misspelt.
                let weight = |meaning: &str| (count(meaning), trade::is_known(meaning));
                let (right, odd) =
                    if weight(one) >= weight(other) { (*one, *other) } else { (*other, *one) };
                let (right_word, odd_word) = (word_of[right].clone(), word_of[odd].clone());
                let asks = format!("are `{odd_word}` and `{right_word}` one {column}?");
                let cooks =
                    |n: usize| if n == 1 { "1 cook".to_owned() } else { format!("{n} cooks") };
                let one_then = format!("`{right_word}` in {}", cooks(count(right) + count(odd)));
                let two_then = format!(
                    "`{right_word}` in {}, `{odd_word}` in {}",
                    cooks(count(right)),
                    cooks(count(odd))
                );
                let question = Question::new(
                    QuestionCode::NearTwins,
                    &[column, one, other],
                    asks,
                    "they differ by a letter or two",
                    vec![Answer::new("one", one_then), Answer::new("apart", two_then)],
                );
                match answers.to(&question) {
                    Some(answer) if answer.eq_ignore_ascii_case("one") => {
                        word_of.insert(odd.clone(), right_word);
                    }
                    Some(_) => {}
                    None => {
                        let places = self.places_of(field, odd);
                        let question =
                            Question { places, used: Some("apart".to_owned()), ..question };
                        self.questions.push(question);
                    }
                }
            }
        }
    }

    /// Where a word stands.
    fn places_of(&self, field: &CardField, meaning: &str) -> Vec<String> {
        let rows = self.cards.iter().zip(&self.rows);
        let stands = rows.filter(|(card, _)| {
            matches!(field.get(card), Value::Text(text) if trade::meaning(&text) == meaning)
        });
        stands.map(|(_, row)| format!("{}:{} {}", row.sheet, row.line, field.stated_as())).collect()
    }
}
