//! Water on its saturation line.

use crate::air;
use crate::error::{PhysicsError, within};
use cook::{Celsius, Metres};

const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;

/// Saturation pressure over liquid water, Pa.
///
/// Hyland & Wexler (1983) as printed in ASHRAE Fundamentals 2017, chapter 1, equation 6.
/// Meant for 0–200 °C; within 0.03 % of IAPWS-95 at 0–165 °C. Total on purpose (it sits in
/// the inner loop of the simulator): outside that range it extrapolates smoothly, and it
/// has no meaning below −40 °C.
pub fn saturation_pressure(temperature: Celsius) -> f64 {
    let t = temperature.value() + KELVIN_AT_ZERO_CELSIUS;
    (-5.800_220_6e3 / t + 1.391_499_3 - 4.864_023_9e-2 * t + 4.176_476_8e-5 * t * t
        - 1.445_209_3e-8 * t * t * t
        + 6.545_967_3 * t.ln())
    .exp()
}

/// Temperature at which water boils under a pressure in Pa: where [`saturation_pressure`]
/// equals it.
///
/// # Errors
/// [`PhysicsError::OutOfRange`] outside 1–1 500 kPa (about 7–198 °C).
pub fn boiling_point(pressure_pa: f64) -> Result<Celsius, PhysicsError> {
    let target = within("pressure", "Pa", pressure_pa, 1.0e3, 1.5e6)?.ln();
    // ln p is concave in T and nearly linear in 1/T, so Newton in 1/T settles in a few steps.
    let mut inverse_kelvin = 1.0 / 373.15;
    for _ in 0..50 {
        let celsius = 1.0 / inverse_kelvin - KELVIN_AT_ZERO_CELSIUS;
        let step = 1e-3;
        let value = saturation_pressure(Celsius(celsius)).ln();
        let above = saturation_pressure(Celsius(celsius + step)).ln();
        let below = saturation_pressure(Celsius(celsius - step)).ln();
        // d ln p / d(1/T) = −T² d ln p / dT
        let slope = -(above - below) / (2.0 * step) / (inverse_kelvin * inverse_kelvin);
        let change = (target - value) / slope;
        inverse_kelvin += change;
        if change.abs() < 1e-15 {
            break;
        }
    }
    Ok(Celsius(1.0 / inverse_kelvin - KELVIN_AT_ZERO_CELSIUS))
}

/// Temperature at which water boils in the open at an altitude: [`boiling_point`] under
/// [`air::standard_pressure`]. Weather moves it by some ±0.6 °C.
///
/// # Errors
/// [`PhysicsError::OutOfRange`] outside −500 to 11 000 m.
pub fn boiling_point_at(altitude: Metres) -> Result<Celsius, PhysicsError> {
    boiling_point(air::standard_pressure(altitude)?)
}

/// Latent heat of vaporisation of water, J/kg.
///
/// From the saturation-line equations of Wagner & Pruß (1993; IAPWS release SR1-86):
/// Clapeyron's r = T · dp/dT · (1/ρ″ − 1/ρ′) with their vapour pressure and densities.
///
/// # Errors
/// [`PhysicsError::OutOfRange`] outside 0–370 °C.
pub fn latent_heat(temperature: Celsius) -> Result<f64, PhysicsError> {
    const CRITICAL_TEMPERATURE_K: f64 = 647.096;
    const CRITICAL_PRESSURE_PA: f64 = 22.064e6;
    const CRITICAL_DENSITY: f64 = 322.0;
    const PRESSURE: [(f64, f64); 6] = [
        (-7.859_517_83, 1.0),
        (1.844_082_59, 1.5),
        (-11.786_649_7, 3.0),
        (22.680_741_1, 3.5),
        (-15.961_871_9, 4.0),
        (1.801_225_02, 7.5),
    ];
    const LIQUID: [(f64, f64); 6] = [
        (1.992_740_64, 1.0 / 3.0),
        (1.099_653_42, 2.0 / 3.0),
        (-0.510_839_303, 5.0 / 3.0),
        (-1.754_934_79, 16.0 / 3.0),
        (-45.517_035_2, 43.0 / 3.0),
        (-6.746_944_50e5, 110.0 / 3.0),
    ];
    const VAPOUR: [(f64, f64); 6] = [
        (-2.031_502_40, 2.0 / 6.0),
        (-2.683_029_40, 4.0 / 6.0),
        (-5.386_264_92, 8.0 / 6.0),
        (-17.299_160_5, 18.0 / 6.0),
        (-44.758_658_1, 37.0 / 6.0),
        (-63.920_106_3, 71.0 / 6.0),
    ];
    let celsius = within("temperature", "°C", temperature.value(), 0.0, 370.0)?;
    let t = celsius + KELVIN_AT_ZERO_CELSIUS;
    let tau = 1.0 - t / CRITICAL_TEMPERATURE_K;
    let sum = |terms: &[(f64, f64)]| -> f64 { terms.iter().map(|(c, e)| c * tau.powf(*e)).sum() };
    let exponent = CRITICAL_TEMPERATURE_K / t * sum(&PRESSURE);
    let pressure = CRITICAL_PRESSURE_PA * exponent.exp();
    let derivative: f64 = PRESSURE.iter().map(|(c, e)| c * e * tau.powf(e - 1.0)).sum();
    let pressure_per_kelvin = -pressure / t * (exponent + derivative);
    let liquid = CRITICAL_DENSITY * (1.0 + sum(&LIQUID));
    let vapour = CRITICAL_DENSITY * sum(&VAPOUR).exp();
    Ok(t * pressure_per_kelvin * (1.0 / vapour - 1.0 / liquid))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn boiling_point_inverts_saturation_pressure(celsius in 8.0f64..197.0) {
            let back = boiling_point(saturation_pressure(Celsius(celsius))).unwrap();
            prop_assert!((back.value() - celsius).abs() < 1e-8);
        }

        #[test]
        fn latent_heat_falls_with_temperature(celsius in 0.0f64..369.0) {
            let here = latent_heat(Celsius(celsius)).unwrap();
            let hotter = latent_heat(Celsius(celsius + 1.0)).unwrap();
            prop_assert!(hotter < here);
        }
    }

    #[test]
    fn nonsense_is_an_error_that_names_the_range() {
        let message = boiling_point(101.325).unwrap_err().to_string();
        assert!(message.contains("101.325 Pa"), "{message}");
        assert!(latent_heat(Celsius(f64::NAN)).is_err());
    }
}
