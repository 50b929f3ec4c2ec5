//! What a run does again after an edit: which stages and why, which cooks are segmented, and which
//! files are written.

mod support;

use cook::Units;
use stages::{Progress, Reason, RunSummary, Silent, Stage, run};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::sync::Mutex;
use std::time::SystemTime;

/// Hears which cooks are cleaned and smoothed.
#[derive(Default)]
struct Segmented(Mutex<Vec<String>>);

impl Progress for Segmented {
    fn begin(&self, _stage: &str, _steps: u64) {}
    fn step(&self, _name: &str) {}
    fn segmented(&self, cook: &str) {
        self.0.lock().unwrap().push(cook.to_owned());
    }
    fn end(&self) {}
}

/// A core that warms by Newton's law towards a steady pit, at a tenth of its coefficient from 65 to
/// 72 °C; a reading a minute.
fn log(date: &str, from_c: f64, k_per_h: f64) -> String {
    let mut text = String::from("time,Pit (C),Brisket (C)\n");
    let mut core_c = from_c;
    for minute in 0..1_020 {
        let (hour, rest) = (minute / 60, minute % 60);
        writeln!(text, "{date}T{hour:02}:{rest:02}:00Z,120.0,{core_c:.2}").unwrap();
        let share = if (65.0..72.0).contains(&core_c) { 0.1 } else { 1.0 };
        core_c += k_per_h * share * (120.0 - core_c) / 60.0;
    }
    text
}

/// Cooks with a reference of their own, and two that begin too warm for one and must borrow.
const OWN: [(&str, f64); 4] = [("a", 0.16), ("b", 0.17), ("c", 0.18), ("d", 0.19)];
const WARM: [(&str, f64); 2] = [("y", 0.17), ("z", 0.18)];

fn row(cook: &str, date: &str, wood: &str) -> String {
    format!("{cook},{date},{cook}.csv,brisket,big,{wood},5.5,{date}T00:00:00Z,{date}T16:30:00Z\n")
}

/// The day of a cook, by its place.
fn date(place: usize) -> String {
    format!("2025-05-{:02}", place + 1)
}

const HEADER: &str = "cook,date,logs,cut,pit,wood,trimmed_weight_kg,meat_on,pull\n";

const CLAIM: &str = r#"
[[claim]]
id = "weight"
says = "A heavier cut stalls longer"
kind = "trend"
outcome = "stall_min"
better = "higher"
by = "trimmed_weight_kg"
per = 1.0
matters = 15
"#;

fn season(folder: &Path) {
    let write = |name: &str, text: &str| {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    let mut sheet = HEADER.to_owned();
    let cooks = OWN.iter().map(|own| (own, 5.0)).chain(WARM.iter().map(|warm| (warm, 45.0)));
    for (place, ((cook, k), from_c)) in cooks.enumerate() {
        sheet += &row(cook, &date(place), "oak");
        write(&format!("logs/{cook}.csv"), &log(&date(place), from_c, *k));
    }
    write("sheet.csv", &sheet);
    write("events.csv", "cook,time,event,value,note\n");
    write("claims.toml", CLAIM);
    write(
        "season.toml",
        "team = \"Test\"\ntime_zone = \"UTC\"\n[study]\ninterval_draws = 6\nseed = 1\n",
    );
}

/// A run: what it did, and which cooks were segmented, sorted.
fn ran(folder: &Path, units: Option<Units>) -> (RunSummary, Vec<String>) {
    let heard = Segmented::default();
    let summary = run(folder, units, &heard).unwrap();
    assert_eq!(summary.ingest.refusals.len(), 0, "{:?}", summary.ingest.refusals);
    let mut cooks = heard.0.into_inner().unwrap();
    cooks.sort();
    (summary, cooks)
}

fn stages(summary: &RunSummary) -> Vec<Stage> {
    summary.redone.iter().map(|(stage, _)| *stage).collect()
}

fn changed(summary: &RunSummary, stage: Stage) -> Option<&str> {
    summary.redone.iter().find_map(|(redone, reason)| match reason {
        Reason::Changed { input } if *redone == stage => Some(input.as_str()),
        _ => None,
    })
}

/// When each file of store and results was last written, by path.
fn written(folder: &Path) -> BTreeMap<String, SystemTime> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.join("store"), folder.join("out")];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(&next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
                continue;
            }
            let name = path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
            found.insert(name, fs::metadata(&path).unwrap().modified().unwrap());
        }
    }
    found
}

/// Names of the files that differ, new ones among them.
fn rewritten(
    before: &BTreeMap<String, SystemTime>,
    after: &BTreeMap<String, SystemTime>,
) -> Vec<String> {
    after
        .iter()
        .filter(|(name, at)| before.get(*name) != Some(at) && name.as_str() != "store/stamps.json")
        .map(|(name, _)| name.clone())
        .collect()
}

fn edit(folder: &Path, name: &str, from: &str, to: &str) {
    let path = folder.join(name);
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains(from), "{name}: {from}");
    fs::write(path, text.replacen(from, to, 1)).unwrap();
}

