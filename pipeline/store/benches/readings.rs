//! Readings of a large season: written, added to, read by name and one after the other.
//!
//! `cargo bench -p store`

use cook::{ChannelReadings, CookReadings, Flag, Role};
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use store::Store;

const COOKS: usize = 4_000;
/// Of each of three channels: fourteen hours, a reading a minute.
const ROWS: usize = 840;

fn cook(number: usize) -> CookReadings {
    let channels = [("Pit", Role::Pit), ("Flat", Role::Meat), ("Point", Role::Meat)];
    let channel = |(name, role): (&str, Role)| ChannelReadings {
        name: name.to_owned(),
        role,
        at_ms: (0..ROWS).map(|i| 1_700_000_000_000 + 60_000 * (i + number) as i64).collect(),
        // A course with noise in its tenths, as a logger writes it.
        temp_c: (0..ROWS)
            .map(|i| (i * 10 / 9 + i * 7919 % 13 + number % 7) as f32 / 10.0)
            .collect(),
        flag: vec![Flag::Good; ROWS],
        source: vec![0; ROWS],
        line: (0..ROWS).map(|i| i as u32 + 2).collect(),
    };
    CookReadings {
        cook: format!("2026-{number:05}"),
        season: "2026".into(),
        channels: channels.map(channel).into(),
        sources: vec![format!("logs/{number}.csv")],
    }
}

fn write_all(store: &Store) {
    let batch = store.readings_batch().unwrap();
    (0..COOKS).for_each(|number| batch.write(&cook(number)).unwrap());
    batch.finish().unwrap();
}

fn readings(c: &mut Criterion) {
    let mut group = c.benchmark_group(format!("readings of {COOKS} cooks"));
    group.sample_size(10);
    group.bench_function("write all", |b| {
        b.iter_batched(
            || tempfile::tempdir().unwrap(),
            |folder| {
                write_all(&Store::create(folder.path()).unwrap());
                folder
            },
            BatchSize::PerIteration,
        );
    });
    let folder = tempfile::tempdir().unwrap();
    let store = Store::create(folder.path()).unwrap();
    write_all(&store);
    let mut changed = cook(7);
    group.bench_function("write one that changed", |b| {
        b.iter(|| {
            changed.channels[0].temp_c[0] += 1.0;
            store.write_readings(&changed).unwrap()
        });
    });
    group.bench_function("read one by name", |b| {
        b.iter(|| store.read_readings("2026", black_box("2026-01234")).unwrap());
    });
    group.bench_function("read all, part after part", |b| {
        b.iter(|| store.scan_readings().unwrap().map(|cook| cook.unwrap().len()).sum::<usize>());
    });
    group.finish();
}

criterion_group!(benches, readings);
criterion_main!(benches);
