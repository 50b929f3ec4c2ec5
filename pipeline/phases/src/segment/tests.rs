use super::*;
use cook::PhaseKind;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

/// A core that warms towards the pit with a coefficient that drops to a tenth between
/// 65 and 72 °C: a stall of known length, integrated in closed form.
fn curve(interval_s: i64) -> (OwnedSamples, OwnedSamples, CookBounds) {
    let (pit, k_free, k_stall) = (120.0, 0.17_f64, 0.017_f64);
    let hours = |from: f64, to: f64, k: f64| ((pit - from) / (pit - to)).ln() / k;
    let stall_from = hours(5.0, 65.0, k_free);
    let stall_to = stall_from + hours(65.0, 72.0, k_stall);
    let core_at = |hour: f64| {
        if hour < stall_from {
            pit - (pit - 5.0) * (-k_free * hour).exp()
        } else if hour < stall_to {
            pit - (pit - 65.0) * (-k_stall * (hour - stall_from)).exp()
        } else {
            pit - (pit - 72.0) * (-k_free * (hour - stall_to)).exp()
        }
    };
    let end_ms = 18 * 3_600_000;
    let at_ms: Vec<i64> = (0..end_ms).step_by((interval_s * 1000) as usize).collect();
    let temp_c = at_ms.iter().map(|&at| core_at(at as f64 / 3.6e6)).collect();
    let pit = OwnedSamples { at_ms: at_ms.clone(), temp_c: vec![pit; at_ms.len()] };
    let bounds = CookBounds {
        meat_on_known: true,
        meat_on_ms: 0,
        pull_ms: end_ms - 3_600_000,
        end_ms,
        pull_known: true,
        slice_known: false,
    };
    (OwnedSamples { at_ms, temp_c }, pit, bounds)
}

/// The same curve in a log that ends early.
fn cut_after(hours: i64) -> (OwnedSamples, OwnedSamples, CookBounds) {
    let (mut core, mut pit, mut bounds) = curve(60);
    let cut = core.at_ms.partition_point(|&at| at < hours * 3_600_000);
    for samples in [&mut core, &mut pit] {
        samples.at_ms.truncate(cut);
        samples.temp_c.truncate(cut);
    }
    bounds.pull_ms = core.at_ms[cut - 1];
    bounds.end_ms = bounds.pull_ms;
    bounds.pull_known = false;
    (core, pit, bounds)
}

fn found(core: &OwnedSamples, pit: &OwnedSamples, bounds: &CookBounds, draws: u32) -> Segmentation {
    let curves = CookCurves { core: core.view(), pit: pit.view(), wraps_ms: &[] };
    let options = SegmentOptions { draws, seed: 7, ..SegmentOptions::default() };
    segment(&curves, bounds, &options).unwrap()
}

#[test]
fn the_stall_of_a_clean_curve_is_found_at_any_sampling() {
    // ln(55/48)/0.017 h, worked by hand from the curve's own formula.
    let truth_min = (55.0_f64 / 48.0).ln() / 0.017 * 60.0;
    for interval_s in [10, 60, 300] {
        let (core, pit, bounds) = curve(interval_s);
        let segmentation = found(&core, &pit, &bounds, 0);
        let stall = segmentation.judgement.stall_min.unwrap();
        // The slope window of ± 10 min blurs both ends alike.
        assert!((stall - truth_min).abs() < 8.0, "{interval_s} s: {stall} against {truth_min}");
        assert_eq!(segmentation.judgement.stalls, Some(1));
    }
}

#[test]
fn noise_and_quanta_move_the_stall_by_minutes_and_the_interval_says_so() {
    let (core, pit, bounds) = curve(60);
    let clean = found(&core, &pit, &bounds, 0).judgement.stall_min.unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let noisy = OwnedSamples {
        at_ms: core.at_ms.clone(),
        temp_c: core
            .temp_c
            .iter()
            .map(|t| ((t + 0.2 * rng.sample::<f64, _>(StandardNormal)) * 10.0).round() / 10.0)
            .collect(),
    };
    let segmentation = found(&noisy, &pit, &bounds, 60);
    let stall = segmentation.judgement.stall_min.unwrap();
    assert!((stall - clean).abs() < 15.0, "{stall} against {clean}");
    // The scale of Student noise with 4 degrees of freedom, whose standard deviation is √2 times
    // that, against 0.2 °C of normal noise and a quantum of 0.1 °C.
    let sd = segmentation.noise_sd_c * 2.0_f64.sqrt();
    assert!((sd - 0.2).abs() < 0.04, "{sd}");
    let interval = segmentation.stall_min_90.unwrap();
    let (lo, hi) = (interval.lo.unwrap(), interval.hi.unwrap());
    assert!(lo <= stall && stall <= hi && hi - lo > 0.5 && hi - lo < 60.0, "{lo} to {hi}");
    let again = found(&noisy, &pit, &bounds, 60);
    assert_eq!(again, segmentation, "same seed, same answer");
    // The ramp's end is estimated; meat-on and pull are marks.
    assert_eq!(segmentation.judgement.phases[0].kind, PhaseKind::Ramp);
    assert!(segmentation.boundaries[0].1.lo_ms.is_some());
    assert_eq!(segmentation.boundaries[0].0, BoundaryInterval::default());
}

#[test]
fn a_log_that_ends_in_the_stall_is_open_ended() {
    let (core, pit, bounds) = cut_after(8);
    let segmentation = found(&core, &pit, &bounds, 40);
    assert!(segmentation.judgement.stall_min_censored);
    assert_eq!(segmentation.stall_min_90.unwrap().hi, None);
    assert!(!segmentation.judgement.phases.last().unwrap().complete);
}

