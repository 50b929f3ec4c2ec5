//! One cook in the stores of two teams: its log was exported twice, under other names, with another clock,
//! in another unit, or with the probe's correction in one of them only.
//!
//! Levels of ten minutes tell which cooks may be one ([`may_be_same`]); whether they are is told by the
//! readings ([`same_cook`]), in which a fire and a probe leave what no other cook has.

use crate::copies::{LEVELS, PACE_MS, PASS_C, RISE_C};
use crate::curve::{Curve, LEVEL_MS, median, pit_and_core, thin};
use cook::{Card, CookReadings};
use phases::{Channel, Samples};

/// Laid over each other so many minutes to either side too: a probe that is off passes 50 °C earlier or
/// later by what the meat takes for that.
const TRIED_MIN: i64 = 25;
/// The readings of one cook lie over so large a share of the shorter curve.
const COVERED: f64 = 0.9;
/// Levels that may be of one cook differ by no more than this, °C, beside a constant: of a log that has a
/// reading in ten minutes, the level is that reading …
const LEVEL_ALIKE_C: f64 = 1.5;
/// … in so large a share of them. Readings decide; this only spares reading them.
const LEVEL_SHARE: f64 = 0.9;
/// Levels that a coarse log lacks in between are drawn through for so many.
const LEVELS_AWAY: usize = 3;
/// A probe's correction that one store has and the other lacks is this at most, °C. Common practice, no
/// source: a probe that is further off in ice is thrown away. Where no pit was logged to tell which instants
/// belong together, a core that is off and late would be any core's: none is allowed then.
const PROBE_OFF_C: f64 = 3.0;
const PROBE_OFF_WITHOUT_PIT_C: f64 = 0.3;
/// Readings are held against each other in means over this, ms (10 min): what two meats have of their own
/// lasts for hours, what two exports of one probe have is gone within minutes.
const MEAN_MS: i64 = 600_000;
/// Fewer means than this tell nothing of either.
const FEWEST_MEANS: usize = 12;
/// Means of one time differ by no more than this, °C, beside the constant and noise: whole °C of one export,
/// whole °F of the other.
const CORE: Alike = Alike { within_c: 0.6, share: 0.95, noise_sd: 2.0, at_most_c: 0.9 };
/// A pit swings within a minute, so that the straight line between readings is further off.
const PIT: Alike = Alike { within_c: 1.0, share: 0.9, noise_sd: 1.64, at_most_c: 2.5 };
/// Clocks are tried in steps of this, ms, at whole ones first: most exports leave the minutes as they are …
const CLOCK_STEP_MS: i64 = 60_000;
/// … and about the best of them in steps of this: no reading changes by half a degree in five seconds.
const CLOCK_FINE_MS: i64 = 10_000;
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
    let pairs: Vec<Pair> = middles
        .filter_map(|at_ms| {
            let other_c = level_on_line(b, at_ms - clock_ms)?;
            Some(Pair { at_ms, one_c: a.core_at(at_ms)?, other_c })
        })
        .collect();
    let lasts = pairs.last().zip(pairs.first()).map_or(0, |(last, first)| last.at_ms - first.at_ms);
    let known = |curve: &Curve| curve.core.iter().flatten().count() as f64;
    lasts >= (LEVELS as i64 - 1) * LEVEL_MS
        && pairs.len() as f64 >= COVERED * known(a).min(known(b))
        && rise(&pairs) >= RISE_C
        && Beside::of(pairs.iter().map(Pair::apart), LEVEL_ALIKE_C).is_one(PROBE_OFF_C, LEVEL_SHARE)
}

/// The core's level between those that are known, °C.
pub(crate) fn level_on_line(curve: &Curve, at_ms: i64) -> Option<f64> {
    let from_middle = at_ms - curve.first_ms - LEVEL_MS / 2;
    let below = usize::try_from(from_middle.div_euclid(LEVEL_MS)).ok()?;
    let level = |index: usize| Some((index, f64::from((*curve.core.get(index)?)?) / 10.0));
    let (from, from_c) = (0..LEVELS_AWAY).find_map(|away| level(below.checked_sub(away)?))?;
    let (to, to_c) = (1..=LEVELS_AWAY).find_map(|away| level(below + away))?;
    let share = (from_middle as f64 / LEVEL_MS as f64 - from as f64) / (to - from) as f64;
    Some(from_c + share * (to_c - from_c))
}

fn rise(pairs: &[Pair]) -> f64 {
    let first = pairs.iter().map(|pair| pair.one_c);
    first.clone().fold(f64::NEG_INFINITY, f64::max) - first.fold(f64::INFINITY, f64::min)
}

