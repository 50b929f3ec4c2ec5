//! A pit under way.

use crate::error::SimulateError;
use crate::pit::Pit;
use crate::surface::Surroundings;
use cook::Celsius;
use physics::air;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use std::f64::consts::TAU;

/// Time constant with which an open lid empties the pit of hot air, s (set by eye).
const LID_TIME_CONSTANT_S: f64 = 90.0;
/// Share of the way to the outside at which the grate's air stays under an open lid.
const LID_LEFT: f64 = 0.4;
/// Time constant of the walls behind the air, s (set by eye).
const WALL_TIME_CONSTANT_S: f64 = 900.0;
/// Time constant of a fire left alone, s (set by eye).
const DYING_TIME_CONSTANT_S: f64 = 5_400.0;
/// How far a pit sits below its set-point where weather doubles its losses, K (set by eye).
const DROOP_C: f64 = 4.0;
/// Temperature outside at which losses count as one.
const REFERENCE_OUTSIDE_C: f64 = 20.0;
/// Seconds between two looks at the weather.
const WEATHER_EVERY_S: i64 = 600;
/// Stream of the wander's draws.
const WANDER_STREAM: u64 = 1;

/// A pit under way.
#[derive(Debug, Clone)]
pub(crate) struct PitState {
    air_c: f64,
    walls_c: f64,
    fire_c: f64,
    wander_c: f64,
    pressure_pa: f64,
    /// Convection in the air of the place against sea level's: the coefficient of a laminar
    /// flow goes with the square root of density, and that with pressure (Incropera,
    /// Fundamentals of Heat and Mass Transfer, ch. 7).
    thin_air: f64,
    random: ChaCha8Rng,
    asked_c: Option<f64>,
    keeps_setpoint: bool,
    weather: WeatherNow,
    /// Sine and cosine of the ripple, turned on by an angle each step.
    ripple: (f64, f64),
    coefficients: Coefficients,
}

/// What the weather does to the pit now.
#[derive(Debug, Clone, Copy)]
struct WeatherNow {
    outside_c: f64,
    humidity_ratio: f64,
    /// Losses against still air at 20 °C, as far as they get at the pit.
    loss: f64,
    until_s: i64,
}

/// Shares of the way covered in one step, for each time constant.
#[derive(Debug, Clone, Copy)]
struct Coefficients {
    step_s: f64,
    startup: f64,
    response: f64,
    lid: f64,
    dying: f64,
    walls: f64,
    wander_keep: f64,
    wander_add: f64,
    ripple_turn: (f64, f64),
}

impl PitState {
    /// A pit about to be lit. `keeps_setpoint`: no change of the set-point is made.
    pub(crate) fn new(pit: &Pit, seed: u64, keeps_setpoint: bool) -> Result<Self, SimulateError> {
        pit.check()?;
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(WANDER_STREAM);
        let pressure_pa =
            air::standard_pressure(pit.altitude).expect("the altitude's range was checked");
        let weather = WeatherNow::at(pit, 0, pressure_pa, pit.setpoint.value());
        let outside = weather.outside_c;
        Ok(Self {
            air_c: outside,
            walls_c: outside,
            fire_c: outside,
            wander_c: 0.0,
            pressure_pa,
            thin_air: (pressure_pa / air::STANDARD_PRESSURE_PA).sqrt(),
            random,
            asked_c: None,
            keeps_setpoint,
            ripple: (0.0, 1.0),
            coefficients: Coefficients::new(pit, &weather, crate::GRID_STEP_S as f64),
            weather,
        })
    }

    /// Temperature of the air at the grate, °C.
    pub(crate) fn air_c(&self) -> f64 {
        self.air_c
    }

    /// Temperature of the walls, °C.
    pub(crate) fn walls_c(&self) -> f64 {
        self.walls_c
    }

    /// What is around the meat, with air and walls as given.
    pub(crate) fn surroundings(&self, pit: &Pit, air_c: f64, walls_c: f64) -> Surroundings {
        Surroundings {
            air_c,
            walls_c,
            convective: pit.convective * self.thin_air,
            emissivity: pit.emissivity,
            humidity_ratio: self.weather.humidity_ratio + pit.added_humidity,
            pressure_pa: self.pressure_pa,
        }
    }

    /// Pressure of the place, Pa.
    pub(crate) fn pressure_pa(&self) -> f64 {
        self.pressure_pa
    }

