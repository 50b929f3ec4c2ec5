use super::*;
use crate::Logistic;
use crate::reference::{Table, close_or_zero as close, numbers as list, whole};
use proptest::prelude::*;

struct Sample {
    x: Vec<f64>,
    design: Design,
    scores: Vec<f64>,
    weights: Vec<f64>,
    fire: Vec<usize>,
}

fn sample() -> Sample {
    let table = Table::read("ordinal");
    let x = table.numbers("x");
    let wood = table.text("wood");
    let design = Design::new(x.len())
        .intercept()
        .unwrap()
        .numeric("x", &x)
        .unwrap()
        .factor("wood", &wood)
        .unwrap();
    Sample {
        x,
        design,
        scores: table.numbers("score"),
        weights: table.numbers("weight"),
        fire: table.labels("fire"),
    }
}

fn parameters(fit: &Ordinal) -> Vec<Estimate> {
    let thresholds = fit.thresholds.iter().map(|threshold| threshold.estimate);
    thresholds.chain(fit.estimates.terms().iter().map(|term| term.coefficient)).collect()
}

/// R 4.2.2: `ordinal::clm` (2022.11-16), and `MASS::polr` with sandwich as a second opinion, whose
/// optimiser stops within 1e-7 and whose information is a difference of gradients; script
/// `make/ordinal.R`.
#[test]
fn agrees_with_clm_and_polr() {
    let Sample { design, scores, weights, fire, .. } = sample();
    let file = whole("ordinal");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    for (key, weights) in [("plain", None), ("weighted", Some(&weights[..]))] {
        let r = &file["results"][key];
        for (covariance, errors, polr) in [
            ("vcov", LikelihoodErrors::Model, "se"),
            ("sandwich_vcov", LikelihoodErrors::Sandwich, "sandwich_se"),
            ("cluster_vcov", LikelihoodErrors::Clustered(&fire), "cluster_se"),
        ] {
            let fit = Ordinal::fit(&design, &scores, OrdinalOptions { weights, errors }).unwrap();
            let found = parameters(&fit);
            for (found, expected) in found.iter().zip(list(&r["coef"])) {
                close("parameter", found.estimate, expected, relative);
            }
            let loglik = r["loglik"].as_f64().unwrap();
            close("loglik", fit.estimates.log_likelihood(), loglik, 1e-12);
            for (found, expected) in fit.joint_covariance().iter().zip(list(&r[covariance])) {
                close(covariance, *found, expected, relative);
            }
            if weights.is_none() {
                let second = &file["results"]["polr"];
                for (position, found) in found[4..].iter().enumerate() {
                    close("polr", found.estimate, list(&second["coef"])[position], 1e-6);
                    close("polr", found.std_error, list(&second[polr])[position], 1e-4);
                }
            }
        }
    }
}

/// `clm`'s predicted probabilities; the expected score and its error follow from them.
#[test]
fn predictions_agree_with_clm() {
    let Sample { design, scores, .. } = sample();
    let fit = Ordinal::fit(&design, &scores, OrdinalOptions::default()).unwrap();
    let expected = list(&whole("ordinal")["results"]["probabilities"]);
    for (i, (x, wood)) in [(80.0, "ash"), (95.0, "elm"), (110.0, "oak")].into_iter().enumerate() {
        let row = design
            .encode(&[("x", crate::Value::Number(x)), ("wood", crate::Value::Level(wood))])
            .unwrap();
        let found = &fit.probabilities(&[&row]).unwrap()[0];
        for (found, expected) in found.iter().zip(&expected[5 * i..]) {
            close("probability", *found, *expected, 1e-8);
        }
        let score = fit.expected_scores(&[&row]).unwrap()[0];
        let mean: f64 = found.iter().zip(&fit.categories).map(|(p, s)| p * s).sum();
        close("expected score", score.estimate, mean, 1e-12);
        // The error of the delta method against differences of the expected score itself.
        let at = parameters(&fit);
        let mean_at = |shifted: usize, step: f64| -> f64 {
            let value = |k: usize| at[k].estimate + if k == shifted { step } else { 0.0 };
            let shift: f64 = (0..3).map(|j| value(4 + j) * row[j + 1]).sum();
            5.0 - (0..4).map(|j| logistic(value(j) - shift)).sum::<f64>()
        };
        let gradient = DVector::from_fn(7, |k, _| (mean_at(k, 1e-5) - mean_at(k, -1e-5)) / 2e-5);
        let variance = (fit.joint_covariance() * &gradient).dot(&gradient);
        close("its error", score.std_error, variance.sqrt(), 1e-6);
    }
}

