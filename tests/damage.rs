//! Damage to what a run wrote, and inputs that go away: the next run says what it found, and ends where an
//! undisturbed one ends.

mod support;

use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, files_below, small_season, stderr, steady_log, write};

/// Three steady cooks, one of them without a card; and a claim.
fn season(folder: &Path) {
    small_season(folder);
    let mut sheet = String::from("cook,date,logs,pit,trimmed_weight_kg,meat_on,pull\n");
    for (name, date) in [("one", "2025-05-01"), ("two", "2025-05-08")] {
        write(folder, &format!("logs/{name}.csv"), &steady_log(660).replace("2025-05-01", date));
        let row = format!("{name},{date},{name}.csv,big,5.0,{date}T00:00:00Z,{date}T10:00:00Z\n");
        sheet.push_str(&row);
    }
    write(folder, "logs/bare.csv", &steady_log(400).replace("2025-05-01", "2025-06-01"));
    write(folder, "sheet.csv", &sheet);
    write(folder, "events.csv", "cook,time,event,value,note\none,2025-05-01T04:00:00Z,spritz,,\n");
    write(
        folder,
        "claims.toml",
        "[[claim]]\nid = \"w\"\nsays = \"A heavier cut takes longer\"\nkind = \"trend\"\noutcome = \"total_min\"\nbetter = \"higher\"\nby = \"trimmed_weight_kg\"\nper = 1.0\nmatters = 15\n",
    );
}

/// What a run writes, but the file of the lock, which has no content.
fn written(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files = files_below(folder);
    files.retain(|(name, _)| {
        (name.starts_with("store/") && name != "store/.lock") || name.starts_with("out/")
    });
    files
}

/// The bytes of a file, damaged.
type Damaged = fn(&[u8]) -> Vec<u8>;

/// Ways in which a file is damaged.
const DAMAGES: [(&str, Damaged); 4] = [
    ("emptied", |_| Vec::new()),
    ("cut short", |bytes| bytes[..bytes.len() / 2].to_vec()),
    ("zeroed", |bytes| vec![0; bytes.len()]),
    ("with one byte flipped", |bytes| {
        let mut bytes = bytes.to_vec();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 0x10;
        bytes
    }),
];

/// Damages a file, runs, and asserts that the run named it and made it anew.
#[track_caller]
fn expect_healed(folder: &Path, whole: &[(String, Vec<u8>)], file: usize, damage: usize) {
    let ((name, bytes), (how, damaged)) = (&whole[file], DAMAGES[damage]);
    fs::write(folder.join(name), damaged(bytes)).unwrap();
    let output = cookstudy(folder, &["run"]);
    expect_exit(&output, 0);
    let said = stderr(&output);
    let is_named = said.lines().any(|line| line.contains(name) && line.ends_with("made anew"));
    assert!(is_named, "{name} {how}: not said:\n{said}");
    let now = written(folder);
    for ((was, bytes), (is, now)) in whole.iter().zip(&now) {
        assert!(was == is && bytes == now, "{name} {how}: {is} is not what it was");
    }
    assert_eq!(whole.len(), now.len(), "{name} {how}");
}

#[test]
fn damaged_files_are_named_and_made_anew() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let whole = written(folder.path());
    // Every file of the store, and some of what was published.
    let files = (0..whole.len()).filter(|at| whole[*at].0.starts_with("store/") || at % 12 == 0);
    for (turn, file) in files.enumerate() {
        expect_healed(folder.path(), &whole, file, turn % DAMAGES.len());
    }
    // All at once.
    for (name, _) in &whole {
        fs::write(folder.path().join(name), "x").unwrap();
    }
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    assert!(written(folder.path()) == whole);
}

/// The whole of it; `.ci/full reliability` runs it and keeps what it prints.
#[test]
#[ignore = "some hundred runs"]
fn every_file_in_every_way() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let whole = written(folder.path());
    for file in 0..whole.len() {
        for damage in 0..DAMAGES.len() {
            expect_healed(folder.path(), &whole, file, damage);
        }
    }
    println!(
        "| damage | {} files × {} ways | all named, made anew, the same to the byte |",
        whole.len(),
        DAMAGES.len()
    );
}

#[test]
fn a_stage_alone_refuses_what_was_damaged() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let alone: [(&str, &[&str]); 4] = [
        ("store/events.parquet", &["phases", "--store", "store", "--settings", "season.toml"]),
        ("store/measures.parquet", &["study", "--store", "store", "--out", "other"]),
        ("store/phases.parquet", &["query", "SELECT cook FROM phases", "--store", "store"]),
        ("store/sources.parquet", &["merge", "A=store", "--out", "merged"]),
    ];
    for (name, command) in alone {
        let path = folder.path().join(name);
        let bytes = fs::read(&path).unwrap();
        fs::write(&path, DAMAGES[3].1(&bytes)).unwrap();
        let output = cookstudy(folder.path(), command);
        expect_exit(&output, 2);
        assert!(stderr(&output).contains(name), "{}", stderr(&output));
        fs::write(&path, bytes).unwrap();
    }
}

