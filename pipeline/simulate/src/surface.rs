//! Heat and water crossing the surface of the meat.

use crate::wrapping::WrapEffect;
use cook::Celsius;
use physics::{air, water};
use std::sync::{Arc, Mutex, PoisonError};

/// Stefan–Boltzmann constant, W/(m²·K⁴): CODATA 2018.
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;
/// Step of the vapour table, K.
const TABLE_STEP_C: f64 = 0.25;
/// Change of the surface temperature at which Newton's method stops, K.
const NEWTON_CHANGE_K: f64 = 1e-6;
/// Newton steps at most; two or three are used.
const MOST_NEWTON_STEPS: usize = 30;

/// What is around the meat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Air, °C.
    pub air_c: f64,
    /// Walls that the meat sees, °C.
    pub walls_c: f64,
    /// Convective heat transfer coefficient, W/(m²·K).
    pub convective: f64,
    /// Emissivity of meat and walls together, 0–1.
    pub emissivity: f64,
    /// Humidity ratio of the air, kg water per kg dry air.
    pub humidity_ratio: f64,
    /// Pressure, Pa.
    pub pressure_pa: f64,
}

/// Water at a place's pressure: what drives it off a surface, and where it boils.
#[derive(Debug, Clone, PartialEq)]
pub struct Vapour {
    pressure_pa: f64,
    boiling_c: f64,
    /// By temperature, from 0 °C.
    table: Vec<Entry>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Entry {
    /// `−p·ln(1 − p_sat/p)`, Pa: differences of it drive evaporation with the outward flow of
    /// the vapour itself counted (film theory).
    drive_pa: f64,
    /// J/kg.
    latent_heat: f64,
}

/// Tables that were made already: a team cooks at few places. Not above [`MOST_SHARED`].
static SHARED: Mutex<Vec<Arc<Vapour>>> = Mutex::new(Vec::new());
const MOST_SHARED: usize = 64;

impl Vapour {
    /// [`Vapour::new`], made once for a pressure and then shared.
    pub fn shared(pressure_pa: f64) -> Arc<Self> {
        let mut shared = SHARED.lock().unwrap_or_else(PoisonError::into_inner);
        let wanted = clamped(pressure_pa);
        if let Some(found) = shared.iter().find(|vapour| vapour.pressure_pa == wanted) {
            return Arc::clone(found);
        }
        let vapour = Arc::new(Self::new(pressure_pa));
        if shared.len() < MOST_SHARED {
            shared.push(Arc::clone(&vapour));
        }
        vapour
    }

    /// At a pressure in Pa between 5 and 150 kPa.
    pub fn new(pressure_pa: f64) -> Self {
        let pressure_pa = clamped(pressure_pa);
        let boiling_c = water::boiling_point(pressure_pa)
            .expect("the pressure lies in the formula's range")
            .value();
        let table = (0..=(boiling_c / TABLE_STEP_C) as usize)
            .map(|index| {
                let celsius = Celsius(index as f64 * TABLE_STEP_C);
                // The last entry may lie a hair below boiling, where the drive has no bound.
                let share = (water::saturation_pressure(celsius) / pressure_pa).min(0.999);
                Entry {
                    drive_pa: -pressure_pa * (1.0 - share).ln(),
                    latent_heat: water::latent_heat(celsius)
                        .expect("below boiling lies in the formula's range"),
                }
            })
            .collect();
        Self { pressure_pa, boiling_c, table }
    }

    /// Boiling point of water there, °C.
    pub fn boiling_c(&self) -> f64 {
        self.boiling_c
    }

    /// Pressure, Pa.
    pub fn pressure_pa(&self) -> f64 {
        self.pressure_pa
    }

    /// Drive, its slope per kelvin, and latent heat; the last stretch is carried on beyond
    /// the boiling point.
    fn at(&self, celsius: f64) -> (f64, f64, f64) {
        let place = celsius / TABLE_STEP_C;
        let index = (place.max(0.0) as usize).min(self.table.len() - 2);
        let share = place - index as f64;
        let (from, until) = (&self.table[index], &self.table[index + 1]);
        let rise = until.drive_pa - from.drive_pa;
        (
            from.drive_pa + share * rise,
            rise / TABLE_STEP_C,
            from.latent_heat + share * (until.latent_heat - from.latent_heat),
        )
    }
}

fn clamped(pressure_pa: f64) -> f64 {
    pressure_pa.clamp(5_000.0, 150_000.0)
}

/// The surface during one step: surroundings, wrap, how wet it is.
#[derive(Debug, Clone, Copy)]
pub struct Surface<'a> {
    vapour: &'a Vapour,
    air_c: f64,
    walls_fourth_power: f64,
    convective: f64,
    radiative: f64,
    evaporating: f64,
    condensing: f64,
    air_drive_pa: f64,
    /// Liquid is at the surface, so it cannot be hotter than boiling water.
    wet: bool,
}