/// Brant's test written out in R with `glm` (`make/ordinal.R`).
#[test]
fn brants_test_agrees_with_r() {
    let Sample { design, scores, .. } = sample();
    let r = &whole("ordinal")["results"]["brant"];
    let test = Ordinal::test_proportional_odds(&design, &scores, None).unwrap();
    close("χ²", test.chi_squared, r["chi2"].as_f64().unwrap(), 1e-7);
    assert_eq!(test.df, r["df"].as_f64().unwrap());
    // R 4.2.2: pchisq(7.98386831880556, 9, lower = FALSE).
    close("p", test.p_value, 0.535_772_721_695_832_3, 1e-8);
    // x does nothing below a score of 3 and much above: odds are not proportional.
    let x: Vec<f64> = (0..300).map(|i| f64::from(i % 30)).collect();
    let scores: Vec<f64> = (0..300)
        .map(|i| match (i * 7919 % 300, i % 30) {
            (low, _) if low < 100 => 1.0,
            (_, x) => {
                if (i * 104_729 % 30) < x {
                    3.0
                } else {
                    2.0
                }
            }
        })
        .collect();
    let design = Design::new(300).intercept().unwrap().numeric("x", &x).unwrap();
    let test = Ordinal::test_proportional_odds(&design, &scores, None).unwrap();
    assert!(test.p_value < 1e-4, "{test:?}");
}

/// With two categories it is logistic regression of "the higher score".
#[test]
fn two_categories_are_logistic_regression() {
    let Sample { design, scores, fire, .. } = sample();
    let high: Vec<f64> = scores.iter().map(|&s| f64::from(u8::from(s > 2.0))).collect();
    let errors = LikelihoodErrors::Clustered(&fire);
    let fit = Ordinal::fit(&design, &high, OrdinalOptions { weights: None, errors }).unwrap();
    let done: Vec<bool> = high.iter().map(|&s| s > 0.5).collect();
    let options = crate::LogisticOptions { errors, ..Default::default() };
    let plain = Logistic::fit(&design, &done, options).unwrap();
    let terms = plain.estimates.terms();
    close("threshold", fit.thresholds[0].estimate.estimate, -terms[0].coefficient.estimate, 1e-9);
    close("its error", fit.thresholds[0].estimate.std_error, terms[0].coefficient.std_error, 1e-9);
    for (a, b) in fit.estimates.terms().iter().zip(&terms[1..]) {
        close(&a.name, a.coefficient.estimate, b.coefficient.estimate, 1e-9);
        close(&a.name, a.coefficient.std_error, b.coefficient.std_error, 1e-9);
    }
    let (a, b) = (fit.estimates.log_likelihood(), plain.estimates.log_likelihood());
    close("log-likelihood", a, b, 1e-12);
    assert!(matches!(
        Ordinal::test_proportional_odds(&design, &high, None),
        Err(StatsError::BadArgument { .. })
    ));
}

/// Without terms the thresholds are the log odds of the shares.
#[test]
fn without_terms_thresholds_are_shares() {
    let Sample { scores, .. } = sample();
    let n = scores.len();
    let design = Design::new(n).intercept().unwrap();
    let fit = Ordinal::fit(&design, &scores, OrdinalOptions::default()).unwrap();
    for threshold in &fit.thresholds {
        let below = scores.iter().filter(|&&s| s <= threshold.below).count() as f64;
        let log_odds = (below / (n as f64 - below)).ln();
        close("threshold", threshold.estimate.estimate, log_odds, 1e-11);
    }
    assert!(fit.estimates.names().is_empty());
    let mean = scores.iter().sum::<f64>() / n as f64;
    close("mean", fit.expected_scores(&[[1.0]]).unwrap()[0].estimate, mean, 1e-10);
    assert!(Ordinal::test_proportional_odds(&design, &scores, None).is_err());
}

