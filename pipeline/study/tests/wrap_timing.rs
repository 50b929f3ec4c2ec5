//! Wrap timing against counterfactual truth: a short run of `examples/counterfactual.rs`, whose long
//! run is in `docs/wrap-timing.md`.

#[path = "counterfactual/mod.rs"]
mod counterfactual;

use counterfactual::{Scenario, restricted_mean, season};

/// The mean over ten seasons lies within three of its own standard errors of the truth, where the
/// naive comparison lies beyond.
#[test]
fn the_weighted_estimate_is_near_the_truth_and_the_naive_one_is_not() {
    let seasons: Vec<_> =
        (1_000..1_010).map(|seed| season(Scenario::Effect, seed).unwrap()).collect();
    let judged: Vec<_> = seasons.iter().filter(|season| season.horizon_min > 0.0).collect();
    assert!(judged.len() >= 8, "{}", judged.len());
    let off = |of: &dyn Fn(&counterfactual::SeasonResult) -> f64| {
        let values: Vec<f64> = judged
            .iter()
            .map(|season| {
                let mean = |arm: usize| {
                    let times = seasons.iter().flat_map(|s| s.truth[arm].iter().copied());
                    restricted_mean(times, season.horizon_min)
                };
                of(season) - (mean(0) - mean(1))
            })
            .collect();
        let error =
            stats::describe::standard_deviation(&values).unwrap() / (values.len() as f64).sqrt();
        (stats::describe::mean(&values).unwrap(), error)
    };
    let (weighted, error) = off(&|season| season.weighted.0);
    let (naive, naive_error) = off(&|season| season.naive);
    assert!(weighted.abs() < 3.0 * error, "weighted {weighted} ± {error}");
    assert!(naive.abs() > 3.0 * naive_error, "naive {naive} ± {naive_error}");
    assert!(naive.abs() > weighted.abs(), "naive {naive}, weighted {weighted}");
}

#[test]
fn a_season_is_judged_the_same_every_time() {
    let first = season(Scenario::Null, 5).unwrap();
    assert_eq!(first, season(Scenario::Null, 5).unwrap());
    assert_eq!(first.truth, [Vec::<u16>::new(), Vec::new()]);
}
