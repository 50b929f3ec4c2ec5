//! One cook in the stores of two teams: its log was exported twice, under other names, with another clock,
//! in another unit, or with the probe's correction in one of them only.
//!
//! Levels of ten minutes tell which cooks may be one ([`may_be_same`]); whether they are is told by the
//! readings ([`same_cook`]), in which a fire and a probe leave what no other cook has.

use crate::copies::{ALIKE_C, LEVELS, PACE_MS, PASS_C, RISE_C, SHARE};
use crate::curve::{Curve, LEVEL_MS, pit_and_core, thin};
use cook::{Card, CookReadings};
use phases::Samples;

/// Laid over each other so many minutes to either side too: a probe that is off passes 50 °C earlier or
/// later by what the meat takes for that.
const TRIED_MIN: i64 = 25;
/// The levels of one cook lie over so large a share of the shorter curve.
const COVERED: f64 = 0.9;
/// A probe's correction that one store has and the other lacks is this at most, °C. Common practice, no
/// source: a probe that is further off in ice is thrown away. Where no pit was logged to tell which instants
/// belong together, a core that is off and late would be any core's: none is allowed then.
const PROBE_OFF_C: f64 = 3.0;
const PROBE_OFF_WITHOUT_PIT_C: f64 = 0.3;
/// Readings of one instant differ by no more than this, °C, beside the constant: whole °C of one export, whole
/// °F of the other …
const CORE_ALIKE_C: f64 = 0.6;
/// … in so large a share of the minutes.
const CORE_SHARE: f64 = 0.95;
/// A pit swings within a minute, so that the straight line between readings is further off.
const PIT_ALIKE_C: f64 = 1.0;
const PIT_SHARE: f64 = 0.9;
/// Clocks are tried in steps of this, ms: no reading changes by half a degree in five seconds.
const CLOCK_STEP_MS: i64 = 10_000;
/// A gap in the readings, over which no straight line is drawn, ms (10 min).
const GAP_MS: i64 = 600_000;

/// How two records of one cook differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SameCook {
    /// The first clock less the second, ms, to 10 s.
    pub clock_ms: i64,
    /// The first core less the second, °C.
    pub core_c: f64,
}

/// Whether two cooks may be one by the levels of their cores. False where a core was not logged from 30 to
/// 50 °C and for three hours, which proves nothing.
pub fn may_be_same(a: &Curve, b: &Curve) -> bool {
    let passes =
        |curve: &Curve| Some((curve.core_reaches(PASS_C.0)?, curve.core_reaches(PASS_C.1)?));
    let (Some((a_from, a_to)), Some((b_from, b_to))) = (passes(a), passes(b)) else { return false };
    ((a_to - a_from) - (b_to - b_from)).abs() <= PACE_MS
        && clocks(a_to - b_to, 60_000).any(|clock_ms| levels_alike(a, b, clock_ms))
}

/// Clocks around one, the nearest first, ms.
fn clocks(middle_ms: i64, step_ms: i64) -> impl Iterator<Item = i64> {
    let steps = 0..=TRIED_MIN * 60_000 / step_ms;
    steps.flat_map(move |step| [middle_ms + step * step_ms, middle_ms - step * step_ms])
}

fn levels_alike(a: &Curve, b: &Curve, clock_ms: i64) -> bool {
    let middles = (0..a.core.len() as i64).map(|i| a.first_ms + i * LEVEL_MS + LEVEL_MS / 2);
    let pairs: Vec<(f64, f64)> = middles
        .filter_map(|at_ms| Some((a.core_at(at_ms)?, b.core_on_line(at_ms - clock_ms)?)))
        .collect();
    let known = |curve: &Curve| curve.core.iter().flatten().count() as f64;
    pairs.len() >= LEVELS
        && pairs.len() as f64 >= COVERED * known(a).min(known(b))
        && rise(&pairs) >= RISE_C
        && Beside::of(&pairs, ALIKE_C).is_one(PROBE_OFF_C, SHARE)
}

fn rise(pairs: &[(f64, f64)]) -> f64 {
    let first = pairs.iter().map(|pair| pair.0);
    first.clone().fold(f64::NEG_INFINITY, f64::max) - first.fold(f64::INFINITY, f64::min)
}

