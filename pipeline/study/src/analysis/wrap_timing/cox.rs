//! Time-varying Cox regression: how finishing goes with being wrapped. An association.

use super::cooks::{Cooks, End};
use crate::regression::model_terms;
use crate::result::{Model, finite};
use stats::{Cox, CoxErrors, Design, Followup, StatsError};
use std::collections::BTreeSet;

/// Start–stop rows on the study clock.
#[derive(Default)]
struct StartStop {
    start: Vec<f64>,
    stop: Vec<f64>,
    event: Vec<bool>,
    /// Position of the cook.
    cook: Vec<usize>,
    /// What it is wrapped in.
    method: Vec<Option<String>>,
}

fn rows(cooks: &Cooks<'_>) -> StartStop {
    let mut rows = StartStop::default();
    for (position, cook) in cooks.all.iter().enumerate() {
        let finished = cook.end == End::Finish;
        let wrap = cook.wrap.as_ref().filter(|(minute, _)| *minute < cook.end_min);
        let cut = wrap.map_or(cook.end_min, |(minute, _)| *minute);
        let method = wrap.map(|(_, method)| method.to_string());
        let before = (0.0, cut, None, finished && wrap.is_none());
        let after = wrap.map(|_| (cut, cook.end_min, method, finished));
        for (start, stop, method, event) in std::iter::once(before).chain(after) {
            rows.start.push(start);
            rows.stop.push(stop);
            rows.event.push(event);
            rows.cook.push(position);
            rows.method.push(method);
        }
    }
    rows
}

/// `cox` and, where more than one method was used, `cox-by-method`; a model that cannot be fitted
/// gives the reason instead.
pub(super) fn models(cooks: &Cooks<'_>) -> (Vec<Model>, Vec<String>) {
    let rows = rows(cooks);
    let methods: BTreeSet<&String> = rows.method.iter().flatten().collect();
    let flags = |is: &dyn Fn(&Option<String>) -> bool| -> Vec<f64> {
        rows.method.iter().map(|method| f64::from(is(method))).collect()
    };
    let wrapped = vec![("wrapped".to_owned(), flags(&Option::is_some))];
    let by_method: Vec<(String, Vec<f64>)> = methods
        .iter()
        .map(|&method| (format!("wrapped[{method}]"), flags(&|m| m.as_ref() == Some(method))))
        .collect();
    let mut wanted = vec![("cox", wrapped)];
    if methods.len() > 1 {
        wanted.push(("cox-by-method", by_method));
    }
    let (mut models, mut notes) = (Vec::new(), Vec::new());
    for (name, columns) in wanted {
        match fit(name, cooks, &rows, columns) {
            Ok(model) => models.push(model),
            Err(error) => notes.push(format!("`{name}` could not be fitted: {error}")),
        }
    }
    (models, notes)
}

fn fit(
    name: &str,
    cooks: &Cooks<'_>,
    rows: &StartStop,
    columns: Vec<(String, Vec<f64>)>,
) -> Result<Model, StatsError> {
    let mut design = Design::new(rows.cook.len());
    for (term, values) in columns {
        design = design.numeric(&term, &values)?;
    }
    for (place, adjuster) in cooks.adjusters.iter().enumerate() {
        let values: Vec<f64> =
            rows.cook.iter().map(|&cook| cooks.all[cook].adjust[place]).collect();
        design = design.numeric(adjuster, &values)?;
    }
    let fires: Vec<usize> = rows.cook.iter().map(|&cook| cooks.all[cook].fire).collect();
    let followup = Followup::start_stop(&rows.start, &rows.stop, &rows.event)?;
    let fit = Cox::fit(&design, &followup, CoxErrors::Clustered(&fires))?;
    Ok(Model {
        name: name.to_owned(),
        method: format!(
            "proportional hazards on the study clock, wrapped from the wrap on, Efron's ties, \
             standard errors clustered by fire ({} fires); log hazard ratios of finishing; an \
             association, not an effect",
            fires.iter().collect::<BTreeSet<_>>().len()
        ),
        n: cooks.all.len(),
        events: fit.events,
        log_likelihood: finite(fit.estimates.log_likelihood()),
        residual_variance: None,
        random: Vec::new(),
        terms: model_terms(&fit.estimates)?,
    })
}
