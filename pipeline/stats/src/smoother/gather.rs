//! Readings gathered into blocks, with what rounding does to each.

use super::{Observation, Rounding};
use crate::describe::quantile;

/// Share of the largest squares left out of a mean square: outliers are no noise.
const TRIMMED: f64 = 0.03;
/// Rounding errors pass for independent noise from this share of their variance on.
const DITHERED: f64 = 0.6;
/// Quanta that a block spans from which on its rounding errors average out.
const CLIMBED: f64 = 2.5;
/// Differences below this share of the largest value are the rounding of 32-bit storage.
const STORAGE: f64 = 2.5e-7;

/// What the readings are rounded to: the lower end of the differences between readings that differ
/// (their 2 % quantile, so that a few odd readings do not decide). Zero where all are equal.
///
/// Readings that are not rounded give a number far below their noise, which does no harm.
pub fn quantum(values: &[f64]) -> f64 {
    let largest = values.iter().fold(0.0_f64, |size, v| size.max(v.abs()));
    let steps: Vec<f64> = values
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .filter(|step| *step > STORAGE * largest)
        .collect();
    quantile(&steps, 0.02).unwrap_or(0.0)
}

/// Mean of squared second differences over 6, the largest left out: the variance of noise that is
/// independent from reading to reading (Rice 1984, "Bandwidth choice for nonparametric regression",
/// The Annals of Statistics 12, 1215–1230, with differences of second order).
fn noise_variance(values: &[f64]) -> f64 {
    let mut squares: Vec<f64> =
        values.windows(3).map(|w| (w[0] - 2.0 * w[1] + w[2]).powi(2)).collect();
    let kept = (squares.len() as f64 * (1.0 - TRIMMED)) as usize;
    if kept == 0 {
        return 0.0;
    }
    let last = squares.len() - 1;
    squares.select_nth_unstable_by(kept.min(last), f64::total_cmp);
    squares[..kept].iter().sum::<f64>() / kept as f64 / 6.0
}

/// Longest block, in multiples of the shortest.
const LONGEST_BLOCK: f64 = 8.0;
/// A series of more blocks is not looked at: two years of minutes.
const MOST_BLOCKS: f64 = 1e6;
/// Noise is independent from block to block where that of blocks twice as long, by third differences, is
/// at most this many times its own: the correlation of neighbours is then at most about 0.3.
const HANGS_TOGETHER: f64 = 1.4;

/// The shortest block, from `shortest` on in doublings, from which on the noise of neighbouring
/// blocks hardly hangs together.
///
/// The smoother takes its observations' noise for independent. Where a logger filters its readings or
/// its probe's contact wanders, neighbouring readings err alike, and what they show as bends is noise.
/// Third differences between blocks at distance two are set against those of neighbours, medians of
/// both: signal hardly shows in them, and bends in few of them. Rounded readings that form a
/// staircase err alike too, but that is known from the intervals that they stand for.
pub fn independent_block(times: &[f64], values: &[f64], quantum: f64, shortest: f64) -> f64 {
    let rounding_variance = quantum * quantum / 12.0;
    if noise_variance(values) < DITHERED * rounding_variance {
        return shortest;
    }
    let mut block = shortest;
    while block < LONGEST_BLOCK * shortest {
        let means = block_means(times, values, block);
        let (near, far) = (third_difference(&means, 1), third_difference(&means, 2));
        match near.zip(far) {
            Some((near, far)) if far * far > HANGS_TOGETHER * near * near => block *= 2.0,
            _ => break,
        }
    }
    block
}

/// Means over equal stretches; none where a stretch holds no reading, nor of a series so long that
/// the smoother refuses it anyway.
fn block_means(times: &[f64], values: &[f64], block: f64) -> Vec<Option<f64>> {
    let Some((&first, &last)) = times.first().zip(times.last()) else { return Vec::new() };
    let blocks = (last - first) / block;
    if !(0.0..=MOST_BLOCKS).contains(&blocks) {
        return Vec::new();
    }
    let mut sums = vec![(0.0, 0.0); blocks as usize + 1];
    for (time, value) in times.iter().zip(values) {
        if let Some(sum) = sums.get_mut(((time - first) / block) as usize) {
            *sum = (sum.0 + value, sum.1 + 1.0);
        }
    }
    sums.into_iter().map(|(sum, count)| (count > 0.0).then(|| sum / count)).collect()
}

/// Median size of the third differences between means `lag` apart; none of fewer than thirty.
fn third_difference(means: &[Option<f64>], lag: usize) -> Option<f64> {
    let sizes: Vec<f64> = means
        .windows(3 * lag + 1)
        .filter_map(|w| Some((w[0]? - 3.0 * w[lag]? + 3.0 * w[2 * lag]? - w[3 * lag]?).abs()))
        .collect();
    if sizes.len() < 30 { None } else { crate::describe::median(&sizes).ok() }
}

/// Gathers readings into blocks at most `block` wide; readings that are further apart stay single.
///
/// `times` increase; `quantum` is what the values are rounded to. Where noise carries readings
/// back and forth over the steps, rounding is noise like any other and the mean of a block is
/// taken. Where it does not, the readings form a staircase: then all that a reading says is that
/// the value lay within half a quantum of it.
pub fn gather(times: &[f64], values: &[f64], quantum: f64, block: f64) -> Vec<Observation> {
    let rounding_variance = quantum * quantum / 12.0;
    let staircase = quantum > 0.0 && noise_variance(values) < DITHERED * rounding_variance;
    let mut out = Vec::new();
    let mut start = 0;
    while start < times.len() {
        let mut end = start + 1;
        while end < times.len() && times[end] - times[start] < block {
            end += 1;
        }
        let count = (end - start) as f64;
        let time = times[start..end].iter().sum::<f64>() / count;
        let inside = &values[start..end];
        let low = inside.iter().copied().fold(f64::INFINITY, f64::min);
        let high = inside.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        // A block that climbs several stairs has its rounding errors averaged by the climb.
        let (value, rounding) = if staircase && high - low < CLIMBED * quantum {
            let (low, high) = (low - 0.5 * quantum, high + 0.5 * quantum);
            (0.5 * (low + high), Rounding::Within { low, high })
        } else {
            let mean = inside.iter().sum::<f64>() / count;
            (mean, Rounding::Independent { variance: rounding_variance })
        };
        out.push(Observation { time, value, count, rounding });
        start = end;
    }
    out
}
