//! Lid openings on the pit channel: the air falls sharply and comes back.
//!
//! Nothing is taken out: the heat that was lost is lost. The sizes are common practice, no source.

use crate::samples::Samples;

/// The pit falls at least this far …
const FALL_C: f64 = 6.0;
/// … and this many standard deviations of its noise …
const FALL_NOISE: f64 = 5.0;
/// … within this time, ms (5 min); sparse logs are given one interval more.
const WITHIN_MS: i64 = 300_000;
/// Dense logs are looked at in means over this time, ms (20 s): their noise hides a fall.
pub(crate) const BLOCK_MS: i64 = 20_000;
/// The fall shows in the next reading, or after this time, ms (1 min).
const SOON_MS: i64 = 60_000;
/// A fall from which the pit does not come back is that of an open lid where it is at least this deep, °C,
/// and this share of it, within the first minute or reading.
const SHARP_C: f64 = 12.0;
const SHARP: f64 = 0.5;
/// It is back when it has made up this share of the fall …
const BACK: f64 = 0.5;
/// … which it must have after this time, ms (30 min), or its fire is out.
const LONGEST_MS: i64 = 1_800_000;

/// The lid stood open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LidOpening {
    /// The last reading before the fall, ms UTC.
    pub start_ms: i64,
    /// The reading at which the pit is back, or half an hour later, ms UTC.
    pub end_ms: i64,
    /// How far the pit fell, °C.
    pub depth_c: f64,
}

/// Lid openings in time order.
pub fn openings(pit: Samples) -> Vec<LidOpening> {
    falls(pit).into_iter().filter(|(_, back)| *back).map(|(lid, _)| lid).collect()
}

/// Lid openings and sharp falls in time order, and whether the pit comes back: where it is shut down
/// with the lid open it does not. A log that ends soon after a fall does not tell, and the fall
/// counts as an opening.
pub(crate) fn falls(pit: Samples) -> Vec<(LidOpening, bool)> {
    let (blocks, _) = pit.blocks(BLOCK_MS);
    let pit = blocks.view();
    let least = FALL_C.max(FALL_NOISE * super::dips::noise_sd(pit));
    let mut out: Vec<(LidOpening, bool)> = Vec::new();
    let mut last_start_ms = i64::MIN / 2;
    let mut index = 0;
    while index + 1 < pit.len() {
        let (at, value) = (pit.at_ms[index], pit.temp_c[index]);
        let reach = pit.at_ms[index..]
            .partition_point(|&later| later - at <= WITHIN_MS)
            .max(2)
            .min(pit.len() - index);
        let lowest = pit.temp_c[index..index + reach].iter().copied().fold(f64::INFINITY, f64::min);
        // The fall begins at the last reading before it: the next one is lower already, or in dense
        // logs the one of a minute later.
        let soon = pit.at_ms[index..].partition_point(|&later| later - at < SOON_MS);
        let soon = (index + soon.max(1)).min(pit.len() - 1);
        let begins = value - pit.temp_c[soon] > 0.15 * (value - lowest);
        if value - lowest < least || !begins {
            index += 1;
            continue;
        }
        // In dense logs: the last reading that has not fallen yet.
        let up = value - 0.1 * (value - lowest);
        let onset = (index..soon).find(|&i| pit.temp_c[i + 1] < up).unwrap_or(index);
        let at = pit.at_ms[onset];
        let mut bottom = value;
        let mut end = onset + 1;
        while end < pit.len() && pit.at_ms[end] - at <= LONGEST_MS {
            bottom = bottom.min(pit.temp_c[end]);
            if value - bottom >= least && pit.temp_c[end] >= bottom + BACK * (value - bottom) {
                break;
            }
            end += 1;
        }
        let last = end.min(pit.len() - 1);
        // A pit that does not come back has no open lid but no fire.
        let back = if end == pit.len() {
            pit.at_ms[last] - at <= 2 * WITHIN_MS
        } else {
            pit.at_ms[end] - at <= LONGEST_MS
        };
        let lid = LidOpening { start_ms: at, end_ms: pit.at_ms[last], depth_c: value - bottom };
        if back {
            out.push((lid, true));
            index = last.max(index + 1);
        } else {
            // Air falls at once through an open lid, and by degrees over a dying fire, at each of
            // whose readings the fall seems to begin anew.
            let at_once = value - pit.temp_c[soon];
            let sharp = at_once >= SHARP_C.max(least) && at_once >= SHARP * (value - lowest);
            if sharp && at - last_start_ms > WITHIN_MS {
                out.push((lid, false));
            }
            if sharp {
                last_start_ms = at;
            }
            index += 1;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lid_is_found_with_its_depth_and_a_sagging_fire_is_none() {
        let at_ms: Vec<i64> = (0..240).map(|i| i * 60_000).collect();
        let mut pit = vec![120.0; 240];
        for (i, value) in pit.iter_mut().enumerate().skip(60) {
            // Open for a minute: 30 °C at once, back with a time constant of 6 min.
            *value -= 30.0 * (-(i as f64 - 60.0) / 6.0).exp();
        }
        let found = openings(Samples { at_ms: &at_ms, temp_c: &pit });
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].start_ms, 59 * 60_000);
        assert!((found[0].depth_c - 30.0).abs() < 1e-9);
        // Half is made up after 6·ln 2 = 4.2 min.
        assert_eq!(found[0].end_ms, 65 * 60_000);
        let sagging: Vec<f64> = (0..240).map(|i| 120.0 - 0.2 * f64::from(i)).collect();
        assert_eq!(openings(Samples { at_ms: &at_ms, temp_c: &sagging }), []);
    }

    #[test]
    fn a_pit_shut_down_through_the_lid_falls_sharply_and_a_dying_fire_does_not() {
        let at_ms: Vec<i64> = (0..240).map(|i| i * 60_000).collect();
        let dying = |i: usize| 100.0 * (-(i.saturating_sub(60) as f64) / 30.0).exp();
        let died: Vec<f64> = (0..240).map(|i| 20.0 + dying(i)).collect();
        assert_eq!(falls(Samples { at_ms: &at_ms, temp_c: &died }), []);
        let shut: Vec<f64> =
            (0..240).map(|i| 20.0 + dying(i) * if i > 60 { 0.75 } else { 1.0 }).collect();
        let found = falls(Samples { at_ms: &at_ms, temp_c: &shut });
        assert_eq!(found.len(), 1);
        assert!(found[0].0.start_ms == 60 * 60_000 && !found[0].1, "{found:?}");
        assert_eq!(openings(Samples { at_ms: &at_ms, temp_c: &shut }), []);
    }
}
