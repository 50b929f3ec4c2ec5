use super::*;
use crate::SurvivalCurve;
use crate::survival::reference::{Table, close, expected, number, numbers};
use proptest::prelude::*;
use serde_json::Value as Json;

const TRANSFORMS: [(&str, TimeTransform); 4] = [
    ("km", TimeTransform::KaplanMeier),
    ("identity", TimeTransform::Identity),
    ("rank", TimeTransform::Rank),
    ("log", TimeTransform::Log),
];

fn ties(name: &str) -> Ties {
    if name == "breslow" { Ties::Breslow } else { Ties::Efron }
}

/// Compares everything that the file holds about one fit; concordance and R's robust score test are
/// not built here.
fn agrees(what: &str, fit: &Cox, expected: &Json, relative: f64) {
    let of = |key: &str| number(&expected[key]);
    assert_eq!(fit.n as f64, of("n"), "{what}");
    assert_eq!(fit.events as f64, of("events"), "{what}");
    let robust = fit.clusters.is_some();
    let covariance = fit.estimates.covariance();
    for (j, term) in fit.estimates.terms().iter().enumerate() {
        let at = |key: &str| match &expected[key] {
            Json::Array(list) => number(&list[j]),
            map => number(&map[&term.name]),
        };
        let about = |key: &str| format!("{what} {key} {}", term.name);
        let found = term.coefficient;
        close(&about("coef"), found.estimate, at("coef"), relative);
        close(&about("hr"), found.estimate.exp(), at("hr"), relative);
        close(&about("se"), fit.model_covariance()[(j, j)].sqrt(), at("se_model"), relative);
        if robust {
            close(&about("robust se"), found.std_error, at("se_robust_cluster"), relative);
        }
        close(&about("z"), found.statistic(), at("z"), relative);
        close(&about("p"), found.p_value(), at("p"), relative);
        for (k, value) in numbers(&expected["vcov"][j]).into_iter().enumerate() {
            close(&about("vcov"), covariance[(j, k)], value, relative);
        }
        if robust {
            for (k, value) in numbers(&expected["naive_vcov"][j]).into_iter().enumerate() {
                close(&about("naive"), fit.model_covariance()[(j, k)], value, relative);
            }
        }
    }
    close(what, fit.estimates.log_likelihood(), of("loglik"), relative);
    close(what, fit.null_log_likelihood, of("loglik_null"), relative);
    close("score", fit.score_test().statistic, of("score_test"), relative);
    close("wald", fit.wald_test().unwrap().statistic, of("wald_test"), relative);
    close("lr", fit.likelihood_ratio_test().statistic, of("lr_test"), relative);
    if let Some(tests) = expected["cox_zph"].as_object() {
        for (key, transform) in TRANSFORMS {
            let test = &tests[key];
            let found = fit.proportional_hazards_test(transform);
            if test.is_null() {
                // A subject with an event at time zero has no logarithm.
                assert!(matches!(found, Err(StatsError::NotPositive { .. })), "{what} {key}");
                continue;
            }
            let found = found.unwrap();
            let all = found.terms.iter().map(|(name, test)| (name.as_str(), *test));
            for (i, (name, single)) in all.chain([("GLOBAL", found.global)]).enumerate() {
                let about = format!("{what} {key} {name}");
                assert_eq!(test["term"][i], name);
                close(&about, single.statistic, number(&test["chisq"][i]), relative);
                assert_eq!(single.df as f64, number(&test["df"][i]));
                close(&about, single.p_value(), number(&test["p"][i]), relative);
            }
        }
    }
    if let Some(times) = expected.get("baseline_cumhaz_at_zero") {
        let baseline = fit.baseline().unwrap().remove(0);
        for (time, hazard) in numbers(&times["time"]).into_iter().zip(numbers(&times["cumhaz"])) {
            let after = baseline.times.partition_point(|&t| t <= time);
            let found = after.checked_sub(1).map_or(0.0, |i| baseline.cumulative_hazard[i]);
            close(&format!("{what} baseline at {time}"), found, hazard, relative);
        }
    }
}

