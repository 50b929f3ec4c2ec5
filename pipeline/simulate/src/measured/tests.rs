//! Loggers and probes with every fault that they can have.

use super::*;
use cook::CelsiusDifference;
use proptest::prelude::*;
use rand::SeedableRng;

const HOUR: i64 = 3_600;
const GRID: i64 = crate::GRID_STEP_S;

fn recorded(probes: &[Probe<'_>], logger: &Logger) -> ReadingSet {
    record(probes, logger, 0, &mut ChaCha8Rng::seed_from_u64(3)).unwrap()
}

/// A logger that adds nothing of its own: noise-free, fine quantum.
fn quiet(interval_s: f64, until_s: i64) -> Logger {
    Logger { noise_c: 0.0, ..Logger::sound(interval_s, TemperatureUnit::Celsius, 1e-3, until_s) }
}

/// (second, value) of a channel where it has one.
fn channel(set: &ReadingSet, channel: usize) -> Vec<(i64, f64)> {
    set.rows
        .iter()
        .filter_map(|row| Some((row.at_ms / 1_000, row.values[channel].value()?)))
        .collect()
}

/// Rises 0.003 K a second, so every second has its own value.
fn rising(hours: i64) -> Vec<f64> {
    (0..=hours * HOUR / GRID).map(|index| 5.0 + 0.003 * (index * GRID) as f64).collect()
}

#[test]
fn readings_lie_on_the_quantum_and_near_the_curve() {
    let curve: Vec<f64> = (0..2_000).map(|i| 5.0 + 0.03 * f64::from(i)).collect();
    for (unit, quantum) in [
        (TemperatureUnit::Fahrenheit, 1.0),
        (TemperatureUnit::Celsius, 0.5),
        (TemperatureUnit::Fahrenheit, 0.1),
    ] {
        let mut logger = Logger::sound(30.0, unit, quantum, 19_000);
        logger.jitter_s = 4.0;
        logger.gaps = vec![Stretch::new(6_000, 9_000), Stretch::new(12_000, 12_500)];
        let set = recorded(&[Probe::sound("Flat", &curve)], &logger);
        for row in &set.rows {
            let value = row.values[0].value().unwrap();
            assert!((value / quantum - (value / quantum).round()).abs() < 1e-9);
            let truth = 5.0 + 0.03 * row.at_ms as f64 / 10_000.0;
            assert!((set.celsius(value) - truth).abs() < 0.6 * quantum + 0.3, "{value} {truth}");
            assert!(!(6_000_000..9_000_000).contains(&row.at_ms));
            assert!(!(12_000_000..12_500_000).contains(&row.at_ms));
            assert_eq!(row.at_ms, row.clock_ms);
        }
        assert!(set.rows.windows(2).all(|pair| pair[0].at_ms < pair[1].at_ms));
    }
}

#[test]
fn noise_has_the_standard_deviation_told() {
    let curve = vec![70.0; 10_000];
    let logger = Logger { noise_c: 0.4, ..quiet(5.0, 90_000) };
    let values = channel(&recorded(&[Probe::sound("Flat", &curve)], &logger), 0);
    let count = values.len() as f64;
    let mean = values.iter().map(|v| v.1).sum::<f64>() / count;
    let variance = values.iter().map(|v| (v.1 - mean).powi(2)).sum::<f64>() / (count - 1.0);
    // Standard errors at n = 18 001: of the mean 0.003, of the standard deviation 0.0021.
    assert!((mean - 70.0).abs() < 0.012, "{mean}");
    assert!((variance.sqrt() - 0.4).abs() < 0.0085, "{variance}");
}

#[test]
fn a_dip_reads_low_and_fades() {
    let dip = Dip { at_s: 100, depth_c: 20.0, minutes: 15.0 };
    assert_eq!(dip.at(99), 0.0);
    assert!(dip.at(160) > 15.0);
    assert!(dip.at(600) < dip.at(300));
    assert_eq!(dip.at(1_001), 0.0);
}

#[test]
fn a_reprobed_probe_shows_the_air_and_then_its_new_place() {
    let curve = vec![70.0; 1_000];
    let reprobing = Reprobing { at_s: 3_600, out_s: 240, air_c: 20.0, shift_c: -3.0 };
    let probe = Probe { reprobings: vec![reprobing], ..Probe::sound("Flat", &curve) };
    let values = channel(&recorded(&[probe], &quiet(10.0, 7_200)), 0);
    let at = |second: i64| values.iter().find(|v| v.0 == second).unwrap().1;
    assert_eq!(at(3_590), 70.0);
    assert!((at(3_830) - 20.0).abs() < 0.1, "{}", at(3_830));
    assert!((at(4_200) - 67.0).abs() < 0.01, "{}", at(4_200));
    assert!((at(7_200) - 67.0).abs() < 1e-3);
}

#[test]
fn spikes_come_as_often_as_told() {
    let curve = vec![70.0; 10_000];
    let logger = Logger { spike_share: 0.02, spike_c: 30.0, ..quiet(5.0, 90_000) };
    let values = channel(&recorded(&[Probe::sound("Flat", &curve)], &logger), 0);
    let spikes = values.iter().filter(|v| (v.1 - 70.0).abs() > 20.0).count() as f64;
    let share = spikes / values.len() as f64;
    assert!((share - 0.02).abs() < 0.004, "{share}");
}

#[test]
fn an_unplugged_probe_gives_nothing_until_it_is_plugged_in_again() {
    let curve = rising(10);
    let probe = Probe {
        unplugged: vec![Stretch::new(HOUR, 2 * HOUR), Stretch::since(9 * HOUR)],
        ..Probe::sound("Flat", &curve)
    };
    let set = recorded(&[probe], &quiet(60.0, 10 * HOUR));
    for row in &set.rows {
        let second = row.at_ms / 1_000;
        let out = (HOUR..2 * HOUR).contains(&second) || second >= 9 * HOUR;
        assert_eq!(row.values[0] == Reading::Nothing, out, "{second}");
    }
}

#[test]
fn a_stuck_probe_repeats_itself_and_then_shows_the_truth_again() {
    let curve = rising(3);
    let probe = Probe { stuck: vec![Stretch::new(HOUR, 2 * HOUR)], ..Probe::sound("Flat", &curve) };
    let logger = Logger { noise_c: 0.3, ..quiet(30.0, 3 * HOUR) };
    let values = channel(&recorded(&[probe], &logger), 0);
    let inside: Vec<f64> =
        values.iter().filter(|v| (HOUR..2 * HOUR).contains(&v.0)).map(|v| v.1).collect();
    let before = values.iter().rfind(|v| v.0 < HOUR).unwrap().1;
    assert_eq!(inside.len(), 120);
    assert!(inside.iter().all(|&v| v == before));
    let after = values.iter().find(|v| v.0 >= 2 * HOUR).unwrap();
    assert!((after.1 - (5.0 + 0.003 * after.0 as f64)).abs() < 2.0);
}

#[test]
fn exchanged_probes_carry_each_others_values_for_that_time_only() {
    let (hot, cold) = (vec![120.0; 2_000], vec![60.0; 2_000]);
    let logger = Logger {
        swaps: vec![Swap { channels: (0, 1), during: Stretch::new(HOUR, 2 * HOUR) }],
        ..quiet(60.0, 3 * HOUR)
    };
    let probes = [Probe::sound("Pit", &hot), Probe::sound("Flat", &cold)];
    let set = recorded(&probes, &logger);
    for (second, value) in channel(&set, 0) {
        let swapped = (HOUR..2 * HOUR).contains(&second);
        assert_eq!(value, if swapped { 60.0 } else { 120.0 });
    }
    let absent =
        Logger { swaps: vec![Swap { channels: (0, 2), during: Stretch::new(0, 1) }], ..logger };
    let error = record(&probes, &absent, 0, &mut ChaCha8Rng::seed_from_u64(1)).unwrap_err();
    assert_eq!(error, SimulateError::NoChannel { channel: 2, channels: 2 });
}

#[test]
fn offset_gain_and_linear_drift_add_up() {
    let curve = vec![80.0; 4_000];
    let probe = Probe {
        offset: CelsiusDifference(1.5),
        gain: 1.02,
        drift: Drift::Linear { per_h: 0.25 },
        ..Probe::sound("Flat", &curve)
    };
    for (second, value) in channel(&recorded(&[probe], &quiet(600.0, 8 * HOUR)), 0) {
        let expected = 1.02 * 80.0 + 1.5 + 0.25 * second as f64 / 3_600.0;
        assert!((value - expected).abs() < 1e-3, "{second}: {value} {expected}");
    }
}

#[test]
fn a_random_walk_spreads_with_the_root_of_time() {
    let curve = vec![80.0; 4_000];
    let mut square = [0.0_f64; 2];
    let walks = 600;
    for seed in 0..walks {
        let probe = Probe {
            drift: Drift::RandomWalk { sd_after_hour: 0.5 },
            ..Probe::sound("Flat", &curve)
        };
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let set = record(&[probe], &quiet(300.0, 4 * HOUR), 0, &mut random).unwrap();
        for (sum, hour) in square.iter_mut().zip([1, 4]) {
            let value = channel(&set, 0).iter().find(|v| v.0 == hour * HOUR).unwrap().1;
            *sum += (value - 80.0).powi(2);
        }
    }
    // The relative standard error of a standard deviation from 600 draws is 2.9 %.
    for (sum, expected) in square.iter().zip([0.5, 1.0]) {
        let sd = (sum / walks as f64).sqrt();
        assert!((sd / expected - 1.0).abs() < 0.1, "{sd} {expected}");
    }
}

#[test]
fn a_fault_leaves_all_other_readings_as_they_were() {
    let curve = rising(4);
    let logger = Logger { jitter_s: 5.0, noise_c: 0.2, ..quiet(60.0, 4 * HOUR) };
    let sound = [Probe::sound("Flat", &curve), Probe::sound("Point", &curve)];
    let mut faulty = sound.clone();
    faulty[0].drift = Drift::RandomWalk { sd_after_hour: 2.0 };
    faulty[0].unplugged = vec![Stretch::new(HOUR, 2 * HOUR)];
    let (one, other) = (recorded(&sound, &logger), recorded(&faulty, &logger));
    assert_eq!(channel(&one, 1), channel(&other, 1));
    assert_ne!(channel(&one, 0), channel(&other, 0));
}

#[test]
fn a_clock_is_ahead_gains_jumps_and_starts_again() {
    let curve = rising(12);
    let lit_ms = 1_714_878_600_000;
    let reset = ClockFault { at_s: 6 * HOUR, step: ClockStep::Reset(946_684_800_000) };
    let jump = ClockFault { at_s: 9 * HOUR, step: ClockStep::Jump(-1_800_000) };
    let logger = Logger {
        clock: Clock { offset_ms: 90_000, drift_ppm: 500.0, faults: vec![reset, jump] },
        from_s: HOUR,
        ..quiet(60.0, 12 * HOUR)
    };
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let set = record(&[Probe::sound("Flat", &curve)], &logger, lit_ms, &mut random).unwrap();
    let says = |hour: i64| {
        let row = set.rows.iter().find(|row| row.at_ms == lit_ms + hour * HOUR * 1_000).unwrap();
        row.clock_ms
    };
    assert_eq!(says(1), lit_ms + HOUR * 1_000 + 90_000);
    // Two hours at 500 ppm are 3.6 s; the clock shows whole seconds.
    assert_eq!(says(3), lit_ms + 3 * HOUR * 1_000 + 90_000 + 4_000);
    assert_eq!(says(6), 946_684_800_000);
    assert_eq!(says(8), 946_684_800_000 + 2 * HOUR * 1_000 + 4_000);
    assert_eq!(says(9), 946_684_800_000 + 3 * HOUR * 1_000 + 5_000 - 1_800_000);
}

#[test]
fn rows_are_doubled_as_often_as_told() {
    let curve = rising(20);
    let logger = Logger { duplicate_share: 0.05, ..quiet(10.0, 20 * HOUR) };
    let set = recorded(&[Probe::sound("Flat", &curve)], &logger);
    let doubled = set.rows.windows(2).filter(|pair| pair[0] == pair[1]).count() as f64;
    // Standard error of the share over 7 201 rows: 0.0026.
    assert!((doubled / 7_201.0 - 0.05).abs() < 0.0105, "{doubled}");
}

#[test]
fn beyond_its_range_a_logger_says_so() {
    let curve = rising(4);
    let logger = Logger { range_c: Some((10.0, 40.0)), ..quiet(60.0, 4 * HOUR) };
    let set = recorded(&[Probe::sound("Flat", &curve)], &logger);
    assert_eq!(set.rows[0].values[0], Reading::TooLow);
    assert_eq!(set.rows.last().unwrap().values[0], Reading::TooHigh);
    assert!(channel(&set, 0).iter().all(|v| (10.0..=40.0).contains(&v.1)));
}

#[test]
fn nonsense_is_an_error() {
    let curve = rising(1);
    let bad = Probe { gain: 0.0, ..Probe::sound("Flat", &curve) };
    let mut random = ChaCha8Rng::seed_from_u64(1);
    for (probe, logger) in [
        (bad, quiet(60.0, HOUR)),
        (Probe::sound("Flat", &curve), quiet(0.0, HOUR)),
        (Probe::sound("Flat", &curve), Logger { duplicate_share: 2.0, ..quiet(60.0, HOUR) }),
    ] {
        let error = record(&[probe], &logger, 0, &mut random).unwrap_err();
        assert!(matches!(error, SimulateError::OutOfRange { .. }), "{error}");
    }
}

proptest! {
    /// Half the coarser quantum and the rounding of the copy itself.
    #[test]
    fn a_copy_in_the_other_unit_says_the_same(tenths in prop::collection::vec(-500_i32..5_000, 1..30)) {
        let set = ReadingSet {
            unit: TemperatureUnit::Celsius,
            decimals: 1,
            channels: vec!["Flat".into()],
            sentinel: Sentinel::Empty,
            rows: tenths
                .iter()
                .enumerate()
                .map(|(i, &t)| ReadingRow::new(60_000 * i as i64, [Some(f64::from(t) / 10.0)]))
                .collect(),
        };
        let copy = set.converted(TemperatureUnit::Fahrenheit);
        for (a, b) in set.rows.iter().zip(&copy.rows) {
            let (a, b) = (a.values[0].value().unwrap(), b.values[0].value().unwrap());
            prop_assert!((set.celsius(a) - copy.celsius(b)).abs() <= 0.05 / 1.8 + 1e-9);
        }
    }
}
