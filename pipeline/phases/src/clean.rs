//! Which readings of a measured log are used, and an account of those that are not.
//!
//! In this order: values that the channel cannot have had are dropped, and constants far off the
//! readings around them; lone spikes are removed by a Hampel filter ([`spikes`]); dips of the core
//! where a probe was pulled at a wrap or moved are bridged ([`dips`]); runs in which a probe stuck
//! are removed ([`stuck`]); lid openings are marked on the pit ([`lid`]); gaps are listed. Channels
//! that were exchanged ([`exchange`]) are put right before, and what a probe read until it was put into
//! hot meat ([`put_in`]) is taken out. No value is ever invented here: a
//! removed reading is simply not used.

use crate::samples::{OwnedSamples, Samples};

pub mod dips;
pub mod exchange;
pub mod lid;
pub mod put_in;
pub mod spikes;
pub mod stuck;

pub use exchange::Exchange;
pub use lid::LidOpening;
pub use stuck::StuckRun;

/// Coldest and hottest that a meat core can be, °C. Frozen meat is not put on below −25 °C;
/// meat holds water and so stays near or below its boiling point. Common practice, no source.
pub const CORE_RANGE_C: (f64, f64) = (-25.0, 110.0);
/// Coldest and hottest that the air of a pit can be, °C: from a hard winter night to a flare
/// of burning fat. Common practice, no source.
pub const PIT_RANGE_C: (f64, f64) = (-45.0, 450.0);

/// A reading that was removed as a spike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpikeRemoved {
    /// Its instant, ms UTC.
    pub at_ms: i64,
    /// Its value, °C.
    pub temp_c: f64,
    /// What its neighbours say, °C.
    pub expected_c: f64,
}

/// A dip of the core whose readings were removed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DipBridged {
    /// First reading removed, ms UTC.
    pub start_ms: i64,
    /// First reading used again, ms UTC.
    pub end_ms: i64,
    /// How deep the core fell, °C.
    pub depth_c: f64,
    /// Number of readings removed.
    pub readings: usize,
    /// Whether a wrap mark stands near it.
    pub at_wrap: bool,
}

/// A stretch without readings that is too long to judge across.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gap {
    /// The last reading before it, ms UTC.
    pub start_ms: i64,
    /// The first reading after it, ms UTC.
    pub end_ms: i64,
}

/// What cleaning did to one cook, with the instants, so that a page can show them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CleaningReport {
    /// Core readings given, in the cook.
    pub core_readings: usize,
    /// Pit readings given, in the cook.
    pub pit_readings: usize,
    /// Core readings dropped as impossible, ms UTC.
    pub core_impossible_ms: Vec<i64>,
    /// Pit readings dropped as impossible, ms UTC.
    pub pit_impossible_ms: Vec<i64>,
    /// Spikes removed from the core.
    pub core_spikes: Vec<SpikeRemoved>,
    /// Spikes removed from the pit.
    pub pit_spikes: Vec<SpikeRemoved>,
    /// Dips of the core bridged.
    pub dips: Vec<DipBridged>,
    /// Runs of the core in which the probe stuck or the logger wrote a number for "no reading".
    pub core_stuck: Vec<StuckRun>,
    /// The same of the pit.
    pub pit_stuck: Vec<StuckRun>,
    /// Lid openings; nothing is removed there.
    pub lids: Vec<LidOpening>,
    /// Gaps of the core longer than the slope window.
    pub core_gaps: Vec<Gap>,
    /// Gaps of the pit longer than the slope window.
    pub pit_gaps: Vec<Gap>,
}

/// The core's usable readings: impossible values, spikes and dips removed.
///
/// `samples` are the readings of one cook in time order, `wraps_ms` its wraps.
pub fn clean_core(
    samples: Samples,
    wraps_ms: &[i64],
    longest_gap_ms: i64,
    report: &mut CleaningReport,
) -> OwnedSamples {
    report.core_readings = samples.len();
    let possible = possible(samples, CORE_RANGE_C, &mut report.core_impossible_ms);
    let real = stuck::remove_far_off(possible.view(), &mut report.core_stuck);
    let smooth = spikes::remove(real.view(), spikes::CORE_FLOOR_C, &mut report.core_spikes);
    let bridged = dips::bridge(smooth.view(), wraps_ms, &mut report.dips);
    // Readings removed in a dip leave no gap: the course on both sides is known.
    report.core_gaps = gaps(smooth.view(), longest_gap_ms);
    stuck::remove(bridged.view(), &mut report.core_stuck)
}

/// The pit's usable readings: impossible values and spikes removed. A lid that opens is no
/// spike: it lasts, and the definition leaves such stretches undecided.
pub fn clean_pit(
    samples: Samples,
    longest_gap_ms: i64,
    report: &mut CleaningReport,
) -> OwnedSamples {
    report.pit_readings = samples.len();
    let possible = possible(samples, PIT_RANGE_C, &mut report.pit_impossible_ms);
    let real = stuck::remove_far_off(possible.view(), &mut report.pit_stuck);
    let smooth = spikes::remove(real.view(), spikes::PIT_FLOOR_C, &mut report.pit_spikes);
    report.lids = lid::openings(smooth.view());
    report.pit_gaps = gaps(smooth.view(), longest_gap_ms);
    smooth
}

/// Readings inside `range`; the instants of the others go to `dropped`.
fn possible(samples: Samples, range: (f64, f64), dropped: &mut Vec<i64>) -> OwnedSamples {
    let mut out = OwnedSamples::default();
    for (&at_ms, &temp_c) in samples.at_ms.iter().zip(samples.temp_c) {
        if (range.0..=range.1).contains(&temp_c) {
            out.at_ms.push(at_ms);
            out.temp_c.push(temp_c);
        } else {
            dropped.push(at_ms);
        }
    }
    out
}

fn gaps(samples: Samples, longest_ms: i64) -> Vec<Gap> {
    samples
        .at_ms
        .windows(2)
        .filter(|pair| pair[1] - pair[0] > longest_ms)
        .map(|pair| Gap { start_ms: pair[0], end_ms: pair[1] })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn impossible_values_and_gaps_are_listed() {
        let at_ms = [0, 60_000, 120_000, 3_000_000, 3_060_000];
        let temp_c = [4.0, f64::NAN, 300.0, 6.0, 6.1];
        let mut report = CleaningReport::default();
        let clean =
            clean_core(Samples { at_ms: &at_ms, temp_c: &temp_c }, &[], 1_200_000, &mut report);
        assert_eq!(clean.temp_c, [4.0, 6.0, 6.1]);
        assert_eq!(report.core_impossible_ms, [60_000, 120_000]);
        assert_eq!(report.core_gaps, [Gap { start_ms: 0, end_ms: 3_000_000 }]);
    }
}
