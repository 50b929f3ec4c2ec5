//! Evaporation, dew and boiling at the surface.

use super::*;
use crate::wrapping;
use cook::WrapMethod;

fn pit() -> Surroundings {
    Surroundings {
        air_c: 120.0,
        walls_c: 115.0,
        convective: 12.0,
        emissivity: 0.8,
        humidity_ratio: 0.03,
        pressure_pa: 101_325.0,
    }
}

fn vapour() -> Vapour {
    Vapour::new(101_325.0)
}

fn flow(vapour: &Vapour, method: &WrapMethod, wetness: f64, celsius: f64) -> SurfaceFlow {
    // A surface held at a temperature: hardly any resistance behind it.
    Surface::new(&pit(), vapour, wrapping::effect(method), wetness, wetness > 0.0)
        .meet(celsius, 1e-9, celsius)
}

#[test]
fn a_free_wet_surface_is_near_the_wet_bulb() {
    // wet_bulb.csv: ASHRAE Fundamentals 2017, ch. 1, eq. 33. That is the adiabatic
    // saturation temperature, for a Lewis number of one and hardly any vapour. Here the Lewis
    // number is 0.865 and the flow of the vapour counts, so the surface runs a little cooler.
    let path = format!("{}/../../tests/reference/physics/wet_bulb.csv", env!("CARGO_MANIFEST_DIR"));
    let mut checked = 0;
    for row in csv::Reader::from_path(path).unwrap().deserialize() {
        let row: std::collections::HashMap<String, String> = row.unwrap();
        let Ok(expected) = row["tw_ashrae_C"].parse::<f64>() else { continue };
        let number = |column: &str| row[column].parse::<f64>().unwrap();
        let vapour = Vapour::new(number("p_Pa"));
        let surroundings = Surroundings {
            air_c: number("tdb_C"),
            walls_c: 0.0,
            emissivity: 0.0,
            humidity_ratio: number("w_kg_kg"),
            ..pit()
        };
        let effect = wrapping::effect(&WrapMethod::None);
        let insulated =
            Surface::new(&surroundings, &vapour, effect, 1.0, true).meet(expected, 1e6, expected);
        let below = expected - insulated.celsius;
        assert!((-0.1..2.6).contains(&below), "{below} below {expected} °C at {row:?}");
        assert!((insulated.heating - insulated.latent).abs() < 1e-3);
        checked += 1;
    }
    assert!(checked > 100, "{checked}");
}

#[test]
fn the_flow_of_vapour_itself_speeds_drying() {
    // Film theory: −p·ln(1 − x)/p_sat with x = p_sat/p; at 70 °C x = 0.3077 (31.18 kPa,
    // ASHRAE Fundamentals 2017, ch. 1, table 3), so 1.195.
    let (drive, _, _) = vapour().at(70.0);
    let saturation = water::saturation_pressure(Celsius(70.0));
    assert!((drive / saturation - 1.195).abs() < 0.001, "{}", drive / saturation);
}

#[test]
fn dew_forms_on_cold_meat_and_a_dry_surface_gives_no_water() {
    let vapour = vapour();
    assert!(flow(&vapour, &WrapMethod::None, 0.0, 5.0).water < 0.0);
    assert_eq!(flow(&vapour, &WrapMethod::None, 0.0, 70.0).water, 0.0);
}

#[test]
fn foil_all_but_stops_evaporation() {
    let vapour = vapour();
    let bare = flow(&vapour, &WrapMethod::None, 0.2, 70.0);
    let foil = flow(&vapour, &WrapMethod::Foil, 0.2, 70.0);
    assert!(foil.latent < 0.05 * bare.latent);
}

#[test]
fn wet_it_boils_and_dry_it_goes_on() {
    for (pressure, boiling) in [(101_325.0, 100.0), (84_556.0, 95.0)] {
        // Boiling points: 99.97 °C at 101.325 kPa, 95 °C at 84.6 kPa (IAPWS, steam tables).
        let vapour = Vapour::new(pressure);
        assert!((vapour.boiling_c() - boiling).abs() < 0.1, "{}", vapour.boiling_c());
        let effect = wrapping::effect(&WrapMethod::Foil);
        let surroundings = Surroundings { air_c: 150.0, walls_c: 145.0, ..pit() };
        let at =
            |wet| Surface::new(&surroundings, &vapour, effect, 0.01, wet).meet(98.0, 0.05, 98.0);
        let (wet, dry) = (at(true), at(false));
        assert_eq!(wet.celsius, vapour.boiling_c());
        assert!(dry.celsius > boiling + 5.0, "{}", dry.celsius);
        // All heat is accounted for: what the meat takes is what arrives less what boils off.
        let taken = (wet.celsius - 98.0) / 0.05;
        assert!((wet.heating - wet.latent - taken).abs() < 1e-9);
        assert!(wet.water > 0.0);
    }
}

#[test]
fn the_table_is_as_good_as_the_formulas() {
    let vapour = vapour();
    for celsius in [0.6, 33.4, 71.6, 95.1] {
        let (drive, _, latent_heat) = vapour.at(celsius);
        let share = water::saturation_pressure(Celsius(celsius)) / 101_325.0;
        let exact = -101_325.0 * (1.0 - share).ln();
        assert!((drive / exact - 1.0).abs() < 2e-4, "{celsius}: {drive} {exact}");
        let exact = water::latent_heat(Celsius(celsius)).unwrap();
        assert!((latent_heat / exact - 1.0).abs() < 1e-6);
    }
}
