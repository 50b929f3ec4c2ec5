//! For tests: data and expected figures in `tests/reference/stats`, and comparisons with them.

use serde_json::Value as Json;
use std::collections::HashMap;
use std::path::PathBuf;

fn path(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/stats").join(file)
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

/// The cells of a column of `data/<file>.csv`.
pub(crate) fn texts(file: &str, column: &str) -> Vec<String> {
    let mut reader = csv::Reader::from_path(path(&format!("data/{file}.csv"))).unwrap();
    let position = reader.headers().unwrap().iter().position(|name| name == column).unwrap();
    reader.records().map(|record| record.unwrap()[position].to_owned()).collect()
}

/// Every column of `data/<file>.csv`, by name.
pub(crate) fn table(file: &str) -> HashMap<String, Vec<String>> {
    let mut reader = csv::Reader::from_path(path(&format!("data/{file}.csv"))).unwrap();
    let names: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let mut columns: HashMap<String, Vec<String>> = HashMap::new();
    for record in reader.records() {
        for (name, value) in names.iter().zip(&record.unwrap()) {
            columns.entry(name.clone()).or_default().push(value.to_owned());
        }
    }
    columns
}

/// Cells as numbers.
pub(crate) fn parsed(cells: &[String]) -> Vec<f64> {
    cells.iter().map(|cell| cell.parse().unwrap()).collect()
}

/// A column of numbers of `data/<file>.csv`.
pub(crate) fn column(file: &str, column: &str) -> Vec<f64> {
    parsed(&texts(file, column))
}

/// All rows of a CSV of whole numbers.
pub(crate) fn rows_of_indices(file: &str) -> Vec<Vec<usize>> {
    let mut reader = csv::Reader::from_path(path(&format!("data/{file}.csv"))).unwrap();
    reader.deserialize().map(|record| record.unwrap()).collect()
}

/// The numbers of one column split by the labels of another, in sorted order of the labels.
pub(crate) fn groups(file: &str, values: &str, labels: &str) -> Vec<Vec<f64>> {
    let labels = texts(file, labels);
    let mut names = labels.clone();
    names.sort_unstable();
    names.dedup();
    let values = column(file, values);
    names
        .iter()
        .map(|name| {
            let member = labels.iter().zip(&values).filter(|(label, _)| *label == name);
            member.map(|(_, value)| *value).collect()
        })
        .collect()
}

/// A number, where the sets write infinite ones as text.
pub(crate) fn number(value: &Json) -> f64 {
    match value.as_str() {
        Some("inf") => f64::INFINITY,
        Some("-inf") => f64::NEG_INFINITY,
        _ => value.as_f64().unwrap(),
    }
}

/// A list of numbers.
pub(crate) fn numbers(value: &Json) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
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
    if (found - expected).abs() > 1e-10 {
        close(what, found, expected, relative);
    }
}

/// Within `relative` of `expected`, give or take 1e-10.
#[track_caller]
pub(crate) fn near(what: &str, found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs() + 1e-10,
        "{what}: found {found:e}, expected {expected:e}"
    );
}
