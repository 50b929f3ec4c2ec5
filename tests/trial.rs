//! A trial through the command: begun, drawn, cooked, looked at, and meddled with.

mod support;

use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, rows, stderr, stdout, write};

const CLAIMS: &str = "[[claim]]\nid = \"oak-or-hickory\"\nsays = \"Oak tastes better than hickory\"\nkind = \"compare\"\n\
    outcome = \"score_taste\"\nbetter = \"higher\"\nby = \"wood\"\nlevels = [\"oak\", \"hickory\"]\nmatters = 0.5\n";
const SETTINGS: &str = "team = \"Oak Hill\"\ntime_zone = \"UTC\"\n[scores.taste]\nlowest = 1\nhighest = 9\nbetter = \"higher\"\n";
const NOW: &str = "2026-05-01T08:00:00Z";

/// A season with a past of four cooks, two fires.
fn season(folder: &Path) {
    let log = support::steady_log(660);
    write(folder, "logs/one.csv", &log);
    write(
        folder,
        "sheet.csv",
        "Cook,date,logs,pit,wood,meat_on,pull,score_taste,\"remark; ours\"\n\
         one,2025-05-01,one.csv,big,oak,2025-05-01T00:00:00Z,2025-05-01T10:30:00Z,6,\"wet, cold\"\n",
    );
    write(folder, "events.csv", "cook,time,event,value,note\n");
    write(folder, "claims.toml", CLAIMS);
    write(folder, "season.toml", SETTINGS);
}

fn begin(folder: &Path, pairs: &str) {
    let begun = cookstudy(
        folder,
        &["trial", "new", "--claim", "oak-or-hickory", "--pairs", pairs, "--now", NOW],
    );
    expect_exit(&begun, 0);
}

fn next(folder: &Path, cooks: &[&str]) -> std::process::Output {
    let mut arguments = vec!["trial", "next"];
    arguments.extend(cooks);
    arguments.extend(["--now", NOW, "--date", "2026-05-02", "--format", "csv"]);
    cookstudy(folder, &arguments)
}