/// Stanford heart transplant data (Crowley & Hu 1977), R survival 3.5.3.
#[test]
fn agrees_with_r_on_heart_transplants() {
    let (results, relative) = expected("stanford_heart");
    let heart = Table::read("stanford_heart");
    let followup = Followup::start_stop(
        &heart.numbers("start"),
        &heart.numbers("stop"),
        &heart.flags("event"),
    )
    .unwrap();
    let id = heart.labels("id");
    let product = |a: &str, b: &str| -> Vec<f64> {
        heart.numbers(a).iter().zip(heart.numbers(b)).map(|(a, b)| a * b).collect()
    };
    let interactions = heart
        .design(&["age", "surgery", "transplant"])
        .numeric("age:transplant", &product("age", "transplant"))
        .unwrap()
        .numeric("surgery:transplant", &product("surgery", "transplant"))
        .unwrap();
    let full = heart.design(&["age", "year", "surgery", "transplant"]);
    let jasa = Table::read("stanford_jasa");
    let whole = Followup::right_censored(&jasa.numbers("futime"), &jasa.flags("fustat")).unwrap();
    let mut compared = 0;
    for (model, design, followup, errors) in [
        ("time_dependent_transplant", &full, &followup, CoxErrors::Model),
        (
            "time_dependent_transplant_only",
            &heart.design(&["transplant"]),
            &followup,
            CoxErrors::Model,
        ),
        ("time_dependent_interactions", &interactions, &followup, CoxErrors::Model),
        ("time_dependent_cluster_robust", &full, &followup, CoxErrors::Clustered(&id)),
        ("naive_ever_transplanted", &jasa.design(&["transplant"]), &whole, CoxErrors::Model),
        (
            "naive_ever_transplanted_adjusted",
            &jasa.design(&["age_at_accept", "surgery", "transplant"]),
            &whole,
            CoxErrors::Model,
        ),
    ] {
        for (kind, expected) in results[model].as_object().unwrap() {
            let options = CoxOptions { ties: ties(kind), errors, ..CoxOptions::default() };
            let fit = Cox::fit(design, followup, &options).unwrap();
            agrees(&format!("{model} {kind}"), &fit, expected, relative);
            compared += 1;
        }
    }
    assert_eq!(compared, 10);

    // Those alive at day 30, grouped by whether they had their transplant by then.
    let (futime, wait) = (jasa.numbers("futime"), jasa.numbers("wait_time"));
    let alive: Vec<usize> = (0..futime.len()).filter(|&i| futime[i] >= 30.0).collect();
    let early: Vec<f64> = alive.iter().map(|&i| f64::from(u8::from(wait[i] <= 30.0))).collect();
    let landmark = &results["landmark_day30"];
    assert_eq!(early.iter().sum::<f64>(), number(&landmark["treated_by_landmark"]));
    let died = jasa.flags("fustat");
    let followup = Followup::right_censored(
        &alive.iter().map(|&i| futime[i] - 30.0).collect::<Vec<_>>(),
        &alive.iter().map(|&i| died[i]).collect::<Vec<_>>(),
    )
    .unwrap();
    let design = Design::new(alive.len()).numeric("early", &early).unwrap();
    let fit = Cox::fit(&design, &followup, &CoxOptions::default()).unwrap();
    agrees("landmark", &fit, &landmark["efron"], relative);
}

/// Recurrent bladder tumours (Wei, Lin & Weissfeld 1989), R survival 3.5.3: clusters and strata.
#[test]
fn agrees_with_r_on_recurrent_tumours() {
    let (results, relative) = expected("bladder_recurrent");
    let table = Table::read("bladder_recurrent");
    let followup = Followup::start_stop(
        &table.numbers("start"),
        &table.numbers("stop"),
        &table.flags("event"),
    )
    .unwrap();
    let design = table.design(&["rx", "number", "size"]);
    let (id, order) = (table.labels("id"), table.labels("enum"));
    for (model, kind, strata) in [
        ("andersen_gill", "efron", None),
        ("pwp_stratified", "efron", Some(order.as_slice())),
        ("ag_breslow", "breslow", None),
    ] {
        let options = CoxOptions {
            ties: ties(kind),
            strata,
            errors: CoxErrors::Clustered(&id),
            ..CoxOptions::default()
        };
        let fit = Cox::fit(&design, &followup, &options).unwrap();
        agrees(model, &fit, &results[model][kind], relative);
    }
}

