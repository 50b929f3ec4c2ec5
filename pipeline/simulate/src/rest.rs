//! The rest after the pull: on the counter, in an insulated box, in a holding cabinet.

use crate::error::{SimulateError, within};
use crate::surface::Surroundings;
use cook::Celsius;

/// Heat transfer at resting meat: still air in a room or cabinet, and hardly any air and no
/// view of cold walls between the towels of a cooler (set by eye).
const ROOM_CONVECTIVE: f64 = 5.0;
const COOLER_CONVECTIVE: f64 = 1.5;
const ROOM_EMISSIVITY: f64 = 0.8;
const COOLER_EMISSIVITY: f64 = 0.2;
/// Humidity ratio of the air in a room or box, kg/kg (set by eye).
const HUMIDITY_RATIO: f64 = 0.01;

/// Where the meat rests, with the settings of each place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RestPlace {
    /// On the counter.
    Counter {
        /// Air of the room.
        room: Celsius,
    },
    /// In an insulated box: the meat warms it, and it loses heat to the room.
    Cooler {
        /// The box as the meat goes in; above the room where it was warmed with hot water.
        start: Celsius,
        /// Air around the box.
        room: Celsius,
        /// Heat that box and towels take up, J/K.
        heat_capacity: f64,
        /// Heat lost to the room, W/K.
        loss: f64,
    },
    /// In a holding cabinet at a set temperature.
    HoldingBox {
        /// The set temperature.
        set: Celsius,
    },
}

impl RestPlace {
    /// A counter in a room at 22 °C.
    pub const fn counter() -> Self {
        Self::Counter { room: Celsius(22.0) }
    }

    /// A middling cooler with towels at 22 °C: 1.5 kJ/K, 0.6 W/K (set by eye, so that a
    /// brisket stays above 60 °C for four hours or more: common practice, no source).
    pub const fn cooler() -> Self {
        Self::Cooler {
            start: Celsius(22.0),
            room: Celsius(22.0),
            heat_capacity: 1_500.0,
            loss: 0.6,
        }
    }

    /// A holding cabinet at 65 °C.
    pub const fn holding_box() -> Self {
        Self::HoldingBox { set: Celsius(65.0) }
    }

    /// The word in the sheet.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Counter { .. } => "counter",
            Self::Cooler { .. } => "cooler",
            Self::HoldingBox { .. } => "holding box",
        }
    }

    fn check(self) -> Result<(), SimulateError> {
        match self {
            Self::Counter { room } => within("rest.room (°C)", room.value(), -20.0, 50.0),
            Self::Cooler { start, room, heat_capacity, loss } => {
                within("rest.start (°C)", start.value(), -20.0, 95.0)?;
                within("rest.room (°C)", room.value(), -20.0, 50.0)?;
                within("rest.heat_capacity (J/K)", heat_capacity, 100.0, 100_000.0)?;
                within("rest.loss (W/K)", loss, 0.0, 20.0)
            }
            Self::HoldingBox { set } => within("rest.set (°C)", set.value(), 20.0, 95.0),
        }
    }
}

/// The rest after the pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// Where.
    pub place: RestPlace,
    /// How long, min.
    pub minutes: f64,
}

impl Rest {
    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        self.place.check()?;
        within("plan.rest.minutes", self.minutes, 0.0, 1_440.0)
    }
}

/// A place of rest under way.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Resting {
    place: RestPlace,
    air_c: f64,
}

impl Resting {
    pub(crate) fn new(place: RestPlace) -> Self {
        let air_c = match place {
            RestPlace::Counter { room } => room.value(),
            RestPlace::Cooler { start, .. } => start.value(),
            RestPlace::HoldingBox { set } => set.value(),
        };
        Self { place, air_c }
    }

    /// What is around the meat now.
    pub(crate) fn surroundings(&self, pressure_pa: f64) -> Surroundings {
        let (convective, emissivity) = match self.place {
            RestPlace::Cooler { .. } => (COOLER_CONVECTIVE, COOLER_EMISSIVITY),
            _ => (ROOM_CONVECTIVE, ROOM_EMISSIVITY),
        };
        Surroundings {
            air_c: self.air_c,
            walls_c: self.air_c,
            convective,
            emissivity,
            humidity_ratio: HUMIDITY_RATIO,
            pressure_pa,
        }
    }

    /// A step in which the meat gave off `heat_j`, J (both by convection and radiation).
    pub(crate) fn step(&mut self, step_s: f64, heat_j: f64) {
        if let RestPlace::Cooler { room, heat_capacity, loss, .. } = self.place {
            let lost = loss * (self.air_c - room.value()) * step_s;
            self.air_c += (heat_j - lost) / heat_capacity;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cooler_warms_to_where_gain_meets_loss() {
        let mut resting = Resting::new(RestPlace::cooler());
        for _ in 0..6_000 {
            resting.step(20.0, 24.0 * 20.0);
        }
        // 24 W in against 0.6 W/K out: 40 K above the room.
        assert!((resting.air_c - 62.0).abs() < 0.01, "{}", resting.air_c);
    }

    #[test]
    fn a_holding_box_keeps_its_set_temperature() {
        let mut resting = Resting::new(RestPlace::HoldingBox { set: Celsius(60.0) });
        resting.step(20.0, 10_000.0);
        assert_eq!(resting.surroundings(101_325.0).air_c, 60.0);
    }

    #[test]
    fn nonsense_is_named() {
        let rest = Rest { place: RestPlace::HoldingBox { set: Celsius(f64::NAN) }, minutes: 5.0 };
        assert!(rest.check().unwrap_err().to_string().contains("rest.set"));
    }
}
