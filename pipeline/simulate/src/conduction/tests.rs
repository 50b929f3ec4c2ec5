//! Against the exact series, and the balance of heat.

use super::*;
use crate::surface::Surroundings;
use crate::wrapping::{self, WrapEffect};
use cook::{Kilograms, WrapMethod};
use physics::ConductionSeries;
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

fn dry(convective: f64) -> Surface {
    let surroundings = Surroundings {
        air_c: AIR_C,
        walls_c: AIR_C,
        convective,
        emissivity: 0.0,
        humidity_ratio: 0.0,
        pressure_pa: 101_325.0,
    };
    Surface::new(
        surroundings,
        WrapEffect { evaporation: 0.0, heating: 1.0, runoff_per_h: 0.0 },
        0.0,
    )
}

/// θ in the middle, half way, at the surface and on average after a Fourier number.
fn theta(shape: Shape, biot: f64, fourier: f64, cells: usize, step_s: f64) -> [f64; 4] {
    let material = Material::Constant { conductivity: CONDUCTIVITY, specific_heat: SPECIFIC_HEAT };
    let mut body = Body::new(shape, HALF_THICKNESS, cells, material, DENSITY, START_C);
    let surface = dry(biot * CONDUCTIVITY / HALF_THICKNESS);
    let diffusivity = CONDUCTIVITY / (DENSITY * SPECIFIC_HEAT);
    let seconds = fourier * HALF_THICKNESS.powi(2) / diffusivity;
    let steps = (seconds / step_s).ceil();
    for _ in 0..steps as usize {
        body.step(&surface, seconds / steps);
    }
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
        let ours = theta(shape, biot, row["fo"].parse().unwrap(), 24, 10.0);
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
        let material =
            Material::Constant { conductivity: CONDUCTIVITY, specific_heat: SPECIFIC_HEAT };
        let mut body = Body::new(Shape::Slab, half, 60, material, DENSITY, START_C);
        let surface = dry(number("h_W_m2K"));
        for _ in 0..(number("t_s") / 10.0) as usize {
            body.step(&surface, 10.0);
        }
        let warmed = body.temperature_at(1.0 - number("x_m") / half);
        let fraction = (warmed - START_C) / (AIR_C - START_C);
        let expected = number("convective_fraction");
        assert!((fraction - expected).abs() < 0.002, "{fraction} is not {expected}");
    }
}

#[test]
fn heat_balances_with_evaporation_radiation_and_a_wrap() {
    let meat = crate::Meat::brisket(Kilograms(5.8));
    for shape in [Shape::Slab, Shape::Cylinder] {
        let mut body = Body::new(
            shape,
            meat.half_thickness_m(),
            24,
            Material::food(&meat.composition),
            meat.density(),
            5.0,
        );
        let surroundings = Surroundings {
            air_c: 121.0,
            walls_c: 118.0,
            convective: 10.0,
            emissivity: 0.8,
            humidity_ratio: 0.03,
            pressure_pa: 101_325.0,
        };
        for step in 0..4_000 {
            let method = if step < 2_500 { WrapMethod::None } else { WrapMethod::Foil };
            let wetness = 0.2 * (1.0 - f64::from(step) / 5_000.0);
            body.step(&Surface::new(surroundings, wrapping::effect(&method), wetness), 10.0);
        }
        let ledger = body.ledger();
        // The cylinder holds half as much behind a square metre of surface.
        let held = body.heat_above(5.0);
        let balance = (ledger.heating - ledger.latent - held) / ledger.heating;
        assert!(ledger.latent > 0.2 * ledger.heating);
        assert!(balance.abs() < 1e-3, "{shape:?}: {balance}");
    }
}

#[test]
fn finer_cells_and_steps_move_no_mark_by_three_minutes() {
    let meat = crate::Meat::brisket(Kilograms(5.8));
    // Minutes at which a wet, drying brisket passes each temperature in the middle.
    let passes = |cells: usize, step_s: f64| -> Vec<f64> {
        let mut body = Body::new(
            Shape::Slab,
            meat.half_thickness_m(),
            cells,
            Material::food(&meat.composition),
            meat.density(),
            5.0,
        );
        let surroundings = Surroundings {
            air_c: 121.0,
            walls_c: 119.0,
            convective: 9.5,
            emissivity: 0.8,
            humidity_ratio: 0.03,
            pressure_pa: 101_325.0,
        };
        let effect = wrapping::effect(&WrapMethod::None);
        let mut seconds = 0.0;
        [35.0, 55.0, 60.0, 70.0, 80.0, 88.0]
            .into_iter()
            .map(|mark| {
                while body.temperature_at(0.0) < mark {
                    let left = 1.0 - body.ledger().water / meat.surface_moisture;
                    let wetness = meat.wetness * crate::Meat::wetness_left(left);
                    body.step(&Surface::new(surroundings, effect, wetness), step_s);
                    seconds += step_s;
                }
                seconds / 60.0
            })
            .collect()
    };
    let (used, fine) = (passes(24, 10.0), passes(96, 2.0));
    for (used, fine) in used.iter().zip(&fine) {
        assert!((used - fine).abs() < 3.0, "{used} {fine}");
    }
}
