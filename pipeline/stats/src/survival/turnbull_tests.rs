use super::*;
use crate::reference::{Table, close_or_zero as close, expected, number};
use crate::{Followup, KaplanMeier};
use proptest::prelude::*;
use serde_json::Value as Json;

/// Self-consistency iterated to a standstill in R (`make/survival.R`).
#[test]
fn agrees_with_r() {
    let (results, relative) = expected("interval_times");
    let table = Table::read("interval_times");
    let times = CensoredTimes::intervals(&table.numbers("lower"), &table.numbers("upper")).unwrap();
    let r = &results["turnbull"];
    let fit = Turnbull::fit(&times).unwrap();
    assert_eq!(fit.intervals.len(), r["mass"].as_array().unwrap().len());
    let end = |value: &Json, other: f64| value.as_f64().unwrap_or(other);
    for (i, own) in fit.intervals.iter().enumerate() {
        assert_eq!(own.lower, end(&r["from"][i], f64::NEG_INFINITY));
        assert_eq!(own.upper, end(&r["to"][i], f64::INFINITY));
        close("mass", own.mass, number(&r["mass"][i]), relative);
    }
    close("loglik", fit.log_likelihood, number(&r["loglik"]), relative);
}

#[test]
fn hard_input_gives_errors_or_answers() {
    let inf = f64::INFINITY;
    let fit =
        |lower: &[f64], upper: &[f64]| Turnbull::fit(&CensoredTimes::intervals(lower, upper)?);
    assert!(matches!(fit(&[], &[]), Err(StatsError::Empty { .. })));
    assert!(matches!(fit(&[2.0], &[1.0]), Err(StatsError::CrossedBounds { .. })));
    // All still to come: all mass beyond the last look.
    let later = fit(&[1.0, 4.0, 2.0], &[inf; 3]).unwrap();
    assert_eq!(later.intervals, [TurnbullInterval { lower: 4.0, upper: inf, mass: 1.0 }]);
    assert_eq!(later.survival(4.0), Interval { lo: 1.0, hi: 1.0 });
    assert_eq!(later.survival(5.0), Interval { lo: 0.0, hi: 1.0 });
    // One row; one point throughout; bounds that touch.
    let one = fit(&[1.0], &[2.0]).unwrap();
    assert_eq!(one.quantile(0.5).unwrap(), Interval { lo: 1.0, hi: 2.0 });
    assert!(one.quantile(0.0).is_err());
    let tied = fit(&[3.0; 5], &[3.0; 5]).unwrap();
    assert_eq!(tied.survival(3.0), Interval { lo: 0.0, hi: 0.0 });
    assert_eq!(tied.survival(2.9), Interval { lo: 1.0, hi: 1.0 });
    let touching = fit(&[0.0, 1.0, 1.0], &[1.0, 1.0, 2.0]).unwrap();
    let ends: Vec<_> = touching.intervals.iter().map(|i| (i.lower, i.upper)).collect();
    assert_eq!(ends, [(1.0, 1.0), (1.0, 2.0)]);
    close("mass", touching.intervals[0].mass, 2.0 / 3.0, 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Of exact and right-censored outcomes it is Kaplan & Meier's estimate.
    #[test]
    fn is_kaplan_meier_where_that_applies(
        data in prop::collection::vec((1..15_u8, any::<bool>()), 1..60),
    ) {
        let time: Vec<f64> = data.iter().map(|d| f64::from(d.0)).collect();
        let event: Vec<bool> = data.iter().map(|d| d.1).collect();
        let fit = Turnbull::fit(&CensoredTimes::right_censored(&time, &event).unwrap()).unwrap();
        let curve = KaplanMeier::fit(&Followup::right_censored(&time, &event).unwrap());
        for point in &curve.steps {
            let bounds = fit.survival(point.time);
            prop_assert!((bounds.lo - point.survival).abs() < 1e-8);
            prop_assert!((bounds.hi - point.survival).abs() < 1e-8);
        }
    }

    /// The maximum is one (the fit ends where its conditions hold); it does not depend on order,
    /// copies or unit. Masses need not be unique, the likelihood is.
    #[test]
    fn reaches_the_maximum_whatever_the_bounds(
        data in prop::collection::vec((0..40_u8, 0..12_u8, 0..8_u8), 1..120),
    ) {
        let bounds = |d: &(u8, u8, u8)| {
            let (low, width) = (f64::from(d.0), f64::from(d.1));
            match d.2 {
                0 => (low, f64::INFINITY),
                1 => (f64::NEG_INFINITY, low),
                _ => (low, low + width),
            }
        };
        let rows: Vec<(f64, f64)> = data.iter().map(bounds).collect();
        let fit = |rows: &[(f64, f64)], scale: f64| {
            let lower: Vec<f64> = rows.iter().map(|r| r.0 * scale).collect();
            let upper: Vec<f64> = rows.iter().map(|r| r.1 * scale).collect();
            Turnbull::fit(&CensoredTimes::intervals(&lower, &upper).unwrap()).unwrap()
        };
        let whole = fit(&rows, 1.0);
        prop_assert!(whole.intervals.iter().all(|own| own.mass >= 0.0));
        let turned: Vec<_> = rows.iter().rev().copied().collect();
        let near = |likelihood: f64| {
            (whole.log_likelihood - likelihood).abs() <= 3e-9 * rows.len() as f64
        };
        prop_assert!(near(fit(&turned, 1e9).log_likelihood));
        let double: Vec<_> = rows.iter().chain(&rows).copied().collect();
        prop_assert!(near(0.5 * fit(&double, 1.0).log_likelihood));
    }
}
