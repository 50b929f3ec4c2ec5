//! Bytes a second of reading logs.
//!
//! `read_log/*`: one log of 9 000 lines and four channels, in the forms that differ most in
//! what has to be done; `lines/*`: the same at three sizes, which shows that cost is linear.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use ingest::{ReadOptions, read_log_bytes};
use std::fmt::Write as _;
use std::hint::black_box;

/// A log whose times are written by `time` from seconds since 2026-05-02T00:00:00.
fn log(header: &str, lines: u64, time: impl Fn(u64) -> String) -> String {
    let mut text = format!("{header}\n");
    for i in 0..lines {
        let wave = (i % 97) as f64 / 10.0;
        writeln!(
            text,
            "{},{:.1},{:.1},{:.1},{}",
            time(i * 2),
            225.0 + wave,
            41.0 + (i % 9000) as f64 / 100.0,
            43.5 + (i % 9000) as f64 / 110.0,
            if i % 50 == 0 { "---".to_owned() } else { format!("{:.1}", 71.0 + wave) }
        )
        .expect("writing to a string");
    }
    text
}

/// The same readings, one a line.
fn long(lines: u64) -> String {
    let mut text = String::from("time,channel,value,unit\n");
    for i in 0..lines {
        let name = ["Pit", "Flat", "Point", "Ambient"][(i % 4) as usize];
        let value = 41.0 + (i % 900) as f64 / 10.0;
        writeln!(text, "{},{name},{value:.1},F", clock(i / 4 * 2)).expect("writing to a string");
    }
    text
}

fn clock(seconds: u64) -> String {
    let (day, rest) = (seconds / 86_400, seconds % 86_400);
    format!("2026-05-{:02} {:02}:{:02}:{:02}", 2 + day, rest / 3600, rest / 60 % 60, rest % 60)
}

fn options() -> ReadOptions {
    ReadOptions {
        zone: jiff::tz::TimeZone::get("America/Chicago").expect("the zone is bundled"),
        ..ReadOptions::default()
    }
}

const HEADER: &str = "Time,Pit (F),Flat (F),Point (F),Ambient (F)";

fn forms(c: &mut Criterion) {
    const LINES: u64 = 9_000;
    let local = log(HEADER, LINES, clock);
    let slashed = log(HEADER, LINES, |seconds| {
        clock(seconds + 86_400 * 12).replacen("2026-05-", "5/", 1).replacen(' ', "/2026 ", 1)
    });
    let cells = local.trim_end().replace(',', "\",\"").replace('\n', "\"\n\"");
    let quoted = format!("\"{cells}\"\n");
    let commas = local.replace(',', ";").replace('.', ",");
    let long = long(4 * LINES);
    let utf16: Vec<u8> =
        std::iter::once(0xFEFF).chain(local.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let options = options();
    let mut group = c.benchmark_group("read_log");
    for (name, bytes) in [
        ("local_time", local.as_bytes()),
        ("slashed_dates", slashed.as_bytes()),
        ("all_quoted", quoted.as_bytes()),
        ("decimal_commas", commas.as_bytes()),
        ("long_form", long.as_bytes()),
        ("utf16", &utf16),
    ] {
        group.throughput(Throughput::Bytes(bytes.len() as u64));
        group.bench_function(name, |b| {
            b.iter(|| {
                read_log_bytes(black_box(bytes), "bench.csv", &options).expect("a clean log")
            });
        });
    }
    group.finish();
}

fn sizes(c: &mut Criterion) {
    let options = options();
    let mut group = c.benchmark_group("lines");
    group.sample_size(10);
    for lines in [10_000, 100_000, 1_000_000] {
        let text = log(HEADER, lines, clock);
        group.throughput(Throughput::Elements(lines));
        group.bench_with_input(BenchmarkId::from_parameter(lines), &text, |b, text| {
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
    targets = forms, sizes
}
criterion_main!(benches);
