//! The sample seasons, cooked and written as files.

use criterion::{Criterion, criterion_group, criterion_main};

fn season(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("season");
    group.sample_size(10);
    group.bench_function("sample season", |bencher| bencher.iter(samples::sample_season));
    group.finish();
}

criterion_group!(benches, season);
criterion_main!(benches);
