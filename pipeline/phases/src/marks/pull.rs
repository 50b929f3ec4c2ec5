//! The pull, found in the curves alone.
//!
//! The sizes here are common practice, no source: what a lid, carry-over and a shut-down fire do to a curve.

use super::in_log::{SMOOTH_MS, SUDDEN_MS, despiked, levels, median};
use super::signs::{CARRY_OVER_C, COOLED_OFF_C, FAR_OFF_MS, SUDDEN_C, TOO_RAW_C};
use super::{FoundMark, MarkSource};
use crate::clean::{dips, lid};
use crate::samples::Samples;

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
/// A fall that ends the curve lasts at least this long, ms (10 min).
const FALL_LASTS_MS: i64 = 600_000;
/// A pit within this of its level is still up, °C …
const NEAR_LEVEL_C: f64 = 10.0;
/// … for a lid at most this long after the fall began, ms (25 min).
const STILL_UP_MS: i64 = 1_500_000;
/// Levels of the pit's fall are medians over this, ms (5 min).
const STEP_MS: i64 = 300_000;
/// A fall that turns steep this long after its onset had a slow beginning, ms (8 min).
const STEERED_MS: i64 = 480_000;
/// A core goes on warming as before for less than this after the pull, ms (25 min).
const ONLY_CARRIED_MS: i64 = 1_500_000;
/// A core that warms for the heat on offer by at least this share of what it did goes on cooking.
const KEPT: f64 = 0.7;
/// What a core usually does is asked over this time, ms (90 min).
const USUAL_MS: i64 = 5_400_000;
/// A core answers its pit of so long before, ms (20 min).
const LAG_MS: i64 = 1_200_000;
/// The least heat on offer that is divided by, °C.
const OFFERED_C: f64 = 15.0;
/// The pit's fall has begun within this of the lid that began it, ms (4 min).
const SAME_MS: i64 = 240_000;

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
        (pit_falls(core, pit, from_ms).map(|at| through_lid(pit, at, &lids, &falls)), PIT_FALLS),
        (cools_under_hot_pit(in_meat, pit, &falls), LID_OPENS),
        (loses_its_pace(in_meat, pit).filter(|_| falls.is_empty()), CORE_TURNS),
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
const CORE_TURNS: &str = "No sheet says when the meat came off: the core warms no more here though the pit is hot, and cools then.";
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
fn pit_falls(core: Samples, pit: Samples, from_ms: i64) -> Option<i64> {
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
            break;
        }
        onset = earlier;
    }
    // A pit that sank slowly under meat that it went on heating was steered so; its fall is the steep end, or, where
    // that is no steeper, what the core shows.
    let (onset_ms, steep_ms) = (pit.at_ms[onset], turns_steep(pit, pit.at_ms[last_up]));
    let pace = Pace { core, pit };
    let Some(usual) = pace.usual(onset_ms) else { return Some(onset_ms) };
    let keeps = |from_ms: i64, until_ms: i64| {
        pace.between(from_ms, until_ms).is_some_and(|now| now >= KEPT * usual)
    };
    if steep_ms - onset_ms >= STEERED_MS {
        let sank_ms = (steep_ms - 2 * SMOOTH_MS).max(onset_ms);
        return Some(if keeps(sank_ms, steep_ms) { steep_ms } else { onset_ms });
    }
    let mut kept_ms = onset_ms;
    while keeps(kept_ms, kept_ms + SMOOTH_MS) {
        kept_ms += STEP_MS;
    }
    Some(if kept_ms - onset_ms >= ONLY_CARRIED_MS { kept_ms - SMOOTH_MS } else { onset_ms })
}

/// Where the fall that a pit is in at `in_fall_ms` turned as steep as half of what it is there.
fn turns_steep(pit: Samples, in_fall_ms: i64) -> i64 {
    let level =
        |at_ms: i64| median(pit.within(at_ms - STEP_MS / 2, at_ms + STEP_MS / 2 + 1).temp_c);
    let drop = |at_ms: i64| Some(level(at_ms - 2 * STEP_MS)? - level(at_ms)?);
    let Some(steep) = drop(in_fall_ms).filter(|drop| *drop > 0.0) else { return in_fall_ms };
    let minutes = (0..).map(|minute| in_fall_ms - minute * 60_000);
    let gentle = minutes.into_iter().find(|at| drop(*at).is_none_or(|drop| drop < steep / 2.0));
    gentle.unwrap_or(in_fall_ms) - STEP_MS
}

/// How readily a core warms for the heat that its pit offers: its rise in ten minutes by that heat.
struct Pace<'a> {
    core: Samples<'a>,
    pit: Samples<'a>,
}

impl Pace<'_> {
    /// Between two instants.
    fn between(&self, from_ms: i64, until_ms: i64) -> Option<f64> {
        let core =
            |at_ms: i64| median(self.core.within(at_ms - STEP_MS, at_ms + STEP_MS + 1).temp_c);
        let (first, last) = (core(from_ms)?, core(until_ms)?);
        // The pit of some twenty minutes before is what the core answers.
        let pit = self
            .pit
            .within(from_ms - LAG_MS, (until_ms - LAG_MS).max(from_ms - LAG_MS + SMOOTH_MS));
        let offered = (median(pit.temp_c)? - f64::midpoint(first, last)).max(OFFERED_C);
        Some((last - first) / (until_ms - from_ms) as f64 / offered)
    }

    /// In the hour and a half before an instant.
    fn usual(&self, before_ms: i64) -> Option<f64> {
        self.between(before_ms - USUAL_MS, before_ms - SMOOTH_MS).filter(|pace| *pace > 0.0)
    }
}

/// Where the core ends cooling though the pit is hot: the last lid before the core's maximum, whose
/// time is known to a level's length. The meat came off through it, and its core rose on for a while.
fn cools_under_hot_pit(
    core: Samples,
    pit: Samples,
    falls: &[(lid::LidOpening, bool)],
) -> Option<i64> {
    let top_ms = cooled_from(core, pit)?;
    falls
        .iter()
        .rev()
        .map(|(lid, _)| lid)
        .find(|lid| (top_ms - CARRY_OVER_MS..=top_ms + SMOOTH_MS).contains(&lid.start_ms))
        .map(|lid| lid.start_ms)
}

/// Where a core that ends cooling under a hot pit last warmed as readily as before: no lid shows when the meat came off.
fn loses_its_pace(core: Samples, pit: Samples) -> Option<i64> {
    let top_ms = cooled_from(core, pit)?;
    let pace = Pace { core, pit };
    let usual = pace.usual(top_ms - CARRY_OVER_MS)?;
    (0..CARRY_OVER_MS / STEP_MS)
        .map(|step| top_ms - step * STEP_MS)
        .find(|at| pace.between(at - SMOOTH_MS, *at).is_some_and(|now| now >= KEPT * usual))
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

/// The top of a core that cools after it though the pit is hot.
fn cooled_from(core: Samples, pit: Samples) -> Option<i64> {
    let levels = levels(core);
    let top = (0..levels.len()).max_by(|&a, &b| levels[a].1.total_cmp(&levels[b].1))?;
    let (top_ms, top_c) = levels[top];
    let quantum = stats::quantum(core.temp_c);
    let least = COOLED_C.max(1.5 * quantum).max(2.0 * dips::noise_sd(core));
    let cooled = levels[top..].iter().any(|&(at_ms, level)| {
        top_c - level >= least && pit.at(at_ms).is_some_and(|pit| pit - level >= HOT_ABOVE_C)
    });
    cooled.then_some(top_ms)
}
