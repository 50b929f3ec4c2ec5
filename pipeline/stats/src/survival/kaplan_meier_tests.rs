use super::*;
use crate::survival::reference::{Table, close, expected, number, numbers};
use proptest::prelude::*;

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
        let mut curves = Vec::new();
        for (name, expected) in results["arms"].as_object().unwrap() {
            let rows: Vec<usize> =
                (0..times.len()).filter(|&i| table.text(arm)[i] == name).collect();
            let followup = Followup::right_censored(
                &rows.iter().map(|&i| times[i]).collect::<Vec<_>>(),
                &rows.iter().map(|&i| events[i]).collect::<Vec<_>>(),
            )
            .unwrap();
            let curve = KaplanMeier::fit(&followup, None).unwrap();
            assert_eq!(curve.n as f64, number(&expected["n"]));
            assert_eq!(curve.events as f64, number(&expected["events"]));
            assert_eq!(curve.steps.len(), expected["time"].as_array().unwrap().len());
            for (i, step) in curve.steps.iter().enumerate() {
                let at = |key: &str| expected[key][i].as_f64();
                assert_eq!(Some(step.time), at("time"));
                assert_eq!(Some(step.at_risk), at("n_risk"));
                assert_eq!(curve.at_risk(&[step.time]), [step.at_risk]);
                assert_eq!(Some(step.events), at("n_event"));
                assert_eq!(Some(step.censored), at("n_censor"));
                close("surv", step.survival, at("surv").unwrap(), relative);
                // R has no number where survival is zero.
                close("se", step.std_error, at("std_err_surv").unwrap_or(0.0), relative);
                let hazard = at("cumhaz_nelson_aalen").unwrap();
                close("cumhaz", step.cumulative_hazard, hazard, relative);
                for (key, scale) in [
                    ("log", IntervalScale::Log),
                    ("loglog", IntervalScale::LogLog),
                    ("plain", IntervalScale::Plain),
                ] {
                    let interval = curve.curve().points()[i].interval(0.95, scale).unwrap();
                    let lower = at(&format!("lower_{key}"));
                    assert_eq!(interval.is_some(), lower.is_some(), "{key} {i}");
                    if let (Some(found), Some(lower)) = (interval, lower) {
                        close(key, found.lo, lower, relative);
                        close(key, found.hi, at(&format!("upper_{key}")).unwrap(), relative);
                    }
                }
            }
            for (i, p) in [0.25, 0.5, 0.75].into_iter().enumerate() {
                let found = curve.quantile(p, 0.95, IntervalScale::Log).unwrap();
                assert_eq!(found.estimate, expected["quantiles_25_50_75"][i].as_f64());
                assert_eq!(found.lo, expected["quantile_lower_logci"][i].as_f64());
                assert_eq!(found.hi, expected["quantile_upper_logci"][i].as_f64());
            }
            let mean = curve.restricted_mean(tau).unwrap();
            close("rmst", mean.estimate, number(&expected["rmst"]), relative);
            close("rmst se", mean.std_error, number(&expected["rmst_se_greenwood"]), relative);
            curves.push(curve);
        }
        let difference = &results["rmst_difference"];
        let found = curves[1].restricted_mean_difference(&curves[0], tau).unwrap();
        close("difference", found.estimate, number(&difference["diff"]), relative);
        close("se", found.std_error, number(&difference["se"]), relative);
        close("p", found.p_value(), number(&difference["p"]), relative);
        let ends = found.interval(0.95).unwrap();
        close("lo", ends.lo, number(&difference["ci95"][0]), relative);
        close("hi", ends.hi, number(&difference["ci95"][1]), relative);
    }
}

/// Late entry and weights, R survival 3.5.3 (`make/survival.R`).
#[test]
fn agrees_with_r_on_late_entry_and_weights() {
    let (results, relative) = expected("survival_rows");
    let table = Table::read("survival_rows");
    let followup = Followup::start_stop(
        &table.numbers("start"),
        &table.numbers("stop"),
        &table.flags("event"),
    )
    .unwrap();
    let weight = table.numbers("weight");
    for (key, weights) in [("km", None), ("km_weighted", Some(weight.as_slice()))] {
        let expected = &results[key];
        let curve = KaplanMeier::fit(&followup, weights).unwrap();
        let times = numbers(&expected["time"]);
        assert_eq!(times.len(), curve.steps.len());
        for (i, step) in curve.steps.iter().enumerate() {
            assert_eq!(step.time, times[i]);
            close("n_risk", step.at_risk, number(&expected["n_risk"][i]), relative);
            close("surv", step.survival, number(&expected["surv"][i]), relative);
            close("se", step.std_error, expected["std_err"][i].as_f64().unwrap_or(0.0), relative);
        }
    }
}

