//! Meat-on of a cook against its curve.

use super::{HOURS_MS, SIGN_WITHIN_MS};
use crate::curve::{Curve, LEVEL_MS};
use crate::say::MINUTE_MS;
use phases::marks::signs::{FAR_OFF_MS, LIT_ABOVE_C, SUDDEN_C as IN_AIR_C, WARMED_C};

/// In a pit with a fire the core of any roast has begun to rise after this, ms (2½ h): heat reaches the
/// middle of 10 cm of meat (diffusivity 0.13 mm²/s) within half an hour.
const ASLEEP_MS: i64 = 150 * MINUTE_MS;
/// A core that a log shows raw and still over a lit pit until the meat is seen to go on had begun to rise
/// within this of going on, ms (90 min), by the same reckoning in meat of 18 cm …
const UNMOVED_MS: i64 = 90 * MINUTE_MS;
/// … and rises within this of where it is seen to, ms (1 h) …
const MOVES_MS: i64 = 60 * MINUTE_MS;
/// … having lain within this until then, °C: a quantum of a logger and its noise.
const STILL_C: f64 = 1.5;
/// Frozen meat waits at its melting point, °C: below this nothing is said of a core that sleeps.
const THAWED_C: f64 = 3.0;
/// The core of meat that waits in a kitchen warms by less than this in an hour or two, °C. Common practice,
/// no source.
const WARMING_C: f64 = 5.0;
/// A core that begins below this is raw meat, not a probe in the air of a room, °C …
const RAW_C: f64 = 15.0;
/// … and warms by less than this in the twenty minutes after it has begun to rise, °C: a probe that is put
/// into meat late leaps.
const LEAP_C: f64 = 12.0;

pub(super) enum MeatOn {
    InAir,
    LongOn,
    Warming,
    Asleep,
    StillRaw(f64),
}

impl MeatOn {
    /// Whether the phases take the curve's time in its place.
    pub(super) fn curve_is_used(&self) -> bool {
        matches!(self, Self::InAir | Self::LongOn)
    }
}

/// When the curve shows meat-on where it cannot be as stated, if it shows it.
pub(super) fn meat_on(curve: &Curve, said: i64) -> Option<(Option<i64>, MeatOn)> {
    let seen = curve.meat_on_ms.filter(|seen| (seen - said).abs() >= FAR_OFF_MS);
    let at_said = curve.core_at(said);
    if let (Some(seen), Some(at_said)) = (seen, at_said) {
        let at_seen = curve.core_at(seen)?;
        if seen > said && at_said >= at_seen + IN_AIR_C {
            return Some((Some(seen), MeatOn::InAir));
        }
        if seen < said && at_said >= at_seen + WARMED_C {
            return Some((Some(seen), MeatOn::LongOn));
        }
        if seen < said && is_warming(curve, seen, said) {
            return Some((Some(seen), MeatOn::Warming));
        }
    }
    if let (Some(seen), None) = (seen, at_said)
        && let Some(raw) = lies_raw_until(curve, said, seen)
    {
        return Some((Some(seen), MeatOn::StillRaw(raw)));
    }
    let rises = curve.rises_ms.filter(|rises| rises - said >= ASLEEP_MS)?;
    let shown = seen.filter(|seen| *seen > said && rises - seen < ASLEEP_MS);
    if seen.is_some() != shown.is_some() {
        return None;
    }
    // A probe that lies outside until somebody puts it into warm meat leaps.
    let warms = Some((curve.core_at(rises)?, curve.core_at(rises + SIGN_WITHIN_MS)?));
    let is_slow = warms.is_some_and(|(from, to)| to - from < LEAP_C);
    match at_said {
        Some(core) if core >= THAWED_C => {
            let cold = curve.pit_at(said).is_none_or(|pit| pit < LIT_ABOVE_C);
            ((cold && shown.is_some()) || (is_slow && core < RAW_C))
                .then_some((shown, MeatOn::Asleep))
        }
        None if said < curve.first_ms - HOURS_MS && is_slow => {
            // Or its probe lies outside still, and is put into raw meat in the log.
            let put_in = shown.and_then(|seen| curve.core_at(seen + LEVEL_MS));
            let begins = [curve.core_at(curve.first_ms), put_in];
            let raw = begins.into_iter().flatten().find(|core| (THAWED_C..RAW_C).contains(core))?;
            Some((shown, MeatOn::StillRaw(raw)))
        }
        _ => None,
    }
}

/// The core of meat that a log shows raw and still from its beginning, after a stated meat-on, until it is seen to go
/// on, over a pit that is lit all the while, °C.
fn lies_raw_until(curve: &Curve, said: i64, seen: i64) -> Option<f64> {
    let rises = curve.rises_ms?;
    let raw = curve.core_at(curve.first_ms)?;
    let at_seen = curve.core_at(seen)?;
    let lit = curve.pit_between(curve.first_ms, seen).iter().all(|pit| *pit >= LIT_ABOVE_C);
    let is_still = (at_seen - raw).abs() <= STILL_C && (THAWED_C..RAW_C).contains(&raw);
    let late = rises - said >= UNMOVED_MS && rises >= seen && rises - seen < MOVES_MS;
    (said < curve.first_ms && curve.first_ms < seen && lit && is_still && late).then_some(raw)
}

/// Whether raw meat that is seen to go on had begun to warm over a lit pit long before a stated meat-on.
fn is_warming(curve: &Curve, seen: i64, said: i64) -> bool {
    let raw = curve.core_at(seen + LEVEL_MS);
    let warmed = raw.zip(curve.core_at(said)).is_some_and(|(raw, core)| core - raw >= WARMING_C);
    let lit = curve.pit_between(seen, said).iter().all(|pit| *pit >= LIT_ABOVE_C);
    let rises = curve.rises_ms.is_some_and(|rises| rises > seen && said - rises >= SIGN_WITHIN_MS);
    raw.is_some_and(|raw| raw < RAW_C) && warmed && lit && rises
}
