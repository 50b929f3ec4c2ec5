//! The air and walls of the pit.

use crate::error::{SimulateError, within};
use crate::surface::Surroundings;
use cook::{Celsius, CelsiusDifference, Metres};
use physics::air;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use std::f64::consts::TAU;

/// Time constant with which an open lid empties the pit of hot air, s (set by eye).
const LID_TIME_CONSTANT_S: f64 = 90.0;
/// Share of the way to the outside that the grate's air falls under an open lid.
const LID_DEPTH: f64 = 0.6;
/// Time constant of the walls behind the air, s (set by eye).
const WALL_TIME_CONSTANT_S: f64 = 900.0;
/// Time constant of a fire left alone, s (set by eye).
const DYING_TIME_CONSTANT_S: f64 = 5_400.0;

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
    /// Air outside.
    pub outside: Celsius,
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
    /// Humidity ratio of the pit's air, kg/kg: fuel, meat and a water pan raise it.
    pub humidity_ratio: f64,
    /// What happens to the fire.
    pub changes: Vec<PitChange>,
}

impl Pit {
    /// A steady pit at a set-point with middling coefficients (set so that the curves do
    /// what is common practice; no source).
    pub fn steady(setpoint: Celsius) -> Self {
        Self {
            setpoint,
            outside: Celsius(20.0),
            altitude: Metres(200.0),
            startup_min: 20.0,
            response_min: 6.0,
            ripple_c: 1.5,
            ripple_period_min: 17.0,
            wander_c: 2.0,
            wander_min: 45.0,
            convective: 9.5,
            emissivity: 0.8,
            humidity_ratio: 0.03,
            changes: Vec::new(),
        }
    }

    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        within("pit.setpoint (°C)", self.setpoint.value(), 30.0, 230.0)?;
        within("pit.outside (°C)", self.outside.value(), -40.0, 60.0)?;
        within("pit.altitude (m)", self.altitude.value(), -500.0, 5_000.0)?;
        within("pit.startup_min", self.startup_min, 1.0, 240.0)?;
        within("pit.response_min", self.response_min, 0.5, 120.0)?;
        within("pit.ripple_c", self.ripple_c, 0.0, 40.0)?;
        within("pit.ripple_period_min", self.ripple_period_min, 1.0, 600.0)?;
        within("pit.wander_c", self.wander_c, 0.0, 40.0)?;
        within("pit.wander_min", self.wander_min, 1.0, 1_000.0)?;
        within("pit.convective (W/(m²·K))", self.convective, 0.0, 200.0)?;
        within("pit.emissivity", self.emissivity, 0.0, 1.0)?;
        within("pit.humidity_ratio", self.humidity_ratio, 0.0, 0.6)
    }

    /// Set-point at an instant.
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

/// A pit under way.
#[derive(Debug, Clone)]
pub(crate) struct PitState {
    air_c: f64,
    walls_c: f64,
    fire_c: f64,
    wander_c: f64,
    pressure_pa: f64,
    random: ChaCha8Rng,
}

impl PitState {
    pub(crate) fn new(pit: &Pit, seed: u64) -> Result<Self, SimulateError> {
        pit.check()?;
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(1);
        let outside = pit.outside.value();
        Ok(Self {
            air_c: outside,
            walls_c: outside,
            fire_c: outside,
            wander_c: 0.0,
            pressure_pa: air::standard_pressure(pit.altitude)
                .expect("the altitude's range was checked"),
            random,
        })
    }

    /// Temperature of the air at the grate, °C.
    pub(crate) fn air_c(&self) -> f64 {
        self.air_c
    }

    pub(crate) fn surroundings(&self, pit: &Pit) -> Surroundings {
        Surroundings {
            air_c: self.air_c,
            walls_c: self.walls_c,
            convective: pit.convective,
            emissivity: pit.emissivity,
            humidity_ratio: pit.humidity_ratio,
            pressure_pa: self.pressure_pa,
        }
    }