#[test]
fn a_first_run_segments_each_cook_once_and_a_second_one_none() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    let (first, segmented) = ran(folder.path(), None);
    assert_eq!(segmented, ["a", "b", "c", "d", "y", "z"]);
    assert!(first.redone.iter().all(|(_, reason)| *reason == Reason::NeverDone));
    let phases = fs::read_to_string(folder.path().join("out/data/phases.csv")).unwrap();
    let borrowed: BTreeSet<String> = support::rows(&phases)
        .into_iter()
        .filter(|row| row["k_ref_borrowed"] == "true")
        .map(|row| row["cook"].clone())
        .collect();
    assert_eq!(borrowed.into_iter().collect::<Vec<_>>(), ["y", "z"]);

    let before = written(folder.path());
    let (second, segmented) = ran(folder.path(), None);
    assert!(second.nothing_to_do && second.redone.is_empty() && segmented.is_empty());
    assert_eq!(before, written(folder.path()));
}

#[test]
fn an_edited_claim_segments_nothing() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    ran(folder.path(), None);
    let before = written(folder.path());
    edit(folder.path(), "claims.toml", "matters = 15", "matters = 20");
    let (summary, segmented) = ran(folder.path(), None);
    assert!(segmented.is_empty());
    assert_eq!(stages(&summary), [Stage::Study, Stage::Report]);
    assert_eq!(changed(&summary, Stage::Study), Some("claims.lock"));
    assert_eq!(changed(&summary, Stage::Report), Some("study.json"));
    let rewritten = rewritten(&before, &written(folder.path()));
    assert!(rewritten.iter().all(|name| name.starts_with("out/")), "{rewritten:?}");
    assert!(rewritten.contains(&"out/study.json".to_owned()));
    assert!(!rewritten.contains(&"out/data/measures.csv".to_owned()));
}

#[test]
fn a_comment_in_the_claims_judges_nothing_and_the_new_bytes_are_written_down() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    ran(folder.path(), None);
    let study = || fs::read_to_string(folder.path().join("out/study.json")).unwrap();
    let before = study();
    edit(folder.path(), "claims.toml", "\n[[claim]]", "\n# Asked in spring.\n[[claim]]");
    let (summary, _) = ran(folder.path(), None);
    assert_eq!(stages(&summary), [Stage::Report]);
    let differing: Vec<(String, String)> = before
        .lines()
        .zip(study().lines())
        .filter(|(a, b)| a != b)
        .map(|(a, b)| (a.to_owned(), b.to_owned()))
        .collect();
    assert_eq!(differing.len(), 1, "{differing:?}");
    assert!(differing[0].0.contains("sha256"), "{differing:?}");
}

#[test]
fn other_units_and_another_team_name_write_pages_only() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    ran(folder.path(), None);
    let before = written(folder.path());
    let (summary, segmented) = ran(folder.path(), Some(Units::Metric));
    assert!(segmented.is_empty());
    assert_eq!(stages(&summary), [Stage::Report]);
    assert_eq!(changed(&summary, Stage::Report), Some("settings"));
    let metric = written(folder.path());
    let pages = rewritten(&before, &metric);
    let is_page = |name: &String| {
        Path::new(name).extension().is_some_and(|end| end == "html") || name == "out/report.md"
    };
    assert!(!pages.is_empty() && pages.iter().all(is_page), "{pages:?}");

    edit(folder.path(), "season.toml", "\"Test\"", "\"Other\"");
    let (summary, segmented) = ran(folder.path(), Some(Units::Metric));
    assert!(segmented.is_empty());
    assert_eq!(stages(&summary), [Stage::Report]);
    // The settings file is among what the study says it rests on.
    let pages = rewritten(&metric, &written(folder.path()));
    assert!(pages.iter().all(|name| is_page(name) || name == "out/study.json"), "{pages:?}");
}

#[test]
fn a_card_cell_does_its_own_cook_again_and_those_that_borrow_from_it() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    ran(folder.path(), None);
    let before = written(folder.path());
    let wood =
        |cook: &str, place, to| (row(cook, &date(place), "oak"), row(cook, &date(place), to));
    // The wood moves no reference: those that borrow from this cook are lent the same.
    let (from, to) = wood("b", 1, "ash");
    edit(folder.path(), "sheet.csv", &from, &to);
    let (summary, segmented) = ran(folder.path(), None);
    assert_eq!(segmented, ["b"]);
    assert_eq!(stages(&summary), [Stage::Phases, Stage::Measures, Stage::Study, Stage::Report]);
    assert_eq!(changed(&summary, Stage::Phases), Some("cooks.parquet"));
    let now = rewritten(&before, &written(folder.path()));
    let has = |name: &str| now.iter().any(|other| other == name);
    assert!(has("store/cooks.parquet") && has("store/measures.parquet"), "{now:?}");
    assert!(!has("store/events.parquet") && !has("store/sources.parquet"), "{now:?}");

    // Another pit lends to nobody here, so those that borrow are lent something else.
    edit(folder.path(), "sheet.csv", "c.csv,brisket,big", "c.csv,brisket,odd");
    let (_, segmented) = ran(folder.path(), None);
    assert_eq!(segmented, ["c", "y", "z"]);
    same_as_a_fresh_run(folder.path());
}

