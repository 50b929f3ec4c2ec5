use super::*;
use crate::INTERCEPT;
use crate::estimates::Estimate;
use crate::reference::{Table, close, whole as expected};
use proptest::prelude::*;
use serde_json::Value as Json;

/// The first column is the outcome, the others the terms.
fn nist(set: &str) -> (Design, Vec<f64>) {
    let table = Table::read(set);
    let mut design = Design::new(table.rows()).intercept().unwrap();
    for name in &table.names()[1..] {
        design = design.numeric(name, &table.numbers(name)).unwrap();
    }
    (design, table.numbers(&table.names()[0]))
}

fn reference_name(term: &str) -> &str {
    if term == INTERCEPT { "(Intercept)" } else { term }
}

const KINDS: [(&str, ErrorKind<'static>); 2] =
    [("se", ErrorKind::Classical), ("hc3_se", ErrorKind::Hc3)];

/// NIST `StRD` data in exact rational arithmetic, rounded once (`nist_exact.json`), HC3
/// too. Found here to within 2e-14; what is left comes from reading decimal data such as 0.1 as
/// doubles.
#[test]
fn agrees_with_exact_arithmetic() {
    let exact = expected("nist_exact");
    let relative = exact["suggested_rtol"].as_f64().unwrap();
    for set in ["norris", "longley"] {
        let (design, y) = nist(set);
        let results = &exact["results"][set];
        for (key, kind) in KINDS {
            let fit = LeastSquares::fit(&design, &y, kind).unwrap();
            for (position, term) in fit.estimates.terms().iter().enumerate() {
                let Estimate { estimate, std_error, .. } = term.coefficient;
                let value = |key: &str| results[key][position].as_f64();
                close(&term.name, estimate, value("coef").unwrap(), relative);
                if let Some(exact) = value(key) {
                    close(&format!("{key} {}", term.name), std_error, exact, relative);
                }
            }
            let number = |key: &str| results[key].as_f64().unwrap();
            close("sd", fit.residual_variance.sqrt(), number("residual_sd"), relative);
            close("r2", fit.r_squared, number("r2"), relative);
        }
    }
}

/// NIST `StRD` certified values, and R 4.2.2 `lm` and sandwich (`norris.json`, `longley.json`). For
/// Longley R's HC standard errors are themselves off by up to 2e-8 of the exact ones, so they are
/// not compared.
#[test]
fn agrees_with_certified_values_and_r() {
    for set in ["norris", "longley"] {
        let (design, y) = nist(set);
        let file = expected(set);
        let relative = file["suggested_rtol"].as_f64().unwrap();
        let (r, certified) = (&file["results"], &file["results"]["certified"]);
        for (key, kind) in KINDS {
            let fit = LeastSquares::fit(&design, &y, kind).unwrap();
            for term in fit.estimates.terms() {
                let name = reference_name(&term.name);
                let found = term.coefficient;
                let number = |source: &Json, key: &str| source[key][name].as_f64().unwrap();
                close(name, found.estimate, number(r, "coef"), relative);
                if set == "norris" || kind == ErrorKind::Classical {
                    close(key, found.std_error, number(r, key), relative);
                }
                if kind != ErrorKind::Classical {
                    continue;
                }
                // Certified to 15 digits.
                close(name, found.estimate, number(certified, "coef"), 2e-14);
                close(key, found.std_error, number(certified, "se"), 2e-14);
                close("t", found.statistic(), number(r, "t"), relative);
                close("p", found.p_value(), number(r, "p"), relative);
                let interval = found.interval(0.95).unwrap();
                let ends = &r["ci95"][name];
                close("lo", interval.lo, ends[0].as_f64().unwrap(), relative);
                close("hi", interval.hi, ends[1].as_f64().unwrap(), relative);
                assert_eq!(found.df, r["df_residual"].as_f64().unwrap());
            }
            let loglik = r["loglik"].as_f64().unwrap();
            close("loglik", fit.estimates.log_likelihood(), loglik, relative);
        }
    }
}

/// `norris.json`, R's `predict`: mean, its standard error and 90 % band at x = 100, 500, 1100.
#[test]
fn predictions_agree_with_r() {
    let (design, y) = nist("norris");
    let file = expected("norris");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    let fit = LeastSquares::fit(&design, &y, ErrorKind::Classical).unwrap();
    let band = &file["results"]["predict90"];
    let rows = [[1.0, 100.0], [1.0, 500.0], [1.0, 1100.0]];
    for (row, found) in fit.estimates.predict(&rows).unwrap().iter().enumerate() {
        let number = |key: &str| band[key][row].as_f64().unwrap();
        let interval = found.interval(0.90).unwrap();
        close("fit", found.estimate, number("fit"), relative);
        close("se", found.std_error, number("se_fit"), relative);
        close("lo", interval.lo, number("ci_lower"), relative);
        close("hi", interval.hi, number("ci_upper"), relative);
    }
}

/// Outcome, design and places of `mixed_unbalanced`.
fn unbalanced() -> (Vec<f64>, Design, Vec<usize>) {
    let table = Table::read("mixed_unbalanced");
    let y = table.numbers("y");
    let design = Design::new(y.len())
        .intercept()
        .unwrap()
        .numeric("x", &table.numbers("x"))
        .unwrap()
        .factor("kind", &table.text("kind"))
        .unwrap()
        .numeric("altitude", &table.numbers("altitude"))
        .unwrap();
    (y, design, table.labels("place"))
}

/// R 4.2.2, sandwich 3.0-2: HC3 with a factor; script `make/clustered_least_squares.R`.
#[test]
fn hc3_with_a_factor_agrees_with_r() {
    let (y, design, _) = unbalanced();
    let file = expected("clustered_least_squares");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    let fit = LeastSquares::fit(&design, &y, ErrorKind::Hc3).unwrap();
    let r = &file["results"];
    for (position, found) in fit.estimates.coefficients().iter().enumerate() {
        close("coefficient", *found, r["coef"][position].as_f64().unwrap(), relative);
    }
    for (position, found) in fit.estimates.covariance().iter().enumerate() {
        close("hc3_vcov", *found, r["hc3_vcov"][position].as_f64().unwrap(), relative);
    }
}

/// R 4.2.2, clubSandwich 0.5.8: CR2 and Satterthwaite's degrees of freedom with an exchangeable target of given τ;
/// script `make/exchangeable_least_squares.R`.
#[test]
fn an_exchangeable_working_covariance_agrees_with_clubsandwich() {
    let (y, design, places) = unbalanced();
    let file = expected("exchangeable_least_squares");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    let r = &file["results"];
    let clusters = Clusters::new(&places, y.len()).unwrap();
    let basis = Orthogonal::new(&design).unwrap();
    let mut residuals: Vec<DoubleDouble> = y.iter().map(|&y| DoubleDouble::from(y)).collect();
    basis.project_out(&mut residuals);
    let own = Robust::new(&basis, &clusters, &residuals, r["tau"].as_f64().unwrap()).unwrap();
    let inner: Vec<DoubleDouble> =
        own.clusters.middle(&own.scores).iter().map(|&v| DoubleDouble::from(v)).collect();
    for (position, found) in basis.covariance(&inner).iter().enumerate() {
        close("vcov", found.value(), r["vcov"][position].as_f64().unwrap(), relative);
    }
    let to_coordinates = basis.to_coordinates();
    for term in 0..5 {
        let found = own.clusters.df(&to_coordinates.column(term).into_owned());
        close("df", found, r["df"][term].as_f64().unwrap(), relative);
    }
}

/// Where rows share nothing with their cluster, or each is its own, nothing changes; where they do, the errors
/// of what is the cluster's come out wider.
#[test]
fn what_clusters_share_widens_what_is_theirs() {
    let x: Vec<f64> = (0..24).map(|row| f64::from(row / 4 % 2)).collect();
    let place: Vec<usize> = (0..24).map(|row| row / 4).collect();
    let design = Design::new(24).intercept().unwrap().numeric("x", &x).unwrap();
    let fit = |y: &[f64], errors: ErrorKind<'_>| {
        LeastSquares::fit(&design, y, errors).unwrap().estimates.term("x").unwrap()
    };
    let ripple = |row: usize| [1.0, -1.0, 0.5, -0.5][row % 4];
    let alone: Vec<f64> = (0..24).map(ripple).collect();
    assert_eq!(
        fit(&alone, ErrorKind::Clustered(&place)),
        fit(&alone, ErrorKind::Exchangeable(&place))
    );
    let sizes = [1, 1, 2, 4, 6, 10];
    let place: Vec<usize> =
        sizes.iter().enumerate().flat_map(|(own, &size)| vec![own; size]).collect();
    let x: Vec<f64> = place.iter().map(|own| f64::from(u8::from(own % 2 == 0))).collect();
    let design = Design::new(24).intercept().unwrap().numeric("x", &x).unwrap();
    let shift = [3.0, -4.0, 2.0, 5.0, -3.0, 1.0];
    let y: Vec<f64> =
        place.iter().enumerate().map(|(row, &own)| shift[own] + ripple(row)).collect();
    let fit = |errors: ErrorKind<'_>| {
        LeastSquares::fit(&design, &y, errors).unwrap().estimates.term("x").unwrap()
    };
    let (plain, exchangeable) =
        (fit(ErrorKind::Clustered(&place)), fit(ErrorKind::Exchangeable(&place)));
    assert_eq!(plain.estimate, exchangeable.estimate);
    assert!(exchangeable.interval(0.9).unwrap().hi > plain.interval(0.9).unwrap().hi);
}

