//! What a number is a number of, and how it is shown to people: SI inside, °F, lb and in or °C, kg
//! and mm outside.
//!
//! Factors are those of `cook::units`. A *difference* of temperatures takes the factor
//! without the offset, and a slope is divided by what its covariate is multiplied by.

use cook::Units;
use cook::units::{
    KILOGRAMS_PER_POUND as KG_PER_LB, METRES_PER_FOOT as M_PER_FT,
    MILLIMETRES_PER_INCH as MM_PER_IN,
};
use serde::Serialize;

/// What a number is a number of. Decides its unit in either system, its conversion and its
/// decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Quantity {
    /// A temperature in °C.
    Temperature,
    /// A difference, spread or offset of temperatures in °C (no zero point: converts by the factor
    /// alone).
    TemperatureDifference,
    /// A mass in kg.
    Mass,
    /// A thickness in mm.
    Length,
    /// A height above sea level in m.
    Altitude,
    /// A time span in minutes.
    #[default]
    Minutes,
    /// A heating rate in °C/h.
    HeatingRate,
    /// A heating coefficient in 1/h.
    HeatingCoefficient,
    /// Cooking time per mass in min/kg.
    MinutesPerMass,
    /// Money per mass, in the season's currency per kg.
    CostPerMass,
    /// A fraction between 0 and 1, shown as per cent.
    Fraction,
    /// A logarithm of a hazard ratio (no unit).
    LogHazardRatio,
    /// A whole number of things.
    Count,
    /// Points of a judge; told without a unit, since each score has a scale of its own.
    Score,
    /// Anything else, for instance a score or a cost; never converted.
    Plain {
        /// The unit as written after the number; empty for none.
        unit: &'static str,
        /// Decimals shown.
        decimals: u8,
    },
}

impl Quantity {
    #[expect(clippy::match_same_arms, reason = "a table of factors reads by kind, then by system")]
    /// Factor from one SI unit to one shown unit, for differences and slopes.
    fn factor(&self, units: Units) -> f64 {
        match (self, units) {
            (Self::Fraction, _) => 100.0,
            (_, Units::Metric) => 1.0,
            (Self::Temperature | Self::TemperatureDifference | Self::HeatingRate, Units::Us) => 1.8,
            (Self::Mass, Units::Us) => 1.0 / KG_PER_LB,
            (Self::MinutesPerMass | Self::CostPerMass, Units::Us) => KG_PER_LB,
            (Self::Length, Units::Us) => 1.0 / MM_PER_IN,
            (Self::Altitude, Units::Us) => 1.0 / M_PER_FT,
            _ => 1.0,
        }
    }

    /// A value in SI as the reader sees it.
    pub fn value(&self, si: f64, units: Units) -> f64 {
        let offset =
            if matches!((self, units), (Self::Temperature, Units::Us)) { 32.0 } else { 0.0 };
        si * self.factor(units) + offset
    }

    /// A difference of two values in SI as the reader sees it: the factor without the zero point.
    pub fn difference(&self, si: f64, units: Units) -> f64 {
        si * self.factor(units)
    }

