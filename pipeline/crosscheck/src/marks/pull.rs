//! The pull of a cook against its curve.

use super::{HOURS_MS, opened_near};
use crate::curve::{Curve, LEVEL_MS};
use crate::say::MINUTE_MS;
use phases::marks::signs::{
    CARRY_OVER_C, COOLED_OFF_C, FAR_OFF_MS, LIT_ABOVE_C, SUDDEN_C as IN_AIR_C, TOO_RAW_C,
};

/// A core that goes on rising after a pull by so much more than the heat in the meat can make, °C, …
const CLEARLY_C: f64 = 3.0;
/// … rises by as much still once that has come through, ms (75 min), and in no step of ten minutes by more
/// than this, °C: a probe that is left in the pit leaps, and the core of a roast warms by 25 °C an hour.
const CARRIED_OVER_MS: i64 = 75 * MINUTE_MS;
const STEP_C: f64 = 8.0;
/// A pull that nothing shows is doubted from this long before the one that the curve shows on, ms (25 min),
/// …
const LET_RUN_MS: i64 = 25 * MINUTE_MS;
/// … over 40 min it need not rise as far to be clear, °C: meat that rests is near its highest by then …
const LONG_RUN_MS: i64 = 40 * MINUTE_MS;
const LONG_RUN_C: f64 = 2.0;
/// … if the core goes on at this share of its pace until then: meat out of the pit warms on through its
/// middle for a quarter of an hour, and slower from then on (diffusivity 0.13 mm²/s, 6 cm of meat).
const KEEPS_PACE: f64 = 0.75;
/// A pit is kept at its level within this, °C …
const NEAR_LEVEL_C: f64 = 10.0;
/// … and offers heat where it is this much above the core, °C.
const LEAST_OFFER_C: f64 = 5.0;
/// A pit that is this much colder forty minutes later has been shut down, °C.
const SHUT_DOWN_C: f64 = 25.0;
/// A core that rises by this in twenty minutes is being cooked, °C.
const STILL_RISES_C: f64 = 0.4;
/// A core below this has not been cooked yet, °C.
const WARMED_RAW_C: f64 = 35.0;
/// No meat is hotter than boiling water, °C: what was is a probe in the air.
const BOILS_C: f64 = 101.0;
/// A core that has cooled by this in a pit without a fire came off before, °C.
const COOLING_C: f64 = 3.0;

pub(super) enum Pull {
    GoesOn { raw: bool, to: f64 },
    LongCooled,
}

impl Pull {
    /// Whether the phases take the curve's time in its place, where it shows one.
    pub(super) fn curve_is_used(&self) -> bool {
        !matches!(self, Self::GoesOn { raw: false, .. })
    }
}

/// When the curve shows the pull where it cannot be as stated, if it shows it. `on` is meat-on.
pub(super) fn pull(curve: &Curve, on: i64, said: i64) -> Option<(Option<i64>, Pull)> {
    match curve.pull_ms {
        Some(seen) if (seen - said).abs() < FAR_OFF_MS => {
            let to = before_fall(curve, seen)?;
            let raw = curve.core_at(said)? < TOO_RAW_C;
            let clearly_c = if seen - said >= LONG_RUN_MS { LONG_RUN_C } else { CLEARLY_C };
            let ran_on = keeps_pace(curve, said, seen) && is_unsigned(curve, said, seen, clearly_c);
            ran_on.then_some((Some(seen), Pull::GoesOn { raw, to }))
        }
        Some(seen) => {
            let against =
                pull_against_seen(curve, said, seen).or_else(|| pull_by_core(curve, on, said));
            Some((Some(seen), against?))
        }
        None => Some((None, pull_by_core(curve, on, said)?)),
    }
}

fn pull_against_seen(curve: &Curve, said: i64, seen: i64) -> Option<Pull> {
    let highest = curve.highest_core()?;
    let at_said = curve.core_at(said).or_else(|| {
        // After the log's end the core is what it was at the end.
        (said > curve.last_ms).then(|| curve.core_at(curve.last_ms)).flatten()
    })?;
    if seen < said {
        let is_out = curve.pit_at(said).is_some_and(|pit| pit < LIT_ABOVE_C);
        let cooled = highest - at_said;
        let cooled_in_the_dead_pit = is_out && said - seen >= HOURS_MS && cooled > COOLING_C;
        return (cooled > COOLED_OFF_C || cooled_in_the_dead_pit).then_some(Pull::LongCooled);
    }
    // The probe comes out of meat that cooked on at its pace, whatever lid was opened in between.
    let cooks_on = is_taken_out(curve, seen) && keeps_pace(curve, said, seen);
    let cooks_on =
        cooks_on && seen - said >= LET_RUN_MS && rises_by(curve, said, seen - LEVEL_MS, CLEARLY_C);
    if cooks_on || is_unsigned(curve, said, seen, CLEARLY_C) {
        let to = before_fall(curve, seen).unwrap_or(highest);
        return Some(Pull::GoesOn { raw: at_said < TOO_RAW_C, to });
    }
    if highest - at_said <= CARRY_OVER_C {
        return None;
    }
    if at_said < TOO_RAW_C {
        return Some(Pull::GoesOn { raw: true, to: highest });
    }
    // A team may pull the meat, look, and put it back: that opens the lid.
    let unseen = curve.dense && !opened_near(curve, said);
    (seen - said >= HOURS_MS && unseen).then_some(Pull::GoesOn { raw: false, to: highest })
}

