//! The wet-bulb temperature of a pit's air.

use crate::air::{WATER_TO_AIR_MOLAR_MASS, vapour_pressure};
use crate::error::{PhysicsError, within};
use crate::water::{boiling_point, saturation_pressure};
use cook::Celsius;

/// How far below the boiling point the search for a wet bulb stops, K: at it the saturated
/// humidity ratio is infinite.
const BELOW_BOILING_K: f64 = 1e-9;

/// Humidity ratio, kg/kg, of air saturated at a temperature under a pressure in Pa (ASHRAE
/// Fundamentals 2017, ch. 1, eq. 21).
fn saturated_humidity_ratio(temperature_c: f64, pressure_pa: f64) -> f64 {
    let vapour = saturation_pressure(Celsius(temperature_c));
    WATER_TO_AIR_MOLAR_MASS * vapour / (pressure_pa - vapour)
}

/// Humidity ratio, kg/kg, of air at a dry bulb that shows a wet bulb, under a pressure in Pa:
/// ASHRAE Fundamentals 2017, ch. 1, equation 33 (an adiabatic balance), temperatures above
/// freezing. It falls without end as the wet bulb falls, and is not bounded by zero.
fn humidity_ratio_at(dry_c: f64, wet_c: f64, pressure_pa: f64) -> f64 {
    let saturated = saturated_humidity_ratio(wet_c, pressure_pa);
    ((2_501.0 - 2.326 * wet_c) * saturated - 1.006 * (dry_c - wet_c))
        / (2_501.0 + 1.86 * dry_c - 4.186 * wet_c)
}

/// Thermodynamic wet-bulb temperature of air at a dry bulb with a humidity ratio (kg water per
/// kg dry air) under a pressure in Pa.
///
/// ASHRAE Fundamentals 2017, ch. 1, equation 33, solved by bisection between 0 °C and the
/// lower of the dry bulb and the boiling point. The cap at the boiling point matters: a pit's
/// dry bulb is above it, and a search that starts there can run away from the answer.
///
/// It is a reference for the stall's temperature, not a prediction: radiation from the walls and
/// a drying surface hold the meat above it, conduction into the meat below.
///
/// # Errors
/// [`PhysicsError::OutOfRange`] for a dry bulb outside 1–250 °C, a pressure outside
/// 50–110 kPa, a humidity ratio below 0 or above 5, air so dry that the wet bulb lies below
/// freezing, or a humidity that the dry bulb cannot hold (below boiling).
pub fn wet_bulb(
    dry_bulb: Celsius,
    humidity_ratio: f64,
    pressure_pa: f64,
) -> Result<Celsius, PhysicsError> {
    let dry = within("dry bulb", "°C", dry_bulb.value(), 1.0, 250.0)?;
    let pressure = within("pressure", "Pa", pressure_pa, 5.0e4, 1.1e5)?;
    let ratio = within("humidity ratio", "kg/kg", humidity_ratio, 0.0, 5.0)?;
    let boiling = boiling_point(pressure)?.value() - BELOW_BOILING_K;
    if dry < boiling {
        let most = saturated_humidity_ratio(dry, pressure);
        within("humidity ratio", "kg/kg", ratio, 0.0, most * (1.0 + 1e-9))?;
    }
    let (mut low, mut high) = (0.0, dry.min(boiling));
    let driest = humidity_ratio_at(dry, low, pressure);
    within("humidity ratio", "kg/kg", ratio, driest, f64::INFINITY)?;
    // Sixty halvings of 100 K leave less than the rounding of the answer.
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if humidity_ratio_at(dry, middle, pressure) > ratio {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(Celsius(f64::midpoint(low, high)))
}

/// Humidity ratio, kg/kg, from a relative humidity, 0–1, at a dry bulb under a pressure in Pa.
/// Above the boiling point the relative humidity is still the vapour's pressure over the
/// saturation pressure of the dry bulb, so it cannot reach 1 in the open.
///
/// # Errors
/// [`PhysicsError::OutOfRange`] where the vapour's pressure would reach the total pressure, or
/// for a relative humidity outside 0–1.
pub fn humidity_ratio_from_relative(
    dry_bulb: Celsius,
    relative_humidity: f64,
    pressure_pa: f64,
) -> Result<f64, PhysicsError> {
    let share = within("relative humidity", "(0–1)", relative_humidity, 0.0, 1.0)?;
    let vapour = share * saturation_pressure(dry_bulb);
    within("vapour pressure", "Pa", vapour, 0.0, pressure_pa * 0.99)?;
    Ok(WATER_TO_AIR_MOLAR_MASS * vapour / (pressure_pa - vapour))
}

/// Dew point of air with a humidity ratio under a pressure in Pa: where its vapour's pressure is
/// that of saturation.
///
/// # Errors
/// [`PhysicsError::OutOfRange`] for air drier than a dew point of about 7 °C.
pub fn dew_point(humidity_ratio: f64, pressure_pa: f64) -> Result<Celsius, PhysicsError> {
    boiling_point(vapour_pressure(humidity_ratio, pressure_pa))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn it_lies_between_dew_point_and_dry_bulb_and_rises_with_moisture(
            dry in 30.0f64..200.0,
            share in 0.05f64..0.95,
            pressure in 7.0e4f64..1.04e5,
        ) {
            // Above boiling air takes up any amount.
            let saturated = saturated_humidity_ratio(dry, pressure);
            let most = if saturated > 0.0 { saturated.min(2.0) } else { 2.0 };
            let ratio = share * most;
            prop_assume!(ratio > 0.012);
            let wet = wet_bulb(Celsius(dry), ratio, pressure).unwrap().value();
            let dew = dew_point(ratio, pressure).unwrap().value();
            prop_assert!(dew <= wet + 1e-6 && wet <= dry, "{dew} {wet} {dry}");
            let moister = wet_bulb(Celsius(dry), ratio * 1.02, pressure).unwrap().value();
            prop_assert!(moister > wet);
            let back = humidity_ratio_at(dry, wet, pressure);
            prop_assert!((back - ratio).abs() < 1e-6 * (1.0 + ratio));
        }
    }

    #[test]
    fn what_cannot_be_is_an_error() {
        // Air at 20 °C holds about 0.0147 kg/kg.
        assert!(wet_bulb(Celsius(20.0), 0.02, 101_325.0).is_err());
        assert!(wet_bulb(Celsius(120.0), -0.1, 101_325.0).is_err());
        assert!(wet_bulb(Celsius(120.0), f64::NAN, 101_325.0).is_err());
        assert!(wet_bulb(Celsius(5.0), 0.0, 101_325.0).is_err());
        assert!(humidity_ratio_from_relative(Celsius(163.0), 0.5, 101_325.0).is_err());
    }

    #[test]
    fn relative_humidity_gives_the_ratio_back() {
        let ratio = humidity_ratio_from_relative(Celsius(40.0), 0.3, 101_325.0).unwrap();
        let pressure = vapour_pressure(ratio, 101_325.0);
        assert!((pressure / saturation_pressure(Celsius(40.0)) - 0.3).abs() < 1e-12);
    }
}
