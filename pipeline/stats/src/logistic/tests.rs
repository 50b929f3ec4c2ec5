use super::*;
use crate::reference::{Table, close_or_zero as close, numbers as list, whole as expected};
use proptest::prelude::*;

struct Sample {
    design: Design,
    separated: Design,
    done: Vec<bool>,
    weights: Vec<f64>,
    fire: Vec<usize>,
}

fn sample() -> Sample {
    let table = Table::read("logistic");
    let wood = table.text("wood");
    let design = Design::new(wood.len())
        .intercept()
        .unwrap()
        .numeric("x", &table.numbers("x"))
        .unwrap()
        .factor("wood", &wood)
        .unwrap();
    Sample {
        separated: design.clone().numeric("spiced", &table.numbers("spiced")).unwrap(),
        design,
        done: table.flags("done"),
        weights: table.numbers("weight"),
        fire: table.labels("fire"),
    }
}

/// R 4.2.2 `glm`, sandwich 3.0-2; script `make/logistic.R`.
#[test]
fn agrees_with_glm_and_sandwich() {
    let Sample { design, done, weights, fire, .. } = sample();
    let file = expected("logistic");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    for (key, weights) in [("plain", None), ("weighted", Some(&weights[..]))] {
        let r = &file["results"][key];
        for (covariance, errors) in [
            ("vcov", LikelihoodErrors::Model),
            ("sandwich_vcov", LikelihoodErrors::Sandwich),
            ("cluster_vcov", LikelihoodErrors::Clustered(&fire)),
        ] {
            let options = LogisticOptions { weights, errors, firth: false };
            let fit = Logistic::fit(&design, &done, options).unwrap();
            for (found, expected) in fit.estimates.coefficients().iter().zip(list(&r["coef"])) {
                close("coefficient", *found, expected, relative);
            }
            let loglik = r["loglik"].as_f64().unwrap();
            close("loglik", fit.estimates.log_likelihood(), loglik, 1e-12);
            for (found, expected) in fit.estimates.covariance().iter().zip(list(&r[covariance])) {
                close(covariance, *found, expected, relative);
            }
            let clustered = covariance == "cluster_vcov";
            assert_eq!(fit.estimates.df(), if clustered { 13.0 } else { f64::INFINITY });
        }
    }
    let fit = Logistic::fit(&design, &done, LogisticOptions::default()).unwrap();
    let r = &file["results"]["predictions"];
    for i in 0..3 {
        let row = design
            .encode(&[
                ("x", crate::Value::Number(list(&r["x"])[i])),
                ("wood", crate::Value::Level(r["wood"][i].as_str().unwrap())),
            ])
            .unwrap();
        let found = fit.probabilities(&[row]).unwrap()[0];
        close("log odds", found.log_odds.estimate, list(&r["log_odds"])[i], relative);
        close("error", found.log_odds.std_error, list(&r["log_odds_se"])[i], relative);
        close("probability", found.probability, list(&r["probability"])[i], relative);
        close("error", found.std_error, list(&r["probability_se"])[i], relative);
        let interval = found.interval(0.95).unwrap();
        assert!(0.0 < interval.lo && interval.lo < found.probability);
        assert!(found.probability < interval.hi && interval.hi < 1.0);
    }
}

/// R 4.2.2 `glm` on 20 000 rows of synthetic cooks (`wrap_null_logistic.json` and
/// `wrap_effect_logistic.json`): the model whose coefficient of `wrapped` has a known truth, and
/// those that weights for censoring are made from.
#[test]
fn agrees_with_glm_on_person_periods() {
    for set in ["wrap_null", "wrap_effect"] {
        let table = Table::read(set);
        let names = table.names().iter();
        let columns: std::collections::HashMap<&str, Vec<f64>> =
            names.map(|name| (name.as_str(), table.numbers(name))).collect();
        let file = expected(&format!("{set}_logistic"));
        let relative = file["suggested_rtol"].as_f64().unwrap();
        for (model, outcome) in [
            ("pooled_logistic_conditional", "done"),
            ("pooled_logistic_no_confounders", "done"),
            ("wrap_model", "wrap_now"),
            ("lost_model", "lost"),
        ] {
            let r = &file["results"][model];
            let rows: Vec<usize> = (0..columns["k"].len())
                .filter(|&i| {
                    model != "wrap_model" || columns["wrapped"][i] == columns["wrap_now"][i]
                })
                .collect();
            let pick =
                |name: &str| -> Vec<f64> { rows.iter().map(|&i| columns[name][i]).collect() };
            let mut design = Design::new(rows.len()).intercept().unwrap();
            for term in r["terms"].as_array().unwrap().iter().skip(1) {
                let term = term.as_str().unwrap();
                design = design.numeric(term, &pick(term)).unwrap();
            }
            let outcome: Vec<bool> = pick(outcome).iter().map(|&value| value == 1.0).collect();
            let fit = Logistic::fit(&design, &outcome, LogisticOptions::default()).unwrap();
            for (position, term) in fit.estimates.terms().iter().enumerate() {
                let found = term.coefficient;
                close(&term.name, found.estimate, list(&r["coef"])[position], relative);
                if r.get("se").is_some() {
                    let converged = list(&r["se_converged"])[position];
                    close(&term.name, found.std_error, converged, relative);
                    // These come from the weights of the step before the last.
                    close(&term.name, found.std_error, list(&r["se"])[position], 3e-7);
                }
            }
        }
    }
}

