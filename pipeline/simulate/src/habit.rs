//! Habits: how likely a team is to wrap, and to raise the set-point, at each moment.
//!
//! A habit is a rate an hour that depends on what the cook has seen so far. It is looked at
//! once a minute with draws from streams that belong to the cook and to nothing else, a fixed
//! number a minute whatever happens. So a moment's draw is the same under every strategy.
//!
//! With `bark` 0 a rate depends only on what a log and a card show (core, its rise, time,
//! weight): the confounding is measured, and weights can in principle undo it. Any other
//! value confounds through something that no log shows.

use crate::error::{SimulateError, within};
use cook::{Celsius, CelsiusDifference, WrapMethod};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Seconds between two looks at a habit.
pub(crate) const LOOK_EVERY_S: i64 = 60;
/// Share of the bark's moisture about which `bark` counts (0.4: a bark that is setting).
const BARK_ABOUT: f64 = 0.4;
/// Rise of the core about which `per_rise` counts, °C/h.
const RISE_ABOUT: f64 = 4.0;
/// No rate is above this, 1/h: nobody acts within seconds.
const FASTEST_PER_H: f64 = 30.0;
/// Streams of a cook's draws; the fire's wander has stream 1 and cooks count from here.
const WRAP_STREAMS: u64 = 1 << 32;
const BUMP_STREAMS: u64 = 2 << 32;
const RAISE_STREAMS: u64 = 3 << 32;
const SPRAY_STREAMS: u64 = 4 << 32;

/// How a team wraps by habit: at `rate_per_h` when the core is `around_core`, rising 4 °C an
/// hour, an hour past 55 °C, on a cut of `around_weight_kg`; the logarithm of the rate is a
/// straight line in each of these.
#[derive(Debug, Clone, PartialEq)]
pub struct WrapHabit {
    /// Methods, and the share of each in the team's wraps.
    pub methods: Vec<(WrapMethod, f64)>,
    /// Below this core nobody thinks of it.
    pub from_core: Celsius,
    /// Core at which the rate is `rate_per_h`.
    pub around_core: Celsius,
    /// Rate of wrapping, 1/h.
    pub rate_per_h: f64,
    /// Per kelvin of core above `around_core`.
    pub per_kelvin: f64,
    /// Per °C/h of the core's rise over the last 20 min above 4: negative where people wrap
    /// because it stands.
    pub per_rise: f64,
    /// Per hour since the core passed 55 °C, above one: impatience.
    pub per_hour: f64,
    /// Per kilogram above `around_weight_kg`.
    pub per_kg: f64,
    /// Weight about which `per_kg` counts, kg.
    pub around_weight_kg: f64,
    /// Per share of the surface's moisture gone beyond 0.6: the bark, which no log shows.
    pub bark: f64,
}

/// How a team raises the set-point by habit: when the finish looks late.
///
/// The finish looks late when the time since meat-on is above `late_h_per_kg` times the
/// weight while the core is below 85 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BumpHabit {
    /// Hours a kilogram by which a cook should be nearly done.
    pub late_h_per_kg: f64,
    /// Probability that a wrap comes with a bump when the finish looks late.
    pub with_late_wrap: f64,
    /// The same when it does not.
    pub with_wrap: f64,
    /// Rate of bumps without a wrap while it looks late, 1/h.
    pub late_rate_per_h: f64,
    /// How far above the fire's first set-point.
    pub by: CelsiusDifference,
}

/// A rate that goes with how the cook goes: `rate_per_h` when the core rises 4 °C an hour, an hour
/// past 55 °C; the logarithm of the rate is a straight line in each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateHabit {
    /// Below this core nobody thinks of it.
    pub from_core: Celsius,
    /// The rate, 1/h.
    pub rate_per_h: f64,
    /// Per °C/h of the core's rise over the last 20 min above 4: negative where people act because
    /// it stands.
    pub per_rise: f64,
    /// Per hour since the core passed 55 °C, above one: impatience.
    pub per_hour: f64,
}