fn matrix_close(what: &str, found: &DMatrix<f64>, expected: &Json, relative: f64) {
    for row in 0..found.nrows() {
        for (column, value) in numbers(&expected[row]).into_iter().enumerate() {
            close(&format!("{what} [{row}, {column}]"), found[(row, column)], value, relative);
        }
    }
}

fn list_close(what: &str, found: &[f64], expected: &Json, relative: f64) {
    let expected = numbers(expected);
    assert_eq!(found.len(), expected.len(), "{what}");
    for (i, (found, expected)) in found.iter().zip(expected).enumerate() {
        close(&format!("{what} [{i}]"), *found, expected, relative);
    }
}

fn curve_close(what: &str, curve: &SurvivalCurve, times: &Json, expected: &Json, relative: f64) {
    let points: Vec<_> = numbers(times).into_iter().map(|t| curve.at(t).unwrap()).collect();
    let survival: Vec<f64> = points.iter().map(|point| point.survival).collect();
    let error: Vec<f64> = points.iter().map(|point| point.std_error).collect();
    list_close(what, &survival, &expected["surv"], relative);
    list_close(what, &error, &expected["std_err"], relative);
}

struct Rows {
    followup: Followup,
    design: Design,
    weight: Vec<f64>,
    stratum: Vec<usize>,
    id: Vec<usize>,
}

fn synthetic() -> Rows {
    let table = Table::read("survival_rows");
    Rows {
        followup: Followup::start_stop(
            &table.numbers("start"),
            &table.numbers("stop"),
            &table.flags("event"),
        )
        .unwrap(),
        design: table.design(&["x", "z"]),
        weight: table.numbers("weight"),
        stratum: table.labels("stratum"),
        id: table.labels("id"),
    }
}

/// Weights, late entry, ties, strata; curves and residuals. R survival 3.5.3 (`make/survival.R`).
#[test]
fn agrees_with_r_on_weights_curves_and_residuals() {
    let (results, relative) = expected("survival_rows");
    let Rows { followup, design, weight, stratum, id } = synthetic();
    for kind in ["efron", "breslow"] {
        let expected = &results["cox"][kind];
        let weighted =
            CoxOptions { ties: ties(kind), weights: Some(&weight), ..CoxOptions::default() };
        let fit = Cox::fit(&design, &followup, &weighted).unwrap();
        list_close("coef", &fit.estimates.coefficients(), &expected["coef"], relative);
        matrix_close("vcov", &fit.estimates.covariance(), &expected["vcov"], relative);
        close(kind, fit.estimates.log_likelihood(), number(&expected["loglik"]), relative);
        let row = [0.7, -0.3];
        let curve = fit.survival(&row, None).unwrap();
        curve_close("curve", &curve, &expected["times"], &expected["curve"], relative);
        list_close("m", &fit.martingale_residuals(), &expected["martingale"], relative);
        list_close("d", &fit.deviance_residuals(), &expected["deviance"], relative);
        matrix_close("score", &fit.score_residuals(), &expected["score"], relative);
        matrix_close("dfbeta", &fit.dfbeta(), &expected["dfbeta"], relative);

        let rows: Vec<Vec<f64>> = (0..design.rows()).map(|i| design.row(i).unwrap()).collect();
        let mean = fit.standardised_survival(&rows, None, None).unwrap();
        let times = numbers(&expected["times"]);
        let at: Vec<f64> = times.iter().map(|&t| mean.at(t).unwrap().survival).collect();
        list_close("mean curve", &at, &expected["mean_curve"], relative);

        let clustered = CoxOptions { errors: CoxErrors::Clustered(&id), ..weighted };
        let fit = Cox::fit(&design, &followup, &clustered).unwrap();
        matrix_close("robust", &fit.estimates.covariance(), &expected["robust_vcov"], relative);
        let curve = fit.survival(&row, None).unwrap();
        curve_close("robust", &curve, &expected["times"], &expected["robust_curve"], relative);

        let stratified =
            CoxOptions { ties: ties(kind), strata: Some(&stratum), ..CoxOptions::default() };
        let fit = Cox::fit(&design, &followup, &stratified).unwrap();
        list_close("strata", &fit.estimates.coefficients(), &expected["strata_coef"], relative);
        matrix_close("strata", &fit.estimates.covariance(), &expected["strata_vcov"], relative);
        close(kind, fit.estimates.log_likelihood(), number(&expected["strata_loglik"]), relative);
        let curve = fit.survival(&row, Some(2)).unwrap();
        curve_close("strata", &curve, &expected["times"], &expected["strata_curve"], relative);
        assert!(matches!(fit.survival(&row, None), Err(StatsError::UnknownName { .. })));
    }
}

