//! Cooks per second: one unwrapped brisket to tenderness, from lighting to slicing, with its
//! true phases; and the whole sample season with its files.

use cook::{Celsius, Kilograms};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use simulate::{CookPlan, Meat, Pit, run_fire};
use std::hint::black_box;

fn cooks(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("simulate");
    group.throughput(Throughput::Elements(1));
    let pit = Pit::steady(Celsius(121.0));
    let plan = CookPlan::unwrapped(Meat::brisket(Kilograms(5.8)), 3_600);
    group.bench_function("unwrapped brisket", |bencher| {
        bencher.iter(|| run_fire(black_box(&pit), black_box(std::slice::from_ref(&plan)), 1));
    });
    group.finish();
    let mut group = criterion.benchmark_group("season");
    group.sample_size(10);
    group.bench_function("sample season", |bencher| bencher.iter(simulate::sample_season));
    group.finish();
}

criterion_group!(benches, cooks);
criterion_main!(benches);
