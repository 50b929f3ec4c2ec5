//! What faster costs, as the report shows it.

use report::data::{
    CostContrast, CostDifference, CostFinding, CostReport, CostStanding, CostTreatment, Counted,
    Effect, TenderReport, TenderRow,
};
use report::names::{name_of, name_within, quantity_of};
use report::units::{Covariate, Quantity};
use study::result::Model;
use study::result::cost::{CostAnswer, CostEffect, CostOutcome, CostSide, Finding, Standing};
use study::result::tender::{TenderGroup, TenderQuantile, TenderTemperature};

/// Odds are doubted to be proportional below this p value.
const DOUBTED_BELOW: f64 = 0.05;

pub(super) fn cost(found: &CostSide) -> CostReport {
    let mut treatments: Vec<CostTreatment> = Vec::new();
    for answer in &found.answers {
        let id = answer.treatment.replace('_', "-");
        let at = treatments.iter().position(|known| known.id == id).unwrap_or_else(|| {
            treatments.push(treatment(found, answer, id.clone()));
            treatments.len() - 1
        });
        add(&mut treatments[at], answer);
    }
    CostReport { treatments, tender: tender(&found.tender) }
}

fn treatment(found: &CostSide, first: &CostAnswer, id: String) -> CostTreatment {
    let same = found.answers.iter().filter(|answer| answer.standing == first.standing);
    CostTreatment {
        id,
        name: name_within(&first.treatment),
        standing: match first.standing {
            Standing::Randomised => CostStanding::Randomised,
            Standing::Described => CostStanding::Described,
            Standing::Association => CostStanding::Association,
        },
        adjusted_for: first.adjusted_for.iter().map(|column| name_within(column)).collect(),
        asked: same.map(|answer| answer.effects.len()).sum(),
        ..CostTreatment::default()
    }
}

