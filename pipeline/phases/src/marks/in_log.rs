//! Marks found in the curves alone.
//!
//! The sizes here are common practice, no source: what a lid, a fridge and a shut-down
//! fire do to a curve.

use super::{FoundMark, MarkSource};
use crate::samples::Samples;

/// A probe that goes from air into meat, or out of it, moves at least this far, °C …
const SUDDEN_C: f64 = 15.0;
/// … within this time, ms (10 min).
const SUDDEN_MS: i64 = 600_000;
/// Meat goes on below this core temperature, °C.
const RAW_BELOW_C: f64 = 30.0;
/// Meat-on is looked for in the first part of the log only, ms (6 h).
const MEAT_ON_WITHIN_MS: i64 = 6 * 3_600_000;
/// A core below this was not pulled for being done, °C: whatever falls there is not the pull.
const DONE_ABOVE_C: f64 = 75.0;
/// A pit that ends this far below its level has been shut down, °C.
const SHUT_DOWN_C: f64 = 25.0;
/// The pit's level before its fall is the median over this time, ms (60 min).
const LEVEL_OVER_MS: i64 = 3_600_000;
/// The fall begins at the last reading within this of the level, °C.
const ONSET_C: f64 = 3.0;
/// Meat under a hot pit cools only out of the pit: a core that ends this far below its maximum
/// and this far below the pit has come off, °C.
const COOLED_C: f64 = 2.0;
/// A lid that opens makes the pit fall at least this far …
const LID_FALL_C: f64 = 6.0;
/// … within this time, ms (5 min).
const LID_MS: i64 = 300_000;
/// Carry-over: the core's maximum comes at most this long after the pull, ms (60 min).
const CARRY_OVER_MS: i64 = 3_600_000;
/// A fall that ends the curve lasts at least this long, ms (10 min).
const FALL_LASTS_MS: i64 = 600_000;

/// The end of the core's sudden fall from air to raw meat, if the log shows one.
pub(super) fn meat_on(core: Samples) -> Option<FoundMark> {
    let start_ms = *core.at_ms.first()?;
    let early = core.within(start_ms, start_ms + MEAT_ON_WITHIN_MS);
    let index = last_sudden_fall(early)?;
    if early.temp_c[index] >= RAW_BELOW_C {
        return None;
    }
    Some(FoundMark {
        at_ms: early.at_ms[index],
        source: MarkSource::Log,
        assumed: false,
        because: format!(
            "The core falls suddenly to {:.0} °C here: the probe goes from air into the meat.",
            early.temp_c[index]
        ),
    })
}

/// The reading at which the last sudden fall has ended.
fn last_sudden_fall(samples: Samples) -> Option<usize> {
    let mut from = 0;
    let mut found = None;
    for index in 0..samples.len() {
        while samples.at_ms[index] - samples.at_ms[from] > SUDDEN_MS {
            from += 1;
        }
        let highest = samples.temp_c[from..index].iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let lower_than_before = index == 0 || samples.temp_c[index] < samples.temp_c[index - 1];
        if lower_than_before && highest - samples.temp_c[index] >= SUDDEN_C {
            found = Some(index);
        }
    }
    found
}

/// The onset of the fall that ends the pit's curve, or of the core's own sudden fall if
/// that is earlier.
pub(super) fn pull(core: Samples, pit: Samples, meat_on_ms: i64) -> Option<FoundMark> {
    let by_pit = pit_falls(pit, meat_on_ms).filter(|&at| was_done(core, at));
    let by_core = core_falls(core, meat_on_ms).filter(|&at| was_done(core, at));
    let by_lid = lid_opens(core, pit, meat_on_ms).filter(|&at| was_done(core, at));
    let found = [(by_pit, PIT_FALLS), (by_core, CORE_FALLS), (by_lid, LID_OPENS)];
    let (at_ms, because) = found
        .into_iter()
        .filter_map(|(at_ms, because)| Some((at_ms?, because)))
        .min_by_key(|(at_ms, _)| *at_ms)?;
    Some(FoundMark { at_ms, source: MarkSource::Log, assumed: false, because: because.into() })
}

const PIT_FALLS: &str = "No sheet says when the meat came off: the pit begins its last fall here.";
const LID_OPENS: &str = "No sheet says when the meat came off: the core cools under a hot pit later, and the pit's lid is last opened before that here.";
const CORE_FALLS: &str =
    "No sheet says when the meat came off: the core falls suddenly here and does not come back.";

