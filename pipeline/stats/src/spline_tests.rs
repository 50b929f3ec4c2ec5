use super::*;
use crate::{Design, ErrorKind, LeastSquares, Value};
use proptest::prelude::*;
use serde_json::Value as Json;
use std::path::PathBuf;

fn reference(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/stats").join(file)
}

#[track_caller]
fn close(what: &str, found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs() + 1e-10,
        "{what}: found {found:e}, expected {expected:e}"
    );
}

fn list(value: &Json) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

fn motorcycle() -> (Vec<f64>, Vec<f64>, Json, f64) {
    let (mut x, mut y) = (Vec::new(), Vec::new());
    for record in csv::Reader::from_path(reference("data/mcycle_rcs.csv")).unwrap().records() {
        let record = record.unwrap();
        x.push(record[0].parse().unwrap());
        y.push(record[1].parse().unwrap());
    }
    let text = std::fs::read_to_string(reference("expected/mcycle_rcs.json")).unwrap();
    let file: Json = serde_json::from_str(&text).unwrap();
    let relative = file["suggested_rtol"].as_f64().unwrap();
    (x, y, file["results"].clone(), relative)
}

/// Data of Silverman (1985); R 4.2.2 `lm` on Harrell's basis, `sandwich` (`mcycle_rcs.json`).
#[test]
fn restricted_spline_agrees_with_r() {
    let (x, y, r, relative) = motorcycle();
    let knots = quantile_knots(&x, 5).unwrap();
    for (found, expected) in knots.iter().zip(list(&r["knots"])) {
        close("knot", *found, expected, 1e-14);
    }
    let spline = CubicSpline::restricted(&knots).unwrap();
    for (&x, expected) in x.iter().zip(r["basis_first_rows"].as_array().unwrap()) {
        assert_eq!(spline.evaluate(x).unwrap(), list(expected));
    }
    let design = Design::new(x.len()).intercept().unwrap().spline("times", &spline, &x).unwrap();
    for (key, kind) in [
        ("se", ErrorKind::Classical),
        ("hc0_se", ErrorKind::Hc0),
        ("hc1_se", ErrorKind::Hc1),
        ("hc2_se", ErrorKind::Hc2),
        ("hc3_se", ErrorKind::Hc3),
    ] {
        let fit = LeastSquares::fit(&design, &y, kind).unwrap();
        for (term, name) in
            fit.estimates.terms().iter().zip(["(Intercept)", "s1", "s2", "s3", "s4"])
        {
            let found = term.coefficient;
            close(name, found.estimate, r["coef"][name].as_f64().unwrap(), relative);
            close(name, found.std_error, r[key][name].as_f64().unwrap(), relative);
            if key == "se" {
                close(name, found.p_value(), r["p"][name].as_f64().unwrap(), relative);
                let ends = list(&r["ci95"][name]);
                let interval = found.interval(0.95).unwrap();
                close(name, interval.lo, ends[0], relative);
                close(name, interval.hi, ends[1], relative);
            }
        }
        if key != "se" {
            continue;
        }
        close("rss", fit.residual_sum_of_squares, r["rss"].as_f64().unwrap(), relative);
        close("r²", fit.r_squared, r["r2"].as_f64().unwrap(), relative);
        let loglik = r["loglik"].as_f64().unwrap();
        close("loglik", fit.estimates.log_likelihood(), loglik, relative);
        for (at, expected) in list(&r["grid"]).into_iter().zip(list(&r["grid_fit"])) {
            let row = design.encode(&[("times", Value::Number(at))]).unwrap();
            let found = fit.estimates.predict(&[row]).unwrap()[0].estimate;
            close("fit", found, expected, relative);
        }
        let test = fit.estimates.joint_test(&["times[2]", "times[3]", "times[4]"]).unwrap();
        close("F", test.f, r["nonlinearity_F"].as_f64().unwrap(), relative);
        assert_eq!([test.df, test.residual_df], list(&r["nonlinearity_df"])[..]);
        let p = r["nonlinearity_p"].as_f64().unwrap();
        assert!((test.p_value / p - 1.0).abs() < relative, "{}", test.p_value);
    }
}

/// The natural basis spans the same curves: same residuals, predictions and errors of these,
/// between the knots and beyond; coefficients are heights above the first knot.
#[test]
fn natural_spline_is_the_same_curve() {
    let (x, y, r, relative) = motorcycle();
    let knots = quantile_knots(&x, 5).unwrap();
    let fit = |spline: &CubicSpline| {
        let design = Design::new(x.len()).intercept().unwrap().spline("t", spline, &x).unwrap();
        let fit = LeastSquares::fit(&design, &y, ErrorKind::Hc3).unwrap();
        (design, fit)
    };
    let (design, natural) = fit(&CubicSpline::natural(&knots).unwrap());
    let (other, restricted) = fit(&CubicSpline::restricted(&knots).unwrap());
    close("rss", natural.residual_sum_of_squares, r["rss"].as_f64().unwrap(), relative);
    let at = |design: &Design, fit: &LeastSquares, x: f64| {
        let row = design.encode(&[("t", Value::Number(x))]).unwrap();
        fit.estimates.predict(&[row]).unwrap()[0]
    };
    for x in [-40.0, 2.4, 6.72, 11.0, 16.0, 30.1, 49.0, 57.6, 200.0] {
        let (a, b) = (at(&design, &natural, x), at(&other, &restricted, x));
        close("mean", a.estimate, b.estimate, 1e-9);
        close("error", a.std_error, b.std_error, 1e-9);
    }
    let first = at(&design, &natural, knots[0]).estimate;
    for (term, &knot) in natural.estimates.terms()[1..].iter().zip(&knots[1..]) {
        let height = at(&design, &natural, knot).estimate - first;
        close("height", term.coefficient.estimate, height, 1e-10);
    }
}

