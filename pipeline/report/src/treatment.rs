//! What faster costs, laid out for people: the answers of the study by treatment, and within it by
//! what is set against what.

use cook::season::Better;
use study::result::Model;
use study::result::cost::{CostAnswer, CostEffect, CostOutcome, CostSide, Standing};

use crate::effect::Effect;
use crate::names::{covariate, name_of, name_within};
use crate::units::{Covariate, Quantity};

/// Odds are doubted to be proportional below this p value.
const DOUBTED_BELOW: f64 = 0.05;

/// One treatment against every outcome.
pub(crate) struct Treatment<'a> {
    /// Its answers, time first.
    answers: Vec<&'a CostAnswer>,
    /// The differences, one a level against the base, or one per step.
    pub(crate) contrasts: Vec<Contrast<'a>>,
    /// How many differences of its standing were asked in all.
    pub(crate) asked: usize,
}

/// One level against the base, or a step of a number.
pub(crate) struct Contrast<'a> {
    treatment: &'a str,
    level_and_base: Option<(&'a str, &'a str)>,
    step: Option<f64>,
    /// Every outcome that has an answer, time first.
    pub(crate) differences: Vec<Difference<'a>>,
}

/// One difference of one outcome.
#[derive(Clone, Copy)]
pub(crate) struct Difference<'a> {
    pub(crate) answer: &'a CostAnswer,
    pub(crate) effect: &'a CostEffect,
}

impl<'a> Treatment<'a> {
    /// The treatments in the order in which they were asked about.
    pub(crate) fn all(cost: &'a CostSide) -> Vec<Self> {
        let mut treatments: Vec<Self> = Vec::new();
        for answer in &cost.answers {
            let place = treatments.iter().position(|known| known.column() == answer.treatment);
            let place = place.unwrap_or_else(|| {
                let alike = cost.answers.iter().filter(|other| other.standing == answer.standing);
                treatments.push(Self {
                    answers: Vec::new(),
                    contrasts: Vec::new(),
                    asked: alike.map(|other| other.effects.len()).sum(),
                });
                treatments.len() - 1
            });
            treatments[place].add(answer);
        }
        treatments
    }

    fn add(&mut self, answer: &'a CostAnswer) {
        self.answers.push(answer);
        for effect in &answer.effects {
            let level_and_base = effect.level.as_deref().zip(answer.base.as_deref());
            let known = self.contrasts.iter().position(|own| own.level_and_base == level_and_base);
            let place = known.unwrap_or_else(|| {
                self.contrasts.push(Contrast {
                    treatment: &answer.treatment,
                    level_and_base,
                    step: effect.per,
                    differences: Vec::new(),
                });
                self.contrasts.len() - 1
            });
            self.contrasts[place].differences.push(Difference { answer, effect });
        }
    }

    fn column(&self) -> &str {
        self.answers.first().map_or("", |answer| &answer.treatment)
    }

    /// A name for anchors, unique among the treatments.
    pub(crate) fn id(&self) -> String {
        self.column().replace('_', "-")
    }

    /// What it is called, in the middle of a sentence.
    pub(crate) fn name(&self) -> String {
        name_within(self.column())
    }

    /// What its differences may be said to be.
    pub(crate) fn standing(&self) -> Standing {
        self.answers.first().map_or(Standing::Association, |answer| answer.standing)
    }

    /// What the models are adjusted for, in words.
    pub(crate) fn adjusted_for(&self) -> Vec<String> {
        let columns = self.answers.first().into_iter().flat_map(|answer| &answer.adjusted_for);
        columns.map(|column| name_within(column)).collect()
    }

    /// Each level in words with its cooks, over all outcomes the most.
    pub(crate) fn levels(&self) -> Vec<(String, usize)> {
        let mut levels: Vec<(&str, usize)> = Vec::new();
        for level in self.answers.iter().flat_map(|answer| &answer.levels) {
            match levels.iter_mut().find(|(known, _)| *known == level.level) {
                Some((_, cooks)) => *cooks = (*cooks).max(level.cooks),
                None => levels.push((&level.level, level.cooks)),
            }
        }
        let in_words = |(level, cooks)| (level_in_words(self.column(), level), cooks);
        levels.into_iter().map(in_words).collect()
    }

