use super::*;
use crate::reference::{Table, close, expected, numbers};
use crate::{Design, ErrorKind, LeastSquares};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value as Json;

/// Intercept and slope.
fn line(x: &[&f64], y: &[f64]) -> Result<[f64; 2], StatsError> {
    let x: Vec<f64> = x.iter().map(|x| **x).collect();
    let design = Design::new(x.len()).intercept()?.numeric("x", &x)?;
    let fit = LeastSquares::fit(&design, y, ErrorKind::Classical)?;
    let coefficients = fit.estimates.coefficients();
    Ok([coefficients[0], coefficients[1]])
}

// The shape that the closures of a conformal interval have.
#[allow(clippy::unnecessary_wraps, clippy::trivially_copy_pass_by_ref)]
fn on_line(line: &[f64; 2], x: &f64) -> Result<f64, StatsError> {
    Ok(line[0] + line[1] * x)
}

fn compare(
    what: &str,
    results: &Json,
    new: &[f64],
    relative: f64,
    interval: impl Fn(&f64, f64) -> Interval,
) {
    for (alpha, case) in results.as_object().unwrap() {
        let level = 1.0 - alpha.parse::<f64>().unwrap();
        let (lower, upper) = (numbers(&case["lower"]), numbers(&case["upper"]));
        for (position, x) in new.iter().enumerate() {
            let found = interval(x, level);
            close(&format!("{what} {alpha} lower"), found.lo, lower[position], relative);
            close(&format!("{what} {alpha} upper"), found.hi, upper[position], relative);
        }
    }
}

/// numpy 2.4.6 after the definitions of Barber et al. (2021), on 50 and on 8 rows, where small alpha
/// must give infinite ends (`conformal_cars.json`, `conformal_tiny.json`).
#[test]
fn agrees_with_numpy() {
    for (set, folds) in [("conformal_cars", 10), ("conformal_tiny", 4)] {
        let (r, relative) = expected(set);
        let table = Table::read(set);
        let (x, y) = (table.numbers("speed"), table.numbers("dist"));
        let new = numbers(&r["new"]);
        let n = r["split"]["n_train"].as_u64().unwrap() as usize;
        let split =
            SplitConformal::fit((&x[..n], &y[..n]), (&x[n..], &y[n..]), line, on_line).unwrap();
        let mut scores = numbers(&r["split"]["calibration_scores"]);
        scores.sort_unstable_by(f64::total_cmp);
        for (found, expected) in split.scores().iter().zip(scores) {
            close("score", *found, expected, relative);
        }
        for (found, expected) in split.model().iter().zip(numbers(&r["split"]["coef"])) {
            close("coefficient", *found, expected, relative);
        }
        compare("split", &r["split"]["intervals"], &new, relative, |x, level| {
            split.interval(x, level).unwrap()
        });

        let jackknife = CrossConformal::leave_one_out(&x, &y, line, on_line).unwrap();
        let labels: Vec<usize> = (0..x.len()).map(|row| row % folds).collect();
        let cross = CrossConformal::folds(&x, &y, &labels, line, on_line).unwrap();
        for (conformal, key) in [(&jackknife, "loo_abs_residuals"), (&cross, "cv_abs_residuals")] {
            for (found, expected) in conformal.residuals().iter().zip(numbers(&r[key])) {
                close(key, *found, expected, relative);
            }
        }
        for (found, expected) in jackknife.model().iter().zip(numbers(&r["full_coef"])) {
            close("coefficient", *found, expected, relative);
        }
        for (key, conformal, kind) in [
            ("jackknife_plus", &jackknife, CrossKind::Plus),
            ("jackknife_minmax", &jackknife, CrossKind::MinMax),
            ("jackknife", &jackknife, CrossKind::Plain),
            ("cv_plus", &cross, CrossKind::Plus),
        ] {
            compare(key, &r[key], &new, relative, |x, level| {
                conformal.interval(x, level, kind).unwrap()
            });
        }
    }
}

/// The promises, on skewed errors and few rows.
#[test]
fn intervals_cover() {
    let mut random = ChaCha8Rng::seed_from_u64(17);
    let trials = 1_500;
    let (mut split, mut plus, mut minmax) = (0, 0, 0);
    for _ in 0..trials {
        let x: Vec<f64> = (0..20).map(|_| random.random()).collect();
        let mut outcome = |x: &f64| 3.0 * x - random.random::<f64>().ln();
        let y: Vec<f64> = x.iter().map(&mut outcome).collect();
        let (new, truth) = (x[19], y[19]);
        let (x, y) = (&x[..19], &y[..19]);
        let holds = |interval: Interval| u32::from((interval.lo..=interval.hi).contains(&truth));
        let halves = SplitConformal::fit((&x[..10], &y[..10]), (&x[10..], &y[10..]), line, on_line);
        split += holds(halves.unwrap().interval(&new, 0.8).unwrap());
        let jackknife = CrossConformal::leave_one_out(x, y, line, on_line).unwrap();
        plus += holds(jackknife.interval(&new, 0.8, CrossKind::Plus).unwrap());
        minmax += holds(jackknife.interval(&new, 0.8, CrossKind::MinMax).unwrap());
    }
    // 1200 expected where the promise is met exactly (standard deviation 15), as split does with
    // 9 calibration rows: 0.8 · 10 is whole.
    assert!((1_150..=1_250).contains(&split), "{split}");
    assert!(plus > 1_150 && minmax > plus, "{plus} {minmax}");
}

