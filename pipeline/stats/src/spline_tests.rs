use super::*;
use crate::reference::{Table, close_or_zero as close, expected, numbers as list};
use crate::{Design, ErrorKind, LeastSquares, Value};
use proptest::prelude::*;

/// Data of Silverman (1985); R 4.2.2 `lm` on Harrell's basis, `sandwich` (`mcycle_rcs.json`).
#[test]
fn restricted_spline_agrees_with_r() {
    let (r, relative) = expected("mcycle_rcs");
    let table = Table::read("mcycle_rcs");
    let (x, y) = (table.numbers("times"), table.numbers("accel"));
    let knots = quantile_knots(&x, 5).unwrap();
    for (found, expected) in knots.iter().zip(list(&r["knots"])) {
        close("knot", *found, expected, 1e-14);
    }
    let spline = CubicSpline::restricted(&knots).unwrap();
    for (&x, expected) in x.iter().zip(r["basis_first_rows"].as_array().unwrap()) {
        assert_eq!(spline.evaluate(x).unwrap(), list(expected));
    }
    let design = Design::new(x.len()).intercept().unwrap().spline("times", &spline, &x).unwrap();
    for (key, kind) in [("se", ErrorKind::Classical), ("hc3_se", ErrorKind::Hc3)] {
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

#[test]
fn bad_knots_are_named() {
    let build = CubicSpline::restricted;
    assert!(matches!(build(&[1.0, 2.0]), Err(StatsError::BadArgument { .. })));
    assert!(matches!(build(&[]), Err(StatsError::Empty { .. })));
    assert!(matches!(build(&[1.0, f64::NAN, 2.0]), Err(StatsError::NonFinite { row: 1, .. })));
    assert_eq!(
        build(&[1.0, 2.0, 2.0]).unwrap_err(),
        StatsError::NotIncreasing { what: "the knots".into(), row: 2 }
    );
    assert!(quantile_knots(&[1.0, 2.0, 3.0], 8).is_err());
    assert!(matches!(quantile_knots(&[1.0; 9], 3), Err(StatsError::NotIncreasing { .. })));
    let spline = CubicSpline::restricted(&[0.0, 1.0, 2.0]).unwrap();
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
    /// Straight beyond the ends, smooth at the knots.
    #[test]
    fn straight_tails_and_no_kinks(
        gaps in prop::collection::vec(0.1f64..5.0, 2..6), start in -10.0f64..10.0,
    ) {
        let mut knots = vec![start];
        for gap in gaps {
            knots.push(knots[knots.len() - 1] + gap);
        }
        let last = knots[knots.len() - 1];
        let spline = CubicSpline::restricted(&knots).unwrap();
        let at = |x: f64| spline.evaluate(x).unwrap();
        for (from, step) in [(last, 3.0), (start, -3.0)] {
            let (a, b, c) = (at(from), at(from + step), at(from + 2.0 * step));
            for ((a, b), c) in a.iter().zip(&b).zip(&c) {
                prop_assert!((c - 2.0 * b + a).abs() < 1e-8 * (1.0 + b.abs() + c.abs()));
            }
        }
        for &knot in &knots {
            let h = 1e-5;
            let (a, b, c, d) = (at(knot - 2.0 * h), at(knot - h), at(knot + h), at(knot + 2.0 * h));
            for j in 0..a.len() {
                let (left, right) = ((b[j] - a[j]) / h, (d[j] - c[j]) / h);
                prop_assert!((left - right).abs() < 5e-2 * (1.0 + left.abs()));
            }
        }
    }
}