#[test]
fn what_cannot_be_estimated_is_named() {
    let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0];
    let scores = [1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 3.0, 3.0, 3.0];
    let design = Design::new(9).intercept().unwrap().numeric("x", &x).unwrap();
    let fit = |design: &Design, scores: &[f64]| {
        Ordinal::fit(design, scores, OrdinalOptions::default()).unwrap_err()
    };
    assert_eq!(
        fit(&design, &scores),
        StatsError::Separation { terms: vec!["x".into()], extent: "all" }
    );
    assert_eq!(fit(&design, &[4.0; 9]), StatsError::SameOutcome { rows: 9 });
    let mixed = [1.0, 2.0, 1.0, 3.0, 2.0, 1.0, 3.0, 2.0, 3.0];
    let wood = ["ash", "ash", "ash", "ash", "ash", "ash", "ash", "elm", "elm"];
    let by_wood = Design::new(9).intercept().unwrap().factor("wood", &wood).unwrap();
    let best = [1.0, 2.0, 1.0, 3.0, 2.0, 1.0, 2.0, 3.0, 3.0];
    assert_eq!(
        fit(&by_wood, &best),
        StatsError::Separation { terms: vec!["wood[elm]".into()], extent: "some" }
    );
    let mut gap = mixed;
    gap[4] = f64::NAN;
    assert!(matches!(fit(&design, &gap), StatsError::NonFinite { row: 4, .. }));
    assert!(matches!(fit(&design, &mixed[..4]), StatsError::LengthMismatch { .. }));
    let all_differ: Vec<f64> = (0..9).map(f64::from).collect();
    assert!(matches!(fit(&design, &all_differ), StatsError::TooFewRows { .. }));
    let two = Design::new(2).intercept().unwrap().numeric("x", &[1.0, 2.0]).unwrap();
    assert!(matches!(fit(&two, &[1.0, 2.0]), StatsError::TooFewRows { .. }));
    assert!(matches!(fit(&Design::new(0), &[]), StatsError::Empty { .. }));
    let flat = design.clone().numeric("pit", &[2.0; 9]).unwrap();
    assert_eq!(fit(&flat, &mixed), StatsError::ConstantColumn { term: "pit".into() });
    let twice: Vec<f64> = x.iter().map(|x| 2.0 * x).collect();
    let twice = design.clone().numeric("twice", &twice).unwrap();
    assert!(matches!(fit(&twice, &mixed), StatsError::CollinearColumn { .. }));
    let one = OrdinalOptions { errors: LikelihoodErrors::Clustered(&[4; 9]), weights: None };
    assert_eq!(
        Ordinal::fit(&design, &mixed, one).unwrap_err(),
        StatsError::TooFewClusters { found: 1 }
    );
    let whole = Ordinal::fit(&design, &mixed, OrdinalOptions::default()).unwrap();
    assert!(whole.probabilities(&[[1.0]]).is_err());
    assert!(whole.probabilities(&[[1.0, f64::NAN]]).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Order of rows, distances between scores, and halved duplicates do not matter; x → c + d·x
    /// divides its coefficient by d; turning the scores round turns the signs.
    #[test]
    fn equivariant_to_order_scale_and_halving(
        shift in -1e6f64..1e6, scale in prop::sample::select(vec![-20.0f64, -0.5, 3.0, 1e9]),
        turn in 1usize..159, stretch in 1e-3f64..1e3,
    ) {
        let Sample { x, scores, weights, fire, .. } = sample();
        let fit = |x: &[f64], scores: &[f64], weights: &[f64], fire: &[usize]| {
            let design = Design::new(x.len()).numeric("x", x).unwrap();
            let errors = LikelihoodErrors::Clustered(fire);
            let options = OrdinalOptions { weights: Some(weights), errors };
            Ordinal::fit(&design, scores, options).unwrap()
        };
        let plain = fit(&x, &scores, &weights, &fire);
        let n = x.len();
        let order: Vec<usize> = (0..n).map(|row| (row + turn) % n).collect();
        let twice: Vec<usize> = order.iter().chain(&order).copied().collect();
        let moved: Vec<f64> = twice.iter().map(|&i| shift + scale * x[i]).collect();
        let other = fit(
            &moved,
            &twice.iter().map(|&i| -stretch * scores[i].powi(3)).collect::<Vec<_>>(),
            &twice.iter().map(|&i| weights[i] / 2.0).collect::<Vec<_>>(),
            &twice.iter().map(|&i| fire[i]).collect::<Vec<_>>(),
        );
        let (p, m) = (plain.estimates.term("x").unwrap(), other.estimates.term("x").unwrap());
        prop_assert!((-m.estimate * scale / p.estimate - 1.0).abs() < 1e-6);
        prop_assert!((m.std_error * scale.abs() / p.std_error - 1.0).abs() < 1e-6);
        let (a, b) = (plain.estimates.log_likelihood(), other.estimates.log_likelihood());
        prop_assert!((a - b).abs() < 1e-8);
    }
}
