use super::*;
use crate::distribution::two_sided_p;
use crate::reference::{expected, numbers};
use proptest::prelude::*;

/// R 4.2.2 `pt(t, df, ncp)`, algorithm AS 243 (`distributions.json`), whose own error is bounded by
/// 1e-12 a term; the largest difference found is 3e-12.
#[test]
fn agrees_with_r() {
    let (results, _) = expected("distributions");
    for row in results["noncentral_t"].as_array().unwrap() {
        let [t, df, noncentrality, cdf, upper] = numbers(row)[..] else { panic!("five columns") };
        let found = NoncentralT::new(df, noncentrality).unwrap();
        let what = format!("t {t}, df {df}, noncentrality {noncentrality}");
        assert!((found.cdf(t).unwrap() - cdf).abs() < 1e-11, "{what}");
        assert!((found.upper_tail(t).unwrap() - upper).abs() < 1e-11, "{what}");
    }
}

#[test]
fn without_noncentrality_it_is_student() {
    for df in [1.0, 2.0, 3.5, 9.0, 20.0, 34.0, 250.0] {
        let central = NoncentralT::new(df, 0.0).unwrap();
        for t in [0.1, 1.0, 2.0, 7.0, 30.0] {
            let (both, student) = (2.0 * central.upper_tail(t).unwrap(), two_sided_p(t, df));
            assert!((both / student - 1.0).abs() < 1e-12, "df {df}, t {t}: {both:e} {student:e}");
        }
    }
}

/// At t = 0 it is Φ(−δ) whatever the degrees of freedom; with infinitely many, Φ(t − δ).
#[test]
fn ends_are_normal() {
    for df in [1.0, 7.0, f64::INFINITY] {
        for delta in [-3.0, 0.0, 0.8, 8.0, 37.0] {
            let found = NoncentralT::new(df, delta).unwrap();
            let expected = normal_cdf(-delta);
            assert!((found.cdf(0.0).unwrap() / expected - 1.0).abs() < 1e-13, "{df} {delta}");
        }
    }
    let normal = NoncentralT::new(f64::INFINITY, 2.0).unwrap();
    assert_eq!(normal.cdf(1.5).unwrap(), normal_cdf(-0.5));
}

#[test]
fn bad_arguments_and_infinite_statistics() {
    for (df, delta) in [(0.0, 1.0), (-1.0, 1.0), (f64::NAN, 1.0), (5.0, f64::NAN), (5.0, 2e4)] {
        assert!(NoncentralT::new(df, delta).is_err(), "{df} {delta}");
    }
    let t = NoncentralT::new(5.0, 1.0).unwrap();
    assert!(t.cdf(f64::NAN).is_err());
    assert_eq!((t.cdf(f64::INFINITY).unwrap(), t.upper_tail(f64::INFINITY).unwrap()), (1.0, 0.0));
    assert_eq!(t.cdf(f64::NEG_INFINITY).unwrap(), 0.0);
    assert!(NoncentralT::new(5.0, 1e4).unwrap().cdf(1e4).unwrap().is_finite());
}

proptest! {
    #[test]
    fn tails_add_up_and_mirror(df in 0.5f64..300.0, delta in -30.0f64..30.0, t in -60.0f64..60.0) {
        let found = NoncentralT::new(df, delta).unwrap();
        let mirrored = NoncentralT::new(df, -delta).unwrap();
        let (cdf, upper) = (found.cdf(t).unwrap(), found.upper_tail(t).unwrap());
        prop_assert!((cdf + upper - 1.0).abs() < 1e-13);
        prop_assert_eq!(mirrored.upper_tail(-t).unwrap(), cdf);
        prop_assert!(found.cdf(t + 0.5).unwrap() >= cdf - 1e-14);
        prop_assert!(NoncentralT::new(df, delta + 0.5).unwrap().cdf(t).unwrap() <= cdf + 1e-14);
    }
}
