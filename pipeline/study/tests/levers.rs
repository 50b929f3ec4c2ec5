//! The other levers against the truth of the simulator: a short run of `examples/lever_truth.rs`, whose
//! long run is in `docs/levers.md`.

#[path = "lever_truth/mod.rs"]
mod lever_truth;

use lever_truth::{Scenario, SeasonResult, season};

const FIRES: usize = 60;
const SEASONS: u64 = 4;

/// Of four intervals at most one misses the truth, and over the seasons the estimate is nearer to it
/// than the naive slope. Gives the truth, min a dose.
fn check(scenario: Scenario) -> f64 {
    let seasons: Vec<SeasonResult> =
        (0..SEASONS).map(|seed| season(scenario, 100 + seed, FIRES).unwrap()).collect();
    let sum = |of: &dyn Fn(&SeasonResult) -> f64| seasons.iter().map(of).sum::<f64>();
    let truth = sum(&|season| season.truth_min) / sum(&|season| season.truth_doses);
    let effects: Vec<_> = seasons
        .iter()
        .map(|season| season.lever.per_dose_min.expect("a season of 60 fires is enough"))
        .collect();
    let covered = effects.iter().filter(|effect| effect.lo <= truth && truth <= effect.hi).count();
    let estimate = effects.iter().map(|effect| effect.estimate).sum::<f64>() / SEASONS as f64;
    let naive = sum(&|season| season.lever.naive_min.unwrap()) / SEASONS as f64;
    assert!(covered >= 3, "{scenario:?}: truth {truth}, {effects:?}");
    assert!(
        (estimate - truth).abs() < (naive - truth).abs(),
        "{scenario:?}: truth {truth}, estimate {estimate}, naive {naive}"
    );
    truth
}

#[test]
fn sprays_of_which_nothing_comes_cost_nothing() {
    assert_eq!(check(Scenario::Nothing), 0.0);
}

#[test]
fn a_mop_costs_what_the_simulator_says() {
    assert!(check(Scenario::Mop) > 0.0);
}

#[test]
fn a_raised_set_point_buys_what_the_simulator_says() {
    assert!(check(Scenario::Raise) < 0.0);
}
