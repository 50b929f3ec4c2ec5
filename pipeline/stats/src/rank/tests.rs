use super::*;
use crate::StatsError;
use crate::reference::{close, close_or_zero, column, expected, groups, number, numbers};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value as Json;

fn close_p(what: &str, found: PValues, expected: &Json, relative: f64) {
    let p = numbers(expected);
    close(&format!("{what}, two-sided"), found.two_sided, p[0], relative);
    close(&format!("{what}, less"), found.less, p[1], relative);
    close(&format!("{what}, greater"), found.greater, p[2], relative);
}

/// R 4.2.2 with `exactRankTests`, on samples with and without ties and zeros (`rank.json`).
#[test]
fn two_samples_agree_with_r() {
    let (results, relative) = expected("rank");
    for case in results["two_samples"].as_array().unwrap() {
        let (x, y) = (numbers(&case["x"]), numbers(&case["y"]));
        let exact = rank_sum(&x, &y, NullDistribution::Automatic).unwrap();
        let normal = rank_sum(&x, &y, NullDistribution::Normal).unwrap();
        assert!(exact.exact && !normal.exact);
        assert_eq!(exact.statistic, number(&case["statistic"]));
        close_p("exact", exact.p, &case["exact"], relative);
        close_p("normal", normal.p, &case["normal"], relative);
        let shift = hodges_lehmann_shift(&x, &y, 0.9).unwrap();
        close_or_zero("shift", shift.estimate, number(&case["shift"]), relative);
        if !case["shift_interval90"].is_null() {
            let ends = numbers(&case["shift_interval90"]);
            close("shift from", shift.interval.lo, ends[0], relative);
            close("shift to", shift.interval.hi, ends[1], relative);
        }
        let delta = CliffsDelta::new(&x, &y).unwrap();
        let interval = delta.interval(0.95).unwrap();
        let ends = numbers(&case["cliffs_interval95"]);
        close_or_zero("delta", delta.estimate(), number(&case["cliffs_delta"]), relative);
        close("delta from", interval.lo, ends[0], relative);
        close("delta to", interval.hi, ends[1], relative);
        let u = delta.probability_of_superiority() * (x.len() * y.len()) as f64;
        close("U", u, exact.statistic, 1e-12);
    }
}

/// The same source.
#[test]
fn one_sample_agrees_with_r() {
    let (results, relative) = expected("rank");
    for case in results["one_sample"].as_array().unwrap() {
        let x = numbers(&case["x"]);
        let exact = signed_rank(&x, NullDistribution::Automatic).unwrap();
        let normal = signed_rank(&x, NullDistribution::Normal).unwrap();
        assert!(exact.exact && !normal.exact);
        assert_eq!(exact.statistic, number(&case["statistic"]));
        close_p("exact", exact.p, &case["exact"], relative);
        close_p("normal", normal.p, &case["normal"], relative);
        let centre = hodges_lehmann(&x, 0.9).unwrap();
        close_or_zero("centre", centre.estimate, number(&case["centre"]), relative);
        if !case["interval90"].is_null() {
            let ends = numbers(&case["interval90"]);
            close("centre from", centre.interval.lo, ends[0], relative);
            close("centre to", centre.interval.hi, ends[1], relative);
        }
    }
}

/// R 4.2.2 `kruskal.test` (`rank.json`, `plantgrowth.json`, `insectsprays.json`).
#[test]
fn kruskal_wallis_agrees_with_r() {
    let (results, relative) = expected("rank");
    for case in results["groups"].as_array().unwrap() {
        let groups: Vec<Vec<f64>> =
            case["groups"].as_array().unwrap().iter().map(numbers).collect();
        let test = kruskal_wallis(&groups).unwrap();
        close("H", test.statistic, number(&case["statistic"]), relative);
        close("p", test.p, number(&case["p"]), relative);
        assert_eq!(test.df, number(&case["df"]));
    }
    for (set, values, labels) in
        [("plantgrowth", "weight", "group"), ("insectsprays", "sqrt_count", "spray")]
    {
        let (results, relative) = expected(set);
        let test = kruskal_wallis(&groups(set, values, labels)).unwrap();
        close("H", test.statistic, number(&results["kruskal_wallis"]["H"]), relative);
        close("p", test.p, number(&results["kruskal_wallis"]["p"]), relative);
    }
}

