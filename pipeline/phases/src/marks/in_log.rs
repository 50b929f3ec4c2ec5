//! Meat-on and the end of the rest, found in the curves alone; `pull` has the pull.
//!
//! The sizes here are common practice, no source: what a lid, a fridge and a shut-down
//! fire do to a curve.

use super::signs::{FAR_OFF_MS, LIT_ABOVE_C, SUDDEN_C, WARMED_C};
use super::{FoundMark, MarkSource};
use crate::clean::{dips, lid, spikes};
use crate::samples::{OwnedSamples, Samples};

/// A probe that goes from air into meat, or out of it, does so within this time, ms (10 min).
pub(super) const SUDDEN_MS: i64 = 600_000;
/// Meat goes on below this core temperature, °C.
const RAW_BELOW_C: f64 = 30.0;
/// Meat out of a cold room is colder than this when it goes on, °C.
const GOES_ON_BELOW_C: f64 = 15.0;
/// A core between these, and so far below its pit, is that of meat on its way, °C …
const COOKS_AT_C: std::ops::RangeInclusive<f64> = 50.0..=98.0;
const MEAT_BELOW_PIT_C: f64 = 8.0;
/// … where it is so for this long, ms (30 min): a probe in the air of a pit that comes up passes by.
const COOKED_FOR_MS: i64 = 1_800_000;
/// A log without a reading for this long says nothing of the rest any more, ms (2 h).
const SILENT_MS: i64 = 7_200_000;
/// A pit that was out and is so far above [`LIT_ABOVE_C`] again is lit anew, °C.
const RELIT_C: f64 = 15.0;
/// Raw meat warms less than this in the half hour after it goes on, °C.
const RAW_RISE_C: f64 = 12.0;
/// Meat-on is looked for in the first part of the log only, ms (6 h).
const MEAT_ON_WITHIN_MS: i64 = 6 * 3_600_000;
/// A probe in the air has cooled to the meat that it was put into within this, ms (90 min), …
const SLOW_MS: i64 = 5_400_000;
/// … by medians over this, ms (5 min), …
const STEP_MS: i64 = 300_000;
/// … to what meat has out of a cold room, °C.
const FRIDGE_C: f64 = 12.0;
/// The core of raw meat has begun to rise when it is this far above its beginning, °C.
const RISEN_C: f64 = 1.5;
/// Readings whose median is a level in a noisy curve, ms (10 min).
pub(super) const SMOOTH_MS: i64 = 600_000;

/// Meat-on, if the log shows it: the end of the core's sudden fall from air to raw meat, or the lid
/// that opens over a core still raw.
pub(super) fn meat_on(core: Samples, pit: Samples) -> Option<FoundMark> {
    let start_ms = *core.at_ms.first()?;
    let full = core;
    let core = despiked(core.within(start_ms, start_ms + MEAT_ON_WITHIN_MS));
    let early = core.view();
    let found =
        |at_ms, because| FoundMark { at_ms, source: MarkSource::Log, assumed: false, because };
    let fall = last_fall_to_raw(early);
    if let Some(index) = fall.filter(|index| !was_cooked(full, pit, early.at_ms[*index])) {
        let because = format!(
            "The core falls suddenly to {:.0} °C here: the probe goes from air into the meat.",
            early.temp_c[index]
        );
        return Some(found(early.at_ms[index], because));
    }
    let at_ms = lid_over_raw(early, pit)?;
    Some(found(
        at_ms,
        "The pit's lid opens here, and the core, raw until then, warms after.".into(),
    ))
}

/// Whether what fell to the temperature of raw meat was cooked meat, or its probe in the air of a room: it had been as
/// meat in a pit is, and is not heated any more.
fn was_cooked(core: Samples, pit: Samples, fell_ms: i64) -> bool {
    let before = core.within(i64::MIN, fell_ms);
    let is_meat = |at_ms: i64, temp_c: f64| {
        let below_pit = pit.at(at_ms).is_none_or(|pit| pit - temp_c >= MEAT_BELOW_PIT_C);
        COOKS_AT_C.contains(&temp_c) && below_pit
    };
    let readings = before.at_ms.iter().zip(before.temp_c);
    let as_meat = readings.map(|(at_ms, temp_c)| (*at_ms, is_meat(*at_ms, *temp_c)));
    let as_meat: Vec<(i64, bool)> = as_meat.collect();
    let steps = as_meat.windows(2).filter(|pair| pair[0].1 && pair[1].1);
    let cooked_ms: i64 = steps.map(|pair| pair[1].0 - pair[0].0).sum();
    let after = levels(core.within(fell_ms, i64::MAX));
    let mut lowest = f64::INFINITY;
    let is_heated = after.iter().any(|(_, level)| {
        lowest = lowest.min(*level);
        level - lowest >= RAW_RISE_C
    });
    cooked_ms >= COOKED_FOR_MS && !is_heated
}

