use super::*;

#[test]
fn the_printed_times_of_the_table_give_its_reductions() {
    // Rows of FSIS Appendix A (1999), 6.5-log₁₀ column (tests/reference/physics/fsis_appendix_a.csv):
    // °F and minutes. The rounding of the table leaves 6.29 to 7.16 under the fitted law.
    for (fahrenheit, minutes) in [(130.0, 112.0), (135.0, 36.0), (140.0, 12.0), (145.0, 4.0)] {
        let held = celsius(fahrenheit);
        let core = [(Seconds(0.0), held), (Seconds(60.0 * minutes), held)];
        let sum = reductions(&core)[1];
        assert!((6.29..=7.17).contains(&sum), "{fahrenheit} °F: {sum}");
    }
}

#[test]
fn nothing_counts_below_the_table_and_no_more_above_it_than_at_its_end() {
    let history = |fahrenheit: f64| {
        let core = celsius(fahrenheit);
        reductions(&[(Seconds(0.0), core), (Seconds(600.0), core)])[1]
    };
    assert_eq!(history(129.0), 0.0);
    assert!(history(131.0) > 0.0);
    assert!((history(200.0) - history(157.0)).abs() < 1e-9);
    assert_eq!(reductions(&[]), Vec::<f64>::new());
}

#[test]
fn a_slow_fall_is_believed_and_a_sudden_one_ends_the_record() {
    let minute = 60_000;
    let samples = |temps: &[f64]| OwnedSamples {
        at_ms: (0..temps.len() as i64).map(|i| i * minute).collect(),
        temp_c: temps.to_vec(),
    };
    let slow: Vec<f64> = (0..120).map(|i| 90.0 - 0.5 * f64::from(i)).collect();
    let seen = believed(&samples(&slow), 0);
    assert!(!seen.taken_out && seen.core.at_ms.len() == 120);
    let mut sudden = slow[..60].to_vec();
    sudden.extend([40.0, 30.0, 25.0]);
    let seen = believed(&samples(&sudden), 0);
    assert!(seen.taken_out && seen.core.at_ms.len() == 60, "{}", seen.core.at_ms.len());
    assert_eq!(stretches(samples(&[1.0, 2.0]).view()).len(), 1);
}
