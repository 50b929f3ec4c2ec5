//! What one probe shows.

use super::Stretch;
use crate::GRID_STEP_S;
use crate::error::{SimulateError, within};
use cook::CelsiusDifference;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Time constant of a bare probe in air or put back into meat, s: a thin steel sheath
/// settles within about a minute (common practice, no source).
const PROBE_LAG_S: f64 = 20.0;

/// A probe on a logger. Seconds count from the lighting of the fire.
#[derive(Debug, Clone, PartialEq)]
pub struct Probe<'a> {
    /// The channel's name in the log.
    pub channel: String,
    /// What it measures: a value in °C every [`GRID_STEP_S`] seconds since the fire was lit.
    /// Beyond its end the last value is held.
    pub curve_c: &'a [f64],
    /// Its error, added to every reading.
    pub offset: CelsiusDifference,
    /// Its readings are so many times the true °C; 1 is sound.
    pub gain: f64,
    /// How its error grows.
    pub drift: Drift,
    /// Where it was pulled for a wrap and put back.
    pub dips: Vec<Dip>,
    /// Where it was taken out into the air and put back elsewhere.
    pub reprobings: Vec<Reprobing>,
    /// Where it shows the last value over and over.
    pub stuck: Vec<Stretch>,
    /// Where it is not plugged in.
    pub unplugged: Vec<Stretch>,
}

/// How a probe's error grows.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Drift {
    /// Not at all.
    #[default]
    None,
    /// At a steady rate from the lighting of the fire, K/h.
    Linear {
        /// The rate, K/h.
        per_h: f64,
    },
    /// A Gaussian random walk from the first reading.
    RandomWalk {
        /// Standard deviation after one hour, K; it grows with the root of time.
        sd_after_hour: f64,
    },
}

/// A probe that is pulled at the wrap and put back reads low for a while.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dip {
    /// From when, seconds since the fire was lit.
    pub at_s: i64,
    /// How far it reads low at first, K.
    pub depth_c: f64,
    /// Minutes until it reads true again.
    pub minutes: f64,
}

/// A probe that is taken out, hangs in the air, and is put back at another place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reprobing {
    /// Taken out, seconds since the fire was lit.
    pub at_s: i64,
    /// Seconds in the air.
    pub out_s: i64,
    /// The air, °C.
    pub air_c: f64,
    /// How much warmer its new place is, K, from then on.
    pub shift_c: f64,
}

impl Dip {
    /// What it takes off a reading: the whole depth within a minute, then fading.
    pub(super) fn at(&self, second: i64) -> f64 {
        let since = (second - self.at_s) as f64;
        let length = self.minutes * 60.0;
        if !(0.0..length).contains(&since) {
            return 0.0;
        }
        let into = (since / 60.0).min(1.0);
        let left = 1.0 - since / length;
        self.depth_c * into * left * left
    }
}

impl Reprobing {
    /// What the probe shows, °C, where without it it would show `celsius`. In the air and
    /// back in the meat it settles with the probe's own lag.
    pub(super) fn at(&self, second: i64, celsius: f64) -> f64 {
        let since = (second - self.at_s) as f64;
        let out = self.out_s as f64;
        if since < 0.0 {
            return celsius;
        }
        let settled = |seconds: f64| 1.0 - (-seconds / PROBE_LAG_S).exp();
        if since < out {
            return celsius + settled(since) * (self.air_c - celsius);
        }
        let place = celsius + self.shift_c;
        let left_out = settled(out) * (self.air_c - celsius);
        let from = celsius + left_out;
        from + settled(since - out) * (place - from)
    }
}

/// What a probe remembers between two readings.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Wear {
    walk: f64,
    walked_until: Option<i64>,
    last: Option<f64>,
}

impl<'a> Probe<'a> {
    /// A probe without a fault.
    pub fn sound(channel: impl Into<String>, curve_c: &'a [f64]) -> Self {
        Self {
            channel: channel.into(),
            curve_c,
            offset: CelsiusDifference(0.0),
            gain: 1.0,
            drift: Drift::None,
            dips: Vec::new(),
            reprobings: Vec::new(),
            stuck: Vec::new(),
            unplugged: Vec::new(),
        }
    }

    pub(super) fn check(&self) -> Result<(), SimulateError> {
        within("probe.offset", self.offset.value(), -100.0, 100.0)?;
        within("probe.gain", self.gain, 0.5, 2.0)?;
        match self.drift {
            Drift::None => {}
            Drift::Linear { per_h } => within("probe.drift.per_h", per_h, -50.0, 50.0)?,
            Drift::RandomWalk { sd_after_hour } => {
                within("probe.drift.sd_after_hour", sd_after_hour, 0.0, 50.0)?;
            }
        }
        for reprobing in &self.reprobings {
            within("probe.reprobings.out_s", reprobing.out_s as f64, 0.0, 86_400.0)?;
            within("probe.reprobings.air_c", reprobing.air_c, -60.0, 600.0)?;
        }
        for dip in &self.dips {
            within("probe.dips.minutes", dip.minutes, 0.0, 1_440.0)?;
        }
        Ok(())
    }

    /// What it shows, °C, `error_c` of the reading included; `None` where it shows nothing.
    pub(super) fn shows(
        &self,
        second: i64,
        error_c: f64,
        wear: &mut Wear,
        random: &mut ChaCha8Rng,
    ) -> Option<f64> {
        let drift_c = match self.drift {
            Drift::None => 0.0,
            Drift::Linear { per_h } => per_h * second as f64 / 3_600.0,
            Drift::RandomWalk { sd_after_hour } => {
                let hours =
                    wear.walked_until.map_or(0.0, |from| (second - from).max(0) as f64 / 3_600.0);
                let step: f64 = StandardNormal.sample(random);
                wear.walked_until = Some(second);
                wear.walk += sd_after_hour * hours.sqrt() * step;
                wear.walk
            }
        };
        if self.unplugged.iter().any(|stretch| stretch.contains(second)) {
            return None;
        }
        if let Some(last) = wear.last
            && self.stuck.iter().any(|stretch| stretch.contains(second))
        {
            return Some(last);
        }
        let mut place = interpolate(self.curve_c, second)?;
        for reprobing in &self.reprobings {
            place = reprobing.at(second, place);
        }
        let shown = self.gain * place + self.offset.value() + drift_c + error_c
            - self.dips.iter().map(|dip| dip.at(second)).sum::<f64>();
        wear.last = Some(shown);
        Some(shown)
    }
}

fn interpolate(curve: &[f64], second: i64) -> Option<f64> {
    let place = (second as f64 / GRID_STEP_S as f64).max(0.0);
    let index = place as usize;
    match (curve.get(index), curve.get(index + 1)) {
        (Some(a), Some(b)) => Some(a + (place - index as f64) * (b - a)),
        _ => curve.last().copied(),
    }
}
