use super::*;
use crate::reference::{Table, expected, numbers};
use crate::{CensoredGaussian, ErrorKind, LeastSquares};
use proptest::prelude::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

fn close(what: &str, found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs().max(1e-3),
        "{what}: found {found:e}, expected {expected:e}"
    );
}

struct Sample {
    design: Design,
    times: CensoredTimes,
}

fn sample() -> Sample {
    let table = Table::read("censored_gaussian");
    let oak: Vec<f64> =
        table.text("wood").iter().map(|wood| f64::from(u8::from(*wood == "oak"))).collect();
    let design = Design::new(table.rows())
        .intercept()
        .and_then(|design| design.numeric("x", &table.numbers("x")))
        .and_then(|design| design.numeric("oak", &oak))
        .unwrap();
    let times =
        CensoredTimes::right_censored(&table.numbers("y"), &table.flags("observed")).unwrap();
    Sample { design, times }
}

/// R 4.2.2, survival 3.5.3, `survreg(dist = "gaussian")` with a stratum for oak; script beside the figures
/// (`make/scale_gaussian.R`).
#[test]
fn agrees_with_survreg_with_strata() {
    let Sample { design, times } = sample();
    let (r, relative) = expected("scale_gaussian");
    let fit = ScaleGaussian::fit(&design, "oak", &times, LikelihoodErrors::Model).unwrap();
    for (term, expected) in fit.estimates.terms().iter().zip(numbers(&r["coef"])) {
        close(&term.name, term.coefficient.estimate, expected, relative);
    }
    let scale = numbers(&r["scale"]);
    close("scale of the others", fit.sigma_at(0.0), scale[0], relative);
    close("scale of oak", fit.sigma_at(1.0), scale[1], relative);
    close(
        "log-likelihood",
        fit.estimates.log_likelihood(),
        r["loglik"].as_f64().unwrap(),
        relative,
    );
    let (vcov, own) = (numbers(&r["vcov"]), fit.estimates.covariance());
    for row in 0..3 {
        for column in 0..3 {
            // Five parameters a row there.
            close("covariance", own[(row, column)], vcov[5 * row + column], 1e-6);
        }
    }
}

/// Two levels, nothing cut and nothing adjusted: each has its own mean and scatter, divisor n.
#[test]
fn without_bounds_each_level_has_its_own_mean_and_scatter() {
    let level = [0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0];
    let y = [10.0, 14.0, 12.0, 16.0, 40.0, 70.0, 10.0];
    let design = Design::new(7).intercept().unwrap().numeric("level", &level).unwrap();
    let times = CensoredTimes::right_censored(&y, &[true; 7]).unwrap();
    let fit = ScaleGaussian::fit(&design, "level", &times, LikelihoodErrors::Model).unwrap();
    assert!((fit.estimates.term("level").unwrap().estimate - 27.0).abs() < 1e-8);
    // Squared deviations 9 + 1 + 1 + 9 over 4, and 0 + 900 + 900 over 3.
    assert!((fit.sigma_at(0.0) - 5.0_f64.sqrt()).abs() < 1e-8);
    assert!((fit.sigma_at(1.0) - 600.0_f64.sqrt()).abs() < 1e-7);
}

#[test]
fn what_has_no_maximum_is_an_error() {
    let level = [0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0];
    let design = Design::new(7).intercept().unwrap().numeric("level", &level).unwrap();
    let fit = |y: &[f64], observed: &[bool]| {
        let times = CensoredTimes::right_censored(y, observed).unwrap();
        ScaleGaussian::fit(&design, "level", &times, LikelihoodErrors::Model)
    };
    let y = [10.0, 14.0, 12.0, 16.0, 40.0, 70.0, 10.0];
    let all = [true; 7];
    assert!(matches!(fit(&y, &[false; 7]), Err(StatsError::AllCensored { rows: 7 })));
    // A level of bounds alone, and one of equal values alone.
    let bounds = [true, true, true, true, false, false, false];
    assert!(matches!(fit(&y, &bounds), Err(StatsError::NoMaximum { .. })));
    let equal = [10.0, 14.0, 12.0, 16.0, 40.0, 40.0, 40.0];
    assert!(matches!(fit(&equal, &all), Err(StatsError::NoMaximum { .. })));
    let times = CensoredTimes::right_censored(&y, &all).unwrap();
    assert!(matches!(
        ScaleGaussian::fit(&design, "other", &times, LikelihoodErrors::Model),
        Err(StatsError::UnknownName { .. })
    ));
}

