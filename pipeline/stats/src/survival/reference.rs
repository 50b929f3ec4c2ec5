//! Reading of the reference sets, for tests.

use crate::design::Design;
use serde_json::Value as Json;
use std::path::PathBuf;

fn path(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/stats").join(file)
}

/// Columns of a data file by name; a cell that is empty is NaN.
pub(super) struct Table {
    names: Vec<String>,
    cells: Vec<Vec<String>>,
}

impl Table {
    pub(super) fn read(set: &str) -> Self {
        let mut reader = csv::Reader::from_path(path(&format!("data/{set}.csv"))).unwrap();
        let names: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let cells = reader
            .records()
            .map(|record| record.unwrap().iter().map(str::to_owned).collect())
            .collect();
        Self { names, cells }
    }

    pub(super) fn text(&self, name: &str) -> Vec<&str> {
        let at = self.names.iter().position(|other| other == name).unwrap();
        self.cells.iter().map(|row| row[at].as_str()).collect()
    }

    pub(super) fn numbers(&self, name: &str) -> Vec<f64> {
        let number = |cell: &str| match cell {
            "" | "NA" => f64::NAN,
            "Inf" => f64::INFINITY,
            "-Inf" => f64::NEG_INFINITY,
            number => number.parse().unwrap(),
        };
        self.text(name).into_iter().map(number).collect()
    }

    pub(super) fn flags(&self, name: &str) -> Vec<bool> {
        self.text(name).into_iter().map(|cell| cell == "1").collect()
    }

    pub(super) fn labels(&self, name: &str) -> Vec<usize> {
        self.text(name).into_iter().map(|cell| cell.parse().unwrap()).collect()
    }

    /// A design of numeric columns without intercept.
    pub(super) fn design(&self, names: &[&str]) -> Design {
        names.iter().fold(Design::new(self.cells.len()), |design, name| {
            design.numeric(name, &self.numbers(name)).unwrap()
        })
    }
}

/// The expected results of a set and the relative tolerance that its file suggests.
pub(super) fn expected(set: &str) -> (Json, f64) {
    let text = std::fs::read_to_string(path(&format!("expected/{set}.json"))).unwrap();
    let file: Json = serde_json::from_str(&text).unwrap();
    let relative = file["suggested_rtol"].as_f64().unwrap();
    (file["results"].clone(), relative)
}

pub(super) fn number(value: &Json) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

pub(super) fn numbers(value: &Json) -> Vec<f64> {
    value.as_array().unwrap_or_else(|| panic!("{value} is no list")).iter().map(number).collect()
}

/// Relative, or absolute 1e-10 near zero, as the sets ask.
pub(super) fn close(what: &str, found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= (relative * expected.abs()).max(1e-10),
        "{what}: found {found:e}, expected {expected:e}, relative error {:e}",
        ((found - expected) / expected).abs()
    );
}