#[test]
fn a_log_that_goes_away_takes_nothing_along() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let whole = written(folder.path());
    let kept = |name: &str| {
        let mut files = written(folder.path());
        files.retain(|(file, _)| file.starts_with("store/") && file != "store/stamps.json");
        let same = files.iter().all(|file| whole.contains(file));
        assert!(same, "{name}: the store is not what it was");
    };
    for name in ["logs/one.csv", "logs/bare.csv"] {
        let text = fs::read(folder.path().join(name)).unwrap();
        fs::remove_file(folder.path().join(name)).unwrap();
        for _ in 0..2 {
            let output = cookstudy(folder.path(), &["run"]);
            expect_exit(&output, 1);
            let said = stderr(&output);
            assert!(said.contains(name) && said.contains("keeps its readings"), "{said}");
            kept(name);
        }
        fs::write(folder.path().join(name), text).unwrap();
        expect_exit(&cookstudy(folder.path(), &["run"]), 0);
        assert!(written(folder.path()) == whole, "{name} is back, and something is not");
    }
    // Its readings are damaged while it is away: nothing can be made of it.
    let text = fs::read(folder.path().join("logs/one.csv")).unwrap();
    fs::remove_file(folder.path().join("logs/one.csv")).unwrap();
    let (part, bytes) = whole.iter().find(|(name, _)| name.starts_with("store/readings/")).unwrap();
    fs::write(folder.path().join(part), DAMAGES[3].1(bytes)).unwrap();
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 1);
    let said = stderr(&output);
    assert!(said.contains(part.as_str()) && said.contains("cook `one` has no readings"), "{said}");
    fs::write(folder.path().join("logs/one.csv"), &text).unwrap();
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    assert!(written(folder.path()) == whole);

    fs::remove_file(folder.path().join("logs/one.csv")).unwrap();
    fs::remove_file(folder.path().join("logs/bare.csv")).unwrap();
    let output = cookstudy(folder.path(), &["run", "--prune"]);
    expect_exit(&output, 1);
    let cooks = fs::read_to_string(folder.path().join("out/data/cooks.csv")).unwrap();
    assert!(cooks.contains("\none,") && !cooks.contains("\nbare,"), "{cooks}");
    // The card of `one` stays, and its row names a log that is not there.
    expect_exit(&cookstudy(folder.path(), &["run"]), 1);
}

#[test]
fn an_events_sheet_that_goes_away_leaves_its_events() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let read = |name: &str| fs::read(folder.path().join(name)).unwrap();
    let tables = ["store/events.parquet", "store/measures.parquet", "out/data/events.csv"];
    let whole = tables.map(read);
    fs::remove_file(folder.path().join("events.csv")).unwrap();
    // However often it is run.
    for _ in 0..2 {
        let output = cookstudy(folder.path(), &["run"]);
        expect_exit(&output, 1);
        let said = stderr(&output);
        assert!(said.contains("events.csv") && said.contains("--prune"), "{said}");
        assert!(tables.map(read) == whole);
    }
    expect_exit(&cookstudy(folder.path(), &["run", "--prune"]), 0);
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
}

#[test]
fn claims_that_go_away_leave_what_was_judged() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let lock = || fs::read(folder.path().join("claims.lock")).unwrap();
    let whole = (written(folder.path()), lock());
    let path = folder.path().join("claims.toml");
    let claims = fs::read(&path).unwrap();
    for left in [None, Some(""), Some("# nothing claimed\n")] {
        fs::remove_file(&path).unwrap();
        if let Some(text) = left {
            fs::write(&path, text).unwrap();
        }
        // However often it is run.
        for _ in 0..2 {
            let output = cookstudy(folder.path(), &["run"]);
            expect_exit(&output, 1);
            let said = stderr(&output);
            assert!(said.contains("claims.toml") && said.contains("--prune"), "{said}");
            assert!((written(folder.path()), lock()) == whole);
        }
        fs::write(&path, &claims).unwrap();
        expect_exit(&cookstudy(folder.path(), &["run"]), 0);
        assert!(written(folder.path()) == whole.0);
    }
    fs::remove_file(&path).unwrap();
    expect_exit(&cookstudy(folder.path(), &["run", "--prune"]), 0);
    let study = fs::read_to_string(folder.path().join("out/study.json")).unwrap();
    assert!(!study.contains("A heavier cut takes longer"));
    // Once they are given up, they are not missed.
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
}