    /// The unit as written after a number; empty where there is none.
    pub fn unit(&self, units: Units) -> &'static str {
        match (self, units) {
            (Self::Temperature | Self::TemperatureDifference, Units::Us) => "°F",
            (Self::Temperature | Self::TemperatureDifference, Units::Metric) => "°C",
            (Self::Mass, Units::Us) => "lb",
            (Self::Mass, Units::Metric) => "kg",
            (Self::Length, Units::Us) => "in",
            (Self::Length, Units::Metric) => "mm",
            (Self::Altitude, Units::Us) => "ft",
            (Self::Altitude, Units::Metric) => "m",
            (Self::Minutes, _) => "min",
            (Self::HeatingRate, Units::Us) => "°F/h",
            (Self::HeatingRate, Units::Metric) => "°C/h",
            (Self::HeatingCoefficient, _) => "1/h",
            (Self::MinutesPerMass, Units::Us) => "min/lb",
            (Self::MinutesPerMass, Units::Metric) => "min/kg",
            (Self::CostPerMass, Units::Us) => "per lb",
            (Self::CostPerMass, Units::Metric) => "per kg",
            (Self::Fraction, _) => "%",
            (Self::LogHazardRatio | Self::Count | Self::Score, _) => "",
            (Self::Plain { unit, .. }, _) => unit,
        }
    }

    /// The unit that values have in the store and in results, as schemas name it: `1` is a plain
    /// ratio, empty is no unit.
    pub fn si_unit(&self) -> &'static str {
        match self {
            Self::Fraction => "1",
            Self::Score => "points",
            other => other.unit(Units::Metric),
        }
    }

    #[expect(clippy::match_same_arms, reason = "a table of decimals reads by kind, then by system")]
    /// Decimals shown for a value of this kind.
    pub fn decimals(&self, units: Units) -> usize {
        match (self, units) {
            (Self::Mass | Self::Score, _) | (Self::Length, Units::Us) => 1,
            (Self::HeatingCoefficient, _) => 3,
            (Self::LogHazardRatio | Self::CostPerMass, _) => 2,
            (Self::Plain { decimals, .. }, _) => usize::from(*decimals),
            (Self::HeatingRate | Self::MinutesPerMass | Self::TemperatureDifference, _) => 1,
            _ => 0,
        }
    }

    #[expect(clippy::match_same_arms, reason = "a table of steps reads by kind, then by system")]
    /// The step of this kind that a slope is told per, in the shown unit: "per 10 °F", "per 5 °C",
    /// "per lb".
    pub fn step(&self, units: Units) -> f64 {
        match (self, units) {
            (Self::Temperature | Self::TemperatureDifference | Self::HeatingRate, Units::Us) => {
                10.0
            }
            (
                Self::Temperature | Self::TemperatureDifference | Self::HeatingRate,
                Units::Metric,
            ) => 5.0,
            (Self::Length, Units::Us) => 0.5,
            (Self::Length, Units::Metric) | (Self::Minutes | Self::Fraction, _) => 10.0,
            (Self::Altitude, Units::Us) => 1000.0,
            (Self::Altitude, Units::Metric) => 300.0,
            _ => 1.0,
        }
    }

    /// A value with its unit, ready to read: `74 °C`, `6.2 kg`, `88 %`.
    pub fn show(&self, si: f64, units: Units) -> String {
        with_unit(&self.number(si, units), self.unit(units))
    }

    /// A value without its unit.
    pub fn number(&self, si: f64, units: Units) -> String {
        number(self.value(si, units), self.decimals(units))
    }
}

/// What a slope is told per.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Covariate {
    /// What it is called, for instance `trimmed weight`.
    pub name: String,
    /// What its numbers are.
    pub quantity: Quantity,
    /// The step to tell the slope per, in the covariate's SI unit; `None` takes the step this
    /// report uses for the kind (10 °F or 5 °C, 1 lb or 1 kg). A claim that names its own step
    /// keeps it: 5 °C is then told as 9 °F.
    pub step: Option<f64>,
}

impl Covariate {
    /// The step in the shown unit.
    pub fn shown_step(&self, units: Units) -> f64 {
        self.step
            .map_or_else(|| self.quantity.step(units), |si| self.quantity.difference(si, units))
    }

    /// The step in SI.
    pub fn si_step(&self, units: Units) -> f64 {
        self.step.unwrap_or_else(|| self.quantity.step(units) / self.quantity.factor(units))
    }

    /// `per kg`, `per 10 °F`.
    pub fn per(&self, units: Units) -> String {
        let step = self.shown_step(units);
        let unit = self.quantity.unit(units);
        let unit = if unit.is_empty() { "unit" } else { unit };
        if (step - 1.0).abs() < 1e-9 {
            format!("per {unit}")
        } else {
            // A claim's own step, once converted, keeps as many digits as it needs, at most two.
            let shown = format!("{step:.2}");
            let shown = shown.trim_end_matches('0').trim_end_matches('.');
            format!("per {shown}\u{a0}{unit}")
        }
    }
}

/// A number with the given decimals and a true minus sign; never "−0", and a dash for what is no
/// number.
pub fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let text = format!("{value:.decimals$}");
    let Some(magnitude) = text.strip_prefix('-') else { return group_thousands(&text) };
    if magnitude.bytes().all(|b| matches!(b, b'0' | b'.')) {
        magnitude.to_owned()
    } else {
        format!("\u{2212}{}", group_thousands(magnitude))
    }
}

