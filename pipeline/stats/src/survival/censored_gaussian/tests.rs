use super::*;
use crate::reference::{Table, close_or_zero as close, expected, number, numbers};
use proptest::prelude::*;
use serde_json::Value as Json;

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

/// Ovarian cancer trial (Edmunson et al. 1979), R survival 3.5.3 `survreg` with log-normal times:
/// their logarithms are normal.
#[test]
fn agrees_with_r_on_right_censored_outcomes() {
    let (results, relative) = expected("ovarian_aft");
    let table = Table::read("ovarian_aft");
    let ln_time: Vec<f64> = table.numbers("futime").iter().map(|t| t.ln()).collect();
    let died = table.flags("fustat");
    let design = with_intercept(&table, &["age", "ecog", "rx"], ln_time.len());
    let times = CensoredTimes::right_censored(&ln_time, &died).unwrap();
    // The density of a time is that of its logarithm over the time.
    let jacobian: f64 =
        ln_time.iter().zip(&died).map(|(t, &died)| if died { *t } else { 0.0 }).sum();
    let r = &results["lognormal"];
    let fit = CensoredGaussian::fit(&design, &times, LikelihoodErrors::Model).unwrap();
    for term in fit.estimates.terms() {
        let name = if term.name == crate::INTERCEPT { "(Intercept)" } else { &term.name };
        close(name, term.coefficient.estimate, number(&r["coef"][name]), relative);
        close(name, term.coefficient.std_error, number(&r["se"][name]), relative);
        close(name, term.coefficient.statistic(), number(&r["z"][name]), relative);
    }
    close("scale", fit.sigma, number(&r["scale"]), relative);
    let log_scale_error = fit.joint_covariance[(4, 4)].sqrt();
    close("error of ln σ", log_scale_error, number(&r["se"]["Log(scale)"]), relative);
    covariance_close("vcov", &fit.joint_covariance, &r["vcov"], 1.0, relative);
    close("loglik", fit.estimates.log_likelihood() - jacobian, number(&r["loglik"]), relative);
    let alone = Design::new(ln_time.len()).intercept().unwrap();
    let alone = CensoredGaussian::fit(&alone, &times, LikelihoodErrors::Model)
        .unwrap()
        .estimates
        .log_likelihood();
    close("loglik_null", alone - jacobian, number(&r["loglik_null"]), relative);
    for (i, lp) in numbers(&r["linear_predictor"]).into_iter().enumerate() {
        let at = |name: &str| number(&r["newdata"][name][i]);
        let row = [1.0, at("age"), at("ecog"), at("rx")];
        close("lp", fit.estimates.predict(&[row]).unwrap()[0].estimate, lp, relative);
        for (j, p) in numbers(&r["quantile_p"]).into_iter().enumerate() {
            let quantile = fit.quantile(&row, p).unwrap();
            let time = quantile.estimate.exp();
            close("quantile", time, number(&r["quantiles"][i][j]), relative);
            close("error", time * quantile.std_error, number(&r["quantiles_se"][i][j]), relative);
        }
    }
}

/// All kinds of censoring, and clusters; R survival 3.5.3 (`make/survival.R`). R's clustered
/// covariance has no small-sample factor.
#[test]
fn agrees_with_r_on_interval_censored_outcomes() {
    let (results, relative) = expected("interval_times");
    let table = Table::read("interval_times");
    let (lower, upper) = (table.numbers("lower"), table.numbers("upper"));
    let ln = |bounds: &[f64]| -> Vec<f64> {
        bounds.iter().map(|&v| if v <= 0.0 { f64::NEG_INFINITY } else { v.ln() }).collect()
    };
    let design = with_intercept(&table, &["x"], lower.len());
    let cluster = table.labels("cluster");
    for (key, lower, upper) in
        [("gaussian", lower.clone(), upper.clone()), ("lognormal", ln(&lower), ln(&upper))]
    {
        let r = &results["survreg"][key];
        let times = CensoredTimes::intervals(&lower, &upper).unwrap();
        let exact = (0..lower.len()).filter(|&row| lower[row] == upper[row]);
        let jacobian: f64 =
            if key == "lognormal" { exact.map(|row| lower[row]).sum() } else { 0.0 };
        let plain = CensoredGaussian::fit(&design, &times, LikelihoodErrors::Model).unwrap();
        for (found, expected) in plain.estimates.coefficients().iter().zip(numbers(&r["coef"])) {
            close(key, *found, expected, relative);
        }
        close(key, plain.sigma, number(&r["scale"]), relative);
        close(key, plain.estimates.log_likelihood() - jacobian, number(&r["loglik"]), relative);
        covariance_close(key, &plain.joint_covariance, &r["vcov"], 1.0, relative);
        let clustered =
            CensoredGaussian::fit(&design, &times, LikelihoodErrors::Clustered(&cluster)).unwrap();
        assert_eq!(clustered.clusters, Some(14));
        let factor = 14.0 / 13.0;
        covariance_close(key, &clustered.joint_covariance, &r["cluster_vcov"], factor, relative);
    }
}