#[test]
fn answers_that_go_away_leave_the_cooks_that_hang_on_them() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    // Nothing says the unit of the third log.
    let log = fs::read_to_string(folder.path().join("logs/bare.csv")).unwrap();
    let (head, rows) = log.split_once('\n').unwrap();
    let head = head.replace("(C)", "").replace("(F)", "");
    let short: String = rows.split_inclusive('\n').take(30).collect();
    write(folder.path(), "logs/bare.csv", &format!("{head}\n{short}"));
    expect_exit(&cookstudy(folder.path(), &["run"]), 1);
    let path = folder.path().join("questions.toml");
    let asked = fs::read_to_string(&path).unwrap();
    assert!(asked.contains("take = \"C\""), "{asked}");
    let answered = asked.replace("answer = \"\"", "answer = \"C\"");
    fs::write(&path, &answered).unwrap();
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let whole = written(folder.path());
    fs::remove_file(&path).unwrap();
    for _ in 0..2 {
        let output = cookstudy(folder.path(), &["run"]);
        expect_exit(&output, 1);
        let said = stderr(&output);
        assert!(said.contains("questions.toml") && said.contains("--prune"), "{said}");
        let mut now = written(folder.path());
        now.retain(|(name, _)| name.starts_with("store/") && name != "store/stamps.json");
        assert!(now.iter().all(|file| whole.contains(file)));
    }
    fs::write(&path, &answered).unwrap();
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    assert!(written(folder.path()) == whole);
    fs::remove_file(&path).unwrap();
    expect_exit(&cookstudy(folder.path(), &["run", "--prune"]), 1);
    assert!(fs::read_to_string(&path).unwrap().contains("answer = \"\""));
}

#[test]
fn a_damaged_lock_and_damaged_questions_are_named_and_left() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    write(folder.path(), "questions.toml", "schema = \"cookstudy/questions/1\"\n");
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let whole = written(folder.path());
    for name in ["claims.lock", "questions.toml"] {
        let path = folder.path().join(name);
        let bytes = fs::read(&path).unwrap();
        for (how, damaged) in DAMAGES {
            let damaged = damaged(&bytes);
            // Another letter of a hash is a hash: nothing in the file tells.
            if how == "with one byte flipped" {
                continue;
            }
            fs::write(&path, &damaged).unwrap();
            let output = cookstudy(folder.path(), &["run"]);
            expect_exit(&output, 2);
            assert!(stderr(&output).contains(name), "{name} {how}: {}", stderr(&output));
            assert!(written(folder.path()) == whole, "{name} {how}");
            assert!(fs::read(&path).unwrap() == damaged, "{name} {how}");
        }
        fs::write(&path, bytes).unwrap();
        expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    }
}

#[test]
fn a_season_sheet_that_goes_away_leaves_its_cooks() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let store = || {
        let mut files = written(folder.path());
        files.retain(|(file, _)| file.starts_with("store/") && file != "store/stamps.json");
        files
    };
    let whole = (written(folder.path()), store());
    let sheet = fs::read(folder.path().join("sheet.csv")).unwrap();
    fs::remove_file(folder.path().join("sheet.csv")).unwrap();
    // However often it is run, and though something that is no sheet is in its place.
    for is_folder in [false, false, true] {
        if is_folder {
            fs::create_dir(folder.path().join("sheet.csv")).unwrap();
        }
        let output = cookstudy(folder.path(), &["run"]);
        expect_exit(&output, 1);
        let said = stderr(&output);
        assert!(said.contains("sheet.csv: was read before") && said.contains("--prune"), "{said}");
        assert!(store() == whole.1, "the store is not what it was");
    }
    // What is damaged meanwhile cannot be made anew.
    let events = folder.path().join("store/events.parquet");
    let bytes = fs::read(&events).unwrap();
    fs::write(&events, DAMAGES[3].1(&bytes)).unwrap();
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("store/events.parquet"), "{}", stderr(&output));
    fs::write(&events, bytes).unwrap();
    fs::remove_dir(folder.path().join("sheet.csv")).unwrap();
    fs::write(folder.path().join("sheet.csv"), &sheet).unwrap();
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    assert!(written(folder.path()) == whole.0, "the sheet is back, and something is not");
    // Sheets that the settings name, one of which was never there.
    let named = "team = \"Test\"\ntime_zone = \"UTC\"\nevents = [\"notes.csv\"]\n";
    fs::write(folder.path().join("season.toml"), named).unwrap();
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("notes.csv"), "{}", stderr(&output));
    fs::rename(folder.path().join("events.csv"), folder.path().join("notes.csv")).unwrap();
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let events = fs::read(folder.path().join("store/events.parquet")).unwrap();
    fs::remove_file(folder.path().join("notes.csv")).unwrap();
    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 1);
    assert!(stderr(&output).contains("notes.csv: was read before"), "{}", stderr(&output));
    assert_eq!(fs::read(folder.path().join("store/events.parquet")).unwrap(), events);
    // Given up by hand: the logs stand alone, without what their cards said.
    fs::remove_file(folder.path().join("sheet.csv")).unwrap();
    cookstudy(folder.path(), &["run", "--prune"]);
    let cooks = fs::read_to_string(folder.path().join("out/data/cooks.csv")).unwrap();
    assert!(cooks.contains("\none,") && !cooks.contains(",big,"), "{cooks}");
}