#[test]
fn hard_input_gives_errors_or_answers() {
    assert!(Followup::right_censored(&[], &[]).is_err());
    let none = Followup::right_censored(&[3.0, 4.0], &[false, false]).unwrap();
    let curve = KaplanMeier::fit(&none, None).unwrap();
    assert_eq!(curve.curve().at(4.0).unwrap().survival, 1.0);
    assert_eq!(
        curve.curve().at(5.0).unwrap_err(),
        StatsError::BeyondObservation { time: 5.0, last: 4.0 }
    );
    let mean = curve.restricted_mean(4.0).unwrap();
    assert_eq!((mean.estimate, mean.std_error), (4.0, 0.0));
    let median = curve.quantile(0.5, 0.95, IntervalScale::Plain).unwrap();
    assert_eq!((median.estimate, median.lo, median.hi), (None, None, None));
    for bad in [0.0, 1.0, f64::NAN] {
        assert!(curve.quantile(bad, 0.95, IntervalScale::Log).is_err());
        assert!(curve.quantile(0.5, bad, IntervalScale::Log).is_err());
    }
    assert!(curve.restricted_mean(-1.0).is_err());
    assert!(curve.curve().at(f64::NAN).is_err());

    let one = Followup::right_censored(&[3.0], &[true]).unwrap();
    let curve = KaplanMeier::fit(&one, None).unwrap();
    let last = curve.curve().at(100.0).unwrap();
    assert_eq!((last.survival, last.std_error), (0.0, 0.0));
    assert_eq!(last.interval(0.95, IntervalScale::LogLog).unwrap(), None);
    assert_eq!(curve.restricted_mean(10.0).unwrap().estimate, 3.0);
    let negative = Followup::right_censored(&[-3.0, 2.0], &[true, true]).unwrap();
    assert!(matches!(
        KaplanMeier::fit(&negative, None).unwrap().restricted_mean(1.0),
        Err(StatsError::NotPositive { .. })
    ));
    // All die at once.
    let tied = Followup::right_censored(&[2.0; 5], &[true; 5]).unwrap();
    assert_eq!(KaplanMeier::fit(&tied, None).unwrap().steps[0].survival, 0.0);
}

/// 1, 2 die, 3, 4 are censored: flat at one half to the end, so the median is in the middle of what
/// is known of the flat stretch; `quantile(survfit(…), 0.5)` in R 4.2.2 gives 3 and 2.5.
#[test]
fn a_flat_stretch_at_the_level_gives_its_middle() {
    for (event, median) in [([true, true, false, false], 3.0), ([true; 4], 2.5)] {
        let followup = Followup::right_censored(&[1.0, 2.0, 3.0, 4.0], &event).unwrap();
        let found = KaplanMeier::fit(&followup, None)
            .unwrap()
            .quantile(0.5, 0.95, IntervalScale::Log)
            .unwrap();
        assert_eq!(found.estimate, Some(median));
    }
}

proptest! {
    #[test]
    fn pieces_halves_and_order_change_nothing(
        data in prop::collection::vec((0..5_u8, 1..9_u8, any::<bool>(), 0.1..0.9_f64), 1..30),
        scale in prop::sample::select(vec![1e-9, 1.0, 1e9]),
    ) {
        let (mut rows, mut pieces, mut twice) = (Vec::new(), Vec::new(), Vec::new());
        for &(start, length, event, part) in &data {
            let (start, stop) = (f64::from(start), f64::from(start + length));
            let cut = start + part * (stop - start);
            rows.push((start, stop, event));
            pieces.push((cut, stop, event));
            pieces.push((start, cut, false));
            twice.push((start * scale, stop * scale, event));
            twice.push((start * scale, stop * scale, event));
        }
        pieces.reverse();
        let fit = |rows: &[(f64, f64, bool)], weights: Option<&[f64]>| {
            let start: Vec<f64> = rows.iter().map(|r| r.0).collect();
            let stop: Vec<f64> = rows.iter().map(|r| r.1).collect();
            let event: Vec<bool> = rows.iter().map(|r| r.2).collect();
            KaplanMeier::fit(&Followup::start_stop(&start, &stop, &event).unwrap(), weights).unwrap()
        };
        let whole = fit(&rows, None);
        let split = fit(&pieces, None);
        let half = vec![0.5; twice.len()];
        let halved = fit(&twice, Some(&half));
        for step in &whole.steps {
            for (other, time) in [(&split, step.time), (&halved, step.time * scale)] {
                let point = other.curve().at(time).unwrap();
                prop_assert!((point.survival - step.survival).abs() < 1e-12);
                prop_assert!((point.std_error - step.std_error).abs() < 1e-12);
                prop_assert!((other.at_risk(&[time])[0] - step.at_risk).abs() < 1e-9);
            }
        }
        let last = whole.curve().last();
        let (a, b) = (whole.restricted_mean(last).unwrap(), split.restricted_mean(last).unwrap());
        prop_assert!((a.estimate - b.estimate).abs() < 1e-10);
        prop_assert!((a.std_error - b.std_error).abs() < 1e-10);
        for point in whole.curve().points() {
            for scale in [IntervalScale::Plain, IntervalScale::Log, IntervalScale::LogLog] {
                if let Some(ends) = point.interval(0.9, scale).unwrap() {
                    prop_assert!(0.0 <= ends.lo && ends.lo <= point.survival);
                    prop_assert!(point.survival <= ends.hi && ends.hi <= 1.0);
                }
            }
        }
    }
}
