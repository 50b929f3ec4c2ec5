//! Runs that are cut off: killed at some instant, or out of room on the disk. What was in
//! the store stays readable, and the next run ends where an undisturbed one ends.
#![cfg(unix)]

mod support;

use std::fs;
use std::hash::{BuildHasher, RandomState};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};
use support::{cookstudy, expect_exit, files_below, small_season, stderr, steady_log_of, write};

/// Kills over the length of a run.
const KILLS: u32 = 12;

/// A season of four cooks whose logs can be changed all at once.
fn season(folder: &Path, minutes: u32) {
    let mut sheet = String::from("cook,date,logs,pit,trimmed_weight_kg,meat_on,pull\n");
    for (i, name) in ["one", "two", "three", "four"].iter().enumerate() {
        let day = i + 1;
        // No cook of another season is the same.
        let pace = 0.16 + f64::from(minutes) * 1e-4 + 0.003 * i as f64;
        let log = steady_log_of(minutes, pace).replace("2025-05-0", &format!("2025-0{day}-0"));
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
        // Anywhere in its part of the run; another instant each time the test runs.
        let part = RandomState::new().hash_one(kill) as f64 / u64::MAX as f64;
        let after = length.mul_f64((f64::from(kill) + part) / f64::from(KILLS));
        println!("killed after {after:?}");
        killed += u32::from(kill_after(&cut, &["run"], after));
        expect_whole(&cut.join("store"));
    }
    assert!(killed >= KILLS / 3, "only {killed} runs were still running when they were killed");
    expect_exit(&cookstudy(&cut, &["run"]), 0);
    assert!(
        without_lock(files_below(&cut.join("store")))
            == without_lock(files_below(&whole.join("store"))),
        "after the kills the store is not that of an undisturbed run"
    );
    assert!(
        files_below(&cut.join("out")) == files_below(&whole.join("out")),
        "after the kills the results are not those of an undisturbed run"
    );
}

