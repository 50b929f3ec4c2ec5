use super::*;
use crate::describe::{median, quantile};
use crate::reference::{close, column, expected, number, numbers, rows_of_indices};
use proptest::prelude::*;

fn correlation(rows: &[usize], x: &[f64], y: &[f64]) -> f64 {
    let n = rows.len() as f64;
    let centre = |v: &[f64]| rows.iter().map(|&row| v[row]).sum::<f64>() / n;
    let (mx, my) = (centre(x), centre(y));
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for &row in rows {
        let (dx, dy) = (x[row] - mx, y[row] - my);
        xx += dx * dx;
        yy += dy * dy;
        xy += dx * dy;
    }
    xy / (xx * yy).sqrt()
}

fn mean_of(values: &[f64]) -> impl FnMut(&[usize]) -> Result<f64, StatsError> + '_ {
    move |rows| {
        // From the first value, so that shifts and order of rows cost no digits.
        let base = values[0];
        let sum: f64 = rows.iter().map(|&row| values[row] - base).sum();
        Ok(base + sum / rows.len() as f64)
    }
}

/// R 4.2.2 on 4000 given resamples of the law school data (`law_school.json`). Efron & Tibshirani
/// (1993) print the correlation 0.776 and the jackknife standard error 0.1425.
#[test]
fn given_resamples_agree_with_r() {
    let (r, relative) = expected("law_school");
    let (x, y) = (column("law_school", "lsat"), column("law_school", "gpa"));
    let resamples = rows_of_indices("law_school_resamples");
    let bootstrap =
        Bootstrap::from_resamples(x.len(), &resamples, |rows| Ok(correlation(rows, &x, &y)))
            .unwrap();
    close("estimate", bootstrap.estimate(), number(&r["estimate"]), relative);
    close("bias", bootstrap.bias(), number(&r["boot_bias"]), relative);
    close("se", bootstrap.standard_error(), number(&r["boot_se"]), relative);
    close(
        "jackknife se",
        bootstrap.jackknife_standard_error(),
        number(&r["jackknife_se"]),
        relative,
    );
    close("jackknife bias", bootstrap.jackknife_bias(), number(&r["jackknife_bias"]), relative);
    close("acceleration", bootstrap.acceleration(), number(&r["acceleration"]), relative);
    close("z0", bootstrap.bias_correction().unwrap(), number(&r["z0"]), relative);
    for (found, expected) in bootstrap.jackknife().iter().zip(numbers(&r["jackknife_values"])) {
        close("jackknife", *found, expected, relative);
    }
    for (found, expected) in bootstrap.replicates().iter().zip(numbers(&r["first_replicates"])) {
        close("replicate", *found, expected, relative);
    }
    for case in r["intervals"].as_array().unwrap() {
        let level = number(&case["level"]);
        for (key, kind, rule) in [
            ("percentile_type7", IntervalKind::Percentile, QuantileRule::Type7),
            ("percentile_type6", IntervalKind::Percentile, QuantileRule::Type6),
            ("percentile_normal_interp", IntervalKind::Percentile, QuantileRule::NormalScale),
            ("basic_type6", IntervalKind::Basic, QuantileRule::Type6),
            ("normal_bias_corrected", IntervalKind::Normal, QuantileRule::Type6),
            ("bca_type6", IntervalKind::Bca, QuantileRule::Type6),
            ("bca_type7", IntervalKind::Bca, QuantileRule::Type7),
            ("bca_normal_interp", IntervalKind::Bca, QuantileRule::NormalScale),
        ] {
            let found = bootstrap.interval(kind, level, rule).unwrap();
            let ends = numbers(&case[key]);
            close(key, found.ends.lo, ends[0], relative);
            close(key, found.ends.hi, ends[1], relative);
            assert!(!found.beyond_replicates);
            if kind == IntervalKind::Bca {
                let adjusted = numbers(&case["bca_adjusted_alpha"]);
                close("alpha", found.probabilities.0, adjusted[0], relative);
                close("alpha", found.probabilities.1, adjusted[1], relative);
            }
        }
    }
}

