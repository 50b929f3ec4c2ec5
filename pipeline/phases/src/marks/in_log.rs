//! Marks found in the curves alone.
//!
//! The sizes here are common practice, no source: what a lid, a fridge and a shut-down
//! fire do to a curve.

use super::signs::{
    CARRY_OVER_C, COOLED_OFF_C, FAR_OFF_MS, LIT_ABOVE_C, SUDDEN_C, TOO_RAW_C, WARMED_C,
};
use super::{FoundMark, MarkSource};
use crate::clean::{dips, lid, spikes};
use crate::samples::{OwnedSamples, Samples};

/// A probe that goes from air into meat, or out of it, does so within this time, ms (10 min).
const SUDDEN_MS: i64 = 600_000;
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
/// A core below this was not pulled for being done, °C: whatever falls there is not the pull.
const DONE_ABOVE_C: f64 = 75.0;
/// The core's maximum comes at most this long after the pull, ms (75 min).
const CARRY_OVER_MS: i64 = 4_500_000;
/// A pit that ends this far below its level has been shut down, °C.
const SHUT_DOWN_C: f64 = 25.0;
/// The pit's level before its fall is the median over this time, ms (60 min).
const LEVEL_OVER_MS: i64 = 3_600_000;
/// The fall begins at the last reading within this of the level, °C.
const ONSET_C: f64 = 3.0;
/// A pit left to itself comes back after the lid for at most this long before its fire sinks, ms
/// (40 min).
const LEFT_TO_ITSELF_MS: i64 = 2_400_000;
/// Meat under a hot pit cools only out of the pit: a core that ends this far below its maximum
/// has come off, °C …
const COOLED_C: f64 = 0.8;
/// … if the pit is still this far above it, °C.
const HOT_ABOVE_C: f64 = 5.0;
/// Readings whose median is a level in a noisy curve, ms (10 min).
const SMOOTH_MS: i64 = 600_000;
/// A fall that ends the curve lasts at least this long, ms (10 min).
const FALL_LASTS_MS: i64 = 600_000;
/// A pit within this of its level is still up, °C …
const NEAR_LEVEL_C: f64 = 10.0;
/// … for a lid at most this long after the fall began, ms (25 min).
const STILL_UP_MS: i64 = 1_500_000;
/// The pit's fall has begun within this of the lid that began it, ms (4 min).
const SAME_MS: i64 = 240_000;

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

/// What the log shows where it contradicts a stated pull: the core goes on rising in the pit by more
/// than carry-over can make, or has long cooled.
pub(super) fn contradicts_pull(
    core: Samples,
    pit: Samples,
    meat_on_ms: i64,
    said_ms: i64,
) -> Option<FoundMark> {
    let seen = pull(core, pit, meat_on_ms)?;
    if (seen.at_ms - said_ms).abs() < FAR_OFF_MS {
        return None;
    }
    let core = despiked(core.within(meat_on_ms, i64::MAX));
    let levels = levels(core.view());
    let highest = levels.iter().map(|level| level.1).fold(f64::NEG_INFINITY, f64::max);
    let at_said = levels.iter().find(|level| level.0 >= said_ms).or(levels.last())?.1;
    let goes_on = seen.at_ms > said_ms && at_said < TOO_RAW_C && highest - at_said > CARRY_OVER_C;
    let long_cooled = seen.at_ms < said_ms && highest - at_said > COOLED_OFF_C;
    (goes_on || long_cooled).then_some(seen)
}

