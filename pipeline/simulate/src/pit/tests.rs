//! How a pit comes up, wanders, dips and goes out.

use super::*;

fn air(pit: &Pit, hours: i64, lid_at: Option<i64>) -> Vec<f64> {
    let mut state = PitState::new(pit, 7, false).unwrap();
    (0..hours * 360)
        .map(|index| {
            let now = index * 10;
            let lid = lid_at.is_some_and(|at| (at..at + 60).contains(&now));
            state.step(pit, now, 10.0, lid, true);
            state.air_c()
        })
        .collect()
}

#[test]
fn it_comes_up_and_wanders_about_its_setpoint() {
    let curve = air(&Pit::steady(Celsius(121.0)), 40, None);
    let settled = &curve[1_000..];
    let mean = settled.iter().sum::<f64>() / settled.len() as f64;
    let sd =
        (settled.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / settled.len() as f64).sqrt();
    assert!((mean - 121.0).abs() < 1.0, "{mean}");
    assert!((1.2..3.5).contains(&sd), "{sd}");
}

#[test]
fn a_lid_dips_the_air_and_moves_no_later_draw() {
    let pit = Pit::steady(Celsius(121.0));
    let (closed, opened) = (air(&pit, 8, None), air(&pit, 8, Some(14_400)));
    assert_eq!(closed[..1_440], opened[..1_440]);
    assert!(opened[1_445] < closed[1_445] - 15.0);
    assert!((opened[2_000] - closed[2_000]).abs() < 0.1);
}

#[test]
fn changes_of_the_fire_show() {
    let mut pit = Pit { wander_c: 0.0, ripple_c: 0.0, ..Pit::steady(Celsius(121.0)) };
    pit.changes = vec![
        PitChange::Sag { from_s: 14_400, until_s: 21_600, by: CelsiusDifference(25.0) },
        PitChange::Setpoint { at_s: 36_000, to: Celsius(135.0) },
        PitChange::Out { from_s: 54_000, until_s: 61_200 },
    ];
    let curve = air(&pit, 24, None);
    assert!((curve[1_800] - 96.0).abs() < 3.0, "{}", curve[1_800]);
    assert!((curve[5_000] - 135.0).abs() < 0.5, "{}", curve[5_000]);
    assert!(curve[6_100] < 75.0, "{}", curve[6_100]);
}

#[test]
fn wind_rain_and_cold_unsettle_an_exposed_pit_and_leave_a_sheltered_one_alone() {
    let mild = Pit { wander_c: 0.0, ripple_c: 0.0, ..Pit::steady(Celsius(121.0)) };
    let storm = crate::Weather {
        mean: Celsius(2.0),
        dew_point: Celsius(0.0),
        wind_m_per_s: 10.0,
        rain_mm_per_h: 4.0,
        ..crate::Weather::mild()
    };
    let in_storm = |exposure| Pit { weather: storm, exposure, ..mild.clone() };
    let curve = |pit: &Pit| air(pit, 8, Some(14_400));
    let calm = curve(&Pit { exposure: 0.0, ..mild.clone() });
    let (open, sheltered) = (curve(&in_storm(1.0)), curve(&in_storm(0.0)));
    // It sits lower, dips deeper under the lid and is longer in coming back.
    assert!(open[1_430] < calm[1_430] - 2.0);
    assert!(open[1_446] - open[1_430] < calm[1_446] - calm[1_430] - 8.0);
    let short_of = |curve: &[f64]| (curve[1_430] - curve[1_520]) / (curve[1_430] - curve[1_446]);
    assert!(short_of(&open) > 2.0 * short_of(&calm));
    assert!((sheltered[1_430] - calm[1_430]).abs() < 0.1);
}

#[test]
fn whoever_asks_for_most_gets_it() {
    let pit = Pit::steady(Celsius(121.0));
    let mut state = PitState::new(&pit, 1, false).unwrap();
    assert_eq!(state.ask(&pit, 100, 135.0), Some(Celsius(135.0)));
    assert_eq!(state.ask(&pit, 200, 130.0), None);
    assert_eq!(state.setpoint_c(&pit, 200), 135.0);
    let mut kept = PitState::new(&pit, 1, true).unwrap();
    assert_eq!(kept.ask(&pit, 100, 135.0), None);
}

#[test]
fn outside_air_brings_its_humidity_in() {
    let pit = Pit::steady(Celsius(121.0));
    let mut muggy = pit.clone();
    muggy.weather.dew_point = Celsius(20.0);
    let humidity = |pit: &Pit| {
        PitState::new(pit, 1, false).unwrap().surroundings(pit, 121.0, 120.0).humidity_ratio
    };
    // Lit at 5 in the morning, at 16 °C: no wetter than saturated there (0.0114 kg/kg).
    assert!((0.002..0.004).contains(&(humidity(&muggy) - humidity(&pit))));
}
