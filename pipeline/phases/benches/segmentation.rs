//! What one cook costs: the definition alone on a 10 s grid, and measured logs of 14 h: one reading
//! a minute, one every 10 s (5,040 readings), one a second (50,400), without and with 60 drawn
//! curves.

use cook::PhaseDefinition;
use criterion::{Criterion, criterion_group, criterion_main};
use phases::{CookBounds, CookCurves, GridCurves, OwnedSamples, SegmentOptions, judge, segment};
use std::hint::black_box;

const HOURS: i64 = 14;

/// A core that warms by Newton's law with a slow stretch, and a pit that swings, with the noise
/// of a cheap probe from a fixed multiplicative sequence, in tenths of a degree.
fn log(interval_s: i64, noise_c: f64) -> (OwnedSamples, OwnedSamples) {
    let at_ms: Vec<i64> = (0..HOURS * 3600 / interval_s).map(|i| i * interval_s * 1000).collect();
    let mut state = 20_260_101_u64;
    let mut noise = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5) * noise_c
    };
    let mut core = 5.0;
    let (mut cores, mut pits) = (Vec::new(), Vec::new());
    for &at in &at_ms {
        let pit = 120.0 + 4.0 * (at as f64 / 1.5e6).sin();
        let k = if (66.0..72.0).contains(&core) { 0.03 } else { 0.19 };
        core += k * (pit - core) * interval_s as f64 / 3600.0;
        cores.push(((core + noise()) * 10.0).round() / 10.0);
        pits.push(((pit + 4.0 * noise()) * 10.0).round() / 10.0);
    }
    (OwnedSamples { at_ms: at_ms.clone(), temp_c: cores }, OwnedSamples { at_ms, temp_c: pits })
}

fn bounds() -> CookBounds {
    let end_ms = HOURS * 3_600_000;
    CookBounds {
        meat_on_known: true,
        meat_on_ms: 0,
        pull_ms: end_ms - 1_800_000,
        end_ms,
        pull_known: true,
        slice_known: false,
    }
}

fn segmentation(criterion: &mut Criterion) {
    let (core, pit) = log(10, 0.0);
    let grid =
        GridCurves { start_ms: 0, step_ms: 10_000, core_c: &core.temp_c, pit_c: &pit.temp_c };
    let definition = PhaseDefinition::default();
    criterion.bench_function("judge, 14 h on a 10 s grid", |bench| {
        bench.iter(|| judge(black_box(&grid), &bounds(), &definition, None));
    });
    for (name, interval_s) in [("each minute", 60), ("every 10 s", 10), ("each second", 1)] {
        let (core, pit) = log(interval_s, 0.6);
        let curves = CookCurves { core: core.view(), pit: pit.view(), wraps_ms: &[] };
        for draws in [0, 60] {
            let options = SegmentOptions { draws, seed: 1, ..SegmentOptions::default() };
            criterion.bench_function(&format!("segment, 14 h {name}, {draws} draws"), |bench| {
                bench.iter(|| segment(black_box(&curves), &bounds(), &options).unwrap());
            });
        }
    }
}

criterion_group!(benches, segmentation);
criterion_main!(benches);
