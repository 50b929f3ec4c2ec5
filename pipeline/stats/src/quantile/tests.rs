use super::*;
use crate::Value;
use crate::reference::{near as close, parsed as numbers, table, whole as expected};
use proptest::prelude::*;
use serde_json::Value as Json;

fn list(value: &Json) -> Vec<f64> {
    match value {
        Json::Array(values) => values.iter().map(|v| v.as_f64().unwrap()).collect(),
        Json::Object(values) => values.values().map(|v| v.as_f64().unwrap()).collect(),
        _ => panic!("neither list nor object"),
    }
}

fn engel() -> (Design, Vec<f64>) {
    let table = table("engel");
    let income = numbers(&table["income"]);
    let design = Design::new(income.len()).intercept().unwrap().numeric("income", &income).unwrap();
    (design, numbers(&table["foodexp"]))
}

/// quantreg 5.94, R 4.2.2; data of Koenker & Bassett (1982): five quantiles, two kinds of standard
/// errors, rank-inversion intervals.
#[test]
fn agrees_with_quantreg_on_engel() {
    let (design, y) = engel();
    let file = expected("engel");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    for r in file["results"].as_object().unwrap().values() {
        let tau = r["tau"].as_f64().unwrap();
        let identical = QuantileErrors::Identical;
        let fit = QuantileRegression::fit(&design, &y, tau, identical).unwrap();
        let loss = r["check_loss_total"].as_f64().unwrap();
        close("check loss", fit.check_loss, loss, relative);
        assert!(fit.unique);
        for (found, expected) in fit.estimates.coefficients().iter().zip(list(&r["coef"])) {
            close("coefficient", *found, expected, relative);
        }
        for (key, kind) in [("se_iid", identical), ("se_nid", QuantileErrors::Sandwich)] {
            let fit = QuantileRegression::fit(&design, &y, tau, kind).unwrap();
            for (found, expected) in fit.estimates.terms().iter().zip(list(&r[key])) {
                close(key, found.coefficient.std_error, expected, relative);
            }
            assert_eq!(fit.estimates.df(), 233.0);
        }
        let intervals = QuantileRegression::rank_intervals(&design, &y, tau, 0.9).unwrap();
        let lower = list(&r["rank_inversion_iid_ci90_lower"]);
        let upper = list(&r["rank_inversion_iid_ci90_upper"]);
        for ((found, lower), upper) in intervals.iter().zip(lower).zip(upper) {
            close("lower", found.lo, lower, relative);
            close("upper", found.hi, upper, relative);
        }
    }
}

/// quantreg 5.94 with several terms; script `make/quantile.R`.
#[test]
fn agrees_with_quantreg_on_several_terms() {
    let table = table("mixed_unbalanced");
    let kind: Vec<&str> = table["kind"].iter().map(String::as_str).collect();
    let y = numbers(&table["y"]);
    let design = Design::new(y.len())
        .intercept()
        .unwrap()
        .numeric("x", &numbers(&table["x"]))
        .unwrap()
        .factor("kind", &kind)
        .unwrap()
        .numeric("altitude", &numbers(&table["altitude"]))
        .unwrap();
    let file = expected("quantile");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    for key in ["several_25", "several_50", "several_90"] {
        let r = &file["results"][key];
        let tau = r["tau"].as_f64().unwrap();
        for (se, kind) in
            [("iid_se", QuantileErrors::Identical), ("nid_se", QuantileErrors::Sandwich)]
        {
            let fit = QuantileRegression::fit(&design, &y, tau, kind).unwrap();
            close("loss", fit.check_loss, r["check_loss"].as_f64().unwrap(), relative);
            let loglik = r["loglik"].as_f64().unwrap();
            close("log-likelihood", fit.estimates.log_likelihood(), loglik, relative);
            for (position, term) in fit.estimates.terms().iter().enumerate() {
                let at = |key: &str| list(&r[key])[position];
                close(&term.name, term.coefficient.estimate, at("coef"), relative);
                close(&format!("{key} {se}"), term.coefficient.std_error, at(se), relative);
            }
        }
        let intervals = QuantileRegression::rank_intervals(&design, &y, tau, 0.9).unwrap();
        for (position, found) in intervals.iter().enumerate() {
            for (end, own, jumps) in
                [("rank_lower", found.lo, "jump_lower"), ("rank_upper", found.hi, "jump_upper")]
            {
                let at = |key: &str| list(&r[key])[position];
                // Refits at fixed values, bisected to about 1e-9.
                close(jumps, own, at(jumps), 1e-7);
                // quantreg also counts vertices at which the statistic does not jump, where its walk
                // meets one: here once in thirty ends.
                if (key, end, position) != ("several_50", "rank_lower", 1) {
                    close(end, own, at(end), relative);
                }
            }
        }
    }
}

