//! The phase definition on the fourteen conformance curves (`tests/reference/phases`), judged
//! directly and recovered from them as if they had been measured.

use cook::{PhaseDefinition, PhaseKind};
use flate2::read::GzDecoder;
use phases::{
    CookBounds, CookCurves, GridCurves, Judgement, Samples, SegmentOptions, judge, segment,
};
use std::collections::BTreeMap;
use std::io::Read;
use std::path::PathBuf;

const STEP_MS: i64 = 10_000;

struct Curve {
    name: String,
    core_c: Vec<f64>,
    pit_c: Vec<f64>,
    bounds: CookBounds,
    k_ref_per_h: f64,
    stalls: usize,
    stall_min: f64,
    phases: Vec<(PhaseKind, i64, i64)>,
}

fn reference(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/phases").join(name)
}

fn ms(cell: &str) -> i64 {
    (cell.parse::<f64>().unwrap() * 1000.0) as i64
}

fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().skip(1).map(|line| line.split(',').collect())
}

fn curves() -> Vec<Curve> {
    let file = std::fs::File::open(reference("curves.csv.gz")).unwrap();
    let mut text = String::new();
    GzDecoder::new(file).read_to_string(&mut text).unwrap();
    let mut samples: BTreeMap<&str, (Vec<f64>, Vec<f64>)> = BTreeMap::new();
    for cells in rows(&text) {
        let (core_c, pit_c) = samples.entry(cells[0]).or_default();
        assert_eq!(ms(cells[1]), STEP_MS * core_c.len() as i64);
        core_c.push(cells[2].parse().unwrap());
        pit_c.push(cells[3].parse().unwrap());
    }
    let phases = std::fs::read_to_string(reference("phases.csv")).unwrap();
    let marks = std::fs::read_to_string(reference("marks.csv")).unwrap();
    let curves: Vec<Curve> = rows(&marks)
        .map(|cells| Curve {
            name: cells[0].to_owned(),
            core_c: samples[cells[0]].0.clone(),
            pit_c: samples[cells[0]].1.clone(),
            bounds: CookBounds {
                meat_on_known: true,
                meat_on_ms: ms(cells[2]),
                pull_ms: ms(cells[3]),
                end_ms: ms(cells[4]),
                pull_known: true,
                slice_known: true,
            },
            k_ref_per_h: cells[5].parse().unwrap(),
            stalls: cells[6].parse().unwrap(),
            stall_min: cells[7].parse().unwrap(),
            phases: rows(&phases)
                .filter(|row| row[0] == cells[0])
                .map(|row| (row[1].parse().unwrap(), ms(row[2]), ms(row[3])))
                .collect(),
        })
        .collect();
    assert_eq!(curves.len(), 14);
    curves
}

/// Largest distance of a boundary from the expected one, ms; the kinds must be the same.
fn worst_boundary_ms(curve: &Curve, judgement: &Judgement) -> i64 {
    let kinds: Vec<PhaseKind> = judgement.phases.iter().map(|span| span.kind).collect();
    let expected: Vec<PhaseKind> = curve.phases.iter().map(|row| row.0).collect();
    assert_eq!(kinds, expected, "{}: {:?}", curve.name, judgement.phases);
    judgement
        .phases
        .iter()
        .zip(&curve.phases)
        .map(|(span, row)| (span.start_ms - row.1).abs().max((span.end_ms - row.2).abs()))
        .max()
        .unwrap()
}

/// The curve as a log: a reading every `every` samples, rounded to `quantum_c`, stored in
/// single precision.
fn segmented(curve: &Curve, every: usize, quantum_c: f64) -> Judgement {
    let at_ms: Vec<i64> =
        (0..curve.core_c.len()).step_by(every).map(|i| i as i64 * STEP_MS).collect();
    let logged = |values: &[f64]| -> Vec<f64> {
        values
            .iter()
            .step_by(every)
            .map(|value| f64::from(((value / quantum_c).round() * quantum_c) as f32))
            .collect()
    };
    let (core, pit) = (logged(&curve.core_c), logged(&curve.pit_c));
    let curves = CookCurves {
        core: Samples { at_ms: &at_ms, temp_c: &core },
        pit: Samples { at_ms: &at_ms, temp_c: &pit },
        wraps_ms: &[],
    };
    segment(&curves, &curve.bounds, &SegmentOptions::default()).unwrap().judgement
}

