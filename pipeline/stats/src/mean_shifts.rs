//! Shifts of a series' mean that the data support: binary segmentation with a permutation test.

use crate::error::{StatsError, require_finite};
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

/// How to look for shifts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShiftOptions {
    /// Fewest values on either side of a shift.
    pub shortest: usize,
    /// A shift is kept where its p value is at most this.
    pub level: f64,
    /// Random orders drawn for each test.
    pub draws: u32,
    /// Seed of the draws; the same seed gives the same shifts on every machine.
    pub seed: u64,
}

impl Default for ShiftOptions {
    fn default() -> Self {
        Self { shortest: 5, level: 0.01, draws: 1_999, seed: 1 }
    }
}

/// One shift of the mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// Position of the first value after it.
    pub at: usize,
    /// Mean of the stretch before it, back to the shift before.
    pub before: f64,
    /// Mean of the stretch after it, up to the next shift.
    pub after: f64,
    /// p value of the test that found it, within the stretch that was tested.
    pub p: f64,
}

/// Shifts of the mean of a series, in their order.
///
/// Each stretch is cut where the means of its two parts differ most for their lengths,
/// |x̄₁ − x̄₂|·√(n₁n₂/n), and the cut is kept where at most `level` of random orders of the stretch
/// reach as far at any place; both parts are then searched alike. Vostrikova (1981), Soviet
/// Mathematics Doklady 24, 55–59 (binary segmentation); Antoch & Hušková (2001), "Permutation tests
/// in change point analysis", Statistics & Probability Letters 53, 37–46. The observed order counts
/// as one of those drawn (Phipson & Smyth 2010).
///
/// Assumes that the order of the values would not matter if there were no shift: a slow drift comes
/// out as one or more shifts.
///
/// # Errors
/// A value that is not finite; no draws, or a `shortest` of zero. A series too short to be cut has no
/// shift, which is no error.
pub fn mean_shifts(values: &[f64], options: &ShiftOptions) -> Result<Vec<Shift>, StatsError> {
    if values.is_empty() {
        return Ok(Vec::new());
    }
    require_finite("the series", values)?;
    for (name, value) in
        [("draws", f64::from(options.draws)), ("shortest", options.shortest as f64)]
    {
        if value < 1.0 {
            return Err(StatsError::BadArgument { name, value, expected: "at least one" });
        }
    }
    let mut cuts: Vec<(usize, f64)> = Vec::new();
    let mut open = vec![(0, values.len())];
    while let Some((from, to)) = open.pop() {
        let stretch = &values[from..to];
        let Some((cut, size)) = farthest(stretch, options.shortest) else { continue };
        let p = p_value(stretch, size, from as u64, options);
        if p <= options.level {
            cuts.push((from + cut, p));
            open.extend([(from, from + cut), (from + cut, to)]);
        }
    }
    cuts.sort_unstable_by_key(|cut| cut.0);
    let mean = |from: usize, to: usize| values[from..to].iter().sum::<f64>() / (to - from) as f64;
    let ends: Vec<usize> = std::iter::once(0)
        .chain(cuts.iter().map(|cut| cut.0))
        .chain(std::iter::once(values.len()))
        .collect();
    Ok(cuts
        .iter()
        .zip(ends.windows(3))
        .map(|(&(at, p), ends)| Shift {
            at,
            before: mean(ends[0], ends[1]),
            after: mean(ends[1], ends[2]),
            p,
        })
        .collect())
}

/// The place where the means of both parts differ most for their lengths, and how far.
fn farthest(values: &[f64], shortest: usize) -> Option<(usize, f64)> {
    let n = values.len();
    if n < 2 * shortest {
        return None;
    }
    let centre = values.iter().sum::<f64>() / n as f64;
    let mut sum = 0.0;
    let mut best: Option<(usize, f64)> = None;
    for (index, value) in values.iter().enumerate().take(n - shortest) {
        sum += value - centre;
        let first = index + 1;
        if first < shortest {
            continue;
        }
        // |x̄₁ − x̄₂|·√(n₁n₂/n), written with the sum of deviations up to the cut.
        let parts = first as f64 * (n - first) as f64;
        let size = f64::abs(sum) * (n as f64 / parts).sqrt();
        if best.is_none_or(|(_, before)| size > before) {
            best = Some((first, size));
        }
    }
    best
}

