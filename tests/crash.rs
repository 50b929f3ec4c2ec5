//! Runs that are cut off: killed at some instant, or out of room on the disk. What was in
//! the store stays readable, and the next run ends where an undisturbed one ends.
#![cfg(unix)]

mod support;

use std::fs;
use std::hash::{BuildHasher, RandomState};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::Instant;
use support::{cookstudy, expect_exit, files_below, small_season, stderr, steady_log, write};

/// Kills over the length of a run.
const KILLS: u32 = 12;

/// A season of four cooks whose logs can be changed all at once.
fn season(folder: &Path, minutes: u32) {
    let mut sheet = String::from("cook,date,logs,pit,trimmed_weight_kg,meat_on,pull\n");
    for (i, name) in ["one", "two", "three", "four"].iter().enumerate() {
        let day = i + 1;
        let log = steady_log(minutes).replace("2025-05-0", &format!("2025-0{day}-0"));
        write(folder, &format!("logs/{name}.csv"), &log);
        let at = format!("2025-0{day}-01");
        let row = format!("{name},{at},{name}.csv,big,5.0,{at}T00:00:00Z,{at}T10:00:00Z\n");
        sheet.push_str(&row);
    }
    write(folder, "sheet.csv", &sheet);
}

/// Asserts that every file of the store is whole: a Parquet file begins and ends with its
/// magic number, and the footer that it states lies within it (Apache Parquet, "File
/// Format").
fn expect_whole(store: &Path) {
    for (name, bytes) in files_below(store) {
        let is_partial = name.rsplit('/').next().is_some_and(|name| name.starts_with(".partial-"));
        if is_partial || !name.ends_with(".parquet") {
            continue;
        }
        assert!(bytes.len() > 12, "{name} is cut off");
        assert!(bytes.starts_with(b"PAR1") && bytes.ends_with(b"PAR1"), "{name} is cut off");
        let footer = &bytes[bytes.len() - 8..bytes.len() - 4];
        let length = u32::from_le_bytes(footer.try_into().unwrap()) as usize;
        assert!(length + 12 <= bytes.len(), "{name} has no whole footer");
    }
}

fn without_lock(mut files: Vec<(String, Vec<u8>)>) -> Vec<(String, Vec<u8>)> {
    files.retain(|(name, _)| name != ".lock");
    files
}

#[test]
fn a_run_killed_at_any_instant_leaves_a_readable_store() {
    let folder = tempfile::tempdir().unwrap();
    let (cut, whole) = (folder.path().join("cut"), folder.path().join("whole"));
    for place in [&cut, &whole] {
        fs::create_dir(place).unwrap();
        small_season(place);
        season(place, 640);
    }
    expect_exit(&cookstudy(&cut, &["run"]), 0);
    let begun = Instant::now();
    season(&whole, 650);
    expect_exit(&cookstudy(&whole, &["run"]), 0);
    let length = begun.elapsed();

    season(&cut, 650);
    let mut killed = 0;
    for kill in 0..KILLS {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin!("cookstudy"))
            .current_dir(&cut)
            .arg("run")
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // Anywhere in its part of the run; another instant each time the test runs.
        let part = RandomState::new().hash_one(kill) as f64 / u64::MAX as f64;
        let after = length.mul_f64((f64::from(kill) + part) / f64::from(KILLS));
        println!("killed after {after:?}");
        std::thread::sleep(after);
        killed += u32::from(child.try_wait().unwrap().is_none());
        // SIGKILL: the process has no say in it.
        child.kill().unwrap();
        child.wait().unwrap();
        expect_whole(&cut.join("store"));
    }
    assert!(killed >= KILLS / 3, "only {killed} runs were still running when they were killed");
    expect_exit(&cookstudy(&cut, &["run"]), 0);
    assert!(
        without_lock(files_below(&cut.join("store")))
            == without_lock(files_below(&whole.join("store"))),
        "after the kills the store is not that of an undisturbed run"
    );
}

/// Runs the command where no file may grow beyond `blocks` blocks of 512 bytes; what is
/// written beyond fails as it does on a full disk.
fn with_little_room(folder: &Path, blocks: u32) -> Output {
    // A shell that ignores the signal of the limit hands that on, and the write fails.
    let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" run");
    Command::new("sh")
        .args(["-c", &script])
        .arg(assert_cmd::cargo::cargo_bin!("cookstudy"))
        .current_dir(folder)
        .output()
        .unwrap()
}

#[test]
fn a_full_disk_is_an_error_that_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let place = &folder.path().join("season");
    fs::create_dir(place).unwrap();
    small_season(place);
    season(place, 640);
    expect_exit(&cookstudy(place, &["run"]), 0);
    let before = without_lock(files_below(&place.join("store")));
    season(place, 650);
    let output = with_little_room(place, 1);
    assert_ne!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(output.status.code().is_some(), "it was killed, and could not say why");
    assert!(!stderr(&output).contains("panicked"), "{}", stderr(&output));
    assert!(
        without_lock(files_below(&place.join("store"))) == before,
        "a run that could not write changed the store"
    );
    // Room for some of the files, and not for others.
    for blocks in [8, 32, 128, 256, 512] {
        let output = with_little_room(place, blocks);
        assert!(output.status.code().is_some(), "it was killed, and could not say why");
        assert!(!stderr(&output).contains("panicked"), "{}", stderr(&output));
        expect_whole(&place.join("store"));
    }
    expect_exit(&cookstudy(place, &["run"]), 0);
    let whole = folder.path().join("whole");
    fs::create_dir(&whole).unwrap();
    small_season(&whole);
    season(&whole, 650);
    expect_exit(&cookstudy(&whole, &["run"]), 0);
    assert!(
        without_lock(files_below(&place.join("store")))
            == without_lock(files_below(&whole.join("store"))),
        "once there is room the store is not that of an undisturbed run"
    );
}
