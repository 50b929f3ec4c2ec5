//! Lone spikes: the Hampel filter, on a window freed of its trend.
//!
//! A reading is a spike where it lies more than 4 robust standard deviations from
//! the median of its window (Hampel, "The influence curve and its role in robust
//! estimation", Journal of the American Statistical Association 69, 1974; as a moving
//! window: Pearson, "Outliers in process modeling and identification", IEEE Transactions on
//! Control Systems Technology 10, 2002). Here the window's trend is taken out first, since a
//! warming core would else look like spread.

use super::SpikeRemoved;
use crate::samples::{OwnedSamples, Samples};
use stats::describe::MAD_TO_NORMAL_SD;

/// Neighbours on each side. Eleven readings in all: up to five of them may be wrong.
const NEIGHBOURS: usize = 5;
/// Neighbours farther away than this tell nothing of a reading, ms (15 min).
const NEAR_MS: i64 = 900_000;
/// Robust standard deviations from the median: Pearson (2002) uses 3; 4 here, since a run of
/// equal coarse readings makes the spread look smaller than it is.
const CUTOFF: f64 = 4.0;
/// A core reading nearer than this to its neighbours is no spike whatever their spread, °C:
/// two steps of a logger that counts whole °F, rounded up.
pub const CORE_FLOOR_C: f64 = 1.5;
/// The same for the pit, °C: air moves fast, and a short flare is real.
pub const PIT_FLOOR_C: f64 = 15.0;

/// The readings that are no spikes; the others go to `removed`.
pub fn remove(samples: Samples, floor_c: f64, removed: &mut Vec<SpikeRemoved>) -> OwnedSamples {
    let mut out = OwnedSamples {
        at_ms: Vec::with_capacity(samples.len()),
        temp_c: Vec::with_capacity(samples.len()),
    };
    for index in 0..samples.len() {
        let (at_ms, temp_c) = (samples.at_ms[index], samples.temp_c[index]);
        if let Some(expected_c) = expected(samples, index, floor_c) {
            removed.push(SpikeRemoved { at_ms, temp_c, expected_c });
        } else {
            out.at_ms.push(at_ms);
            out.temp_c.push(temp_c);
        }
    }
    out
}

/// What the neighbours of a spike say, or `None` where the reading is no spike.
fn expected(samples: Samples, index: usize, floor_c: f64) -> Option<f64> {
    let (at, value) = (samples.at_ms[index], samples.temp_c[index]);
    let near = |i: &usize| (samples.at_ms[*i] - at).abs() <= NEAR_MS;
    let before = (index.saturating_sub(NEIGHBOURS)..index).filter(near);
    let after = (index + 1..(index + 1 + NEIGHBOURS).min(samples.len())).filter(near);
    // Most readings lie close to the nearest ones on either side, and need no more work.
    let neighbours = [index.checked_sub(1), Some(index + 1)]
        .into_iter()
        .flatten()
        .filter(|&i| i < samples.len());
    if neighbours.clone().all(|i| (samples.temp_c[i] - value).abs() < 0.5 * floor_c) {
        return None;
    }
    let mut window = [(0.0, 0.0); 2 * NEIGHBOURS];
    let mut count = 0;
    for i in before.chain(after) {
        window[count] = ((samples.at_ms[i] - at) as f64, samples.temp_c[i]);
        count += 1;
    }
    // Fewer than four neighbours give no spread worth a removal.
    if count < 4 {
        return None;
    }
    let window = &window[..count];
    let slope = trend(window);
    let mut levels = [0.0; 2 * NEIGHBOURS];
    for (slot, (x, y)) in levels.iter_mut().zip(window) {
        *slot = y - slope * x;
    }
    let levels = &mut levels[..count];
    let centre = median(levels);
    for level in levels.iter_mut() {
        *level = (*level - centre).abs();
    }
    let spread = MAD_TO_NORMAL_SD * median(levels);
    ((value - centre).abs() > (CUTOFF * spread).max(floor_c)).then_some(centre)
}

/// Median of the slopes between all pairs (Theil 1950; Sen, "Estimates of the regression
/// coefficient based on Kendall's tau", Journal of the American Statistical Association 63, 1968).
fn trend(window: &[(f64, f64)]) -> f64 {
    let mut slopes = [0.0; NEIGHBOURS * (2 * NEIGHBOURS - 1)];
    let mut count = 0;
    for (i, a) in window.iter().enumerate() {
        for b in &window[i + 1..] {
            slopes[count] = (b.1 - a.1) / (b.0 - a.0);
            count += 1;
        }
    }
    median(&mut slopes[..count])
}

/// Median of a small window, in place.
fn median(values: &mut [f64]) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    let middle = values.len() / 2;
    if values.len() % 2 == 1 { values[middle] } else { 0.5 * (values[middle - 1] + values[middle]) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(temp_c: &[f64]) -> (Vec<f64>, Vec<SpikeRemoved>) {
        let at_ms: Vec<i64> = (0..temp_c.len() as i64).map(|i| i * 60_000).collect();
        let mut removed = Vec::new();
        let clean = remove(Samples { at_ms: &at_ms, temp_c }, CORE_FLOOR_C, &mut removed);
        (clean.temp_c, removed)
    }

    #[test]
    fn a_lone_spike_goes_and_its_neighbours_stay() {
        let mut curve: Vec<f64> = (0..60).map(|i| 20.0 + 0.3 * f64::from(i)).collect();
        curve[30] += 4.0;
        curve[45] -= 12.0;
        let (clean, removed) = run(&curve);
        assert_eq!(clean.len(), 58);
        assert_eq!(removed.iter().map(|s| s.at_ms / 60_000).collect::<Vec<_>>(), [30, 45]);
        assert!((removed[0].expected_c - 29.0).abs() < 1e-9);
    }

    #[test]
    fn a_steep_ramp_and_a_whole_degree_fahrenheit_step_are_no_spikes() {
        let ramp: Vec<f64> = (0..60).map(|i| 20.0 + 2.0 * f64::from(i)).collect();
        assert_eq!(run(&ramp).1, []);
        let coarse: Vec<f64> =
            (0..200).map(|i| ((70.0_f64 + 0.02 * f64::from(i)) * 1.8).round() / 1.8).collect();
        assert_eq!(run(&coarse).1, []);
    }
}