impl RateHabit {
    /// The rate, 1/h.
    pub fn rate_per_h(&self, history: &History) -> f64 {
        if history.core_c < self.from_core.value() {
            return 0.0;
        }
        let log = self.per_rise * (history.rise_c_per_h - RISE_ABOUT)
            + self.per_hour * (history.clock_h - 1.0);
        (self.rate_per_h * log.exp()).min(FASTEST_PER_H)
    }

    fn check(&self) -> Result<(), SimulateError> {
        within("restlessness.from_core (°C)", self.from_core.value(), 0.0, 100.0)?;
        within("restlessness.rate_per_h", self.rate_per_h, 0.0, FASTEST_PER_H)?;
        within("restlessness.per_rise", self.per_rise, -50.0, 50.0)?;
        within("restlessness.per_hour", self.per_hour, -50.0, 50.0)
    }
}

/// The lid is opened, and the meat sprayed or only looked at; until the first wrap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spray {
    /// How readily.
    pub rate: RateHabit,
    /// Water that it leaves on the meat, kg/m²; without any it is an opened lid in the events.
    pub water_kg_per_m2: f64,
    /// Seconds that the lid is open for it. With neither it is a spray of which nothing comes.
    pub lid_s: i64,
}

/// What a cook does out of restlessness, whatever its habit of wrapping.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Restlessness {
    /// Raises the set-point once, by so much above the fire's first.
    pub raise: Option<(RateHabit, CelsiusDifference)>,
    /// Opens the lid, again and again.
    pub spray: Option<Spray>,
}

impl Restlessness {
    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        if let Some((rate, by)) = &self.raise {
            rate.check()?;
            within("restlessness.raise (K)", by.value(), 0.0, 100.0)?;
        }
        if let Some(spray) = &self.spray {
            spray.rate.check()?;
            within("restlessness.water_kg_per_m2", spray.water_kg_per_m2, 0.0, 2.0)?;
            within("restlessness.lid_s", spray.lid_s as f64, 0.0, 3_600.0)?;
        }
        Ok(())
    }
}

/// What a cook does by habit. Each habit applies once: the first wrap, the first bump.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// The wrap; none: left to the plan's own wraps.
    pub wrap: Option<WrapHabit>,
    /// The bump; none: left to the plan's own bumps.
    pub bump: Option<BumpHabit>,
}

impl Habit {
    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        if let Some(wrap) = &self.wrap {
            for (_, share) in &wrap.methods {
                within("habit.wrap.methods (share)", *share, 0.0, 1.0)?;
            }
            let total = wrap.methods.iter().map(|(_, share)| share).sum::<f64>();
            within("habit.wrap.methods (sum of shares)", total, 0.0, 1.0 + 1e-9)?;
            within("habit.wrap.from_core (°C)", wrap.from_core.value(), 0.0, 100.0)?;
            within("habit.wrap.around_core (°C)", wrap.around_core.value(), 0.0, 100.0)?;
            within("habit.wrap.rate_per_h", wrap.rate_per_h, 0.0, FASTEST_PER_H)?;
            within("habit.wrap.around_weight_kg", wrap.around_weight_kg, 0.0, 60.0)?;
            for (name, value) in [
                ("habit.wrap.per_kelvin", wrap.per_kelvin),
                ("habit.wrap.per_rise", wrap.per_rise),
                ("habit.wrap.per_hour", wrap.per_hour),
                ("habit.wrap.per_kg", wrap.per_kg),
                ("habit.wrap.bark", wrap.bark),
            ] {
                within(name, value, -50.0, 50.0)?;
            }
        }
        if let Some(bump) = &self.bump {
            within("habit.bump.late_h_per_kg", bump.late_h_per_kg, 0.0, 20.0)?;
            within("habit.bump.with_late_wrap", bump.with_late_wrap, 0.0, 1.0)?;
            within("habit.bump.with_wrap", bump.with_wrap, 0.0, 1.0)?;
            within("habit.bump.late_rate_per_h", bump.late_rate_per_h, 0.0, FASTEST_PER_H)?;
            within("habit.bump.by (K)", bump.by.value(), 0.0, 100.0)?;
        }
        Ok(())
    }
}

