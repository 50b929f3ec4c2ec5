use super::*;
use crate::reference::{Table, close_or_zero as close, whole as expected};
use crate::{ErrorKind, LeastSquares};
use proptest::prelude::*;
use serde_json::Value as Json;

/// Positions of the labels among the sorted distinct ones, as R orders a factor.
fn labels(column: &[&str]) -> Vec<usize> {
    let mut known = column.to_vec();
    known.sort_unstable();
    known.dedup();
    column.iter().map(|value| known.partition_point(|other| other < value)).collect()
}

/// A named list in the order of the file, or a bare one.
fn list(value: &Json) -> Vec<f64> {
    match value {
        Json::Array(values) => values.iter().map(|v| v.as_f64().unwrap()).collect(),
        Json::Object(values) => values.values().map(|v| v.as_f64().unwrap()).collect(),
        _ => panic!("neither list nor object"),
    }
}

/// Holds a fit against lme4 and lmerTest at the set's tolerance, with the exceptions that the
/// sets state: degrees of freedom 1e-3, variances 1e-5.
fn agrees(set: &str, design: &Design, y: &[f64], groupings: &[Grouping<'_>]) {
    let file = expected(set);
    let relative = file["suggested_rtol"].as_f64().unwrap();
    let (_, results) = file["results"].as_object().unwrap().iter().next().unwrap();
    let r = &results["reml"];
    let fit = LinearMixed::fit(design, y, groupings).unwrap();
    let loglik = r["loglik"].as_f64().unwrap();
    close("loglik", fit.estimates.log_likelihood(), loglik, relative);
    let criterion = r["criterion_minus2loglik"].as_f64().unwrap();
    close("criterion", -2.0 * fit.estimates.log_likelihood(), criterion, relative);
    // serde_json keeps objects in alphabetical order, which is the order of the terms here.
    for (position, term) in fit.estimates.terms().iter().enumerate() {
        let name = format!("{set} {}", term.name);
        let at = |key: &str| list(&r[key])[position];
        close(&name, term.coefficient.estimate, at("fixed"), relative);
        close(&name, term.coefficient.std_error, at("se"), relative);
        close(&name, term.coefficient.df, at("satterthwaite_df"), 1e-3);
        // A p value follows its degrees of freedom, so it is as good as these.
        let p = at("satterthwaite_p");
        assert!((term.coefficient.p_value().ln() - p.ln()).abs() < 2e-3, "{name} p");
    }
    let covariance = fit.estimates.covariance();
    for (row, values) in r["fixed_vcov"].as_array().unwrap().iter().enumerate() {
        for (column, value) in list(values).into_iter().enumerate() {
            close("covariance", covariance[(row, column)], value, relative.max(1e-5));
        }
    }
    for component in r["varcomp"].as_array().unwrap() {
        let variance = component["vcov"].as_f64().unwrap();
        let group = component["group"].as_str().unwrap();
        if group == "Residual" {
            close("residual variance", fit.residual_variance, variance, 1e-5);
            continue;
        }
        let own = fit.random.iter().find(|random| random.name == group).unwrap();
        // lme4 stops within 1e-9 of the border where it does not hit it.
        if variance < 1e-16 * fit.residual_variance {
            assert_eq!(own.variance, 0.0, "{set} {group}");
        } else {
            close(group, own.variance, variance, 1e-5);
        }
    }
    let singular = fit.random.iter().any(|random| random.variance == 0.0);
    assert_eq!(singular, r["singular"].as_bool().unwrap(), "{set}");
}

/// lme4 1.1-31, lmerTest 3.1-3, R 4.2.2; data of Belenky et al. (2003).
#[test]
fn agrees_with_lme4_on_sleepstudy() {
    let table = Table::read("sleepstudy");
    let subject = labels(&table.text("Subject"));
    let y = table.numbers("Reaction");
    let design =
        Design::new(y.len()).intercept().unwrap().numeric("Days", &table.numbers("Days")).unwrap();
    agrees("sleepstudy", &design, &y, &[Grouping { name: "Subject", labels: &subject }]);
}

/// lme4 1.1-31; data of Box & Tiao (1973), table 5.1.4: the variance between batches is zero.
#[test]
fn a_variance_of_zero_is_found_and_said() {
    let table = Table::read("dyestuff2_boundary");
    let batch = labels(&table.text("Batch"));
    let y = table.numbers("Yield");
    let design = Design::new(y.len()).intercept().unwrap();
    agrees("dyestuff2_boundary", &design, &y, &[Grouping { name: "Batch", labels: &batch }]);
}

/// lme4 1.1-31; data of Immer, Hayes & Powers (1934): crossed groupings, in either order.
#[test]
fn agrees_with_lme4_on_crossed_groupings() {
    let table = Table::read("immer_crossed");
    let (place, variety) = (labels(&table.text("Loc")), labels(&table.text("Var")));
    let y = table.numbers("Y");
    let design =
        Design::new(y.len()).intercept().unwrap().factor("Year", &table.text("Year")).unwrap();
    let place = Grouping { name: "Loc", labels: &place };
    let variety = Grouping { name: "Var", labels: &variety };
    agrees("immer_crossed", &design, &y, &[place, variety]);
    agrees("immer_crossed", &design, &y, &[variety, place]);
}

/// lme4 1.1-31; data of Finney (1947): a Latin square whose columns have a variance of zero.
#[test]
fn agrees_with_lme4_where_one_of_two_variances_is_zero() {
    let table = Table::read("orchard_crossed");
    let (row, column) = (labels(&table.text("rowpos")), labels(&table.text("colpos")));
    let y = table.numbers("logdecrease");
    let design = Design::new(y.len())
        .intercept()
        .unwrap()
        .factor("treatment", &table.text("treatment"))
        .unwrap();
    let row = Grouping { name: "rowpos", labels: &row };
    let column = Grouping { name: "colpos", labels: &column };
    agrees("orchard_crossed", &design, &y, &[row, column]);
    agrees("orchard_crossed", &design, &y, &[column, row]);
}

struct Unbalanced {
    design: Design,
    y: Vec<f64>,
    place: Vec<usize>,
    inner: Vec<usize>,
    judge: Vec<usize>,
}

fn unbalanced() -> Unbalanced {
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
    let place = labels(&table.text("place"));
    // Batches are numbered anew in each place.
    let batch = labels(&table.text("batch"));
    let inner = place.iter().zip(&batch).map(|(place, batch)| place * 100 + batch).collect();
    Unbalanced { design, y, place, inner, judge: labels(&table.text("judge")) }
}

/// lme4 1.1-31, lmerTest 3.1-3, R 4.2.2; script `make/mixed_unbalanced.R`.
#[test]
fn agrees_with_lme4_on_unbalanced_groups() {
    let Unbalanced { design, y, place, inner, judge } = unbalanced();
    let file = expected("mixed_unbalanced");
    let relative = file["suggested_rtol"].as_f64().unwrap();
    let place = Grouping { name: "place", labels: &place };
    let inner = Grouping { name: "inner", labels: &inner };
    let judge = Grouping { name: "judge", labels: &judge };
    for (model, groupings) in
        [("single", vec![place]), ("nested", vec![place, inner]), ("crossed", vec![judge, place])]
    {
        let r = &file["results"][model]["reml"];
        let fit = LinearMixed::fit(&design, &y, &groupings).unwrap();
        let loglik = r["loglik"].as_f64().unwrap();
        close("loglik", fit.estimates.log_likelihood(), loglik, relative);
        for (position, term) in fit.estimates.terms().iter().enumerate() {
            let name = format!("{model} {}", term.name);
            let at = |key: &str| list(&r[key])[position];
            close(&name, term.coefficient.estimate, at("coef"), relative);
            close(&name, term.coefficient.std_error, at("se"), relative);
            close(&name, term.coefficient.df, at("df"), 1e-3);
        }
        for (group, expected) in r["groups"].as_array().unwrap().iter().zip(list(&r["variances"])) {
            let group = group.as_str().unwrap();
            let own = fit.random.iter().find(|random| random.name == group);
            let variance = own.map_or(fit.residual_variance, |random| random.variance);
            close(group, variance, expected, 1e-5);
        }
    }
}

/// Balanced groups have a closed form: analysis of variance (Searle, Casella & `McCulloch` 1992,
/// Variance Components, section 3.4): σ² = MS within, τ² = (MS between − MS within)/m.
#[test]
fn balanced_groups_give_the_analysis_of_variance() {
    let y = [12.0, 15.0, 11.0, 22.0, 20.0, 25.0, 7.0, 9.0, 5.0, 16.0, 18.0, 13.0];
    let fire: Vec<usize> = (0..12).map(|row| 100 - row / 3).collect();
    let design = Design::new(12).intercept().unwrap();
    let groupings = [Grouping { name: "fire", labels: &fire }];
    let fit = LinearMixed::fit(&design, &y, &groupings).unwrap();
    let means: Vec<f64> = y.chunks(3).map(|group| group.iter().sum::<f64>() / 3.0).collect();
    let grand = means.iter().sum::<f64>() / 4.0;
    let between = 3.0 * means.iter().map(|m| (m - grand).powi(2)).sum::<f64>() / 3.0;
    let within = y.iter().enumerate().map(|(i, v)| (v - means[i / 3]).powi(2)).sum::<f64>() / 8.0;
    close("σ²", fit.residual_variance, within, 1e-12);
    close("τ²", fit.random[0].variance, (between - within) / 3.0, 1e-12);
    let mean = fit.estimates.term(crate::INTERCEPT).unwrap();
    close("standard error", mean.std_error, (between / 12.0).sqrt(), 1e-12);
    close("degrees of freedom", mean.df, 3.0, 1e-6);
}

/// A variance of zero leaves least squares.
#[test]
fn without_differences_between_groups_it_is_least_squares() {
    let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];
    // The deviations from the line, ±0.3, sum to zero in both groups.
    let shifted = [2.3, 4.3, 5.7, 7.7, 10.3, 12.3, 13.7, 15.7];
    let fire = [0, 1, 1, 0, 0, 1, 1, 0];
    let design = Design::new(8).intercept().unwrap().numeric("x", &x).unwrap();
    let groupings = [Grouping { name: "fire", labels: &fire }];
    let plain = LeastSquares::fit(&design, &shifted, ErrorKind::Classical).unwrap();
    let fit = LinearMixed::fit(&design, &shifted, &groupings).unwrap();
    assert_eq!(fit.random[0].variance, 0.0);
    for (a, b) in fit.estimates.terms().iter().zip(plain.estimates.terms()) {
        close("estimate", a.coefficient.estimate, b.coefficient.estimate, 1e-13);
        close("standard error", a.coefficient.std_error, b.coefficient.std_error, 1e-13);
        close("degrees of freedom", a.coefficient.df, 6.0, 1e-9);
    }
    let none = LinearMixed::fit(&design, &shifted, &[]).unwrap();
    close("variance", none.residual_variance, plain.residual_variance, 1e-13);
    assert!(none.random.is_empty());
}

