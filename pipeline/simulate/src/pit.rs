//! The air and walls of the pit.

mod state;

use crate::error::{SimulateError, within};
use crate::weather::Weather;
use cook::{Celsius, CelsiusDifference, Metres};
pub(crate) use state::PitState;
use std::f64::consts::TAU;

/// Something that happens to the fire, by the clock (seconds since it was lit).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PitChange {
    /// The set-point is changed.
    Setpoint {
        /// When.
        at_s: i64,
        /// To what.
        to: Celsius,
    },
    /// The lid stands open.
    Lid {
        /// From when.
        at_s: i64,
        /// For how long, s.
        open_s: i64,
    },
    /// The fire sags by up to `by` half way through and recovers.
    Sag {
        /// From when.
        from_s: i64,
        /// Until when.
        until_s: i64,
        /// How far below the set-point at its worst.
        by: CelsiusDifference,
    },
    /// The fire is out and is lit again.
    Out {
        /// From when.
        from_s: i64,
        /// Lit again when.
        until_s: i64,
    },
}

/// A pit and how it is run.
#[derive(Debug, Clone, PartialEq)]
pub struct Pit {
    /// Set-point.
    pub setpoint: Celsius,
    /// The weather.
    pub weather: Weather,
    /// Local hour at which it is lit, 0–24.
    pub lit_at_h: f64,
    /// How far the weather gets at it: 0 behind walls, 1 in the open with thin walls. Wind,
    /// rain and cold then make it wander more, recover and come up more slowly, dip deeper
    /// when the lid is open, and sit a little low.
    pub exposure: f64,
    /// Altitude of the place.
    pub altitude: Metres,
    /// Time constant of coming up to heat, min.
    pub startup_min: f64,
    /// Time constant with which the air follows the fire, min.
    pub response_min: f64,
    /// Half height of the ripple of the control, K.
    pub ripple_c: f64,
    /// Its period, min.
    pub ripple_period_min: f64,
    /// Standard deviation of the slow wander, K.
    pub wander_c: f64,
    /// Correlation time of the wander, min.
    pub wander_min: f64,
    /// Convective heat transfer coefficient at the meat, W/(m²·K).
    pub convective: f64,
    /// Emissivity of meat and walls together, 0–1.
    pub emissivity: f64,
    /// What fuel, meat and a water pan add to the humidity ratio of the outside air, kg/kg.
    pub added_humidity: f64,
    /// What happens to the fire.
    pub changes: Vec<PitChange>,
}

impl Pit {
    /// A steady pit at a set-point with middling coefficients (set so that the curves do
    /// what is common practice; no source).
    pub fn steady(setpoint: Celsius) -> Self {
        Self {
            setpoint,
            weather: Weather::mild(),
            lit_at_h: 5.0,
            exposure: 0.5,
            altitude: Metres(200.0),
            startup_min: 20.0,
            response_min: 6.0,
            ripple_c: 1.5,
            ripple_period_min: 17.0,
            wander_c: 2.0,
            wander_min: 45.0,
            convective: 9.5,
            emissivity: 0.8,
            added_humidity: 0.021,
            changes: Vec::new(),
        }
    }

    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        within("pit.setpoint (°C)", self.setpoint.value(), 30.0, 230.0)?;
        self.weather.check()?;
        within("pit.lit_at_h", self.lit_at_h, 0.0, 24.0)?;
        within("pit.exposure", self.exposure, 0.0, 1.0)?;
        within("pit.altitude (m)", self.altitude.value(), -500.0, 5_000.0)?;
        within("pit.startup_min", self.startup_min, 1.0, 240.0)?;
        within("pit.response_min", self.response_min, 0.5, 120.0)?;
        within("pit.ripple_c", self.ripple_c, 0.0, 40.0)?;
        within("pit.ripple_period_min", self.ripple_period_min, 1.0, 600.0)?;
        within("pit.wander_c", self.wander_c, 0.0, 40.0)?;
        within("pit.wander_min", self.wander_min, 1.0, 1_000.0)?;
        within("pit.convective (W/(m²·K))", self.convective, 0.0, 200.0)?;
        within("pit.emissivity", self.emissivity, 0.0, 1.0)?;
        within("pit.added_humidity", self.added_humidity, 0.0, 0.5)
    }

    /// Local hour, so many seconds after the fire was lit; it runs on beyond 24.
    pub fn hour_at(&self, now_s: i64) -> f64 {
        self.lit_at_h + now_s as f64 / 3_600.0
    }

    /// Air outside, so many seconds after the fire was lit.
    pub fn outside_at(&self, now_s: i64) -> Celsius {
        self.weather.air(self.hour_at(now_s))
    }

    /// Set-point at an instant by the fire's own programme.
    pub fn setpoint_at(&self, now_s: i64) -> Celsius {
        self.changes
            .iter()
            .filter_map(|change| match change {
                PitChange::Setpoint { at_s, to } if *at_s <= now_s => Some((*at_s, *to)),
                _ => None,
            })
            .max_by_key(|(at_s, _)| *at_s)
            .map_or(self.setpoint, |(_, to)| to)
    }

    fn lid_open(&self, now_s: i64) -> bool {
        self.changes.iter().any(|change| {
            matches!(change, PitChange::Lid { at_s, open_s }
                if (*at_s..at_s + open_s).contains(&now_s))
        })
    }

    fn out(&self, now_s: i64) -> bool {
        self.changes.iter().any(|change| {
            matches!(change, PitChange::Out { from_s, until_s }
                if (*from_s..*until_s).contains(&now_s))
        })
    }

    /// How far the fire is below its set-point.
    fn sag(&self, now_s: i64) -> f64 {
        self.changes
            .iter()
            .map(|change| match change {
                PitChange::Sag { from_s, until_s, by } if (*from_s..*until_s).contains(&now_s) => {
                    let share = (now_s - from_s) as f64 / (until_s - from_s) as f64;
                    by.value() * 0.5 * (1.0 - (TAU * share).cos())
                }
                _ => 0.0,
            })
            .sum()
    }
}

#[cfg(test)]
mod tests;
