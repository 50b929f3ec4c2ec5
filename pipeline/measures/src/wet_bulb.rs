//! The wet bulb of the pit's air, where its humidity is measured or assumed.
//!
//! A reference for the stall's temperature and no prediction of it: radiation from the walls and a
//! drying surface hold the meat above it, conduction into the meat below.

use crate::measure::MeasureInput;
use columns::measures::Measures;
use cook::{Celsius, Metres, PhaseKind};
use phases::Segmentation;
use physics::water::saturation_pressure;
use physics::{PhysicsError, air};

/// Fills in the dew point and, where a pit temperature is known, the wet bulb.
pub(crate) fn add(row: &mut Measures, input: &MeasureInput, segmentation: &Segmentation) {
    let (dew_point, source) = match (input.card.pit_dew_point, input.assumed_pit_dew_point) {
        (Some(measured), _) => (measured, "card"),
        (None, Some(assumed)) => (assumed, "assumed"),
        (None, None) => return,
    };
    row.pit_dew_point_c = Some(dew_point.value());
    row.pit_dew_point_source = Some(source.to_owned());
    row.pit_stall_c = pit_in_stalls(segmentation).or(row.pit_mean_c);
    row.pit_wet_bulb_c = row.pit_stall_c.and_then(|pit_c| {
        let altitude = input.card.altitude.unwrap_or(Metres(0.0));
        wet_bulb(Celsius(pit_c), dew_point, altitude).ok().map(Celsius::value)
    });
}

/// Mean of the observed pit temperatures in the stalls, °C.
fn pit_in_stalls(segmentation: &Segmentation) -> Option<f64> {
    let judgement = &segmentation.judgement;
    let heating = &judgement.heating;
    let (mut sum, mut count) = (0.0, 0.0);
    for stall in judgement.phases_of(PhaseKind::Stall) {
        for index in 0..heating.len() {
            let inside = (stall.start_ms..stall.end_ms).contains(&heating.at_ms(index));
            if inside && heating.observed[index] {
                sum += heating.pit_c[index];
                count += 1.0;
            }
        }
    }
    (count > 0.0).then(|| sum / count)
}

/// Wet bulb of air from its dry bulb and dew point, at the standard pressure of an altitude.
fn wet_bulb(pit: Celsius, dew_point: Celsius, altitude: Metres) -> Result<Celsius, PhysicsError> {
    let pressure = air::standard_pressure(altitude)?;
    let ratio = air::humidity_ratio(saturation_pressure(dew_point), pressure);
    physics::wet_bulb::wet_bulb(pit, ratio, pressure)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pits_wet_bulb_is_that_of_its_humidity_ratio() {
        // tests/reference/physics/wet_bulb.csv, ASHRAE column at 101 325 Pa: air of 107 °C with
        // 0.05 kg/kg has 48.0084 °C; given here by way of that air's dew point.
        let dew_point = physics::wet_bulb::dew_point(0.05, 101_325.0).unwrap();
        let wet = wet_bulb(Celsius(107.0), dew_point, Metres(0.0)).unwrap().value();
        assert!((wet - 48.0084).abs() < 1e-3, "{wet}");
        // Thinner air boils earlier, and a wet surface in it is cooler at the same dew point.
        assert!(wet_bulb(Celsius(107.0), dew_point, Metres(2_000.0)).unwrap().value() < wet);
        // A dew point above the boiling point is no air.
        assert!(wet_bulb(Celsius(107.0), Celsius(101.0), Metres(0.0)).is_err());
    }
}
