//! The phase definition through the whole command: the conformance curves as logger files.
//!
//! Source of curves and expected figures: `tests/reference/phases` (computed from the
//! definition, and reproduced by a second, independent implementation).

mod support;

use flate2::read::GzDecoder;
use std::collections::{BTreeMap, HashMap};
use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use support::{cookstudy, expect_exit, rows, stdout, write};

/// 2025-06-01T00:00:00Z.
const START_S: i64 = 1_748_736_000;

fn reference(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/phases").join(name)
}

fn instant(elapsed_s: f64) -> String {
    jiff::Timestamp::from_second(START_S + elapsed_s as i64).unwrap().to_string()
}

/// The curves, thinned to every `every`-th sample, as logs and a sheet.
fn write_season(folder: &Path, every: usize) {
    let mut text = String::new();
    GzDecoder::new(File::open(reference("curves.csv.gz")).unwrap())
        .read_to_string(&mut text)
        .unwrap();
    let mut logs: BTreeMap<String, (usize, String)> = BTreeMap::new();
    for row in rows(&text) {
        let (count, log) = logs
            .entry(row["curve"].clone())
            .or_insert_with(|| (0, String::from("time,Core (C),Pit (C)\n")));
        if *count % every == 0 {
            let at = instant(row["elapsed_s"].parse().unwrap());
            writeln!(log, "{at},{},{}", row["core_c"], row["pit_c"]).unwrap();
        }
        *count += 1;
    }
    let mut sheet = String::from("cook,date,logs,meat_on,pull,slice\n");
    for mark in marks() {
        let at = |column: &str| instant(mark[column].parse().unwrap());
        let curve = &mark["curve"];
        let (on, pull, slice) = (at("meat_on_s"), at("pull_s"), at("rest_end_s"));
        writeln!(sheet, "{curve},2025-06-01,{curve}.csv,{on},{pull},{slice}").unwrap();
    }
    write(folder, "sheet.csv", &sheet);
    for (curve, (_, log)) in logs {
        write(folder, &format!("logs/{curve}.csv"), &log);
    }
}

fn marks() -> Vec<HashMap<String, String>> {
    rows(&fs::read_to_string(reference("marks.csv")).unwrap())
}

/// Boundaries of each curve's phases in seconds since the curve's start.
fn expected_phases() -> BTreeMap<String, Vec<(String, f64, f64)>> {
    let mut all: BTreeMap<String, Vec<_>> = BTreeMap::new();
    for row in rows(&fs::read_to_string(reference("phases.csv")).unwrap()) {
        all.entry(row["curve"].clone()).or_default().push((
            row["phase"].clone(),
            row["start_s"].parse().unwrap(),
            row["end_s"].parse().unwrap(),
        ));
    }
    all
}

/// Largest differences over all curves: boundaries (s), reference (relative), delay (min).
fn largest_differences(every: usize) -> (f64, f64, f64) {
    let folder = tempfile::tempdir().unwrap();
    write_season(folder.path(), every);
    let ingest = cookstudy(
        folder.path(),
        &["ingest", "--logs", "logs", "--sheet", "sheet.csv", "--store", "store", "--tz", "UTC"],
    );
    // Some of the curves are pulled while the core still rises, which is asked about; the marks are
    // used as written.
    expect_exit(&ingest, 1);
    let phases = cookstudy(folder.path(), &["phases", "--store", "store", "--format", "csv"]);
    expect_exit(&phases, 0);
    let measures = cookstudy(folder.path(), &["measures", "--store", "store", "--format", "csv"]);
    expect_exit(&measures, 0);

    let mut found: BTreeMap<String, Vec<(String, f64, f64)>> = BTreeMap::new();
    for row in rows(&stdout(&phases)) {
        found.entry(row["cook"].clone()).or_default().push((
            row["phase"].clone(),
            row["start_s"].parse().unwrap(),
            row["end_s"].parse().unwrap(),
        ));
    }
    let measured: HashMap<String, HashMap<String, String>> =
        rows(&stdout(&measures)).into_iter().map(|row| (row["cook"].clone(), row)).collect();
    let expected = expected_phases();
    assert_eq!(found.len(), 14);
    assert_eq!(expected.len(), 14);

    let (mut boundary, mut reference, mut delay) = (0.0_f64, 0.0_f64, 0.0_f64);
    for mark in marks() {
        let curve = &mark["curve"];
        let meat_on: f64 = mark["meat_on_s"].parse().unwrap();
        let kinds = |phases: &[(String, f64, f64)]| -> Vec<String> {
            phases.iter().map(|(kind, _, _)| kind.clone()).collect()
        };
        assert_eq!(kinds(&found[curve]), kinds(&expected[curve]), "{curve}");
        for ((_, start, end), (_, wanted_start, wanted_end)) in
            found[curve].iter().zip(&expected[curve])
        {
            boundary = boundary.max((start + meat_on - wanted_start).abs());
            boundary = boundary.max((end + meat_on - wanted_end).abs());
        }
        let row = &measured[curve];
        let number = |text: &str| text.parse::<f64>().unwrap();
        let wanted = number(&mark["k_ref_per_h"]);
        reference = reference.max((number(&row["k_ref_per_h"]) / wanted - 1.0).abs());
        delay =
            delay.max((number(&row["stall_delay_min"]) - number(&mark["stall_delay_min"])).abs());
        assert_eq!(row["stalls"], mark["stalls"], "{curve}");
        assert_eq!(
            row["stall_delay_censored"],
            mark["stall_delay_censored"].to_lowercase(),
            "{curve}"
        );
    }
    println!(
        "every {every}: boundary {boundary} s, reference {reference:.1e}, delay {delay:.3} min"
    );
    (boundary, reference, delay)
}

/// The store keeps temperatures as 32-bit floats (about 4e-6 °C at 70 °C), and the curves
/// have four decimals, so nothing but the smoother stands between file and definition.
#[test]
fn curves_on_the_grid_come_through_the_whole_command() {
    let (boundary, reference, delay) = largest_differences(1);
    assert!(boundary <= 10.0, "boundaries differ by up to {boundary} s");
    assert!(reference <= 1e-4, "references differ by up to {reference}");
    assert!(delay <= 0.2, "delays differ by up to {delay} min");
}