#[test]
fn an_added_log_is_segmented_alone() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    ran(folder.path(), None);
    let day = date(OWN.len() + WARM.len());
    fs::write(folder.path().join("logs/new.csv"), log(&day, 5.0, 0.175)).unwrap();
    let sheet = fs::read_to_string(folder.path().join("sheet.csv")).unwrap();
    // On another pit: it lends the others nothing.
    let added = row("new", &day, "oak").replace(",big,", ",small,");
    fs::write(folder.path().join("sheet.csv"), sheet + &added).unwrap();
    let (_, segmented) = ran(folder.path(), None);
    assert_eq!(segmented, ["new"]);
    same_as_a_fresh_run(folder.path());
}

#[test]
fn a_table_that_is_lost_is_made_again_and_its_stage_says_so() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    ran(folder.path(), None);
    let before = written(folder.path());
    fs::remove_file(folder.path().join("store/moved.parquet")).unwrap();
    let (summary, segmented) = ran(folder.path(), None);
    // The phases hold: their intervals are not drawn again.
    assert_eq!(segmented.len(), OWN.len() + WARM.len());
    let gone = Reason::Gone { output: "store/moved.parquet".into() };
    assert_eq!(summary.redone, [(Stage::Measures, gone)]);
    assert_eq!(rewritten(&before, &written(folder.path())), ["store/moved.parquet"]);
    same_as_a_fresh_run(folder.path());
}

#[test]
fn a_store_of_another_number_is_made_anew_with_a_line_a_stage() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    ran(folder.path(), None);
    let before = written(folder.path());
    let stamps = folder.path().join("store/stamps.json");
    // As a program wrote them whose stamps held no hash of themselves.
    let text = fs::read_to_string(&stamps).unwrap();
    let noted: serde_json::Value = serde_json::from_str(&text).unwrap();
    let stages = serde_json::to_string_pretty(&noted["stages"]).unwrap();
    let older: Vec<String> = stages
        .lines()
        .map(|line| match line.split_once("\"number\": ") {
            Some((indent, _)) => format!("{indent}\"number\": 0,"),
            None => line.to_owned(),
        })
        .collect();
    fs::write(&stamps, older.join("\n")).unwrap();
    let (summary, _) = ran(folder.path(), None);
    assert!(
        summary.redone.iter().all(|(_, reason)| matches!(reason, Reason::Number { was: 0, .. }))
    );
    for stage in ["phases", "measures", "study", "report"] {
        let said = summary
            .lines
            .iter()
            .filter(|line| line.starts_with(&format!("{stage}: ")) && line.ends_with("made anew"));
        assert_eq!(said.count(), 1, "{stage}: {:?}", summary.lines);
    }
    // The rows were computed from the same, so that no byte of them changes.
    assert_eq!(rewritten(&before, &written(folder.path())), Vec::<String>::new());
}

#[test]
fn stages_run_alone_give_the_bytes_of_a_run() {
    let folder = tempfile::tempdir().unwrap();
    season(folder.path());
    ran(folder.path(), None);
    let settings = stages::read_season(folder.path()).unwrap();
    let store = folder.path().join("store");
    let derived = [
        "phases",
        "flags",
        "channels",
        "warnings",
        "measures",
        "history",
        "moved",
        "moved_history",
        "degrees",
    ];
    let read = || derived.map(|name| fs::read(store.join(format!("{name}.parquet"))).unwrap());
    let of_run = read();
    for name in derived {
        fs::remove_file(store.join(format!("{name}.parquet"))).unwrap();
    }
    stages::phases(&store, &settings, &Silent).unwrap();
    assert!(!store.join("measures.parquet").exists());
    stages::measures(&store, &settings, &Silent).unwrap();
    for ((name, one), other) in derived.iter().zip(read()).zip(of_run) {
        assert!(one == other, "{name} differs");
    }
}

/// Store and results are those of a run that begins with nothing.
fn same_as_a_fresh_run(grown: &Path) {
    let fresh = tempfile::tempdir().unwrap();
    for name in ["season.toml", "sheet.csv", "events.csv", "claims.toml", "claims.lock"] {
        fs::copy(grown.join(name), fresh.path().join(name)).unwrap();
    }
    fs::create_dir(fresh.path().join("logs")).unwrap();
    for entry in fs::read_dir(grown.join("logs")).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), fresh.path().join("logs").join(entry.file_name())).unwrap();
    }
    ran(fresh.path(), None);
    let (one, other) = (written(grown), written(fresh.path()));
    assert_eq!(one.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>());
    for name in one.keys() {
        let bytes = |folder: &Path| fs::read(folder.join(name)).unwrap();
        assert!(bytes(grown) == bytes(fresh.path()), "{name} differs");
    }
}