#[test]
fn hard_rows() {
    let middle = |_: &[&f64], y: &[f64]| crate::describe::median(y);
    let constant = |median: &f64, _: &f64| Ok(*median);
    let x = [0.0; 10];
    let flat = CrossConformal::leave_one_out(&x, &[2.0; 10], middle, constant).unwrap();
    for kind in [CrossKind::Plus, CrossKind::MinMax, CrossKind::Plain] {
        let interval = flat.interval(&0.0, 0.9, kind).unwrap();
        assert_eq!((interval.lo, interval.hi), (2.0, 2.0));
        let interval = flat.interval(&0.0, 0.99, kind).unwrap();
        assert_eq!((interval.lo, interval.hi), (f64::NEG_INFINITY, f64::INFINITY));
    }
    // 9 rows and 90 %: 0.9 · 10 is 9 however it is rounded.
    assert_eq!(upper(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0], 0.9), 9.0);
    assert_eq!(upper(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0], 1.0 - 0.3), 7.0);
    assert_eq!(upper(&[1.0, 2.0], 1e-12), 1.0);

    let two = CrossConformal::leave_one_out(&x[..2], &[1.0, 5.0], middle, constant).unwrap();
    assert!(two.interval(&0.0, 0.5, CrossKind::MinMax).unwrap().hi >= 5.0);
    let y = [1.0, 2.0, f64::NAN];
    assert!(CrossConformal::leave_one_out(&x[..3], &y, middle, constant).is_err());
    assert!(CrossConformal::leave_one_out(&x[..3], &[1.0], middle, constant).is_err());
    assert!(CrossConformal::leave_one_out(&x[..0], &[], middle, constant).is_err());
    assert!(matches!(
        CrossConformal::leave_one_out(&x[..1], &[1.0], middle, constant),
        Err(StatsError::TooFewClusters { found: 1 })
    ));
    let one_fold = CrossConformal::folds(&x[..2], &[1.0, 2.0], &["a", "a"], middle, constant);
    assert!(matches!(one_fold, Err(StatsError::TooFewClusters { .. })));
    let rows = (&x[..2], &[1.0, 2.0][..]);
    assert!(SplitConformal::fit(rows, (&x[..0], &[]), middle, constant).is_err());
    assert!(SplitConformal::fit((&x[..0], &[]), rows, middle, constant).is_err());
    let undefined = |_: &f64, _: &f64| Ok(f64::NAN);
    assert!(matches!(
        SplitConformal::fit(rows, rows, middle, undefined),
        Err(StatsError::NonFinite { .. })
    ));
    // A model that cannot be fitted on the rows left passes its error on.
    let tied = CrossConformal::leave_one_out(&x[..3], &[1.0, 2.0, 3.0], line, on_line);
    assert!(tied.is_err());
    let good = SplitConformal::fit(rows, rows, middle, constant).unwrap();
    for level in [0.0, 1.0, f64::NAN] {
        assert!(good.interval(&0.0, level).is_err());
        assert!(flat.interval(&0.0, level, CrossKind::Plus).is_err());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn follows_order_shift_and_scale(
        rows in prop::collection::vec((-10.0f64..10.0, -50.0f64..50.0), 6..16),
        shift in prop::sample::select(vec![0.0, 7.0, 1e6]),
        scale in prop::sample::select(vec![0.01, 4.0, 1e9]),
        level in 0.3f64..0.8,
    ) {
        let x: Vec<f64> = rows.iter().map(|r| r.0).collect();
        let y: Vec<f64> = rows.iter().map(|r| r.1).collect();
        let near = CrossConformal::leave_one_out(&x, &y, line, on_line);
        prop_assume!(near.is_ok());
        let near = near.unwrap();
        let turned: Vec<f64> = x.iter().rev().copied().collect();
        let moved: Vec<f64> = y.iter().rev().map(|y| (y + shift) * scale).collect();
        let far = CrossConformal::leave_one_out(&turned, &moved, line, on_line).unwrap();
        for kind in [CrossKind::Plus, CrossKind::MinMax, CrossKind::Plain] {
            let (a, b) =
                (near.interval(&1.5, level, kind).unwrap(), far.interval(&1.5, level, kind).unwrap());
            prop_assert!(a.lo <= a.hi);
            for (a, b) in [(a.lo, b.lo), (a.hi, b.hi)] {
                prop_assert!((b - (a + shift) * scale).abs() < 1e-7 * scale * (100.0 + shift + a.abs()));
            }
        }
        let plus = near.interval(&1.5, level, CrossKind::Plus).unwrap();
        let minmax = near.interval(&1.5, level, CrossKind::MinMax).unwrap();
        prop_assert!(minmax.lo <= plus.lo + 1e-9 && plus.hi <= minmax.hi + 1e-9);
    }
}

#[test]
fn weighted_quantiles_with_equal_weights_are_the_plain_ones() {
    let scores: Vec<(f64, f64)> = (1..=9).map(|score| (f64::from(10 - score), 2.0)).collect();
    // ⌈0.8 · 10⌉ = 8: the eighth smallest of nine.
    assert_eq!(weighted_quantile(&scores, 2.0, 0.8).unwrap(), 8.0);
    assert_eq!(weighted_quantile(&scores, 2.0, 0.95).unwrap(), f64::INFINITY);
    // Half of the weight lies on the score 3.
    assert_eq!(weighted_quantile(&[(3.0, 5.0), (1.0, 2.0), (9.0, 2.0)], 1.0, 0.5).unwrap(), 3.0);
    assert!(weighted_quantile(&[(3.0, 0.0)], 1.0, 0.5).is_err());
}
