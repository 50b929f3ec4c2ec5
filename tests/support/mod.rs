//! What the end-to-end tests share: running the command, and small seasons to run it on.
#![allow(dead_code, reason = "each test file uses its own part")]

use assert_cmd::Command;
use std::collections::HashMap;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

/// The command, in a folder.
pub(crate) fn cookstudy(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(assert_cmd::cargo::cargo_bin!("cookstudy"))
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .args(arguments)
        .output()
        .unwrap()
}

pub(crate) fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub(crate) fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// Asserts an exit code, showing what was said where it is another.
#[track_caller]
pub(crate) fn expect_exit(output: &Output, code: i32) {
    assert_eq!(
        output.status.code(),
        Some(code),
        "stdout:\n{}\nstderr:\n{}",
        stdout(output),
        stderr(output)
    );
}

/// Rows of a CSV listing, by column name.
pub(crate) fn rows(text: &str) -> Vec<HashMap<String, String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let names: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            names.iter().cloned().zip(record.iter().map(str::to_owned)).collect()
        })
        .collect()
}

pub(crate) fn write(folder: &Path, name: &str, text: &str) -> PathBuf {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(&path, text).unwrap();
    path
}

/// Every file below a folder with its bytes, by relative path, sorted.
pub(crate) fn files_below(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(&next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
                found.push((name, fs::read(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

/// A core that warms by Newton's law towards a steady pit, one reading a minute: the
/// simplest cook, without a stall.
pub(crate) fn steady_log(minutes: u32) -> String {
    steady_log_of(minutes, 0.16)
}

/// The same of a core that warms by another share of what it lacks, 1/h.
pub(crate) fn steady_log_of(minutes: u32, pace: f64) -> String {
    let mut text = String::from("time,Pit (C),Brisket (C)\n");
    for minute in 0..minutes {
        let core = 120.0 - 115.0 * (-pace * f64::from(minute) / 60.0_f64).exp();
        let (hour, rest) = (minute / 60, minute % 60);
        writeln!(
            text,
            "2025-05-{:02}T{:02}:{rest:02}:00Z,120.0,{core:.2}",
            1 + hour / 24,
            hour % 24
        )
        .unwrap();
    }
    text
}

/// A season folder with one steady cook in it.
pub(crate) fn small_season(folder: &Path) {
    write(folder, "logs/one.csv", &steady_log(660));
    write(
        folder,
        "sheet.csv",
        "cook,date,logs,pit,trimmed_weight_kg,meat_on,pull\none,2025-05-01,one.csv,big,5.5,2025-05-01T00:00:00Z,2025-05-01T10:30:00Z\n",
    );
    write(folder, "events.csv", "cook,time,event,value,note\n");
    write(folder, "claims.toml", "");
    write(folder, "season.toml", "team = \"Test\"\ntime_zone = \"UTC\"\n");
}
