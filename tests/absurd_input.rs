//! Files that would fill the memory or the disk, or lead elsewhere, are refused with little
//! memory and by name, and cost the other cooks nothing.
#![cfg(unix)]

mod support;

use flate2::Compression;
use flate2::write::GzEncoder;
use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output};
use support::{expect_exit, rows, small_season, stderr, stdout, write};

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

/// A text packed as one gzip member so many times over: together they are one text (RFC 1952,
/// 2.2).
fn packed_again(bytes: &[u8], times: usize) -> Vec<u8> {
    gzip(bytes).repeat(times)
}

/// Reads the logs of a folder in an address space of so many KiB, which allocations beyond
/// make the command end without an exit code.
fn ingest_within(folder: &Path, kib: u32) -> Output {
    let script = format!(
        "ulimit -v {kib}; exec \"$0\" ingest --logs logs --sheet sheet.csv --store store --format csv"
    );
    Command::new("sh")
        .args(["-c", &script])
        .arg(assert_cmd::cargo::cargo_bin!("cookstudy"))
        .current_dir(folder)
        // Each thread of the system's allocator reserves addresses of its own.
        .env("MALLOC_ARENA_MAX", "2")
        .output()
        .unwrap()
}

#[test]
fn what_is_absurd_is_refused_by_name_in_little_memory() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path();
    small_season(place);
    let header = b"time,Pit (C),Brisket (C)\n2025-05-01T00:00:00Z,".as_slice();
    let line = [gzip(header), packed_again(&vec![b'1'; 1 << 20], 1024)].concat();
    let lines = packed_again(&b"0\n".repeat(1 << 19), 1024);
    let logs = place.join("logs");
    fs::write(logs.join("line-of-a-gigabyte.csv.gz"), line).unwrap();
    fs::write(logs.join("gigabyte-of-lines.csv.gz"), lines).unwrap();
    // Files with nothing in them but their length.
    File::create(logs.join("terabyte.csv")).unwrap().set_len(1 << 40).unwrap();
    File::create(logs.join("line.csv")).unwrap().set_len(250 << 20).unwrap();
    let mut sheet = fs::read_to_string(place.join("sheet.csv")).unwrap();
    let names =
        ["line-of-a-gigabyte.csv.gz", "gigabyte-of-lines.csv.gz", "terabyte.csv", "line.csv"];
    for (i, name) in names.iter().enumerate() {
        writeln!(sheet, "cook-{i},2025-05-02,{name},big,5.0,2025-05-02T00:00:00Z,").unwrap();
    }
    write(place, "sheet.csv", &sheet);
    let output = ingest_within(place, 700 << 10);
    expect_exit(&output, 1);
    let said = stderr(&output);
    for name in names {
        let own: Vec<&str> = said.lines().filter(|line| line.contains(name)).collect();
        let why = ["longer than 256 kB", "more than 256 MiB", "times as large"];
        assert!(
            own.iter().any(|line| why.iter().any(|why| line.contains(why))),
            "{name} is not refused for its size:\n{said}"
        );
    }
    let kept = rows(&stdout(&output));
    let one = kept.iter().find(|row| row["cook"] == "one").unwrap();
    assert!(!one["log_start"].is_empty(), "the other cook was not read");
    assert!(kept.iter().filter(|row| row["cook"] != "one").all(|row| row["log_start"].is_empty()));
}