fn add(treatment: &mut CostTreatment, answer: &CostAnswer) {
    if let Some(reason) = &answer.reason {
        treatment.refused.push((outcome_name(&answer.outcome), reason.clone()));
    }
    for level in &answer.levels {
        let label = level_in_words(&answer.treatment, &level.level);
        let known = treatment.levels.iter_mut().find(|known| known.label == label);
        if let Some(known) = known {
            known.count = known.count.max(level.cooks);
        } else {
            treatment.levels.push(Counted { label, count: level.cooks });
        }
    }
    for effect in &answer.effects {
        let levels = effect.level.as_ref().zip(answer.base.as_ref());
        let levels = levels.map(|(level, base)| {
            (level_in_words(&answer.treatment, level), level_in_words(&answer.treatment, base))
        });
        let per = effect.per.map(|per| covariate(&answer.treatment, Some(per)));
        let contrasts = &mut treatment.contrasts;
        let at = contrasts.iter().position(|known| known.levels == levels).unwrap_or_else(|| {
            contrasts.push(CostContrast { levels, per, outcomes: Vec::new() });
            contrasts.len() - 1
        });
        contrasts[at].outcomes.push(difference(answer, effect));
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

fn difference(answer: &CostAnswer, effect: &CostEffect) -> CostDifference {
    let shown = |ends: [Option<f64>; 3]| shown_effect(answer, effect, ends);
    let mixed = answer.models.iter().find(|model| model.name == "mixed");
    CostDifference {
        outcome_name: outcome_name(&answer.outcome),
        is_time: answer.kind == CostOutcome::Time,
        less_is_better: answer.better == cook::season::Better::Lower,
        effect: shown([Some(effect.estimate), effect.lo, effect.hi]).unwrap_or_default(),
        finding: match effect.finding {
            Finding::Better => CostFinding::Better,
            Finding::Worse => CostFinding::Worse,
            Finding::PerhapsBetter => CostFinding::PerhapsBetter,
            Finding::PerhapsWorse => CostFinding::PerhapsWorse,
            Finding::CannotTell => CostFinding::CannotTell,
        },
        odds_ratio: effect.odds_ratio.map(|ratio| [Some(ratio.estimate), ratio.lo, ratio.hi]),
        good_score: effect
            .good_score
            .map(|good| (good.score, [Some(good.estimate), good.lo, good.hi])),
        p: [effect.p, effect.p_adjusted],
        // The mixed model of a cost is in its logarithm, which is no money.
        mixed: mixed
            .filter(|_| answer.kind != CostOutcome::Cost)
            .and_then(|model| shown(of_term(model, &effect.term, effect.per.unwrap_or(1.0)))),
        odds_doubted: answer.proportional_odds_p.is_some_and(|p| p < DOUBTED_BELOW),
        changing: answer.without_one_fire.as_ref().map(|without| without.changing.clone()),
    }
}

fn of_term(model: &Model, term: &str, per: f64) -> [Option<f64>; 3] {
    let own = model.terms.iter().find(|own| own.term == term);
    own.map_or([None; 3], |own| [own.estimate, own.lo, own.hi].map(|end| end.map(|x| x * per)))
}

/// An effect per one unit of a number's step; `None` without an estimate.
fn shown_effect(
    answer: &CostAnswer,
    effect: &CostEffect,
    [estimate, lo, hi]: [Option<f64>; 3],
) -> Option<Effect> {
    let step = effect.per.unwrap_or(1.0);
    Some(Effect {
        estimate: estimate? / step,
        lo: lo.map(|x| x / step),
        hi: hi.map(|x| x / step),
        level: 0.95,
        outcome: match answer.kind {
            CostOutcome::Time => Quantity::Minutes,
            CostOutcome::Score => Quantity::Plain { unit: "points", decimals: 1 },
            CostOutcome::Yield => Quantity::Fraction,
            CostOutcome::Cost => Quantity::CostPerMass,
        },
        per: effect.per.map(|per| covariate(&answer.treatment, Some(per))),
        cooks: answer.n,
        fires: answer.fires,
    })
}

fn outcome_name(outcome: &str) -> String {
    const YIELD: &str = columns::measures::YIELD_FRACTION.name;
    match outcome {
        // Beside the yield over the trimmed weight.
        YIELD => "Yield over the raw weight".into(),
        outcome => name_of(outcome),
    }
}

fn tender(found: &TenderTemperature) -> TenderReport {
    let all = found.groups.iter().find(|group| group.by.is_none());
    let turnbull = all.and_then(|group| group.turnbull.as_ref());
    TenderReport {
        rows: found.groups.iter().map(tender_row).collect(),
        steps: turnbull.map_or(Vec::new(), |turnbull| {
            turnbull.steps.iter().map(|step| (step.above_c, step.by_c, step.share)).collect()
        }),
        differences: found
            .differences
            .iter()
            .map(|difference| {
                let label = format!(
                    "{}: {} against {}",
                    name_within(&difference.by),
                    difference.level,
                    difference.base
                );
                let model = found.model.as_ref();
                let effect = Effect {
                    estimate: difference.estimate,
                    lo: difference.lo,
                    hi: difference.hi,
                    level: 0.95,
                    outcome: Quantity::TemperatureDifference,
                    per: None,
                    cooks: model.map_or(0, |model| model.n),
                    fires: 0,
                };
                (label, effect)
            })
            .collect(),
        left_out: found
            .left_out
            .iter()
            .map(|left| Counted { label: left.reason.clone(), count: left.cooks })
            .collect(),
        // Too few cooks in all leave nothing to draw.
        reason: found.reason.clone().or_else(|| all.and_then(|group| group.reason.clone())),
    }
}

fn tender_row(group: &TenderGroup) -> TenderRow {
    let ends = |quantiles: &[TenderQuantile]| {
        quantiles.iter().map(|quantile| [quantile.core_c, quantile.lo_c, quantile.hi_c]).collect()
    };
    TenderRow {
        label: match (&group.by, &group.level) {
            (Some(by), Some(level)) => format!("{}: {level}", name_of(by)),
            _ => "All".into(),
        },
        cooks: group.n,
        fires: group.fires,
        tender_at_first: group.tender_at_first,
        never_tender: group.never_tender,
        turnbull: group.turnbull.as_ref().map_or(Vec::new(), |own| ends(&own.quantiles)),
        normal: ends(&group.normal),
        reason: group.reason.clone(),
    }
}

/// A column as what a slope is told per.
fn covariate(column: &str, step: Option<f64>) -> Covariate {
    Covariate { name: name_within(column), quantity: quantity_of(column), step }
}
