//! Rows a second of reading a wide log of 100 000 lines with four channels.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use ingest::{ReadOptions, read_log_bytes};
use std::fmt::Write as _;
use std::hint::black_box;

const LINES: u64 = 100_000;

/// A log whose times are written by `time` from seconds since 2026-05-02T00:00:00.
fn log(header: &str, time: impl Fn(u64) -> String) -> String {
    let mut text = format!("{header}\n");
    for i in 0..LINES {
        let wave = (i % 97) as f64 / 10.0;
        writeln!(
            text,
            "{},{:.1},{:.1},{:.1},{}",
            time(i * 2),
            225.0 + wave,
            41.0 + i as f64 / 1000.0,
            43.5 + i as f64 / 1100.0,
            if i % 50 == 0 { "---".to_owned() } else { format!("{:.1}", 71.0 + wave) }
        )
        .expect("writing to a string");
    }
    text
}

fn clock(seconds: u64) -> String {
    let (day, rest) = (seconds / 86_400, seconds % 86_400);
    format!("2026-05-{:02} {:02}:{:02}:{:02}", 2 + day, rest / 3600, rest / 60 % 60, rest % 60)
}

fn read(c: &mut Criterion) {
    let local = log("Time,Pit (F),Flat (F),Point (F),Ambient (F)", clock);
    let slashed = log("Time,Pit (F),Flat (F),Point (F),Ambient (F)", |seconds| {
        clock(seconds + 86_400 * 12).replacen("2026-05-", "5/", 1).replacen(' ', "/2026 ", 1)
    });
    let cells = local.trim_end().replace(',', "\",\"").replace('\n', "\"\n\"");
    let quoted = format!("\"{cells}\"\n");
    let options = ReadOptions {
        zone: jiff::tz::TimeZone::get("America/Chicago").expect("the zone is bundled"),
        ..ReadOptions::default()
    };
    let mut group = c.benchmark_group("read_log");
    group.throughput(Throughput::Elements(LINES));
    for (name, text) in
        [("local_time", &local), ("slashed_dates", &slashed), ("all_quoted", &quoted)]
    {
        group.bench_function(name, |b| {
            b.iter(|| {
                read_log_bytes(black_box(text.as_bytes()), "bench.csv", &options)
                    .expect("a clean log")
            });
        });
    }
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = read
}
criterion_main!(benches);