/// Where scatter is unequal and a third is cut, equal scatter leans; a scatter for each level does not. The
/// standard error of a mean of 400 differences is near 0.4 min.
#[test]
fn unequal_scatter_leans_only_where_it_is_taken_for_equal() {
    let mut random = ChaCha8Rng::seed_from_u64(3);
    let (mut with, mut without) = (0.0, 0.0);
    for _ in 0..400 {
        let level: Vec<f64> = (0..60).map(|row| f64::from(row % 2)).collect();
        let y: Vec<f64> = level
            .iter()
            .map(|level| {
                let z: f64 = StandardNormal.sample(&mut random);
                150.0 + if *level == 1.0 { 75.0 } else { 30.0 } * z
            })
            .collect();
        let observed: Vec<bool> = y.iter().map(|y| *y <= 150.0).collect();
        let cut: Vec<f64> = y.iter().map(|y| y.min(150.0)).collect();
        let design = Design::new(60).intercept().unwrap().numeric("level", &level).unwrap();
        let times = CensoredTimes::right_censored(&cut, &observed).unwrap();
        let own = ScaleGaussian::fit(&design, "level", &times, LikelihoodErrors::Model).unwrap();
        let one = CensoredGaussian::fit(&design, &times, LikelihoodErrors::Model).unwrap();
        with += own.estimates.term("level").unwrap().estimate / 400.0;
        without += one.estimates.term("level").unwrap().estimate / 400.0;
    }
    assert!(with.abs() < 3.0, "{with}");
    assert!(without < -8.0, "{without}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// A change of unit changes nothing but the unit.
    #[test]
    fn units_change_nothing(seed in any::<u64>(), factor in 0.01..100.0f64, shift in -1e3..1e3f64) {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let level: Vec<f64> = (0..24).map(|row| f64::from(row % 2)).collect();
        let y: Vec<f64> = level
            .iter()
            .map(|level| { let z: f64 = StandardNormal.sample(&mut random); 20.0 + (5.0 + 5.0 * level) * z })
            .collect();
        let observed: Vec<bool> = y.iter().map(|y| *y <= 27.0).collect();
        let cut: Vec<f64> = y.iter().map(|y| y.min(27.0)).collect();
        let fire: Vec<usize> = (0..24).map(|row| row / 2).collect();
        let design = Design::new(24).intercept().unwrap().numeric("level", &level).unwrap();
        let fit = |y: &[f64]| {
            let times = CensoredTimes::right_censored(y, &observed).unwrap();
            ScaleGaussian::fit(&design, "level", &times, LikelihoodErrors::Jackknife(&fire))
        };
        let moved: Vec<f64> = cut.iter().map(|y| factor * y + shift).collect();
        let (Ok(plain), Ok(moved)) = (fit(&cut), fit(&moved)) else { return Ok(()) };
        let (a, b) = (plain.estimates.term("level").unwrap(), moved.estimates.term("level").unwrap());
        let size = factor * (a.estimate.abs() + a.std_error);
        prop_assert!((b.estimate - factor * a.estimate).abs() < 1e-6 * size);
        prop_assert!((b.std_error - factor * a.std_error).abs() < 1e-6 * size);
        prop_assert!((a.df - b.df).abs() < 1e-4 * a.df);
    }
}

/// With nothing cut and one scatter, the estimates are those of least squares in large samples; here to a
/// hundredth of their standard error, with errors clustered by fire alike within a tenth.
#[test]
fn with_nothing_to_gain_it_is_least_squares() {
    let mut random = ChaCha8Rng::seed_from_u64(9);
    let n = 4000_usize;
    let level: Vec<f64> = (0..n).map(|row| (row % 2) as f64).collect();
    let y: Vec<f64> = level
        .iter()
        .map(|level| {
            let z: f64 = StandardNormal.sample(&mut random);
            7.0 + 2.0 * level + z
        })
        .collect();
    let fire: Vec<usize> = (0..n).map(|row| row / 4).collect();
    let design = Design::new(n).intercept().unwrap().numeric("level", &level).unwrap();
    let times = CensoredTimes::right_censored(&y, &vec![true; n]).unwrap();
    let own = ScaleGaussian::fit(&design, "level", &times, LikelihoodErrors::Jackknife(&fire));
    let own = own.unwrap().estimates.term("level").unwrap();
    let plain = LeastSquares::fit(&design, &y, ErrorKind::Clustered(&fire)).unwrap();
    let plain = plain.estimates.term("level").unwrap();
    assert!((own.estimate - plain.estimate).abs() < 0.01 * plain.std_error);
    assert!((own.std_error / plain.std_error - 1.0).abs() < 0.1);
}
