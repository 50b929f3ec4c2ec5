//! 10 000 resamples of the mean of 60 values with their bias-corrected interval, to set beside `benches/peers/bootstrap.R`.

use criterion::{Criterion, criterion_group, criterion_main};
use stats::bootstrap::{Bootstrap, IntervalKind, QuantileRule};
use std::hint::black_box;

fn bca(criterion: &mut Criterion) {
    // The same values as the R script.
    let values: Vec<f64> =
        (1..=60).map(|i| 30.0 + f64::from(i * 37 % 61) + 0.1 * f64::from(i * i % 17)).collect();
    criterion.bench_function("10 000 BCa resamples of a mean, n = 60", |bencher| {
        bencher.iter(|| {
            let statistic = |rows: &[usize]| {
                Ok(rows.iter().map(|&row| values[row]).sum::<f64>() / rows.len() as f64)
            };
            let bootstrap = Bootstrap::rows(values.len(), 10_000, 1, statistic).unwrap();
            black_box(bootstrap.interval(IntervalKind::Bca, 0.95, QuantileRule::NormalScale))
        });
    });
}

criterion_group!(benches, bca);
criterion_main!(benches);