#[test]
fn own_resamples_are_seeded_and_estimate_the_error_of_a_mean() {
    let values: Vec<f64> = (0..60).map(|i| f64::from(i * i % 37)).collect();
    let one = Bootstrap::rows(60, 10_000, 3, mean_of(&values)).unwrap();
    assert_eq!(one, Bootstrap::rows(60, 10_000, 3, mean_of(&values)).unwrap());
    assert_ne!(one, Bootstrap::rows(60, 10_000, 4, mean_of(&values)).unwrap());
    // The bootstrap variance of a mean is known: Σ(x − x̄)²/n².
    let sd = standard_deviation(&values).unwrap();
    let exact = sd * (59.0f64 / 60.0).sqrt() / 60.0f64.sqrt();
    assert!((one.standard_error() / exact - 1.0).abs() < 0.03);
    // The jackknife standard error of a mean is s/√n.
    close("jackknife", one.jackknife_standard_error(), sd / 60.0f64.sqrt(), 1e-10);
    assert!(one.jackknife_bias().abs() < 1e-9);
}

/// Each row is drawn equally often.
#[test]
fn draws_are_uniform() {
    let mut counts = [0u32; 7];
    let statistic = |rows: &[usize]| {
        for &row in rows {
            counts[row] += 1;
        }
        Ok(rows[0] as f64)
    };
    Bootstrap::rows(7, 20_000, 5, statistic).unwrap();
    // 20 000 expected; standard deviation 131. The estimate and the jackknife add 7.
    assert!(counts.iter().all(|&count| (19_500..20_500).contains(&count)), "{counts:?}");
}

/// Clusters of one row are rows; rows that repeat within a cluster add nothing.
#[test]
fn clusters_are_what_is_resampled() {
    let values: Vec<f64> = (0..12).map(|i| f64::from(i * 7 % 11)).collect();
    let labels: Vec<usize> = (0..12).collect();
    let single = Bootstrap::clusters(&labels, 500, 9, mean_of(&values)).unwrap();
    assert_eq!(single, Bootstrap::rows(12, 500, 9, mean_of(&values)).unwrap());

    let repeated: Vec<f64> = values.iter().flat_map(|v| [*v, *v]).collect();
    let labels: Vec<usize> = (0..24).map(|row| row / 2).collect();
    let doubled = Bootstrap::clusters(&labels, 500, 9, mean_of(&repeated)).unwrap();
    for (a, b) in doubled.replicates().iter().zip(single.replicates()) {
        assert!((a - b).abs() < 1e-12);
    }
    assert!((doubled.acceleration() - single.acceleration()).abs() < 1e-9);
    assert_eq!(doubled.jackknife().len(), 12);
    let rowwise = Bootstrap::rows(24, 500, 9, mean_of(&repeated)).unwrap();
    assert!(rowwise.standard_error() < 0.85 * doubled.standard_error());
}

/// Coverage of the mean of 20 exponentials, where the percentile interval is known to fall short:
/// the corrected one must do better (Efron & Tibshirani 1993, chapter 14).
#[test]
fn bca_covers_better_than_percentile() {
    let mut random = ChaCha8Rng::seed_from_u64(8);
    let (mut bca, mut percentile) = (0, 0);
    let trials = 600;
    for trial in 0..trials {
        let values: Vec<f64> = (0..20).map(|_| -random.random::<f64>().ln()).collect();
        let bootstrap = Bootstrap::rows(20, 1_000, trial, mean_of(&values)).unwrap();
        let holds = |kind| {
            let ends = bootstrap.interval(kind, 0.9, QuantileRule::Type6).unwrap().ends;
            u32::from(ends.lo <= 1.0 && 1.0 <= ends.hi)
        };
        bca += holds(IntervalKind::Bca);
        percentile += holds(IntervalKind::Percentile);
    }
    assert!(bca > percentile, "{bca} {percentile}");
    assert!((500..=565).contains(&bca), "{bca}");
}

