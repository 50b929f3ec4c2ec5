use super::block::Off;
use super::*;

/// Numbers of many kinds, the same every time (Knuth's multiplier).
fn noise(at: usize) -> i64 {
    (at as u64).wrapping_mul(6_364_136_223_846_793_005).rotate_left(29) as i64
}

/// More values than lie open, and not a whole number of blocks.
const LONG: usize = OPEN + 5 * BLOCK + 77;

fn comes_back<T: Pack + fmt::Debug>(value: impl Fn(usize) -> T) {
    let column: Packed<T> = (0..LONG).map(&value).collect();
    assert_eq!(column.len(), LONG);
    assert!(!column.blocks.is_empty());
    for (at, found) in column.iter().enumerate() {
        assert_eq!(found, value(at));
    }
    for at in (0..LONG).step_by(611) {
        assert_eq!(column.at(at), value(at));
    }
    let part: Vec<T> = column.range(OPEN - 3..OPEN + 3).collect();
    assert_eq!(part, (OPEN - 3..OPEN + 3).map(&value).collect::<Vec<T>>());
    let mut turned = column.clone();
    turned.reverse();
    assert_eq!(turned.at(0), value(LONG - 1));
    turned.reverse();
    assert_eq!(turned, column);
    assert_eq!(Packed::from(column.to_vec()), column);
}

#[test]
fn values_come_back_whatever_they_are() {
    comes_back(|at| 1_777_701_600_000 + 1000 * at as i64);
    comes_back(|at| 1_777_701_600_000 + 1003 * at as i64 + noise(at) % 40);
    comes_back(|at| 30_000 * at as i64 + noise(at) % 20_000);
    comes_back(|at| noise(at) % (1 << 33));
    comes_back(noise);
    comes_back(|at| if at % 50 == 0 { i64::MIN } else { i64::MAX - at as i64 });
    comes_back(|at| (at % 7 != 0).then_some(at as i64 * 1000));
    comes_back(|at| at as u32 + 1);
    comes_back(|at| at * 31 + noise(at).unsigned_abs() as usize % 3);
    comes_back(|at| at % 1000 == 0);
    comes_back(|at| Flag::ALL[at / 3 % 4]);
    comes_back(|at| (noise(at) % 300) as f32 / 10.0);
    comes_back(|at| (noise(at) % 100_000) as f32 / 10.0);
    comes_back(|at| if at == 3 { -0.0_f32 } else { at as f32 });
}

#[test]
fn values_that_are_no_number_come_back() {
    let values = |at: usize| if at.is_multiple_of(9) { f32::NAN } else { (at % 50) as f32 };
    let column: Packed<f32> = (0..LONG).map(values).collect();
    assert!(column.iter().enumerate().all(|(at, found)| found.is_nan() == (at % 9 == 0)));
}

#[test]
fn a_value_is_changed_wherever_it_lies() {
    let mut column: Packed<i64> = (0..LONG as i64).collect();
    for at in [0, BLOCK, OPEN, LONG - 1] {
        column.set(at, -5);
    }
    column.map(|at, value| if at == 7 { 99 } else { value });
    let changed: Vec<usize> =
        column.iter().enumerate().filter(|(at, v)| *v != *at as i64).map(|(at, _)| at).collect();
    assert_eq!(changed, [0, 7, BLOCK, OPEN, LONG - 1]);
    for left in (0..LONG).rev() {
        assert!(column.pop().is_some());
        assert_eq!(column.len(), left);
    }
    assert_eq!(column.pop(), None);
}

#[test]
fn a_place_is_found_by_halves() {
    let column: Packed<i64> = (0..LONG as i64).map(|at| at * 10).collect();
    for wanted in [0, 5, 10, 655_360, 10 * LONG as i64] {
        let place = column.partition_point(|value| value < wanted);
        assert_eq!(place, (wanted.unsigned_abs() as usize).div_ceil(10).min(LONG));
    }
}

#[test]
fn even_columns_take_few_bytes() {
    let bytes = |block: &Block| match block {
        Block::Line { off: Off::Not, .. } => 0,
        Block::Line { off: Off::Bytes(_), .. } => 1,
        Block::Words { .. } => 2,
        Block::Line { .. } => 4,
    };
    let clock: Packed<i64> = (0..LONG as i64).map(|at| at * 1000).collect();
    assert!(clock.blocks.iter().all(|block| bytes(block) == 0));
    let pit: Packed<f32> = (0..LONG).map(|at| (at % 200) as f32 / 10.0).collect();
    assert!(pit.blocks.iter().all(|block| bytes(block) <= 2));
}