/// R 4.2.2 and `exactRankTests` (`hollander_permeability.json`, `student_sleep_ties.json`). Hollander
/// & Wolfe (1973, p. 69) print W = 35 and the one-sided p 0.1272.
#[test]
fn public_two_sample_sets_agree() {
    for (set, values, labels) in
        [("hollander_permeability", "value", "group"), ("student_sleep_ties", "extra", "group")]
    {
        let (results, relative) = expected(set);
        let [x, y] = &groups(set, values, labels)[..] else { panic!("two groups") };
        let test = rank_sum(x, y, NullDistribution::Automatic).unwrap();
        let normal = rank_sum(x, y, NullDistribution::Normal).unwrap();
        let r = &results["mann_whitney"];
        assert_eq!(test.statistic, number(&r["W_x"]));
        close("exact", test.p.two_sided, number(&r["exact_p_two_sided"]), relative);
        let asymptotic = number(&r["asymptotic_p_tie_and_continuity_corrected"]);
        close("normal", normal.p.two_sided, asymptotic, relative);
        let delta = CliffsDelta::new(x, y).unwrap().estimate();
        close("delta", delta, number(&results["cliffs_delta"]), relative);
        let shift = hodges_lehmann_shift(x, y, 0.95).unwrap();
        close("shift", shift.estimate, number(&results["hodges_lehmann_shift"]), relative);
        if set == "hollander_permeability" {
            assert!((test.p.greater - 0.1272).abs() < 5e-5);
            let ends = numbers(&results["hodges_lehmann_ci95_exact"]);
            close("from", shift.interval.lo, ends[0], relative);
            close("to", shift.interval.hi, ends[1], relative);
            assert!(shift.exact && (0.95..0.97).contains(&shift.achieved_level));
        }
    }
}

/// R 4.2.2 (`hollander_tuna.json`, `cars_theil_sen_ties.json`).
#[test]
fn theil_sen_agrees_with_r() {
    for (set, x, y) in
        [("hollander_tuna", "lightness", "quality"), ("cars_theil_sen_ties", "speed", "dist")]
    {
        let (results, relative) = expected(set);
        let r = &results["theil_sen"];
        let line = TheilSen::fit(&column(set, x), &column(set, y)).unwrap();
        close("slope", line.slope(), number(&r["slope"]), relative);
        let conover = number(&r["intercept_median_y_minus_slope_median_x"]);
        close("intercept", line.intercept(), conover, relative);
        let residual = number(&r["intercept_median_residual"]);
        close("intercept", line.median_residual_intercept(), residual, relative);
        close("sigma", line.kendall_sd(), number(&r["sen_sigma"]), relative);
        assert_eq!(line.slopes().len() as f64, number(&r["n_slopes"]));
        for (key, rule) in [
            ("ci95_interpolated", RankRule::Interpolated),
            ("ci95_rounded_ranks", RankRule::Rounded),
        ] {
            let (found, ends) = (line.interval(0.95, rule).unwrap(), numbers(&r[key]));
            close("from", found.lo, ends[0], relative);
            close("to", found.hi, ends[1], relative);
        }
        close("predict", line.predict(10.0), conover + 10.0 * line.slope(), relative);
    }
}

/// R 4.2.2, `pwilcox(23, 10, 10)` and `psignrank(8, 10)`.
#[test]
fn exact_tails_agree_with_r() {
    let untied: Vec<u64> = (1..=20).collect();
    let rank_sum = exact::SumDistribution::of_subset(&untied, 10);
    // U = rank sum − 55.
    close("U", rank_sum.p_values(55 + 23).less, 0.021_628_526_272_489, 1e-12);
    let untied: Vec<u64> = (1..=10).collect();
    let signed = exact::SumDistribution::of_signs(&untied);
    close("W", signed.p_values(8).less, 0.024_414_062_5, 1e-14);
}

#[test]
fn large_samples_go_over_to_the_normal_without_a_jump() {
    let mut random = ChaCha8Rng::seed_from_u64(4);
    let mut draw = |n: usize, shift: f64| -> Vec<f64> {
        (0..n).map(|_| shift + random.random::<f64>()).collect()
    };
    let (x, y) = (draw(70, 0.0), draw(70, 0.08));
    let exact = rank_sum(&x, &y, NullDistribution::Automatic).unwrap();
    let normal = rank_sum(&x, &y, NullDistribution::Normal).unwrap();
    assert!(exact.exact);
    assert!((exact.p.two_sided - normal.p.two_sided).abs() < 1e-3);
    let (x, y) = (draw(2_000, 0.0), draw(3_000, 0.5));
    assert!(!rank_sum(&x, &y, NullDistribution::Automatic).unwrap().exact);
    let shift = hodges_lehmann_shift(&x, &y, 0.95).unwrap();
    assert!(!shift.exact && (shift.achieved_level - 0.95).abs() < 1e-3);
    assert!(shift.interval.lo < -0.5 && shift.interval.hi > -0.5);
    assert!(shift.interval.hi - shift.interval.lo < 0.05);
    let centre = hodges_lehmann(&draw(5_000, 0.0), 0.95).unwrap();
    assert!(!centre.exact && centre.interval.lo < 0.5 && centre.interval.hi > 0.5);
}

