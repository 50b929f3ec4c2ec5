use super::*;
use crate::comparisons::student_t;
use crate::reference::{close, expected, number};
use proptest::prelude::*;
use rand::RngExt;
use rand_distr::StandardNormal;

/// R 4.2.2 `power.t.test(strict = TRUE)` and the noncentral t (`power.json`).
#[test]
fn t_tests_agree_with_r() {
    let (r, relative) = expected("power");
    let cases = [(TTestDesign::TwoSample, "two_sample_t"), (TTestDesign::Paired, "paired_t")];
    let cases =
        cases.map(|(design, key)| r[key].as_array().unwrap().iter().map(move |c| (design, c)));
    for (design, case) in cases.into_iter().flatten() {
        let value = |key: &str| number(&case[key]);
        let effect = value("delta") / value("sd");
        let (n, alpha, power) = (value("n_per_group"), value("sig_level"), value("power"));
        close(
            "power",
            t_test_power(design, n, effect, alpha, Sides::Two).unwrap(),
            power,
            relative,
        );
        let size = t_test_sample_size(design, effect, alpha, power, Sides::Two).unwrap();
        close("n", size, n, relative);
        let found = t_test_detectable_effect(design, n, alpha, power, Sides::Two).unwrap();
        close("effect", found, effect, relative);
    }
    for case in r["unequal_n"].as_array().unwrap() {
        let value = |key: &str| number(&case[key]);
        let (n1, n2) = (value("n1"), value("n2"));
        let found = two_sample_t_power(n1, n2, value("d"), value("alpha"), Sides::Two).unwrap();
        close("power", found, value("power"), relative);
        let turned = two_sample_t_power(n2, n1, -value("d"), value("alpha"), Sides::Two).unwrap();
        close("power", turned, value("power"), relative);
    }
}

const ONE_SAMPLE: [(f64, f64, f64, Sides, f64); 12] = [
    (5.0, 0.3, 0.05, Sides::Two, 0.082_262_774_223_0),
    (5.0, 0.3, 0.05, Sides::One, 0.139_919_225_407_9),
    (5.0, 1.0, 0.05, Sides::Two, 0.401_389_917_372_5),
    (5.0, 1.0, 0.05, Sides::One, 0.579_737_358_862_3),
    (12.0, 0.3, 0.01, Sides::Two, 0.046_495_957_226_5),
    (12.0, 0.3, 0.01, Sides::One, 0.079_483_651_707_8),
    (12.0, 1.0, 0.01, Sides::Two, 0.641_877_830_015_3),
    (12.0, 1.0, 0.01, Sides::One, 0.758_860_473_407_6),
    (40.5, 0.3, 0.05, Sides::Two, 0.461_329_000_681_6),
    (40.5, 0.3, 0.05, Sides::One, 0.591_529_525_086_7),
    (40.5, 1.0, 0.05, Sides::Two, 0.999_988_998_696_2),
    (40.5, 1.0, 0.05, Sides::One, 0.999_997_950_191_6),
];
const TWO_SAMPLES_ONE_SIDE: f64 = 0.799_408_178_087_5;

/// R 4.2.2: `power.t.test(n, delta, type = "one.sample" or "paired", alternative, strict = TRUE)`.
#[test]
fn one_sample_and_one_sided_agree_with_r() {
    for (n, effect, alpha, sides, power) in ONE_SAMPLE {
        for design in [TTestDesign::OneSample, TTestDesign::Paired] {
            close("power", t_test_power(design, n, effect, alpha, sides).unwrap(), power, 1e-9);
        }
    }
    let one_sided = t_test_power(TTestDesign::TwoSample, 20.0, 0.8, 0.05, Sides::One).unwrap();
    close("two samples, one side", one_sided, TWO_SAMPLES_ONE_SIDE, 1e-9);
}

