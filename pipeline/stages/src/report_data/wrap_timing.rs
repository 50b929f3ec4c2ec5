//! A comparison of wrapping strategies, as the report shows it.

use report::data::{Counted, HazardRatio, WrapAnswer, WrapArmReport, WrapTimingReport};
use study::result::wrap_timing::{WrapArm, WrapTiming};
use study::result::{Model, Term};

/// Answers in the order shown: model, term, and what they are in words.
const ANSWERS: [(&str, &str, &str); 5] = [
    ("kaplan-meier", "difference", "Naive: cooks as they turned out"),
    ("clone-censor-weight", "difference, copies not weighted", "Copies, not weighted"),
    ("clone-censor-weight", "difference", "Weighted: then the fire as this team does"),
    (
        "clone-censor-weight",
        "difference, tender pulls censored",
        "Weighted, tender pulls not counted as finishes",
    ),
    ("clone-censor-weight", "difference, set-point unchanged", "Weighted, set-point unchanged"),
];

fn term<'a>(models: &'a [Model], model: &str, term: &str) -> Option<&'a Term> {
    let model = models.iter().find(|known| known.name == model)?;
    model.terms.iter().find(|known| known.term == term)
}

pub(super) fn wrap_timing(found: &WrapTiming, models: &[Model]) -> WrapTimingReport {
    let answers = ANSWERS.iter().filter_map(|(model, name, words)| {
        let term = term(models, model, name)?;
        Some(WrapAnswer {
            name: (*words).into(),
            estimate: term.estimate?,
            lo: term.lo,
            hi: term.hi,
        })
    });
    let cox = models.iter().filter(|model| model.name.starts_with("cox"));
    let ratios = cox.flat_map(|model| &model.terms).filter_map(|term| {
        let wrapped = match term.term.strip_prefix("wrapped")? {
            "" => "wrapped".to_owned(),
            method => format!("wrapped in {}", method.trim_matches(['[', ']'])),
        };
        Some(HazardRatio {
            term: wrapped,
            ratio: term.estimate?.exp(),
            lo: term.lo?.exp(),
            hi: term.hi?.exp(),
        })
    });
    let naive_parts = found.naive.and_then(|naive| {
        let (immortal, confounding) = (found.immortal_time_min?, found.confounding_min?);
        Some([naive.estimate, immortal, confounding, found.weighted.estimate])
    });
    WrapTimingReport {
        horizon_min: found.horizon_min,
        answers: answers.collect(),
        hazard_ratios: ratios.collect(),
        naive_parts,
        setpoint_reason: found.setpoint_unchanged.reason.clone(),
        wraps_with_bump: (found.setpoint_unchanged.wraps, found.setpoint_unchanged.wraps_with_bump),
        arms: found.arms.iter().map(arm).collect(),
        decisions: found.decisions.clone(),
    }
}

fn arm(arm: &WrapArm) -> WrapArmReport {
    let weights = &arm.weights;
    let left =
        arm.left.iter().map(|left| Counted { label: left.reason.clone(), count: left.cooks });
    WrapArmReport {
        strategy: arm.strategy.clone(),
        copies: arm.copies,
        stayed: arm.stayed,
        effective: arm.effective,
        finishes: arm.finishes,
        left: left.collect(),
        probability: arm.probability,
        weights: [weights.median, weights.percentile_95, weights.percentile_99, weights.largest],
        mean_min: arm.restricted_mean_min,
        incidence: [arm.incidence.finish, arm.incidence.tender, arm.incidence.out_of_time],
        at_risk: arm.at_risk.iter().map(|at| (at.minute, at.copies, at.effective)).collect(),
    }
}