/// The unbiased variance of Cliff's delta is that of its scatter, and the interval covers.
#[test]
fn cliffs_interval_covers() {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let draws = 4_000;
    // P(X > Y) for X = U^(1/2), Y = U: E X = 2/3, so delta is 1/3.
    let truth = 1.0 / 3.0;
    let mut covered = 0;
    for _ in 0..draws {
        let x: Vec<f64> = (0..15).map(|_| random.random::<f64>().sqrt()).collect();
        let y: Vec<f64> = (0..20).map(|_| random.random::<f64>()).collect();
        let interval = CliffsDelta::new(&x, &y).unwrap().interval(0.95).unwrap();
        covered += usize::from(interval.lo <= truth && truth <= interval.hi);
    }
    let share = f64::from(u32::try_from(covered).unwrap()) / f64::from(draws);
    assert!((0.94..0.965).contains(&share), "{share}");
}

#[test]
fn samples_without_overlap_and_tiny_ones() {
    let apart = CliffsDelta::new(&[5.0, 6.0, 7.0], &[1.0, 2.0, 3.0, 4.0]).unwrap();
    let interval = apart.interval(0.95).unwrap();
    assert_eq!((apart.estimate(), interval.hi), (1.0, 1.0));
    // (3 − z²)/(3 + z²) with z = 1.959964.
    close("inner end", interval.lo, -0.122_994_063_5, 1e-9);
    assert!(CliffsDelta::new(&[5.0], &[1.0, 2.0]).unwrap().interval(0.95).is_err());

    let one = rank_sum(&[1.0], &[2.0], NullDistribution::Automatic).unwrap();
    assert_eq!(one.p, PValues { two_sided: 1.0, less: 0.5, greater: 1.0 });
    let shift = hodges_lehmann_shift(&[1.0], &[3.0], 0.95).unwrap();
    assert_eq!((shift.estimate, shift.achieved_level), (-2.0, 1.0));
    assert_eq!(shift.interval.lo, f64::NEG_INFINITY);
    let centre = hodges_lehmann(&[4.0], 0.95).unwrap();
    assert_eq!((centre.estimate, centre.interval.hi), (4.0, f64::INFINITY));
    let single = signed_rank(&[4.0], NullDistribution::Automatic).unwrap();
    assert_eq!(single.p, PValues { two_sided: 1.0, less: 1.0, greater: 0.5 });

    let two = TheilSen::fit(&[1.0, 2.0], &[5.0, 8.0]).unwrap();
    assert_eq!((two.slope(), two.intercept()), (3.0, 2.0));
    let interval = two.interval(0.95, RankRule::Rounded).unwrap();
    assert_eq!((interval.lo, interval.hi), (f64::NEG_INFINITY, f64::INFINITY));
}

#[test]
fn constant_samples_say_nothing() {
    let flat = [3.0; 6];
    for null in [NullDistribution::Automatic, NullDistribution::Exact, NullDistribution::Normal] {
        let test = rank_sum(&flat, &flat, null).unwrap();
        assert_eq!(test.p, PValues { two_sided: 1.0, less: 1.0, greater: 1.0 }, "{null:?}");
        assert_eq!(test.statistic, 18.0);
        let none = signed_rank(&[0.0, 0.0], null).unwrap();
        assert_eq!((none.p.two_sided, none.nonzero), (1.0, 0));
    }
    let shift = hodges_lehmann_shift(&flat, &flat, 0.95).unwrap();
    assert_eq!((shift.estimate, shift.interval.lo, shift.interval.hi), (0.0, 0.0, 0.0));
    let test = kruskal_wallis(&[&flat, &flat, &flat]).unwrap();
    assert_eq!((test.statistic, test.p), (0.0, 1.0));
    let delta = CliffsDelta::new(&flat, &flat).unwrap();
    assert_eq!(delta.estimate(), 0.0);
    assert!(delta.interval(0.95).unwrap().lo > -1.0);
    let x: Vec<f64> = (0..6).map(f64::from).collect();
    assert_eq!(TheilSen::fit(&x, &flat).unwrap().slope(), 0.0);
    assert_eq!(
        TheilSen::fit(&flat, &x).unwrap_err(),
        StatsError::ConstantColumn { term: "x".into() }
    );
}