/// Separated data by Firth's penalty, against a maximum found by numerical derivatives in R.
#[test]
fn firth_agrees_with_r() {
    let (results, relative) = expected("cox_firth");
    let table = Table::read("cox_firth");
    let followup = Followup::right_censored(&table.numbers("time"), &table.flags("event")).unwrap();
    for (key, kind, names) in [
        ("efron", "efron", vec!["a", "b"]),
        ("breslow", "breslow", vec!["a", "b"]),
        ("single", "efron", vec!["a"]),
    ] {
        let design = table.design(&names);
        let plain = CoxOptions { ties: ties(kind), ..CoxOptions::default() };
        assert_eq!(
            Cox::fit(&design, &followup, &plain).unwrap_err(),
            StatsError::MonotoneLikelihood { term: "a".into() }
        );
        let options = CoxOptions { penalty: Penalty::Firth, ..plain };
        let fit = Cox::fit(&design, &followup, &options).unwrap();
        let expected = &results[key];
        list_close(key, &fit.estimates.coefficients(), &expected["coef"], relative);
        matrix_close(key, &fit.estimates.covariance(), &expected["vcov"], relative);
        close(key, fit.estimates.log_likelihood(), number(&expected["loglik"]), relative);
        close(key, fit.null_log_likelihood, number(&expected["loglik_null"]), relative);
    }
}

#[test]
fn standard_error_of_a_mean_curve_is_that_of_its_derivatives() {
    // Against finite differences: the mean curve as a function of one coefficient, all else held.
    let Rows { followup, design, .. } = synthetic();
    let fit = Cox::fit(&design, &followup, &CoxOptions::default()).unwrap();
    let row = [0.4, 1.2];
    let same = fit.standardised_survival(&[row, row, row], Some(&[1.0, 0.5, 2.0]), None).unwrap();
    let one = fit.survival(&row, None).unwrap();
    for (a, b) in same.points().iter().zip(one.points()) {
        close("survival", a.survival, b.survival, 1e-13);
        close("error", a.std_error, b.std_error, 1e-12);
    }
    // A mean of two curves cannot be less certain than the worse of them.
    let other = [-0.8, 0.1];
    let mean = fit.standardised_survival(&[row, other], None, None).unwrap();
    let second = fit.survival(&other, None).unwrap();
    for ((m, a), b) in mean.points().iter().zip(one.points()).zip(second.points()) {
        close("mean", m.survival, 0.5 * (a.survival + b.survival), 1e-13);
        assert!(m.std_error <= 0.5 * (a.std_error + b.std_error) + 1e-12);
        assert!(m.std_error >= 0.5 * (a.std_error - b.std_error).abs() - 1e-12);
    }
}

