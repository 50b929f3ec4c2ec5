//! Dips of the core: a probe pulled at the wrap reads low until it is warm again.
//!
//! The sizes are common practice, no source, unless said otherwise.

use super::DipBridged;
use crate::samples::{OwnedSamples, Samples};
use stats::describe::MAD_TO_NORMAL_SD;

/// A fall this deep is a dip anywhere, °C …
const DEPTH_C: f64 = 2.5;
/// … and this deep near a wrap mark, °C.
const DEPTH_AT_WRAP_C: f64 = 1.0;
/// A wrap mark is near if it is at most this far from the fall, ms (15 min): it is written by hand.
const WRAP_NEAR_MS: i64 = 900_000;
/// The fall is complete within this time, ms (4 min). Meat itself cannot cool that fast.
const FALL_WITHIN_MS: i64 = 240_000;
/// The level before the fall is the median over this time before it, ms (8 min).
const LEVEL_OVER_MS: i64 = 480_000;
/// At least this much is bridged, ms (20 min): the probe reads low for 10 to 20 min, and the
/// last of it hides in the curve's own rise.
const SHORTEST_MS: i64 = 1_200_000;
/// A core that is not back within this time was no dip but a probe that was moved, ms (45 min).
const LONGEST_MS: i64 = 2_700_000;
/// The curve is back when it is within this of the level before, °C.
const BACK_WITHIN_C: f64 = 0.3;

/// The readings outside dips; each dip goes to `bridged`.
pub fn bridge(samples: Samples, wraps_ms: &[i64], bridged: &mut Vec<DipBridged>) -> OwnedSamples {
    let noise = noise_sd(samples);
    let mut out = OwnedSamples::default();
    let mut index = 0;
    let mut level_from = 0;
    while index < samples.len() {
        if let Some((end, dip)) = dip_at(samples, index, &mut level_from, wraps_ms, noise) {
            bridged.push(dip);
            index = end;
            level_from = end;
        } else {
            out.at_ms.push(samples.at_ms[index]);
            out.temp_c.push(samples.temp_c[index]);
            index += 1;
        }
    }
    out
}

/// The dip that begins at reading `start`, with the first reading after it.
fn dip_at(
    samples: Samples,
    start: usize,
    level_from: &mut usize,
    wraps_ms: &[i64],
    noise: f64,
) -> Option<(usize, DipBridged)> {
    let at = samples.at_ms[start];
    let earliest = at - LEVEL_OVER_MS;
    while *level_from < start && samples.at_ms[*level_from] < earliest {
        *level_from += 1;
    }
    // A dip begins with a reading clearly below the one before; most readings end here.
    let before = samples.temp_c[start.checked_sub(1)?];
    let step_down = (2.0 * noise).max(0.05);
    if samples.temp_c[start] >= before - step_down || *level_from >= start {
        return None;
    }
    let at_wrap = wraps_ms.iter().any(|wrap| (wrap - at).abs() <= WRAP_NEAR_MS);
    let least = if at_wrap { DEPTH_AT_WRAP_C } else { DEPTH_C }.max(6.0 * noise);
    let level = stats::describe::median(&samples.temp_c[*level_from..start]).ok()?;
    // The fall: at least two readings in a row clearly below, soon after `start`. Sparse logs
    // are given two readings whatever the time between them.
    let fallen = (start..samples.len())
        .take_while(|&i| samples.at_ms[i] - at <= FALL_WITHIN_MS || i < start + 2)
        .filter(|&i| i + 1 < samples.len())
        .find(|&i| samples.temp_c[i] < level - least && samples.temp_c[i + 1] < level - least)?;
    let tolerance = (2.0 * noise).max(BACK_WITHIN_C);
    let back = (fallen..samples.len())
        .take_while(|&i| samples.at_ms[i] - at <= LONGEST_MS)
        .find(|&i| samples.temp_c[i] >= level - tolerance)?;
    let end_ms = samples.at_ms[back].max(at + SHORTEST_MS);
    let end = start + samples.at_ms[start..].partition_point(|&at_ms| at_ms < end_ms);
    let lowest = samples.temp_c[start..end].iter().copied().fold(f64::INFINITY, f64::min);
    let dip = DipBridged {
        start_ms: at,
        end_ms: samples.at_ms.get(end).copied().unwrap_or(end_ms),
        depth_c: level - lowest,
        readings: end - start,
        at_wrap,
    };
    Some((end, dip))
}

/// Robust standard deviation of the reading noise, from second differences: those of a
/// smooth curve are nearly zero, those of independent noise have variance 6σ² (Rice,
/// "Bandwidth choice for nonparametric regression", The Annals of Statistics 12, 1984, with
/// differences of second order).
pub(crate) fn noise_sd(samples: Samples) -> f64 {
    let differences: Vec<f64> =
        samples.temp_c.windows(3).map(|w| (w[0] - 2.0 * w[1] + w[2]).abs()).collect();
    stats::describe::median(&differences)
        .map_or(0.0, |median| MAD_TO_NORMAL_SD * median / 6.0_f64.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A core that rises 3 °C/h, logged each minute, with a dip of `depth` at minute 60 that
    /// recovers with a time constant of 5 min.
    fn curve(depth: f64) -> (Vec<i64>, Vec<f64>) {
        (0..180_i64)
            .map(|minute| {
                let since = (minute - 60) as f64;
                let dip = if since >= 0.0 { depth * (-since / 5.0).exp() } else { 0.0 };
                (minute * 60_000, 70.0 + 0.05 * minute as f64 - dip)
            })
            .unzip()
    }

    #[test]
    fn a_dip_is_bridged_from_its_first_reading_until_the_curve_is_back() {
        let (at_ms, temp_c) = curve(12.0);
        let mut bridged = Vec::new();
        let clean = bridge(Samples { at_ms: &at_ms, temp_c: &temp_c }, &[], &mut bridged);
        assert_eq!(bridged.len(), 1);
        assert_eq!(bridged[0].start_ms, 60 * 60_000);
        assert!(bridged[0].depth_c > 11.0 && !bridged[0].at_wrap);
        // What is left lies on the course: 12 °C · exp(−20/5) = 0.22 °C is the most that remains.
        for (at, temp) in clean.at_ms.iter().zip(&clean.temp_c) {
            let course = 70.0 + 0.05 * (*at as f64 / 60_000.0);
            assert!((temp - course).abs() < 0.23, "{at} {temp} {course}");
        }
    }

    #[test]
    fn a_shallow_dip_needs_a_wrap_mark() {
        let (at_ms, temp_c) = curve(1.6);
        let samples = Samples { at_ms: &at_ms, temp_c: &temp_c };
        let mut bridged = Vec::new();
        bridge(samples, &[], &mut bridged);
        assert!(bridged.is_empty());
        bridge(samples, &[55 * 60_000], &mut bridged);
        assert!(bridged.len() == 1 && bridged[0].at_wrap);
    }

    #[test]
    fn a_core_that_does_not_come_back_is_left_alone() {
        let (at_ms, mut temp_c) = curve(0.0);
        for temp in &mut temp_c[60..] {
            *temp -= 8.0;
        }
        let mut bridged = Vec::new();
        let clean = bridge(Samples { at_ms: &at_ms, temp_c: &temp_c }, &[], &mut bridged);
        assert!(bridged.is_empty());
        assert_eq!(clean.temp_c.len(), temp_c.len());
    }
}
