//! For tests: data and expected figures in `tests/reference/stats`, and comparisons with them.

use crate::design::Design;
use serde_json::Value as Json;
use std::path::PathBuf;

pub(crate) fn path(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/stats").join(file)
}

/// A data file, its columns by name.
pub(crate) struct Table {
    names: Vec<String>,
    cells: Vec<Vec<String>>,
}

impl Table {
    pub(crate) fn read(set: &str) -> Self {
        let mut reader = csv::Reader::from_path(path(&format!("data/{set}.csv"))).unwrap();
        let names: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let cells = reader
            .records()
            .map(|record| record.unwrap().iter().map(str::to_owned).collect())
            .collect();
        Self { names, cells }
    }

    pub(crate) fn names(&self) -> &[String] {
        &self.names
    }

    pub(crate) fn rows(&self) -> usize {
        self.cells.len()
    }

    pub(crate) fn text(&self, name: &str) -> Vec<&str> {
        let at = self.names.iter().position(|other| other == name).unwrap();
        self.cells.iter().map(|row| row[at].as_str()).collect()
    }

    /// Numbers; an empty cell is NaN.
    pub(crate) fn numbers(&self, name: &str) -> Vec<f64> {
        let number = |cell: &str| match cell {
            "" | "NA" => f64::NAN,
            "Inf" => f64::INFINITY,
            "-Inf" => f64::NEG_INFINITY,
            number => number.parse().unwrap(),
        };
        self.text(name).into_iter().map(number).collect()
    }

    pub(crate) fn flags(&self, name: &str) -> Vec<bool> {
        self.text(name).into_iter().map(|cell| cell == "1").collect()
    }

    /// Whole numbers.
    pub(crate) fn labels(&self, name: &str) -> Vec<usize> {
        self.text(name).into_iter().map(|cell| cell.parse().unwrap()).collect()
    }

    /// A design of numeric columns without intercept.
    pub(crate) fn design(&self, names: &[&str]) -> Design {
        names.iter().fold(Design::new(self.rows()), |design, name| {
            design.numeric(name, &self.numbers(name)).unwrap()
        })
    }
}

/// All that a set expects.
pub(crate) fn whole(set: &str) -> Json {
    let text = std::fs::read_to_string(path(&format!("expected/{set}.json"))).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// The expected results of a set and the relative tolerance that its makers suggest.
pub(crate) fn expected(set: &str) -> (Json, f64) {
    let mut file = whole(set);
    let relative = file["suggested_rtol"].as_f64().unwrap();
    (file["results"].take(), relative)
}

/// A number, where the sets write infinite ones as text.
pub(crate) fn number(value: &Json) -> f64 {
    match value.as_str() {
        Some("inf") => f64::INFINITY,
        Some("-inf") => f64::NEG_INFINITY,
        _ => value.as_f64().unwrap_or_else(|| panic!("{value} is no number")),
    }
}

/// A list of numbers.
pub(crate) fn numbers(value: &Json) -> Vec<f64> {
    value.as_array().unwrap_or_else(|| panic!("{value} is no list")).iter().map(number).collect()
}

/// Within `relative` of `expected`, or equal.
#[track_caller]
pub(crate) fn close(what: &str, found: f64, expected: f64, relative: f64) {
    let error = (found - expected).abs();
    assert!(
        found == expected || error <= relative * expected.abs(),
        "{what}: found {found:e}, expected {expected:e}, off by {error:e}"
    );
}

/// As [`close`], but within 1e-10 is enough near zero.
#[track_caller]
pub(crate) fn close_or_zero(what: &str, found: f64, expected: f64, relative: f64) {
    // A NaN is neither.
    if (found - expected).abs() <= 1e-10 {
        return;
    }
    close(what, found, expected, relative);
}