#[test]
fn null_case_and_hard_input_give_errors_or_answers() {
    let fit = |x: &[f64], time: &[f64], event: &[bool]| {
        let design = Design::new(x.len()).numeric("x", x)?;
        Cox::fit(&design, &Followup::right_censored(time, event)?, &CoxOptions::default())
    };
    let error = |x: &[f64], time: &[f64], event: &[bool]| fit(x, time, event).unwrap_err();
    let t = [1.0, 2.0, 3.0, 4.0];
    assert!(matches!(error(&[], &[], &[]), StatsError::Empty { .. }));
    assert!(matches!(
        error(&[1.0, f64::NAN], &t[..2], &[true; 2]),
        StatsError::NonFinite { row: 1, .. }
    ));
    assert_eq!(error(&[1.0, 2.0, 0.0, 4.0], &t, &[false; 4]), StatsError::AllCensored { rows: 4 });
    let constant = StatsError::ConstantColumn { term: "x".into() };
    assert_eq!(error(&[1e9; 4], &t, &[true; 4]), constant);
    // Two rows: who has the higher value always dies first.
    let monotone = StatsError::MonotoneLikelihood { term: "x".into() };
    assert_eq!(error(&[5.0, 2.0], &t[..2], &[true; 2]), monotone);
    assert_eq!(error(&[4.0, 3.0, 2.0, 1.0], &t, &[true; 4]), monotone);
    // All events at one time: every order is possible, so nothing is known but that β is finite.
    let tied = fit(&[1.0, 2.0, 5.0, 3.0], &[2.0; 4], &[true, true, false, true]).unwrap();
    assert!(tied.estimates.term("x").unwrap().std_error.is_finite());
    assert!(matches!(
        tied.proportional_hazards_test(TimeTransform::Identity),
        Err(StatsError::TooFewRows { .. })
    ));
    // The whole risk set dies together: by both ways of sharing it no value is more likely than zero.
    let whole = fit(&[1.0, 2.0, 5.0, 3.0], &[2.0; 4], &[true; 4]).unwrap();
    assert!(whole.estimates.term("x").unwrap().estimate.abs() < 1e-12);
    // Late entry: nobody is ever at risk together with another.
    let alone = Followup::start_stop(&[0.0, 1.0, 2.0], &[1.0, 2.0, 3.0], &[true; 3]).unwrap();
    let design = Design::new(3).numeric("x", &[1.0, 5.0, 3.0]).unwrap();
    assert_eq!(
        Cox::fit(&design, &alone, &CoxOptions::default()).unwrap_err(),
        StatsError::NoMaximum { term: "x".into() }
    );
    let followup = Followup::right_censored(&t, &[true; 4]).unwrap();
    let a = [1.0, 3.0, 2.0, 7.0];
    let collinear =
        Design::new(4).numeric("a", &a).unwrap().numeric("b", &a.map(|v| 1e9 - 3.0 * v)).unwrap();
    assert_eq!(
        Cox::fit(&collinear, &followup, &CoxOptions::default()).unwrap_err(),
        StatsError::CollinearColumn { term: "b".into(), with: vec!["a".into()] }
    );
    let none = Cox::fit(&Design::new(4), &followup, &CoxOptions::default()).unwrap_err();
    assert!(matches!(none, StatsError::Empty { .. }));
    let ones = Design::new(4).intercept().unwrap();
    assert!(matches!(
        Cox::fit(&ones, &followup, &CoxOptions::default()).unwrap_err(),
        StatsError::ConstantColumn { .. }
    ));
    // Constant within every stratum.
    let strata = [0, 0, 1, 1];
    let design = Design::new(4).numeric("x", &[1.0, 1.0, 2.0, 2.0]).unwrap();
    let options = CoxOptions { strata: Some(&strata), ..CoxOptions::default() };
    assert_eq!(Cox::fit(&design, &followup, &options).unwrap_err(), constant);
    let options = CoxOptions { errors: CoxErrors::Clustered(&[3; 4]), ..CoxOptions::default() };
    let design = Design::new(4).numeric("x", &a).unwrap();
    assert_eq!(
        Cox::fit(&design, &followup, &options).unwrap_err(),
        StatsError::TooFewClusters { found: 1 }
    );
}

