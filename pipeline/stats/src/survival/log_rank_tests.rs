use super::*;
use crate::survival::reference::{Table, close, expected, number};
use crate::{Cox, CoxOptions, Design, Ties};
use proptest::prelude::*;
use serde_json::Value as Json;

fn agrees(what: &str, test: &LogRank, expected: &Json, relative: f64) {
    for (i, group) in test.groups.iter().enumerate() {
        close(what, group.observed, number(&expected["observed"][i]), relative);
        close(what, group.expected, number(&expected["expected"][i]), relative);
        for j in 0..test.groups.len() {
            close(what, test.variance[(i, j)], number(&expected["var"][i][j]), relative);
        }
    }
    close(what, test.test.statistic, number(&expected["chisq"]), relative);
    if let Some(p) = expected["p"].as_f64() {
        close(what, test.test.p_value(), p, relative);
    }
}

/// 6-MP trial: published χ² 16.79 (Freireich et al. 1963), and R survival 3.5.3 `survdiff`.
#[test]
fn agrees_with_r_on_the_6mp_trial() {
    let (results, relative) = expected("freireich_6mp");
    let table = Table::read("freireich_6mp");
    let followup = Followup::right_censored(&table.numbers("time"), &table.flags("event")).unwrap();
    let arm: Vec<usize> =
        table.text("treat").into_iter().map(|t| usize::from(t == "control")).collect();
    let test = LogRank::fit(&followup, &arm, None, EventWeight::LogRank).unwrap();
    agrees("log-rank", &test, &results["km"]["logrank"], relative);
    assert_eq!(format!("{:.2}", test.test.statistic), "16.79");
    let peto = LogRank::fit(&followup, &arm, None, EventWeight::PetoPeto).unwrap();
    agrees("Peto", &peto, &results["km"]["peto_peto"], relative);
}

/// Three groups, with and without strata; R survival 3.5.3 (`make/survival.R`).
#[test]
fn agrees_with_r_on_groups_and_strata() {
    let (results, relative) = expected("survival_rows");
    let table = Table::read("survival_rows");
    let id = table.labels("id");
    let last: Vec<usize> =
        (0..id.len()).filter(|&i| id.get(i + 1).is_none_or(|next| *next != id[i])).collect();
    let (stop, event) = (table.numbers("stop"), table.flags("event"));
    let followup = Followup::right_censored(
        &last.iter().map(|&i| stop[i]).collect::<Vec<_>>(),
        &last.iter().map(|&i| event[i]).collect::<Vec<_>>(),
    )
    .unwrap();
    let pick = |name: &str| -> Vec<usize> { last.iter().map(|&i| table.labels(name)[i]).collect() };
    let (group, stratum) = (pick("group"), pick("stratum"));
    for (key, strata, weight) in [
        ("logrank", None, EventWeight::LogRank),
        ("logrank_strata", Some(stratum.as_slice()), EventWeight::LogRank),
        ("peto", None, EventWeight::PetoPeto),
        ("peto_strata", Some(stratum.as_slice()), EventWeight::PetoPeto),
    ] {
        let test = LogRank::fit(&followup, &group, strata, weight).unwrap();
        agrees(key, &test, &results[key], relative);
        assert_eq!(test.test.df, 2);
    }
}

#[test]
fn hard_input_gives_errors() {
    let fit = |time: &[f64], event: &[bool], group: &[usize]| {
        let followup = Followup::right_censored(time, event)?;
        LogRank::fit(&followup, group, None, EventWeight::LogRank)
    };
    let t = [1.0, 2.0, 3.0, 4.0];
    assert_eq!(
        fit(&t, &[true; 4], &[7; 4]).unwrap_err(),
        StatsError::NothingToCompare { found: 1 }
    );
    assert_eq!(
        fit(&t, &[false; 4], &[0, 1, 0, 1]).unwrap_err(),
        StatsError::AllCensored { rows: 4 }
    );
    assert!(matches!(fit(&t, &[true; 4], &[0, 1]).unwrap_err(), StatsError::LengthMismatch { .. }));
    // All die at once, so the groups cannot differ.
    assert!(matches!(
        fit(&[2.0; 4], &[true; 4], &[0, 0, 1, 1]).unwrap_err(),
        StatsError::NoMaximum { .. }
    ));
    // Group 1 is gone before the first event.
    assert_eq!(
        fit(&[1.0, 1.0, 3.0, 4.0], &[false, false, true, true], &[1, 1, 0, 2]).unwrap_err(),
        StatsError::NoMaximum { term: "group 1".into() }
    );
    // n = 2.
    let two = fit(&[1.0, 2.0], &[true, true], &[0, 1]).unwrap();
    assert!((two.test.statistic - 1.0).abs() < 1e-12);
}

proptest! {
    /// Without ties the log-rank test is the score test of Cox's regression on the group.
    #[test]
    fn is_the_score_test_of_proportional_hazards(
        gaps in prop::collection::vec(1..9_u8, 6..30),
        bits in prop::collection::vec((0..2_usize, prop::bool::weighted(0.7), 0..4_u8), 30),
    ) {
        let n = gaps.len();
        let mut time = 5.0;
        let stop: Vec<f64> = gaps.iter().map(|&gap| { time += f64::from(gap); time }).collect();
        let start: Vec<f64> = bits[..n].iter().map(|b| f64::from(b.2) + 0.5).collect();
        let event: Vec<bool> = bits[..n].iter().map(|b| b.1).collect();
        let group: Vec<usize> = bits[..n].iter().map(|b| b.0).collect();
        let followup = Followup::start_stop(&start, &stop, &event).unwrap();
        let Ok(test) = LogRank::fit(&followup, &group, None, EventWeight::LogRank) else {
            return Ok(());
        };
        let x: Vec<f64> = group.iter().map(|&g| g as f64).collect();
        let design = Design::new(n).numeric("x", &x).unwrap();
        let options = CoxOptions { ties: Ties::Breslow, ..CoxOptions::default() };
        if let Ok(fit) = Cox::fit(&design, &followup, &options) {
            let (a, b) = (test.test.statistic, fit.score_test().statistic);
            prop_assert!((a - b).abs() <= 1e-9 * a.max(1.0), "{a} {b}");
        }
        let total: f64 = test.groups.iter().map(|g| g.observed - g.expected).sum();
        prop_assert!(total.abs() < 1e-9);
        prop_assert!((0.0..=1.0).contains(&test.test.p_value()));
    }
}
