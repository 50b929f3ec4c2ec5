//! Models in words: how something was fitted, what a term stands for, what is doubtful.

use study::result::driver::{CookSet, Driver, DriverEffect, JointModel};
use study::result::{Model, StudyResult};

use crate::names::{name_of, name_within};

/// Checks whose p value is below this are told as a doubt.
const DOUBTED_BELOW: f64 = 0.05;

/// How something was fitted, in a word or two.
pub(crate) fn method(model: Option<&Model>) -> String {
    match model.map(|model| model.name.as_str()) {
        None => "no model".into(),
        Some("least-squares") => "least squares".into(),
        Some("censored-gaussian") => "censored Gaussian".into(),
        Some("scale-gaussian") => "censored Gaussian, scatter by side".into(),
        Some("mixed") => "random intercepts".into(),
        Some("ordinal") => "proportional odds".into(),
        Some(other) => other.replace('-', " "),
    }
}

/// The outcome of a driver, with the cooks that it is asked of.
pub(crate) fn outcome_of(driver: &Driver) -> String {
    name_of(&driver.outcome)
        + match driver.cooks {
            CookSet::All => "",
            CookSet::Stalled => ", stalled cooks",
        }
}

/// What the effect of a term is the effect of: `wrap: foil against none`.
pub(crate) fn term(effect: &DriverEffect, base: Option<&str>) -> String {
    match effect.term.split_once('[') {
        Some((column, level)) => {
            let level = level.trim_end_matches(']');
            let against = base.map_or(String::new(), |base| format!(" against {base}"));
            format!("{}: {level}{against}", name_within(column))
        }
        None => name_within(&effect.term),
    }
}

/// Sentences on the joint models: whether cooks stalled, residuals, cooks that weigh much.
pub(crate) fn model_checks(study: &StudyResult) -> Vec<String> {
    let whether = study.whether_stalled.iter().map(|whether| match &whether.reason {
        Some(reason) => format!("Whether a cook stalls at all: not estimated; {reason}."),
        None => format!(
            "Whether a cook stalls at all: {} of {} did; how weight and pit bear on it stands \
             in study.json, in percentage points{}.",
            whether.stalled,
            whether.n,
            whether.notes.iter().fold(String::new(), |said, note| said + "; " + note)
        ),
    });
    whether.chain(study.drivers.iter().flat_map(|own| of_driver(own, &own.joint))).collect()
}

fn of_driver(driver: &Driver, joint: &JointModel) -> Vec<String> {
    let outcome = outcome_of(driver);
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
    let left_out =
        driver.notes.iter().filter_map(|note| note.strip_prefix("`mixed` is left out: "));
    sentences.extend(left_out.map(|because| {
        format!(
            "{outcome}: no model with random intercepts of fire and pit stands beside; {because}."
        )
    }));
    sentences
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_model_is_called_by_its_own_name() {
        let named = |name: &str| method(Some(&crate::samples::model(name)));
        assert_eq!(named("least-squares"), "least squares");
        assert_eq!(named("censored-gaussian"), "censored Gaussian");
        assert_eq!(named("fixed-effects"), "fixed effects");
        assert_eq!(named("logistic"), "logistic");
        assert_eq!(method(None), "no model");
    }
}
