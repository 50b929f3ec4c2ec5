//! Against the exact series, and the balance of heat.

use super::*;
use crate::fire::{CELLS, MEAT_STEP_S};
use crate::meat::LatentHeat;
use crate::moisture::Moisture;
use crate::surface::{Surroundings, Vapour};
use crate::wrapping::{self, WrapEffect};
use cook::{Celsius, Kilograms, Millimetres, WrapMethod};
use physics::{Component, Composition, ConductionSeries, Transition};
use std::collections::HashMap;

// Illustrative, no source: any values give the same θ at the same Bi and Fo.
const CONDUCTIVITY: f64 = 0.45;
const DENSITY: f64 = 1_050.0;
const SPECIFIC_HEAT: f64 = 3_500.0;
const HALF_THICKNESS: f64 = 0.045;
const START_C: f64 = 20.0;
const AIR_C: f64 = 120.0;

fn rows(name: &str) -> Vec<HashMap<String, String>> {
    let path = format!("{}/../../tests/reference/physics/{name}", env!("CARGO_MANIFEST_DIR"));
    let rows: Vec<HashMap<String, String>> =
        csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect();
    assert!(!rows.is_empty());
    rows
}

/// What is around a body in dry moving air at [`AIR_C`].
fn dry(convective: f64) -> Surroundings {
    Surroundings {
        air_c: AIR_C,
        walls_c: AIR_C,
        convective,
        emissivity: 0.0,
        humidity_ratio: 0.0,
        pressure_pa: 101_325.0,
    }
}

/// Steps a body with a dry surface.
fn heat_dry(body: &mut Body, convective: f64, steps: usize, step_s: f64) {
    let vapour = Vapour::new(101_325.0);
    let nothing = WrapEffect { evaporation: 0.0, ..wrapping::effect(&WrapMethod::None) };
    let surface = Surface::new(&dry(convective), &vapour, nothing, 0.0, false);
    for _ in 0..steps {
        body.step(&surface, step_s);
    }
}

/// θ in the middle, half way, at the surface and on average after a Fourier number.
fn theta(shape: Shape, biot: f64, fourier: f64, cells: usize, step_s: f64) -> [f64; 4] {
    let material = Material::constant(CONDUCTIVITY, SPECIFIC_HEAT);
    let mut body = Body::new(shape, HALF_THICKNESS, cells, material, DENSITY, START_C);
    let diffusivity = CONDUCTIVITY / (DENSITY * SPECIFIC_HEAT);
    let seconds = fourier * HALF_THICKNESS.powi(2) / diffusivity;
    let steps = (seconds / step_s).ceil();
    let convective = biot * CONDUCTIVITY / HALF_THICKNESS;
    heat_dry(&mut body, convective, steps as usize, seconds / steps);
    let of = |celsius: f64| (celsius - AIR_C) / (START_C - AIR_C);
    [
        of(body.temperature_at(0.0)),
        of(body.temperature_at(0.5)),
        of(body.surface_c()),
        of(body.mean_c()),
    ]
}

#[test]
fn without_evaporation_it_is_the_exact_series_at_every_biot_number() {
    // SciPy series, tests/reference/physics/README.md. 0.002 of the whole temperature span
    // is the error of 24 cells at the shortest time of the table (Fo 0.05) and a surface
    // held at the air's temperature; the next test shows that it falls as cells squared.
    let mut worst: f64 = 0.0;
    let mut checked = 0;
    for row in rows("conduction_theta.csv") {
        let shape = match row["geometry"].as_str() {
            "wall" => Shape::Slab,
            "cylinder" => Shape::Cylinder,
            _ => continue,
        };
        // A held surface is the limit of a large Biot number: at 1e9 it is within 1e-9.
        let biot = if row["bi"] == "inf" { 1e9 } else { row["bi"].parse().unwrap() };
        let ours = theta(shape, biot, row["fo"].parse().unwrap(), CELLS, MEAT_STEP_S as f64);
        let columns = ["theta_centre", "theta_half", "theta_surface", "theta_mean"];
        for (value, column) in ours.iter().zip(columns) {
            let expected: f64 = row[column].parse().unwrap();
            worst = worst.max((value - expected).abs());
            assert!(
                (value - expected).abs() < 0.002,
                "{shape:?} Bi {} Fo {} {column}: {value} is not {expected}",
                row["bi"],
                row["fo"]
            );
        }
        checked += 1;
    }
    assert_eq!(checked, 84);
    println!("largest error {worst}");
}

#[test]
fn the_error_falls_with_the_square_of_the_cell() {
    for shape in [Shape::Slab, Shape::Cylinder] {
        let exact = ConductionSeries::new(shape, 2.0, 60).unwrap().theta(0.0, 0.3);
        let error = |cells| (theta(shape, 2.0, 0.3, cells, 2.0)[0] - exact).abs();
        let (coarse, fine) = (error(12), error(24));
        assert!(fine < coarse / 3.5, "{shape:?}: {coarse} {fine}");
        assert!(fine < 2e-4, "{shape:?}: {fine}");
    }
}

#[test]
fn early_on_it_is_a_semi_infinite_solid() {
    // Closed form, conduction_semi_infinite.csv: depths up to 20 mm, up to an hour, k 0.45,
    // α 1.224e-7, h 20. In a slab 120 mm thick the middle has not felt anything yet.
    let half = 0.06;
    for row in rows("conduction_semi_infinite.csv") {
        let number = |column: &str| -> f64 { row[column].parse().unwrap() };
        let material = Material::constant(CONDUCTIVITY, SPECIFIC_HEAT);
        let mut body = Body::new(Shape::Slab, half, 60, material, DENSITY, START_C);
        heat_dry(&mut body, number("h_W_m2K"), (number("t_s") / 10.0) as usize, 10.0);
        let warmed = body.temperature_at(1.0 - number("x_m") / half);
        let fraction = (warmed - START_C) / (AIR_C - START_C);
        let expected = number("convective_fraction");
        assert!((fraction - expected).abs() < 0.002, "{fraction} is not {expected}");
    }
}