fn despiked(samples: Samples) -> OwnedSamples {
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

/// Where the meat came off, if the log shows it.
///
/// A pull opens the lid. After it the pit is shut down or sinks, or the core cools though the pit
/// is hot, or the probe is taken out. The core rises by a little more for up to an hour.
pub(super) fn pull(core: Samples, pit: Samples, meat_on_ms: i64) -> Option<FoundMark> {
    let core = despiked(core.within(meat_on_ms, i64::MAX));
    let core = core.view();
    let highest = core.temp_c.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // Before this the core had more to rise than it does after a pull.
    let near_top = core.temp_c.iter().position(|t| *t >= highest - CARRY_OVER_C)?;
    let from_ms = core.at_ms[near_top];
    let (pit, _) = pit.within(meat_on_ms, i64::MAX).blocks(lid::BLOCK_MS);
    let pit = pit.view();
    let falls = lid::falls(pit.within(from_ms - SUDDEN_MS, i64::MAX));
    let lids: Vec<lid::LidOpening> =
        falls.iter().filter(|(_, back)| *back).map(|(lid, _)| *lid).collect();
    let out_ms = core_falls(core);
    // What the core reads once the probe is out of it is no cooling of the meat.
    let in_meat = core.within(i64::MIN, out_ms.map_or(i64::MAX, |out_ms| out_ms + 1));
    let ran_on_until = out_ms.filter(|out_ms| still_cooks(in_meat, pit, *out_ms));
    let candidates = [
        (out_ms, CORE_FALLS),
        (pit_falls(pit, from_ms).map(|at| through_lid(pit, at, &lids, &falls)), PIT_FALLS),
        (cools_under_hot_pit(in_meat, pit, &falls), LID_OPENS),
    ];
    let (at_ms, because) = candidates
        .into_iter()
        .filter_map(|(at_ms, because)| Some((at_ms?, because)))
        .filter(|(at_ms, _)| *at_ms >= from_ms - SUDDEN_MS && was_done(core, *at_ms))
        .filter(|(at_ms, _)| ran_on_until.is_none_or(|out_ms| *at_ms >= out_ms - SUDDEN_MS))
        .min_by_key(|(at_ms, _)| *at_ms)?;
    Some(FoundMark { at_ms, source: MarkSource::Log, assumed: false, because: because.into() })
}

/// Whether the meat was still on the pit when the probe came out of it: its core was as high as it got,
/// and the pit hot and near its level. Whatever lid was opened before was closed over meat.
fn still_cooks(in_meat: Samples, pit: Samples, out_ms: i64) -> bool {
    let level = |samples: Samples, from_ms: i64, until_ms: i64| {
        median(samples.within(from_ms, until_ms).temp_c)
    };
    let last = level(in_meat, out_ms - SMOOTH_MS, out_ms + 1);
    let before = level(in_meat, out_ms - 2 * SMOOTH_MS, out_ms - SMOOTH_MS);
    let highest = levels(in_meat).iter().map(|level| level.1).fold(f64::NEG_INFINITY, f64::max);
    let rises = last.zip(before).is_some_and(|(last, before)| last >= highest && last > before);
    let hot = level(pit, out_ms - SMOOTH_MS, out_ms + 1);
    let was = level(pit, out_ms - 2 * LEVEL_OVER_MS, out_ms - LEVEL_OVER_MS / 2);
    let near_level = hot.zip(was).is_some_and(|(hot, was)| hot >= was - NEAR_LEVEL_C);
    let above = hot.zip(last).is_some_and(|(hot, last)| hot - last >= HOT_ABOVE_C);
    rises && near_level && above
}

const PIT_FALLS: &str = "No sheet says when the meat came off: the pit begins its last fall here.";
const LID_OPENS: &str = "No sheet says when the meat came off: the core cools under a hot pit later, and the pit's lid is last opened before that here.";
const CORE_FALLS: &str =
    "No sheet says when the meat came off: the core falls suddenly here and does not come back.";

fn was_done(core: Samples, at_ms: i64) -> bool {
    core.at(at_ms).is_some_and(|temp_c| temp_c >= DONE_ABOVE_C)
}

/// A fire that is left to itself when the meat comes off through the lid keeps the pit near its
/// level for a while: the fall begins at the lid. One that is shut down at once does not come back
/// from the lid: then the sharp fall with which the last one begins tells.
fn through_lid(
    pit: Samples,
    fall_ms: i64,
    lids: &[lid::LidOpening],
    falls: &[(lid::LidOpening, bool)],
) -> i64 {
    let level = median(pit.within(fall_ms - LEVEL_OVER_MS, fall_ms + 1).temp_c);
    // A lid soon after the fall, opened on a pit still near its level, is the later look inside.
    let still_up = |lid: &&lid::LidOpening| {
        let after = lid.start_ms - fall_ms;
        let up =
            pit.at(lid.start_ms).zip(level).is_some_and(|(pit, level)| pit >= level - NEAR_LEVEL_C);
        (after.abs() <= SAME_MS) || (0..=STILL_UP_MS).contains(&after) && up
    };
    if let Some(lid) = lids.iter().rev().find(still_up) {
        return lid.start_ms;
    }
    falls
        .iter()
        .rev()
        .map(|(lid, _)| lid.start_ms)
        .find(|start_ms| (-SAME_MS..=LEFT_TO_ITSELF_MS).contains(&(fall_ms - start_ms)))
        .unwrap_or(fall_ms)
}

/// The onset of the fall after which the pit never comes back to its level.
fn pit_falls(pit: Samples, from_ms: i64) -> Option<i64> {
    let last = pit.len().checked_sub(1)?;
    let first = pit.at_ms.partition_point(|&at| at < from_ms - LEVEL_OVER_MS);
    // From the end backwards to the last reading that is at the level of the hour before
    // it; a low hour after the fall has a low level of its own, so the level around the time when
    // the core came near its top is asked first.
    let around = pit.within(from_ms - LEVEL_OVER_MS, from_ms + LEVEL_OVER_MS / 6);
    let cook_level = median(around.temp_c)?;
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

/// Where the core ends cooling though the pit is hot: the last lid before the core's maximum, whose
/// time is known to a level's length. The meat came off through it, and its core rose on for a while.
fn cools_under_hot_pit(
    core: Samples,
    pit: Samples,
    falls: &[(lid::LidOpening, bool)],
) -> Option<i64> {
    let levels = levels(core);
    let top = (0..levels.len()).max_by(|&a, &b| levels[a].1.total_cmp(&levels[b].1))?;
    let (top_ms, top_c) = levels[top];
    let quantum = stats::quantum(core.temp_c);
    let least = COOLED_C.max(1.5 * quantum).max(2.0 * dips::noise_sd(core));
    let cooled = levels[top..].iter().any(|&(at_ms, level)| {
        top_c - level >= least && pit.at(at_ms).is_some_and(|pit| pit - level >= HOT_ABOVE_C)
    });
    if !cooled {
        return None;
    }
    falls
        .iter()
        .rev()
        .map(|(lid, _)| lid)
        .find(|lid| (top_ms - CARRY_OVER_MS..=top_ms + SMOOTH_MS).contains(&lid.start_ms))
        .map(|lid| lid.start_ms)
}

/// Medians of ten minutes each.
fn levels(samples: Samples) -> Vec<(i64, f64)> {
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

/// The last reading before a sudden fall of the core from which it does not come back.
fn core_falls(cook: Samples) -> Option<i64> {
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
