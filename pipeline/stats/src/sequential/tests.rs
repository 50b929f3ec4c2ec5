use super::*;
use crate::reference;
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const MOST: (usize, usize, u64) = (0, 0, 0);

/// Jennison & Turnbull (2000), tables 2.1 and 2.3.
#[test]
fn printed_boundaries_are_reproduced_to_their_digits() {
    let path = reference::path("../inference/boundaries.csv");
    let mut rows = 0;
    for record in csv::Reader::from_path(path).unwrap().records() {
        let record = record.unwrap();
        let shape = match &record[0] {
            "pocock" => Shape::Pocock,
            _ => Shape::OBrienFleming,
        };
        let looks: usize = record[1].parse().unwrap();
        let boundary = shaped_boundary(shape, 0.05, looks).unwrap();
        assert_eq!(format!("{:.3}", boundary[looks - 1]), record[2], "{record:?}");
        rows += 1;
    }
    assert_eq!(rows, 8);
}

/// Five equal looks, two-sided 5 %, O'Brien–Fleming-type spending: 4.877, 3.357, 2.680, 2.290, 2.031 as commonly
/// printed (from memory).
#[test]
fn spending_gives_the_boundaries_commonly_printed() {
    let t = [0.2, 0.4, 0.6, 0.8, 1.0];
    let z = spending_boundary(Spending::OBrienFleming, 0.025, &t, true).unwrap();
    let printed: Vec<String> = z.iter().map(|z| format!("{z:.3}")).collect();
    assert_eq!(printed, ["4.877", "3.357", "2.680", "2.290", "2.031"]);
}

/// One look is the fixed test: Φ(2.5 − 1.644854) = 0.803765 (by the error function of C).
#[test]
fn one_look_is_a_fixed_test_and_what_is_spent_is_crossed() {
    let one = spending_boundary(Spending::OBrienFleming, 0.05, &[1.0], false).unwrap();
    assert!((one[0] - 1.644_853_627).abs() < 1e-7, "{one:?}");
    assert!((crossing(&[1.0], &one, 2.5).unwrap()[0] - 0.803_765).abs() < 1e-6);
    let t = [0.5, 0.8, 1.0];
    let z = spending_boundary(Spending::Pocock, 0.03, &t, false).unwrap();
    let crossed = crossing(&t, &z, 0.0).unwrap();
    let mut sum = 0.0;
    for (crossed, t) in crossed.iter().zip(t) {
        sum += crossed;
        assert!((sum - Spending::Pocock.spent(0.03, t)).abs() < 1e-8);
    }
}

#[test]
fn what_is_no_look_is_refused() {
    assert!(spending_boundary(Spending::Pocock, 0.05, &[0.5, 0.5], true).is_err());
    assert!(spending_boundary(Spending::Pocock, 1.5, &[0.5], true).is_err());
    assert!(shaped_boundary(Shape::Pocock, 0.05, 0).is_err());
    assert!(crossing(&[0.5, 1.0], &[2.0], 0.0).is_err());
    let units = [Unit::pair(1.0, 2.0)];
    let looks = [Look { units: 2, information: 1.0 }];
    assert!(SequentialTest::new(&units, &looks, 0.05, Spending::Pocock, MOST).is_err());
    let same = |first| Member { value: 1.0, censored: false, first };
    assert!(Unit::new(vec![same(true), same(true)]).is_none());
}

fn look(units: usize, of: usize) -> Look {
    Look { units, information: units as f64 / of as f64 }
}

/// Fisher's way by hand: differences 1, 2, 3, 4, 5 are all positive, one path of 32; the effect that leaves 2
/// of 32 (6.25 %) as extreme is the smallest, 1.
#[test]
fn a_single_look_is_the_exact_sign_flip_test() {
    let units: Vec<Unit> = (1..=5).map(|d| Unit::pair(f64::from(d) + 10.0, 10.0)).collect();
    let looks = [look(5, 5)];
    let at =
        |alpha| SequentialTest::new(&units, &looks, alpha, Spending::OBrienFleming, MOST).unwrap();
    assert!(at(0.05).rejects(0.0, 0, Side::Above) && !at(0.03).rejects(0.0, 0, Side::Above));
    let (lo, hi) = at(0.05).interval(0);
    assert!((lo - 1.0).abs() < 1e-5 && (hi - 5.0).abs() < 1e-5, "{lo} {hi}");
    assert!((at(0.05).estimate(0) - 3.0).abs() < 1e-9);
    assert_eq!(at(0.03).interval(0).0, f64::NEG_INFINITY);
    let after = at(0.05).after_stop(1.0);
    assert!((after.lo - 1.0).abs() < 1e-4 && (after.estimate - 3.0).abs() < 1e-4, "{after:?}");
}

