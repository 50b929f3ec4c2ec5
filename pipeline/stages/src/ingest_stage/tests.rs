use super::*;
use crate::progress::Silent;
use ingest::{EventsReading, SheetReading};
use jiff::tz::TimeZone;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

const COOKS: u32 = 12;

/// Twelve cooks, a log each. The eleventh's log counts from its own zero, and its meat went on
/// half an hour after; the twelfth was pulled before its meat-on, says its card.
fn season(folder: &Path) -> IngestRequest {
    let mut sheet = String::from("cook,date,meat_on,pull,weather,logs\n");
    let mut events = String::from("cook,time,event,value\n");
    fs::create_dir_all(folder.join("logs")).unwrap();
    for day in 1..=COOKS {
        let date = format!("2025-05-{day:02}");
        let (log, marks) = match day {
            11 => ("elapsed_s,pit_c,flat_c\n0,100,5\n60,101,6\n".to_owned(), ["+0:30", ""]),
            12 => (absolute_log(&date), ["06:00", "2025-05-12T05:00Z"]),
            _ => (absolute_log(&date), ["06:00", "+0:02"]),
        };
        fs::write(folder.join(format!("logs/{day}.csv")), log).unwrap();
        writeln!(sheet, "c{day},{date},{},{},calm,{day}.csv", marks[0], marks[1]).unwrap();
        writeln!(events, "c{day},+0:01,spritz,").unwrap();
    }
    fs::write(folder.join("sheet.csv"), sheet).unwrap();
    fs::write(folder.join("events.csv"), events).unwrap();
    IngestRequest {
        base: folder.to_owned(),
        logs: vec!["logs".into()],
        sheets: vec!["sheet.csv".into()],
        events: vec!["events.csv".into()],
        score_sheets: Vec::new(),
        layouts: Vec::new(),
        store: folder.join("store"),
        season: Season { time_zone: Some("UTC".into()), ..Season::default() },
        answers: cook::Answers::default(),
        whole: true,
        prune: false,
    }
}

fn absolute_log(date: &str) -> String {
    let mut log = String::from("time,pit_c,flat_c\n");
    for minute in 0..5 {
        writeln!(log, "{date}T06:{minute:02}:00Z,{},{}", 110 + minute, 5 + minute).unwrap();
    }
    log.push_str("2025-05-01T06:59:00Z,hot,5\n");
    log
}

/// The files of a store that ingest writes.
fn files(store: &Path) -> BTreeMap<String, Vec<u8>> {
    let name = |path: &Path| path.strip_prefix(store).unwrap().display().to_string();
    let below = |folder: &Path| -> Vec<PathBuf> {
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect()
    };
    let readings = below(&store.join("readings")).into_iter().flat_map(|season| below(&season));
    let tables = below(store).into_iter().filter(|path| path.extension().is_some());
    readings.chain(tables).map(|path| (name(&path), fs::read(&path).unwrap())).collect()
}

/// Ingests again, and asserts that the store is that of a first ingest of the same files.
#[track_caller]
fn again(request: &IngestRequest) -> IngestSummary {
    let summary = ingest(request, &Silent).unwrap();
    let whole = IngestRequest { store: request.base.join("whole"), ..request.clone() };
    ingest(&whole, &Silent).unwrap();
    let (found, wanted) = (files(&request.store), files(&whole.store));
    assert_eq!(found.keys().collect::<Vec<_>>(), wanted.keys().collect::<Vec<_>>());
    for (name, bytes) in &found {
        assert!(*bytes == wanted[name], "{name} is not that of a first ingest");
    }
    fs::remove_dir_all(&whole.store).unwrap();
    summary
}

fn edit(request: &IngestRequest, sheet: &str, old: &str, new: &str) {
    let path = request.base.join(sheet);
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains(old));
    fs::write(path, text.replacen(old, new, 1)).unwrap();
}

#[test]
fn a_row_that_becomes_longer_reads_its_own_cook_and_no_other() {
    let folder = tempfile::tempdir().unwrap();
    let request = season(folder.path());
    let first = ingest(&request, &Silent).unwrap();
    assert_eq!(first.read, COOKS as usize, "{:?}", first.refusals);
    let of_marks = |summary: &IngestSummary| -> Vec<(String, u64)> {
        let rows = summary.rejected.iter().filter(|row| row.source == "sheet.csv");
        rows.map(|row| (row.column.clone().unwrap_or_default(), row.byte)).collect()
    };
    assert_eq!(of_marks(&first).len(), 1, "{:?}", first.rejected);
    assert_eq!(again(&request).read, 0);
    edit(&request, "sheet.csv", "calm", "calm then gusts");
    let second = again(&request);
    assert_eq!(second.read, 1);
    // What is rejected below has moved with its row.
    assert_eq!(of_marks(&second)[0].1, of_marks(&first)[0].1 + " then gusts".len() as u64);
}

#[test]
fn a_row_or_an_event_that_is_put_in_reads_what_it_speaks_of() {
    let folder = tempfile::tempdir().unwrap();
    let request = season(folder.path());
    ingest(&request, &Silent).unwrap();
    edit(&request, "sheet.csv", "\nc1,", "\nplanned,2025-08-01,,,calm,\nc1,");
    assert_eq!(again(&request).read, 0);
    edit(&request, "events.csv", "\nc1,", "\nc2,+0:03,spritz,\nc1,");
    assert_eq!(again(&request).read, 1);
    edit(&request, "events.csv", "\nc11,+0:01,", "\nc11,+0:02,");
    assert_eq!(again(&request).read, 1);
}

#[test]
fn a_log_that_is_added_or_changed_is_read_alone() {
    let folder = tempfile::tempdir().unwrap();
    let request = season(folder.path());
    ingest(&request, &Silent).unwrap();
    fs::write(folder.path().join("logs/more.csv"), absolute_log("2025-06-01")).unwrap();
    assert_eq!(again(&request).read, 1);
    edit(&request, "logs/3.csv", "110", "120");
    assert_eq!(again(&request).read, 1);
}

#[test]
fn cooks_that_share_a_log_by_a_third_are_one_group() {
    let card = |cook: &str| Card { cook: cook.into(), ..Card::default() };
    let mut sheets = Sheets {
        zone: TimeZone::UTC,
        zone_known: true,
        cards: SheetReading::default(),
        events: vec![EventsReading::default()],
        scores: Vec::new(),
        scored: super::scores::Scored::default(),
        told: Vec::new(),
        lone: BTreeSet::new(),
    };
    let mut uses = HashMap::new();
    for (cook, logs) in [
        ("a", vec!["1"]),
        ("b", vec!["2"]),
        ("unfound", vec![]),
        ("c", vec!["3"]),
        ("d", vec!["3", "1"]),
        ("e", vec![]),
    ] {
        sheets.cards.add_without_row(card(cook));
        let found = |log: &&str| FoundLog {
            file: ingest::LogFile::on_disk(PathBuf::from(log), *log),
            channel: None,
        };
        if cook != "unfound" {
            uses.insert(cook.to_owned(), logs.iter().map(found).collect());
        }
    }
    let groups: Vec<(Vec<String>, Vec<String>)> = group(&sheets, &uses)
        .iter()
        .map(|group| {
            let cooks = group.cooks().map(str::to_owned).collect();
            (cooks, group.logs.keys().cloned().collect())
        })
        .collect();
    let texts = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
    assert_eq!(
        groups,
        [
            (texts(&["a", "c", "d"]), texts(&["1", "3"])),
            (texts(&["b"]), texts(&["2"])),
            (texts(&["e"]), texts(&[])),
        ]
    );
}
