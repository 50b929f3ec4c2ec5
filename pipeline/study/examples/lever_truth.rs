//! Judges the other levers against the simulator's truth.
//!
//! `lever_truth SEASONS FIRES` prints the table of `docs/levers.md`.

#[path = "../tests/lever_truth/mod.rs"]
mod lever_truth;

use lever_truth::counterfactual::{Failure, restricted_mean};
use lever_truth::{Scenario, SeasonResult, season};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [seasons, fires] = words.as_slice() else {
        return Err("usage: lever_truth SEASONS FIRES".into());
    };
    let (seasons, fires): (u64, usize) = (seasons.parse()?, fires.parse()?);
    println!(
        "| what is done | cooks a season | refused | truth | estimate: mean, bias (± error) | 95 % covers | \
         naive |\n|---|---|---|---|---|---|---|"
    );
    for scenario in Scenario::ALL {
        let found = (0..seasons)
            .map(|seed| season(scenario, seed, fires))
            .collect::<Result<Vec<SeasonResult>, Failure>>()
            .map_err(|failure| format!("{}: {failure:?}", scenario.name()))?;
        per_dose(scenario, &found);
        if scenario == Scenario::Raise {
            strategies(&found);
        }
    }
    Ok(())
}

/// An estimate with the ends of its interval, the naive figure, and the truth.
type Judged = ((f64, f64, f64), Option<f64>, f64);

fn line(name: &str, cooks: f64, all: usize, judged: &[Judged]) {
    let refused = all - judged.len();
    if judged.is_empty() {
        println!("| {name} | – | {refused} of {all} | – | – | – | – |");
        return;
    }
    let mean = |values: &[f64]| stats::describe::mean(values).unwrap_or(f64::NAN);
    let truth = mean(&judged.iter().map(|(_, _, truth)| *truth).collect::<Vec<f64>>());
    let off: Vec<f64> = judged.iter().map(|((estimate, ..), _, truth)| estimate - truth).collect();
    let error =
        stats::describe::standard_deviation(&off).unwrap_or(f64::NAN) / (off.len() as f64).sqrt();
    let covered =
        judged.iter().filter(|((_, lo, hi), _, truth)| lo <= truth && truth <= hi).count();
    let naive = mean(&judged.iter().filter_map(|(_, naive, _)| *naive).collect::<Vec<f64>>());
    println!(
        "| {name} | {cooks:.0} | {refused} of {all} | {truth:+.1} | {:+.1}, {:+.1} (± {error:.1}) | {covered} of {} \
         | {naive:+.1} |",
        truth + mean(&off),
        mean(&off),
        judged.len(),
    );
}

fn per_dose(scenario: Scenario, found: &[SeasonResult]) {
    let sum = |of: &dyn Fn(&SeasonResult) -> f64| found.iter().map(of).sum::<f64>();
    let truth = sum(&|season| season.truth_min) / sum(&|season| season.truth_doses);
    let judged: Vec<Judged> = found
        .iter()
        .filter_map(|season| {
            let effect = season.lever.per_dose_min?;
            Some(((effect.estimate, effect.lo, effect.hi), season.lever.naive_min, truth))
        })
        .collect();
    let cooks = sum(&|season| season.lever.n as f64) / found.len() as f64;
    line(&format!("{}, min", scenario.name()), cooks, found.len(), &judged);
}

fn strategies(found: &[SeasonResult]) {
    let truth = |horizon_min: f64| {
        let mean = |arm: usize| {
            let times =
                found.iter().flat_map(|season| season.truth_strategies[arm].iter().copied());
            restricted_mean(times, horizon_min)
        };
        mean(0) - mean(1)
    };
    let compared = || found.iter().filter_map(|season| season.lever.strategies.as_ref());
    let judged: Vec<Judged> = compared()
        .map(|found| {
            let estimate = (found.difference_min, found.lo, found.hi);
            (estimate, found.naive_min, truth(found.horizon_min))
        })
        .collect();
    let cooks = compared().map(|found| found.eligible as f64).sum::<f64>();
    let name = "raised within an hour of 68 °C, against never, min";
    line(name, cooks / judged.len().max(1) as f64, found.len(), &judged);
}