#[test]
fn rounding_does_not_break_ties_of_pairs() {
    // True differences 0.2, 0.2, -0.2, 0.
    let (first, second) = ([1.3, 2.3, 1.1, 0.3], [1.1, 2.1, 1.3, 0.1 + 0.2]);
    let test = signed_rank_paired(&first, &second, NullDistribution::Automatic).unwrap();
    assert_eq!((test.nonzero, test.statistic), (3, 4.0));
    assert_eq!(test.p.two_sided, 1.0);
}

#[test]
fn bad_samples_are_named() {
    let (nan, good) = ([1.0, f64::NAN], [1.0, 2.0]);
    let null = NullDistribution::Automatic;
    assert!(matches!(rank_sum(&[], &good, null), Err(StatsError::Empty { .. })));
    assert!(matches!(rank_sum(&good, &nan, null), Err(StatsError::NonFinite { row: 1, .. })));
    assert!(matches!(signed_rank(&[], null), Err(StatsError::Empty { .. })));
    assert!(signed_rank(&nan, null).is_err());
    assert!(signed_rank_paired(&good, &[1.0], null).is_err());
    assert!(hodges_lehmann(&nan, 0.9).is_err() && hodges_lehmann_shift(&nan, &good, 0.9).is_err());
    for level in [0.0, 1.0, f64::NAN, 95.0] {
        assert!(hodges_lehmann(&good, level).is_err());
        assert!(hodges_lehmann_shift(&good, &good, level).is_err());
        assert!(CliffsDelta::new(&good, &good).unwrap().interval(level).is_err());
    }
    assert!(CliffsDelta::new(&nan, &good).is_err());
    assert!(TheilSen::fit(&[1.0], &[1.0]).is_err() && TheilSen::fit(&good, &nan).is_err());
    assert!(TheilSen::fit(&good, &[1.0]).is_err());
    assert!(kruskal_wallis(&[&good]).is_err());
    assert!(kruskal_wallis(&[&good[..], &[]]).is_err());
    let rows: Vec<f64> = (0..10_001).map(f64::from).collect();
    assert!(matches!(TheilSen::fit(&rows, &rows), Err(StatsError::TooMany { .. })));
    // A slope beyond the doubles.
    assert!(matches!(
        TheilSen::fit(&[0.0, 1e-300], &[0.0, 1e30]),
        Err(StatsError::Overflow { .. })
    ));
}

fn samples() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    // A coarse grid, so that there are ties.
    let sample = || prop::collection::vec((-12i32..12).prop_map(f64::from), 1..12);
    (sample(), sample())
}