/// Scores of 1 to 5: most rows are tied, solutions are not unique, the least loss is.
#[test]
fn ties_reach_the_least_loss() {
    let table = table("ordinal");
    let wood: Vec<&str> = table["wood"].iter().map(String::as_str).collect();
    let y = numbers(&table["score"]);
    let design = Design::new(y.len())
        .intercept()
        .unwrap()
        .numeric("x", &numbers(&table["x"]))
        .unwrap()
        .factor("wood", &wood)
        .unwrap();
    let file = expected("quantile");
    for key in ["ties_20", "ties_50", "ties_80"] {
        let r = &file["results"][key];
        let tau = r["tau"].as_f64().unwrap();
        let fit = QuantileRegression::fit(&design, &y, tau, QuantileErrors::Identical).unwrap();
        close(key, fit.check_loss, r["check_loss"].as_f64().unwrap(), 1e-8);
    }
}

/// Bootstrap standard errors against 4000 draws of R's own generator: within a tenth, each has an
/// error of about 2 percent.
#[test]
fn bootstraps_spread_as_in_r() {
    let (design, y) = engel();
    let labels: Vec<usize> = (0..y.len()).map(|row| row / 5).collect();
    let file = expected("quantile");
    for (key, kind, df) in [
        ("engel_pairs_se", QuantileErrors::PairsBootstrap { draws: 2000, seed: 4 }, 233.0),
        (
            "engel_cluster_se",
            QuantileErrors::ClusterBootstrap { labels: &labels, draws: 2000, seed: 4 },
            46.0,
        ),
    ] {
        let fit = QuantileRegression::fit(&design, &y, 0.5, kind).unwrap();
        for (term, expected) in fit.estimates.terms().iter().zip(list(&file["results"][key])) {
            let found = term.coefficient.std_error;
            assert!((found / expected - 1.0).abs() < 0.1, "{key}: {found} {expected}");
            assert_eq!(term.coefficient.df, df);
        }
        assert_eq!(QuantileRegression::fit(&design, &y, 0.5, kind).unwrap(), fit);
    }
}

/// Without terms but the intercept it is a sample quantile, and the interval runs between order
/// statistics.
#[test]
fn an_intercept_is_an_order_statistic() {
    let y = [7.0, 1.0, 3.0, 9.0, 5.0, 2.0, 8.0, 4.0, 6.0];
    let design = Design::new(9).intercept().unwrap();
    for (tau, expected) in [(0.5, 5.0), (0.2, 2.0), (0.9, 9.0)] {
        let fit = QuantileRegression::fit(&design, &y, tau, QuantileErrors::Identical).unwrap();
        close("quantile", fit.estimates.coefficients()[0], expected, 1e-12);
        assert!(fit.unique);
        assert_eq!(y[fit.met[0]], expected);
    }
    let ends = QuantileRegression::rank_intervals(&design, &y, 0.5, 0.9).unwrap()[0];
    assert!((1.0..5.0).contains(&ends.lo) && ends.hi > 5.0 && ends.hi < 9.0, "{ends:?}");
    // At so high a level nothing is rejected.
    let ends = QuantileRegression::rank_intervals(&design, &y, 0.5, 0.9999).unwrap()[0];
    assert_eq!((ends.lo, ends.hi), (f64::NEG_INFINITY, f64::INFINITY));
    // Of an even number any value between the middle two is a median.
    let even = QuantileRegression::fit(
        &Design::new(8).intercept().unwrap(),
        &y[..8],
        0.5,
        QuantileErrors::Identical,
    )
    .unwrap();
    assert!(!even.unique);
    close(
        "loss",
        even.check_loss,
        0.5 * y[..8].iter().map(|v| (v - 4.0).abs()).sum::<f64>(),
        1e-12,
    );
}