#[test]
fn what_cannot_be_estimated_is_named() {
    let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    let y = [3.0, 5.5, 6.0, 9.0, 10.0, 13.5];
    let design = Design::new(6).intercept().unwrap().numeric("x", &x).unwrap();
    let fit = |labels: &[usize]| {
        let groupings = [Grouping { name: "fire", labels }];
        LinearMixed::fit(&design, &y, &groupings)
    };
    assert_eq!(
        fit(&[4; 6]).unwrap_err(),
        StatsError::TooFewGroups { grouping: "fire".into(), found: 1 }
    );
    assert_eq!(
        fit(&[0, 1, 2, 3, 4, 5]).unwrap_err(),
        StatsError::GroupPerRow { grouping: "fire".into() }
    );
    assert!(matches!(fit(&[0, 1]), Err(StatsError::LengthMismatch { .. })));
    let wood = ["ash", "ash", "elm", "elm", "oak", "oak"];
    let by_wood = [0, 0, 1, 1, 2, 2];
    let with_wood = Design::new(6).intercept().unwrap().factor("wood", &wood).unwrap();
    let grouping = Grouping { name: "batch", labels: &by_wood };
    assert_eq!(
        LinearMixed::fit(&with_wood, &y, &[grouping]).unwrap_err(),
        StatsError::GroupingFollows {
            grouping: "batch".into(),
            from: "the terms of the design".into()
        }
    );
    let same = Grouping { name: "lot", labels: &[9, 9, 5, 5, 7, 7] };
    let mean = Design::new(6).intercept().unwrap();
    assert_eq!(
        LinearMixed::fit(&mean, &y, &[grouping, same]).unwrap_err(),
        StatsError::GroupingFollows { grouping: "lot".into(), from: "batch".into() }
    );
    // Equal within groups, and on a line: no residual scatter is left.
    let steps = [1.0, 1.0, 4.0, 4.0, 2.0, 2.0];
    assert_eq!(LinearMixed::fit(&mean, &steps, &[grouping]).unwrap_err(), StatsError::ExactFit);
    let line: Vec<f64> = x.iter().map(|x| 2.0 * x - 7.0).collect();
    assert_eq!(LinearMixed::fit(&design, &line, &[grouping]).unwrap_err(), StatsError::ExactFit);
    assert_eq!(LinearMixed::fit(&mean, &[3.0; 6], &[grouping]).unwrap_err(), StatsError::ExactFit);
    let mut gap = y;
    gap[2] = f64::NAN;
    assert!(matches!(
        LinearMixed::fit(&mean, &gap, &[grouping]),
        Err(StatsError::NonFinite { row: 2, .. })
    ));
    let three = [grouping; 3];
    assert!(matches!(LinearMixed::fit(&mean, &y, &three), Err(StatsError::BadArgument { .. })));
    for rows in [0, 1, 2] {
        let few = Design::new(rows).intercept().unwrap();
        let labels = &by_wood[..rows];
        let grouping = Grouping { name: "batch", labels };
        assert!(matches!(
            LinearMixed::fit(&few, &y[..rows], &[grouping]),
            Err(StatsError::TooFewRows { .. })
        ));
    }
    let doubled =
        Design::new(6).intercept().unwrap().numeric("x", &x).unwrap().numeric("z", &line).unwrap();
    assert_eq!(
        LinearMixed::fit(&doubled, &y, &[grouping]).unwrap_err(),
        StatsError::CollinearColumn { term: "z".into(), with: vec!["x".into()] }
    );
    let flat = Design::new(6).intercept().unwrap().numeric("pit", &[2.5; 6]).unwrap();
    assert_eq!(
        LinearMixed::fit(&flat, &y, &[grouping]).unwrap_err(),
        StatsError::ConstantColumn { term: "pit".into() }
    );
}