/// The p value of a cut; 1 as soon as it is known to lie above the level.
fn p_value(values: &[f64], observed: f64, stretch: u64, options: &ShiftOptions) -> f64 {
    let mut random = ChaCha8Rng::seed_from_u64(options.seed);
    random.set_stream(stretch);
    let mut order = values.to_vec();
    // Orders that differ by rounding alone count as equal.
    let reach = observed * (1.0 - 1e-9);
    let mut as_far = 1_u32;
    // With more of them no cut is kept, whatever the rest would show: long series without a shift take few draws.
    let most = options.level * f64::from(options.draws + 1);
    for _ in 0..options.draws {
        order.shuffle(&mut random);
        if farthest(&order, options.shortest).is_some_and(|(_, size)| size >= reach) {
            as_far += 1;
        }
        if f64::from(as_far) > most {
            return 1.0;
        }
    }
    f64::from(as_far) / f64::from(options.draws + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Annual flow of the Nile at Aswan 1871–1970, 10⁸ m³ (data set `Nile` of R, from memory; the
    /// sum is checked against its known mean of 919.35).
    const NILE: [f64; 100] = [
        1120.0, 1160.0, 963.0, 1210.0, 1160.0, 1160.0, 813.0, 1230.0, 1370.0, 1140.0, 995.0, 935.0,
        1110.0, 994.0, 1020.0, 960.0, 1180.0, 799.0, 958.0, 1140.0, 1100.0, 1210.0, 1150.0, 1250.0,
        1260.0, 1220.0, 1030.0, 1100.0, 774.0, 840.0, 874.0, 694.0, 940.0, 833.0, 701.0, 916.0,
        692.0, 1020.0, 1050.0, 969.0, 831.0, 726.0, 456.0, 824.0, 702.0, 1120.0, 1100.0, 832.0,
        764.0, 821.0, 768.0, 845.0, 864.0, 862.0, 698.0, 845.0, 744.0, 796.0, 1040.0, 759.0, 781.0,
        865.0, 845.0, 944.0, 984.0, 897.0, 822.0, 1010.0, 771.0, 676.0, 649.0, 846.0, 812.0, 742.0,
        801.0, 1040.0, 860.0, 874.0, 848.0, 890.0, 744.0, 749.0, 838.0, 1050.0, 918.0, 986.0,
        797.0, 923.0, 975.0, 815.0, 1020.0, 906.0, 901.0, 1170.0, 912.0, 746.0, 919.0, 718.0,
        714.0, 740.0,
    ];

    #[test]
    fn the_nile_shifts_once_in_1899() {
        assert_eq!(NILE.iter().sum::<f64>(), 91_935.0);
        let shifts = mean_shifts(&NILE, &ShiftOptions::default()).unwrap();
        // Cobb (1978), "The problem of the Nile", Biometrika 65, 243–251: the level falls after
        // 1898, the 28th year, from 1097.75 to 849.97 (means as commonly printed, from memory).
        assert_eq!(shifts.len(), 1, "{shifts:?}");
        assert_eq!(shifts[0].at, 28);
        assert!((shifts[0].before - 1097.75).abs() < 0.005);
        assert!((shifts[0].after - 849.97).abs() < 0.005);
        assert!(shifts[0].p < 0.001);
    }

    #[test]
    fn the_farthest_cut_is_the_largest_two_sample_difference() {
        // By definition: |x̄₁ − x̄₂|·√(n₁n₂/n) at each cut.
        let values = [1.0, 3.0, 2.0, 8.0, 9.0, 7.0, 8.0];
        let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
        let size = |cut: usize| {
            let (one, two) = values.split_at(cut);
            (mean(one) - mean(two)).abs() * ((one.len() * two.len()) as f64 / 7.0).sqrt()
        };
        let (cut, found) = farthest(&values, 2).unwrap();
        assert_eq!(cut, 3);
        for other in 2..=5 {
            assert!(found >= size(other) - 1e-12);
        }
        assert!((found - size(3)).abs() < 1e-12);
    }

    #[test]
    fn a_short_or_even_series_has_none_and_nonsense_is_an_error() {
        let options = ShiftOptions::default();
        assert_eq!(mean_shifts(&[], &options).unwrap(), []);
        assert_eq!(mean_shifts(&[1.0; 9], &options).unwrap(), []);
        assert_eq!(mean_shifts(&[3.0; 40], &options).unwrap(), []);
        assert!(mean_shifts(&[f64::NAN; 40], &options).is_err());
        assert!(mean_shifts(&[1.0; 40], &ShiftOptions { draws: 0, ..options }).is_err());
        assert!(mean_shifts(&[1.0; 40], &ShiftOptions { shortest: 0, ..options }).is_err());
    }

    #[test]
    fn undisturbed_series_are_cut_about_as_often_as_the_level_says() {
        let options = ShiftOptions { draws: 199, level: 0.05, ..ShiftOptions::default() };
        let found = (0..200_u64)
            .filter(|seed| {
                let mut random = ChaCha8Rng::seed_from_u64(*seed);
                let mut values: Vec<f64> = (0..30).map(f64::from).collect();
                values.shuffle(&mut random);
                !mean_shifts(&values, &ShiftOptions { seed: seed + 9, ..options })
                    .unwrap()
                    .is_empty()
            })
            .count();
        // Binomial(200, 0.05): mean 10, standard deviation 3.1; four of them above.
        assert!(found <= 22, "{found} of 200");
    }

    proptest! {
        #[test]
        fn a_change_of_unit_moves_no_shift(
            low in -5.0f64..5.0, step in 20.0f64..40.0, factor in 0.5f64..3.0,
        ) {
            let values: Vec<f64> =
                (0..30).map(|i| low + f64::from(i % 3) + if i < 12 { 0.0 } else { step }).collect();
            let other: Vec<f64> = values.iter().map(|v| v * factor + 7.0).collect();
            let options = ShiftOptions { draws: 199, ..ShiftOptions::default() };
            let (one, two) = (mean_shifts(&values, &options).unwrap(), mean_shifts(&other, &options).unwrap());
            prop_assert_eq!(one.len(), 1);
            prop_assert_eq!(one[0].at, 12);
            prop_assert_eq!(two[0].at, 12);
        }
    }
}