#[test]
fn what_cannot_be_estimated_is_named() {
    let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
    let y = [2.0, 1.0, 4.0, 3.0, 6.0, 5.0, 9.0];
    let design = Design::new(7).intercept().unwrap().numeric("x", &x).unwrap();
    let fit = |design: &Design, y: &[f64], tau: f64| {
        QuantileRegression::fit(design, y, tau, QuantileErrors::Identical).unwrap_err()
    };
    for tau in [0.0, 1.0, -0.5, f64::NAN] {
        assert!(matches!(fit(&design, &y, tau), StatsError::BadArgument { .. }));
    }
    assert!(matches!(fit(&design, &y[..3], 0.5), StatsError::LengthMismatch { .. }));
    let line: Vec<f64> = x.iter().map(|x| 3.0 - x).collect();
    assert_eq!(fit(&design, &line, 0.5), StatsError::ExactFit);
    assert_eq!(fit(&design, &[4.0; 7], 0.5), StatsError::ExactFit);
    let mut gap = y;
    gap[0] = f64::NAN;
    assert!(matches!(fit(&design, &gap, 0.5), StatsError::NonFinite { row: 0, .. }));
    let two = Design::new(2).intercept().unwrap().numeric("x", &x[..2]).unwrap();
    assert!(matches!(fit(&two, &y[..2], 0.5), StatsError::TooFewRows { needed: 3, .. }));
    assert!(matches!(fit(&Design::new(0), &[], 0.5), StatsError::Empty { .. }));
    let flat = design.clone().numeric("pit", &[2.0; 7]).unwrap();
    assert_eq!(fit(&flat, &y, 0.5), StatsError::ConstantColumn { term: "pit".into() });
    let twice: Vec<f64> = x.iter().map(|x| 2.0 * x).collect();
    let twice = design.clone().numeric("twice", &twice).unwrap();
    assert!(matches!(fit(&twice, &y, 0.5), StatsError::CollinearColumn { .. }));
    let kind = QuantileErrors::ClusterBootstrap { labels: &[0; 7], draws: 10, seed: 1 };
    assert_eq!(
        QuantileRegression::fit(&design, &y, 0.5, kind).unwrap_err(),
        StatsError::TooFewClusters { found: 1 }
    );
    let kind = QuantileErrors::PairsBootstrap { draws: 1, seed: 1 };
    assert!(QuantileRegression::fit(&design, &y, 0.5, kind).is_err());
    assert!(QuantileRegression::rank_intervals(&design, &y, 0.5, 1.0).is_err());
    // All but one row on a line: the line is found, and no scatter about it.
    let mut bent = line;
    bent[3] = 50.0;
    let fit = QuantileRegression::fit(&design, &bent, 0.5, QuantileErrors::Identical).unwrap();
    close("slope", fit.estimates.term("x").unwrap().estimate, -1.0, 1e-12);
}