/// Whether two cooks are one by their readings, minute by minute: the cores are alike beside a shift of the
/// clock and a constant, and so are the pits at that same shift where both were logged.
pub fn same_cook(
    (a, a_card): (&CookReadings, &Card),
    (b, b_card): (&CookReadings, &Card),
) -> Option<SameCook> {
    let (a_pit, a_core) = pit_and_core(&thin(a), a_card);
    let (b_pit, b_core) = pit_and_core(b, b_card);
    let (a_core, b_core) = (a_core?, b_core?);
    let (a_core, b_core) = (a_core.samples.view(), b_core.samples.view());
    let pits = a_pit.as_ref().zip(b_pit.as_ref());
    let pits = pits.map(|(a, b)| (a.samples.view(), b.samples.view()));
    let middle_ms = Curve::of(a, a_card)?.core_reaches(PASS_C.1)?
        - Curve::of(b, b_card)?.core_reaches(PASS_C.1)?;
    let covered = |pairs: &[(f64, f64)], a: Samples<'_>, b: Samples<'_>| {
        let lasts =
            |of: Samples<'_>| of.at_ms.last().zip(of.at_ms.first()).map_or(0, |(l, f)| l - f);
        let shorter = lasts(a).min(lasts(b)) as f64 / lasts(a).max(1) as f64;
        pairs.len() as f64 >= COVERED * shorter * a.len() as f64
    };
    let at = |clock_ms: i64| {
        let cores = laid_over(a_core, b_core, clock_ms);
        let core = Beside::of(&cores, CORE_ALIKE_C);
        if !covered(&cores, a_core, b_core) || rise(&cores) < RISE_C {
            return None;
        }
        let (off_c, spread) = match pits {
            None => (PROBE_OFF_WITHOUT_PIT_C, core.spread_c),
            Some((a_pit, b_pit)) => {
                let pits = laid_over(a_pit, b_pit, clock_ms);
                let pit = Beside::of(&pits, PIT_ALIKE_C);
                if !covered(&pits, a_pit, b_pit) || !pit.is_one(PROBE_OFF_C, PIT_SHARE) {
                    return None;
                }
                (PROBE_OFF_C, core.spread_c + pit.spread_c)
            }
        };
        core.is_one(off_c, CORE_SHARE)
            .then_some((SameCook { clock_ms, core_c: core.middle_c }, spread))
    };
    // Of several clocks the one at which the readings are most alike, then the nearest.
    let mut best: Option<(SameCook, f64)> = None;
    for (found, spread) in clocks(middle_ms, CLOCK_STEP_MS).filter_map(at) {
        if best.is_none_or(|(_, least)| spread < least) {
            best = Some((found, spread));
        }
    }
    best.map(|(found, _)| found)
}

/// Readings of the first, and the second by straight lines at the same instants.
fn laid_over(a: Samples<'_>, b: Samples<'_>, clock_ms: i64) -> Vec<(f64, f64)> {
    let mut next = 0;
    let pairs = a.at_ms.iter().zip(a.temp_c).filter_map(|(at_ms, temp_c)| {
        let at_ms = at_ms - clock_ms;
        while *b.at_ms.get(next)? < at_ms {
            next += 1;
        }
        let (to_ms, to_c) = (b.at_ms[next], b.temp_c[next]);
        if to_ms == at_ms {
            return Some((*temp_c, to_c));
        }
        let before = next.checked_sub(1)?;
        let (from_ms, from_c) = (b.at_ms[before], b.temp_c[before]);
        let share = (at_ms - from_ms) as f64 / (to_ms - from_ms) as f64;
        (to_ms - from_ms <= GAP_MS).then_some((*temp_c, from_c + share * (to_c - from_c)))
    });
    pairs.collect()
}

/// What two courses have beside a constant.
struct Beside {
    /// The constant: the middle of the differences, °C.
    middle_c: f64,
    /// The middle of what is left, °C.
    spread_c: f64,
    /// The share of the pairs that are alike.
    share: f64,
}

impl Beside {
    fn of(pairs: &[(f64, f64)], alike_c: f64) -> Self {
        let mut differences: Vec<f64> = pairs.iter().map(|(one, other)| one - other).collect();
        let middle_c = median(&mut differences);
        let mut left: Vec<f64> = differences.iter().map(|d| (d - middle_c).abs()).collect();
        let spread_c = median(&mut left);
        let alike = left.iter().filter(|left| **left <= alike_c).count();
        Self { middle_c, spread_c, share: alike as f64 / pairs.len().max(1) as f64 }
    }

    fn is_one(&self, off_c: f64, share: f64) -> bool {
        self.middle_c.abs() <= off_c && self.share >= share
    }
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::{ChannelReadings, Flag, Role};

