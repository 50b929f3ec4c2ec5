//! Time-varying Cox regression: how finishing goes with what was done so far. An association.

use super::steps::{STEP_MIN, Step};
use crate::analysis::wrap_timing::cooks::{Cook, End};
use crate::regression::model_terms;
use crate::result::{Model, finite};
use stats::{Cox, CoxErrors, Design, Followup, StatsError};
use std::collections::BTreeSet;

/// What was known of a cook when the clock started.
type AtZero = fn(&Cook<'_>) -> f64;

/// Doses so far as the exposure, beside what was known when the clock started: weight, heating
/// coefficient and pit. Nothing that lies after the first dose may be adjusted for, since part of
/// what a dose does goes that way.
pub(super) fn model(cooks: &[Cook<'_>], steps: &[Step]) -> Result<Model, StatsError> {
    let end = |step: &Step| (step.minute + STEP_MIN).min(cooks[step.cook].end_min);
    let start: Vec<f64> = steps.iter().map(|step| step.minute).collect();
    let stop: Vec<f64> = steps.iter().map(end).collect();
    let event: Vec<bool> = steps
        .iter()
        .map(|step| {
            let cook = &cooks[step.cook];
            cook.end == End::Finish && step.minute + STEP_MIN >= cook.end_min
        })
        .collect();
    let of = |value: &dyn Fn(&Step) -> f64| steps.iter().map(value).collect::<Vec<f64>>();
    let mut design = Design::new(steps.len()).numeric("doses_so_far", &of(&|step| step.so_far))?;
    let adjusters: [(&str, AtZero); 3] = [
        ("weight_kg", |cook| cook.weight_kg),
        ("k_per_h at clock zero", |cook| cook.course.at(0.0).k_per_h),
        ("pit_c at clock zero", |cook| cook.course.at(0.0).pit_c),
    ];
    for (name, value) in adjusters {
        let values = of(&|step| value(&cooks[step.cook]));
        if values.iter().any(|value| *value != values[0]) {
            design = design.numeric(name, &values)?;
        }
    }
    let fires: Vec<usize> = steps.iter().map(|step| cooks[step.cook].fire).collect();
    let followup = Followup::start_stop(&start, &stop, &event)?;
    let fit = Cox::fit(&design, &followup, CoxErrors::Clustered(&fires))?;
    Ok(Model {
        name: "cox".into(),
        method: format!(
            "proportional hazards on the study clock, doses up to then as time-varying exposure, Efron's \
             ties, standard errors clustered by fire ({} fires); log hazard ratios of finishing; an \
             association, not an effect",
            fires.iter().collect::<BTreeSet<_>>().len()
        ),
        n: cooks.len(),
        events: fit.events,
        log_likelihood: finite(fit.estimates.log_likelihood()),
        residual_variance: None,
        random: Vec::new(),
        terms: model_terms(&fit.estimates)?,
    })
}
