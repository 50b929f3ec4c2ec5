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
fn a_free_wet_surface_reaches_the_wet_bulb() {
    // ASHRAE psychrometrics: a wet bulb of 60 °C in air of 120 °C holds, by equation 35 with
    // the sensible heat of the air at 120 °C, W = [(2501 − 2.326·60)·0.15354 − 1.006·60] /
    // [2501 + 1.86·120 − 4.186·60] = 0.1222. Saturated humidity at 60 °C: table 2, 0.15354.
    let vapour = vapour();
    let surroundings =
        Surroundings { humidity_ratio: 0.1222, emissivity: 0.0, walls_c: 120.0, ..pit() };
    let effect = wrapping::effect(&WrapMethod::None);
    let insulated = Surface::new(&surroundings, &vapour, effect, 1.0, true).meet(60.0, 1e6, 60.0);
    // The psychrometer's Lewis number is taken as one there; 0.865 here: some kelvins apart.
    assert!((insulated.celsius - 60.0).abs() < 2.0, "{}", insulated.celsius);
    assert!((insulated.heating - insulated.latent).abs() < 0.01 * insulated.heating);
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