/// What the core alone says against a pull: it goes on rising as meat in a pit does, or had long cooled.
fn pull_by_core(curve: &Curve, on: i64, said: i64) -> Option<Pull> {
    let mut before = curve.core_between(on, said + 1);
    // What was warm before it was raw was a probe in the air.
    if let Some(raw) = before.iter().rposition(|(_, level)| *level < WARMED_RAW_C) {
        before.drain(..raw);
    }
    // A probe that is taken out at the pull shows no core from then on.
    let at_said = before.iter().rev().take(2).map(|level| level.1).reduce(f64::max)?;
    let &(highest_ms, highest) = before.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    if highest - at_said > COOLED_OFF_C && said - highest_ms >= FAR_OFF_MS && highest <= BOILS_C {
        return Some(Pull::LongCooled);
    }
    let rise = rise_after(curve, said, at_said);
    let goes_on = rise.to - at_said > CARRY_OVER_C + CLEARLY_C && rise.late >= CLEARLY_C;
    goes_on.then_some(Pull::GoesOn { raw: at_said < TOO_RAW_C, to: rise.to })
}

/// How the core of this meat goes on after an instant.
struct Rise {
    /// To what it rises, °C.
    to: f64,
    /// How far it rises once what was in the meat has come through, °C.
    late: f64,
}

fn rise_after(curve: &Curve, said: i64, at_said: f64) -> Rise {
    let (mut before, mut to, mut early) = (at_said, at_said, at_said);
    for (ms, level) in curve.core_between(said, i64::MAX) {
        // What leaps is no longer the core of this meat; what goes on in another place, an oven, is no
        // contradiction to its pull.
        let leaps = level - before > STEP_C;
        if leaps || curve.pit_at(ms).is_some_and(|pit| pit < level) {
            break;
        }
        before = level;
        to = to.max(level);
        if ms - said <= CARRIED_OVER_MS {
            early = early.max(level);
        }
    }
    Rise { to, late: to - early }
}

/// A pull of which nothing shows where it is stated, and all where it is seen: the lid opens there or the
/// pit begins to fall, and until then the core rises on.
fn is_unsigned(curve: &Curve, said: i64, seen: i64, clearly_c: f64) -> bool {
    let shows = |ms: i64| opened_near(curve, ms);
    let around = (curve.pit_at(seen - 2 * LEVEL_MS), curve.pit_at(seen + 2 * LEVEL_MS));
    let falls = matches!(around, (Some(before), Some(after)) if before - after >= SHUT_DOWN_C);
    seen - said >= LET_RUN_MS
        && curve.dense
        && !shows(said)
        && (shows(seen) || falls)
        && rises_by(curve, said, seen, clearly_c)
        && rises_by(curve, seen - 3 * LEVEL_MS, seen - LEVEL_MS, STILL_RISES_C)
}

fn rises_by(curve: &Curve, from: i64, to: i64, least: f64) -> bool {
    let pair = curve.core_at(from).zip(curve.core_at(to));
    pair.is_some_and(|(from, to)| to - from >= least)
}

/// The core where the meat is seen to come off; the level there may hold what the probe read after it.
fn before_fall(curve: &Curve, seen: i64) -> Option<f64> {
    let levels = [curve.core_at(seen), curve.core_at(seen - LEVEL_MS)];
    levels.into_iter().flatten().reduce(f64::max)
}

/// Whether the core falls at once where the meat is seen to come off: the probe is taken out.
fn is_taken_out(curve: &Curve, seen: i64) -> bool {
    rises_by(curve, seen + 2 * LEVEL_MS, seen - LEVEL_MS, IN_AIR_C)
}

/// Whether the core warms on from a stated pull to the seen one as it did before, as in a pit: by the heat on offer,
/// which grows less as the core comes nearer to its pit.
fn keeps_pace(curve: &Curve, said: i64, seen: i64) -> bool {
    let pace = |from: i64, to: i64| {
        let rise = curve.core_on_line(to)? - curve.core_on_line(from)?;
        Some(rise / (to - from) as f64)
    };
    let before = pace(said - 3 * LEVEL_MS, said);
    // The last level that ends before it: the next holds what the probe read after.
    let to = seen - (seen - curve.first_ms).rem_euclid(LEVEL_MS) - LEVEL_MS / 2;
    let last = pace(to - 2 * LEVEL_MS, to);
    before.zip(last).is_some_and(|(before, last)| {
        before > 0.0 && last >= KEEPS_PACE * before * heat_left(curve, said, seen).unwrap_or(1.0)
    })
}

/// What share of the heat on offer before a stated pull is left before the seen one, in a pit that is kept at its level.
fn heat_left(curve: &Curve, said: i64, seen: i64) -> Option<f64> {
    let offer = |ms: i64| Some((curve.pit_at(ms)?, curve.pit_at(ms)? - curve.core_on_line(ms)?));
    let (pit, before) = offer(said - LEVEL_MS)?;
    let (later, last) = offer(seen - 2 * LEVEL_MS)?;
    let is_kept = (later - pit).abs() <= NEAR_LEVEL_C;
    (is_kept && before >= LEAST_OFFER_C && last > 0.0).then(|| (last / before).min(1.0))
}