/// Closed forms of Schoenfeld (1983) and Freedman (1982) in R 4.2.2 (`power.json`).
#[test]
fn log_rank_agrees_with_r() {
    let (r, relative) = expected("power");
    let (two, schoenfeld) = (Sides::Two, LogRankFormula::Schoenfeld);
    for key in ["logrank_events", "logrank_events_unequal"] {
        for case in r[key].as_array().unwrap() {
            let value = |key: &str| number(&case[key]);
            let (ratio, share) = (value("hr"), value("allocation"));
            let (alpha, wanted) = (value("alpha_two_sided"), value("power"));
            let events = log_rank_events(ratio, share, alpha, wanted, two, schoenfeld).unwrap();
            close("events", events, value("events"), relative);
            assert_eq!(events.ceil(), value("events_ceiling"));
            let power = log_rank_power(ratio, share, alpha, events, two, schoenfeld).unwrap();
            close("back", power, wanted, 1e-12);
            if case["freedman_events"].is_null() {
                continue;
            }
            let freedman = LogRankFormula::Freedman;
            let events = log_rank_events(ratio, share, alpha, wanted, two, freedman).unwrap();
            close("Freedman", events, value("freedman_events"), relative);
            let power = log_rank_power(ratio, share, alpha, events, two, freedman).unwrap();
            close("back", power, wanted, 1e-12);
        }
    }
    for case in r["logrank_power"].as_array().unwrap() {
        let value = |key: &str| number(&case[key]);
        let (ratio, share, alpha) = (value("hr"), value("allocation"), value("alpha_two_sided"));
        let power = log_rank_power(ratio, share, alpha, value("events"), two, schoenfeld).unwrap();
        close("power", power, value("power_one_tail_term"), relative);
    }
}

#[test]
fn simulation_agrees_with_the_noncentral_t() {
    let exact = t_test_power(TTestDesign::TwoSample, 12.0, 1.0, 0.05, Sides::Two).unwrap();
    let study = |n: usize, random: &mut rand_chacha::ChaCha8Rng| {
        let mut draw = |shift: f64| -> Vec<f64> {
            (0..n).map(|_| shift + random.sample::<f64, _>(StandardNormal)).collect()
        };
        Ok(student_t(&draw(1.0), &draw(0.0))?.p_value() < 0.05)
    };
    let found = simulated_power(4_000, 5, |random| study(12, random)).unwrap();
    let interval = found.interval(0.999).unwrap();
    assert!(interval.lo < exact && exact < interval.hi, "{exact} {found:?}");
    assert_eq!(found, simulated_power(4_000, 5, |random| study(12, random)).unwrap());
    assert_ne!(found, simulated_power(4_000, 6, |random| study(12, random)).unwrap());
    // 16.7 in each group have 80 % power.
    let (size, power) = simulated_sample_size(4..=60, 0.8, 2_000, 5, study).unwrap();
    assert!((15..=19).contains(&size) && power.power() >= 0.8, "{size}");
    assert!(simulated_sample_size(4..=6, 0.8, 200, 5, study).is_err());
}

/// What one study draws does not change the next.
#[test]
fn studies_draw_from_streams_of_their_own() {
    let mut first = Vec::new();
    let record = |random: &mut rand_chacha::ChaCha8Rng, draws: usize, kept: &mut Vec<u64>| {
        let numbers: Vec<u64> = (0..draws).map(|_| random.random()).collect();
        kept.push(numbers[0]);
        Ok(true)
    };
    simulated_power(5, 3, |random| record(random, 1, &mut first)).unwrap();
    let mut second = Vec::new();
    simulated_power(5, 3, |random| record(random, 1_000, &mut second)).unwrap();
    assert_eq!(first, second);
    first.dedup();
    assert_eq!(first.len(), 5);
}

/// Wilson (1927): 0 of 10 gives 0 to z²/(10 + z²).
#[test]
fn wilson_interval_holds_at_the_ends() {
    let none = SimulatedPower { rejections: 0, simulations: 10 }.interval(0.95).unwrap();
    let z_squared: f64 = 1.959_963_984_540_054f64.powi(2);
    assert!(none.lo.abs() < 1e-15);
    close("upper", none.hi, z_squared / (10.0 + z_squared), 1e-12);
    let all = SimulatedPower { rejections: 10, simulations: 10 }.interval(0.95).unwrap();
    close("lower", all.lo, 1.0 - none.hi, 1e-12);
}

