use super::*;
use crate::survival::reference::{Table, close, expected, number, numbers};
use proptest::prelude::*;
use serde_json::Value as Json;

const ALL: [(&str, TimeDistribution); 6] = [
    ("weibull", TimeDistribution::Weibull),
    ("exponential", TimeDistribution::Exponential),
    ("lognormal", TimeDistribution::LogNormal),
    ("loglogistic", TimeDistribution::LogLogistic),
    ("gaussian", TimeDistribution::Normal),
    ("logistic", TimeDistribution::Logistic),
];

fn with_intercept(table: &Table, names: &[&str], rows: usize) -> Design {
    names.iter().fold(Design::new(rows).intercept().unwrap(), |design, name| {
        design.numeric(name, &table.numbers(name)).unwrap()
    })
}

fn covariance_close(what: &str, found: &DMatrix<f64>, expected: &Json, factor: f64, relative: f64) {
    let rows = expected.as_array().unwrap();
    for (i, row) in rows.iter().enumerate() {
        for (j, value) in numbers(row).into_iter().enumerate() {
            close(&format!("{what} {i} {j}"), found[(i, j)], value * factor, relative);
        }
    }
}

/// Ovarian cancer trial (Edmunson et al. 1979), R survival 3.5.3 `survreg`.
#[test]
fn agrees_with_r_on_right_censored_times() {
    let (results, relative) = expected("ovarian_aft");
    let table = Table::read("ovarian_aft");
    let times = table.numbers("futime");
    let design = with_intercept(&table, &["age", "ecog", "rx"], times.len());
    let censored = CensoredTimes::right_censored(&times, &table.flags("fustat")).unwrap();
    for (key, distribution) in &ALL[..4] {
        let r = &results[key];
        let fit =
            AcceleratedFailureTime::fit(&design, &censored, *distribution, None, None).unwrap();
        for term in fit.estimates.terms() {
            let name = if term.name == crate::INTERCEPT { "(Intercept)" } else { &term.name };
            close(name, term.coefficient.estimate, number(&r["coef"][name]), relative);
            close(name, term.coefficient.std_error, number(&r["se"][name]), relative);
            close(name, term.coefficient.statistic(), number(&r["z"][name]), relative);
        }
        close(key, fit.scale, number(&r["scale"]), relative);
        close(key, fit.log_scale.estimate, number(&r["log_scale"]), relative);
        if let Some(error) = r["se"]["Log(scale)"].as_f64() {
            close(key, fit.log_scale.std_error, error, relative);
        }
        covariance_close(key, fit.joint_covariance(), &r["vcov"], 1.0, relative);
        close(key, fit.estimates.log_likelihood(), number(&r["loglik"]), relative);
        let null = Design::new(times.len()).intercept().unwrap();
        let null =
            AcceleratedFailureTime::fit(&null, &censored, *distribution, None, None).unwrap();
        close(key, null.estimates.log_likelihood(), number(&r["loglik_null"]), relative);
        for (i, lp) in numbers(&r["linear_predictor"]).into_iter().enumerate() {
            let at = |name: &str| number(&r["newdata"][name][i]);
            let row = [1.0, at("age"), at("ecog"), at("rx")];
            close(key, fit.estimates.predict(&[row]).unwrap()[0].estimate, lp, relative);
            for (j, p) in numbers(&r["quantile_p"]).into_iter().enumerate() {
                let found = fit.quantile(&row, p).unwrap();
                close("quantile", found.estimate, number(&r["quantiles"][i][j]), relative);
                close("error", found.std_error, number(&r["quantiles_se"][i][j]), relative);
                let back = fit.survival(&row, &[found.estimate]).unwrap()[0];
                close("survival", back.survival, 1.0 - p, 1e-10);
                // dS = −f dt, with f from the slope of S.
                let h = 1e-5 * found.estimate;
                let ends = [found.estimate - h, found.estimate + h];
                let ends = fit.survival(&row, &ends).unwrap();
                let density = (ends[0].survival - ends[1].survival) / (2.0 * h);
                close("survival error", back.std_error, density * found.std_error, 1e-6);
            }
        }
    }
}

/// All kinds of censoring, weights and clusters; R survival 3.5.3 (`make/survival.R`). R's clustered
/// covariance has no small-sample factor.
#[test]
fn agrees_with_r_on_interval_censored_times() {
    let (results, relative) = expected("interval_times");
    let table = Table::read("interval_times");
    let (lower, upper) = (table.numbers("lower"), table.numbers("upper"));
    let times = CensoredTimes::intervals(&lower, &upper).unwrap();
    let design = with_intercept(&table, &["x"], lower.len());
    let (weight, cluster) = (table.numbers("weight"), table.labels("cluster"));
    for (key, distribution) in ALL {
        let r = &results["survreg"][key];
        let fit = |weights: Option<&[f64]>, clusters: Option<&[usize]>| {
            AcceleratedFailureTime::fit(&design, &times, distribution, weights, clusters).unwrap()
        };
        let plain = fit(None, None);
        for (found, expected) in plain.estimates.coefficients().iter().zip(numbers(&r["coef"])) {
            close(key, *found, expected, relative);
        }
        close(key, plain.scale, number(&r["scale"]), relative);
        close(key, plain.estimates.log_likelihood(), number(&r["loglik"]), relative);
        covariance_close(key, plain.joint_covariance(), &r["vcov"], 1.0, relative);
        let weighted = fit(Some(&weight), None);
        let expected = numbers(&r["weighted_coef"]);
        for (found, expected) in weighted.estimates.coefficients().iter().zip(expected) {
            close(key, *found, expected, relative);
        }
        close(key, weighted.scale, number(&r["weighted_scale"]), relative);
        let clustered = fit(None, Some(&cluster));
        assert_eq!(clustered.clusters, Some(14));
        let factor = 14.0 / 13.0;
        covariance_close(key, clustered.joint_covariance(), &r["cluster_vcov"], factor, relative);
    }
}