/// The gradient is the difference of the deviance, for one and two groupings.
#[test]
fn derivatives_match_finite_differences() {
    let Unbalanced { design, y, place, inner, judge } = unbalanced();
    let place = Grouping { name: "place", labels: &place };
    let inner = Grouping { name: "inner", labels: &inner };
    let judge = Grouping { name: "judge", labels: &judge };
    for groupings in [vec![place], vec![place, inner], vec![judge, place]] {
        let mut model = Model::new(&design, &groupings).unwrap();
        model.set_outcome(&y).unwrap();
        let deviance = Deviance { sums: &model.sums };
        for at in [[0.3, 1.7], [2.0, 0.01]] {
            let at = &at[..groupings.len()];
            let gradient = deviance.at(at).unwrap().gradient;
            for k in 0..at.len() {
                let h = 1e-5 * at[k];
                let shifted = |step: f64| {
                    let mut moved = at.to_vec();
                    moved[k] += step;
                    deviance.at(&moved).unwrap().deviance
                };
                close("gradient", gradient[k], (shifted(h) - shifted(-h)) / (2.0 * h), 1e-5);
            }
        }
    }
}

/// Sizes of 1e9 and far from zero: the same model in other units.
#[test]
fn large_scales_lose_nothing() {
    let Unbalanced { y, place, judge, .. } = unbalanced();
    let x = Table::read("mixed_unbalanced").numbers("x");
    let far: Vec<f64> = x.iter().map(|x| 1e9 * x + 3e12).collect();
    let y_far: Vec<f64> = y.iter().map(|y| 1e9 * y).collect();
    let design = |x: &[f64]| Design::new(120).intercept().unwrap().numeric("x", x).unwrap();
    let groupings =
        [Grouping { name: "place", labels: &place }, Grouping { name: "judge", labels: &judge }];
    let plain = LinearMixed::fit(&design(&x), &y, &groupings).unwrap();
    let large = LinearMixed::fit(&design(&far), &y_far, &groupings).unwrap();
    let (a, b) = (plain.estimates.term("x").unwrap(), large.estimates.term("x").unwrap());
    close("slope", b.estimate, a.estimate, 1e-8);
    close("standard error", b.std_error, a.std_error, 1e-8);
    close("degrees of freedom", b.df, a.df, 1e-6);
    for (a, b) in plain.random.iter().zip(&large.random) {
        close("variance", b.variance, 1e18 * a.variance, 1e-7);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Order of rows and names of groups do not matter; y → a + b·y and x → c + d·x move the
    /// estimates and nothing else.
    #[test]
    fn equivariant_to_order_shift_and_scale(
        seed in 0u64..1000, a in -1e3f64..1e3, b in 1e-2f64..1e2,
        c in -1e3f64..1e3, d in prop::sample::select(vec![-20.0, -0.5, 0.02, 3.0]),
    ) {
        use rand::{RngExt, SeedableRng, seq::SliceRandom};
        let mut generator = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
        let n = 40;
        let fire: Vec<usize> = (0..n).map(|_| generator.random_range(0..8)).collect();
        let cook: Vec<usize> = (0..n).map(|_| generator.random_range(0..5)).collect();
        let x: Vec<f64> = (0..n).map(|_| generator.random_range(-3.0..3.0)).collect();
        let effects: Vec<f64> = (0..8).map(|_| generator.random_range(-2.0..2.0)).collect();
        let y: Vec<f64> = (0..n)
            .map(|i| x[i] + effects[fire[i]] + generator.random_range(-1.0..1.0))
            .collect();
        let mut order: Vec<usize> = (0..n).collect();
        order.shuffle(&mut generator);
        let fit = |x: &[f64], y: &[f64], fire: &[usize], cook: &[usize]| {
            let design = Design::new(n).intercept().unwrap().numeric("x", x).unwrap();
            let groupings =
                [Grouping { name: "fire", labels: fire }, Grouping { name: "cook", labels: cook }];
            LinearMixed::fit(&design, y, &groupings).unwrap()
        };
        let plain = fit(&x, &y, &fire, &cook);
        let pick = |values: &[usize], mix: usize| -> Vec<usize> {
            order.iter().map(|&i| (values[i] * 7 + mix) % 11).collect()
        };
        let moved_x: Vec<f64> = order.iter().map(|&i| c + d * x[i]).collect();
        let moved_y: Vec<f64> = order.iter().map(|&i| a + b * y[i]).collect();
        let moved = fit(&moved_x, &moved_y, &pick(&fire, 3), &pick(&cook, 5));
        let p = plain.estimates.term("x").unwrap();
        let m = moved.estimates.term("x").unwrap();
        prop_assert!((m.estimate * d / b - p.estimate).abs() < 1e-6 * (1.0 + p.estimate.abs()));
        prop_assert!((m.std_error * d.abs() / b / p.std_error - 1.0).abs() < 1e-6);
        prop_assert!((m.df / p.df - 1.0).abs() < 1e-3);
        prop_assert!((moved.residual_variance / (b * b * plain.residual_variance) - 1.0).abs() < 1e-6);
        for (p, m) in plain.random.iter().zip(&moved.random) {
            let unit = plain.residual_variance;
            prop_assert!((m.variance / (b * b) - p.variance).abs() < 1e-6 * (unit + p.variance));
            prop_assert_eq!(m.variance == 0.0, p.variance == 0.0);
        }
    }

    /// No point of a grid has a higher likelihood than the one found.
    #[test]
    fn no_grid_point_lies_lower(seed in 0u64..1000) {
        use rand::{RngExt, SeedableRng};
        let mut generator = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
        let n = 30;
        let fire: Vec<usize> = (0..n).map(|_| generator.random_range(0..6)).collect();
        let cook: Vec<usize> = (0..n).map(|_| generator.random_range(0..5)).collect();
        let pull = generator.random_range(0.0..2.0);
        let y: Vec<f64> = (0..n)
            .map(|i| generator.random_range(-1.0..1.0) + pull * (fire[i] % 3) as f64)
            .collect();
        let design = Design::new(n).intercept().unwrap();
        let groupings =
            [Grouping { name: "fire", labels: &fire }, Grouping { name: "cook", labels: &cook }];
        let mut model = Model::new(&design, &groupings).unwrap();
        model.set_outcome(&y).unwrap();
        let best = model.best_ratios().unwrap();
        let deviance = Deviance { sums: &model.sums };
        let least = deviance.at(&best).unwrap().deviance;
        for i in 0..12 {
            for j in 0..12 {
                let point = |k: i32| if k == 0 { 0.0 } else { 10f64.powf(f64::from(k) / 3.0 - 2.5) };
                let there = deviance.at(&[point(i), point(j)]).unwrap().deviance;
                prop_assert!(there >= least - 1e-8, "{there} {least} at {best:?}");
            }
        }
    }
}