/// Cooks what was drawn: gives the sheet's rows wood, pit, times and a score.
fn cook(folder: &Path, pairs: usize, oak_adds: f64) {
    let sheet = fs::read_to_string(folder.join("sheet.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let names: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let at = |name: &str| names.iter().position(|own| own == name).unwrap();
    let mut text = names.join(",") + "\n";
    for (line, record) in reader.records().enumerate() {
        let mut cells: Vec<String> = record.unwrap().iter().map(str::to_owned).collect();
        if let Some(pair) = cells[0].strip_prefix(['a', 'b']).and_then(|n| n.parse::<usize>().ok())
            && pair < pairs
        {
            let arm = cells[at("arm")].clone();
            cells[at("wood")] = arm;
            cells[at("pit")] = "big".into();
            cells[at("date")] = format!("2026-05-{:02}", 2 + pair);
            cells[at("meat_on")] = format!("2026-05-{:02}T09:00:00Z", 2 + pair);
            cells[at("pull")] = format!("2026-05-{:02}T19:00:00Z", 2 + pair);
            let oak = cells[at("arm")] == "oak";
            let taste = 4.0 + 0.1 * line as f64 % 0.4 + if oak { oak_adds } else { 0.0 };
            cells[at("score_taste")] = format!("{taste:.2}");
        }
        let quoted = cells.iter().map(|cell| format!("\"{cell}\"")).collect::<Vec<_>>();
        text += &(quoted.join(",") + "\n");
    }
    fs::write(folder.join("sheet.csv"), text).unwrap();
}

#[test]
fn from_the_first_lot_to_the_report() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    season(folder);
    // Without a past nothing can be promised; with a number it can be begun.
    let unsized_ = cookstudy(folder, &["trial", "new", "--claim", "oak-or-hickory"]);
    expect_exit(&unsized_, 2);
    assert!(stderr(&unsized_).contains("--pairs N"), "{}", stderr(&unsized_));
    let before = fs::read_to_string(folder.join("sheet.csv")).unwrap();
    begin(folder, "8");
    let lock = fs::read_to_string(folder.join("claims.lock")).unwrap();
    assert!(lock.contains("[[trial]]") && lock.contains("planned = 8"), "{lock}");
    let key = fs::read_to_string(folder.join("trial.key")).unwrap();
    let secret = key.lines().find_map(|line| line.strip_prefix("key = ")).unwrap();
    assert!(!lock.contains(secret.trim_matches('"')), "the key stands in the lock");
    let again = cookstudy(folder, &["trial", "new", "--claim", "oak-or-hickory", "--pairs", "4"]);
    expect_exit(&again, 2);

    let first = next(folder, &["b0", "a0"]);
    expect_exit(&first, 0);
    let drawn = rows(&stdout(&first));
    assert_eq!(drawn.len(), 2);
    assert_ne!(drawn[0]["arm"], drawn[1]["arm"]);
    // The rows that were there stay as they were written, behind them stand the new columns.
    let after = fs::read_to_string(folder.join("sheet.csv")).unwrap();
    let old: Vec<&str> = before.lines().collect();
    let new: Vec<&str> = after.lines().collect();
    assert_eq!(new[0], format!("{},arm,block,pit_position", old[0]));
    assert_eq!(new[1], format!("{},,,", old[1]));
    assert!(new[3].starts_with("a0,2026-05-02") || new[2].starts_with("a0,2026-05-02"), "{after}");
    // Asked again in another order, the same lots.
    let once_more = next(folder, &["a0", "b0"]);
    expect_exit(&once_more, 0);
    assert_eq!(rows(&stdout(&once_more)), drawn);
    for pair in 1..8 {
        let page = folder.join("lot.html");
        let names = [format!("a{pair}"), format!("b{pair}")];
        expect_exit(&next(folder, &[&names[0], &names[1], "--page", page.to_str().unwrap()]), 0);
        let page = fs::read_to_string(page).unwrap();
        assert!(page.contains(&names[0]) && page.contains("local food code"));
    }
    // Tasters know the code alone.
    let code = &drawn[0]["code"];
    write(folder, "scores.csv", &format!("attribute,value,code\ntaste,8,{code}\n"));
    // Three cooked: nothing is told of them before a look is due.
    cook(folder, 3, 2.0);
    expect_exit(&cookstudy(folder, &["run", "--now", "2026-06-01T08:00:00Z"]), 0);
    let study = fs::read_to_string(folder.join("out/study.json")).unwrap();
    let found: serde_json::Value = serde_json::from_str(&study).unwrap();
    let trial = &found["trials"][0];
    assert_eq!((&trial["state"], &trial["complete"]), (&"running".into(), &3.into()));
    assert_eq!(trial["effect"], serde_json::Value::Null);
    let scores = fs::read_to_string(folder.join("out/data/scores.csv")).unwrap();
    assert_eq!(rows(&scores)[0]["cook"], drawn[0]["cook"], "{scores}");
    cook(folder, 8, 2.0);
    expect_exit(&cookstudy(folder, &["run", "--now", "2026-06-02T08:00:00Z"]), 0);
    let looked = cookstudy(folder, &["trial", "look", "--format", "csv"]);
    expect_exit(&looked, 0);
    let row = &rows(&stdout(&looked))[0];
    assert_eq!((row["verdict"].as_str(), row["trial"].as_str()), ("yes", "oak-or-hickory"));
    let study = fs::read_to_string(folder.join("out/study.json")).unwrap();
    let found: serde_json::Value = serde_json::from_str(&study).unwrap();
    assert_eq!(found["trials"][0]["standing"], "randomised");
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    assert!(report.contains("Settled by lots") && report.contains("Pair by pair"));
    assert!(fs::read_to_string(folder.join("out/report.md")).unwrap().contains("Settled by lots"));
    expect_exit(&next(folder, &["a9", "b9"]), 2);
    // A second run does nothing.
    let idle = cookstudy(folder, &["run", "--now", "2026-06-03T08:00:00Z"]);
    assert!(stderr(&idle).contains("Nothing to do"), "{}", stderr(&idle));
}

/// Redraw, rename, delete, edit: each is refused or named.
#[test]
fn nobody_steers_the_lots() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    season(folder);
    begin(folder, "6");
    expect_exit(&next(folder, &["a0", "b0"]), 0);
    expect_exit(&next(folder, &["a1", "b1"]), 0);
    let lock = fs::read_to_string(folder.join("claims.lock")).unwrap();
    let sheet = fs::read_to_string(folder.join("sheet.csv")).unwrap();
    let refused = |lock: &str, said: &str| {
        fs::write(folder.join("claims.lock"), lock).unwrap();
        let output = next(folder, &["a2", "b2"]);
        expect_exit(&output, 2);
        assert!(stderr(&output).contains(said), "{}", stderr(&output));
        let seen = cookstudy(folder, &["trial", "look"]);
        expect_exit(&seen, 1);
        assert!(stderr(&seen).contains(said), "{}", stderr(&seen));
    };
    // Arms exchanged in the lock.
    let swapped = lock.replace("arm = \"oak\"", "arm = \"?\"");
    let swapped = swapped
        .replace("arm = \"hickory\"", "arm = \"oak\"")
        .replace("arm = \"?\"", "arm = \"hickory\"");
    refused(&swapped, "not as they were drawn");
    // The last pair taken out, to draw it again.
    let from = lock.rfind("[[trial.lot]]").unwrap();
    let from = lock[..from].rfind("[[trial.lot]]").unwrap();
    refused(&lock[..from], "2 lots of the trial `oak-or-hickory`, but 4 were drawn");
    fs::write(folder.join("claims.lock"), &lock).unwrap();
    // Another arm in the sheet, and a cook under another name.
    let edited = sheet.replace("a1,", "better,").replace(",hickory,", ",oak,");
    fs::write(folder.join("sheet.csv"), edited).unwrap();
    cook(folder, 1, 0.0);
    expect_exit(&cookstudy(folder, &["run", "--now", "2026-06-01T08:00:00Z"]), 0);
    let seen = cookstudy(folder, &["trial", "look"]);
    let said = stderr(&seen);
    assert!(said.contains("but its lot was `hickory`: the lot counts"), "{said}");
    assert!(said.contains("saw no cook a1, for which lot 3 was drawn"), "{said}");
    // One cook of a pair that has its lot, with another.
    let mixed = next(folder, &["a0", "c0"]);
    expect_exit(&mixed, 2);
    assert!(stderr(&mixed).contains("a0 has its lot already"), "{}", stderr(&mixed));
    // Without the key nothing is drawn.
    fs::rename(folder.join("trial.key"), folder.join("elsewhere")).unwrap();
    let keyless = next(folder, &["a2", "b2"]);
    expect_exit(&keyless, 2);
    assert!(stderr(&keyless).contains("no key of the trial"), "{}", stderr(&keyless));
}

