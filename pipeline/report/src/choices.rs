//! The specifications of a claim laid out for drawing: by rising estimate, each with its answer to
//! every question that has more than one.

use study::result::ClaimResult;
use study::result::specification::{Specification, SpecificationCurve, WrapTimingChoices};

use crate::effect::Effect;
use crate::names::name_within;

/// What else is chosen of a comparison of strategies.
const OF_WRAP_TIMING: [&str; 4] = ["Grace", "Horizon", "Weights", "Tender pulls"];

/// A claim under every combination of choices.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Choices {
    /// One way to ask each.
    pub(crate) ways: Vec<Way>,
    /// What was chosen between: the question in a word or two, and the answers.
    pub(crate) questions: Vec<(&'static str, Vec<String>)>,
}

/// One way to ask.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Way {
    /// Its choices in words.
    pub(crate) name: String,
    pub(crate) effect: Effect,
    /// Whether it is the claim as written: drawn larger.
    pub(crate) is_as_written: bool,
    /// The answer to each question, as its place among the answers.
    pub(crate) answers: Vec<usize>,
}

impl Choices {
    pub(crate) fn new(claim: &ClaimResult, curve: &SpecificationCurve) -> Self {
        let adjusted = if curve.own_error { "Weights know of" } else { "Adjusted for" };
        let asked = ["Stall definition", "Outcome", adjusted, "Outliers"].into_iter();
        let asked = asked.chain(OF_WRAP_TIMING.into_iter().filter(|_| curve.own_error));
        let words: Vec<Vec<String>> =
            curve.specifications.iter().map(|own| in_words(own, curve.own_error)).collect();
        let mut choices = Self {
            ways: curve
                .specifications
                .iter()
                .zip(&words)
                .map(|(own, words)| {
                    let effect = &own.effect;
                    let ends = (effect.estimate, effect.lo, effect.hi);
                    Way {
                        name: words.join(", "),
                        effect: Effect {
                            level: effect.level,
                            ..Effect::on_the_scale_of(claim, ends, own.n)
                        },
                        is_as_written: own.as_written,
                        answers: Vec::new(),
                    }
                })
                .collect(),
            questions: Vec::new(),
        };
        for (place, question) in asked.enumerate() {
            let answer = |words: &Vec<String>| words.get(place).cloned().unwrap_or_default();
            let mut answers: Vec<String> = words.iter().map(answer).collect();
            answers.sort();
            answers.dedup();
            // Where there was nothing to choose there is nothing to show.
            if answers.len() < 2 {
                continue;
            }
            for (way, words) in choices.ways.iter_mut().zip(&words) {
                let own = answer(words);
                way.answers.push(answers.iter().position(|a| *a == own).unwrap_or_default());
            }
            choices.questions.push((question, answers));
        }
        choices
    }
}

/// The answers of one specification, in the order of the questions.
fn in_words(own: &Specification, of_strategies: bool) -> Vec<String> {
    let mut words = vec![
        definition(&own.definition),
        name_within(&own.outcome),
        match own.adjust.as_slice() {
            [] if of_strategies => "the course alone".to_owned(),
            [] => "nothing".to_owned(),
            columns => {
                columns.iter().map(|column| name_within(column)).collect::<Vec<_>>().join(" + ")
            }
        },
        if own.without_outliers { "left out" } else { "kept" }.to_owned(),
    ];
    words.extend(own.wrap_timing.map(of_wrap_timing).into_iter().flatten());
    words
}

/// The answers to [`OF_WRAP_TIMING`].
fn of_wrap_timing(choices: WrapTimingChoices) -> [String; 4] {
    let grace = match choices.grace_factor {
        factor if factor < 1.0 => "half as long",
        factor if factor > 1.0 => "twice as long",
        _ => "as written",
    };
    let weights = choices.truncated_at.map_or("uncut".to_owned(), |quantile| {
        format!("cut at the {:.0}th percentile", 100.0 * quantile)
    });
    let tender = if choices.tender_is_finish { "finishes" } else { "censored" };
    [grace.into(), format!("{:.0} min", choices.horizon_min), weights, tender.into()]
}

fn definition(definition: &str) -> String {
    match definition.split_once(' ') {
        Some(("stall_fraction", to)) => format!("threshold {to}"),
        Some(("pit_lag_min", to)) => format!("pit lag {to} min"),
        Some(("smoothing_min", to)) => format!("smoothing {to} min"),
        _ => definition.to_owned(),
    }
}
