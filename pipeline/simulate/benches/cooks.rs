//! Cooks per second on one core: one unwrapped brisket to tenderness, from lighting to slicing,
//! with its true phases; a season of a team as it cooks, with curves and phases; and the same
//! season's marks under a strategy, without curves.

use cook::{Celsius, Kilograms, WrapMethod};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use simulate::{CookPlan, Meat, Pit, Strategy, TeamModel, run_fire, run_marks};
use std::hint::black_box;

fn cooks(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("simulate");
    group.throughput(Throughput::Elements(1));
    let pit = Pit::steady(Celsius(121.0));
    let plan = CookPlan::unwrapped(Meat::brisket(Kilograms(5.8)), 3_600);
    let plans = std::slice::from_ref(&plan);
    group.bench_function("unwrapped brisket", |bencher| {
        bencher.iter(|| run_fire(black_box(&pit), black_box(plans), 1));
    });
    group.bench_function("unwrapped brisket, marks", |bencher| {
        bencher.iter(|| run_marks(black_box(&pit), black_box(plans), 1));
    });
    group.finish();

    let season = TeamModel::middling().season(1).expect("the model's settings are in range");
    let count: usize = season.iter().map(|fire| fire.cooks.len()).sum();
    let foil = Strategy::wrap(WrapMethod::Foil, Celsius::from_fahrenheit(160.0), 30.0);
    let mut group = criterion.benchmark_group("team");
    group.sample_size(10);
    group.throughput(Throughput::Elements(count as u64));
    group.bench_function("season with curves", |bencher| {
        bencher.iter(|| season.iter().map(|fire| fire.run().map(drop)).collect::<Vec<_>>());
    });
    group.bench_function("season's marks under a strategy", |bencher| {
        bencher.iter(|| season.iter().map(|fire| fire.marks_under(&foil)).collect::<Vec<_>>());
    });
    group.finish();
}

criterion_group!(benches, cooks);
criterion_main!(benches);
