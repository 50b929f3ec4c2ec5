use super::*;
use crate::reference::{Table, close_or_zero as close, expected, number, numbers};
use proptest::prelude::*;
use serde_json::Value as Json;

/// 6-MP trial (Freireich et al. 1963), R survival 3.5.3, and the Stanford patients by transplant.
#[test]
fn agrees_with_r() {
    for (set, table, time, event, arm, which) in [
        ("freireich_6mp", "freireich_6mp", "time", "event", "treat", "km"),
        ("stanford_heart", "stanford_jasa", "futime", "fustat", "transplant", "naive_km"),
    ] {
        let (results, relative) = expected(set);
        let results = &results[which];
        let table = Table::read(table);
        let (times, events) = (table.numbers(time), table.flags(event));
        let tau = number(&results["tau"]);
        for (name, expected) in results["arms"].as_object().unwrap() {
            let rows: Vec<usize> =
                (0..times.len()).filter(|&i| table.text(arm)[i] == name).collect();
            let followup = Followup::right_censored(
                &rows.iter().map(|&i| times[i]).collect::<Vec<_>>(),
                &rows.iter().map(|&i| events[i]).collect::<Vec<_>>(),
            )
            .unwrap();
            let curve = KaplanMeier::fit(&followup);
            let sum = |of: fn(&SurvivalStep) -> usize| curve.steps.iter().map(of).sum::<usize>();
            assert_eq!(sum(|step| step.events + step.censored) as f64, number(&expected["n"]));
            assert_eq!(sum(|step| step.events) as f64, number(&expected["events"]));
            assert_eq!(curve.steps.len(), expected["time"].as_array().unwrap().len());
            for (i, step) in curve.steps.iter().enumerate() {
                let at = |key: &str| expected[key][i].as_f64();
                assert_eq!(Some(step.time), at("time"));
                assert_eq!(Some(step.at_risk as f64), at("n_risk"));
                assert_eq!(curve.at_risk(&[step.time]), [step.at_risk]);
                assert_eq!(Some(step.events as f64), at("n_event"));
                assert_eq!(Some(step.censored as f64), at("n_censor"));
                close("surv", step.survival, at("surv").unwrap(), relative);
                // R has no number where survival is zero.
                close("se", step.std_error, at("std_err_surv").unwrap_or(0.0), relative);
                let interval = step.interval(0.95).unwrap();
                let lower = at("lower_loglog");
                assert_eq!(interval.is_some(), lower.is_some(), "{i}");
                if let (Some(ends), Some(lower)) = (interval, lower) {
                    close("lower", ends.lo, lower, relative);
                    close("upper", ends.hi, at("upper_loglog").unwrap(), relative);
                }
            }
            for (i, p) in [0.25, 0.5, 0.75].into_iter().enumerate() {
                let quantile = curve.quantile(p, 0.95).unwrap();
                assert_eq!(quantile.estimate, expected["quantiles_25_50_75"][i].as_f64());
                // By definition: where R's pointwise interval first reaches 1 − p.
                let first = |key: &str| {
                    let ends = expected[key].as_array().unwrap();
                    let reached = |end: &Json| end.as_f64().is_some_and(|end| end <= 1.0 - p);
                    ends.iter().position(reached).and_then(|place| expected["time"][place].as_f64())
                };
                let zero = curve.steps.last().filter(|step| step.survival == 0.0);
                assert_eq!(quantile.lo, first("lower_loglog").or(zero.map(|step| step.time)));
                assert_eq!(quantile.hi, first("upper_loglog"));
            }
            let mean = curve.restricted_mean(tau).unwrap();
            close("rmst", mean, number(&expected["rmst"]), relative);
        }
    }
}

/// Late entry, R survival 3.5.3 (`make/survival.R`).
#[test]
fn agrees_with_r_on_late_entry() {
    let (results, relative) = expected("survival_rows");
    let table = Table::read("survival_rows");
    let followup = Followup::start_stop(
        &table.numbers("start"),
        &table.numbers("stop"),
        &table.flags("event"),
    )
    .unwrap();
    let expected = &results["km"];
    let curve = KaplanMeier::fit(&followup);
    let times = numbers(&expected["time"]);
    assert_eq!(times.len(), curve.steps.len());
    for (i, step) in curve.steps.iter().enumerate() {
        assert_eq!(step.time, times[i]);
        close("n_risk", step.at_risk as f64, number(&expected["n_risk"][i]), relative);
        close("surv", step.survival, number(&expected["surv"][i]), relative);
        close("se", step.std_error, expected["std_err"][i].as_f64().unwrap_or(0.0), relative);
    }
}