fn small() -> (Design, Vec<f64>) {
    let x = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
    let design = Design::new(6).intercept().unwrap().numeric("x", &x).unwrap();
    (design, vec![1.0, 2.5, 2.0, 4.5, 4.0, 6.5])
}

#[test]
fn bad_designs_are_named() {
    let y = [1.0, 3.0, 2.0, 5.0];
    let base = Design::new(4).intercept().unwrap();
    let fit = |design: &Design| LeastSquares::fit(design, &y, ErrorKind::Hc3).unwrap_err();

    let constant = base.clone().numeric("pit", &[1e9; 4]).unwrap();
    assert_eq!(fit(&constant), StatsError::ConstantColumn { term: "pit".into() });

    let kg = [5.1, 6.3, 7.2, 4.4];
    let lb = kg.map(|x| x / 0.453_592_37 + 3.0);
    let twins = base.clone().numeric("kg", &kg).unwrap().numeric("lb", &lb).unwrap();
    let error = fit(&twins);
    assert_eq!(error.to_string(), "the column lb follows from kg: leave one of them out");

    // A copy with the noise of single precision is a copy; one with noise of its own is not.
    for (noise, is_copy) in [(1e-9, true), (1e-5, false)] {
        let near = [kg[0], kg[1] + noise, kg[2], kg[3] - noise];
        let near = base.clone().numeric("kg", &kg).unwrap().numeric("near", &near).unwrap();
        let found = LeastSquares::fit(&near, &y, ErrorKind::Classical);
        assert_eq!(matches!(found, Err(StatsError::CollinearColumn { .. })), is_copy);
    }

    let levels = ["a", "b", "a", "b"];
    let groups = base
        .clone()
        .factor("pit", &levels)
        .unwrap()
        .numeric("other", &[1.0, 0.0, 1.0, 0.0])
        .unwrap();
    assert_eq!(
        fit(&groups),
        StatsError::CollinearColumn { term: "other".into(), with: vec!["pit[b]".into()] }
    );

    let few = base.clone().numeric("a", &kg).unwrap().factor("b", &["p", "q", "r", "s"]).unwrap();
    assert!(matches!(fit(&few), StatsError::TooFewRows { needed: 6, found: 4, .. }));
    assert!(matches!(fit(&Design::new(4)), StatsError::Empty { .. }));

    let lone = base.factor("wood", &["ash", "elm", "ash", "ash"]).unwrap();
    assert_eq!(fit(&lone), StatsError::FullLeverage { rows: vec![1] });
    assert!(LeastSquares::fit(&lone, &y, ErrorKind::Classical).is_ok());
}

