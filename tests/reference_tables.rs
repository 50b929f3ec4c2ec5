//! Reference data sets with figures of R, as tables of cooks through the whole command: what
//! `study --table` writes must be what R found.
//!
//! Source of data and figures: `tests/reference/stats`, where each set names its software.

mod support;

use serde_json::Value;
use std::collections::HashMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use support::{cookstudy, expect_exit, rows, write};

fn reference(part: &str) -> String {
    let path: PathBuf =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/stats").join(part);
    fs::read_to_string(path).unwrap()
}

fn expected(set: &str) -> Value {
    serde_json::from_str(&reference(&format!("expected/{set}.json"))).unwrap()
}

/// Studies a set with its columns under names of ours, one cook a row.
fn study(set: &str, names: &[(&str, &str)], claims: &str) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let own: Vec<&str> = names.iter().map(|(_, name)| *name).collect();
    let mut table = format!("cook,{}\n", own.join(","));
    for (place, row) in rows(&reference(&format!("data/{set}.csv"))).iter().enumerate() {
        let row: &HashMap<String, String> = row;
        // An open end is an empty cell here.
        let cell = |theirs: &str| match row[theirs].as_str() {
            "Inf" | "-Inf" => String::new(),
            known => known.to_owned(),
        };
        let cells: Vec<String> = names.iter().map(|(theirs, _)| cell(theirs)).collect();
        writeln!(table, "c{place:03},{}", cells.join(",")).unwrap();
    }
    write(folder.path(), "table.csv", &table);
    write(folder.path(), "claims.toml", claims);
    let arguments = ["study", "--table", "table.csv", "--claims", "claims.toml", "--out", "out"];
    expect_exit(&cookstudy(folder.path(), &arguments), 0);
    let text = fs::read_to_string(folder.path().join("out/study.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn close(found: &Value, expected: f64, tolerance: f64) {
    let found = found.as_f64().unwrap();
    let reach = tolerance * expected.abs();
    assert!((found - expected).abs() <= reach, "found {found}, expected {expected}");
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

/// R 4.2.2: `ordinal::clm`, and near its errors the sandwich with the factor G/(G − 1).
#[test]
fn scores_by_wood_are_those_of_clm() {
    let names =
        [("score", "score_taste"), ("x", "pit_early_c"), ("wood", "wood"), ("fire", "fire")];
    let found = study(
        "ordinal",
        &names,
        "[[claim]]\nid = \"a\"\nsays = \"a\"\nkind = \"compare\"\noutcome = \"score_taste\"\n\
         better = \"higher\"\nby = \"wood\"\nlevels = [\"oak\", \"ash\"]\nmatters = 0.5\n",
    );
    let answers = found["cost_side"]["answers"].as_array().unwrap();
    let wood = answers.iter().find(|own| own["treatment"] == "wood").unwrap();
    assert_eq!(
        (wood["base"].as_str(), wood["outcome"].as_str()),
        (Some("ash"), Some("score_taste"))
    );
    let model = &wood["models"][0];
    let expected = expected("ordinal");
    let clm = &expected["results"]["plain"];
    close(&model["log_likelihood"], clm["loglik"].as_f64().unwrap(), 1e-7);
    let terms = model["terms"].as_array().unwrap();
    let names: Vec<&str> = terms.iter().map(|term| term["term"].as_str().unwrap()).collect();
    // Theirs: thresholds, x, elm, oak.
    let theirs = |name: &str| match name {
        "pit_early_c" => 4,
        "wood[elm]" => 5,
        "wood[oak]" => 6,
        threshold => names.iter().position(|own| *own == threshold).unwrap(),
    };
    let (coefficients, covariance) = (numbers(&clm["coef"]), numbers(&clm["cluster_vcov"]));
    assert_eq!(terms.len(), coefficients.len());
    for (term, name) in terms.iter().zip(&names) {
        let place = theirs(name);
        close(&term["estimate"], coefficients[place], 1e-7);
        // Leave-one-fire-out, which is held against refits in `stats`: with twenty-odd fires it lies
        // somewhat above the sandwich.
        let ratio = term["std_error"].as_f64().unwrap() / covariance[place * 8].sqrt();
        assert!((0.98..=1.2).contains(&ratio), "{name}: {ratio}");
    }
    // R 4.2.2: pchisq(7.98386831880556, 9, lower = FALSE), χ² by Brant's test written out with `glm`.
    close(&wood["proportional_odds_p"], 0.535_772_721_695_832_3, 1e-7);
    let oak = wood["effects"].as_array().unwrap();
    let oak = oak.iter().find(|own| own["level"] == "oak").unwrap();
    close(&oak["odds_ratio"]["estimate"], coefficients[6].exp(), 1e-7);
}

/// Turnbull's estimator, iterated to a standstill in R 4.2.2.
#[test]
fn tender_temperatures_are_those_of_turnbull() {
    let names = [("lower", "tender_above_c"), ("upper", "tender_by_c"), ("cluster", "fire")];
    let found = study("interval_times", &names, "");
    let all = &found["cost_side"]["tender"]["groups"][0];
    let turnbull = &all["turnbull"];
    let expected = expected("interval_times");
    let theirs = &expected["results"]["turnbull"];
    close(&turnbull["log_likelihood"], theirs["loglik"].as_f64().unwrap(), 1e-7);
    let (from, to, mass) =
        (numbers(&theirs["from"]), numbers(&theirs["to"]), numbers(&theirs["mass"]));
    let kept: Vec<usize> = (0..mass.len()).filter(|&place| mass[place] > 1e-9).collect();
    let steps = turnbull["steps"].as_array().unwrap();
    assert_eq!(steps.len(), kept.len());
    for (step, place) in steps.iter().zip(kept) {
        close(&step["above_c"], from[place], 1e-12);
        close(&step["by_c"], to[place], 1e-12);
        close(&step["share"], mass[place], 1e-6);
    }
}