/// A pit's air about a brisket.
fn in_pit() -> Surroundings {
    Surroundings {
        air_c: 121.0,
        walls_c: 118.0,
        convective: 9.5,
        emissivity: 0.8,
        humidity_ratio: 0.03,
        pressure_pa: 101_325.0,
    }
}

#[test]
fn heat_balances_with_evaporation_radiation_boiling_in_foil_and_latent_heat() {
    let meat = crate::Meat::brisket(Kilograms(5.8));
    let vapour = Vapour::new(101_325.0);
    for latent in [LatentHeat::NONE, LatentHeat::ALL] {
        for shape in [Shape::Slab, Shape::Cylinder] {
            let material = Material::food(&meat.composition, latent);
            let half = meat.half_thickness_m();
            let mut body = Body::new(shape, half, 24, material, meat.density(), 5.0);
            let mut boiled = false;
            for step in 0..4_000 {
                let method = if step < 2_500 { WrapMethod::None } else { WrapMethod::Foil };
                let wetness = 0.2 * (1.0 - f64::from(step) / 5_000.0);
                // In the last stretch it cools, so that what has unfolded shows.
                let air_c = if step < 3_500 { 121.0 } else { 60.0 };
                let around = Surroundings { air_c, walls_c: air_c, ..in_pit() };
                let surface =
                    Surface::new(&around, &vapour, wrapping::effect(&method), wetness, true);
                body.step(&surface, 10.0);
                boiled |= body.surface_c > 99.9;
            }
            let ledger = body.ledger();
            // The cylinder holds half as much behind a square metre of surface.
            let held = body.heat_above(5.0);
            let balance = (ledger.heating - ledger.latent - held) / ledger.heating;
            assert!(ledger.latent > 0.2 * ledger.heating);
            assert!(boiled || shape == Shape::Slab);
            assert!(balance.abs() < 1e-3, "{shape:?}: {balance}");
            // What is held is what the temperatures say, counted by the formulas: specific
            // heat, melted fat, and everything unfolded that was ever hot enough.
            let counted: f64 = body
                .cells
                .iter()
                .map(|cell| {
                    let peak = body.material.state(cell.highest, &mut cell.highest.clone());
                    cell.volume
                        * meat.density()
                        * counted(&meat.composition, latent, cell.celsius, peak.celsius)
                })
                .sum();
            assert!((held / counted - 1.0).abs() < 1e-3, "{held} {counted}");
        }
    }
}

/// Heat a kilogram holds above 5 °C at a temperature after a highest one, J/kg.
fn counted(composition: &Composition, latent: LatentHeat, celsius: f64, highest: f64) -> f64 {
    let pieces = 400;
    let step = (celsius - 5.0) / f64::from(pieces);
    let sensible: f64 = (0..pieces)
        .map(|i| composition.specific_heat(Celsius(5.0 + (f64::from(i) + 0.5) * step)) * step)
        .sum();
    let (fat, protein) = (Transition::FAT_MELTING, Transition::PROTEIN_DENATURATION);
    let melted = composition.fraction(Component::Fat) * fat.heat * fat.share(Celsius(celsius));
    let unfolded =
        composition.fraction(Component::Protein) * protein.heat * protein.share(Celsius(highest));
    sensible
        + if latent.fat_melting { melted } else { 0.0 }
        + if latent.denaturation { unfolded } else { 0.0 }
}

#[test]
fn finer_cells_and_steps_move_no_mark_by_three_minutes() {
    let vapour = Vapour::new(101_325.0);
    for shape in [Shape::Slab, Shape::Cylinder] {
        let mut meat = crate::Meat::brisket(Kilograms(5.8));
        meat.shape = shape;
        if shape == Shape::Cylinder {
            meat.thickness = Millimetres(130.0);
        }
        // Minutes at which a wet, drying piece passes each temperature in the middle.
        let passes = |cells: usize, step_s: f64| -> Vec<f64> {
            let material = Material::food(&meat.composition, meat.latent_heat);
            let half = meat.half_thickness_m();
            let mut body = Body::new(shape, half, cells, material, meat.density(), 5.0);
            let mut moisture = Moisture::new(&meat);
            let effect = wrapping::effect(&WrapMethod::None);
            let mut seconds = 0.0;
            let mut before = body.temperature_at(0.0);
            [35.0, 55.0, 60.0, 70.0, 80.0, 88.0]
                .into_iter()
                .map(|mark| {
                    while body.temperature_at(0.0) < mark {
                        before = body.temperature_at(0.0);
                        let wetness = meat.wetness * moisture.wetness();
                        let wet = moisture.is_wet();
                        let surface = Surface::new(&in_pit(), &vapour, effect, wetness, wet);
                        let flow = body.step(&surface, step_s);
                        moisture.evaporate(flow.water * step_s);
                        moisture.drip(body.mean_c(), effect, step_s);
                        seconds += step_s;
                    }
                    let now = body.temperature_at(0.0);
                    (seconds - step_s * (now - mark) / (now - before)) / 60.0
                })
                .collect()
        };
        let used = passes(CELLS, MEAT_STEP_S as f64);
        let fine = passes(96, 2.0);
        for (used, fine) in used.iter().zip(&fine) {
            println!("{shape:?}: {used:.2} min against {fine:.2}");
            assert!((used - fine).abs() < 3.0, "{used} {fine}");
        }
    }
}
