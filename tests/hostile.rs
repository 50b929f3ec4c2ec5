//! Folders that nobody means well with: what is no log is refused by name, nothing hangs, and the rest is read.
#![cfg(unix)]

mod support;

use std::fs;
use std::io::Write;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};
use support::{cookstudy, expect_exit, small_season, stderr, stdout, steady_log, write};

/// An archive without entries: the record that ends one (APPNOTE.TXT 6.3.10, 4.3.16).
const EMPTY_ZIP: [u8; 22] =
    [b'P', b'K', 5, 6, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0];

fn pipe(path: &Path) {
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

/// A season with one cook, and beside its log what is none; the names of those.
fn hostile(folder: &Path) -> Vec<&'static str> {
    small_season(folder);
    let logs = folder.join("logs");
    pipe(&logs.join("pipe.csv"));
    drop(UnixListener::bind(logs.join("socket.csv")).unwrap());
    symlink("/dev/zero", logs.join("device.csv")).unwrap();
    symlink("nowhere", logs.join("dangling.csv")).unwrap();
    symlink("..", logs.join("circle")).unwrap();
    fs::write(logs.join("empty.zip"), EMPTY_ZIP).unwrap();
    fs::write(logs.join("nothing.csv"), "").unwrap();
    fs::write(logs.join("noise.csv"), [0x80, 0xFF, 0, 7, 0x1B].repeat(500)).unwrap();
    vec![
        "pipe.csv",
        "socket.csv",
        "device.csv",
        "dangling.csv",
        "circle",
        "empty.zip",
        "nothing.csv",
        "noise.csv",
    ]
}

#[test]
fn what_is_no_log_is_refused_by_name_and_the_rest_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let names = hostile(folder.path());
    for _ in 0..2 {
        let output = cookstudy(folder.path(), &["run"]);
        expect_exit(&output, 1);
        let said = stderr(&output);
        for name in &names {
            assert!(said.contains(&format!("logs/{name}")), "{name} is not named:\n{said}");
        }
    }
    let cooks = fs::read_to_string(folder.path().join("out/data/cooks.csv")).unwrap();
    assert_eq!(cooks.lines().count(), 2, "{cooks}");
}

#[test]
fn inspect_names_what_is_no_log() {
    let folder = tempfile::tempdir().unwrap();
    for name in hostile(folder.path()) {
        let output =
            cookstudy(folder.path(), &["inspect", &format!("logs/{name}"), "logs/one.csv"]);
        // A link to a folder that is named by hand is that folder.
        let is_folder = name == "circle";
        expect_exit(&output, 1);
        assert!(is_folder || stderr(&output).contains(name), "{name}:\n{}", stderr(&output));
        assert!(!stdout(&output).is_empty());
    }
}

#[test]
fn a_log_whose_name_is_no_utf_8_is_read() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let name = std::ffi::OsStr::from_bytes(b"caf\xE9.csv");
    let path = folder.path().join("logs").join(name);
    fs::write(&path, steady_log(400).replace("2025-05-01", "2025-06-01")).unwrap();
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 0);
    let cooks = fs::read_to_string(folder.path().join("out/data/cooks.csv")).unwrap();
    assert!(cooks.contains("caf%E9"), "{cooks}");
    let output = Command::new(assert_cmd::cargo::cargo_bin!("cookstudy"))
        .arg("inspect")
        .arg(&path)
        .output()
        .unwrap();
    expect_exit(&output, 0);
}

#[test]
fn names_that_fold_into_one_are_refused_by_name() {
    for (one, other) in [("May", "may"), ("caf\u{e9}", "cafe\u{301}")] {
        let folder = tempfile::tempdir().unwrap();
        small_season(folder.path());
        write(
            folder.path(),
            "sheet.csv",
            &format!("cook,date,logs\n{one},2025-05-01,one.csv\n{other},2025-05-02,\n"),
        );
        let output = cookstudy(folder.path(), &["run"]);
        expect_exit(&output, 2);
        let said = stderr(&output);
        assert!(said.contains("sheet.csv:3") && said.contains(one), "{said}");
    }
}