/// Score and information are the differences of the log-likelihood, for every kind of knowledge; the
/// score is zero at the maximum.
#[test]
fn derivatives_match_finite_differences() {
    let x = [0.3, -1.2, 0.8, 1.5, -0.4, 0.9, -0.7, 0.1];
    let likelihood = Likelihood {
        rows: DMatrix::from_fn(8, 2, |row, column| if column == 0 { 1.0 } else { x[row] }),
        middle: vec![0.5, -0.3, 1.1, 0.2, -0.8, 1.4, -1.0, 0.7],
        half_width: vec![0.0, 0.0, 0.0, 0.4, 0.0, 0.9, 0.0, 0.0],
        knowledge: vec![
            Knowledge::Exact,
            Knowledge::Above,
            Knowledge::Below,
            Knowledge::Between,
            Knowledge::Exact,
            Knowledge::Between,
            Knowledge::Exact,
            Knowledge::Exact,
        ],
    };
    let at = DVector::from_vec(vec![-0.2, 0.3, 1.2]);
    let (score, information) = likelihood.derivatives(&at);
    let rows = (0..8).map(|row| likelihood.score(row, &at)).sum::<DVector<f64>>();
    assert!((&rows - &score).amax() < 1e-13);
    let h = 1e-5;
    for j in 0..3 {
        let (mut up, mut down) = (at.clone(), at.clone());
        up[j] += h;
        down[j] -= h;
        let slope = (likelihood.value(&up) - likelihood.value(&down)) / (2.0 * h);
        close("score", score[j], slope, 1e-7);
        let curvature =
            (likelihood.derivatives(&down).0 - likelihood.derivatives(&up).0) / (2.0 * h);
        for i in 0..3 {
            close("information", information[(i, j)], curvature[i], 1e-7);
        }
    }
    let maximum = likelihood.maximum().ok().unwrap();
    assert!(likelihood.derivatives(&maximum.parameters).0.amax() < 1e-9);
}

/// An interval is as good as a point once it is narrow enough, on both sides of where the code
/// takes one for the other.
#[test]
fn narrow_intervals_become_points() {
    let t = [2.0, 3.5, 4.0, 6.0, 7.5, 9.0, 12.0];
    let design = Design::new(7).intercept().unwrap();
    let fit = |width: f64| {
        let lower = t.map(|t| t * (1.0 - 0.5 * width));
        let upper = t.map(|t| t * (1.0 + 0.5 * width));
        let times = CensoredTimes::intervals(&lower, &upper).unwrap();
        CensoredGaussian::fit(&design, &times, LikelihoodErrors::Model).unwrap()
    };
    let exact = fit(0.0);
    for width in [1e-3, 1e-4, 2e-5, 5e-6, 1e-9] {
        let near = fit(width);
        let tolerance = 2.0 * width * width + 1e-9;
        let location = |fit: &CensoredGaussian| fit.estimates.coefficients()[0];
        close("location", location(&near), location(&exact), tolerance);
        close("scale", near.sigma, exact.sigma, tolerance);
        let variance = |fit: &CensoredGaussian| fit.joint_covariance[(0, 0)];
        close("variance", variance(&near), variance(&exact), tolerance);
    }
}

#[test]
fn hard_input_gives_errors_or_answers() {
    let inf = f64::INFINITY;
    let fit = |x: &[f64], lower: &[f64], upper: &[f64]| {
        let design = Design::new(x.len()).intercept()?.numeric("x", x)?;
        let times = CensoredTimes::intervals(lower, upper)?;
        CensoredGaussian::fit(&design, &times, LikelihoodErrors::Model)
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
    // A line through all outcomes; one outcome throughout; two rows.
    assert_eq!(error(&x, &x), StatsError::ExactFit);
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
    fn order_and_scale_do_not_matter(
        data in prop::collection::vec((1.0..20.0_f64, 0..5_u8, 0.1..3.0_f64, -1.0..1.0_f64), 8..25),
    ) {
        let fit = |rows: &[(f64, f64, f64)]| {
            let x: Vec<f64> = rows.iter().map(|r| r.2).collect();
            let lower: Vec<f64> = rows.iter().map(|r| r.0).collect();
            let upper: Vec<f64> = rows.iter().map(|r| r.1).collect();
            let design = Design::new(rows.len()).intercept()?.numeric("x", &x)?;
            let times = CensoredTimes::intervals(&lower, &upper)?;
            CensoredGaussian::fit(&design, &times, LikelihoodErrors::Model)
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
        let Ok(whole) = fit(&rows) else { return Ok(()) };
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-6 * a.abs().max(1e-3);
        let coefficients = whole.estimates.coefficients();
        let mut turned = rows.clone();
        turned.reverse();
        let turned = fit(&turned).unwrap();
        prop_assert!(near(coefficients[1], turned.estimates.coefficients()[1]));
        prop_assert!(near(whole.sigma, turned.sigma));

        // Another unit of time and of the covariate.
        let moved: Vec<_> =
            rows.iter().map(|r| (r.0 * 1e6, r.1 * 1e6, 1e9 * r.2 + 2e9)).collect();
        let moved = fit(&moved).unwrap();
        prop_assert!(near(coefficients[1], moved.estimates.coefficients()[1] * 1e9 / 1e6));
        prop_assert!(near(whole.sigma, moved.sigma / 1e6));
    }
}