/// One risk a million times the others that leaves early must not disturb the later sums.
#[test]
fn a_dominant_row_does_not_spoil_the_rest() {
    let x = [0.0, 1.0, 0.5, -0.3, 0.8, 0.1, -1.0, 0.4];
    let start = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
    let stop = [9.0, 3.0, 5.0, 6.0, 4.0, 8.0, 7.0, 2.0];
    let event = [true, true, true, false, true, true, true, true];
    let plain = |x: &[f64], start: &[f64], stop: &[f64], event: &[bool]| {
        let design = Design::new(x.len()).numeric("x", x).unwrap();
        let followup = Followup::start_stop(start, stop, event).unwrap();
        Cox::fit(&design, &followup, &CoxOptions::default()).unwrap()
    };
    let without = plain(&x, &start, &stop, &event);
    // At risk between two events only.
    let long = |v: &[f64], more: f64| [v, &[more]].concat();
    let with = plain(
        &long(&x, 1e4),
        &long(&start, 3.2),
        &long(&stop, 3.8),
        &[event.as_slice(), &[false]].concat(),
    );
    let (a, b) = (without.estimates.term("x").unwrap(), with.estimates.term("x").unwrap());
    close("coefficient", b.estimate, a.estimate, 1e-12);
    close("error", b.std_error, a.std_error, 1e-12);
}

prop_compose! {
    /// Rows whose covariate does not separate the events; times on a coarse grid, so ties abound.
    fn rows()(n in 12..40_usize)(
        x in prop::collection::vec(-2.0..2.0_f64, n),
        z in prop::collection::vec(0..2_u8, n),
        start in prop::collection::vec(0..6_u8, n),
        length in prop::collection::vec(1..12_u8, n),
        event in prop::collection::vec(prop::bool::weighted(0.7), n),
        order in Just((0..n).collect::<Vec<_>>()).prop_shuffle(),
    ) -> (Vec<[f64; 4]>, Vec<bool>, Vec<usize>) {
        let row = |i: usize| {
            let begin = f64::from(start[i]);
            [x[i], f64::from(z[i]), begin, begin + f64::from(length[i])]
        };
        ((0..event.len()).map(row).collect(), event, order)
    }
}

fn fit_rows(
    rows: &[[f64; 4]],
    event: &[bool],
    options: &CoxOptions<'_>,
) -> Result<Cox, StatsError> {
    let column = |j: usize| -> Vec<f64> { rows.iter().map(|row| row[j]).collect() };
    let design = Design::new(rows.len()).numeric("x", &column(0))?.numeric("z", &column(1))?;
    let followup = Followup::start_stop(&column(2), &column(3), event)?;
    Cox::fit(&design, &followup, options)
}