/// Heat and water through the surface over one step, per area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceFlow {
    /// Temperature of the surface, °C.
    pub celsius: f64,
    /// In by convection and radiation, W/m².
    pub heating: f64,
    /// Taken by evaporation (negative where vapour condenses), W/m².
    pub latent: f64,
    /// Water leaving, kg/(m²·s).
    pub water: f64,
}

impl<'a> Surface<'a> {
    /// `wetness` is how readily the surface dries against free water of its temperature, 0–1;
    /// `wet` says whether any liquid is there.
    pub fn new(
        surroundings: &Surroundings,
        vapour: &'a Vapour,
        wrap: WrapEffect,
        wetness: f64,
        wet: bool,
    ) -> Self {
        let pressure = vapour.pressure_pa;
        let transfer = air::mass_transfer_coefficient(surroundings.convective, pressure);
        let in_air = air::vapour_pressure(surroundings.humidity_ratio, pressure);
        Self {
            vapour,
            air_c: surroundings.air_c,
            walls_fourth_power: (surroundings.walls_c + KELVIN_AT_ZERO_CELSIUS).powi(4),
            convective: wrap.convection * surroundings.convective,
            radiative: wrap.radiation * STEFAN_BOLTZMANN * surroundings.emissivity,
            evaporating: transfer * wrap.evaporation * wetness,
            condensing: transfer * wrap.evaporation,
            air_drive_pa: -pressure * (1.0 - in_air / pressure).ln(),
            wet,
        }
    }

    /// Convection and radiation into a surface of a temperature, W/m², and the slope.
    fn heating(&self, celsius: f64) -> (f64, f64) {
        let kelvin = celsius + KELVIN_AT_ZERO_CELSIUS;
        let cube = kelvin * kelvin * kelvin;
        (
            self.convective * (self.air_c - celsius)
                + self.radiative * (self.walls_fourth_power - cube * kelvin),
            -self.convective - 4.0 * self.radiative * cube,
        )
    }

    /// Water leaving a surface of a temperature, kg/(m²·s), the slope, and latent heat.
    fn evaporation(&self, celsius: f64) -> (f64, f64, f64) {
        let (drive, slope, latent_heat) = self.vapour.at(celsius);
        let excess = drive - self.air_drive_pa;
        let transfer = if excess > 0.0 { self.evaporating } else { self.condensing };
        (transfer * excess, transfer * slope, latent_heat)
    }

    /// The temperature `t` and the flows at which `t = at_rest_c + resistance·(heating − latent)`:
    /// what the meat allows (a temperature without flow, °C, and a resistance, m²·K/W) meets
    /// what the surroundings give. Where that lies above the boiling point and liquid is
    /// there, the surface boils: it stays at the boiling point and all the heat that the meat
    /// does not take drives water off.
    pub fn meet(&self, at_rest_c: f64, resistance: f64, guess_c: f64) -> SurfaceFlow {
        let mut celsius = guess_c;
        let mut flow = (0.0, 0.0, 0.0);
        for _ in 0..MOST_NEWTON_STEPS {
            let (heating, heating_slope) = self.heating(celsius);
            let (water, water_slope, latent_heat) = self.evaporation(celsius);
            flow = (heating, water, latent_heat);
            let net = heating - water * latent_heat;
            let excess = celsius - at_rest_c - resistance * net;
            let slope = 1.0 - resistance * (heating_slope - water_slope * latent_heat);
            let change = excess / slope;
            celsius -= change;
            if change.abs() < NEWTON_CHANGE_K {
                break;
            }
        }
        let boiling_c = self.vapour.boiling_c;
        if self.wet && celsius > boiling_c {
            let taken = (boiling_c - at_rest_c) / resistance;
            let (heating, _) = self.heating(boiling_c);
            let (_, _, latent_heat) = self.vapour.at(boiling_c);
            let latent = heating - taken;
            return SurfaceFlow {
                celsius: boiling_c,
                heating,
                latent,
                water: latent / latent_heat,
            };
        }
        // What Newton's method left over, some microwatts, is put down to the air's heat.
        let (_, water, latent_heat) = flow;
        let latent = water * latent_heat;
        let heating = (celsius - at_rest_c) / resistance + latent;
        SurfaceFlow { celsius, heating, latent, water }
    }
}

#[cfg(test)]
mod tests;