#[test]
fn bad_outcomes_and_clusters_are_named() {
    let (design, mut y) = small();
    let one = ErrorKind::Clustered(&[4; 6]);
    assert_eq!(
        LeastSquares::fit(&design, &y, one).unwrap_err(),
        StatsError::TooFewClusters { found: 1 }
    );
    let short = ErrorKind::Clustered(&[4; 5]);
    assert!(LeastSquares::fit(&design, &y, short).is_err());
    assert!(LeastSquares::fit(&design, &y[..5], ErrorKind::Hc3).is_err());
    y[3] = f64::INFINITY;
    assert!(matches!(
        LeastSquares::fit(&design, &y, ErrorKind::Hc3).unwrap_err(),
        StatsError::NonFinite { row: 3, .. }
    ));
}

#[test]
fn exact_fit_has_no_error_and_no_nan() {
    let (design, _) = small();
    let y = [2.0, 5.0, 8.0, 11.0, 14.0, 17.0];
    let fit = LeastSquares::fit(&design, &y, ErrorKind::Hc3).unwrap();
    let slope = fit.estimates.term("x").unwrap();
    assert_eq!((slope.estimate, slope.std_error, slope.p_value()), (3.0, 0.0, 0.0));
    assert_eq!(fit.estimates.log_likelihood(), f64::INFINITY);
    assert_eq!(fit.r_squared, 1.0);

    let flat = LeastSquares::fit(&design, &[3.3; 6], ErrorKind::Classical).unwrap();
    let slope = flat.estimates.term("x").unwrap();
    assert_eq!((slope.estimate, slope.statistic(), slope.p_value()), (0.0, 0.0, 1.0));
    assert_eq!(flat.r_squared, 0.0);
}