/// R 4.2.2: `splinefun(c(0, 1, 3, 4), c(1, 2, 0, 5), method = "natural")` at these points.
#[test]
fn natural_spline_interpolates_as_in_r() {
    let spline = CubicSpline::natural(&[0.0, 1.0, 3.0, 4.0]).unwrap();
    for (x, expected) in SPLINEFUN {
        let heights = [1.0, -1.0, 4.0];
        let columns = spline.evaluate(x).unwrap();
        let value = 1.0 + columns.iter().zip(heights).map(|(c, h)| c * h).sum::<f64>();
        close("spline", value, expected, 1e-13);
    }
}

const SPLINEFUN: [(f64, f64); 8] = [
    (-1.0, -0.75),
    (0.0, 1.0),
    (0.25, 1.425_781_25),
    (1.0, 2.0),
    (1.7, 0.8905),
    (3.0, 0.0),
    (3.9, 4.376_25),
    (6.0, 17.5),
];

#[test]
fn bad_knots_are_named() {
    for build in [CubicSpline::restricted, CubicSpline::natural] {
        assert!(matches!(build(&[1.0, 2.0]), Err(StatsError::BadArgument { .. })));
        assert!(matches!(build(&[]), Err(StatsError::Empty { .. })));
        assert!(matches!(build(&[1.0, f64::NAN, 2.0]), Err(StatsError::NonFinite { row: 1, .. })));
        assert_eq!(
            build(&[1.0, 2.0, 2.0]).unwrap_err(),
            StatsError::NotIncreasing { what: "the knots".into(), row: 2 }
        );
    }
    assert!(quantile_knots(&[1.0, 2.0, 3.0], 8).is_err());
    assert!(matches!(quantile_knots(&[1.0; 9], 3), Err(StatsError::NotIncreasing { .. })));
    assert!(spanning_knots(&[1.0, 2.0], 2).is_err());
    assert_eq!(spanning_knots(&[4.0, 0.0, 2.0, 1.0, 3.0], 3).unwrap(), [0.0, 2.0, 4.0]);
    let spline = CubicSpline::natural(&[0.0, 1.0, 2.0]).unwrap();
    assert!(spline.evaluate(f64::INFINITY).is_err());
    assert!(Design::new(2).spline("x", &spline, &[1.0]).is_err());
    // Too few distinct values for so many knots is a collinear column.
    let x = [0.0, 0.0, 1.0, 1.0, 2.0, 2.0];
    let wide = CubicSpline::restricted(&[0.0, 0.5, 1.5, 2.0]).unwrap();
    let design = Design::new(6).intercept().unwrap().spline("x", &wide, &x).unwrap();
    assert!(matches!(
        LeastSquares::fit(&design, &[1.0, 2.0, 3.0, 5.0, 4.0, 4.0], ErrorKind::Classical),
        Err(StatsError::CollinearColumn { .. })
    ));
}

proptest! {
    /// Straight beyond the ends, smooth at the knots; shifting and scaling the axis moves the
    /// natural basis with it and changes nothing.
    #[test]
    fn straight_tails_and_no_kinks(
        gaps in prop::collection::vec(0.1f64..5.0, 2..6), start in -10.0f64..10.0,
        shift in -1e4f64..1e4, scale in prop::sample::select(vec![1e-6, 0.5, 1e9]),
    ) {
        let mut knots = vec![start];
        for gap in gaps {
            knots.push(knots[knots.len() - 1] + gap);
        }
        let last = knots[knots.len() - 1];
        for spline in
            [CubicSpline::restricted(&knots).unwrap(), CubicSpline::natural(&knots).unwrap()]
        {
            for (from, step) in [(last, 3.0), (start, -3.0)] {
                let at = |x: f64| spline.evaluate(x).unwrap();
                let (a, b, c) = (at(from), at(from + step), at(from + 2.0 * step));
                for ((a, b), c) in a.iter().zip(&b).zip(&c) {
                    prop_assert!((c - 2.0 * b + a).abs() < 1e-8 * (1.0 + b.abs() + c.abs()));
                }
            }
            for &knot in &knots {
                let h = 1e-5;
                let at = |x: f64| spline.evaluate(x).unwrap();
                let (a, b, c, d) = (at(knot - 2.0 * h), at(knot - h), at(knot + h), at(knot + 2.0 * h));
                for j in 0..a.len() {
                    let (left, right) = ((b[j] - a[j]) / h, (d[j] - c[j]) / h);
                    prop_assert!((left - right).abs() < 5e-2 * (1.0 + left.abs()));
                }
            }
        }
        let moved: Vec<f64> = knots.iter().map(|k| (k + shift) * scale).collect();
        let plain = CubicSpline::natural(&knots).unwrap();
        let other = CubicSpline::natural(&moved).unwrap();
        for x in [start - 1.0, start + 0.05, 0.5 * (start + last), last + 2.0] {
            let (a, b) = (plain.evaluate(x).unwrap(), other.evaluate((x + shift) * scale).unwrap());
            for (a, b) in a.iter().zip(&b) {
                prop_assert!((a - b).abs() < 1e-6 * (1.0 + a.abs()));
            }
        }
    }
}
