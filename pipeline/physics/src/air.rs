//! Air with water vapour in it, and how a wet surface dries in it.

use crate::error::{PhysicsError, within};
use cook::Metres;

/// Molar mass of water over that of dry air (ASHRAE Fundamentals 2017, ch. 1).
pub const WATER_TO_AIR_MOLAR_MASS: f64 = 0.621_945;
/// Pressure of the standard atmosphere at sea level, Pa.
pub const STANDARD_PRESSURE_PA: f64 = 101_325.0;

/// Specific heat of air, J/(kg·K), at 100 °C (textbook value, from memory; it varies by
/// less than 1 % over 0–150 °C).
const AIR_SPECIFIC_HEAT: f64 = 1_010.0;
/// Lewis number of water vapour in air to the power 2/3 (Le 0.865: textbook value, from memory).
const LEWIS_TWO_THIRDS: f64 = 0.908;

/// Pressure of the standard atmosphere at an altitude, Pa (ASHRAE Fundamentals 2017, ch. 1,
/// equation 3). Weather moves the true pressure by some ±2 kPa.
///
/// # Errors
/// [`PhysicsError::OutOfRange`] outside −500 to 11 000 m.
pub fn standard_pressure(altitude: Metres) -> Result<f64, PhysicsError> {
    let metres = within("altitude", "m", altitude.value(), -500.0, 11_000.0)?;
    Ok(STANDARD_PRESSURE_PA * (1.0 - 2.255_77e-5 * metres).powf(5.255_9))
}

/// Partial pressure of the vapour, Pa, in air of a humidity ratio (kg water per kg dry air)
/// at a total pressure in Pa: `p·W/(0.621945 + W)`, ASHRAE Fundamentals 2017, ch. 1, eq. 20
/// solved for the vapour pressure.
pub fn vapour_pressure(humidity_ratio: f64, pressure_pa: f64) -> f64 {
    pressure_pa * humidity_ratio / (WATER_TO_AIR_MOLAR_MASS + humidity_ratio)
}

/// Humidity ratio, kg water per kg dry air, of a vapour pressure at a total pressure, both in
/// Pa: `0.621945·p_w/(p − p_w)`, ASHRAE Fundamentals 2017, ch. 1, eq. 20. The inverse of
/// [`vapour_pressure`].
pub fn humidity_ratio(vapour_pressure_pa: f64, pressure_pa: f64) -> f64 {
    WATER_TO_AIR_MOLAR_MASS * vapour_pressure_pa / (pressure_pa - vapour_pressure_pa)
}

/// Mass transfer coefficient of a freely wet surface, kg/(m²·s·Pa), from the convective heat
/// transfer coefficient, W/(m²·K), at a total pressure in Pa.
///
/// The Chilton–Colburn analogy: `h·(M_w/M_a)/(p·c_p·Le^(2/3))`, dilute vapour (Incropera,
/// Fundamentals of Heat and Mass Transfer, ch. 6). It leaves out the outward flow of the
/// vapour itself, which would raise it by about a fifth at a surface of 70 °C.
pub fn mass_transfer_coefficient(convective: f64, pressure_pa: f64) -> f64 {
    convective * WATER_TO_AIR_MOLAR_MASS / (pressure_pa * AIR_SPECIFIC_HEAT * LEWIS_TWO_THIRDS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn vapour_pressure_matches_the_humidity_ratio_it_came_from() {
        let pressure = vapour_pressure(0.02, STANDARD_PRESSURE_PA);
        assert!((humidity_ratio(pressure, STANDARD_PRESSURE_PA) - 0.02).abs() < 1e-12);
    }

    #[test]
    fn the_analogy_gives_the_psychrometric_constant() {
        // c_p·p/(0.622·r) is about 66 Pa/K at sea level and 20 °C (FAO Irrigation and
        // Drainage Paper 56, eq. 8 gives 0.665e-3·p = 67 Pa/K), times Le^(2/3).
        let transfer = mass_transfer_coefficient(1.0, STANDARD_PRESSURE_PA);
        let constant = 1.0 / (transfer * 2.453e6);
        assert!((constant / LEWIS_TWO_THIRDS - 67.4).abs() < 1.0, "{constant}");
    }

    #[test]
    fn altitude_has_a_range() {
        assert!(standard_pressure(Metres(30_000.0)).is_err());
    }
}
