//! Corrections of probes from ice and boiling tests on the card.
//!
//! Columns of the season sheet: `meat_ice_c`, `meat_boiling_c`, `pit_ice_c`, `pit_boiling_c` (or
//! with `_f`): what the probe read in melting ice and in boiling water. Water boils below 100 °C at
//! altitude: the card's `altitude_m|ft` says where the test was made. With one test the correction
//! is a constant, with both it is a straight line through them. A stated `meat_offset` or
//! `pit_offset` comes first.

use cook::{Card, Celsius, CelsiusDifference, Metres};
use physics::{air, water};

/// Furthest that a probe may be off in a test, °C: beyond that the test was made wrongly.
const FURTHEST_C: f64 = 8.0;

/// What is added to a reading: `offset_c + slope · reading`.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// Correction of a reading of 0 °C.
    pub offset_c: f64,
    /// Change of the correction per °C of reading.
    pub slope: f64,
    /// Where it comes from, as a sentence for people.
    pub because: String,
}

/// Which probe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProbeKind {
    /// Every meat probe.
    Meat,
    /// The pit probe.
    Pit,
}

impl Calibration {
    /// The corrected reading, °C.
    pub fn apply(&self, reading_c: f64) -> f64 {
        reading_c + self.offset_c + self.slope * reading_c
    }

    /// No correction.
    pub fn none() -> Self {
        Self { offset_c: 0.0, slope: 0.0, because: "The card states no probe test.".into() }
    }

    fn constant(offset_c: f64, because: String) -> Self {
        Self { offset_c, slope: 0.0, because }
    }

    /// The correction that a card states or that its tests give.
    pub fn of(card: &Card, probe: ProbeKind) -> Self {
        let (stated, word) = match probe {
            ProbeKind::Meat => (card.meat_offset, "meat"),
            ProbeKind::Pit => (card.pit_offset, "pit"),
        };
        if let Some(offset) = stated {
            return Self::constant(
                CelsiusDifference::value(offset),
                "The season sheet states the offset.".into(),
            );
        }
        let boils_c = boiling_point(card.altitude);
        let test = |name: &str, truth_c: f64| {
            reading(card, &format!("{word}_{name}"))
                .filter(|reading| (reading - truth_c).abs() <= FURTHEST_C)
                .map(|reading| (reading, truth_c - reading))
        };
        match (test("ice", 0.0), test("boiling", boils_c)) {
            (Some((cold, at_cold)), Some((hot, at_hot))) => {
                let slope = (at_hot - at_cold) / (hot - cold);
                Self {
                    offset_c: at_cold - slope * cold,
                    slope,
                    because: format!(
                        "It read {cold:.1} °C in ice and {hot:.1} °C in water that boils at {boils_c:.1} °C."
                    ),
                }
            }
            (Some((cold, offset_c)), None) => {
                Self::constant(offset_c, format!("It read {cold:.1} °C in ice."))
            }
            (None, Some((hot, offset_c))) => Self::constant(
                offset_c,
                format!("It read {hot:.1} °C in water that boils at {boils_c:.1} °C."),
            ),
            (None, None) => Self::none(),
        }
    }
}

/// Boiling point of water in the standard atmosphere at an altitude; at sea level where none is
/// stated.
fn boiling_point(altitude: Option<Metres>) -> f64 {
    air::standard_pressure(altitude.unwrap_or(Metres(0.0)))
        .and_then(water::boiling_point)
        .map_or(100.0, Celsius::value)
}

/// A temperature column that the card passes through, °C.
fn reading(card: &Card, name: &str) -> Option<f64> {
    card.extra.iter().find_map(|(column, text)| {
        let column = column.trim().to_lowercase();
        let number = || text.trim().parse::<f64>().ok().filter(|value| value.is_finite());
        if column == format!("{name}_c") {
            number()
        } else if column == format!("{name}_f") {
            number().map(|degrees| Celsius::from_fahrenheit(degrees).value())
        } else {
            None
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn card(extra: &[(&str, &str)], altitude: Option<f64>) -> Card {
        Card {
            extra: extra.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect(),
            altitude: altitude.map(Metres),
            ..Card::default()
        }
    }

    #[test]
    fn a_boiling_test_at_altitude_is_held_against_the_boiling_point_there() {
        // 94.90 °C at 1524 m: tests/reference/physics/boiling_altitude.csv.
        let high = card(&[("meat_boiling_c", "95.9")], Some(1_524.0));
        let correction = Calibration::of(&high, ProbeKind::Meat);
        assert!((correction.apply(70.0) - 69.0).abs() < 0.02, "{correction:?}");
        assert_eq!(Calibration::of(&high, ProbeKind::Pit), Calibration::none());
        // At sea level it would read 4 °C low.
        let low = card(&[("Meat_Boiling_F", "204.62")], None);
        assert!((Calibration::of(&low, ProbeKind::Meat).apply(70.0) - 74.1).abs() < 0.1);
    }

    #[test]
    fn both_tests_give_a_line_and_nonsense_gives_nothing() {
        let both = card(&[("meat_ice_c", "1.0"), ("meat_boiling_c", "99.0")], Some(0.0));
        let correction = Calibration::of(&both, ProbeKind::Meat);
        assert!((correction.apply(1.0)).abs() < 1e-9);
        assert!((correction.apply(99.0) - 99.97).abs() < 0.01);
        let nonsense = card(&[("meat_ice_c", "31")], None);
        assert_eq!(Calibration::of(&nonsense, ProbeKind::Meat), Calibration::none());
    }

    #[test]
    fn a_stated_offset_comes_first() {
        let mut both = card(&[("meat_ice_c", "1.0")], None);
        both.meat_offset = Some(CelsiusDifference(0.4));
        assert!((Calibration::of(&both, ProbeKind::Meat).apply(50.0) - 50.4).abs() < 1e-12);
    }
}