fn was_done(core: Samples, at_ms: i64) -> bool {
    core.at(at_ms).is_some_and(|temp_c| temp_c >= DONE_ABOVE_C)
}

/// The onset of the fall after which the pit never comes back to its level.
fn pit_falls(pit: Samples, meat_on_ms: i64) -> Option<i64> {
    let last = pit.len().checked_sub(1)?;
    let cook = pit.within(meat_on_ms, i64::MAX);
    let first = pit.len() - cook.len();
    // From the end backwards to the last reading that is at the level of the hour before
    // it; a low hour after the fall has a low level of its own, so the level of the whole
    // cook is asked first.
    let cook_level = median(cook.temp_c)?;
    let last_up =
        (first..=last).rev().find(|&index| pit.temp_c[index] >= cook_level - SHUT_DOWN_C)?;
    if pit.at_ms[last] - pit.at_ms[last_up] < FALL_LASTS_MS {
        return None;
    }
    // The hour before `last_up` holds a part of the fall, so its median may lie below the
    // level: each onset found moves the hour out of the fall, until the onset stays.
    let mut onset = last_up;
    loop {
        let hour = pit.within(pit.at_ms[onset] - LEVEL_OVER_MS, pit.at_ms[onset]);
        let level = median(hour.temp_c)?;
        let earlier = (first..=onset).rev().find(|&index| pit.temp_c[index] >= level - ONSET_C)?;
        if earlier == onset {
            return Some(pit.at_ms[onset]);
        }
        onset = earlier;
    }
}

/// Where the core ends cooling though the pit is hot: the onset of the pit's sharpest fall in
/// the hour before the core's maximum. The meat came off through an open lid, and its core
/// rose on for a while.
fn lid_opens(core: Samples, pit: Samples, meat_on_ms: i64) -> Option<i64> {
    let cook = core.within(meat_on_ms, i64::MAX);
    let top = (0..cook.len()).max_by(|&a, &b| cook.temp_c[a].total_cmp(&cook.temp_c[b]))?;
    let last = cook.len() - 1;
    let cooled = cook.temp_c[top] - cook.temp_c[last] >= COOLED_C;
    let under_hot_pit = pit.at(cook.at_ms[last])? - cook.temp_c[last] >= COOLED_C;
    if !(cooled && under_hot_pit) {
        return None;
    }
    let before = pit.within(cook.at_ms[top] - CARRY_OVER_MS, cook.at_ms[top] + 1);
    let (mut sharpest, mut onset) = (LID_FALL_C, None);
    for (index, &at_ms) in before.at_ms.iter().enumerate() {
        let soon =
            before.at_ms[index..].iter().take_while(|&&later| later - at_ms <= LID_MS).count();
        let lowest =
            before.temp_c[index..index + soon].iter().copied().fold(f64::INFINITY, f64::min);
        let fall = before.temp_c[index] - lowest;
        if fall > sharpest {
            (sharpest, onset) = (fall, Some(at_ms));
        }
    }
    onset
}

/// The last reading before a sudden fall of the core from which it does not come back.
fn core_falls(core: Samples, meat_on_ms: i64) -> Option<i64> {
    let cook = core.within(meat_on_ms, i64::MAX);
    let mut highest_later = f64::NEG_INFINITY;
    let mut later = cook.len();
    let mut onset = None;
    // Backwards: `highest_later` is the highest reading more than SUDDEN_MS after `index`.
    for index in (0..cook.len()).rev() {
        while later > 0 && cook.at_ms[later - 1] - cook.at_ms[index] >= SUDDEN_MS {
            later -= 1;
            highest_later = highest_later.max(cook.temp_c[later]);
        }
        if highest_later.is_finite() && cook.temp_c[index] - highest_later >= SUDDEN_C {
            onset = Some(index);
        } else if onset.is_some() {
            break;
        }
    }
    // `onset` is the earliest of a stretch of readings 10 min before the fall's end; the
    // fall itself begins at the last of them that is near the first.
    let first = onset?;
    let top = cook.temp_c[first];
    let fall = (first..cook.len()).take_while(|&index| cook.temp_c[index] >= top - ONSET_C).last();
    fall.map(|index| cook.at_ms[index])
}

fn median(values: &[f64]) -> Option<f64> {
    stats::describe::median(values).ok()
}
