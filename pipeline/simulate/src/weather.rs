//! The air outside: temperature over day and night, humidity, wind and rain.

use crate::error::{SimulateError, within};
use cook::{Celsius, CelsiusDifference};
use physics::{air, water};
use std::f64::consts::TAU;

/// Further loss of a pit's heat per metre a second of wind, and per mm an hour of rain (set
/// by eye).
const LOSS_PER_WIND: f64 = 0.06;
const LOSS_PER_RAIN: f64 = 0.05;

/// The weather of one fire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Mean of the day.
    pub mean: Celsius,
    /// How far the warmest and the coldest hour lie from the mean.
    pub swing: CelsiusDifference,
    /// The warmest hour, local time, 0–24.
    pub warmest_h: f64,
    /// Dew point; where the air is colder than that it is saturated.
    pub dew_point: Celsius,
    /// Wind at the pit, m/s.
    pub wind_m_per_s: f64,
    /// Rain, mm/h.
    pub rain_mm_per_h: f64,
}

impl Weather {
    /// A mild dry day with a light wind: 20 °C, five degrees up and down, dew point 12 °C.
    pub fn mild() -> Self {
        Self {
            mean: Celsius(20.0),
            swing: CelsiusDifference(5.0),
            warmest_h: 15.0,
            dew_point: Celsius(12.0),
            wind_m_per_s: 2.0,
            rain_mm_per_h: 0.0,
        }
    }

    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        within("weather.mean (°C)", self.mean.value(), -40.0, 50.0)?;
        within("weather.swing (K)", self.swing.value(), 0.0, 20.0)?;
        within("weather.warmest_h", self.warmest_h, 0.0, 24.0)?;
        within("weather.dew_point (°C)", self.dew_point.value(), -40.0, 35.0)?;
        within("weather.wind_m_per_s", self.wind_m_per_s, 0.0, 40.0)?;
        within("weather.rain_mm_per_h", self.rain_mm_per_h, 0.0, 100.0)
    }

    /// Temperature of the air at a local hour; hours above 24 are the next day's.
    pub fn air(&self, hour: f64) -> Celsius {
        let course = (TAU * (hour - self.warmest_h) / 24.0).cos();
        Celsius(self.mean.value() + self.swing.value() * course)
    }

    /// Humidity ratio, kg water per kg dry air, at a local hour and a pressure in Pa.
    pub fn humidity_ratio(&self, hour: f64, pressure_pa: f64) -> f64 {
        let saturated_at = self.dew_point.value().min(self.air(hour).value());
        air::humidity_ratio(water::saturation_pressure(Celsius(saturated_at)), pressure_pa)
    }

    /// How fast a pit that stands in the open loses heat, against still dry air.
    pub fn loss(&self) -> f64 {
        1.0 + LOSS_PER_WIND * self.wind_m_per_s + LOSS_PER_RAIN * self.rain_mm_per_h
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_warmest_in_the_afternoon_and_coldest_before_dawn() {
        let weather = Weather::mild();
        assert!((weather.air(15.0).value() - 25.0).abs() < 1e-12);
        assert!((weather.air(27.0).value() - 15.0).abs() < 1e-12);
        assert!((weather.air(4.0).value() - weather.air(28.0).value()).abs() < 1e-9);
    }

    #[test]
    fn air_holds_no_more_water_than_saturation() {
        // ASHRAE Fundamentals 2017, ch. 1, table 2: saturated air at 10 °C and 101.325 kPa
        // holds 0.007661 kg/kg (the table counts the enhancement factor of 1.004).
        let mut weather = Weather { dew_point: Celsius(10.0), ..Weather::mild() };
        let ratio = weather.humidity_ratio(15.0, 101_325.0);
        assert!((ratio / 0.007_661 - 1.0).abs() < 0.006, "{ratio}");
        // A cold night saturates: the dew point of the day no longer counts.
        weather.mean = Celsius(0.0);
        assert!(weather.humidity_ratio(3.0, 101_325.0) < 0.5 * ratio);
    }

    #[test]
    fn wind_and_rain_take_heat() {
        let calm = Weather { wind_m_per_s: 0.0, ..Weather::mild() };
        assert_eq!(calm.loss(), 1.0);
        assert!(Weather { rain_mm_per_h: 4.0, ..calm }.loss() > 1.0);
        assert!(Weather { wind_m_per_s: -1.0, ..calm }.check().is_err());
    }
}