    const START_MS: i64 = 1_750_000_000_000;

    /// A cook of eleven hours with a stall over a fire that swings.
    struct Night {
        every_s: i64,
        stall_from_min: f64,
        fire: f64,
        core_off_c: f64,
        clock_ms: i64,
        /// Whole degrees of this many per °C; none where nothing is rounded.
        steps: Option<f64>,
    }

    const NIGHT: Night = Night {
        every_s: 30,
        stall_from_min: 240.0,
        fire: 0.0,
        core_off_c: 0.0,
        clock_ms: 0,
        steps: None,
    };

    impl Night {
        fn readings(&self) -> CookReadings {
            let core = |minute: f64| {
                let heats = minute.min(self.stall_from_min)
                    + 0.6 * (minute - self.stall_from_min - 120.0).max(0.0);
                5.0 + 0.27 * heats + self.core_off_c
            };
            let fire = self.fire;
            let pit = |minute: f64| {
                110.0 + 4.0 * (minute / 3.7 + fire).sin() + 3.0 * (minute / 17.0 + 2.0 * fire).sin()
            };
            let channel = |name: &str, role, of: &dyn Fn(f64) -> f64| {
                let mut channel = ChannelReadings::new(name, role);
                for index in 0..660 * 60 / self.every_s {
                    let seconds = index * self.every_s;
                    let temp_c = of(seconds as f64 / 60.0);
                    let temp_c =
                        self.steps.map_or(temp_c, |steps| (temp_c * steps).round() / steps);
                    channel.at_ms.push(START_MS + self.clock_ms + seconds * 1000);
                    channel.temp_c.push(temp_c as f32);
                    channel.flag.push(Flag::Good);
                    channel.source.push(0);
                    channel.line.push(index as u32 + 2);
                }
                channel
            };
            CookReadings {
                cook: "a".into(),
                season: "2026".into(),
                channels: vec![channel("Pit", Role::Pit, &pit), channel("Meat", Role::Meat, &core)],
                sources: vec!["a.csv".into()],
            }
        }
    }

    fn found(a: &Night, b: &Night) -> Option<SameCook> {
        let (a, b, card) = (a.readings(), b.readings(), Card::default());
        let (a_curve, b_curve) = (Curve::of(&a, &card)?, Curve::of(&b, &card)?);
        let found = same_cook((&a, &card), (&b, &card));
        assert!(found.is_none() || may_be_same(&a_curve, &b_curve), "levels would have missed it");
        found
    }

    #[test]
    fn one_cook_is_found_by_another_clock_unit_pace_and_a_probe_that_is_off() {
        let same = |b: Night, clock_ms: i64, core_c: f64| {
            let found = found(&NIGHT, &b).unwrap();
            assert!((found.clock_ms - clock_ms).abs() <= CLOCK_STEP_MS, "{found:?}");
            assert!((found.core_c - core_c).abs() <= 0.1, "{found:?}");
        };
        same(NIGHT, 0, 0.0);
        same(Night { clock_ms: -18_000_000 - 133_000, ..NIGHT }, 18_133_000, 0.0);
        same(
            Night { core_off_c: 1.5, every_s: 60, clock_ms: 90_000_000_000, ..NIGHT },
            -90_000_000_000,
            -1.5,
        );
        // Whole °C against whole °F.
        let whole = Night { steps: Some(1.0), ..NIGHT };
        let fahrenheit = Night { steps: Some(1.8), clock_ms: 3_600_000, ..NIGHT };
        assert!(found(&whole, &fahrenheit).is_some());
    }

    #[test]
    fn neighbours_and_other_fires_are_two() {
        // The next meat on the same pit.
        assert_eq!(found(&NIGHT, &Night { stall_from_min: 248.0, ..NIGHT }), None);
        // The same core, to a tenth of a degree, over another fire.
        assert_eq!(found(&NIGHT, &Night { fire: 1.1, ..NIGHT }), None);
    }

    #[test]
    fn a_core_alone_has_no_constant() {
        let without_pit = |night: &Night| {
            let mut readings = night.readings();
            readings.channels.remove(0);
            readings
        };
        let card = Card::default();
        let a = without_pit(&NIGHT);
        let shifted = without_pit(&Night { clock_ms: 7_200_000, ..NIGHT });
        assert!(same_cook((&a, &card), (&shifted, &card)).is_some());
        let off = without_pit(&Night { core_off_c: 2.0, ..NIGHT });
        assert_eq!(same_cook((&a, &card), (&off, &card)), None);
    }
}
