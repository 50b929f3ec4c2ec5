use super::*;
use crate::{ErrorKind, LeastSquares};
use proptest::prelude::*;
use serde_json::Value as Json;
use std::path::PathBuf;

fn reference(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/stats").join(file)
}

fn close(what: &str, found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs().max(1e-3),
        "{what}: found {found:e}, expected {expected:e}"
    );
}

struct Sample {
    design: Design,
    y: Vec<f64>,
    observed: Vec<bool>,
    fire: Vec<usize>,
}

fn sample() -> Sample {
    let path = reference("data/censored_gaussian.csv");
    let (mut y, mut observed, mut x, mut wood, mut fire) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for record in csv::Reader::from_path(path).unwrap().records() {
        let record = record.unwrap();
        y.push(record[0].parse().unwrap());
        observed.push(&record[1] == "1");
        x.push(record[2].parse().unwrap());
        wood.push(record[3].to_owned());
        fire.push(record[4].parse().unwrap());
    }
    let wood: Vec<&str> = wood.iter().map(String::as_str).collect();
    let design = Design::new(y.len())
        .intercept()
        .unwrap()
        .numeric("x", &x)
        .unwrap()
        .factor("wood", &wood)
        .unwrap();
    Sample { design, y, observed, fire }
}

/// R 4.2.2, survival 3.5.3, `survreg(dist = "gaussian")`; script beside the figures
/// (`make/censored_gaussian.R`). R's clustered covariance has no small-sample factor.
#[test]
fn agrees_with_survreg() {
    let Sample { design, y, observed, fire } = sample();
    let file: Json = serde_json::from_str(
        &std::fs::read_to_string(reference("expected/censored_gaussian.json")).unwrap(),
    )
    .unwrap();
    let relative = file["suggested_rtol"].as_f64().unwrap();
    let r = &file["results"];
    let numbers = |key: &str| -> Vec<f64> {
        let list = r[key].as_array().unwrap();
        list.iter().map(|v| v.as_f64().unwrap()).collect()
    };

    let fit = CensoredGaussian::fit(&design, &y, &observed, None).unwrap();
    assert_eq!(fit.events as u64, r["events"].as_u64().unwrap());
    for (term, expected) in fit.estimates.terms().iter().zip(numbers("coef")) {
        close(&term.name, term.coefficient.estimate, expected, relative);
        assert_eq!(term.coefficient.df, f64::INFINITY);
    }
    close("scale", fit.sigma, r["scale"].as_f64().unwrap(), relative);
    let loglik = r["loglik"].as_f64().unwrap();
    close("loglik", fit.estimates.log_likelihood(), loglik, 1e-12);
    for (found, expected) in fit.joint_covariance().iter().zip(numbers("vcov")) {
        close("vcov", *found, expected, relative);
    }

    let clustered = CensoredGaussian::fit(&design, &y, &observed, Some(&fire)).unwrap();
    let groups = r["clusters"].as_f64().unwrap();
    let factor = groups / (groups - 1.0);
    for (found, expected) in clustered.joint_covariance().iter().zip(numbers("cluster_vcov")) {
        close("clustered vcov", *found, factor * expected, relative);
    }
    assert_eq!(clustered.estimates.df(), groups - 1.0);
    assert_eq!(clustered.log_sigma.df, groups - 1.0);
}

#[test]
fn without_censoring_it_is_least_squares() {
    let Sample { design, y, .. } = sample();
    let n = y.len() as f64;
    let censored = CensoredGaussian::fit(&design, &y, &vec![true; y.len()], None).unwrap();
    let plain = LeastSquares::fit(&design, &y, ErrorKind::Classical).unwrap();
    let ml_variance = plain.residual_sum_of_squares / n;
    let shrink = ml_variance / plain.residual_variance;
    close("σ", censored.sigma, ml_variance.sqrt(), 1e-13);
    close(
        "log-likelihood",
        censored.estimates.log_likelihood(),
        plain.estimates.log_likelihood(),
        1e-13,
    );
    for (a, b) in censored.estimates.terms().iter().zip(plain.estimates.terms()) {
        close(&a.name, a.coefficient.estimate, b.coefficient.estimate, 1e-12);
    }
    let (a, b) = (censored.estimates.covariance(), plain.estimates.covariance());
    for (a, b) in a.iter().zip(b.iter()) {
        close("covariance", *a, shrink * b, 1e-11);
    }
    // The variance of ln σ̂ is 1/(2n).
    close("ln σ", censored.log_sigma.std_error.powi(2), 0.5 / n, 1e-11);
}

