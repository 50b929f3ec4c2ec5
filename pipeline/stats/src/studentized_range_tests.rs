use super::*;
use crate::distribution::two_sided_p;
use crate::reference::{close, expected, numbers};
use proptest::prelude::*;

/// R 4.2.2 `ptukey` and `qtukey` (`distributions.json`), where they are good: for few degrees of
/// freedom or very many groups `ptukey` is itself off by up to 3e-3 (with two groups it misses
/// the distribution of |t|√2), and those cases are left to
/// `agrees_with_gauss_legendre_quadrature`. `qtukey` stops when its steps fall below 1e-4, so its
/// quantiles are compared at that; the largest difference found is 3e-5.
#[test]
fn agrees_with_r() {
    let (results, tolerance) = expected("distributions");
    for row in results["studentized_range"].as_array().unwrap() {
        let [q, groups, df, cdf, upper] = numbers(row)[..] else { panic!("five columns") };
        let range = StudentizedRange::new(groups as usize, df).unwrap();
        let what = format!("q {q}, {groups} groups, df {df}");
        assert!((range.cdf(q).unwrap() - cdf).abs() < tolerance, "{what}");
        assert!((range.upper_tail(q).unwrap() - upper).abs() < tolerance, "{what}");
    }
    for row in results["studentized_range_quantile"].as_array().unwrap() {
        let [probability, groups, df, q] = numbers(row)[..] else { panic!("four columns") };
        let found =
            StudentizedRange::new(groups as usize, df).unwrap().quantile(probability).unwrap();
        assert!((found - q).abs() < 1e-4, "{probability}, {groups}, {df}: {found} {q}");
    }
}

/// Both integrals by Gauss–Legendre quadrature in numpy, checked against `scipy`
/// (`studentized_range.json`).
#[test]
fn agrees_with_gauss_legendre_quadrature() {
    let (results, tolerance) = expected("studentized_range");
    for row in results["rows"].as_array().unwrap() {
        let [q, groups, df, upper] = numbers(row)[..] else { panic!("four columns") };
        let range = StudentizedRange::new(groups as usize, df).unwrap();
        let found = range.upper_tail(q).unwrap();
        let error = found / upper - 1.0;
        assert!(error.abs() < tolerance, "{q} {groups} {df}: {found} {upper} {error:e}");
        close("cdf", range.cdf(q).unwrap(), 1.0 - upper, tolerance);
    }
}

/// With two groups it is √2·|t|, and P(|T| ≥ t) keeps its digits far out.
#[test]
fn two_groups_are_student() {
    for df in [1.0, 2.0, 3.5, 5.0, 20.0, 300.0, 1e4, 1e6, f64::INFINITY] {
        let range = StudentizedRange::new(2, df).unwrap();
        for q in [0.01, 0.5, 2.0, 5.0, 12.0, 40.0] {
            let upper = range.upper_tail(q).unwrap();
            let t = two_sided_p(q / 2.0f64.sqrt(), df);
            assert!((upper / t - 1.0).abs() < 1e-11, "df {df}, q {q}: {upper:e} {t:e}");
        }
    }
}

/// For a range near zero P(R ≤ w) → √k (w/√(2π))ᵏ⁻¹, from k ∫ φ(z)ᵏ wᵏ⁻¹ dz.
#[test]
fn small_ranges_and_many_groups_hold() {
    for groups in [3, 5, 8] {
        let w = 1e-3;
        let k = groups as f64;
        let leading = k.sqrt() * (w / (2.0 * PI).sqrt()).powf(k - 1.0);
        let found = StudentizedRange::new(groups, f64::INFINITY).unwrap().cdf(w).unwrap();
        assert!((found / leading - 1.0).abs() < 1e-5, "{groups}: {found:e} {leading:e}");
    }
    let many = StudentizedRange::new(10_000, 50.0).unwrap();
    let median = many.quantile(0.5).unwrap();
    assert!((many.cdf(median).unwrap() - 0.5).abs() < 1e-9);
}

#[test]
fn ends_and_bad_arguments() {
    let range = StudentizedRange::new(4, 9.0).unwrap();
    assert_eq!((range.cdf(-1.0).unwrap(), range.upper_tail(0.0).unwrap()), (0.0, 1.0));
    assert_eq!(range.cdf(f64::INFINITY).unwrap(), 1.0);
    assert_eq!(range.upper_tail(f64::INFINITY).unwrap(), 0.0);
    assert!(range.cdf(f64::NAN).is_err() && range.upper_tail(f64::NAN).is_err());
    for probability in [0.0, 1.0, -0.5, f64::NAN] {
        assert!(range.quantile(probability).is_err());
    }
    assert!(StudentizedRange::new(1, 9.0).is_err());
    assert!(StudentizedRange::new(10_001, 9.0).is_err());
    for df in [0.5, 0.0, -1.0, f64::NAN] {
        assert!(StudentizedRange::new(3, df).is_err());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn tails_add_up_and_quantiles_undo_them(
        groups in 2usize..12, df in 1.0f64..200.0, probability in 0.001f64..0.999,
    ) {
        let range = StudentizedRange::new(groups, df).unwrap();
        let q = range.quantile(probability).unwrap();
        let (cdf, upper) = (range.cdf(q).unwrap(), range.upper_tail(q).unwrap());
        prop_assert!((cdf - probability).abs() < 1e-11, "{cdf} {probability}");
        prop_assert!((cdf + upper - 1.0).abs() < 1e-12);
        prop_assert!(range.upper_tail(q * 1.01).unwrap() < upper);
        prop_assert!(StudentizedRange::new(groups + 1, df).unwrap().upper_tail(q).unwrap() > upper);
    }
}
