use super::*;
use crate::survival::reference::{Table, close, expected, numbers};
use proptest::prelude::*;

/// Incidence: R's cmprsk 2.2.11 and survival 3.5.3. Errors: the infinitesimal jackknife of survival
/// 3.5.3, which for one sample without weights is the variance used here (`make/survival.R`).
#[test]
fn agrees_with_r() {
    let (results, relative) = expected("competing_ends");
    let table = Table::read("competing_ends");
    let end = table.labels("end");
    let ended: Vec<bool> = end.iter().map(|&end| end > 0).collect();
    let followup = Followup::right_censored(&table.numbers("time"), &ended).unwrap();
    let fit = CumulativeIncidence::fit(&followup, &end, None).unwrap();
    for (i, time) in numbers(&results["time"]).into_iter().enumerate() {
        for cause in [1, 2] {
            let point = fit.at(cause, time).unwrap();
            let of = |key: &str| numbers(&results[format!("{key}_{cause}").as_str()])[i];
            close("incidence", point.incidence, of("incidence"), relative);
            close("incidence", point.incidence, of("survfit"), relative);
            close("error", point.std_error, of("jackknife_se"), relative);
        }
    }
}

#[test]
fn hard_input_gives_errors_or_answers() {
    let followup = Followup::right_censored(&[1.0, 2.0], &[false; 2]).unwrap();
    assert_eq!(
        CumulativeIncidence::fit(&followup, &[0, 0], None).unwrap_err(),
        StatsError::AllCensored { rows: 2 }
    );
    assert!(CumulativeIncidence::fit(&followup, &[0], None).is_err());
    let followup = Followup::right_censored(&[2.0; 3], &[true; 3]).unwrap();
    let fit = CumulativeIncidence::fit(&followup, &[5, 5, 7], None).unwrap();
    let last = fit.at(5, 1e9).unwrap();
    close("all at once", last.incidence, 2.0 / 3.0, 1e-14);
    close("binomial", last.std_error, (2.0 / 27.0_f64).sqrt(), 1e-14);
    assert!(matches!(fit.at(6, 1.0), Err(StatsError::UnknownName { .. })));
    assert!(fit.at(5, f64::NAN).is_err());
    let one = Followup::right_censored(&[2.0], &[true]).unwrap();
    let sure = CumulativeIncidence::fit(&one, &[1], None).unwrap().at(1, 3.0).unwrap();
    assert_eq!((sure.incidence, sure.std_error), (1.0, 0.0));
    assert_eq!(sure.interval(0.95, IntervalScale::LogLog).unwrap(), None);
}

proptest! {
    /// All incidences and the survival add up to one; one kind alone is Kaplan–Meier with
    /// Greenwood's errors; pieces, copies and order change nothing.
    #[test]
    fn incidences_add_up(
        data in prop::collection::vec((0..5_u8, 1..9_u8, 0..4_usize, 0.1..0.9_f64), 1..40),
    ) {
        let start: Vec<f64> = data.iter().map(|d| f64::from(d.0)).collect();
        let stop: Vec<f64> = data.iter().map(|d| f64::from(d.0 + d.1)).collect();
        let cause: Vec<usize> = data.iter().map(|d| d.2).collect();
        let event: Vec<bool> = cause.iter().map(|&c| c > 0).collect();
        let followup = Followup::start_stop(&start, &stop, &event).unwrap();
        let Ok(fit) = CumulativeIncidence::fit(&followup, &cause, None) else { return Ok(()) };
        let alike = CumulativeIncidence::fit(&followup, &vec![1; data.len()], None).unwrap();
        let cut: Vec<f64> = data.iter().zip(&start).map(|(d, s)| s + d.3 * f64::from(d.1)).collect();
        let pieces = Followup::start_stop(
            &[cut.clone(), start.clone()].concat(),
            &[stop.clone(), cut].concat(),
            &[event.clone(), vec![false; data.len()]].concat(),
        ).unwrap();
        let halves = [cause.clone(), cause.clone()].concat();
        let split = CumulativeIncidence::fit(&pieces, &halves, None).unwrap();
        let twice = Followup::start_stop(
            &[start.clone(), start].concat(),
            &[stop.clone(), stop].concat(),
            &[event.clone(), event].concat(),
        ).unwrap();
        let weights = vec![0.5; halves.len()];
        let twice = CumulativeIncidence::fit(&twice, &halves, Some(&weights)).unwrap();
        for (i, point) in alike.causes[0].points.iter().enumerate() {
            let survival = fit.no_end().curve().at(point.time).unwrap();
            let sum: f64 = fit.causes.iter().map(|cause| cause.points[i].incidence).sum();
            prop_assert!((sum + survival.survival - 1.0).abs() < 1e-12);
            prop_assert!((point.incidence + survival.survival - 1.0).abs() < 1e-12);
            if survival.survival > 0.0 {
                prop_assert!((point.std_error - survival.std_error).abs() < 1e-12);
            }
            for cause in &fit.causes {
                let own = cause.points[i];
                for other in [&split, &twice] {
                    let other = other.at(cause.cause, own.time).unwrap();
                    prop_assert!((own.incidence - other.incidence).abs() < 1e-12);
                    prop_assert!((own.std_error - other.std_error).abs() < 1e-9);
                }
                if let Some(ends) = own.interval(0.95, IntervalScale::LogLog).unwrap() {
                    prop_assert!(0.0 <= ends.lo && ends.lo <= own.incidence + 1e-12);
                    prop_assert!(own.incidence <= ends.hi + 1e-12 && ends.hi <= 1.0);
                }
            }
        }
    }
}
