use crate::{Design, ErrorKind, LeastSquares};

/// Two arms of three clusters each, an arm constant in a cluster.
fn arms() -> LeastSquares {
    let arm = [1.0, 1.0, 1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0];
    let fire = [0, 0, 1, 2, 2, 3, 3, 4, 5, 5];
    let y = [31.0, 35.0, 28.0, 40.0, 36.0, 24.0, 27.0, 20.0, 25.0, 31.0];
    let design = Design::new(10).intercept().unwrap().numeric("arm", &arm).unwrap();
    LeastSquares::fit(&design, &y, ErrorKind::Clustered(&fire)).unwrap()
}

/// Every combination of the six weights, restricted residuals refitted row by row, the variance as
/// the definition of CR2 with whole matrices.
#[test]
fn the_p_value_is_that_of_all_combinations_refitted() {
    use nalgebra::{DMatrix, DVector};
    let fire = [0_usize, 0, 1, 1, 2, 3];
    let x = DMatrix::from_row_slice(6, 2, &[1., 0.3, 1., 1.9, 1., 0.7, 1., 2.2, 1., 3.1, 1., 1.4]);
    let y = DVector::from_row_slice(&[2.0, 4.5, 1.0, 5.0, 8.0, 2.5]);
    let column: Vec<f64> = x.column(1).iter().copied().collect();
    let design = Design::new(6).intercept().unwrap().numeric("x", &column).unwrap();
    let fit = LeastSquares::fit(&design, y.as_slice(), ErrorKind::Clustered(&fire)).unwrap();
    let wild = fit.wild_bootstrap(&[0.0, 1.0], 1).unwrap().unwrap();

    let bread = (x.transpose() * &x).try_inverse().unwrap();
    let hat = &x * &bread * x.transpose();
    let t_squared = |outcome: &DVector<f64>, hypothesis: f64| {
        let b = &bread * x.transpose() * outcome;
        let e = outcome - &x * &b;
        let mut variance = 0.0;
        for g in 0..4 {
            let rows: Vec<usize> = (0..6).filter(|&row| fire[row] == g).collect();
            let rest = DMatrix::from_fn(rows.len(), rows.len(), |a, b| {
                f64::from(u8::from(a == b)) - hat[(rows[a], rows[b])]
            });
            let eigen = rest.symmetric_eigen();
            let powers = DMatrix::from_diagonal(&eigen.eigenvalues.map(|v| 1.0 / v.sqrt()));
            let adjust = &eigen.eigenvectors * powers * eigen.eigenvectors.transpose();
            let own = adjust * DVector::from_fn(rows.len(), |a, _| e[rows[a]]);
            let part: f64 = (0..rows.len())
                .map(|a| (bread.row(1) * x.row(rows[a]).transpose())[0] * own[a])
                .sum();
            variance += part * part;
        }
        (b[1] - hypothesis).powi(2) / variance
    };
    for hypothesis in [0.0, 1.3, 4.0] {
        // Under the hypothesis the outcome less hypothesis · x has a mean alone.
        let left = &y - x.column(1) * hypothesis;
        let mean = left.mean();
        let restricted = left.map(|value| value - mean);
        let seen = t_squared(&y, hypothesis);
        let (mut as_large, mut all) = (0, 0);
        for combination in 0..1296_usize {
            let weight = |g: usize| super::WEBB[combination / 6_usize.pow(g as u32) % 6];
            let drawn = DVector::from_fn(6, |row, _| {
                mean + hypothesis * x[(row, 1)] + weight(fire[row]) * restricted[row]
            });
            all += 1;
            as_large += usize::from(t_squared(&drawn, hypothesis) >= seen * (1.0 - 1e-9));
        }
        // Ours counts half of them, for each has its mirror image, and the data as one more.
        let expected = (as_large / 2 + 1) as f64 / f64::from(all / 2 + 1);
        assert!((wild.p_value(hypothesis) - expected).abs() < 1e-12, "{hypothesis}");
    }
}

#[test]
fn the_interval_holds_what_is_not_rejected() {
    let wild = arms().wild_bootstrap(&[0.0, 1.0], 1).unwrap().unwrap();
    let interval = wild.interval(0.8).unwrap();
    assert!(interval.lo < 8.6 && 8.6 < interval.hi, "{interval:?}");
    for (inside, outside) in
        [(interval.lo + 0.01, interval.lo - 0.01), (interval.hi - 0.01, interval.hi + 0.01)]
    {
        assert!(wild.p_value(inside) > 0.2 && wild.p_value(outside) <= 0.2);
    }
    assert!(wild.interval(1.0).is_err());
}

#[test]
fn so_few_clusters_carry_no_interval_of_a_high_level() {
    // Three clusters have 216 combinations of weights, 108 without their mirror images: no p value is
    // below 1/109.
    let x = [1.0, 2.0, 0.5, 1.5, 3.0, 2.2];
    let y = [3.0, 4.0, 3.7, 1.0, 2.0, 1.5];
    let design = Design::new(6).intercept().unwrap().numeric("x", &x).unwrap();
    let fires = ErrorKind::Clustered(&[0, 0, 1, 1, 2, 2]);
    let fit = LeastSquares::fit(&design, &y, fires).unwrap();
    let wild = fit.wild_bootstrap(&[0.0, 1.0], 1).unwrap().unwrap();
    let interval = wild.interval(0.995).unwrap();
    assert_eq!((interval.lo, interval.hi), (f64::NEG_INFINITY, f64::INFINITY));
    assert!(wild.p_value(1e9) >= 1.0 / 109.0);
}

#[test]
fn the_unit_of_the_outcome_is_that_of_the_interval() {
    let arm = [1.0, 1.0, 1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0];
    let fire = [0, 0, 1, 2, 2, 3, 3, 4, 5, 5];
    let y = [31.0, 35.0, 28.0, 40.0, 36.0, 24.0, 27.0, 20.0, 25.0, 31.0].map(|y| y * 1e6);
    let design = Design::new(10).intercept().unwrap().numeric("arm", &arm).unwrap();
    let fit = LeastSquares::fit(&design, &y, ErrorKind::Clustered(&fire)).unwrap();
    let large = fit.wild_bootstrap(&[0.0, 1.0], 1).unwrap().unwrap().interval(0.8).unwrap();
    let small = arms().wild_bootstrap(&[0.0, 1.0], 1).unwrap().unwrap().interval(0.8).unwrap();
    assert!((large.lo / 1e6 - small.lo).abs() < 1e-4 && (large.hi / 1e6 - small.hi).abs() < 1e-4);
    // Without clusters there is none.
    let plain = LeastSquares::fit(&design, &y, ErrorKind::Hc3).unwrap();
    assert!(plain.wild_bootstrap(&[0.0, 1.0], 1).unwrap().is_none());
}