/// What a habit looks at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct History {
    /// Minutes since meat-on.
    pub elapsed_min: f64,
    /// The core, °C.
    pub core_c: f64,
    /// Its rise over the last 20 min, °C/h.
    pub rise_c_per_h: f64,
    /// Hours since the core first passed 55 °C; 0 before.
    pub clock_h: f64,
    /// Weight as it went on, kg.
    pub weight_kg: f64,
    /// Share of the surface's moisture left.
    pub moisture_left: f64,
}

impl WrapHabit {
    /// Rate of wrapping in any method, 1/h.
    pub fn rate_per_h(&self, history: &History) -> f64 {
        if history.core_c < self.from_core.value() {
            return 0.0;
        }
        let log = self.per_kelvin * (history.core_c - self.around_core.value())
            + self.per_rise * (history.rise_c_per_h - RISE_ABOUT)
            + self.per_hour * (history.clock_h - 1.0)
            + self.per_kg * (history.weight_kg - self.around_weight_kg)
            + self.bark * (BARK_ABOUT - history.moisture_left);
        (self.rate_per_h * log.exp()).min(FASTEST_PER_H)
    }
}

impl BumpHabit {
    /// Whether the finish looks late.
    pub fn looks_late(&self, history: &History) -> bool {
        history.core_c < 85.0 && history.elapsed_min > 60.0 * self.late_h_per_kg * history.weight_kg
    }
}

/// The draws of one cook.
#[derive(Debug, Clone)]
pub(crate) struct Draws {
    /// Where in an open window a cook without a habit wraps, 0–1.
    pub(crate) in_window: f64,
    /// Compared with the probability that a wrap comes with a bump.
    pub(crate) bump_with_wrap: f64,
    wrap: ChaCha8Rng,
    bump: ChaCha8Rng,
    raise: ChaCha8Rng,
    spray: ChaCha8Rng,
}

impl Draws {
    /// The draws of the cook with an index on the fire with a seed.
    pub(crate) fn new(seed: u64, cook: usize) -> Self {
        let stream = |first: u64| {
            let mut random = ChaCha8Rng::seed_from_u64(seed);
            random.set_stream(first + cook as u64);
            random
        };
        let (mut wrap, mut bump) = (stream(WRAP_STREAMS), stream(BUMP_STREAMS));
        let (raise, spray) = (stream(RAISE_STREAMS), stream(SPRAY_STREAMS));
        Self { in_window: wrap.random(), bump_with_wrap: bump.random(), wrap, bump, raise, spray }
    }

    /// A minute's look at the wrap habit: which methods the hand goes to, as bits in the
    /// order of the habit's methods. One draw a method, whatever comes of it.
    pub(crate) fn wrap(&mut self, habit: &WrapHabit, rate_per_h: f64) -> u32 {
        let hours = LOOK_EVERY_S as f64 / 3_600.0;
        habit.methods.iter().enumerate().fold(0, |bits, (index, (_, share))| {
            let draw: f64 = self.wrap.random();
            let acts = draw < 1.0 - (-rate_per_h * share * hours).exp();
            bits | (u32::from(acts) << index)
        })
    }

    /// A minute's look at the bump habit. One draw, whatever comes of it.
    pub(crate) fn bump(&mut self, rate_per_h: f64) -> bool {
        acts(&mut self.bump, rate_per_h)
    }

    /// A minute's look at raising the set-point out of restlessness.
    pub(crate) fn raise(&mut self, rate_per_h: f64) -> bool {
        acts(&mut self.raise, rate_per_h)
    }