/// Copies a folder with all that is in it.
fn copy(from: &Path, to: &Path) {
    for (name, bytes) in files_below(from) {
        let path = to.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
}

/// Commands that write, over two seasons `a` and `b` that are run already, and a third `c` that is not.
const WRITERS: [(&str, &[&str]); 5] = [
    ("run", &["run", "c"]),
    (
        "ingest",
        &[
            "ingest",
            "--logs",
            "c/logs",
            "--sheet",
            "c/sheet.csv",
            "--store",
            "ingested",
            "--tz",
            "UTC",
        ],
    ),
    ("merge", &["merge", "A=a", "B=b", "--out", "merged"]),
    ("study", &["study", "--store", "a/store", "--out", "studied"]),
    (
        "report",
        &["report", "--store", "a/store", "--study", "a/out/study.json", "--out", "reported"],
    ),
];

/// `.ci/full reliability` runs it and keeps what it prints; `COOKSTUDY_KILLS` is how many each.
#[test]
#[ignore = "some hundred runs"]
fn every_writer_killed_at_many_instants() {
    let kills: u32 = std::env::var("COOKSTUDY_KILLS").map_or(60, |kills| kills.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let ready = folder.path().join("ready");
    for (name, minutes) in [("a", 640), ("b", 620), ("c", 600)] {
        let place = ready.join(name);
        fs::create_dir_all(&place).unwrap();
        small_season(&place);
        season(&place, minutes);
        if name != "c" {
            expect_exit(&cookstudy(&place, &["run"]), 0);
        }
    }
    for (name, command) in WRITERS {
        let whole = folder.path().join(format!("{name}-whole"));
        copy(&ready, &whole);
        let begun = Instant::now();
        expect_exit(&cookstudy(&whole, command), 0);
        let length = begun.elapsed();
        let wanted = locks_aside(files_below(&whole));
        let (mut killed, mut differing) = (0, 0);
        for kill in 0..kills {
            let cut = folder.path().join("cut");
            copy(&ready, &cut);
            let part = RandomState::new().hash_one(kill) as f64 / u64::MAX as f64;
            killed += u32::from(kill_after(
                &cut,
                command,
                length.mul_f64((f64::from(kill) + part) / f64::from(kills)),
            ));
            expect_exit(&cookstudy(&cut, command), 0);
            differing += u32::from(locks_aside(files_below(&cut)) != wanted);
            fs::remove_dir_all(&cut).unwrap();
        }
        println!(
            "| kills of `{name}` | {kills} instants, {killed} before it ended | {differing} results that differ from an undisturbed one, leftovers counted |"
        );
        assert_eq!(differing, 0, "{name}");
    }
}

/// The files but those of locks, which have no content.
fn locks_aside(mut files: Vec<(String, Vec<u8>)>) -> Vec<(String, Vec<u8>)> {
    files.retain(|(name, _)| {
        Path::new(name).extension().is_none_or(|end| end != "lock") || name.ends_with("claims.lock")
    });
    files
}

/// Starts a command and kills it; false where it had ended by then.
fn kill_after(folder: &Path, command: &[&str], after: Duration) -> bool {
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("cookstudy"))
        .current_dir(folder)
        .args(command)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(after);
    let was_running = child.try_wait().unwrap().is_none();
    // SIGKILL: the process has no say in it.
    child.kill().unwrap();
    child.wait().unwrap();
    was_running
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

/// Runs a script where this process's disks are seen and mounts of its own are not seen by others.
fn with_own_mounts(script: &str, folder: &Path) -> Output {
    Command::new("unshare")
        .args(["--mount", "sh", "-ec", script])
        .arg(assert_cmd::cargo::cargo_bin!("cookstudy"))
        .current_dir(folder)
        .output()
        .unwrap()
}

/// On disks of a few hundred kilobytes, which fill up, and on one that cannot be written to. `.ci/full reliability` runs
/// it and keeps what it prints; it mounts, which takes the rights to.
#[test]
#[ignore = "mounts disks"]
fn disks_that_are_full_or_read_only() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for name in ["ready", "whole", "disk"] {
        fs::create_dir(at(name)).unwrap();
    }
    small_season(&at("ready"));
    season(&at("ready"), 640);
    copy(&at("ready"), &at("whole"));
    expect_exit(&cookstudy(&at("whole"), &["run"]), 0);
    let wanted = without_lock(files_below(&at("whole/store")));
    let mut filled = 0;
    let sizes = [200, 260, 320, 400, 500, 640, 800, 1000, 1300, 1600, 2000, 2600];
    for size in sizes {
        // Until it is full, then with room; what was written then is taken off the disk to be looked at.
        let script = format!(
            "mount -t tmpfs -o size={size}k none disk; cp -r ready/. disk; set +e; \
             \"$0\" run disk 2>full.txt; echo $? >full.code; set -e; \
             mount -o remount,size=64m none disk; \"$0\" run disk; \
             rm -rf mended; cp -r disk mended; umount disk"
        );
        let output = with_own_mounts(&script, folder.path());
        expect_exit(&output, 0);
        let said = fs::read_to_string(at("full.txt")).unwrap();
        let code = fs::read_to_string(at("full.code")).unwrap();
        assert!(!said.contains("panicked"), "{size} kB: {said}");
        if code.trim() != "0" {
            filled += 1;
            assert!(
                said.contains("No space left") || said.contains("os error 28"),
                "{code}: {said}"
            );
        }
        assert!(without_lock(files_below(&at("mended/store"))) == wanted, "{size} kB");
    }
    assert!(filled > 3, "{filled} disks were too small");
    let script = "mount -t tmpfs none disk; cp -r whole/. disk; cp ready/logs/one.csv disk/logs/new.csv; \
        mount -o remount,ro none disk; set +e; \"$0\" run disk 2>ro.txt; echo $? >ro.code; cp -r disk ro";
    expect_exit(&with_own_mounts(script, folder.path()), 0);
    let said = fs::read_to_string(at("ro.txt")).unwrap();
    assert_eq!(fs::read_to_string(at("ro.code")).unwrap().trim(), "2", "{said}");
    assert!(said.contains("Read-only") || said.contains("os error 30"), "{said}");
    assert!(without_lock(files_below(&at("ro/store"))) == wanted, "{said}");
    println!(
        "| a disk that fills up | {} sizes, {filled} too small | an error that says so; with room, the same to the byte |",
        sizes.len()
    );
    println!(
        "| a disk that is read-only | a run with a new log | an error that says so, nothing changed |"
    );
}