/// brglm2 0.9, `type = "AS_mean"`, which is Firth's penalty; script `make/logistic.R`. The term
/// `spiced` separates.
#[test]
fn firth_agrees_with_brglm2_where_outcomes_are_separated() {
    let Sample { separated, done, .. } = sample();
    let file = expected("logistic");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    let r = &file["results"]["firth"];
    assert_eq!(
        Logistic::fit(&separated, &done, LogisticOptions::default()).unwrap_err(),
        StatsError::Separation { terms: vec!["spiced".into()], extent: "some" }
    );
    let options = LogisticOptions { firth: true, ..Default::default() };
    let fit = Logistic::fit(&separated, &done, options).unwrap();
    for (found, expected) in fit.estimates.coefficients().iter().zip(list(&r["coef"])) {
        close("coefficient", *found, expected, relative);
    }
    for (found, expected) in fit.estimates.covariance().iter().zip(list(&r["vcov"])) {
        close("vcov", *found, expected, relative);
    }
    let number = |key: &str| r[key].as_f64().unwrap();
    close("loglik", fit.estimates.log_likelihood(), number("loglik"), relative);
}

/// Firth (1993), section 1: the log odds of s in n become ln((s + ½)/(n − s + ½)).
#[test]
fn firth_of_a_single_proportion_by_hand() {
    let design = Design::new(7).intercept().unwrap();
    let options = LogisticOptions { firth: true, ..Default::default() };
    for events in [0, 2, 7u8] {
        let done: Vec<bool> = (0..7).map(|row| row < events).collect();
        let fit = Logistic::fit(&design, &done, options).unwrap();
        let s = f64::from(events);
        let log_odds = ((s + 0.5) / (7.5 - s)).ln();
        close("log odds", fit.estimates.coefficients()[0], log_odds, 1e-10);
    }
}

/// Two by two: the log odds ratio is ln(ad/bc) with variance 1/a + 1/b + 1/c + 1/d (Woolf 1955,
/// Annals of Human Genetics 19, 251–253).
#[test]
fn two_by_two_table_by_hand() {
    let done = [true, false, true, false];
    let exposed = [1.0, 1.0, 0.0, 0.0];
    // Cells as weights, each in two halves.
    let weights: Vec<f64> =
        [12.0, 5.0, 7.0, 15.0].iter().chain(&[12.0, 5.0, 7.0, 15.0]).map(|w| w / 2.0).collect();
    let design =
        Design::new(8).intercept().unwrap().numeric("exposed", &exposed.repeat(2)).unwrap();
    let options = LogisticOptions { weights: Some(&weights), ..Default::default() };
    let fit = Logistic::fit(&design, &done.repeat(2), options).unwrap();
    let ratio = fit.estimates.term("exposed").unwrap();
    close("log odds ratio", ratio.estimate, (12.0f64 * 15.0 / (5.0 * 7.0)).ln(), 1e-12);
    let variance = 1.0 / 12.0 + 1.0 / 5.0 + 1.0 / 7.0 + 1.0 / 15.0;
    close("variance", ratio.std_error.powi(2), variance, 1e-12);
    assert_eq!(fit.events, 19.0);
}

