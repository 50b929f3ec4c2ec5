//! What would change an answer, and whether the models can be believed, as the report shows it.

use super::study::{claim_effect, set_of, slope, term_in_words, verdict_of};
use report::data::{
    Choice, EffectRow, OtherWay, SpecificationCurve, SpecificationPoint, WithoutOneFire,
};
use report::names::{name_of, name_within};
use study::result::driver::{Driver, JointModel};
use study::result::specification::WrapTimingChoices;
use study::result::{ClaimResult, StudyResult};

/// Checks whose p value is below this are told as a doubt.
const DOUBTED_BELOW: f64 = 0.05;

pub(super) fn other_ways(result: &ClaimResult) -> Vec<OtherWay> {
    let level = result.effect.as_ref().map_or(0.9, |effect| effect.level);
    let other = result.other_ways.iter();
    other
        .map(|other| OtherWay {
            way: other.way.clone(),
            effect: claim_effect(result, (other.estimate, other.lo, other.hi), level, other.n),
            verdict: verdict_of(other.verdict),
        })
        .collect()
}

pub(super) fn without_one_fire(result: &ClaimResult) -> Option<WithoutOneFire> {
    let without = result.leave_one_fire_out.as_ref()?;
    let step = result.asked.step();
    let changing = without.changing.iter();
    Some(WithoutOneFire {
        fires: without.fires,
        lowest: without.lowest / step,
        highest: without.highest / step,
        changing: changing.map(|fire| (fire.cooks.clone(), verdict_of(fire.verdict))).collect(),
    })
}

/// The claim under every specification, with the choices that there were.
pub(super) fn specification_curve(result: &ClaimResult) -> Option<SpecificationCurve> {
    let curve = result.specifications.as_ref()?;
    let adjusted = if curve.own_error { "Weights know of" } else { "Adjusted for" };
    let mut questions: Vec<Choice> = ["Stall definition", "Outcome", adjusted, "Outliers"]
        .into_iter()
        .chain(WRAP_QUESTIONS.into_iter().filter(|_| curve.own_error))
        .map(|question| Choice { question: question.into(), answers: Vec::new() })
        .collect();
    let mut points = Vec::new();
    for row in &curve.specifications {
        let mut words = vec![
            definition_in_words(&row.definition),
            name_within(&row.outcome),
            if curve.own_error && row.adjust.is_empty() {
                "the course alone".to_owned()
            } else {
                adjusters_in_words(&row.adjust)
            },
            if row.without_outliers { "left out" } else { "kept" }.to_owned(),
        ];
        words.extend(row.wrap_timing.map(wrap_choices_in_words).into_iter().flatten());
        let answers = questions
            .iter_mut()
            .zip(&words)
            .map(|(question, word)| {
                question.answers.iter().position(|known| known == word).unwrap_or_else(|| {
                    question.answers.push(word.clone());
                    question.answers.len() - 1
                })
            })
            .collect();
        let effect = &row.effect;
        points.push(SpecificationPoint {
            name: words.join(", "),
            effect: claim_effect(
                result,
                (effect.estimate, effect.lo, effect.hi),
                effect.level,
                row.n,
            ),
            as_written: row.as_written,
            answers,
        });
    }
    sort_answers(&mut questions, &mut points);
    Some(SpecificationCurve {
        points,
        questions,
        same_verdict: curve.same_verdict,
        same_side: curve.same_side,
        not_fitted: curve.not_fitted,
        own_error: curve.own_error,
    })
}

/// Answers in the order of their words, and no question that has one answer alone.
fn sort_answers(questions: &mut Vec<Choice>, points: &mut [SpecificationPoint]) {
    for place in (0..questions.len()).rev() {
        if questions[place].answers.len() < 2 {
            questions.remove(place);
            for point in points.iter_mut() {
                point.answers.remove(place);
            }
            continue;
        }
        let before = questions[place].answers.clone();
        questions[place].answers.sort();
        let after = &questions[place].answers;
        for point in points.iter_mut() {
            let word = &before[point.answers[place]];
            point.answers[place] = after.iter().position(|known| known == word).unwrap_or(0);
        }
    }
}