#[test]
fn the_name_of_a_device_is_no_file_of_a_page() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    let sheet = fs::read_to_string(folder.path().join("sheet.csv")).unwrap();
    write(folder.path(), "sheet.csv", &sheet.replace("\none,", "\nNul.,"));
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    assert!(folder.path().join("out/cooks/%4Eul%2E.html").is_file());
}

#[test]
fn numbers_of_settings_and_claims_have_bounds() {
    let claim = "[[claim]]\nid = \"w\"\nsays = \"s\"\nkind = \"trend\"\noutcome = \"total_min\"\nbetter = \"higher\"\nby = \"trimmed_weight_kg\"\nper = 1.0\nmatters = 1e300\n";
    let settings = |text: &str| format!("time_zone = \"UTC\"\n{text}\n");
    for (file, text, words) in [
        ("season.toml", settings("[phases]\njoin_gap_s = inf"), ["join_gap_s = inf", "86400"]),
        ("season.toml", settings("[phases]\nfinish_c = 1e9"), ["finish_c = 1000000000", "150"]),
        (
            "season.toml",
            settings("[study]\ninterval_draws = 4000000000"),
            ["interval_draws", "10000"],
        ),
        (
            "season.toml",
            settings("[scores.taste]\nlowest = -inf\nhighest = 9\nbetter = \"higher\""),
            ["lowest", "-1000000"],
        ),
        ("claims.toml", claim.to_owned(), ["`matters` is 1e300", "more than 1000000000"]),
    ] {
        let folder = tempfile::tempdir().unwrap();
        small_season(folder.path());
        write(folder.path(), file, &text);
        let output = cookstudy(folder.path(), &["run"]);
        expect_exit(&output, 2);
        for word in [file, words[0], words[1]] {
            assert!(stderr(&output).contains(word), "{word}:\n{}", stderr(&output));
        }
    }
}

/// `.ci/full reliability` runs it and keeps what it prints.
#[test]
#[ignore = "a large folder"]
fn a_hostile_folder_in_bounds() {
    let folder = tempfile::tempdir().unwrap();
    let mut refused = hostile(folder.path()).len();
    let logs = folder.path().join("logs");
    for number in 0..300 {
        let mut file = fs::File::create(logs.join(format!("noise-{number}.csv"))).unwrap();
        for line in 0..200_u32 {
            writeln!(file, "{}<script>\u{202e},=1+{line},\"", line.wrapping_mul(number + 1))
                .unwrap();
        }
        refused += 1;
    }
    let begun = Instant::now();
    let (kept, mut said) = (folder.path().join("said.txt"), String::new());
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("cookstudy"))
        .arg("run")
        .current_dir(folder.path())
        .stderr(fs::File::create(&kept).unwrap())
        .stdout(std::process::Stdio::null())
        .spawn()
        .unwrap();
    // Peak memory stands in `/proc` (Linux) for as long as the program runs.
    let status_of = format!("/proc/{}/status", child.id());
    let mut peak_kb = 0_u64;
    let status = loop {
        let now = fs::read_to_string(&status_of).unwrap_or_default();
        let high = now.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let high = high.and_then(|high| high.trim().trim_end_matches(" kB").parse().ok());
        peak_kb = peak_kb.max(high.unwrap_or(0));
        match child.try_wait().unwrap() {
            Some(status) => break status,
            None => std::thread::sleep(Duration::from_millis(10)),
        }
    };
    let took = begun.elapsed();
    assert_eq!(status.code(), Some(1));
    assert!(took < Duration::from_mins(1), "{took:?}");
    assert!(peak_kb < 300_000, "{peak_kb} kB");
    said += &fs::read_to_string(&kept).unwrap();
    let named = said.lines().filter(|line| line.contains("logs/")).count();
    assert!(named >= refused, "{named} of {refused}");
    println!(
        "| a hostile folder | {refused} files that are no logs | all named, in {:.1} s and {} MB |",
        took.as_secs_f64(),
        peak_kb / 1000
    );
}