#[test]
fn hard_samples() {
    let kind = IntervalKind::Bca;
    let flat = Bootstrap::rows(5, 100, 1, mean_of(&[4.0; 5])).unwrap();
    let interval = flat.interval(kind, 0.95, QuantileRule::Type6).unwrap();
    assert_eq!((interval.ends.lo, interval.ends.hi, flat.acceleration()), (4.0, 4.0, 0.0));
    assert_eq!(flat.standard_error(), 0.0);

    let two = Bootstrap::rows(2, 400, 1, mean_of(&[1.0, 3.0])).unwrap();
    let interval = two.interval(kind, 0.9, QuantileRule::Type6).unwrap().ends;
    // A quarter of the means of two draws is 1, half is 2: z₀ = Φ⁻¹(1/4) pulls the upper end to 2.
    assert_eq!((interval.lo, interval.hi), (1.0, 2.0));

    let far: Vec<f64> = (0..30).map(|i| 1e9 + f64::from(i)).collect();
    let ends = Bootstrap::rows(30, 1_000, 1, mean_of(&far)).unwrap();
    let ends = ends.interval(kind, 0.95, QuantileRule::Type6).unwrap().ends;
    assert!(ends.lo > 1e9 + 10.0 && ends.hi < 1e9 + 19.0);

    for (rows, resamples) in [(0, 100), (1, 100), (5, 0), (5, 1)] {
        assert!(Bootstrap::rows(rows, resamples, 1, mean_of(&[1.0; 5])).is_err());
    }
    let undefined = |rows: &[usize]| Ok(if rows[0] == 2 { f64::NAN } else { 1.0 });
    assert!(matches!(
        Bootstrap::rows(3, 50, 1, undefined),
        Err(StatsError::UndefinedStatistic { resample: Some(_), .. })
    ));
    let fails = |rows: &[usize]| median(&[f64::INFINITY, rows[0] as f64]);
    assert!(matches!(Bootstrap::rows(3, 50, 1, fails), Err(StatsError::NonFinite { .. })));
    assert!(matches!(
        Bootstrap::clusters(&["a"; 9], 50, 1, mean_of(&[1.0; 9])),
        Err(StatsError::TooFewClusters { found: 1 })
    ));
    let given = |resample: Vec<usize>| {
        Bootstrap::from_resamples(3, &[resample.clone(), resample], mean_of(&[1.0, 2.0, 3.0]))
    };
    assert!(given(vec![0, 1]).is_err() && given(vec![0, 1, 3]).is_err());
    // The largest value is its own largest replicate: none lies above it, few below.
    let largest = given(vec![0, 1, 2]).unwrap();
    assert!(largest.bias_correction().is_err());
    for level in [0.0, 1.0, f64::NAN] {
        assert!(two.interval(kind, level, QuantileRule::Type6).is_err());
    }
    // 1000 replicates cannot tell a level of 99.99 %.
    let far_out = two.interval(IntervalKind::Percentile, 0.9999, QuantileRule::Type6).unwrap();
    assert!(far_out.beyond_replicates);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn intervals_follow_shift_and_scale(
        values in prop::collection::vec(-100.0f64..100.0, 5..25),
        shift in -1e3f64..1e3, scale in prop::sample::select(vec![-3.0, 0.01, 250.0]),
    ) {
        let moved: Vec<f64> = values.iter().map(|v| shift + scale * v).collect();
        let near = Bootstrap::rows(values.len(), 400, 1, mean_of(&values)).unwrap();
        let far = Bootstrap::rows(values.len(), 400, 1, mean_of(&moved)).unwrap();
        let close = |found: f64, expected: f64| (found - expected).abs() < 1e-8 * (1e3 + scale.abs());
        prop_assert!(close(far.standard_error(), scale.abs() * near.standard_error()));
        for kind in [IntervalKind::Normal, IntervalKind::Basic, IntervalKind::Percentile] {
            let near = near.interval(kind, 0.9, QuantileRule::Type6).unwrap().ends;
            let far = far.interval(kind, 0.9, QuantileRule::Type6).unwrap().ends;
            let ends = (shift + scale * near.lo, shift + scale * near.hi);
            let (lo, hi) = if scale > 0.0 { ends } else { (ends.1, ends.0) };
            prop_assert!(close(far.lo, lo) && close(far.hi, hi), "{kind:?}");
        }
    }

    #[test]
    fn type_seven_is_the_quantile_of_the_crate(
        values in prop::collection::vec(-100.0f64..100.0, 5..25), level in 0.05f64..0.99,
    ) {
        let bootstrap = Bootstrap::rows(values.len(), 150, 1, mean_of(&values)).unwrap();
        let kind = IntervalKind::Percentile;
        let found = bootstrap.interval(kind, level, QuantileRule::Type7).unwrap();
        let expected = quantile(bootstrap.replicates(), found.probabilities.0).unwrap();
        prop_assert!((found.ends.lo - expected).abs() < 1e-9);
    }
}