/// What else is chosen of a comparison of strategies.
const WRAP_QUESTIONS: [&str; 4] = ["Grace", "Horizon", "Weights", "Tender pulls"];

/// The answers to [`WRAP_QUESTIONS`].
fn wrap_choices_in_words(choices: WrapTimingChoices) -> [String; 4] {
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

fn definition_in_words(definition: &str) -> String {
    match definition.split_once(' ') {
        Some(("stall_fraction", to)) => format!("threshold {to}"),
        Some(("pit_lag_min", to)) => format!("pit lag {to} min"),
        Some(("smoothing_min", to)) => format!("smoothing {to} min"),
        _ => definition.to_owned(),
    }
}

fn adjusters_in_words(adjust: &[String]) -> String {
    if adjust.is_empty() {
        return "nothing".into();
    }
    adjust.iter().map(|column| name_within(column)).collect::<Vec<_>>().join(" + ")
}

/// Rows of the table of the sheet's other columns: what could be fitted.
pub(super) fn further(study: &StudyResult) -> Vec<EffectRow> {
    let mut rows = Vec::new();
    for driver in &study.drivers {
        for further in &driver.further {
            for effect in &further.effects {
                rows.push(EffectRow {
                    outcome_name: name_of(&driver.outcome) + set_of(driver),
                    term: term_in_words(effect, further.base.as_deref()),
                    effect: slope(&driver.outcome, effect, &effect.term, further.n, further.fires),
                    p_adjusted: further.p_adjusted,
                    ..EffectRow::default()
                });
            }
        }
    }
    rows
}

/// Sentences on the joint models: whether cooks stalled, residuals, cooks that weigh much.
pub(super) fn model_checks(study: &StudyResult) -> Vec<String> {
    let mut sentences = Vec::new();
    if let Some(whether) = &study.whether_stalled {
        sentences.push(match &whether.reason {
            Some(reason) => format!("Whether a cook stalls at all: not estimated; {reason}."),
            None => format!(
                "Whether a cook stalls at all: {} of {} did; how weight and pit bear on it stands \
                 in study.json, in percentage points{}.",
                whether.stalled,
                whether.n,
                whether.notes.iter().fold(String::new(), |said, note| said + "; " + note)
            ),
        });
    }
    for driver in &study.drivers {
        sentences.extend(of_driver(driver, &driver.joint));
    }
    sentences
}

fn of_driver(driver: &Driver, joint: &JointModel) -> Vec<String> {
    let outcome = name_of(&driver.outcome) + set_of(driver);
    let mut sentences = Vec::new();
    if let Some(checks) = &joint.checks {
        let mut doubts = Vec::new();
        if checks.normality_p < DOUBTED_BELOW {
            doubts.push("its scatter is not that of the normal distribution");
        }
        if checks.equal_scatter_p.is_some_and(|p| p < DOUBTED_BELOW) {
            doubts.push("its scatter changes along with weight, pit or wrap");
        }
        if !doubts.is_empty() {
            sentences.push(format!(
                "{outcome}: {}. The intervals allow for unequal scatter; single cooks may lie far \
                 from the line.",
                doubts.join(", and ")
            ));
        }
    }
    if !joint.influential.is_empty() {
        let cooks: Vec<String> = joint
            .influential
            .iter()
            .map(|cook| {
                let column = cook.term.split('[').next().unwrap_or_default();
                format!("{} ({}, {:.1})", cook.cook, name_within(column), cook.moved.abs())
            })
            .collect();
        sentences.push(format!(
            "{outcome}: cooks that move the joint model most, each with the effect that it moves and \
             by how many of its standard errors the effect would move without it: {}.",
            cooks.join("; ")
        ));
    }
    let left_out = driver.notes.iter().filter(|note| note.starts_with("`mixed` is left out"));
    sentences.extend(left_out.map(|note| {
        let because = note.trim_start_matches("`mixed` is left out: ");
        format!(
            "{outcome}: no model with random intercepts of fire and pit stands beside; {because}."
        )
    }));
    sentences
}