#[test]
fn what_cannot_be_estimated_is_named() {
    let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    let y = [3.0, 5.5, 6.0, 9.0, 10.0, 13.5];
    let wood = ["ash", "ash", "elm", "elm", "ash", "elm"];
    let design = Design::new(6)
        .intercept()
        .unwrap()
        .numeric("x", &x)
        .unwrap()
        .factor("wood", &wood)
        .unwrap();
    assert_eq!(
        CensoredGaussian::fit(&design, &y, &[false; 6], None).unwrap_err(),
        StatsError::AllCensored { rows: 6 }
    );
    // Every elm row is censored, so elm may lie as high as it likes.
    let no_elm = [true, true, false, false, true, false];
    assert_eq!(
        CensoredGaussian::fit(&design, &y, &no_elm, None).unwrap_err(),
        StatsError::NoMaximum { term: "wood[elm]".into() }
    );
    let line: Vec<f64> = x.iter().map(|x| 1.0 + 2.0 * x).collect();
    assert_eq!(
        CensoredGaussian::fit(&design, &line, &[true; 6], None).unwrap_err(),
        StatsError::ExactFit
    );
    // The observed rows lie on a line and the censored one below it.
    let mut bent = line;
    bent[5] = 5.0;
    let simple = Design::new(6).intercept().unwrap().numeric("x", &x).unwrap();
    assert_eq!(
        CensoredGaussian::fit(&simple, &bent, &[true, true, true, true, true, false], None)
            .unwrap_err(),
        StatsError::ExactFit
    );
    assert!(CensoredGaussian::fit(&simple, &bent, &[true; 5], None).is_err());
}

/// Simulated truth: censoring ignored is biased, the censored fit is not.
#[test]
fn recovers_a_mean_that_least_squares_misses() {
    use rand::SeedableRng;
    use rand_distr::{Distribution, Normal};
    let mut generator = rand_chacha::ChaCha8Rng::seed_from_u64(7);
    let noise = Normal::new(0.0, 10.0).unwrap();
    let n = 4000;
    let truth: Vec<f64> = (0..n).map(|_| 60.0 + noise.sample(&mut generator)).collect();
    let y: Vec<f64> = truth.iter().map(|v| v.min(60.0)).collect();
    let observed: Vec<bool> = truth.iter().map(|&v| v <= 60.0).collect();
    let design = Design::new(n).intercept().unwrap();
    let fit = CensoredGaussian::fit(&design, &y, &observed, None).unwrap();
    let mean = fit.estimates.term(crate::INTERCEPT).unwrap();
    assert!((mean.estimate - 60.0).abs() < 3.0 * mean.std_error, "{mean:?}");
    assert!((fit.sigma - 10.0).abs() < 0.7, "{}", fit.sigma);
    let naive = LeastSquares::fit(&design, &y, ErrorKind::Classical).unwrap();
    assert!(naive.estimates.term(crate::INTERCEPT).unwrap().estimate < 57.0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// y → a + b·y with b > 0 moves coefficients and σ by b and the log-likelihood by −events · ln
    /// b.
    #[test]
    fn equivariant_to_shift_and_scale(a in -1e4f64..1e4, b in 1e-2f64..1e3) {
        let Sample { design, y, observed, fire } = sample();
        let moved: Vec<f64> = y.iter().map(|v| a + b * v).collect();
        let plain = CensoredGaussian::fit(&design, &y, &observed, Some(&fire)).unwrap();
        let other = CensoredGaussian::fit(&design, &moved, &observed, Some(&fire)).unwrap();
        prop_assert!((other.sigma / (b * plain.sigma) - 1.0).abs() < 1e-8);
        let expected = plain.estimates.log_likelihood() - plain.events as f64 * b.ln();
        prop_assert!((other.estimates.log_likelihood() - expected).abs() < 1e-7);
        for (p, m) in plain.estimates.terms().iter().zip(other.estimates.terms()).skip(1) {
            let (p, m) = (p.coefficient, m.coefficient);
            prop_assert!((m.estimate / (b * p.estimate) - 1.0).abs() < 1e-6);
            prop_assert!((m.std_error / (b * p.std_error) - 1.0).abs() < 1e-6);
        }
    }
}
