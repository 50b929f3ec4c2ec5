//! Corrections of probes from ice and boiling tests on the card.
//!
//! The card says what a probe read in melting ice ([`cook::Card::meat_ice`], `pit_ice`) and in
//! boiling water (`meat_boiling`, `pit_boiling`). Water boils below 100 °C at altitude: the card's
//! altitude says where the test was made. With one test the correction is a constant, with both it
//! is a straight line through them. A stated `meat_offset` or `pit_offset` comes first.

use cook::{CalibrationSource, Card, Celsius, CelsiusDifference, Metres, PROBE_TEST_WITHIN_C};
use physics::water;

/// What is added to a reading: `offset_c + slope · reading`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calibration {
    /// Correction of a reading of 0 °C.
    pub offset_c: f64,
    /// Change of the correction per °C of reading.
    pub slope: f64,
    /// What it rests on.
    pub source: CalibrationSource,
    /// What the probe read in melting ice, °C, where that is used.
    pub ice_c: Option<f64>,
    /// What the probe read in boiling water, °C, where that is used.
    pub boiling_c: Option<f64>,
    /// Where water boils at the card's altitude, °C; at sea level where it states none.
    pub boils_c: f64,
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

    /// The correction that a card states or that its tests give. A test that is further off than
    /// [`PROBE_TEST_WITHIN_C`] is not used; the sheet's reader rejects it with its place.
    pub fn of(card: &Card, probe: ProbeKind) -> Self {
        let (stated, ice, boiling) = match probe {
            ProbeKind::Meat => (card.meat_offset, card.meat_ice, card.meat_boiling),
            ProbeKind::Pit => (card.pit_offset, card.pit_ice, card.pit_boiling),
        };
        let altitude = card.altitude.unwrap_or(Metres(0.0));
        let boils_c = water::boiling_point_at(altitude).map_or(100.0, Celsius::value);
        let none = Self {
            offset_c: 0.0,
            slope: 0.0,
            source: CalibrationSource::None,
            ice_c: None,
            boiling_c: None,
            boils_c,
        };
        if let Some(offset) = stated.map(CelsiusDifference::value) {
            return Self { offset_c: offset, source: CalibrationSource::Stated, ..none };
        }
        let test = |read: Option<Celsius>, truth_c: f64| {
            read.map(Celsius::value).filter(|read| (read - truth_c).abs() <= PROBE_TEST_WITHIN_C)
        };
        match (test(ice, 0.0), test(boiling, boils_c)) {
            (Some(cold), Some(hot)) => {
                let (at_cold, at_hot) = (-cold, boils_c - hot);
                let slope = (at_hot - at_cold) / (hot - cold);
                Self {
                    offset_c: at_cold - slope * cold,
                    slope,
                    source: CalibrationSource::IceAndBoiling,
                    ice_c: Some(cold),
                    boiling_c: Some(hot),
                    ..none
                }
            }
            (Some(cold), None) => {
                Self { offset_c: -cold, source: CalibrationSource::Ice, ice_c: Some(cold), ..none }
            }
            (None, Some(hot)) => Self {
                offset_c: boils_c - hot,
                source: CalibrationSource::Boiling,
                boiling_c: Some(hot),
                ..none
            },
            (None, None) => none,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_boiling_test_at_altitude_is_held_against_the_boiling_point_there() {
        // 94.90 °C at 1524 m: tests/reference/physics/boiling_altitude.csv.
        let high = Card {
            meat_boiling: Some(Celsius(95.9)),
            altitude: Some(Metres(1_524.0)),
            ..Card::default()
        };
        let correction = Calibration::of(&high, ProbeKind::Meat);
        assert!((correction.apply(70.0) - 69.0).abs() < 0.02, "{correction:?}");
        assert_eq!(correction.source, CalibrationSource::Boiling);
        assert_eq!(Calibration::of(&high, ProbeKind::Pit).source, CalibrationSource::None);
        // At sea level it would read 4 °C low.
        let low = Card { altitude: None, ..high };
        assert!((Calibration::of(&low, ProbeKind::Meat).apply(70.0) - 74.1).abs() < 0.1);
    }

    #[test]
    fn a_test_that_no_probe_gives_is_not_used() {
        let nonsense = Card { meat_ice: Some(Celsius(31.0)), ..Card::default() };
        let correction = Calibration::of(&nonsense, ProbeKind::Meat);
        assert_eq!((correction.source, correction.apply(50.0)), (CalibrationSource::None, 50.0));
    }

    #[test]
    fn a_stated_offset_comes_first() {
        let both = Card {
            meat_ice: Some(Celsius(1.0)),
            meat_offset: Some(CelsiusDifference(0.4)),
            ..Card::default()
        };
        assert!((Calibration::of(&both, ProbeKind::Meat).apply(50.0) - 50.4).abs() < 1e-12);
    }

    proptest! {
        /// A probe that is off by a straight line, tested in both, reads true afterwards.
        #[test]
        fn both_tests_undo_any_straight_line(
            zero in -5.0f64..5.0,
            gain in 0.97f64..1.03,
            altitude in 0.0f64..3_000.0,
            truth in -5.0f64..150.0,
        ) {
            let boils = water::boiling_point_at(Metres(altitude)).unwrap().value();
            let reads = |truth: f64| Celsius(zero + gain * truth);
            let card = Card {
                pit_ice: Some(reads(0.0)),
                pit_boiling: Some(reads(boils)),
                altitude: Some(Metres(altitude)),
                ..Card::default()
            };
            let correction = Calibration::of(&card, ProbeKind::Pit);
            prop_assume!(correction.source == CalibrationSource::IceAndBoiling);
            prop_assert!((correction.apply(reads(truth).value()) - truth).abs() < 1e-9);
        }
    }
}