    /// A minute's look at opening the lid out of restlessness.
    pub(crate) fn spray(&mut self, rate_per_h: f64) -> bool {
        acts(&mut self.spray, rate_per_h)
    }
}

/// Whether somebody acts in a minute. One draw, whatever comes of it.
fn acts(stream: &mut ChaCha8Rng, rate_per_h: f64) -> bool {
    let draw: f64 = stream.random();
    draw < 1.0 - (-rate_per_h * LOOK_EVERY_S as f64 / 3_600.0).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn habit() -> WrapHabit {
        WrapHabit {
            methods: vec![(WrapMethod::Foil, 0.25), (WrapMethod::Paper, 0.75)],
            from_core: Celsius(60.0),
            around_core: Celsius(70.0),
            rate_per_h: 0.5,
            per_kelvin: 0.3,
            per_rise: 0.0,
            per_hour: 0.2,
            per_kg: 0.0,
            around_weight_kg: 5.5,
            bark: 0.0,
        }
    }

    fn history(core_c: f64) -> History {
        History {
            elapsed_min: 400.0,
            core_c,
            rise_c_per_h: 4.0,
            clock_h: 1.0,
            weight_kg: 5.5,
            moisture_left: 0.5,
        }
    }

    #[test]
    fn the_rate_is_what_it_says() {
        let habit = habit();
        assert_eq!(habit.rate_per_h(&history(59.0)), 0.0);
        assert!((habit.rate_per_h(&history(70.0)) - 0.5).abs() < 1e-12);
        let ratio = habit.rate_per_h(&history(71.0)) / habit.rate_per_h(&history(70.0));
        assert!((ratio.ln() - 0.3).abs() < 1e-12);
    }

    #[test]
    fn methods_come_as_often_as_their_shares() {
        let habit = habit();
        let mut counts = [0_u32; 2];
        for cook in 0..20_000 {
            let mut draws = Draws::new(7, cook);
            loop {
                match draws.wrap(&habit, 2.0) {
                    0 => {}
                    bits => {
                        counts[bits.trailing_zeros() as usize] += 1;
                        break;
                    }
                }
            }
        }
        // Standard error of the share is 0.003.
        let share = f64::from(counts[0]) / 20_000.0;
        assert!((share - 0.25).abs() < 0.012, "{share}");
    }

    #[test]
    fn a_rate_gives_its_mean_waiting_time() {
        let minutes: f64 = (0..5_000)
            .map(|cook| {
                let mut draws = Draws::new(3, cook);
                let mut waited = 0.0;
                while !draws.bump(0.5) {
                    waited += 1.0;
                }
                waited
            })
            .sum::<f64>()
            / 5_000.0;
        // Mean 120 min, standard error 1.7.
        assert!((minutes - 120.0).abs() < 7.0, "{minutes}");
    }

    #[test]
    fn restlessness_rises_as_the_core_stands() {
        let rate =
            RateHabit { from_core: Celsius(60.0), rate_per_h: 0.5, per_rise: -0.2, per_hour: 0.3 };
        let still = History { rise_c_per_h: -1.0, ..history(70.0) };
        assert!((rate.rate_per_h(&history(70.0)) - 0.5).abs() < 1e-12);
        assert!((rate.rate_per_h(&still) - 0.5 * 1.0_f64.exp()).abs() < 1e-12);
        assert_eq!(rate.rate_per_h(&history(59.0)), 0.0);
        let raise = Some((RateHabit { rate_per_h: -1.0, ..rate }, CelsiusDifference(15.0)));
        assert!(Restlessness { raise, spray: None }.check().is_err());
    }

    #[test]
    fn nonsense_is_named() {
        let mut wrap = habit();
        wrap.methods[0].1 = 0.9;
        let error = Habit { wrap: Some(wrap), bump: None }.check().unwrap_err();
        assert!(error.to_string().contains("sum of shares"));
    }
}
