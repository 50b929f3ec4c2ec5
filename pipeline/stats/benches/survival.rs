//! Speed of the survival estimators. `benches/peers/cox.R` times R on data of the same make.
#![allow(missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use stats::{
    CensoredGaussian, CensoredTimes, Cox, CoxErrors, Design, Followup, KaplanMeier,
    LikelihoodErrors, Turnbull,
};
use std::hint::black_box;

const SUBJECTS: usize = 20_000;
const VISITS: usize = 5;
const COVARIATES: usize = 5;
const EFFECTS: [f64; COVARIATES] = [0.3, -0.2, 0.1, 0.0, 0.5];

/// 20,000 subjects seen five times, two units of time apart; all covariates change at each visit.
fn rows() -> (Design, Followup, Vec<usize>) {
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let mut normal = || -> f64 {
        let sum: f64 = (0..12).map(|_| random.random::<f64>()).sum();
        sum - 6.0
    };
    let rows = SUBJECTS * VISITS;
    let columns: Vec<Vec<f64>> =
        (0..COVARIATES).map(|_| (0..rows).map(|_| normal()).collect()).collect();
    let (mut start, mut stop, mut event, mut id) = (vec![], vec![], vec![], vec![]);
    for row in 0..rows {
        let risk: f64 = columns.iter().zip(EFFECTS).map(|(x, b)| x[row] * b).sum();
        let wait = -random.random::<f64>().ln() / (0.02 * risk.exp());
        let begin = (row % VISITS) as f64 * 2.0;
        start.push(begin);
        stop.push(begin + wait.min(2.0));
        event.push(wait < 2.0);
        id.push(row / VISITS);
    }
    let design = columns.iter().enumerate().fold(Design::new(rows), |design, (j, column)| {
        design.numeric(&format!("x{j}"), column).expect("a sound column")
    });
    (design, Followup::start_stop(&start, &stop, &event).expect("sound rows"), id)
}

fn survival(c: &mut Criterion) {
    let (design, followup, id) = rows();
    let mut group = c.benchmark_group("cox, 100,000 start-stop rows, 5 covariates");
    group.sample_size(20);
    let start: Vec<f64> = (0..design.rows()).map(|row| (row % VISITS) as f64 * 2.0).collect();
    group.bench_function("model errors", |b| {
        b.iter(|| Cox::fit(black_box(&design), &followup, CoxErrors::Model));
    });
    group.bench_function("clustered errors", |b| {
        b.iter(|| Cox::fit(black_box(&design), &followup, CoxErrors::Clustered(&id)));
    });
    group.finish();
    c.bench_function("follow-up of 100,000 start-stop rows", |b| {
        let stop: Vec<f64> = start.iter().map(|s| s + 2.0).collect();
        let event = vec![false; stop.len()];
        b.iter(|| Followup::start_stop(black_box(&start), &stop, &event));
    });
    c.bench_function("kaplan-meier, 100,000 start-stop rows", |b| {
        b.iter(|| KaplanMeier::fit(black_box(&followup)));
    });
}

/// 5,000 outcomes of which each is known to lie between two looks, or beyond the last.
fn looks() -> (Design, CensoredTimes) {
    let mut random = ChaCha8Rng::seed_from_u64(2);
    let (mut lower, mut upper, mut covariate) = (vec![], vec![], vec![]);
    for _ in 0..5_000 {
        let x = random.random::<f64>();
        let time = 5.0 * (0.5 * x).exp() * (-random.random::<f64>().ln()).sqrt();
        let gap = 0.2 + random.random::<f64>();
        let before = (time / gap).floor() * gap;
        lower.push(if before > 0.0 { before } else { f64::NEG_INFINITY });
        upper.push(if before > 9.0 { f64::INFINITY } else { before + gap });
        covariate.push(x);
    }
    let design = Design::new(lower.len()).intercept().and_then(|d| d.numeric("x", &covariate));
    let times = CensoredTimes::intervals(&lower, &upper);
    (design.expect("sound columns"), times.expect("sound bounds"))
}

fn intervals(c: &mut Criterion) {
    let (design, times) = looks();
    let mut group = c.benchmark_group("5,000 interval-censored rows");
    group.sample_size(10);
    group.bench_function("turnbull", |b| b.iter(|| Turnbull::fit(black_box(&times))));
    group.bench_function("normal", |b| {
        b.iter(|| CensoredGaussian::fit(black_box(&design), &times, LikelihoodErrors::Model));
    });
    group.finish();
}

criterion_group!(benches, survival, intervals);
criterion_main!(benches);