#[test]
fn hard_input_gives_errors_or_answers() {
    assert!(Followup::right_censored(&[], &[]).is_err());
    let none = Followup::right_censored(&[3.0, 4.0], &[false, false]).unwrap();
    let curve = KaplanMeier::fit(&none);
    assert_eq!(curve.steps[1].survival, 1.0);
    assert_eq!(
        curve.restricted_mean(5.0).unwrap_err(),
        StatsError::BeyondObservation { time: 5.0, last: 4.0 }
    );
    assert_eq!(curve.restricted_mean(4.0).unwrap(), 4.0);
    let median = curve.quantile(0.5, 0.95).unwrap();
    assert_eq!((median.estimate, median.lo, median.hi), (None, None, None));
    for bad in [0.0, 1.0, f64::NAN] {
        assert!(curve.quantile(bad, 0.95).is_err());
        assert!(curve.quantile(0.5, bad).is_err());
    }
    assert!(curve.restricted_mean(-1.0).is_err());
    assert!(curve.restricted_mean(f64::NAN).is_err());

    let one = Followup::right_censored(&[3.0], &[true]).unwrap();
    let curve = KaplanMeier::fit(&one);
    let last = curve.steps[0];
    assert_eq!((last.survival, last.std_error), (0.0, 0.0));
    assert_eq!(last.interval(0.95).unwrap(), None);
    assert_eq!(curve.restricted_mean(10.0).unwrap(), 3.0);
    let negative = Followup::right_censored(&[-3.0, 2.0], &[true, true]).unwrap();
    assert!(matches!(
        KaplanMeier::fit(&negative).restricted_mean(1.0),
        Err(StatsError::NotPositive { .. })
    ));
    // All die at once.
    let tied = Followup::right_censored(&[2.0; 5], &[true; 5]).unwrap();
    assert_eq!(KaplanMeier::fit(&tied).steps[0].survival, 0.0);
}

/// 1, 2 die, 3, 4 are censored: flat at one half to the end, so the median is in the middle of what
/// is known of the flat stretch; `quantile(survfit(…), 0.5)` in R 4.2.2 gives 3 and 2.5.
#[test]
fn a_flat_stretch_at_the_level_gives_its_middle() {
    for (event, median) in [([true, true, false, false], 3.0), ([true; 4], 2.5)] {
        let followup = Followup::right_censored(&[1.0, 2.0, 3.0, 4.0], &event).unwrap();
        let found = KaplanMeier::fit(&followup).quantile(0.5, 0.95).unwrap();
        assert_eq!(found.estimate, Some(median));
    }
}

proptest! {
    #[test]
    fn pieces_and_order_change_nothing(
        data in prop::collection::vec((0..5_u8, 1..9_u8, any::<bool>(), 0.1..0.9_f64), 1..30),
        scale in prop::sample::select(vec![1e-9, 1.0, 1e9]),
    ) {
        let (mut rows, mut pieces) = (Vec::new(), Vec::new());
        for &(start, length, event, part) in &data {
            let (start, stop) = (f64::from(start), f64::from(start + length));
            let cut = start + part * (stop - start);
            rows.push((start, stop, event));
            pieces.push((cut * scale, stop * scale, event));
            pieces.push((start * scale, cut * scale, false));
        }
        pieces.reverse();
        let fit = |rows: &[(f64, f64, bool)]| {
            let start: Vec<f64> = rows.iter().map(|r| r.0).collect();
            let stop: Vec<f64> = rows.iter().map(|r| r.1).collect();
            let event: Vec<bool> = rows.iter().map(|r| r.2).collect();
            KaplanMeier::fit(&Followup::start_stop(&start, &stop, &event).unwrap())
        };
        let whole = fit(&rows);
        let split = fit(&pieces);
        for step in &whole.steps {
            let same = |other: &&SurvivalStep| (other.time - step.time * scale).abs() < 1e-6 * scale;
            let other = split.steps.iter().find(same).unwrap();
            prop_assert_eq!((other.at_risk, other.events), (step.at_risk, step.events));
            prop_assert!((other.survival - step.survival).abs() < 1e-12);
            prop_assert!((other.std_error - step.std_error).abs() < 1e-12);
            if let Some(ends) = step.interval(0.9).unwrap() {
                prop_assert!(0.0 <= ends.lo && ends.lo <= step.survival);
                prop_assert!(step.survival <= ends.hi && ends.hi <= 1.0);
            }
        }
        let last = whole.last();
        let (a, b) = (whole.restricted_mean(last), split.restricted_mean(last * scale));
        prop_assert!((a.unwrap() - b.unwrap() / scale).abs() < 1e-9);
    }
}