/// The core's first level where it is warmer than meat that goes on, and warms on from there, °C.
pub(super) fn begins_warm(core: Samples) -> Option<f64> {
    let start_ms = *core.at_ms.first()?;
    let begins = median(core.within(start_ms, start_ms + SMOOTH_MS).temp_c)?;
    let early = levels(core.within(start_ms, start_ms + SLOW_MS));
    let falls = early.iter().any(|(_, level)| *level < begins - RISEN_C);
    (begins >= GOES_ON_BELOW_C && !falls).then_some(begins)
}

/// What the log shows where it contradicts a stated meat-on: the probe goes from air into raw meat
/// long after, or the core is warm by then and the log shows when it was raw.
pub(super) fn contradicts_meat_on(core: Samples, pit: Samples, said_ms: i64) -> Option<FoundMark> {
    let seen = meat_on(core, pit).filter(|seen| (seen.at_ms - said_ms).abs() >= FAR_OFF_MS)?;
    let core = despiked(core);
    let core = core.view();
    let at_said = median(core.within(said_ms - SMOOTH_MS, said_ms + SMOOTH_MS).temp_c)?;
    let at_seen = median(core.within(seen.at_ms, seen.at_ms + SMOOTH_MS).temp_c)?;
    let in_air = seen.at_ms > said_ms && at_said >= at_seen + SUDDEN_C;
    let long_on = seen.at_ms < said_ms && at_said >= at_seen + WARMED_C;
    (in_air || long_on).then_some(seen)
}

pub(super) fn despiked(samples: Samples) -> OwnedSamples {
    spikes::remove(samples, spikes::CORE_FLOOR_C, &mut Vec::new())
}

/// The reading at which the last sudden fall to raw meat has ended. A probe pulled out of warm meat
/// and put back does not stay raw.
fn last_fall_to_raw(samples: Samples) -> Option<usize> {
    let mut from = 0;
    let mut found = None;
    for index in 0..samples.len() {
        while samples.at_ms[index] - samples.at_ms[from] > SUDDEN_MS {
            from += 1;
        }
        let value = samples.temp_c[index];
        let highest = samples.temp_c[from..index].iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let lower_than_before = index == 0 || value < samples.temp_c[index - 1];
        if lower_than_before && highest - value >= SUDDEN_C && value < RAW_BELOW_C {
            let later = samples.within(samples.at_ms[index], samples.at_ms[index] + 3 * SUDDEN_MS);
            let stays = median(later.temp_c)
                .is_some_and(|level| level < RAW_BELOW_C && level - value < RAW_RISE_C);
            if stays {
                found = Some(index);
            }
        }
    }
    found
}

/// When a probe was last put into raw meat, or into cold air.
pub(crate) fn falls_to_raw(core: Samples) -> Option<i64> {
    last_fall_to_raw(core).map(|index| core.at_ms[index])
}

/// Where a probe that was in the air over a lit pit has cooled to raw meat, however slowly: no meat cools
/// there.
pub(super) fn slow_fall_to_raw(core: Samples, pit: Samples) -> Option<i64> {
    let start_ms = *core.at_ms.first()?;
    let early = despiked(core.within(start_ms, start_ms + SLOW_MS));
    let levels: Vec<(i64, f64)> = (0..SLOW_MS / STEP_MS)
        .filter_map(|step| {
            let from_ms = start_ms + step * STEP_MS;
            let level = median(early.view().within(from_ms, from_ms + STEP_MS).temp_c)?;
            Some((from_ms, level))
        })
        .collect();
    let &(lowest_ms, lowest) = levels.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let before = levels.iter().take_while(|(ms, _)| *ms < lowest_ms);
    let highest = before.map(|(_, level)| *level).fold(f64::NEG_INFINITY, f64::max);
    let is_lit = pit.at(lowest_ms).is_some_and(|pit| pit > LIT_ABOVE_C);
    if !(is_lit && lowest < FRIDGE_C && highest - lowest >= SUDDEN_C) {
        return None;
    }
    // The fall is over at the first level that is as low as it gets.
    levels.iter().find(|(_, level)| *level <= lowest + RISEN_C).map(|(ms, _)| *ms)
}