    /// One step; `lid_held_open` by somebody at the meat; `tended` until the last meat is off.
    pub(crate) fn step(
        &mut self,
        pit: &Pit,
        now_s: i64,
        step_s: f64,
        lid_held_open: bool,
        tended: bool,
    ) {
        // One draw a step whatever happens, so that a decision moves no later draw.
        let draw: f64 = StandardNormal.sample(&mut self.random);
        let keep = (-step_s / (pit.wander_min * 60.0)).exp();
        self.wander_c = self.wander_c * keep + pit.wander_c * (1.0 - keep * keep).sqrt() * draw;

        let outside = pit.outside.value();
        let setpoint = pit.setpoint_at(now_s).value();
        let (aim, time_constant) = if !tended || pit.out(now_s) {
            (outside, DYING_TIME_CONSTANT_S)
        } else {
            (setpoint, pit.startup_min * 60.0)
        };
        self.fire_c += (1.0 - (-step_s / time_constant).exp()) * (aim - self.fire_c);
        let heat = ((self.fire_c - outside) / (setpoint - outside)).clamp(0.0, 1.0);
        let phase = TAU * now_s as f64 / (pit.ripple_period_min * 60.0);
        let disturbance = pit.ripple_c * phase.sin() + self.wander_c - pit.sag(now_s);
        let fire = self.fire_c + heat * disturbance;
        let open = lid_held_open || pit.lid_open(now_s);
        let (aim, time_constant) = if open {
            (fire + LID_DEPTH * (outside - fire), LID_TIME_CONSTANT_S)
        } else {
            (fire, pit.response_min * 60.0)
        };
        self.air_c += (1.0 - (-step_s / time_constant).exp()) * (aim - self.air_c);
        self.walls_c +=
            (1.0 - (-step_s / WALL_TIME_CONSTANT_S).exp()) * (self.air_c - self.walls_c);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn air(pit: &Pit, hours: i64, lid_at: Option<i64>) -> Vec<f64> {
        let mut state = PitState::new(pit, 7).unwrap();
        (0..hours * 360)
            .map(|index| {
                let now = index * 10;
                let lid = lid_at.is_some_and(|at| (at..at + 60).contains(&now));
                state.step(pit, now, 10.0, lid, true);
                state.air_c()
            })
            .collect()
    }

    #[test]
    fn it_comes_up_and_wanders_about_its_setpoint() {
        let curve = air(&Pit::steady(Celsius(121.0)), 40, None);
        let settled = &curve[1_000..];
        let mean = settled.iter().sum::<f64>() / settled.len() as f64;
        let sd =
            (settled.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / settled.len() as f64).sqrt();
        assert!((mean - 121.0).abs() < 1.0, "{mean}");
        assert!((1.2..3.5).contains(&sd), "{sd}");
    }

    #[test]
    fn a_lid_dips_the_air_and_moves_no_later_draw() {
        let pit = Pit::steady(Celsius(121.0));
        let (closed, opened) = (air(&pit, 8, None), air(&pit, 8, Some(14_400)));
        assert_eq!(closed[..1_440], opened[..1_440]);
        assert!(opened[1_445] < closed[1_445] - 15.0);
        assert!((opened[2_000] - closed[2_000]).abs() < 0.1);
    }

    #[test]
    fn changes_of_the_fire_show() {
        let mut pit = Pit { wander_c: 0.0, ripple_c: 0.0, ..Pit::steady(Celsius(121.0)) };
        pit.changes = vec![
            PitChange::Sag { from_s: 14_400, until_s: 21_600, by: CelsiusDifference(25.0) },
            PitChange::Setpoint { at_s: 36_000, to: Celsius(135.0) },
            PitChange::Out { from_s: 54_000, until_s: 61_200 },
        ];
        let curve = air(&pit, 24, None);
        assert!((curve[1_800] - 96.0).abs() < 3.0, "{}", curve[1_800]);
        assert!((curve[5_000] - 135.0).abs() < 0.5, "{}", curve[5_000]);
        assert!(curve[6_100] < 75.0, "{}", curve[6_100]);
    }
}