#[test]
fn extreme_sizes_are_refused_not_turned_into_nan() {
    let x: Vec<f64> = (0..6).map(|i| f64::from(i * i) * 1e-200).collect();
    let design = Design::new(6).intercept().unwrap().numeric("x", &x).unwrap();
    let y = [1e58, -2e58, 3e58, 1e58, 0.0, 5e58];
    assert!(matches!(
        LeastSquares::fit(&design, &y, ErrorKind::Hc3).unwrap_err(),
        StatsError::Overflow { .. }
    ));
    assert!(Design::new(1).numeric("x", &[1e61]).is_err());
}

/// Where the intercept stands in the design does not matter, to the rank test either.
#[test]
fn the_intercept_may_come_last() {
    let x = [1.7e12, 1.7e12 + 4.0, 1.7e12 + 9.0, 1.7e12 + 30.0, 1.7e12 + 31.0];
    let z = [3.0, 1.0, 4.0, 1.0, 5.0];
    let y = [1.0, 2.0, 2.5, 7.0, 8.0];
    let terms = |design: Design| design.numeric("x", &x).unwrap().numeric("z", &z).unwrap();
    let first = terms(Design::new(5).intercept().unwrap());
    let last = terms(Design::new(5)).intercept().unwrap();
    let first = LeastSquares::fit(&first, &y, ErrorKind::Hc3).unwrap();
    let last = LeastSquares::fit(&last, &y, ErrorKind::Hc3).unwrap();
    assert_eq!(last.estimates.names(), ["x", "z", INTERCEPT]);
    for name in ["x", "z", INTERCEPT] {
        assert_eq!(first.estimates.term(name).unwrap(), last.estimates.term(name).unwrap());
    }
    assert_eq!(first.estimates.covariance()[(0, 2)], last.estimates.covariance()[(2, 1)]);

    let constant = Design::new(5).numeric("pit", &[7.0; 5]).unwrap().intercept().unwrap();
    assert_eq!(
        LeastSquares::fit(&constant, &y, ErrorKind::Hc3).unwrap_err(),
        StatsError::ConstantColumn { term: "pit".into() }
    );
}