/// Where a core that begins raw has begun to rise.
pub(super) fn rises(core: Samples) -> Option<i64> {
    let start_ms = *core.at_ms.first()?;
    let begins = median(core.within(start_ms, start_ms + SMOOTH_MS).temp_c)?;
    if begins >= RAW_BELOW_C {
        return None;
    }
    let risen = RISEN_C.max(4.0 * dips::noise_sd(core));
    // A probe that waits in the air of a room falls first where it is put into meat.
    let mut lowest = begins;
    let rises = (0..core.len()).find(|&index| {
        let at = core.at_ms[index];
        let ahead = core.within(at, at + SMOOTH_MS);
        median(ahead.temp_c).is_some_and(|level| {
            lowest = lowest.min(level);
            level > lowest + risen
        })
    })?;
    Some(core.at_ms[rises])
}

/// The last lid opening over a core that is raw and has not begun to rise.
fn lid_over_raw(core: Samples, pit: Samples) -> Option<i64> {
    let start_ms = *core.at_ms.first()?;
    let rises_ms = rises(core)?;
    let before = pit.within(start_ms - SUDDEN_MS, rises_ms + SUDDEN_MS);
    lid::openings(before)
        .into_iter()
        .filter(|lid| lid.start_ms < rises_ms)
        .filter(|lid| pit.at(lid.start_ms).is_some_and(|pit| pit > LIT_ABOVE_C))
        .map(|lid| lid.start_ms)
        .next_back()
}

/// The last instant at which a meat of which no slice is stated may be at rest: the log's last reading, or the last
/// before it falls silent for hours, before a next fire comes up in a pit that was out, or before the probe is put into
/// the next raw meat.
pub(super) fn rest_ends(core: Samples, pit: Samples, pull_ms: i64) -> i64 {
    let rest = core.within(pull_ms, i64::MAX);
    let Some(&last_ms) = rest.at_ms.last() else { return pull_ms };
    let pit = pit.within(pull_ms, i64::MAX);
    let silent = |of: Samples| {
        let gap = of.at_ms.windows(2).find(|pair| pair[1] - pair[0] >= SILENT_MS);
        gap.map(|pair| pair[0])
    };
    let out_ms = pit.temp_c.iter().position(|temp_c| *temp_c < LIT_ABOVE_C);
    let lit_again = out_ms.and_then(|out| {
        let lit = (out..pit.len()).find(|&index| pit.temp_c[index] >= LIT_ABOVE_C + RELIT_C)?;
        // The fire was laid where the pit was coldest.
        let coldest = (out..lit).min_by(|&a, &b| pit.temp_c[a].total_cmp(&pit.temp_c[b]))?;
        Some(pit.at_ms[coldest])
    });
    let next_raw = despiked(rest);
    let next_raw = last_fall_to_raw(next_raw.view())
        .filter(|index| next_raw.temp_c[*index] < FRIDGE_C)
        .map(|index| next_raw.at_ms[index] - SUDDEN_MS);
    [silent(rest), lit_again, next_raw]
        .into_iter()
        .flatten()
        .fold(last_ms, i64::min)
        .min(pull_ms + cook::LONGEST_REST_MS)
}

/// Medians of ten minutes each.
pub(super) fn levels(samples: Samples) -> Vec<(i64, f64)> {
    let (Some(&first), Some(&last)) = (samples.at_ms.first(), samples.at_ms.last()) else {
        return Vec::new();
    };
    (0..=(last - first) / SMOOTH_MS)
        .filter_map(|step| {
            let from = first + step * SMOOTH_MS;
            let part = samples.within(from, from + SMOOTH_MS);
            median(part.temp_c).map(|level| (from + SMOOTH_MS / 2, level))
        })
        .collect()
}

pub(super) fn median(values: &[f64]) -> Option<f64> {
    stats::describe::median(values).ok()
}
