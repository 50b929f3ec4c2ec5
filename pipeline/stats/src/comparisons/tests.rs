use super::*;
use crate::multiple::{benjamini_hochberg, bonferroni, holm};
use crate::reference::{close, expected, groups, number, numbers};
use crate::{Design, ErrorKind, Estimate, LeastSquares, PValues};
use proptest::prelude::*;
use serde_json::Value as Json;

/// R 4.2.2 `t.test` (`hollander_permeability.json`, `student_sleep_ties.json`).
#[test]
fn t_tests_agree_with_r() {
    for (set, values) in [("hollander_permeability", "value"), ("student_sleep_ties", "extra")] {
        let (r, relative) = expected(set);
        let [x, y] = &groups(set, values, "group")[..] else { panic!("two groups") };
        let welch = welch_t(x, y).unwrap();
        close("t", welch.statistic(), number(&r["welch"]["t"]), relative);
        close("df", welch.df, number(&r["welch"]["df"]), relative);
        close("p", welch.p_value(), number(&r["welch"]["p"]), relative);
        let (interval, ends) = (welch.interval(0.95).unwrap(), numbers(&r["welch"]["ci95"]));
        close("from", interval.lo, ends[0], relative);
        close("to", interval.hi, ends[1], relative);
        let student = student_t(x, y).unwrap();
        close("t", student.statistic(), number(&r["student"]["t"]), relative);
        assert_eq!(student.df, number(&r["student"]["df"]));
        close("p", student.p_value(), number(&r["student"]["p"]), relative);
        close("d", cohens_d(x, y).unwrap(), number(&r["cohen_d_pooled"]), relative);
    }
}

/// Student (1908): the two drugs as pairs, mean difference 1.58, t = 4.06 on 9 degrees of freedom;
/// R 4.2.2, `t.test(extra ~ group, sleep, paired = TRUE)` gives p = 0.002833.
#[test]
fn paired_t_agrees_with_student() {
    let [x, y] = &groups("student_sleep_ties", "extra", "group")[..] else { panic!("two groups") };
    let differences: Vec<f64> = x.iter().zip(y).map(|(a, b)| b - a).collect();
    let paired = one_sample_t(&differences, 0.0).unwrap();
    assert!((paired.estimate - 1.58).abs() < 1e-12 && paired.df == 9.0);
    assert!((paired.statistic() - 4.0621).abs() < 5e-5);
    assert!((paired.p_value() - 0.002_833).abs() < 5e-7);
    let moved = one_sample_t(&differences, 1.58).unwrap();
    assert!(moved.statistic().abs() < 1e-12);
}