/// Instants in milliseconds since 1970 as a regressor: far from zero, yet nothing is lost.
#[test]
fn columns_far_from_zero_lose_nothing() {
    let (near, y) = small();
    let far_x: Vec<f64> = near.columns()[1].iter().map(|x| x * 1024.0 + 1.7e12).collect();
    let far = Design::new(6).intercept().unwrap().numeric("x", &far_x).unwrap();
    let a = LeastSquares::fit(&near, &y, ErrorKind::Hc3).unwrap();
    let b = LeastSquares::fit(&far, &y, ErrorKind::Hc3).unwrap();
    let (slope, far_slope) = (a.estimates.term("x").unwrap(), b.estimates.term("x").unwrap());
    close("slope", far_slope.estimate * 1024.0, slope.estimate, 1e-14);
    close("error", far_slope.std_error * 1024.0, slope.std_error, 1e-14);
    let near_mean = a.estimates.predict(&[[1.0, 7.0]]).unwrap()[0];
    let far_mean = b.estimates.predict(&[[1.0, 7.0 * 1024.0 + 1.7e12]]).unwrap()[0];
    close("mean", far_mean.estimate, near_mean.estimate, 1e-14);
    close("its error", far_mean.std_error, near_mean.std_error, 1e-14);
}

proptest! {
    /// y → a + b·y moves every coefficient by b, the intercept by a too, and standard errors by
    /// |b|; x → c + d·x divides its slope by d and leaves fitted values.
    #[test]
    fn equivariant_to_shift_and_scale(
        rows in prop::collection::vec((-50.0f64..50.0, -9.0f64..9.0, -100.0f64..100.0), 6..30),
        a in -1e3f64..1e3, b in prop::sample::select(vec![-7.5, -0.01, 0.3, 400.0]),
        c in -1e3f64..1e3, d in prop::sample::select(vec![-20.0, -0.5, 0.02, 3.0]),
    ) {
        let column = |f: &dyn Fn(&(f64, f64, f64)) -> f64| rows.iter().map(f).collect::<Vec<f64>>();
        let design = |x: &[f64]| Design::new(rows.len())
            .intercept().unwrap()
            .numeric("x", x).unwrap()
            .numeric("z", &column(&|r| r.1)).unwrap();
        let x = column(&|r| r.0);
        let moved_x = column(&|r| c + d * r.0);
        let y = column(&|r| r.2);
        let moved_y = column(&|r| a + b * r.2);
        let kind = ErrorKind::Classical;
        let (Ok(plain), Ok(moved)) = (
            LeastSquares::fit(&design(&x), &y, kind),
            LeastSquares::fit(&design(&moved_x), &moved_y, kind),
        ) else { return Ok(()) };
        let scale = y.iter().fold(1.0, |m: f64, v| m.max(v.abs()));
        for (name, factor) in [("x", b / d), ("z", b)] {
            let p = plain.estimates.term(name).unwrap();
            let m = moved.estimates.term(name).unwrap();
            prop_assert!((m.estimate - factor * p.estimate).abs() <= 1e-7 * factor.abs() * (scale + p.estimate.abs()));
            prop_assert!((m.std_error - factor.abs() * p.std_error).abs() <= 1e-7 * factor.abs() * (scale + p.std_error));
        }
        for (p, m) in plain.residuals.iter().zip(&moved.residuals) {
            prop_assert!((m - b * p).abs() <= 1e-8 * (b.abs() * scale + a.abs()));
        }
    }

    /// The normal equations hold: every column is orthogonal to the residuals.
    #[test]
    fn residuals_are_orthogonal_to_the_columns(
        rows in prop::collection::vec((-50.0f64..50.0, -100.0f64..100.0), 5..40),
    ) {
        let x: Vec<f64> = rows.iter().map(|r| r.0).collect();
        let y: Vec<f64> = rows.iter().map(|r| r.1).collect();
        let design = Design::new(rows.len()).intercept().unwrap().numeric("x", &x).unwrap();
        let fit = LeastSquares::fit(&design, &y, ErrorKind::Classical);
        prop_assume!(fit.is_ok());
        let fit = fit.unwrap();
        for column in design.columns() {
            let product: f64 = column.iter().zip(&fit.residuals).map(|(x, e)| x * e).sum();
            prop_assert!(product.abs() < 1e-9);
        }
    }
}