#[test]
fn a_log_that_ends_before_the_stall_says_nothing_of_its_length() {
    let (core, pit, bounds) = cut_after(2);
    if let Some(interval) = found(&core, &pit, &bounds, 20).stall_min_90 {
        assert_eq!(interval, Interval { lo: Some(0.0), hi: None });
    }
}

/// Nothing was logged between two hours of the cook.
fn silent_between(from_h: f64, until_h: f64) -> (OwnedSamples, OwnedSamples, CookBounds) {
    let (mut core, mut pit, bounds) = curve(60);
    for samples in [&mut core, &mut pit] {
        let kept: Vec<bool> = samples
            .at_ms
            .iter()
            .map(|&at| !(from_h..until_h).contains(&(at as f64 / 3.6e6)))
            .collect();
        let mut keep = kept.iter();
        samples.at_ms.retain(|_| *keep.next().unwrap());
        let mut keep = kept.iter();
        samples.temp_c.retain(|_| *keep.next().unwrap());
    }
    (core, pit, bounds)
}

#[test]
fn a_stall_that_begins_or_ends_while_nothing_was_logged_may_do_so_anywhere_there() {
    // The curve's own stall: from 4.34 h to 12.35 h.
    let truth_min = (55.0_f64 / 48.0).ln() / 0.017 * 60.0;
    // No stall begins below 55 °C, which the straight line over the last silence passes at 3.65 h.
    for (from_h, until_h, open_min) in [(11.5, 14.3, 168.0), (10.0, 12.8, 168.0), (3.1, 5.8, 129.0)]
    {
        let (core, pit, bounds) = silent_between(from_h, until_h);
        let segmentation = found(&core, &pit, &bounds, 200);
        let stall = segmentation.judgement.stall_min.unwrap();
        let silent_min = (until_h - from_h) * 60.0;
        assert!((stall - truth_min).abs() < 0.5 * silent_min + 8.0, "{stall} for {truth_min}");
        let interval = segmentation.stall_min_90.unwrap();
        let (lo, hi) = (interval.lo.unwrap(), interval.hi.unwrap());
        assert!(lo < truth_min && truth_min < hi, "{lo} to {hi} for {truth_min}");
        assert!(hi - lo > 0.85 * open_min && hi - lo < 1.2 * open_min, "{lo} to {hi}");
    }
}

#[test]
fn a_long_silence_within_a_stall_leaves_it_one_stall() {
    let (core, pit, bounds) = silent_between(6.0, 9.0);
    let whole = found(&curve(60).0, &pit, &bounds, 0).judgement.stall_min.unwrap();
    let judgement = found(&core, &pit, &bounds, 0).judgement;
    assert_eq!(judgement.stalls, Some(1));
    assert!((judgement.stall_min.unwrap() - whole).abs() < 5.0);
}

#[test]
fn a_missing_pit_gives_unknown_with_the_reason() {
    let (core, _, bounds) = curve(60);
    let segmentation = found(&core, &OwnedSamples::default(), &bounds, 20);
    assert_eq!(segmentation.judgement.not_judged, Some(crate::NotJudged::NoPit));
    assert_eq!(segmentation.judgement.phases[0].kind, PhaseKind::Unknown);
}

#[test]
fn a_shift_of_all_instants_changes_no_duration() {
    let (core, pit, bounds) = curve(60);
    let here = found(&core, &pit, &bounds, 20);
    let by = 1_700_000_000_000;
    let moved = |samples: &OwnedSamples| OwnedSamples {
        at_ms: samples.at_ms.iter().map(|at| at + by).collect(),
        temp_c: samples.temp_c.clone(),
    };
    let there = found(
        &moved(&core),
        &moved(&pit),
        &CookBounds {
            meat_on_known: true,
            meat_on_ms: bounds.meat_on_ms + by,
            pull_ms: bounds.pull_ms + by,
            end_ms: bounds.end_ms + by,
            ..bounds
        },
        20,
    );
    let lengths = |s: &Segmentation| -> Vec<i64> {
        s.judgement.phases.iter().map(|p| p.end_ms - p.start_ms).collect()
    };
    assert_eq!(lengths(&here), lengths(&there));
    assert_eq!(here.stall_min_90, there.stall_min_90);
}

#[test]
fn a_stretch_without_readings_that_may_hide_a_stall_is_no_cook_without_one() {
    let silent = |from_h: f64, to_h: f64| {
        let (mut core, mut pit, bounds) = curve(60);
        let is_silent = |at: i64| (from_h..to_h).contains(&(at as f64 / 3.6e6));
        for samples in [&mut core, &mut pit] {
            let kept = samples.at_ms.iter().zip(&samples.temp_c).filter(|(at, _)| !is_silent(**at));
            let (at_ms, temp_c) = kept.map(|(at, temp_c)| (*at, *temp_c)).unzip();
            *samples = OwnedSamples { at_ms, temp_c };
        }
        found(&core, &pit, &bounds, 8).judgement
    };
    // The stall is from 4.3 h to 12.3 h.
    let hidden = silent(4.0, 12.6);
    assert_eq!(hidden.not_judged, Some(NotJudged::Silent));
    assert!(hidden.stall_min.is_none() && hidden.reference.is_some());
    // Before it, in it, and after it, nothing else can be hidden.
    for (from_h, to_h) in [(2.0, 3.9), (6.0, 9.0), (12.5, 13.5)] {
        let judged = silent(from_h, to_h);
        assert_eq!((judged.not_judged, judged.stalls), (None, Some(1)), "{from_h}");
    }
}