#[test]
fn bad_arguments_are_named() {
    let design = TTestDesign::TwoSample;
    let sides = Sides::Two;
    for n in [1.0, 0.0, -5.0, f64::NAN, 2e9] {
        assert!(t_test_power(design, n, 0.5, 0.05, sides).is_err(), "{n}");
    }
    for alpha in [0.0, 0.5, 1.0, -0.1, f64::NAN] {
        assert!(t_test_power(design, 10.0, 0.5, alpha, sides).is_err());
        assert!(log_rank_power(2.0, 0.5, alpha, 10.0, sides, LogRankFormula::Freedman).is_err());
    }
    for effect in [f64::NAN, f64::INFINITY, 1e9] {
        assert!(t_test_power(design, 10.0, effect, 0.05, sides).is_err());
        assert!(two_sample_t_power(10.0, 5.0, effect, 0.05, sides).is_err());
    }
    assert!(two_sample_t_power(1.0, 1.0, 0.5, 0.05, sides).is_err());
    for wanted in [0.05, 0.0, 1.0, f64::NAN] {
        assert!(t_test_sample_size(design, 0.5, 0.05, wanted, sides).is_err());
        assert!(t_test_detectable_effect(design, 10.0, 0.05, wanted, sides).is_err());
    }
    assert!(t_test_sample_size(design, 0.0, 0.05, 0.8, sides).is_err());
    assert!(t_test_sample_size(design, -0.5, 0.05, 0.8, Sides::One).is_err());
    assert!(t_test_sample_size(design, 1e-6, 0.05, 0.8, sides).is_err());
    assert_eq!(t_test_sample_size(design, 50.0, 0.05, 0.8, sides).unwrap(), 2.0);
    // One degree of freedom and a level of 1e-7: the effect is out of reach.
    assert!(t_test_detectable_effect(TTestDesign::Paired, 2.0, 1e-7, 0.9, sides).is_err());
    for (ratio, share) in
        [(0.0, 0.5), (-1.0, 0.5), (f64::NAN, 0.5), (2.0, 0.0), (2.0, 1.0), (1.0, 0.5)]
    {
        let formula = LogRankFormula::Schoenfeld;
        assert!(log_rank_events(ratio, share, 0.05, 0.8, sides, formula).is_err(), "{ratio}");
    }
    assert!(log_rank_power(2.0, 0.5, 0.05, -1.0, sides, LogRankFormula::Freedman).is_err());
    assert!(simulated_power(0, 1, |_| Ok(true)).is_err());
    let fails = |_: &mut rand_chacha::ChaCha8Rng| Err(StatsError::ExactFit);
    assert_eq!(simulated_power(5, 1, fails).unwrap_err(), StatsError::ExactFit);
    #[allow(clippy::reversed_empty_ranges)]
    let empty = 5..=4;
    assert!(simulated_sample_size(empty, 0.8, 10, 1, |_, _| Ok(true)).is_err());
}

proptest! {
    #[test]
    fn power_grows_and_both_directions_are_alike(
        n in 2.0f64..200.0, effect in 0.01f64..3.0, alpha in 0.001f64..0.2,
    ) {
        for design in [TTestDesign::OneSample, TTestDesign::TwoSample] {
            let power = t_test_power(design, n, effect, alpha, Sides::Two).unwrap();
            let turned = t_test_power(design, n, -effect, alpha, Sides::Two).unwrap();
            prop_assert!((power - turned).abs() < 1e-12);
            prop_assert!(power >= alpha - 1e-9 && power <= 1.0);
            let one = t_test_power(design, n, effect, alpha, Sides::One).unwrap();
            prop_assert!(one >= t_test_power(design, n, effect, 0.5 * alpha, Sides::One).unwrap());
            prop_assert!(t_test_power(design, n + 1.0, effect, alpha, Sides::Two).unwrap() >= power - 1e-12);
        }
    }

    /// Which arm is called the first does not matter: θ becomes 1/θ and p becomes 1 − p.
    #[test]
    fn log_rank_does_not_care_which_arm_is_first(
        ratio in 0.1f64..8.0, share in 0.05f64..0.95, events in 1.0f64..500.0,
    ) {
        for formula in [LogRankFormula::Schoenfeld, LogRankFormula::Freedman] {
            let power = log_rank_power(ratio, share, 0.05, events, Sides::Two, formula).unwrap();
            let turned =
                log_rank_power(1.0 / ratio, 1.0 - share, 0.05, events, Sides::Two, formula).unwrap();
            prop_assert!((power - turned).abs() < 1e-12);
        }
    }
}
