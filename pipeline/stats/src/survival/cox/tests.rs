use super::*;
use crate::reference::{Table, close_or_zero as close, expected, number, numbers};
use proptest::prelude::*;
use serde_json::Value as Json;

/// Compares what the file holds about one fit, by the model and, where labels are given, clustered.
fn agrees(
    what: &str,
    design: &Design,
    followup: &Followup,
    clusters: Option<&[usize]>,
    expected: &Json,
    relative: f64,
) {
    let of = |key: &str| number(&expected[key]);
    let model = Cox::fit(design, followup, CoxErrors::Model).unwrap();
    let clustered =
        clusters.map(|labels| Cox::fit(design, followup, CoxErrors::Clustered(labels)).unwrap());
    let fit = clustered.as_ref().unwrap_or(&model);
    assert_eq!(fit.n as f64, of("n"), "{what}");
    assert_eq!(fit.events as f64, of("events"), "{what}");
    let covariance = fit.estimates.covariance();
    let naive = model.estimates.covariance();
    for (j, term) in fit.estimates.terms().iter().enumerate() {
        let at = |key: &str| match &expected[key] {
            Json::Array(list) => number(&list[j]),
            map => number(&map[&term.name]),
        };
        let about = |key: &str| format!("{what} {key} {}", term.name);
        let found = term.coefficient;
        close(&about("coef"), found.estimate, at("coef"), relative);
        close(&about("hr"), found.estimate.exp(), at("hr"), relative);
        close(&about("se"), naive[(j, j)].sqrt(), at("se_model"), relative);
        if clustered.is_some() {
            close(&about("robust se"), found.std_error, at("se_robust_cluster"), relative);
        }
        close(&about("z"), found.statistic(), at("z"), relative);
        close(&about("p"), found.p_value(), at("p"), relative);
        for (k, value) in numbers(&expected["vcov"][j]).into_iter().enumerate() {
            close(&about("vcov"), covariance[(j, k)], value, relative);
        }
        if clustered.is_some() {
            for (k, value) in numbers(&expected["naive_vcov"][j]).into_iter().enumerate() {
                close(&about("naive"), naive[(j, k)], value, relative);
            }
        }
    }
    close(what, fit.estimates.log_likelihood(), of("loglik"), relative);
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
    let full = heart.design(&["age", "year", "surgery", "transplant"]);
    let jasa = Table::read("stanford_jasa");
    let whole = Followup::right_censored(&jasa.numbers("futime"), &jasa.flags("fustat")).unwrap();
    for (model, design, followup, clusters) in [
        ("time_dependent_transplant", &full, &followup, None),
        ("time_dependent_transplant_only", &heart.design(&["transplant"]), &followup, None),
        ("time_dependent_cluster_robust", &full, &followup, Some(id.as_slice())),
        ("naive_ever_transplanted", &jasa.design(&["transplant"]), &whole, None),
        (
            "naive_ever_transplanted_adjusted",
            &jasa.design(&["age_at_accept", "surgery", "transplant"]),
            &whole,
            None,
        ),
    ] {
        agrees(model, design, followup, clusters, &results[model]["efron"], relative);
    }

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
    agrees("landmark", &design, &followup, None, &landmark["efron"], relative);
}

/// Recurrent bladder tumours (Wei, Lin & Weissfeld 1989), R survival 3.5.3: clusters.
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
    let expected = &results["andersen_gill"]["efron"];
    agrees("andersen_gill", &design, &followup, Some(&table.labels("id")), expected, relative);
}

