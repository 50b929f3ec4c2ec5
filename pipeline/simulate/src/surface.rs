//! Heat and water crossing the surface of the meat.

use crate::wrapping::WrapEffect;
use cook::Celsius;
use physics::{air, water};
use std::sync::LazyLock;

/// Stefan–Boltzmann constant, W/(m²·K⁴): CODATA 2018.
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;

/// Latent heat at whole degrees from 0 °C: the exact formula has eighteen powers in it, and
/// between whole degrees a straight line is within 1e-6 of it.
static LATENT_HEAT: LazyLock<Vec<f64>> = LazyLock::new(|| {
    (0..=300)
        .map(|degree| {
            water::latent_heat(Celsius(f64::from(degree)))
                .expect("whole degrees from 0 to 300 lie in the formula's range")
        })
        .collect()
});

fn latent_heat(celsius: f64) -> (f64, f64) {
    let table = &*LATENT_HEAT;
    let place = celsius.clamp(0.0, 299.0);
    let index = place as usize;
    let slope = table[index + 1] - table[index];
    (table[index] + slope * (place - index as f64), slope)
}

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

/// The surface in one instant: surroundings, wrap, and how wet it is (0–1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Surface {
    surroundings: Surroundings,
    heating: f64,
    evaporating: f64,
    condensing: f64,
    air_vapour_pa: f64,
}

/// Heat flows into the meat per area at one surface temperature, W/m², and the water that
/// leaves, kg/(m²·s).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SurfaceFlow {
    /// Convection and radiation.
    pub(crate) heating: f64,
    /// Heat taken by evaporation (negative where vapour condenses).
    pub(crate) latent: f64,
    /// Water leaving.
    pub(crate) water: f64,
    /// d(heating − latent)/dT.
    pub(crate) slope: f64,
}

impl Surface {
    pub(crate) fn new(surroundings: Surroundings, wrap: WrapEffect, wetness: f64) -> Self {
        let transfer =
            air::mass_transfer_coefficient(surroundings.convective, surroundings.pressure_pa);
        Self {
            surroundings,
            heating: wrap.heating,
            evaporating: transfer * wrap.evaporation * wetness,
            condensing: transfer * wrap.evaporation,
            air_vapour_pa: air::vapour_pressure(
                surroundings.humidity_ratio,
                surroundings.pressure_pa,
            ),
        }
    }

    pub(crate) fn flow(&self, celsius: f64) -> SurfaceFlow {
        let around = &self.surroundings;
        let radiation = STEFAN_BOLTZMANN * around.emissivity;
        let kelvin = celsius + KELVIN_AT_ZERO_CELSIUS;
        let walls = around.walls_c + KELVIN_AT_ZERO_CELSIUS;
        let heating = self.heating
            * (around.convective * (around.air_c - celsius)
                + radiation * (walls.powi(4) - kelvin.powi(4)));
        let heating_slope = -self.heating * (around.convective + 4.0 * radiation * kelvin.powi(3));
        if self.condensing == 0.0 {
            return SurfaceFlow { heating, latent: 0.0, water: 0.0, slope: heating_slope };
        }
        let saturation = water::saturation_pressure(Celsius(celsius));
        // d ln p/dT of a vapour is close to r/(R T²): good enough for a Newton slope.
        let (latent_heat, latent_slope) = latent_heat(celsius);
        let saturation_slope = saturation * latent_heat / (461.5 * kelvin * kelvin);
        let drive = saturation - self.air_vapour_pa;
        let transfer = if drive > 0.0 { self.evaporating } else { self.condensing };
        let water = transfer * drive;
        SurfaceFlow {
            heating,
            latent: water * latent_heat,
            water,
            slope: heating_slope
                - transfer * (saturation_slope * latent_heat + drive * latent_slope),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wrapping;
    use cook::WrapMethod;

    fn pit() -> Surroundings {
        Surroundings {
            air_c: 120.0,
            walls_c: 115.0,
            convective: 12.0,
            emissivity: 0.8,
            humidity_ratio: 0.03,
            pressure_pa: 101_325.0,
        }
    }

    #[test]
    fn the_slope_is_the_derivative() {
        // The slope takes vapour as an ideal gas, which saturated steam at 90 °C is to 1.5 %
        // (IAPWS-95: compressibility 0.987); Newton's method only needs it to point the way.
        let surface = Surface::new(pit(), wrapping::effect(&WrapMethod::None), 0.2);
        for celsius in [10.0, 40.5, 65.5, 90.5] {
            let net = |t: f64| surface.flow(t).heating - surface.flow(t).latent;
            let numeric = (net(celsius + 0.01) - net(celsius - 0.01)) / 0.02;
            assert!((surface.flow(celsius).slope / numeric - 1.0).abs() < 0.02);
        }
    }

    #[test]
    fn dew_forms_on_cold_meat_and_a_dry_surface_gives_no_water() {
        let surface = Surface::new(pit(), wrapping::effect(&WrapMethod::None), 0.0);
        assert!(surface.flow(5.0).water < 0.0);
        assert_eq!(surface.flow(70.0).water, 0.0);
    }

    #[test]
    fn foil_all_but_stops_evaporation() {
        let bare = Surface::new(pit(), wrapping::effect(&WrapMethod::None), 0.2);
        let foil = Surface::new(pit(), wrapping::effect(&WrapMethod::Foil), 0.2);
        assert!(foil.flow(70.0).latent < 0.05 * bare.flow(70.0).latent);
    }

    #[test]
    fn the_table_of_latent_heat_is_as_good_as_the_formula() {
        for celsius in [0.5, 33.3, 71.5, 118.7] {
            let exact = water::latent_heat(Celsius(celsius)).unwrap();
            assert!((latent_heat(celsius).0 / exact - 1.0).abs() < 2e-6);
        }
    }
}
