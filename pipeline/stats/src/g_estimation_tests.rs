use super::*;
use crate::reference::{Table, close, expected};
use proptest::prelude::*;

/// Weight gain after quitting smoking: Hernán & Robins (2020), Causal Inference: What If, section 14.5
/// (there 3.446 kg, 95 % 2.5 to 4.5 from a grid; those two figures are from memory). Further digits and
/// standard errors: Python, see the set's JSON.
#[test]
fn agrees_with_the_book_and_with_estimating_equations_differentiated_numerically() {
    const SET: &str = "nhefs_g_estimation";
    let (results, relative) = expected(SET);
    let table = Table::read(SET);
    let rows = table.rows();
    let mut history = Design::new(rows).intercept().unwrap();
    for name in [
        "sex",
        "race",
        "age",
        "education1",
        "education2",
        "education3",
        "education4",
        "smokeintensity",
        "smokeyrs",
        "exercise1",
        "exercise2",
        "active1",
        "active2",
        "wt71",
    ] {
        let values = table.numbers(name);
        history = history.numeric(name, &values).unwrap();
        if ["age", "smokeintensity", "smokeyrs", "wt71"].contains(&name) {
            let squares: Vec<f64> = values.iter().map(|value| value * value).collect();
            history = history.numeric(&format!("{name}²"), &squares).unwrap();
        }
    }
    let dose = table.numbers("qsmk");
    let given: Vec<bool> = dose.iter().map(|dose| *dose > 0.5).collect();
    let (outcome, weights) = (table.numbers("gain_kg"), table.numbers("weight"));
    let fit = |clusters: &[usize]| {
        let weights = Some(weights.as_slice());
        let doses = Doses { given: &given, dose: &dose, outcome: &outcome, weights, clusters };
        GEstimation::fit(&history, &doses).unwrap()
    };
    let each: Vec<usize> = (0..rows).collect();
    let found = fit(&each);
    let figure = |name: &str| results[name].as_f64().unwrap();
    close("effect", found.effect.estimate, figure("effect"), relative);
    // Every row its own cluster: the sandwich times √(n/(n − 1)).
    let small = (rows as f64 / (rows as f64 - 1.0)).sqrt();
    close("error", found.effect.std_error, figure("sandwich_se") * small, relative);
    let clusters: Vec<usize> = each.iter().map(|row| row % 97).collect();
    let clustered = fit(&clusters);
    close("clustered", clustered.effect.std_error, figure("clustered_se"), relative);
    assert_eq!((clustered.clusters, clustered.effect.df), (97, 96.0));
    assert_eq!(found.given, 403);
    assert!((found.effect.estimate - 3.446).abs() < 5e-4);
    let interval = found.effect.interval(0.95).unwrap();
    assert!((interval.lo - 2.5).abs() < 0.06 && (interval.hi - 4.5).abs() < 0.15);
}

#[test]
fn what_cannot_be_estimated_is_named() {
    let given = [true, false, true, false, true, false];
    let history = Design::new(6).intercept().unwrap();
    let y = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    let clusters: Vec<usize> = (0..6).collect();
    let doses = Doses { given: &given, dose: &y, outcome: &y, weights: None, clusters: &clusters };
    let same = Doses { dose: &[2.0; 6], ..doses };
    assert!(matches!(
        GEstimation::fit(&history, &same),
        Err(StatsError::BadArgument { name: "the dose", .. })
    ));
    let none = Doses { given: &[false; 6], ..doses };
    assert!(matches!(GEstimation::fit(&history, &none), Err(StatsError::SameOutcome { .. })));
    let one = Doses { clusters: &[7; 6], ..doses };
    assert!(matches!(GEstimation::fit(&history, &one), Err(StatsError::TooFewClusters { .. })));
    let bare = Design::new(6).numeric("x", &y).unwrap();
    assert!(GEstimation::fit(&bare, &doses).is_err());
}

proptest! {
    /// Whatever the history explains linearly of the outcome changes nothing, and a dose in other
    /// units gives the effect in those.
    #[test]
    fn it_is_doubly_robust_and_scales(
        x in prop::collection::vec(-3.0..3.0_f64, 60),
        noise in prop::collection::vec(-1.0..1.0_f64, 60),
        slope in -50.0..50.0_f64,
        unit in 0.1..10.0_f64,
    ) {
        // Whether it is given goes with x, but is not decided by it.
        let given: Vec<bool> =
            x.iter().enumerate().map(|(row, x)| x + f64::from((row * 7 % 11) as u8) > 5.0).collect();
        prop_assume!(given.iter().filter(|given| **given).count() > 10);
        prop_assume!(given.iter().filter(|given| !**given).count() > 10);
        let dose: Vec<f64> = given.iter().map(|given| f64::from(u8::from(*given))).collect();
        let clusters: Vec<usize> = (0..60).map(|row| row / 3).collect();
        let history = Design::new(60).intercept().unwrap().numeric("x", &x).unwrap();
        let fit = |dose: &[f64], outcome: &[f64]| {
            let doses =
                Doses { given: &given, dose, outcome, weights: None, clusters: &clusters };
            GEstimation::fit(&history, &doses)
        };
        let plain: Vec<f64> = noise.iter().zip(&dose).map(|(e, d)| 4.0 * d + e).collect();
        let Ok(first) = fit(&dose, &plain) else { return Ok(()) };
        let moved: Vec<f64> = plain.iter().zip(&x).map(|(y, x)| 100.0 + y + slope * x).collect();
        let second = fit(&dose, &moved).unwrap();
        prop_assert!((first.effect.estimate - second.effect.estimate).abs() < 1e-6);
        prop_assert!((first.effect.std_error - second.effect.std_error).abs() < 1e-6);
        let scaled: Vec<f64> = dose.iter().map(|dose| dose * unit).collect();
        let third = fit(&scaled, &plain).unwrap();
        prop_assert!((first.effect.estimate / unit - third.effect.estimate).abs() < 1e-6);
    }
}
