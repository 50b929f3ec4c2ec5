//! Ingesting at five sizes: seconds, peak memory, and how both grow with the cooks.
//!
//! `cargo bench --bench ingest` (release), or with `--profile dev`. Each season is then
//! ingested again unchanged, with one row of its sheet made longer, and with one log more.
//! An exponent of 1 is twice the time for twice the cooks.

mod seasons;

use seasons::{INGEST, edit_cell, readings_of, run, write_season};
use std::fs;
use std::path::Path;

const COOKS: [usize; 5] = [500, 1_000, 2_000, 4_000, 8_000];
fn main() {
    let mut points = Vec::new();
    for cooks in COOKS {
        let folder = tempfile::tempdir().unwrap();
        let cooks = write_season(folder.path(), cooks).cooks;
        let first = run(folder.path(), &INGEST);
        let (files, bytes) = readings_files(&folder.path().join("store/readings"));
        println!(
            "{cooks} cooks, {} readings: {:.2} s, peak memory {}; readings {files} files, {:.1} MB",
            readings_of(&first),
            first.seconds,
            first.peak(),
            bytes as f64 / 1e6
        );
        points.push((cooks as f64, first.seconds));
        let again = |what: &str| {
            let run = run(folder.path(), &INGEST);
            println!(
                "  {what}: {:.2} s, {}",
                run.seconds,
                run.said.lines().last().unwrap_or_default()
            );
        };
        again("unchanged");
        let sheet = folder.path().join("sheet.csv");
        edit_cell(&sheet, "weather", |cell| format!("{cell} and a gust of wind"));
        again("one row longer");
        let logs = folder.path().join("logs");
        let any = fs::read_dir(&logs).unwrap().next().unwrap().unwrap().path();
        fs::copy(&any, logs.join("one-more.csv")).unwrap();
        again("one log more");
    }
    for pair in points.windows(2) {
        let [(fewer, quicker), (more, slower)] = pair else { continue };
        let exponent = (slower / quicker).ln() / (more / fewer).ln();
        println!("from {fewer} to {more} cooks: exponent {exponent:.2}");
    }
}

/// Files below a folder, and their bytes.
fn readings_files(folder: &Path) -> (usize, u64) {
    let (mut files, mut bytes) = (0, 0);
    for entry in fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let metadata = entry.metadata().unwrap();
        if metadata.is_dir() {
            let below = readings_files(&entry.path());
            (files, bytes) = (files + below.0, bytes + below.1);
        } else {
            (files, bytes) = (files + 1, bytes + metadata.len());
        }
    }
    (files, bytes)
}