/// A number that always shows its sign, except zero.
pub fn signed(value: f64, decimals: usize) -> String {
    let text = number(value, decimals);
    let zero = text.bytes().all(|b| matches!(b, b'0' | b'.'));
    if !value.is_finite() || zero || text.starts_with('\u{2212}') {
        text
    } else {
        format!("+{text}")
    }
}

/// A number and its unit with a space that does not break between them.
pub fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.to_owned() } else { format!("{number}\u{a0}{unit}") }
}

/// Thousands set apart by a narrow space, from five digits on (ISO 80000-1, 7.3.1), as in `12
/// 345.6`.
fn group_thousands(text: &str) -> String {
    let (whole, rest) = text.find('.').map_or((text, ""), |dot| text.split_at(dot));
    if whole.len() < 5 || !whole.bytes().all(|b| b.is_ascii_digit()) {
        return text.to_owned();
    }
    let mut grouped = String::with_capacity(text.len() + whole.len());
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            grouped.push('\u{202f}');
        }
        grouped.push(digit);
    }
    grouped + rest
}

/// A whole count with its thousands set apart.
pub fn count(n: impl std::fmt::Display) -> String {
    group_thousands(&n.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_take_the_zero_point_and_differences_do_not() {
        // Fixed points of the scales: water boils at 100 °C = 212 °F; −40 is the same on both.
        assert_eq!(Quantity::Temperature.show(100.0, Units::Us), "212\u{a0}°F");
        assert_eq!(Quantity::Temperature.show(-40.0, Units::Us), "\u{2212}40\u{a0}°F");
        assert_eq!(Quantity::TemperatureDifference.show(10.0, Units::Us), "18.0\u{a0}°F");
        assert_eq!(Quantity::Temperature.difference(10.0, Units::Us), 18.0);
        assert_eq!(Quantity::Temperature.show(100.0, Units::Metric), "100\u{a0}°C");
    }

    #[test]
    fn masses_and_times_per_mass_convert_in_opposite_directions() {
        assert_eq!(Quantity::Mass.show(KG_PER_LB * 12.0, Units::Us), "12.0\u{a0}lb");
        let per_lb = Quantity::MinutesPerMass.value(100.0, Units::Us);
        assert!((per_lb - 45.359_237).abs() < 1e-9);
        assert_eq!(Quantity::Length.show(63.5, Units::Us), "2.5\u{a0}in");
        assert_eq!(Quantity::Fraction.show(0.58, Units::Us), "58\u{a0}%");
    }

    #[test]
    fn a_slope_per_degree_celsius_becomes_a_slope_per_ten_fahrenheit() {
        let pit = Covariate { name: "pit".into(), quantity: Quantity::Temperature, step: None };
        // 10 °F are 5.555… °C, so −1.8 min per °C are −10 min per 10 °F.
        assert!((-1.8 * pit.si_step(Units::Us) - -10.0).abs() < 1e-12);
        assert_eq!(pit.per(Units::Us), "per 10\u{a0}°F");
        assert!((-1.8 * pit.si_step(Units::Metric) - -9.0).abs() < 1e-12);
        assert_eq!(pit.per(Units::Metric), "per 5\u{a0}°C");
        let weight = Covariate { name: "weight".into(), quantity: Quantity::Mass, step: None };
        assert!((weight.si_step(Units::Us) - KG_PER_LB).abs() < 1e-15);
        assert_eq!(weight.per(Units::Us), "per lb");
        assert_eq!(weight.per(Units::Metric), "per kg");
    }

    #[test]
    fn a_claims_own_step_is_kept_and_only_relabelled() {
        let pit =
            Covariate { name: "pit".into(), quantity: Quantity::Temperature, step: Some(5.0) };
        assert_eq!(pit.si_step(Units::Us), 5.0);
        assert_eq!(pit.per(Units::Us), "per 9\u{a0}°F");
        assert_eq!(pit.per(Units::Metric), "per 5\u{a0}°C");
    }

    #[test]
    fn numbers_have_a_true_minus_no_negative_zero_and_thin_thousands() {
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(-3.0, 0), "\u{2212}3");
        assert_eq!(signed(12.0, 0), "+12");
        assert_eq!(signed(0.2, 0), "0");
        assert_eq!(number(1234.0, 0), "1234");
        assert_eq!(number(1_234_567.5, 1), "1\u{202f}234\u{202f}567.5");
    }
}