/// Score and information are the differences of the log-likelihood, for every distribution and
/// every kind of knowledge; the score is zero at the maximum.
#[test]
fn derivatives_match_finite_differences() {
    let x = [0.3, -1.2, 0.8, 1.5, -0.4, 0.9, -0.7, 0.1];
    let knowledge = [
        Knowledge::Exact,
        Knowledge::Above,
        Knowledge::Below,
        Knowledge::Between,
        Knowledge::Exact,
        Knowledge::Between,
        Knowledge::Exact,
        Knowledge::Exact,
    ];
    for standard in [Standard::SmallestExtreme, Standard::Normal, Standard::Logistic] {
        for fixed in [None, Some(1.2)] {
            let likelihood = Likelihood {
                standard,
                rows: DMatrix::from_fn(8, 2, |row, column| if column == 0 { 1.0 } else { x[row] }),
                middle: vec![0.5, -0.3, 1.1, 0.2, -0.8, 1.4, -1.0, 0.7],
                half_width: vec![0.0, 0.0, 0.0, 0.4, 0.0, 0.9, 0.0, 0.0],
                knowledge: knowledge.to_vec(),
                weights: vec![1.0, 2.0, 0.5, 1.0, 1.5, 1.0, 0.0, 1.0],
                fixed,
            };
            let at = DVector::from_vec(vec![-0.2, 0.3, 1.2]);
            let (score, information) = likelihood.derivatives(&at);
            let rows = (0..8).map(|row| likelihood.score(row, &at)).sum::<DVector<f64>>();
            assert!((&rows - &score).amax() < 1e-13);
            let h = 1e-5;
            for j in 0..likelihood.free() {
                let (mut up, mut down) = (at.clone(), at.clone());
                up[j] += h;
                down[j] -= h;
                let slope = (likelihood.value(&up) - likelihood.value(&down)) / (2.0 * h);
                close("score", score[j], slope, 1e-7);
                let curvature =
                    (likelihood.derivatives(&down).0 - likelihood.derivatives(&up).0) / (2.0 * h);
                for i in 0..likelihood.free() {
                    close("information", information[(i, j)], curvature[i], 1e-7);
                }
            }
            let maximum = likelihood.maximum().ok().unwrap();
            assert!(likelihood.derivatives(&maximum.parameters).0.amax() < 1e-9);
        }
    }
}

/// An interval is as good as a point once it is narrow enough, on both sides of where the code
/// takes one for the other.
#[test]
fn narrow_intervals_become_points() {
    let t = [2.0, 3.5, 4.0, 6.0, 7.5, 9.0, 12.0];
    let design = Design::new(7).intercept().unwrap();
    for (_, distribution) in ALL {
        let fit = |width: f64| {
            let lower = t.map(|t| t * (1.0 - 0.5 * width));
            let upper = t.map(|t| t * (1.0 + 0.5 * width));
            let times = CensoredTimes::intervals(&lower, &upper).unwrap();
            AcceleratedFailureTime::fit(&design, &times, distribution, None, None).unwrap()
        };
        let exact = fit(0.0);
        for width in [1e-3, 1e-4, 2e-5, 5e-6, 1e-9] {
            let near = fit(width);
            let tolerance = 2.0 * width * width + 1e-9;
            close(
                "location",
                near.estimates.coefficients()[0],
                exact.estimates.coefficients()[0],
                tolerance,
            );
            close("scale", near.scale, exact.scale, tolerance);
            let (a, b) = (near.joint_covariance()[(0, 0)], exact.joint_covariance()[(0, 0)]);
            close("variance", a, b, tolerance);
        }
    }
}