    /// Outcomes without an answer, each with the reason.
    pub(crate) fn refused(&self) -> impl Iterator<Item = (String, &str)> {
        self.answers
            .iter()
            .filter_map(|answer| Some((outcome_name(&answer.outcome), answer.reason.as_deref()?)))
    }
}

impl Contrast<'_> {
    /// The level and its base in words; none for a number.
    pub(crate) fn levels(&self) -> Option<[String; 2]> {
        let (level, base) = self.level_and_base?;
        Some([level, base].map(|level| level_in_words(self.treatment, level)))
    }

    /// The step of a number.
    pub(crate) fn per(&self) -> Option<Covariate> {
        self.step.map(|step| covariate(self.treatment, Some(step)))
    }
}

impl Difference<'_> {
    /// The outcome, capitalised.
    pub(crate) fn outcome_name(&self) -> String {
        outcome_name(&self.answer.outcome)
    }

    /// Whether it is the time to the finish.
    pub(crate) fn is_time(&self) -> bool {
        self.answer.kind == CostOutcome::Time
    }

    /// Whether less of it is better.
    pub(crate) fn less_is_better(&self) -> bool {
        self.answer.better == Better::Lower
    }

    /// The difference, raw sign; of a number per one unit of it.
    pub(crate) fn effect(&self) -> Effect {
        let effect = self.effect;
        let step = effect.per.unwrap_or(1.0);
        Effect {
            estimate: effect.estimate / step,
            lo: effect.lo.map(|end| end / step),
            hi: effect.hi.map(|end| end / step),
            level: 0.95,
            outcome: match self.answer.kind {
                CostOutcome::Time => Quantity::Minutes,
                CostOutcome::Score => Quantity::Plain { unit: "points", decimals: 1 },
                CostOutcome::Yield => Quantity::Fraction,
                CostOutcome::Cost => Quantity::CostPerMass,
            },
            per: effect.per.map(|step| covariate(&self.answer.treatment, Some(step))),
            cooks: self.answer.n,
            fires: self.answer.fires,
        }
    }

    /// The same from the model with a random intercept of the fire, where there is one. That of a
    /// cost is in its logarithm, which is no money.
    pub(crate) fn mixed(&self) -> Option<Effect> {
        let is_mixed = |model: &&Model| model.name == "mixed";
        let model = self.answer.models.iter().find(is_mixed)?;
        let term = model.terms.iter().find(|own| own.term == self.effect.term)?;
        let is_money = self.answer.kind == CostOutcome::Cost;
        let estimate = term.estimate.filter(|_| !is_money)?;
        Some(Effect { estimate, lo: term.lo, hi: term.hi, ..self.effect() })
    }

    /// Whether the odds may not be proportional.
    pub(crate) fn odds_are_doubted(&self) -> bool {
        self.answer.proportional_odds_p.is_some_and(|p| p < DOUBTED_BELOW)
    }

    /// The cooks of each fire without which an interval would come to hold zero, or to leave it out.
    pub(crate) fn changing(&self) -> &[Vec<String>] {
        self.answer.without_one_fire.as_ref().map_or(&[], |without| &without.changing)
    }
}

/// A level as people say it: a yes or no says what of.
fn level_in_words(treatment: &str, level: &str) -> String {
    match level {
        "true" => format!("with {}", name_within(treatment)),
        "false" => format!("without {}", name_within(treatment)),
        level => level.to_owned(),
    }
}

fn outcome_name(outcome: &str) -> String {
    const YIELD: &str = columns::measures::YIELD_FRACTION.name;
    match outcome {
        // Beside the yield over the trimmed weight.
        YIELD => "Yield over the raw weight".into(),
        outcome => name_of(outcome),
    }
}
