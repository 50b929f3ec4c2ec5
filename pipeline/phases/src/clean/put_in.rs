//! Readings from before the probe was put into meat that had been cooking for a while.
//!
//! A probe that waits in the air of a room leaps by tens of degrees within minutes when it is put into
//! hot meat; one that hangs in the pit falls from what no meat can be. What it read before is no core.
//! A fall to raw meat is meat-on, and is told by the marks. The sizes are common practice, no source.

use crate::marks::falls_to_raw;
use crate::samples::Samples;

/// A probe reads the meat that it was put into within this, ms (10 min).
const WITHIN_MS: i64 = 600_000;
/// Meat itself warms by less than this in so short a time, °C: a roast's core by 25 °C an hour.
const LEAP_C: f64 = 15.0;
/// The air of a room, and a sunny yard, is colder than this, °C.
const ROOM_BELOW_C: f64 = 40.0;
/// A probe in a room moves by no more than this in the hour before, °C.
const STILL_C: f64 = 6.0;
const BEFORE_MS: i64 = 3_600_000;
/// Meat is no hotter than this while it loses water, °C: what is hangs in the pit.
const HOTTEST_MEAT_C: f64 = 98.0;
/// What the probe reads from then on stays near what it leapt to, and within this long it is not raw
/// again, ms (30 min), °C.
const STAYS_MS: i64 = 1_800_000;
const STAYS_C: f64 = 5.0;
/// A pit is this much hotter than the meat in it, °C.
const HOTTER_C: f64 = 5.0;
/// A pit below this is not lit, °C.
const LIT_C: f64 = 50.0;

/// From when on the probe is in meat, ms UTC, where it was put in late: its first reading there.
pub fn put_in_late(core: Samples, pit: Samples) -> Option<i64> {
    let mut found = None;
    let mut from = 0;
    for index in 1..core.len() {
        while core.at_ms[index] - core.at_ms[from] > WITHIN_MS {
            from += 1;
        }
        let (before, now) = (core.temp_c[from], core.temp_c[index]);
        if (now - before).abs() >= LEAP_C && found.is_none_or(|at_ms| at_ms < core.at_ms[from]) {
            let put_in = is_put_in(core, pit, from, index);
            found = put_in.or(found);
        }
    }
    found
}

/// Whether the probe goes from air into hot meat between two readings, and when it reads the meat.
fn is_put_in(core: Samples, pit: Samples, from: usize, to: usize) -> Option<i64> {
    let (from_ms, to_ms) = (core.at_ms[from], core.at_ms[to]);
    let level = |from_ms: i64, until_ms: i64| median(core.within(from_ms, until_ms).temp_c);
    let settled_ms = to_ms + WITHIN_MS;
    let after = level(settled_ms, settled_ms + WITHIN_MS)?;
    let later = core.within(settled_ms, settled_ms + STAYS_MS);
    let stays = later.at_ms.last().is_some_and(|last_ms| last_ms - settled_ms >= STAYS_MS / 2)
        && later.temp_c.iter().all(|temp_c| *temp_c >= after - STAYS_C);
    let around = median(pit.within(to_ms, settled_ms + STAYS_MS).temp_c)?;
    let in_hot_meat = (ROOM_BELOW_C - STAYS_C..=HOTTEST_MEAT_C).contains(&after)
        && around >= LIT_C
        && around - after >= HOTTER_C;
    // Meat goes on to warm: a probe that cools in the air after the pull does not, and one that falls to
    // raw meat was not in any before.
    let rest = core.within(settled_ms, i64::MAX);
    let warms = rest.temp_c.iter().any(|temp_c| *temp_c >= after + STAYS_C);
    let is_raw_later = falls_to_raw(rest).is_some_and(|at_ms| {
        rest.within(at_ms, i64::MAX).temp_c.iter().any(|temp_c| *temp_c >= ROOM_BELOW_C)
    });
    if !(stays && in_hot_meat && warms) || is_raw_later {
        return None;
    }
    let start_ms = core.at_ms[0];
    let before = core.within((from_ms - BEFORE_MS).max(start_ms), from_ms + 1);
    let before_level = median(before.temp_c)?;
    let span = before.temp_c.iter().map(|temp_c| (temp_c - before_level).abs()).fold(0.0, f64::max);
    let in_room = before_level < ROOM_BELOW_C && span <= STILL_C && after - before_level >= LEAP_C;
    let in_pit = before_level > HOTTEST_MEAT_C && before_level - after >= LEAP_C;
    // The first reading that is no further from the meat than meat itself moves.
    let reads = |index: &usize| (core.temp_c[*index] - after).abs() <= STAYS_C;
    let first = (from + 1..core.len()).find(reads)?;
    (in_room || in_pit).then_some(core.at_ms[first])
}

fn median(values: &[f64]) -> Option<f64> {
    stats::describe::median(values).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINUTE: i64 = 60_000;

    /// A cook of 12 h, a reading a minute: core 5 → 93 °C, pit 120 °C.
    fn put_in(shape: impl Fn(&mut [f64])) -> Option<i64> {
        let at_ms: Vec<i64> = (0..720).map(|minute| minute * MINUTE).collect();
        let mut core: Vec<f64> =
            (0..720).map(|minute| 5.0 + 88.0 * f64::from(minute) / 720.0).collect();
        let pit = vec![120.0; 720];
        shape(&mut core);
        let core = Samples { at_ms: &at_ms, temp_c: &core };
        put_in_late(core, Samples { at_ms: &at_ms, temp_c: &pit }).map(|at_ms| at_ms / MINUTE)
    }

    #[test]
    fn a_probe_that_waits_in_a_room_or_in_the_pit_is_in_meat_from_its_leap_on() {
        assert_eq!(put_in(|core| core[..480].fill(22.0)), Some(480));
        assert_eq!(put_in(|core| core[..300].fill(117.0)), Some(300));
        // In the room, then in the pit, then in the meat.
        let both = put_in(|core| {
            core[..60].fill(22.0);
            core[60..360].fill(117.0);
        });
        assert_eq!(both, Some(360));
    }

    #[test]
    fn a_probe_that_was_put_in_late_comes_out_into_the_air_at_the_pull() {
        let late = put_in(|core| {
            core[..480].fill(22.0);
            let hot = core[649];
            for (minute, value) in core[650..].iter_mut().enumerate() {
                *value = 22.0 + (hot - 22.0) * (-(minute as f64) / 8.0).exp();
            }
        });
        assert_eq!(late, Some(480));
    }

    #[test]
    fn meat_on_a_dip_a_slipped_probe_and_the_pull_are_none() {
        assert_eq!(put_in(|_| ()), None);
        assert_eq!(put_in(|core| core[..20].fill(22.0)), None);
        // Pulled out at the wrap for ten minutes; slipped toward the pit; out at the pull.
        assert_eq!(put_in(|core| core[400..410].fill(30.0)), None);
        assert_eq!(put_in(|core| core[600..].iter_mut().for_each(|core| *core += 15.0)), None);
        assert_eq!(put_in(|core| core[650..].fill(22.0)), None);
        // Slipped out, hotter than meat, and then down to where it cools slowly.
        let slipped = put_in(|core| {
            core[500..650].fill(101.0);
            for (minute, value) in core[650..].iter_mut().enumerate() {
                *value = 42.0 + 59.0 * (-(minute as f64) / 4.0).exp();
            }
        });
        assert_eq!(slipped, None);
    }
}
