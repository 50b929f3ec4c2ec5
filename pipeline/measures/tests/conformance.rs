//! Stall delay on the fourteen conformance curves (`tests/reference/phases`): within 0.2 min of
//! the figures computed apart from this project, the censored ones included.

use cook::PhaseDefinition;
use flate2::read::GzDecoder;
use measures::stall_delay;
use phases::{CookBounds, GridCurves, judge};
use std::collections::BTreeMap;
use std::io::Read;
use std::path::PathBuf;

fn reference(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/phases").join(name)
}

/// Core and pit of each curve.
fn curves() -> BTreeMap<String, (Vec<f64>, Vec<f64>)> {
    let file = std::fs::File::open(reference("curves.csv.gz")).unwrap();
    let mut text = String::new();
    GzDecoder::new(file).read_to_string(&mut text).unwrap();
    let mut curves: BTreeMap<String, (Vec<f64>, Vec<f64>)> = BTreeMap::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let curve = curves.entry(cells[0].to_owned()).or_default();
        assert_eq!(cells[1].parse::<usize>().unwrap(), 10 * curve.0.len());
        curve.0.push(cells[2].parse().unwrap());
        curve.1.push(cells[3].parse().unwrap());
    }
    curves
}

#[test]
fn stall_delay_matches_on_all_fourteen_curves() {
    let curves = curves();
    let marks = std::fs::read_to_string(reference("marks.csv")).unwrap();
    let mut checked = 0;
    for line in marks.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let ms = |cell: &str| (cell.parse::<f64>().unwrap() * 1000.0) as i64;
        let (core_c, pit_c) = &curves[cells[0]];
        let bounds = CookBounds {
            meat_on_known: true,
            meat_on_ms: ms(cells[2]),
            pull_ms: ms(cells[3]),
            end_ms: ms(cells[4]),
            pull_known: true,
            slice_known: true,
        };
        let grid = GridCurves { start_ms: 0, step_ms: 10_000, core_c, pit_c };
        let definition = PhaseDefinition::default();
        let judgement = judge(&grid, &bounds, &definition, None);
        let delay = stall_delay(&judgement, &definition, bounds.pull_ms).unwrap();
        let expected: f64 = cells[8].parse().unwrap();
        assert!((delay.minutes - expected).abs() <= 0.2, "{}: {delay:?} {expected}", cells[0]);
        assert_eq!(delay.censored, cells[9] == "True", "{}", cells[0]);
        checked += 1;
    }
    assert_eq!(checked, 14);
}