#[test]
fn what_cannot_be_estimated_is_named() {
    let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];
    let z = [0.3, 0.1, 0.7, 0.2, 0.9, 0.4, 0.8, 0.5];
    let design = Design::new(8).intercept().unwrap().numeric("x", &x).unwrap();
    let design = design.numeric("z", &z).unwrap();
    let fit = |design: &Design, done: &[bool]| {
        Logistic::fit(design, done, LogisticOptions::default()).unwrap_err()
    };
    let late: Vec<bool> = x.iter().map(|&x| x > 4.5).collect();
    match fit(&design, &late) {
        StatsError::Separation { terms, extent } => {
            assert!(terms.contains(&"x".to_owned()) && extent == "all", "{terms:?} {extent}");
        }
        other => panic!("{other}"),
    }
    assert_eq!(fit(&design, &[true; 8]), StatsError::SameOutcome { rows: 8 });
    assert_eq!(fit(&design, &[false; 8]), StatsError::SameOutcome { rows: 8 });
    assert!(matches!(fit(&design, &late[..3]), StatsError::LengthMismatch { .. }));
    // A level whose rows all end alike is separated in part.
    let wood = ["ash", "ash", "ash", "ash", "elm", "elm", "oak", "oak"];
    let by_wood = Design::new(8).intercept().unwrap().factor("wood", &wood).unwrap();
    let done = [true, false, true, false, true, false, true, true];
    assert_eq!(
        fit(&by_wood, &done),
        StatsError::Separation { terms: vec!["wood[oak]".into()], extent: "some" }
    );
    let weighted = |weights: &[f64]| {
        let options = LogisticOptions { weights: Some(weights), ..Default::default() };
        Logistic::fit(&design, &done, options)
    };
    for weights in [[-1.0; 8], [0.0; 8], [f64::NAN; 8]] {
        assert!(weighted(&weights).is_err());
    }
    assert!(weighted(&[1.0; 3]).is_err());
    // Two rows that count are too few for three terms.
    let two = [1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0];
    assert_eq!(
        weighted(&two).unwrap_err(),
        StatsError::TooFewRows {
            what: "logistic regression with 3 terms".into(),
            needed: 4,
            found: 2
        }
    );
    for n in [0, 2] {
        let few = Design::new(n).intercept().unwrap().numeric("x", &x[..n]);
        let Ok(few) = few else { continue };
        assert!(matches!(fit(&few, &done[..n]), StatsError::TooFewRows { .. }));
    }
    let flat = design.clone().numeric("pit", &[2.0; 8]).unwrap();
    assert_eq!(fit(&flat, &done), StatsError::ConstantColumn { term: "pit".into() });
    let twice: Vec<f64> = x.iter().map(|x| 1.0 - 2.0 * x).collect();
    let twice = design.clone().numeric("twice", &twice).unwrap();
    assert!(matches!(fit(&twice, &done), StatsError::CollinearColumn { .. }));
    let one =
        LogisticOptions { errors: LikelihoodErrors::Clustered(&[4; 8]), ..Default::default() };
    assert_eq!(
        Logistic::fit(&design, &done, one).unwrap_err(),
        StatsError::TooFewClusters { found: 1 }
    );
}

/// One contrary row in a thousand: nearly separated, but the maximum is finite and found.
#[test]
fn near_separation_is_not_separation() {
    let x: Vec<f64> = (0..1000).map(f64::from).collect();
    let mut done: Vec<bool> = x.iter().map(|&x| x >= 500.0).collect();
    done.swap(490, 510);
    let design = Design::new(1000).intercept().unwrap().numeric("x", &x).unwrap();
    let fit = Logistic::fit(&design, &done, LogisticOptions::default()).unwrap();
    let residual: f64 =
        done.iter().zip(&fit.fitted).map(|(&d, p)| f64::from(u8::from(d)) - p).sum();
    assert!(residual.abs() < 1e-9, "{residual}");
    assert!(fit.fitted[0] < 1e-10);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Order of rows does not matter; x → c + d·x divides its coefficient by d; every row twice with
    /// half the weight is the same sample, for clusters too.
    #[test]
    fn equivariant_to_order_scale_and_halving(
        shift in -1e9f64..1e9, scale in prop::sample::select(vec![-20.0f64, -0.5, 1e-6, 3.0, 1e9]),
        turn in 1usize..69, firth in any::<bool>(),
    ) {
        let Sample { done, weights, fire, .. } = sample();
        let x = Table::read("logistic").numbers("x");
        let fit = |x: &[f64], done: &[bool], weights: &[f64], fire: &[usize]| {
            let design = Design::new(x.len()).intercept().unwrap().numeric("x", x).unwrap();
            let errors = LikelihoodErrors::Clustered(fire);
            let options = LogisticOptions { weights: Some(weights), errors, firth };
            Logistic::fit(&design, done, options).unwrap()
        };
        let plain = fit(&x, &done, &weights, &fire);
        let order: Vec<usize> = (0..70).map(|row| (row + turn) % 70).collect();
        let twice: Vec<usize> = order.iter().chain(&order).copied().collect();
        // Doubles far from zero hold fewer of x's digits.
        let shift = shift * scale.abs().min(1.0) * 1e-3;
        let moved: Vec<f64> = twice.iter().map(|&i| shift + scale * x[i]).collect();
        let other = fit(
            &moved,
            &twice.iter().map(|&i| done[i]).collect::<Vec<_>>(),
            &twice.iter().map(|&i| weights[i] / 2.0).collect::<Vec<_>>(),
            &twice.iter().map(|&i| fire[i]).collect::<Vec<_>>(),
        );
        let (p, m) = (plain.estimates.term("x").unwrap(), other.estimates.term("x").unwrap());
        prop_assert!((m.estimate * scale / p.estimate - 1.0).abs() < 1e-6);
        prop_assert!((m.std_error * scale.abs() / p.std_error - 1.0).abs() < 1e-6);
        let (a, b) = (plain.estimates.log_likelihood(), other.estimates.log_likelihood());
        prop_assert!((a - b).abs() < 1e-7);
    }
}