fn sets() -> [(&'static str, Vec<Vec<f64>>); 2] {
    [
        ("plantgrowth", groups("plantgrowth", "weight", "group")),
        ("insectsprays", groups("insectsprays", "sqrt_count", "spray")),
    ]
}

fn df_of(value: &Json) -> [f64; 2] {
    numbers(value).try_into().unwrap()
}

/// R 4.2.2 `aov` and `oneway.test` (`plantgrowth.json`, `insectsprays.json`).
#[test]
fn analyses_of_variance_agree_with_r() {
    for (set, groups) in sets() {
        let (r, relative) = expected(set);
        for (key, found) in
            [("anova", anova(&groups).unwrap()), ("welch_anova", welch_anova(&groups).unwrap())]
        {
            close(key, found.f, number(&r[key]["F"]), relative);
            close(key, found.p, number(&r[key]["p"]), relative);
            let [between, within] = df_of(&r[key]["df"]);
            close(key, found.df_between, between, relative);
            close(key, found.df_within, within, relative);
        }
        let variance = anova::within(&anova::moments(&groups)).unwrap().0;
        close("mse", variance, number(&r["anova"]["mse"]), relative);
    }
}

/// R 4.2.2 `TukeyHSD` and Games–Howell with `ptukey`, `qtukey` (the same files). P values absolutely;
/// intervals by their middle and half width, for an end near zero has no relative precision.
#[test]
fn pairwise_comparisons_agree_with_r() {
    for (set, groups) in sets() {
        let (r, relative) = expected(set);
        let tukey = tukey_kramer(&groups, 0.95).unwrap();
        let expected = r["tukey_hsd"].as_array().unwrap();
        assert_eq!(tukey.len(), expected.len());
        for (found, r) in tukey.iter().zip(expected) {
            close("difference", found.difference, number(&r["diff"]), relative);
            close_half_width(&found.interval, number(&r["lower"]), number(&r["upper"]));
            assert!((found.p - number(&r["p_adj"])).abs() < 1e-10);
        }
        let games = games_howell(&groups, 0.95).unwrap();
        for (found, r) in games.iter().zip(r["games_howell"].as_array().unwrap()) {
            close("difference", found.difference, number(&r["diff"]), relative);
            close("se", found.std_error, number(&r["se"]), relative);
            close("df", found.df, number(&r["df"]), relative);
            close("q", found.q, number(&r["q"]), relative);
            let ends = numbers(&r["ci95"]);
            close_half_width(&found.interval, ends[0], ends[1]);
            assert!((found.p - number(&r["p"])).abs() < 1e-10);
        }
    }
}

#[track_caller]
fn close_half_width(found: &crate::Interval, lo: f64, hi: f64) {
    close("half width", 0.5 * (found.hi - found.lo), 0.5 * (hi - lo), 1e-7);
    close("middle", 0.5 * (found.hi + found.lo), 0.5 * (hi + lo), 1e-7);
}

/// R 4.2.2 `t.test` and `p.adjust` on all pairs (the same files).
#[test]
fn pairwise_welch_tests_agree_with_r() {
    for (set, groups) in sets() {
        let (r, relative) = expected(set);
        let r = &r["pairwise_welch"];
        let mut p = Vec::new();
        for first in 0..groups.len() {
            for second in first + 1..groups.len() {
                p.push(welch_t(&groups[second], &groups[first]).unwrap().p_value());
            }
        }
        for (key, found) in [
            ("p", p.clone()),
            ("holm", holm(&p).unwrap()),
            ("bh", benjamini_hochberg(&p).unwrap()),
            ("bonferroni", bonferroni(&p).unwrap()),
        ] {
            for (found, expected) in found.iter().zip(numbers(&r[key])) {
                close(key, *found, expected, relative);
            }
        }
    }
}

#[test]
fn two_groups_are_a_t_test() {
    let (x, y) = ([5.1, 6.0, 5.7, 6.4, 7.0], [4.2, 4.8, 4.4]);
    let pair = [&x[..], &y[..]];
    let student = student_t(&y, &x).unwrap();
    let welch = welch_t(&y, &x).unwrap();
    for (anova, t) in [(anova(&pair).unwrap(), student), (welch_anova(&pair).unwrap(), welch)] {
        close("F", anova.f, t.statistic().powi(2), 1e-12);
        close("p", anova.p, t.p_value(), 1e-11);
    }
    for (found, t) in
        [(tukey_kramer(&pair, 0.9).unwrap(), student), (games_howell(&pair, 0.9).unwrap(), welch)]
    {
        let interval = t.interval(0.9).unwrap();
        close("p", found[0].p, t.p_value(), 1e-11);
        close("from", found[0].interval.lo, interval.lo, 1e-11);
        close("to", found[0].interval.hi, interval.hi, 1e-11);
    }
}

/// Student's t test is a regression on a column of zeros and ones.
#[test]
fn student_is_least_squares() {
    let (x, y) = ([5.1, 6.0, 5.7, 6.4, 7.0], [4.2, 4.8, 4.4]);
    let outcome: Vec<f64> = x.iter().chain(&y).copied().collect();
    let first: Vec<f64> = (0..8).map(|row| f64::from(u8::from(row < 5))).collect();
    let design = Design::new(8).intercept().unwrap().numeric("first", &first).unwrap();
    let fit = LeastSquares::fit(&design, &outcome, ErrorKind::Classical).unwrap();
    let Estimate { estimate, std_error, df } = fit.estimates.term("first").unwrap();
    let t = student_t(&x, &y).unwrap();
    close("difference", t.estimate, estimate, 1e-13);
    close("se", t.std_error, std_error, 1e-13);
    assert_eq!(t.df, df);
}

#[test]
fn hard_samples() {
    let (flat, good) = ([3.0, 3.0, 3.0], [1.0, 2.0, 4.0]);
    // 0.1 has no exact mean in binary; it is constant all the same.
    let tenth = [0.1; 7];
    assert_eq!(welch_t(&flat, &flat).unwrap_err(), StatsError::ExactFit);
    assert_eq!(student_t(&tenth, &flat).unwrap_err(), StatsError::ExactFit);
    assert_eq!(one_sample_t(&tenth, 0.0).unwrap_err(), StatsError::ExactFit);
    assert!(cohens_d(&tenth, &tenth).is_err());
    // One constant sample has a variance all the same: zero.
    let half = welch_t(&flat, &good).unwrap();
    assert!(half.df == 2.0 && half.std_error > 0.0);
    assert_eq!(welch_anova(&[&good, &flat]).unwrap_err(), StatsError::ConstantGroup { group: 1 });
    assert_eq!(
        games_howell(&[&tenth[..], &good], 0.9).unwrap_err(),
        StatsError::ConstantGroup { group: 0 }
    );
    assert_eq!(anova(&[&flat, &flat]).unwrap_err(), StatsError::ExactFit);
    assert_eq!(tukey_kramer(&[&flat, &flat], 0.9).unwrap_err(), StatsError::ExactFit);
    let equal = anova(&[&good, &good]).unwrap();
    assert_eq!((equal.f, equal.p), (0.0, 1.0));
    assert_eq!(tukey_kramer(&[&good, &good], 0.9).unwrap()[0].p, 1.0);

    let one = [5.0];
    assert!(matches!(welch_t(&one, &good), Err(StatsError::TooFewRows { .. })));
    assert_eq!(student_t(&one, &good).unwrap().df, 2.0);
    assert!(matches!(student_t(&one, &one), Err(StatsError::TooFewRows { .. })));
    assert!(matches!(anova(&[&one, &one]), Err(StatsError::TooFewRows { .. })));
    assert_eq!(anova(&[&one[..], &good]).unwrap().df_within, 2.0);
    assert!(matches!(welch_anova(&[&one[..], &good]), Err(StatsError::TooFewRows { .. })));
    for bad in [&[][..], &[1.0, f64::NAN], &[1.0, f64::INFINITY]] {
        assert!(welch_t(bad, &good).is_err() && student_t(&good, bad).is_err());
        assert!(one_sample_t(bad, 0.0).is_err() && one_sample_t(&good, f64::NAN).is_err());
        assert!(anova(&[bad, &good]).is_err() && welch_anova(&[&good, bad]).is_err());
        assert!(tukey_kramer(&[bad, &good], 0.9).is_err());
    }
    assert!(anova(&[&good]).is_err() && games_howell::<&[f64]>(&[], 0.9).is_err());
    assert!(tukey_kramer(&[&good, &good], 1.0).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn comparisons_follow_order_shift_and_scale(
        mut x in prop::collection::vec(-50.0f64..50.0, 3..9),
        y in prop::collection::vec(-50.0f64..50.0, 3..9),
        z in prop::collection::vec(-50.0f64..50.0, 3..9),
        shift in prop::sample::select(vec![0.0, 3.0, 1e7]),
        scale in prop::sample::select(vec![-2.0, 1e-3, 1e9]),
    ) {
        let moved = |v: &[f64]| -> Vec<f64> { v.iter().map(|v| (v + shift) * scale).collect() };
        let close = |a: f64, b: f64| (a - b).abs() < 1e-6 * (1.0 + b.abs());
        for test in [welch_t, student_t] {
            let (near, swapped) = (test(&x, &y).unwrap(), test(&y, &x).unwrap());
            let far = test(&moved(&x), &moved(&y)).unwrap();
            prop_assert!(close(near.statistic(), -swapped.statistic()) && close(near.df, far.df));
            prop_assert!(close(far.statistic(), near.statistic() * scale.signum()));
            let (p, other) = (PValues::of(&near), PValues::of(&swapped));
            prop_assert!((p.less - other.greater).abs() < 1e-12);
        }
        for analysis in [anova, welch_anova] {
            let near = analysis(&[x.clone(), y.clone(), z.clone()]).unwrap();
            let far = analysis(&[moved(&z), moved(&x), moved(&y)]).unwrap();
            prop_assert!(close(near.f, far.f) && close(near.df_within, far.df_within));
            prop_assert!((0.0..=1.0).contains(&near.p));
        }
        x.reverse();
        for compare in [tukey_kramer, games_howell] {
            let near = compare(&[x.clone(), y.clone(), z.clone()], 0.9).unwrap();
            let far = compare(&[y.clone(), x.clone(), z.clone()], 0.9).unwrap();
            prop_assert!(close(near[0].difference, -far[0].difference));
            prop_assert!(close(near[0].interval.lo, -far[0].interval.hi));
            prop_assert!((near[1].p - far[2].p).abs() < 1e-9);
            for pair in near {
                // An interval misses zero just where its p value falls below the level.
                let outside = pair.interval.lo > 0.0 || pair.interval.hi < 0.0;
                prop_assert_eq!(outside, pair.p < 0.1);
            }
        }
    }
}