/// Whether two cooks are one by their readings: at the instants of the coarser log, with straight lines
/// between those of the finer, the cores are alike beside a shift of the clock, a constant and noise, and so
/// are the pits at that same shift where both were logged.
pub fn same_cook(
    (a, a_card): (&CookReadings, &Card),
    (b, b_card): (&CookReadings, &Card),
) -> Option<SameCook> {
    let middle_ms = Curve::of(a, a_card)?.core_reaches(PASS_C.1)?
        - Curve::of(b, b_card)?.core_reaches(PASS_C.1)?;
    let thinned = |readings, card| pit_and_core(&thin(readings), card);
    let step = |core: Samples<'_>| {
        median(core.at_ms.windows(2).map(|pair| (pair[1] - pair[0]) as f64).collect())
    };
    let (a_thin, b_thin) = (thinned(a, a_card), thinned(b, b_card));
    let step_a = step(a_thin.1.as_ref()?.samples.view())?;
    let step_b = step(b_thin.1.as_ref()?.samples.view())?;
    // At whole steps of the clock, so that readings of one instant meet.
    let middle_ms = (middle_ms + CLOCK_STEP_MS / 2).div_euclid(CLOCK_STEP_MS) * CLOCK_STEP_MS;
    if step_b > step_a {
        let found = laid_best(&b_thin, &pit_and_core(a, a_card), &a_thin, -middle_ms)?;
        return Some(SameCook { clock_ms: -found.clock_ms, core_c: -found.core_c });
    }
    laid_best(&a_thin, &pit_and_core(b, b_card), &b_thin, middle_ms)
}

/// A pit and a core.
type PitAndCore = (Option<Channel>, Option<Channel>);

/// Of several clocks the one at which the readings are most alike, then the nearest.
fn laid_best(
    (a_pit, a_core): &PitAndCore,
    (b_pit, b_core): &PitAndCore,
    b_thin: &PitAndCore,
    middle_ms: i64,
) -> Option<SameCook> {
    fn view(of: Option<&Channel>) -> Option<Samples<'_>> {
        of.map(|channel| channel.samples.view())
    }
    let core =
        Laid::new(view(a_core.as_ref())?, view(b_core.as_ref())?, view(b_thin.1.as_ref())?, &CORE);
    let pits = view(a_pit.as_ref()).zip(view(b_pit.as_ref())).zip(view(b_thin.0.as_ref()));
    let pit = pits.map(|((a, b), thin)| Laid::new(a, b, thin, &PIT));
    let at = |clock_ms: i64| {
        let off_c = if pit.is_some() { PROBE_OFF_C } else { PROBE_OFF_WITHOUT_PIT_C };
        let cores = core.at(clock_ms, off_c, RISE_C)?;
        let pits = match &pit {
            Some(pit) => pit.at(clock_ms, PROBE_OFF_C, 0.0)?.spread_c,
            None => 0.0,
        };
        Some((SameCook { clock_ms, core_c: cores.middle_c }, cores.spread_c + pits))
    };
    let best = |clocks: &mut dyn Iterator<Item = i64>| {
        let mut best: Option<(SameCook, f64)> = None;
        for (found, spread) in clocks.filter_map(at) {
            if best.is_none_or(|(_, least)| spread < least) {
                best = Some((found, spread));
            }
        }
        best
    };
    let (found, _) = best(&mut clocks(middle_ms, CLOCK_STEP_MS))?;
    let fine = CLOCK_STEP_MS / CLOCK_FINE_MS;
    let around = (0..=fine).flat_map(|step| {
        [found.clock_ms + step * CLOCK_FINE_MS, found.clock_ms - step * CLOCK_FINE_MS]
    });
    best(&mut { around }).map(|(found, _)| found)
}

/// How alike two records of one probe are.
struct Alike {
    /// Beside noise, °C.
    within_c: f64,
    /// In so large a share of the means.
    share: f64,
    /// Standard deviations of the noise of a mean that are allowed for.
    noise_sd: f64,
    /// However noisy, °C.
    at_most_c: f64,
}

/// Two channels to be laid over each other.
struct Laid<'a> {
    /// The coarser.
    points: Samples<'a>,
    line: Samples<'a>,
    /// A gap in the line, ms.
    gap_ms: i64,
    alike: &'a Alike,
    /// With noise, °C.
    within_c: f64,
}

