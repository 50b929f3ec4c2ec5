//! Scores of judges and tasters from their sheet to the report.

mod support;

use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, rows, small_season, stderr, write};

const SETTINGS: &str = "team = \"Oak Hill\"\ntime_zone = \"UTC\"\n[scores.taste]\nlowest = 1\nhighest = 9\nbetter = \"higher\"\ndrop = 1\nweight = 2\n";
const SCORES: &str = "contest,date,category,cook,panel,judge,attribute,value,blind\n\
    County Fair,2025-05-01,,one,,Ida Moss,taste,6,yes\n\
    County Fair,2025-05-01,,one,,Jon Reed,taste,8,yes\n\
    County Fair,2025-05-01,,one,,Kit Hale,taste,9,yes\n\
    County Fair,2025-05-01,chicken,,,Ida Moss,taste,5,yes\n\
    County Fair,2025-05-01,chicken,,,Jon Reed,taste,6,yes\n\
    County Fair,2025-05-01,chicken,,,Kit Hale,taste,8,yes\n\
    ,2025-05-02,,one,,Vera,taste,4,no\n\
    County Fair,2025-05-01,ribs,,,Ida Moss,taste,12,yes\n";

fn season(folder: &Path) {
    small_season(folder);
    write(folder, "season.toml", SETTINGS);
    write(folder, "scores.csv", SCORES);
    // A card without a log: no curve, but times and a cost.
    write(
        folder,
        "sheet.csv",
        "cook,date,logs,cut,pit,meat_on,pull,turn_in_at,cost,served_weight_kg,contest_rank,contest_points\n\
         one,2025-05-01,one.csv,brisket,big,2025-05-01T00:00:00Z,2025-05-01T10:30:00Z,,,,4,172.5\n\
         thighs,2025-05-01,,chicken,,2025-05-01T09:00:00Z,2025-05-01T12:00:00Z,2025-05-01T11:30:00Z,20,2,,\n",
    );
}

fn table(folder: &Path, name: &str) -> Vec<std::collections::HashMap<String, String>> {
    rows(&fs::read_to_string(folder.join(format!("out/data/{name}.csv"))).unwrap())
}

#[test]
fn judges_and_tasters_from_the_sheet_to_the_report() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    season(folder);
    let output = cookstudy(folder, &["run"]);
    expect_exit(&output, 0);
    let said = stderr(&output);
    for words in ["scores.csv:9, column `value`: `12`", "out-of-range"] {
        assert!(said.contains(words), "{words} is missing from:\n{said}");
    }
    assert_eq!(table(folder, "scores").len(), 7);
    // The card's score is the judges' mean, the worst dropped; the taster's stays apart.
    assert_eq!(table(folder, "measures")[0]["score_taste"], "8.5");
    let panels = table(folder, "panels");
    let of = |panel: &str| panels.iter().filter(|row| row["panel"] == panel).count();
    assert_eq!((of("judges"), of("tasters")), (2, 1));
    let entries = table(folder, "entries");
    let entry = |name: &str| entries.iter().find(|row| row["entry"] == name).unwrap();
    assert_eq!(entry("one")["judges_points"], "17");
    assert_eq!(entry("one")["tasters_points"], "");
    assert_eq!(entry("one")["contest_rank"], "4");
    assert_eq!(entry("County Fair, 2025-05-01, chicken")["judges_points"], "14");
    let thighs = entry("thighs");
    assert_eq!((&*thighs["has_curve"], &*thighs["turn_in_margin_min"]), ("false", "-30"));
    assert_eq!(thighs["cost_per_served_kg"], "10");
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    for words in
        ["Judges and tasters", "Entries of every category", "County Fair, 2025-05-01, chicken"]
    {
        assert!(report.contains(words), "{words}");
    }
    assert!(cookstudy(folder, &["run"]).status.success());
}

#[test]
fn a_card_that_says_another_score_is_told_and_a_sheet_that_is_gone_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    season(folder);
    let sheet = fs::read_to_string(folder.join("sheet.csv")).unwrap();
    let with = |score: &str| {
        let score_of = |line: &str, own: &str| format!("{line},{own}\n");
        let lines: Vec<&str> = sheet.lines().collect();
        [score_of(lines[0], "score_taste"), score_of(lines[1], score), score_of(lines[2], "")]
            .concat()
    };
    write(folder, "sheet.csv", &with("7"));
    let output = cookstudy(folder, &["run"]);
    expect_exit(&output, 1);
    let said = stderr(&output);
    for words in ["sheet.csv:2, column `score_taste`: 7", "8.5", "correct one of the two"] {
        assert!(said.contains(words), "{words} is missing from:\n{said}");
    }
    assert_eq!(table(folder, "measures")[0]["score_taste"], "7");
    write(folder, "sheet.csv", &with("8.5"));
    expect_exit(&cookstudy(folder, &["run"]), 0);
    let before = table(folder, "scores");
    fs::remove_file(folder.join("scores.csv")).unwrap();
    let output = cookstudy(folder, &["run"]);
    expect_exit(&output, 1);
    assert!(stderr(&output).contains("scores.csv: was read before"), "{}", stderr(&output));
    assert_eq!(table(folder, "scores"), before);
    expect_exit(&cookstudy(folder, &["run", "--prune"]), 0);
    assert_eq!(table(folder, "scores").len(), 0);
}

#[test]
fn what_is_given_away_names_no_judge() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    season(&folder.join("a"));
    expect_exit(&cookstudy(folder, &["run", "a"]), 0);
    expect_exit(&cookstudy(folder, &["merge", "a", "--out", "open"]), 0);
    expect_exit(&cookstudy(folder, &["merge", "a", "--out", "given", "--anonymise"]), 0);
    let ask = |store: &str| {
        let question =
            "SELECT team, cook, contest, judge, date, points FROM scores ORDER BY points";
        let arguments = ["query", question, "--store", store, "--format", "csv"];
        let output = cookstudy(folder, &arguments);
        expect_exit(&output, 0);
        support::stdout(&output)
    };
    let open = ask("open");
    assert!(open.contains("Oak Hill.one") && open.contains("Ida Moss"), "{open}");
    let given = ask("given");
    assert_eq!(rows(&given).len(), 7);
    for name in ["Oak", "Ida", "Jon", "Kit", "Vera", "Fair", "2025-05-01"] {
        assert!(!given.contains(name), "{name} is still in\n{given}");
    }
    expect_exit(&cookstudy(folder, &["run", "open"]), 0);
}