proptest! {
    #[test]
    fn rank_tests_ignore_order_shift_and_scale(
        (mut x, mut y) in samples(), shift in -1e9f64..1e9, power in -20i32..20,
    ) {
        let (null, scale) = (NullDistribution::Automatic, 2f64.powi(power));
        let test = rank_sum(&x, &y, null).unwrap();
        let signed = signed_rank(&x, null).unwrap();
        x.reverse();
        y.rotate_left(1);
        prop_assert_eq!(rank_sum(&x, &y, null).unwrap(), test);
        prop_assert_eq!(signed_rank(&x, null).unwrap(), signed);
        let move_by = |values: &[f64]| -> Vec<f64> {
            values.iter().map(|v| (v + shift.round()) * scale).collect()
        };
        prop_assert_eq!(rank_sum(&move_by(&x), &move_by(&y), null).unwrap(), test);
        let scaled: Vec<f64> = x.iter().map(|v| v * scale).collect();
        prop_assert_eq!(signed_rank(&scaled, null).unwrap(), signed);
        for p in [test.p, signed.p] {
            for p in [p.two_sided, p.less, p.greater] {
                prop_assert!(p > 0.0 && p <= 1.0);
            }
        }
    }

    #[test]
    fn swapping_samples_turns_everything_round((x, y) in samples()) {
        for null in [NullDistribution::Exact, NullDistribution::Normal] {
            let (one, other) = (rank_sum(&x, &y, null).unwrap(), rank_sum(&y, &x, null).unwrap());
            let pairs = (x.len() * y.len()) as f64;
            prop_assert_eq!(one.statistic + other.statistic, pairs);
            prop_assert!((one.p.two_sided - other.p.two_sided).abs() < 1e-12);
            prop_assert!((one.p.less - other.p.greater).abs() < 1e-12);
            let negative: Vec<f64> = x.iter().map(|v| -v).collect();
            let (up, down) = (signed_rank(&x, null).unwrap(), signed_rank(&negative, null).unwrap());
            prop_assert!((up.p.two_sided - down.p.two_sided).abs() < 1e-12);
            prop_assert!((up.p.less - down.p.greater).abs() < 1e-12);
        }
        let (one, other) =
            (hodges_lehmann_shift(&x, &y, 0.9).unwrap(), hodges_lehmann_shift(&y, &x, 0.9).unwrap());
        prop_assert_eq!(one.estimate, -other.estimate);
        prop_assert_eq!(one.interval.lo, -other.interval.hi);
        prop_assert!(one.interval.lo <= one.estimate && one.estimate <= one.interval.hi);
        if x.len() > 1 && y.len() > 1 {
            let (one, other) =
                (CliffsDelta::new(&x, &y).unwrap(), CliffsDelta::new(&y, &x).unwrap());
            prop_assert_eq!(one.estimate(), -other.estimate());
            let (a, b) = (one.interval(0.9).unwrap(), other.interval(0.9).unwrap());
            prop_assert!((a.lo + b.hi).abs() < 1e-12);
            prop_assert!(a.lo <= one.estimate() && one.estimate() <= a.hi);
        }
    }

    /// The interval holds just the shifts that the test does not reject.
    #[test]
    fn shift_interval_inverts_the_test(
        x in prop::collection::vec(-50.0f64..50.0, 3..9),
        y in prop::collection::vec(-50.0f64..50.0, 3..9),
        at in -80.0f64..80.0,
    ) {
        let found = hodges_lehmann_shift(&x, &y, 0.9).unwrap();
        let moved: Vec<f64> = x.iter().map(|v| v - at).collect();
        let p = rank_sum(&moved, &y, NullDistribution::Exact).unwrap().p.two_sided;
        let inside = found.interval.lo <= at && at <= found.interval.hi;
        prop_assert_eq!(inside, p > 0.1 + 1e-9, "at {}, p {}", at, p);
    }

    #[test]
    fn theil_sen_follows_shift_and_scale(
        points in prop::collection::vec((-20i32..20, -50.0f64..50.0), 3..25),
        a in -1e3f64..1e3, b in prop::sample::select(vec![-7.5, 0.01, 400.0]),
    ) {
        let x: Vec<f64> = points.iter().map(|p| f64::from(p.0)).collect();
        let y: Vec<f64> = points.iter().map(|p| p.1).collect();
        prop_assume!(x.iter().any(|v| *v != x[0]));
        let line = TheilSen::fit(&x, &y).unwrap();
        let moved: Vec<f64> = x.iter().zip(&y).map(|(x, y)| a + b * y + 3.0 * x).collect();
        let found = TheilSen::fit(&x, &moved).unwrap();
        let scale = 1e-9 * (1.0 + b.abs()) * 100.0 + 1e-9 * a.abs();
        prop_assert!((found.slope() - (b * line.slope() + 3.0)).abs() < scale);
        let interval = line.interval(0.9, RankRule::Interpolated).unwrap();
        prop_assert!(interval.lo <= line.slope() && line.slope() <= interval.hi);
        let order: Vec<usize> = (0..x.len()).rev().collect();
        let take = |v: &[f64]| -> Vec<f64> { order.iter().map(|&row| v[row]).collect() };
        let reordered = TheilSen::fit(&take(&x), &take(&y)).unwrap();
        prop_assert_eq!(reordered.slopes(), line.slopes());
    }

    #[test]
    fn kruskal_wallis_of_two_groups_is_the_rank_sum_without_correction((x, y) in samples()) {
        let h = kruskal_wallis(&[&x, &y]).unwrap();
        let swapped = kruskal_wallis(&[&y, &x]).unwrap();
        prop_assert!((h.statistic - swapped.statistic).abs() < 1e-9);
        let (m, n) = (x.len() as f64, y.len() as f64);
        let u = rank_sum(&x, &y, NullDistribution::Normal).unwrap().statistic;
        let both: Vec<f64> = x.iter().chain(&y).copied().collect();
        let ties = Midranks::new(&both, 0.0).tie_sum;
        let variance = m * n / 12.0 * (m + n + 1.0 - ties / ((m + n) * (m + n - 1.0)));
        if variance > 0.0 {
            let z_squared = (u - 0.5 * m * n).powi(2) / variance;
            prop_assert!((h.statistic - z_squared).abs() < 1e-9 * (1.0 + z_squared));
        }
    }
}