impl<'a> Laid<'a> {
    fn new(points: Samples<'a>, line: Samples<'a>, thin: Samples<'a>, alike: &'a Alike) -> Self {
        let step_ms = |of: Samples<'_>| {
            let steps = of.at_ms.windows(2).map(|pair| (pair[1] - pair[0]) as f64).collect();
            median(steps).unwrap_or(0.0).max(1.0)
        };
        let in_mean = (MEAN_MS as f64 / step_ms(points)).max(1.0);
        let noise_c = alike.noise_sd * noise_c(thin) * (2.0 / in_mean).sqrt();
        let within_c = alike.within_c.hypot(noise_c).min(alike.at_most_c);
        let gap_ms = GAP_MS.max((1.5 * step_ms(line)) as i64);
        Self { points, line, gap_ms, alike, within_c }
    }

    /// What they have beside each other at a shift of the clock, where they are one.
    fn at(&self, clock_ms: i64, off_c: f64, rise_c: f64) -> Option<Beside> {
        let pairs = self.pairs(clock_ms);
        if pairs.len() < FEWEST_MEANS || !self.is_covered(&pairs) || rise(&pairs) < rise_c {
            return None;
        }
        let first_ms = pairs.first()?.at_ms;
        let means = pairs.chunk_by(|one, next| {
            let mean = |pair: &Pair| (pair.at_ms - first_ms) / MEAN_MS;
            mean(one) == mean(next)
        });
        let means =
            means.map(|of| of.iter().map(Pair::apart).sum::<f64>() / of.len().max(1) as f64);
        let beside = Beside::of(means, self.within_c);
        (beside.of >= FEWEST_MEANS && beside.is_one(off_c, self.alike.share)).then_some(beside)
    }

    fn is_covered(&self, pairs: &[Pair]) -> bool {
        let lasts =
            |of: Samples<'_>| of.at_ms.last().zip(of.at_ms.first()).map_or(0, |(l, f)| l - f);
        let (points, line) = (lasts(self.points), lasts(self.line));
        let shorter = points.min(line) as f64 / points.max(1) as f64;
        pairs.len() as f64 >= COVERED * shorter * self.points.len() as f64
    }

    /// The points, and the line at the same instants.
    fn pairs(&self, clock_ms: i64) -> Vec<Pair> {
        let line = self.line;
        let mut next = 0;
        let pair = |(&at_ms, &one_c): (&i64, &f64)| {
            let on_line_ms = at_ms - clock_ms;
            while *line.at_ms.get(next)? < on_line_ms {
                next += 1;
            }
            let (to_ms, to_c) = (line.at_ms[next], line.temp_c[next]);
            if to_ms == on_line_ms {
                return Some(Pair { at_ms, one_c, other_c: to_c });
            }
            let before = next.checked_sub(1)?;
            let (from_ms, from_c) = (line.at_ms[before], line.temp_c[before]);
            let share = (on_line_ms - from_ms) as f64 / (to_ms - from_ms) as f64;
            let other_c = from_c + share * (to_c - from_c);
            (to_ms - from_ms <= self.gap_ms).then_some(Pair { at_ms, one_c, other_c })
        };
        self.points.at_ms.iter().zip(self.points.temp_c).filter_map(pair).collect()
    }
}

/// The standard deviation of a reading about its course, °C, by second differences: what the course does
/// between three readings in a row is small beside it.
fn noise_c(samples: Samples<'_>) -> f64 {
    let second = samples.temp_c.windows(3).map(|of| (of[0] - 2.0 * of[1] + of[2]).abs());
    // The median of a normal's size is 0.6745 of its standard deviation; a second difference has the
    // variance of six readings.
    median(second.collect()).unwrap_or(0.0) / 0.6745 / 6.0_f64.sqrt()
}

/// A reading, and the other record's at its instant.
struct Pair {
    at_ms: i64,
    one_c: f64,
    other_c: f64,
}

impl Pair {
    fn apart(&self) -> f64 {
        self.one_c - self.other_c
    }
}

/// What two courses have beside a constant.
struct Beside {
    /// How many differences.
    of: usize,
    /// The constant: the middle of the differences, °C.
    middle_c: f64,
    /// The middle of what is left, °C.
    spread_c: f64,
    /// The share of the pairs that are alike.
    share: f64,
}

impl Beside {
    fn of(apart: impl Iterator<Item = f64>, alike_c: f64) -> Self {
        let differences: Vec<f64> = apart.collect();
        let of = differences.len();
        let middle_c = median(differences.clone()).unwrap_or(0.0);
        let left: Vec<f64> = differences.iter().map(|d| (d - middle_c).abs()).collect();
        let alike = left.iter().filter(|left| **left <= alike_c).count();
        let spread_c = median(left).unwrap_or(0.0);
        Self { of, middle_c, spread_c, share: alike as f64 / of.max(1) as f64 }
    }

    fn is_one(&self, off_c: f64, share: f64) -> bool {
        self.middle_c.abs() <= off_c && self.share >= share
    }
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
            assert!((found.clock_ms - clock_ms).abs() <= CLOCK_FINE_MS, "{found:?}");
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
