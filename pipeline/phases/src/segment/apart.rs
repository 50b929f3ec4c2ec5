//! The core with the two sides of each wrap smoothed apart.
//!
//! One smooth curve through a wrap carries the quicker heating after it into the half hour before, and
//! the stall before it into the minutes after. What a wrap does is then smeared over its own moment: for
//! phases that matters little, for the pace of the core before and after the wrap it is the question.

use super::{BLOCK_S, FEWEST_READINGS, ROUGHNESS_WINDOW_S};
use crate::samples::OwnedSamples;
use stats::{Smoother, SmootherOptions};

/// The core at grid times, s: between `cuts` (s, in order) each side by its own smoother. `joint` is the
/// core smoothed as a whole; it stands where a side has too few readings, and before the first and
/// after the last reading of all. Between the last reading of a side and the first of the next the core
/// lies on the straight line.
pub(super) fn smoothed(
    (times, core): (&[f64], &OwnedSamples),
    quantum: f64,
    cuts: &[f64],
    grid: &[f64],
    joint: &[f64],
) -> Vec<f64> {
    let mut out = joint.to_vec();
    let mut from = 0;
    let mut before: Option<(f64, f64)> = None;
    for cut in cuts.iter().copied().chain([f64::INFINITY]) {
        let until = times.partition_point(|time| *time < cut);
        let side = from..until.max(from);
        from = side.end;
        let Some(last) = side.clone().next_back() else { continue };
        let (begins, ends) = (times[side.start], times[last]);
        let first = grid.partition_point(|time| *time < begins);
        let stop = grid.partition_point(|time| *time <= ends);
        if first >= stop {
            continue;
        }
        if let Some(values) =
            side_of(&times[side.clone()], &core.temp_c[side], quantum, &grid[first..stop])
        {
            out[first..stop].copy_from_slice(&values);
        }
        if let Some((at, value)) = before {
            let between = grid.partition_point(|time| *time <= at)..first;
            for place in between {
                let part = (grid[place] - at) / (grid[first] - at);
                out[place] = value + part * (out[first] - value);
            }
        }
        before = Some((grid[stop - 1], out[stop - 1]));
    }
    out
}

fn side_of(times: &[f64], temp_c: &[f64], quantum: f64, grid: &[f64]) -> Option<Vec<f64>> {
    if times.len() < FEWEST_READINGS {
        return None;
    }
    let block_s = stats::independent_block(times, temp_c, quantum, BLOCK_S);
    let options = SmootherOptions {
        roughness_window: Some(ROUGHNESS_WINDOW_S),
        ..SmootherOptions::default()
    };
    let smoother = Smoother::fit(&stats::gather(times, temp_c, quantum, block_s), &options).ok()?;
    smoother.values_at(grid).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Readings each minute of a core that stands at 70 °C for two hours and then rises 12 °C an hour.
    fn bent() -> (Vec<f64>, OwnedSamples) {
        let times: Vec<f64> = (0..240).map(|minute| 60.0 * f64::from(minute)).collect();
        let noise = |i: usize| 0.1 * (((i * 37) % 11) as f64 / 5.0 - 1.0);
        let temp_c = times
            .iter()
            .enumerate()
            .map(|(i, time)| 70.0 + (time - 7_200.0).max(0.0) / 300.0 + noise(i))
            .collect();
        let at_ms = times.iter().map(|time| (time * 1000.0) as i64).collect();
        (times, OwnedSamples { at_ms, temp_c })
    }

    #[test]
    fn a_side_knows_nothing_of_the_other() {
        let (times, core) = bent();
        let grid: Vec<f64> = (0..1430).map(|step| 10.0 * f64::from(step)).collect();
        let joint = vec![f64::NAN; grid.len()];
        let whole = smoothed((&times, &core), 0.0, &[7_200.0], &grid, &joint);
        // Another course after the cut moves nothing before it.
        let mut other = core.clone();
        for (time, temp_c) in times.iter().zip(&mut other.temp_c) {
            *temp_c += (time - 7_200.0).max(0.0) / 600.0;
        }
        let moved = smoothed((&times, &other), 0.0, &[7_200.0], &grid, &joint);
        assert_eq!(whole[..714], moved[..714]);
        assert_ne!(whole[760..], moved[760..]);
        let rise = (whole[713] - whole[600]) / (1_130.0 / 3_600.0);
        assert!(rise.abs() < 0.6, "{rise} °C/h just before the cut");
    }

    #[test]
    fn without_a_cut_and_with_too_few_readings_the_joint_curve_or_a_line_stands() {
        let (times, core) = bent();
        let grid: Vec<f64> = (0..1430).map(|step| 10.0 * f64::from(step)).collect();
        let joint = vec![1.0; grid.len()];
        // The second side has five readings.
        let out = smoothed((&times, &core), 0.0, &[14_050.0], &grid, &joint);
        assert!(out[1_420..].iter().all(|value| *value == 1.0), "{:?}", &out[1_400..]);
        assert!((out[300] - 70.0).abs() < 0.2);
    }
}