    /// Set-point now, °C.
    pub(crate) fn setpoint_c(&self, pit: &Pit, now_s: i64) -> f64 {
        if self.keeps_setpoint {
            return pit.setpoint.value();
        }
        let programme = pit.setpoint_at(now_s).value();
        self.asked_c.map_or(programme, |asked| asked.max(programme))
    }

    /// Somebody asks for a set-point, °C. Whether it was raised, and to what.
    pub(crate) fn ask(&mut self, pit: &Pit, now_s: i64, celsius: f64) -> Option<Celsius> {
        if self.keeps_setpoint || celsius <= self.setpoint_c(pit, now_s) {
            return None;
        }
        self.asked_c = Some(celsius);
        Some(Celsius(celsius))
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
        let setpoint = self.setpoint_c(pit, now_s);
        if now_s >= self.weather.until_s {
            self.weather = WeatherNow::at(pit, now_s, self.pressure_pa, setpoint);
            self.coefficients = Coefficients::new(pit, &self.weather, step_s);
        } else if self.coefficients.step_s != step_s {
            self.coefficients = Coefficients::new(pit, &self.weather, step_s);
        }
        let WeatherNow { outside_c: outside, loss, .. } = self.weather;
        let by = self.coefficients;
        // One draw a step whatever happens, so that a decision moves no later draw.
        let draw: f64 = StandardNormal.sample(&mut self.random);
        self.wander_c = self.wander_c * by.wander_keep + by.wander_add * draw;

        let (aim, share) =
            if !tended || pit.out(now_s) { (outside, by.dying) } else { (setpoint, by.startup) };
        self.fire_c += share * (aim - self.fire_c);
        let heat = ((self.fire_c - outside) / (setpoint - outside).max(1.0)).clamp(0.0, 1.0);
        let disturbance = pit.ripple_c * self.ripple.0 + self.wander_c
            - pit.sag(now_s)
            - DROOP_C * (loss - 1.0).max(0.0);
        let fire = self.fire_c + heat * disturbance;
        let (aim, share) = if lid_held_open || pit.lid_open(now_s) {
            (outside + LID_LEFT / loss * (fire - outside), by.lid)
        } else {
            (fire, by.response)
        };
        let ((sine, cosine), (turn_sine, turn_cosine)) = (self.ripple, by.ripple_turn);
        self.ripple =
            (sine * turn_cosine + cosine * turn_sine, cosine * turn_cosine - sine * turn_sine);
        self.air_c += share * (aim - self.air_c);
        self.walls_c += by.walls * (self.air_c - self.walls_c);
    }
}

impl WeatherNow {
    fn at(pit: &Pit, now_s: i64, pressure_pa: f64, setpoint_c: f64) -> Self {
        let hour = pit.hour_at(now_s);
        let outside_c = pit.weather.air(hour).value();
        // Losses go with the difference to the outside, whose reference is 20 °C.
        let against = (setpoint_c - REFERENCE_OUTSIDE_C).max(10.0);
        let cold = ((setpoint_c - outside_c) / against).max(0.1);
        let loss = 1.0 + pit.exposure * (pit.weather.loss() * cold - 1.0);
        Self {
            outside_c,
            humidity_ratio: pit.weather.humidity_ratio(hour, pressure_pa),
            loss: loss.max(0.5),
            until_s: now_s + WEATHER_EVERY_S,
        }
    }
}

impl Coefficients {
    fn new(pit: &Pit, weather: &WeatherNow, step_s: f64) -> Self {
        let loss = weather.loss;
        let share = |time_constant_s: f64| 1.0 - (-step_s / time_constant_s).exp();
        let keep = (-step_s / (pit.wander_min * 60.0)).exp();
        Self {
            step_s,
            startup: share(pit.startup_min * 60.0 * loss),
            response: share(pit.response_min * 60.0 * loss),
            lid: share(LID_TIME_CONSTANT_S / loss),
            dying: share(DYING_TIME_CONSTANT_S / loss),
            walls: share(WALL_TIME_CONSTANT_S),
            wander_keep: keep,
            wander_add: pit.wander_c * loss * (1.0 - keep * keep).sqrt(),
            ripple_turn: (TAU * step_s / (pit.ripple_period_min * 60.0)).sin_cos(),
        }
    }
}