/// Far from zero and large, the vertex is the same.
#[test]
fn large_scales_lose_nothing() {
    let (design, y) = engel();
    let far: Vec<f64> = design.columns()[1].iter().map(|x| 1e9 * x + 4e12).collect();
    let y_far: Vec<f64> = y.iter().map(|y| 1e9 * y - 7e12).collect();
    let other = Design::new(y.len()).intercept().unwrap().numeric("income", &far).unwrap();
    let kind = QuantileErrors::Sandwich;
    let plain = QuantileRegression::fit(&design, &y, 0.75, kind).unwrap();
    let large = QuantileRegression::fit(&other, &y_far, 0.75, kind).unwrap();
    let (a, b) = (plain.estimates.term("income").unwrap(), large.estimates.term("income").unwrap());
    close("slope", b.estimate, a.estimate, 1e-9);
    close("error", b.std_error, a.std_error, 1e-9);
    let at = |design: &Design, fit: &QuantileRegression, x: f64| {
        let row = design.encode(&[("income", Value::Number(x))]).unwrap();
        fit.estimates.predict(&[row]).unwrap()[0].estimate
    };
    let mean = at(&design, &plain, 1000.0);
    close("prediction", at(&other, &large, 5e12), 1e9 * mean - 7e12, 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// No more than a share τ of the rows lies below and none fewer than τ less those met; the loss
    /// is below that of nearby coefficients; y → a − b·y turns the quantile τ into 1 − τ; the order
    /// of rows does not matter.
    #[test]
    fn a_quantile_divides_the_rows(
        rows in prop::collection::vec((-50.0f64..50.0, 0u8..3, -20i32..20), 12..60),
        tau in 0.05f64..0.95, a in -1e3f64..1e3, b in 0.01f64..1e3, nudge in -1.0f64..1.0,
    ) {
        let x: Vec<f64> = rows.iter().map(|r| r.0).collect();
        let z: Vec<f64> = rows.iter().map(|r| f64::from(r.1)).collect();
        let y: Vec<f64> = rows.iter().map(|r| f64::from(r.2)).collect();
        let design = |x: &[f64], z: &[f64]| Design::new(x.len())
            .intercept().unwrap().numeric("x", x).unwrap().numeric("z", z).unwrap();
        let kind = QuantileErrors::Identical;
        let fit = QuantileRegression::fit(&design(&x, &z), &y, tau, kind);
        prop_assume!(!matches!(
            fit,
            Err(StatsError::ConstantColumn { .. } | StatsError::CollinearColumn { .. } | StatsError::ExactFit)
        ));
        let fit = fit.unwrap();
        let n = rows.len() as f64;
        let tiny = 1e-9 * 20.0;
        let below = fit.residuals.iter().filter(|r| **r < -tiny).count() as f64;
        let above = fit.residuals.iter().filter(|r| **r > tiny).count() as f64;
        prop_assert!(below <= tau * n + 1e-9 && above <= (1.0 - tau) * n + 1e-9);
        let loss = |coefficients: &[f64]| -> f64 {
            rows.iter().zip(&y).map(|(r, y)| {
                let fitted = coefficients[0] + coefficients[1] * r.0 + coefficients[2] * f64::from(r.1);
                let rest = y - fitted;
                rest * (tau - f64::from(u8::from(rest < 0.0)))
            }).sum()
        };
        let own = fit.estimates.coefficients();
        prop_assert!((loss(&own) - fit.check_loss).abs() < 1e-7);
        for j in 0..3 {
            let mut other = own.clone();
            other[j] += nudge / [1.0, 50.0, 2.0][j];
            prop_assert!(loss(&other) >= fit.check_loss - 1e-8);
        }
        let turned: Vec<f64> = y.iter().rev().map(|y| a - b * y).collect();
        let (rx, rz): (Vec<f64>, Vec<f64>) =
            (x.iter().rev().copied().collect(), z.iter().rev().copied().collect());
        let other = QuantileRegression::fit(&design(&rx, &rz), &turned, 1.0 - tau, kind).unwrap();
        prop_assert!((other.check_loss / (b * fit.check_loss) - 1.0).abs() < 1e-7);
        if fit.unique && other.unique {
            let found = other.estimates.term("x").unwrap().estimate;
            prop_assert!((found / b + own[1]).abs() < 1e-7 * (1.0 + own[1].abs()));
        }
    }
}