#[test]
fn null_case_and_hard_input_give_errors_or_answers() {
    let fit = |x: &[f64], time: &[f64], event: &[bool]| {
        let design = Design::new(x.len()).numeric("x", x)?;
        Cox::fit(&design, &Followup::right_censored(time, event)?, CoxErrors::Model)
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
    // The whole risk set dies together: by both ways of sharing it no value is more likely than zero.
    let whole = fit(&[1.0, 2.0, 5.0, 3.0], &[2.0; 4], &[true; 4]).unwrap();
    assert!(whole.estimates.term("x").unwrap().estimate.abs() < 1e-12);
    // Late entry: nobody is ever at risk together with another.
    let alone = Followup::start_stop(&[0.0, 1.0, 2.0], &[1.0, 2.0, 3.0], &[true; 3]).unwrap();
    let design = Design::new(3).numeric("x", &[1.0, 5.0, 3.0]).unwrap();
    assert_eq!(
        Cox::fit(&design, &alone, CoxErrors::Model).unwrap_err(),
        StatsError::NoMaximum { term: "x".into() }
    );
    let followup = Followup::right_censored(&t, &[true; 4]).unwrap();
    let a = [1.0, 3.0, 2.0, 7.0];
    let collinear =
        Design::new(4).numeric("a", &a).unwrap().numeric("b", &a.map(|v| 1e9 - 3.0 * v)).unwrap();
    assert_eq!(
        Cox::fit(&collinear, &followup, CoxErrors::Model).unwrap_err(),
        StatsError::CollinearColumn { term: "b".into(), with: vec!["a".into()] }
    );
    let none = Cox::fit(&Design::new(4), &followup, CoxErrors::Model).unwrap_err();
    assert!(matches!(none, StatsError::Empty { .. }));
    let ones = Design::new(4).intercept().unwrap();
    assert!(matches!(
        Cox::fit(&ones, &followup, CoxErrors::Model).unwrap_err(),
        StatsError::ConstantColumn { .. }
    ));
    let design = Design::new(4).numeric("x", &a).unwrap();
    assert_eq!(
        Cox::fit(&design, &followup, CoxErrors::Clustered(&[3; 4])).unwrap_err(),
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
        Cox::fit(&design, &followup, CoxErrors::Model).unwrap()
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

fn fit_rows(rows: &[[f64; 4]], event: &[bool], errors: CoxErrors<'_>) -> Result<Cox, StatsError> {
    let column = |j: usize| -> Vec<f64> { rows.iter().map(|row| row[j]).collect() };
    let design = Design::new(rows.len()).numeric("x", &column(0))?.numeric("z", &column(1))?;
    let followup = Followup::start_stop(&column(2), &column(3), event)?;
    Cox::fit(&design, &followup, errors)
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
        let errors = CoxErrors::Model;
        let Ok(fit) = fit_rows(&data, &event, errors) else { return Ok(()) };
        let shuffled: Vec<_> = order.iter().map(|&i| data[i]).collect();
        let flags: Vec<_> = order.iter().map(|&i| event[i]).collect();
        same(&fit, &fit_rows(&shuffled, &flags, errors).unwrap(), [1.0, 1.0], 1e-9)?;
        let moved: Vec<_> =
            data.iter().map(|r| [1e9 * r[0] + 3e9, r[1] - 7.0, 1e9 * r[2], 1e9 * r[3]]).collect();
        same(&fit, &fit_rows(&moved, &event, errors).unwrap(), [1e9, 1.0], 1e-8)?;
    }

    #[test]
    fn a_row_in_two_pieces_is_the_same_row((data, event, order) in rows()) {
        let Ok(fit) = fit_rows(&data, &event, CoxErrors::Model) else { return Ok(()) };
        let (mut pieces, mut flags, mut source) = (Vec::new(), Vec::new(), Vec::new());
        for (i, row) in data.iter().enumerate() {
            let middle = row[2] + (row[3] - row[2]) * (0.2 + 0.6 * (order[i] as f64) / 40.0);
            let cut = if order[i] % 2 == 0 { middle } else { row[2] + 1.0 };
            if cut < row[3] {
                pieces.push([row[0], row[1], row[2], cut]);
                flags.push(false);
                source.push(i);
                pieces.push([row[0], row[1], cut, row[3]]);
            } else {
                pieces.push(*row);
            }
            flags.push(event[i]);
            source.push(i);
        }
        let split = fit_rows(&pieces, &flags, CoxErrors::Model).unwrap();
        same(&fit, &split, [1.0, 1.0], 1e-9)?;
        // Clustered by the row that they come from, pieces count as their row.
        let each: Vec<usize> = (0..data.len()).collect();
        let fit = fit_rows(&data, &event, CoxErrors::Clustered(&each)).unwrap();
        let split = fit_rows(&pieces, &flags, CoxErrors::Clustered(&source)).unwrap();
        same(&fit, &split, [1.0, 1.0], 1e-9)?;
    }

    #[test]
    fn whatever_the_rows_no_nan_comes_out((data, event, order) in rows()) {
        let few = 2 + order[0] % 10;
        let labels: Vec<usize> = (0..few).collect();
        match fit_rows(&data[..few], &event[..few], CoxErrors::Clustered(&labels)) {
            Err(error) => prop_assert!(!error.to_string().contains("NaN")),
            Ok(fit) => {
                prop_assert!(fit.estimates.covariance().iter().all(|v| v.is_finite()));
                prop_assert!(fit.estimates.coefficients().iter().all(|v| v.is_finite()));
            }
        }
    }
}
