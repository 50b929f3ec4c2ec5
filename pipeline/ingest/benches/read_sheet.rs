//! Season sheets of 2,000 cooks as CSV, XLSX and ODS.

#[path = "../tests/common/archives.rs"]
#[allow(dead_code, reason = "shared with the tests")]
mod archives;
#[path = "../tests/common/tables.rs"]
#[allow(dead_code, reason = "shared with the tests")]
mod tables;

use criterion::{Criterion, criterion_group, criterion_main};
use ingest::read_season_sheet;
use jiff::tz::TimeZone;
use std::hint::black_box;
use tables::{Rows, Value, csv, ods, text, xlsx};

const COOKS: u32 = 2000;

fn table() -> Rows {
    let header = [
        "cook",
        "date",
        "logs",
        "kind",
        "pit",
        "cut",
        "raw_weight_lb",
        "trimmed_weight_lb",
        "pit_setpoint_f",
        "wood",
        "water_pan",
        "wrap_method",
        "meat_on",
        "wrap_at",
        "pull",
        "slice",
        "score_taste",
        "score_texture",
        "Moon",
        "Remark",
    ];
    let mut rows: Rows = vec![header.map(text).into()];
    for i in 0..COOKS {
        let cell = |words: &str| text(words);
        rows.push(vec![
            cell(&format!("cook-{i}")),
            Value::Date(2020 + (i / 366) as u16, 1 + (i % 12) as u8, 1 + (i % 28) as u8),
            cell(&format!("log-{i}.csv#Flat")),
            cell(if i % 3 == 0 { "contest" } else { "practice" }),
            cell("Old Iron"),
            cell("brisket"),
            Value::Number(12.0 + f64::from(i % 40) / 10.0),
            Value::Number(10.0 + f64::from(i % 40) / 10.0),
            Value::Number(250.0),
            cell("oak"),
            Value::Yes(i % 2 == 0),
            cell("paper"),
            Value::Clock(79_200 + i % 3600),
            Value::Duration(23_400 + i % 3600),
            cell("7:15 am"),
            cell("+11:00"),
            Value::Number(f64::from(i % 20) / 2.0),
            Value::Number(f64::from(i % 20) / 2.0),
            cell("full"),
            cell("a windy night, and the fire went low at three"),
        ]);
    }
    rows
}

fn read_sheet(c: &mut Criterion) {
    let rows = table();
    let sheet: &[tables::Worksheet<'_>] = &[("Cooks", &rows, false)];
    let folder = tempfile::tempdir().expect("a temporary folder");
    let zone = TimeZone::get("America/Chicago").expect("a bundled zone");
    let mut group = c.benchmark_group("2000 cooks");
    group.sample_size(10);
    for (name, bytes) in [("s.csv", csv(&rows)), ("s.xlsx", xlsx(sheet)), ("s.ods", ods(sheet))] {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).expect("a file");
        group.bench_function(name, |b| {
            b.iter(|| {
                let reading =
                    read_season_sheet(black_box(&path), name, &(&zone).into()).expect("a sheet");
                assert_eq!(reading.cards.len(), COOKS as usize);
                reading
            });
        });
    }
    group.finish();
}

criterion_group!(benches, read_sheet);
criterion_main!(benches);