#[test]
fn the_definition_gives_the_reference_figures() {
    let definition = PhaseDefinition::default();
    for curve in curves() {
        let grid = GridCurves {
            start_ms: 0,
            step_ms: STEP_MS,
            core_c: &curve.core_c,
            pit_c: &curve.pit_c,
        };
        let judgement = judge(&grid, &curve.bounds, &definition, None);
        let k_ref = judgement.reference.unwrap().k_per_h;
        let error = (k_ref / curve.k_ref_per_h - 1.0).abs();
        assert!(error < 1e-6, "{}: k_ref {k_ref} is off by {error:e}", curve.name);
        let worst = worst_boundary_ms(&curve, &judgement);
        assert!(worst <= STEP_MS, "{}: a boundary is off by {worst} ms", curve.name);
        assert_eq!(judgement.stalls, Some(curve.stalls), "{}", curve.name);
        // One grid step at each of a stall's two ends.
        let off = (judgement.stall_min.unwrap() - curve.stall_min).abs();
        assert!(off <= 2.0 * curve.stalls as f64 * STEP_MS as f64 / 60_000.0, "{}", curve.name);
    }
}

/// Four decimals in single precision are all but free of noise: the smoother must pass them
/// through. Two grid steps: one of the definition, one for the rounding (1e-4 °C at a slope
/// window of 20 min moves k by about 1e-6 1/h, less than k moves in a step).
#[test]
fn a_noise_free_log_of_ten_seconds_passes_through() {
    for curve in curves() {
        let judgement = segmented(&curve, 1, 1e-4);
        let worst = worst_boundary_ms(&curve, &judgement);
        println!("{}: {} s", curve.name, worst / 1000);
        assert!(worst <= 2 * STEP_MS, "{}: a boundary is off by {worst} ms", curve.name);
    }
}

/// Largest distance of a stall's start or end from the expected one, ms. A push that the
/// estimate misses just before the pull counts as an end that is off by its length.
fn worst_stall_edge_ms(curve: &Curve, judgement: &Judgement) -> i64 {
    let found: Vec<_> = judgement.phases_of(PhaseKind::Stall).collect();
    let expected: Vec<_> = curve.phases.iter().filter(|row| row.0 == PhaseKind::Stall).collect();
    assert_eq!(found.len(), expected.len(), "{}: {:?}", curve.name, judgement.phases);
    found
        .iter()
        .zip(&expected)
        .map(|(span, row)| (span.start_ms - row.1).abs().max((span.end_ms - row.2).abs()))
        .max()
        .unwrap_or(0)
}

/// A common logger: a reading a minute in tenths of a degree. Rounding hides up to 0.1 °C, which
/// a core near its boundary (1 to 2 °C/h there) takes 3 to 6 min to rise: five minutes are asked
/// for, and three minutes of all but curve 11: its stall ends 300 s before the pull, and that last push
/// is missed. Run with `--nocapture` for the measured errors.
#[test]
fn a_log_of_sixty_seconds_and_tenths_of_a_degree_is_minutes_off() {
    for curve in curves() {
        let judgement = segmented(&curve, 6, 0.1);
        let worst = worst_stall_edge_ms(&curve, &judgement);
        println!("60 s, 0.1 °C: {}: {} s", curve.name, worst / 1000);
        let most = if curve.name == "curve-11" { 300_000 } else { 180_000 };
        assert!(worst <= most, "{}: a boundary is off by {worst} ms", curve.name);
    }
}

/// Where no sheet tells the pull, the pit does: by the fall that ends it, or by the lid through
/// which the meat came off. Within two minutes. Left out
/// are curves 11 and 14, made to be pulled in mid-cook on paper only: their cores rise on under
/// the pit for hours.
#[test]
fn the_pull_is_found_from_the_log_alone() {
    let mut not_found = Vec::new();
    for curve in curves() {
        if matches!(curve.name.as_str(), "curve-11" | "curve-14") {
            continue;
        }
        let at_ms: Vec<i64> = (0..curve.core_c.len() as i64).map(|i| i * STEP_MS).collect();
        let card = cook::MarkTimes {
            meat_on_ms: Some(curve.bounds.meat_on_ms),
            ..cook::MarkTimes::default()
        };
        let marks = phases::find_marks(
            &card,
            &[],
            Samples { at_ms: &at_ms, temp_c: &curve.core_c },
            Samples { at_ms: &at_ms, temp_c: &curve.pit_c },
        )
        .unwrap();
        let off_ms = marks.pull.at_ms - curve.bounds.pull_ms;
        println!("{}: pull {:?} {} s", curve.name, marks.pull.source, off_ms / 1000);
        if marks.bounds.pull_known {
            assert!(off_ms.abs() <= 120_000, "{}: the pull is off by {off_ms} ms", curve.name);
        } else {
            not_found.push(curve.name);
        }
    }
    assert!(not_found.is_empty(), "{not_found:?}");
}
