//! Wrap timing against counterfactual truth: a short run of `examples/counterfactual.rs`, whose long
//! run is in `docs/wrap-timing.md`.

#[path = "counterfactual/mod.rs"]
mod counterfactual;

use counterfactual::{Scenario, restricted_mean, season};

/// Over ten seasons the weighted estimate takes away more than half of what the naive comparison is
/// off by; what is left is told in `docs/wrap-timing.md`.
#[test]
fn the_weighted_estimate_is_nearer_the_truth_than_the_naive_one() {
    let seasons: Vec<_> =
        (0..10).map(|place| season(Scenario::Paper, 200 * place).unwrap()).collect();
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
    assert!(naive > 3.0 * naive_error, "naive {naive} ± {naive_error}");
    assert!(2.0 * weighted.abs() < naive, "naive {naive}, weighted {weighted} ± {error}");
}

#[test]
fn a_season_is_judged_the_same_every_time() {
    let first = season(Scenario::Null, 5).unwrap();
    assert_eq!(first, season(Scenario::Null, 5).unwrap());
    assert_eq!(first.truth, [Vec::<u16>::new(), Vec::new()]);
}