/// Same coefficients and covariance after undoing the scales; same likelihood.
fn same(a: &Cox, b: &Cox, scale: [f64; 2], relative: f64) -> Result<(), TestCaseError> {
    let near = |x: f64, y: f64, size: f64| (x - y).abs() <= relative * size.max(1.0);
    let (va, vb) = (a.estimates.covariance(), b.estimates.covariance());
    for i in 0..2 {
        let (x, y) = (a.estimates.coefficients()[i], b.estimates.coefficients()[i] * scale[i]);
        prop_assert!(near(x, y, x.abs()), "coefficient {i}: {x} {y}");
        for j in 0..2 {
            let (x, y) = (va[(i, j)], vb[(i, j)] * scale[i] * scale[j]);
            prop_assert!(near(x, y, va[(i, i)].max(va[(j, j)])), "covariance {i} {j}: {x} {y}");
        }
    }
    let (x, y) = (a.estimates.log_likelihood(), b.estimates.log_likelihood());
    prop_assert!(near(x, y, x.abs()), "likelihood {x} {y}");
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn order_scale_and_origin_do_not_matter((data, event, order) in rows()) {
        for ties in [Ties::Efron, Ties::Breslow] {
            let options = CoxOptions { ties, ..CoxOptions::default() };
            let Ok(fit) = fit_rows(&data, &event, &options) else { continue };
            let shuffled: Vec<_> = order.iter().map(|&i| data[i]).collect();
            let flags: Vec<_> = order.iter().map(|&i| event[i]).collect();
            same(&fit, &fit_rows(&shuffled, &flags, &options).unwrap(), [1.0, 1.0], 1e-9)?;
            let moved: Vec<_> = data
                .iter()
                .map(|r| [1e9 * r[0] + 3e9, r[1] - 7.0, 1e9 * r[2], 1e9 * r[3]])
                .collect();
            same(&fit, &fit_rows(&moved, &event, &options).unwrap(), [1e9, 1.0], 1e-8)?;
        }
    }

    #[test]
    fn a_row_in_two_pieces_is_the_same_row((data, event, order) in rows()) {
        let options = CoxOptions::default();
        let Ok(fit) = fit_rows(&data, &event, &options) else { return Ok(()) };
        let (mut pieces, mut flags) = (Vec::new(), Vec::new());
        for (i, row) in data.iter().enumerate() {
            let middle = row[2] + (row[3] - row[2]) * (0.2 + 0.6 * (order[i] as f64) / 40.0);
            let cut = if order[i] % 2 == 0 { middle } else { row[2] + 1.0 };
            if cut < row[3] {
                pieces.push([row[0], row[1], row[2], cut]);
                flags.push(false);
                pieces.push([row[0], row[1], cut, row[3]]);
            } else {
                pieces.push(*row);
            }
            flags.push(event[i]);
        }
        let split = fit_rows(&pieces, &flags, &options).unwrap();
        same(&fit, &split, [1.0, 1.0], 1e-9)?;
        for (a, b) in fit
            .proportional_hazards_test(TimeTransform::Identity).iter()
            .zip(&split.proportional_hazards_test(TimeTransform::Identity))
        {
            prop_assert!((a.global.statistic - b.global.statistic).abs() < 1e-6);
        }
    }

    /// By Breslow's ties; Efron's see the copies as further ties.
    #[test]
    fn two_halves_weigh_as_much_as_one((data, event, _) in rows()) {
        let options = CoxOptions { ties: Ties::Breslow, ..CoxOptions::default() };
        let Ok(fit) = fit_rows(&data, &event, &options) else { return Ok(()) };
        let double: Vec<_> = data.iter().chain(&data).copied().collect();
        let flags: Vec<_> = event.iter().chain(&event).copied().collect();
        let labels: Vec<usize> = (0..data.len()).chain(0..data.len()).collect();
        let half = vec![0.5; double.len()];
        let halved = CoxOptions { weights: Some(&half), ..options };
        same(&fit, &fit_rows(&double, &flags, &halved).unwrap(), [1.0, 1.0], 1e-9)?;
        let robust = CoxOptions { errors: CoxErrors::Robust, ..options };
        let clustered = CoxOptions { errors: CoxErrors::Clustered(&labels), ..halved };
        let (a, b) = (fit_rows(&data, &event, &robust), fit_rows(&double, &flags, &clustered));
        same(&a.unwrap(), &b.unwrap(), [1.0, 1.0], 1e-9)?;
    }

    #[test]
    fn whatever_the_rows_no_nan_comes_out((data, event, order) in rows()) {
        for penalty in [Penalty::None, Penalty::Firth] {
            let few = 2 + order[0] % 10;
            let options = CoxOptions { penalty, errors: CoxErrors::Robust, ..CoxOptions::default() };
            match fit_rows(&data[..few], &event[..few], &options) {
                Err(error) => prop_assert!(!error.to_string().contains("NaN")),
                Ok(fit) => {
                    let all = fit.estimates.covariance();
                    prop_assert!(all.iter().all(|v| v.is_finite()));
                    prop_assert!(fit.estimates.coefficients().iter().all(|v| v.is_finite()));
                    prop_assert!(fit.deviance_residuals().iter().all(|v| v.is_finite()));
                    prop_assert!(fit.dfbeta().iter().all(|v| v.is_finite()));
                    prop_assert!(fit.score_test().p_value().is_finite());
                    prop_assert!(fit.martingale_residuals().iter().sum::<f64>().abs() < 1e-6);
                    if let Ok(wald) = fit.wald_test() {
                        prop_assert!(wald.p_value().is_finite());
                    }
                    if let Ok(test) = fit.proportional_hazards_test(TimeTransform::KaplanMeier) {
                        prop_assert!(test.global.p_value().is_finite());
                    }
                    for point in fit.survival(&[3.0, 1.0], None).unwrap().points() {
                        prop_assert!(point.survival.is_finite() && point.std_error.is_finite());
                    }
                }
            }
        }
    }
}