#[test]
fn what_cannot_be_tried_is_said_with_a_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    season(folder);
    let trend = "[[claim]]\nid = \"hotter\"\nsays = \"s\"\nkind = \"trend\"\noutcome = \"stall_min\"\nbetter = \"lower\"\nby = \"pit_early_c\"\nper = 5\nmatters = 10\n";
    write(folder, "claims.toml", &format!("{CLAIMS}{trend}"));
    for (arguments, said) in [
        (
            &["trial", "new", "--claim", "oak-or-hickry", "--pairs", "4"][..],
            "did you mean `oak-or-hickory`?",
        ),
        (&["trial", "new", "--claim", "hotter", "--pairs", "4"], "claim of kind compare"),
        (&["trial", "new", "--claim", "oak-or-hickory", "--pairs", "1"], "from 2 to"),
        (&["trial", "next", "a", "b"], "trial new --claim ID"),
        (&["trial", "look", "--claim", "hotter"], "trial new --claim hotter"),
    ] {
        let output = cookstudy(folder, arguments);
        expect_exit(&output, 2);
        assert!(stderr(&output).contains(said), "{}", stderr(&output));
    }
    begin(folder, "6");
    for (cooks, said) in [
        (&["one", "two"][..], "is on already"),
        (&["a"], "name both"),
        (&["a", "a"], "1 cook was named"),
    ] {
        let output = next(folder, cooks);
        expect_exit(&output, 2);
        assert!(stderr(&output).contains(said), "{}", stderr(&output));
    }
}