#[test]
fn hard_input_gives_errors_or_answers() {
    let inf = f64::INFINITY;
    let fit = |x: &[f64], lower: &[f64], upper: &[f64]| {
        let design = Design::new(x.len()).intercept()?.numeric("x", x)?;
        let times = CensoredTimes::intervals(lower, upper)?;
        AcceleratedFailureTime::fit(&design, &times, TimeDistribution::Weibull, None, None)
    };
    let x = [1.0, 2.0, 3.0, 4.0];
    let t = [1.0, 3.0, 2.0, 5.0];
    let error = |lower: &[f64], upper: &[f64]| fit(&x, lower, upper).unwrap_err();
    assert!(matches!(CensoredTimes::intervals(&[], &[]).unwrap_err(), StatsError::Empty { .. }));
    assert_eq!(error(&t, &[inf; 4]), StatsError::AllCensored { rows: 4 });
    assert_eq!(error(&[-inf; 4], &t), StatsError::AllCensored { rows: 4 });
    assert!(matches!(error(&[-inf; 4], &[inf; 4]), StatsError::CrossedBounds { row: 0, .. }));
    assert!(matches!(error(&[1.0, 4.0, 1.0, 1.0], &t), StatsError::CrossedBounds { row: 1, .. }));
    assert!(matches!(error(&[1.0, f64::NAN, 1.0, 1.0], &t), StatsError::NonFinite { row: 1, .. }));
    assert!(matches!(
        error(&[0.0, 3.0, 2.0, 5.0], &[0.0, 3.0, 2.0, 5.0]),
        StatsError::NotPositive { row: 0, .. }
    ));
    assert!(fit(&x, &[0.0, 3.0, 2.0, 5.0], &[1.0, 3.0, 2.0, 5.0]).is_ok());
    // A line through all logarithms; one outcome throughout; two rows.
    let line = x.map(f64::exp);
    assert_eq!(error(&line, &line), StatsError::ExactFit);
    assert_eq!(error(&[7.0; 4], &[7.0; 4]), StatsError::ExactFit);
    assert!(matches!(
        fit(&x[..2], &t[..2], &t[..2]).unwrap_err(),
        StatsError::TooFewRows { needed: 3, found: 2, .. }
    ));
    // The intervals have a line in common, so the scale runs to zero.
    assert_eq!(error(&[1.0; 4], &[9.0; 4]), StatsError::ExactFit);
    assert!(matches!(fit(&[3.0; 4], &t, &t).unwrap_err(), StatsError::ConstantColumn { .. }));
    // Whoever has x is only known to be later: its coefficient is infinite.
    assert_eq!(
        fit(&[0.0, 0.0, 0.0, 1.0], &t, &[1.0, 3.0, 2.0, inf]).unwrap_err(),
        StatsError::NoMaximum { term: "x".into() }
    );
    // Before 1 and after 5, and no more: the wider, the likelier.
    let outside = fit(&[0.0, 1.0, 0.0, 1.0], &[-inf, -inf, 5.0, 5.0], &[1.0, 1.0, inf, inf]);
    assert_eq!(outside.unwrap_err(), StatsError::NoMaximum { term: "the scale".into() });
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn order_scale_and_copies_do_not_matter(
        data in prop::collection::vec((1.0..20.0_f64, 0..5_u8, 0.1..3.0_f64, -1.0..1.0_f64), 8..25),
        which in 0..6_usize,
    ) {
        let distribution = ALL[which].1;
        let fit = |rows: &[(f64, f64, f64)], weights: Option<&[f64]>| {
            let x: Vec<f64> = rows.iter().map(|r| r.2).collect();
            let lower: Vec<f64> = rows.iter().map(|r| r.0).collect();
            let upper: Vec<f64> = rows.iter().map(|r| r.1).collect();
            let design = Design::new(rows.len()).intercept()?.numeric("x", &x)?;
            let times = CensoredTimes::intervals(&lower, &upper)?;
            AcceleratedFailureTime::fit(&design, &times, distribution, weights, None)
        };
        let rows: Vec<(f64, f64, f64)> = data
            .iter()
            .map(|&(t, kind, width, x)| match kind {
                0 => (t, f64::INFINITY, x),
                1 => (f64::NEG_INFINITY, t, x),
                2 => (t, t + width, x),
                _ => (t, t, x),
            })
            .collect();
        let Ok(whole) = fit(&rows, None) else { return Ok(()) };
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-6 * a.abs().max(1e-3);
        let coefficients = whole.estimates.coefficients();
        let mut turned = rows.clone();
        turned.reverse();
        let turned = fit(&turned, None).unwrap();
        prop_assert!(near(coefficients[1], turned.estimates.coefficients()[1]));
        prop_assert!(near(whole.scale, turned.scale));

        let double: Vec<_> = rows.iter().chain(&rows).copied().collect();
        let halved = fit(&double, Some(&vec![0.5; double.len()])).unwrap();
        for (a, b) in whole.joint_covariance().iter().zip(halved.joint_covariance().iter()) {
            prop_assert!((a - b).abs() <= 1e-6 * whole.joint_covariance().amax(), "{a} {b}");
        }

        // Another unit of time and of the covariate.
        let moved: Vec<_> =
            rows.iter().map(|r| (r.0 * 1e6, r.1 * 1e6, 1e9 * r.2 + 2e9)).collect();
        let moved = fit(&moved, None).unwrap();
        let stretch = if distribution.of_logarithm() { 1.0 } else { 1e6 };
        prop_assert!(near(coefficients[1], moved.estimates.coefficients()[1] * 1e9 / stretch));
        if distribution != TimeDistribution::Exponential {
            prop_assert!(near(whole.scale, moved.scale / stretch));
        }
    }
}
