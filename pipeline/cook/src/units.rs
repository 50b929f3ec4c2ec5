//! Units as newtypes, so that a temperature difference is never read as a temperature.
//!
//! Conversion factors are exact by definition: the international pound is
//! 0.453 592 37 kg and the international inch 25.4 mm (NIST Special Publication 811,
//! appendix B.8); t/°F = 1.8 t/°C + 32.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Kilograms in one international pound.
pub const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;
/// Millimetres in one international inch.
pub const MILLIMETRES_PER_INCH: f64 = 25.4;
/// Metres in one international foot.
pub const METRES_PER_FOOT: f64 = 0.3048;

macro_rules! unit {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize, JsonSchema)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl $name {
            /// The bare number, in this unit.
            pub fn value(self) -> f64 {
                self.0
            }
        }

        impl From<f64> for $name {
            fn from(value: f64) -> Self {
                Self(value)
            }
        }
    };
}

unit!(
    /// A temperature on the Celsius scale.
    Celsius
);
unit!(
    /// A difference between two temperatures, in kelvins (the size of a °C).
    CelsiusDifference
);
unit!(
    /// A rate of temperature change, °C per hour.
    CelsiusPerHour
);
unit!(
    /// A duration in seconds.
    Seconds
);
unit!(
    /// A mass in kilograms.
    Kilograms
);
unit!(
    /// A length in millimetres.
    Millimetres
);
unit!(
    /// A height in metres.
    Metres
);
unit!(
    /// A rate constant, 1/h (the heating coefficient).
    PerHour
);

impl Celsius {
    /// From degrees Fahrenheit.
    pub fn from_fahrenheit(fahrenheit: f64) -> Self {
        Self((fahrenheit - 32.0) / 1.8)
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }
}

impl CelsiusDifference {
    /// From a difference in degrees Fahrenheit.
    pub fn from_fahrenheit(difference: f64) -> Self {
        Self(difference / 1.8)
    }

    /// As a difference in degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8
    }
}

impl Kilograms {
    /// From international pounds.
    pub fn from_pounds(pounds: f64) -> Self {
        Self(pounds * KILOGRAMS_PER_POUND)
    }

    /// In international pounds.
    pub fn pounds(self) -> f64 {
        self.0 / KILOGRAMS_PER_POUND
    }
}

impl Millimetres {
    /// From international inches.
    pub fn from_inches(inches: f64) -> Self {
        Self(inches * MILLIMETRES_PER_INCH)
    }
}

impl Metres {
    /// From international feet.
    pub fn from_feet(feet: f64) -> Self {
        Self(feet * METRES_PER_FOOT)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fixed_points_convert() {
        // Ice point and the defining identity -40 °C = -40 °F.
        assert!((Celsius::from_fahrenheit(32.0).value()).abs() < 1e-12);
        assert!((Celsius::from_fahrenheit(-40.0).value() + 40.0).abs() < 1e-12);
        assert!((Celsius(100.0).fahrenheit() - 212.0).abs() < 1e-12);
        // NIST SP 811 appendix B.8: 1 lb = 4.535 924 E-01 kg, 1 in = 2.54 E+01 mm.
        assert!((Kilograms::from_pounds(1.0).value() - 0.453_592_4).abs() < 1e-7);
        assert!((Millimetres::from_inches(1.0).value() - 25.4).abs() < 1e-12);
    }

    #[test]
    fn a_difference_has_no_offset() {
        assert!((CelsiusDifference::from_fahrenheit(18.0).value() - 10.0).abs() < 1e-12);
        assert!((CelsiusDifference(10.0).fahrenheit() - 18.0).abs() < 1e-12);
    }
}
