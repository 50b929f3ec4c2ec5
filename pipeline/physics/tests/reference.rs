//! Checks against figures from outside the project; see `tests/reference/physics/README.md`.

use cook::{Celsius, CelsiusDifference, Metres, Seconds};
use physics::{
    Component, Composition, ConductionSeries, LogLinearDeath, Shape, air, water, wet_bulb,
};
use serde_json::Value;
use std::collections::HashMap;

type Row = HashMap<String, String>;

fn rows(name: &str) -> Vec<Row> {
    let path = format!("{}/../../tests/reference/physics/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows: Vec<Row> = reader.deserialize().map(Result::unwrap).collect();
    assert!(!rows.is_empty());
    rows
}

/// The number in a cell; `None` where the cell is empty.
fn maybe(row: &Row, column: &str) -> Option<f64> {
    match row[column].as_str() {
        "" => None,
        "inf" => Some(f64::INFINITY),
        text => Some(text.parse().unwrap()),
    }
}

fn number(row: &Row, column: &str) -> f64 {
    maybe(row, column).unwrap()
}

#[track_caller]
fn close(actual: f64, expected: f64, relative: f64, what: &str) {
    assert!(
        (actual - expected).abs() <= relative * expected.abs(),
        "{what}: {actual} is not {expected} within {relative}"
    );
}

#[test]
fn saturation_pressure_is_hyland_wexler_and_near_iapws() {
    for row in rows("water_saturation.csv") {
        let t = Celsius(number(&row, "t_C"));
        let p = water::saturation_pressure(t);
        // Six printed digits; Hyland-Wexler is up to 224 ppm from IAPWS-95 at 0-165 °C.
        close(p, number(&row, "p_hyland_wexler_Pa"), 5e-6, "Hyland-Wexler");
        close(p, number(&row, "p_iapws95_Pa"), 2.5e-4, "IAPWS-95");
    }
    for row in rows("psychro_printed.csv").iter().filter(|row| row["quantity"] == "sat_pressure") {
        let p = water::saturation_pressure(Celsius(number(row, "t_C")));
        close(p, number(row, "value"), number(row, "rel_tol"), "ASHRAE table 3");
    }
}

#[test]
fn latent_heat_agrees_with_iapws_and_the_printed_steam_table() {
    for row in rows("water_saturation.csv") {
        let heat = water::latent_heat(Celsius(number(&row, "t_C"))).unwrap() / 1_000.0;
        close(heat, number(&row, "hfg_iapws95_kJ_kg"), 2e-4, "IAPWS-95");
        if let Some(printed) = maybe(&row, "hfg_printed_kJ_kg") {
            assert!((heat - printed).abs() < 0.5, "{heat} against the printed {printed}");
        }
    }
}

#[test]
fn pressure_and_boiling_point_at_altitude() {
    for row in rows("boiling_altitude.csv") {
        let pressure = air::standard_pressure(Metres(number(&row, "altitude_m"))).unwrap();
        assert!((pressure - number(&row, "p_ashrae_eq3_Pa")).abs() < 0.06);
        // The table's boiling points are at the US 1976 pressure.
        let boiling = water::boiling_point(number(&row, "p_us1976_Pa")).unwrap().value();
        assert!((boiling - number(&row, "tb_hyland_wexler_C")).abs() < 2e-4);
        assert!((boiling - number(&row, "tb_iapws95_C")).abs() < 0.006);
        // ASHRAE's formula of the standard pressure is within 0.1 % of the US 1976 one.
        let open = water::boiling_point_at(Metres(number(&row, "altitude_m"))).unwrap().value();
        assert!((open - boiling).abs() < 0.03, "{open} {boiling}");
    }
}

#[test]
fn components_of_food() {
    for row in rows("choi_okos_components.csv") {
        let component = match row["component"].as_str() {
            "water" => Component::Water,
            "protein" => Component::Protein,
            "fat" => Component::Fat,
            "carbohydrate" => Component::Carbohydrate,
            "ash" => Component::Ash,
            _ => continue,
        };
        let t = Celsius(number(&row, "t_C"));
        // Eight printed digits.
        close(component.conductivity(t), number(&row, "k_W_mK"), 5e-8, "conductivity");
        close(component.density(t), number(&row, "rho_kg_m3"), 5e-8, "density");
        close(component.specific_heat(t), 1e3 * number(&row, "cp_kJ_kgK"), 5e-8, "specific heat");
    }
}

#[test]
fn mixtures_of_food() {
    for row in rows("choi_okos_mixtures.csv") {
        let mixture = match row["mixture"].as_str() {
            "lean_beef_72_21_6_1" => Composition::new(0.72, 0.21, 0.06, 0.0, 0.01),
            "fatty_beef_55_17_27_1" => Composition::new(0.55, 0.17, 0.27, 0.0, 0.01),
            "water_only" => Composition::new(1.0, 0.0, 0.0, 0.0, 0.0),
            other => panic!("unexpected mixture {other}"),
        }
        .unwrap();
        let t = Celsius(number(&row, "t_C"));
        close(mixture.density(t), number(&row, "rho_kg_m3"), 1e-7, "density");
        close(mixture.specific_heat(t), number(&row, "cp_J_kgK"), 1e-7, "specific heat");
        close(mixture.conductivity(t), number(&row, "k_parallel_W_mK"), 1e-7, "conductivity");
        close(mixture.diffusivity(t), number(&row, "alpha_parallel_m2_s"), 1e-7, "diffusivity");
    }
}

#[test]
fn roots_and_coefficients_at_every_biot_number() {
    for row in rows("conduction_roots.csv") {
        let biot = number(&row, "bi");
        for (shape, name) in [(Shape::Slab, "wall"), (Shape::Cylinder, "cylinder")] {
            let series = ConductionSeries::new(shape, biot, 1).unwrap();
            close(series.roots()[0], number(&row, &format!("{name}_z1")), 1e-12, name);
            close(series.coefficients()[0], number(&row, &format!("{name}_c1")), 1e-12, name);
        }
    }
    // Four printed decimals.
    for row in rows("conduction_printed_one_term.csv") {
        let biot = number(&row, "bi");
        for (shape, name) in [(Shape::Slab, "wall"), (Shape::Cylinder, "cyl")] {
            let series = ConductionSeries::new(shape, biot, 1).unwrap();
            assert!((series.roots()[0] - number(&row, &format!("{name}_z1"))).abs() < 5.1e-5);
            assert!(
                (series.coefficients()[0] - number(&row, &format!("{name}_c1"))).abs() < 5.1e-5
            );
        }
    }
}

#[test]
fn higher_roots() {
    for row in rows("conduction_higher_roots.csv") {
        let shape = match row["geometry"].as_str() {
            "wall" => Shape::Slab,
            "cylinder" => Shape::Cylinder,
            _ => continue,
        };
        let series = ConductionSeries::new(shape, number(&row, "bi"), 6).unwrap();
        for (index, root) in series.roots().iter().enumerate() {
            close(*root, number(&row, &format!("z{}", index + 1)), 1e-11, "root");
        }
    }
}

#[test]
fn series_at_every_biot_and_fourier_number() {
    let mut checked = 0;
    for row in rows("conduction_theta.csv") {
        let shape = match row["geometry"].as_str() {
            "wall" => Shape::Slab,
            "cylinder" => Shape::Cylinder,
            _ => continue,
        };
        let series = ConductionSeries::new(shape, number(&row, "bi"), 60).unwrap();
        let fourier = number(&row, "fo");
        for (value, column) in [
            (series.theta(0.0, fourier), "theta_centre"),
            (series.theta(0.5, fourier), "theta_half"),
            (series.theta(1.0, fourier), "theta_surface"),
            (series.mean(fourier), "theta_mean"),
        ] {
            let expected = number(&row, column);
            assert!((value - expected).abs() < 2e-10, "{column}: {value} is not {expected}");
        }
        let first = ConductionSeries::new(shape, number(&row, "bi"), 1).unwrap();
        let expected = number(&row, "theta_centre_one_term");
        assert!((first.theta(0.0, fourier) - expected).abs() < 2e-10);
        checked += 1;
    }
    assert_eq!(checked, 84);
}

#[test]
fn wet_bulb_matches_ashrae_and_the_real_gas_values_at_pit_temperatures() {
    let rows = rows("wet_bulb.csv");
    assert_eq!(rows.len(), 160);
    for row in rows {
        let (dry, ratio) = (number(&row, "tdb_C"), number(&row, "w_kg_kg"));
        let wet = wet_bulb::wet_bulb(Celsius(dry), ratio, number(&row, "p_Pa")).unwrap().value();
        let ashrae = number(&row, "tw_ashrae_C");
        assert!((wet - ashrae).abs() < 1e-3, "{dry} °C, {ratio}: {wet}, ASHRAE {ashrae}");
        // Real gas (CoolProp, ASHRAE RP-1485); the ideal-gas equations differ by up to 0.12 K.
        let real = number(&row, "tw_coolprop_C");
        assert!((wet - real).abs() < 0.15, "{dry} °C, {ratio}: {wet}, CoolProp {real}");
    }
}

#[test]
fn the_death_model_is_the_fit_to_the_printed_table() {
    // Least squares of log10 D on °F over the timed rows, D = time / 6.5.
    let points: Vec<(f64, f64)> = rows("fsis_appendix_a.csv")
        .iter()
        .filter(|row| number(row, "t_6p5log_s") > 0.0)
        .map(|row| (number(row, "temp_F"), (number(row, "t_6p5log_s") / 60.0 / 6.5).log10()))
        .collect();
    assert_eq!(points.len(), 28);
    let n = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
    let sxy: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
    let sxx: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
    let slope = sxy / sxx;
    let model = LogLinearDeath::SALMONELLA_IN_BEEF;
    for (fahrenheit, _) in &points {
        let log_d_min = mean_y + slope * (fahrenheit - mean_x);
        let rate = model.rate_per_s(Celsius::from_fahrenheit(*fahrenheit));
        close(1.0 / rate / 60.0, 10_f64.powf(log_d_min), 1e-8, "D of the fit");
    }
    // The printed times give 6.29 to 7.16 decimal reductions under it.
    for row in rows("fsis_appendix_a.csv").iter().filter(|row| number(row, "t_6p5log_s") > 0.0) {
        let held = Celsius::from_fahrenheit(number(row, "temp_F"));
        let history = [(Seconds(0.0), held), (Seconds(number(row, "t_6p5log_s")), held)];
        let reduction = model.reductions(&history).unwrap()[1];
        assert!((6.29..=7.17).contains(&reduction), "{held:?}: {reduction}");
    }
}

#[test]
fn lethality_cases_come_out_exactly() {
    let path =
        format!("{}/../../tests/reference/physics/lethality.json", env!("CARGO_MANIFEST_DIR"));
    let expected: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let get = |value: &Value, key: &str| value[key].as_f64().unwrap();
    let parameters = &expected["integral_parameters"];
    let model = LogLinearDeath::new(
        Seconds(60.0 * get(parameters, "D_min")),
        Celsius(get(parameters, "T_ref_C")),
        CelsiusDifference(get(parameters, "z_C")),
    )
    .unwrap();
    for case in expected["integral_cases"].as_array().unwrap() {
        let (history, tolerance): (Vec<_>, f64) =
            if let Some(points) = case["points_min_C"].as_array() {
                let point = |p: &Value| {
                    (Seconds(60.0 * p[0].as_f64().unwrap()), Celsius(p[1].as_f64().unwrap()))
                };
                (points.iter().map(point).collect(), 1e-12)
            } else {
                // A first-order approach, cut into straight lines of six seconds.
                let (from, to) = (get(case, "T0_C"), get(case, "Ta_C"));
                let (tau, minutes) = (get(case, "tau_min"), get(case, "minutes"));
                let steps = (10.0 * minutes) as i32;
                let at = |step: i32| {
                    let minute = f64::from(step) / 10.0;
                    (Seconds(60.0 * minute), Celsius(to + (from - to) * (-minute / tau).exp()))
                };
                ((0..=steps).map(at).collect(), 1e-5)
            };
        let reduction = *model.reductions(&history).unwrap().last().unwrap();
        close(reduction, get(case, "log10_reduction"), tolerance, &case["name"].to_string());
    }

    // The teaching sheet adds the mean of two rates times the step (trapezium rule), in
    // minutes at the reference temperature.
    let example = &expected["worked_example"];
    let reference = Celsius::from_fahrenheit(get(example, "T_ref_F"));
    let z = CelsiusDifference::from_fahrenheit(get(example, "z_F"));
    let sheet = LogLinearDeath::new(Seconds(60.0), reference, z).unwrap();
    let numbers = |key: &str| -> Vec<f64> {
        example[key].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
    };
    let rates: Vec<f64> = numbers("core_F")
        .iter()
        .map(|t| 60.0 * sheet.rate_per_s(Celsius::from_fahrenheit(*t)))
        .collect();
    let printed = numbers("F_min_printed");
    let mut sum = 0.0;
    for (pair, printed) in rates.windows(2).zip(&printed[1..]) {
        sum += get(example, "step_min") * f64::midpoint(pair[0], pair[1]);
        assert!((sum - printed).abs() < 0.5e-3 + 1e-12, "{sum} is not the printed {printed}");
    }
}
