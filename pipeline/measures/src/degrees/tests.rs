use super::*;
use phases::{CookBounds, GridCurves, judge};
use proptest::prelude::*;

const MINUTE_MS: i64 = 60_000;

/// The degrees of a core given minute by minute under a level pit; wrapped at these minutes.
fn of(core_c: &[f64], pit_c: &[f64], wraps: &[i64], unwraps: &[i64]) -> Vec<DegreeRow> {
    let end_ms = core_c.len() as i64 * MINUTE_MS;
    let bounds = CookBounds {
        meat_on_known: true,
        meat_on_ms: 0,
        pull_ms: end_ms,
        end_ms,
        pull_known: true,
        slice_known: true,
    };
    let definition = PhaseDefinition { grid_step_s: 60.0, ..PhaseDefinition::default() };
    let grid = GridCurves { start_ms: 0, step_ms: MINUTE_MS, core_c, pit_c };
    let heating = judge(&grid, &bounds, &definition, None).heating;
    let zero = heating.first_index_at(55.0).expect("it passes zero");
    let clock = StudyClock {
        zero_ms: heating.at_ms(zero),
        finish_ms: heating.first_reaches_ms(88.0),
        last_ms: heating.at_ms(heating.len() - 1),
    };
    let mut wrappings: Vec<Wrapping> = wraps
        .iter()
        .map(|minute| (*minute, Some(WrapMethod::Foil)))
        .chain(unwraps.iter().map(|minute| (*minute, None)))
        .map(|(minute, method)| Wrapping { from_ms: minute * MINUTE_MS, method })
        .collect();
    wrappings.sort_by_key(|wrapping| wrapping.from_ms);
    degrees(DegreesInput {
        cook: "a",
        events: &[],
        wrappings: Some(&wrappings),
        heating: &heating,
        core_apart_c: None,
        clock: Some(clock),
        definition: &definition,
    })
}

/// Rises 0.1 °C a minute from 40 °C.
fn steady(minutes: usize) -> Vec<f64> {
    (0..minutes).map(|minute| 40.0 + 0.1 * minute as f64).collect()
}

#[test]
fn a_steady_core_takes_ten_minutes_a_degree_and_the_dose_of_its_gap() {
    let rows = of(&steady(600), &vec![120.0; 600], &[], &[]);
    assert_eq!(rows.len(), 33);
    for (row, degree) in rows.iter().zip(55..) {
        assert_eq!((row.degree_c, row.piece, row.passed), (f64::from(degree), 0, true));
        assert!((row.time_min - 10.0).abs() < 1e-6, "{row:?}");
        // The gap at the samples from the degree's beginning on: 120 less its middle, by half a step.
        let gap = 120.0 - (row.degree_c + 0.45);
        assert!((row.gap_c - gap).abs() < 0.06, "{row:?}");
        assert!((row.dose_kh - row.gap_c * row.time_min / 60.0).abs() < 1e-9);
        assert_eq!((row.wrapped, row.seen), (Some(false), 1.0));
    }
    assert!((rows[32].start_min - 320.0).abs() < 1e-6);
}

#[test]
fn a_core_that_falls_back_stays_in_the_degree_that_it_fell_from() {
    let mut core = steady(600);
    // From 65 °C (minute 250) it falls 3 °C and takes half an hour to come back.
    for (place, value) in core.iter_mut().enumerate().skip(250) {
        let after = place as f64 - 250.0;
        *value = if after < 30.0 {
            65.0 - 3.0 * (after / 30.0 * std::f64::consts::PI).sin()
        } else {
            65.0 + 0.1 * (after - 30.0)
        };
    }
    let rows = of(&core, &vec![120.0; 600], &[], &[]);
    let held = rows.iter().find(|row| row.degree_c == 65.0).unwrap();
    assert!((held.time_min - 40.0).abs() < 1.1, "{held:?}");
    let others = rows.iter().filter(|row| row.degree_c != 65.0 && row.degree_c != 64.0);
    assert!(others.clone().all(|row| (row.time_min - 10.0).abs() < 1e-6));
    assert_eq!(others.count(), 31);
}

#[test]
fn a_wrap_splits_its_degree_and_an_end_leaves_it_unfinished() {
    let rows = of(&steady(400), &vec![120.0; 400], &[254], &[300]);
    let parts: Vec<_> = rows.iter().filter(|row| row.degree_c == 65.0).collect();
    assert_eq!(parts.len(), 2);
    assert_eq!((parts[0].passed, parts[0].wrapped, parts[0].piece), (false, Some(false), 0));
    assert_eq!((parts[1].passed, parts[1].wrapped, parts[1].piece), (true, Some(true), 1));
    assert_eq!(parts[1].method.as_deref(), Some("foil"));
    assert!((parts[0].time_min - 4.0).abs() < 1e-6 && (parts[1].time_min - 6.0).abs() < 1e-6);
    assert!((parts[1].from_core_c - 65.4).abs() < 1e-6);
    assert_eq!(parts[1].since_wrap_min, Some(0.0));
    // Unwrapped at 70 °C: on the very border of a degree, so that nothing is split.
    let after = rows.iter().find(|row| row.degree_c == 71.0).unwrap();
    assert_eq!((after.wrapped, after.method.as_deref()), (Some(false), None));
    let last = rows.last().unwrap();
    assert!(!last.passed && last.degree_c == 79.0, "{last:?}");
}

#[test]
fn a_pit_below_the_core_offers_nothing() {
    let mut pit = vec![120.0; 600];
    pit[300..420].fill(40.0);
    let mut core = steady(600);
    // The core stands while the fire is out.
    for (place, value) in core.iter_mut().enumerate().skip(300) {
        *value = 70.0 + 0.1 * (place as f64 - 420.0).max(0.0);
    }
    let rows = of(&core, &pit, &[], &[]);
    let out = rows.iter().find(|row| row.degree_c == 70.0).unwrap();
    assert!((out.time_min - 130.0).abs() < 1.5, "{out:?}");
    // What the lag leaves of the fire: 80·exp(−t/25) − 30 K is above zero for 25·ln(8/3) = 24.5 min, and
    // its integral up to there is 2000·(1 − 3/8) − 30·24.5 = 514 K·min.
    assert!((out.dose_kh - 514.0 / 60.0).abs() < 0.5, "{out:?}");
}

proptest! {
    #[test]
    fn the_rows_cover_the_clock_once(
        rises in prop::collection::vec(-0.4f64..0.8, 60..500),
        wrap in 150i64..500,
    ) {
        let mut core = steady(160);
        for rise in &rises {
            core.push(core[core.len() - 1] + rise);
        }
        let rows = of(&core, &vec![125.0; core.len()], &[wrap], &[]);
        let zero = core.iter().position(|c| *c >= 55.0).unwrap();
        let finish = core.iter().position(|c| *c >= 88.0).unwrap_or(core.len() - 1);
        let minutes: f64 = rows.iter().map(|row| row.time_min).sum();
        // The degree's last crossing lies inside the step to the finish.
        prop_assert!((minutes - (finish - zero) as f64).abs() <= 1.0, "{minutes} {finish} {zero}");
        for pair in rows.windows(2) {
            prop_assert!((pair[0].start_min + pair[0].time_min - pair[1].start_min).abs() < 1e-6);
            prop_assert!(pair[1].degree_c >= pair[0].degree_c);
            prop_assert_eq!(pair[0].passed, pair[1].piece == 0);
        }
        prop_assert!(rows.iter().all(|row| row.dose_kh >= 0.0 && row.time_min > 0.0));
        prop_assert!(rows.iter().filter(|row| !row.passed).count() <= 2);
    }
}