/// Over all lots that could have fallen, no more are rejected at any look than may be, also where outcomes
/// are skewed beyond what normal theory bears.
#[test]
fn the_error_over_all_lots_is_at_most_what_was_promised() {
    let magnitudes = [0.1, 0.2, 0.2, 0.3, 0.5, 0.9, 1.6, 3.0, 7.0, 20.0];
    let looks = [look(6, 10), look(8, 10), look(10, 10)];
    let mut wrong = 0;
    for lots in 0..1u32 << magnitudes.len() {
        let units: Vec<Unit> = magnitudes
            .iter()
            .enumerate()
            .map(|(place, size)| if lots >> place & 1 == 1 { *size } else { -size })
            .map(|difference| Unit::pair(difference, 0.0))
            .collect();
        let test =
            SequentialTest::new(&units, &looks, 0.05, Spending::OBrienFleming, MOST).unwrap();
        wrong += u32::from((0..3).any(|look| test.rejects(0.0, look, Side::Above)));
    }
    let share = f64::from(wrong) / 1024.0;
    assert!(share <= 0.05 && share > 0.04, "{share}");
}

#[test]
fn blocks_of_four_have_six_ways_and_a_pair_two() {
    let member = |value, first| Member { value, censored: false, first };
    let block = vec![member(5.0, true), member(3.0, false), member(4.0, true), member(1.0, false)];
    let block = Unit::new(block).unwrap();
    assert_eq!((block.ways(), block.weight()), (6, 1.0));
    // (5 + 4)/2 − (3 + 1)/2 = 2.5.
    assert!((block.differences(0.0)[0] - 2.5).abs() < 1e-12);
    assert_eq!(block.differences(2.5)[0], 0.0);
    let units = [block];
    let looks = [look(1, 1)];
    let test = SequentialTest::new(&units, &looks, 0.2, Spending::Pocock, MOST).unwrap();
    assert!((test.estimate(0) - 2.5).abs() < 1e-9);
    assert!(test.rejects(0.0, 0, Side::Above) && !test.rejects(0.0, 0, Side::Below));
}

/// Whoever was cut off counts by what is known: longer than who finished sooner, of no side against who took
/// longer.
#[test]
fn censored_outcomes_say_what_is_known() {
    let pair = |first: (f64, bool), second: (f64, bool)| {
        let member = |(value, censored), first| Member { value, censored, first };
        Unit::new(vec![member(first, true), member(second, false)]).unwrap().differences(0.0)[0]
    };
    assert_eq!(pair((9.0, true), (5.0, false)), 2.0);
    assert_eq!(pair((3.0, true), (5.0, false)), 0.0);
    assert_eq!(pair((5.0, false), (9.0, true)), -2.0);
    assert_eq!(pair((5.0, true), (9.0, true)), 0.0);
}

/// Random paths agree with all of them within what chance allows.
#[test]
fn random_paths_agree_with_all_paths() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let units: Vec<Unit> =
        (0..14).map(|_| Unit::pair(random.random::<f64>() + 0.3, random.random())).collect();
    let looks = [look(10, 14), look(14, 14)];
    let exact = SequentialTest::new(&units, &looks, 0.05, Spending::OBrienFleming, MOST).unwrap();
    let drawn = SequentialTest::new(&units, &looks, 0.05, Spending::OBrienFleming, (40, 20_000, 1))
        .unwrap();
    let (a, b) = (exact.interval(1), drawn.interval(1));
    assert!((a.0 - b.0).abs() < 0.02 && (a.1 - b.1).abs() < 0.02, "{a:?} {b:?}");
    let (a, b) = (exact.after_stop(0.2), drawn.after_stop(0.2));
    assert!((a.lo - b.lo).abs() < 0.02 && (a.estimate - b.estimate).abs() < 0.02, "{a:?} {b:?}");
}

proptest! {
    /// Who swaps both treatments swaps the answer, and who adds to one adds to the effect.
    #[test]
    fn answers_turn_and_move_with_the_outcomes(
        differences in prop::collection::vec(-5.0..5.0f64, 6..10), by in -3.0..3.0f64,
    ) {
        let looks = [Look { units: differences.len(), information: 1.0 }];
        let interval = |units: Vec<Unit>| {
            SequentialTest::new(&units, &looks, 0.05, Spending::OBrienFleming, MOST)
                .unwrap()
                .interval(0)
        };
        let (lo, hi) = interval(differences.iter().map(|d| Unit::pair(*d, 0.0)).collect());
        let (turned_lo, turned_hi) =
            interval(differences.iter().map(|d| Unit::pair(0.0, *d)).collect());
        prop_assert!((lo + turned_hi).abs() < 1e-4 && (hi + turned_lo).abs() < 1e-4);
        let (moved, _) = interval(differences.iter().map(|d| Unit::pair(d + by, 0.0)).collect());
        prop_assert!((moved - lo - by).abs() < 1e-4);
    }
}
