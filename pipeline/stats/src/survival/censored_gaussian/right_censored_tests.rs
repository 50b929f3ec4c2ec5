use super::*;
use crate::reference::{Table, expected, numbers as list};
use crate::{ErrorKind, LeastSquares};
use proptest::prelude::*;

/// Figures below a thousandth count as that: of a covariance near zero the rest is rounding.
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
    let table = Table::read("censored_gaussian");
    let design = Design::new(table.rows())
        .intercept()
        .unwrap()
        .numeric("x", &table.numbers("x"))
        .unwrap()
        .factor("wood", &table.text("wood"))
        .unwrap();
    Sample {
        design,
        y: table.numbers("y"),
        observed: table.flags("observed"),
        fire: table.labels("fire"),
    }
}

fn fit(
    design: &Design,
    y: &[f64],
    observed: &[bool],
    errors: LikelihoodErrors<'_>,
) -> Result<CensoredGaussian, StatsError> {
    CensoredGaussian::fit(design, &CensoredTimes::right_censored(y, observed)?, errors)
}

/// R 4.2.2, survival 3.5.3, `survreg(dist = "gaussian")`; script beside the figures
/// (`make/censored_gaussian.R`). R's clustered covariance has no small-sample factor.
#[test]
fn agrees_with_survreg() {
    let Sample { design, y, observed, fire } = sample();
    let (r, relative) = expected("censored_gaussian");
    let numbers = |key: &str| list(&r[key]);
    let model = fit(&design, &y, &observed, LikelihoodErrors::Model).unwrap();
    assert_eq!(model.exact as u64, r["events"].as_u64().unwrap());
    for (term, expected) in model.estimates.terms().iter().zip(numbers("coef")) {
        close(&term.name, term.coefficient.estimate, expected, relative);
        assert_eq!(term.coefficient.df, f64::INFINITY);
    }
    close("scale", model.sigma, r["scale"].as_f64().unwrap(), relative);
    let loglik = r["loglik"].as_f64().unwrap();
    close("loglik", model.estimates.log_likelihood(), loglik, 1e-12);
    for (found, expected) in model.joint_covariance.iter().zip(numbers("vcov")) {
        close("vcov", *found, expected, relative);
    }

    let clustered = fit(&design, &y, &observed, LikelihoodErrors::Clustered(&fire)).unwrap();
    let groups = r["clusters"].as_f64().unwrap();
    let factor = groups / (groups - 1.0);
    for (found, expected) in clustered.joint_covariance.iter().zip(numbers("cluster_vcov")) {
        close("clustered vcov", *found, factor * expected, relative);
    }
    assert_eq!(clustered.estimates.df(), groups - 1.0);
}

#[test]
fn without_censoring_it_is_least_squares() {
    let Sample { design, y, .. } = sample();
    let n = y.len() as f64;
    let censored = fit(&design, &y, &vec![true; y.len()], LikelihoodErrors::Model).unwrap();
    let plain = LeastSquares::fit(&design, &y, ErrorKind::Classical).unwrap();
    let shrink = (n - design.terms().len() as f64) / n;
    let ml_variance = plain.residual_variance * shrink;
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
    let last = design.terms().len();
    close("ln σ", censored.joint_covariance[(last, last)], 0.5 / n, 1e-11);
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
        fit(&design, &y, &[false; 6], LikelihoodErrors::Model).unwrap_err(),
        StatsError::AllCensored { rows: 6 }
    );
    // Every elm row is censored, so elm may lie as high as it likes.
    let no_elm = [true, true, false, false, true, false];
    assert_eq!(
        fit(&design, &y, &no_elm, LikelihoodErrors::Model).unwrap_err(),
        StatsError::NoMaximum { term: "wood[elm]".into() }
    );
    let line: Vec<f64> = x.iter().map(|x| 1.0 + 2.0 * x).collect();
    assert_eq!(
        fit(&design, &line, &[true; 6], LikelihoodErrors::Model).unwrap_err(),
        StatsError::ExactFit
    );
    // The observed rows lie on a line and the censored one below it.
    let mut bent = line;
    bent[5] = 5.0;
    let simple = Design::new(6).intercept().unwrap().numeric("x", &x).unwrap();
    assert_eq!(
        fit(&simple, &bent, &[true, true, true, true, true, false], LikelihoodErrors::Model)
            .unwrap_err(),
        StatsError::ExactFit
    );
    assert!(fit(&simple, &bent, &[true; 5], LikelihoodErrors::Model).is_err());
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
    let model = fit(&design, &y, &observed, LikelihoodErrors::Model).unwrap();
    let mean = model.estimates.term(crate::INTERCEPT).unwrap();
    assert!((mean.estimate - 60.0).abs() < 3.0 * mean.std_error, "{mean:?}");
    assert!((model.sigma - 10.0).abs() < 0.7, "{}", model.sigma);
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
        let plain = fit(&design, &y, &observed, LikelihoodErrors::Clustered(&fire)).unwrap();
        let other = fit(&design, &moved, &observed, LikelihoodErrors::Clustered(&fire)).unwrap();
        prop_assert!((other.sigma / (b * plain.sigma) - 1.0).abs() < 1e-8);
        let expected = plain.estimates.log_likelihood() - plain.exact as f64 * b.ln();
        prop_assert!((other.estimates.log_likelihood() - expected).abs() < 1e-7);
        for (p, m) in plain.estimates.terms().iter().zip(other.estimates.terms()).skip(1) {
            let (p, m) = (p.coefficient, m.coefficient);
            prop_assert!((m.estimate / (b * p.estimate) - 1.0).abs() < 1e-6);
            prop_assert!((m.std_error / (b * p.std_error) - 1.0).abs() < 1e-6);
        }
    }
}
