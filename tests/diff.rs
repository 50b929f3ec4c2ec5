//! Two studies side by side.

mod support;

use std::fs;
use support::{cookstudy, expect_exit, small_season, stderr, stdout, write};

const CLAIM: &str = "[[claim]]\nid = \"oak\"\nsays = \"Oak tastes better\"\nkind = \"compare\"\n\
    outcome = \"score_taste\"\nbetter = \"higher\"\nby = \"wood\"\n\
    levels = [\"oak\", \"hickory\"]\nmatters = 0.5\n";

/// Twelve cooks; the scores are 7 and 6 with a little scatter, but for the first one's.
fn table(first: f64) -> String {
    let row = |i: i32| {
        let wood = if i % 2 == 0 { "oak" } else { "hickory" };
        let score = if i == 0 { first } else { 7.0 - f64::from(i % 2) + 0.1 * f64::from(i % 3) };
        format!("c{i:02},{wood},{score}\n")
    };
    "cook,wood,score_taste\n".to_owned() + &(0..12).map(row).collect::<Vec<_>>().concat()
}

#[test]
fn a_corrected_card_shows_in_the_answers_that_it_changes() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("claims.toml"), CLAIM).unwrap();
    for (name, first) in [("before", 1.0), ("after", 7.0), ("again", 7.0)] {
        fs::write(folder.path().join("table.csv"), table(first)).unwrap();
        let arguments = ["study", "--table", "table.csv", "--claims", "claims.toml", "--out", name];
        expect_exit(&cookstudy(folder.path(), &arguments), 0);
    }
    let json = ["before/study.json", "after/study.json", "again/study.json"];
    let output = cookstudy(folder.path(), &["diff", json[0], json[1], "--format", "csv"]);
    expect_exit(&output, 0);
    let rows = stdout(&output);
    assert!(rows.lines().nth(1).is_some_and(|row| row.starts_with("oak,open,yes,")), "{rows}");
    assert!(rows.contains("values changed (c00: score_taste 1 → 7)"), "{rows}");
    let said = stderr(&output);
    assert!(said.contains("table.csv has changed"), "{said}");
    assert!(said.contains("c00, card: score_taste 1 → 7"), "{said}");

    let output = cookstudy(folder.path(), &["diff", json[1], json[2], "--format", "csv"]);
    expect_exit(&output, 0);
    assert_eq!(stdout(&output).lines().count(), 1, "nothing changed: {}", stdout(&output));

    // A study that was kept without its data tells less, and says so.
    fs::copy(folder.path().join(json[0]), folder.path().join("alone.json")).unwrap();
    let output = cookstudy(folder.path(), &["diff", "alone.json", json[1], "--format", "csv"]);
    expect_exit(&output, 0);
    assert!(stdout(&output).contains("values of the cooks changed"), "{}", stdout(&output));
    assert!(stderr(&output).contains("keep `data` beside study.json"), "{}", stderr(&output));
    // So do measures that are of another study.
    fs::copy(
        folder.path().join("after/data/measures.parquet"),
        folder.path().join("before/data/measures.parquet"),
    )
    .unwrap();
    let output = cookstudy(folder.path(), &["diff", json[0], json[1]]);
    assert!(stderr(&output).contains("not the measures of that study"), "{}", stderr(&output));

    let output = cookstudy(folder.path(), &["diff", json[0], "claims.toml"]);
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("claims.toml: not a study.json"), "{}", stderr(&output));
}

#[test]
fn a_change_is_traced_to_the_card_the_log_or_the_settings() {
    let folder = tempfile::tempdir().unwrap();
    let season = folder.path().join("season");
    small_season(&season);
    write(&season, "claims.toml", CLAIM.replace("score_taste", "total_min").as_str());
    let sheet = fs::read_to_string(season.join("sheet.csv")).unwrap();
    let sheet = sheet.replace("pull\n", "pull,wood\n").replace("10:30:00Z\n", "10:30:00Z,oak\n");
    write(&season, "sheet.csv", &sheet);
    let run = || expect_exit(&cookstudy(&season, &["run"]), 0);
    let copy = |to: &str| {
        for name in ["study.json", "data/measures.parquet", "data/cooks.parquet"] {
            let bytes = fs::read(season.join("out").join(name)).unwrap();
            fs::create_dir_all(folder.path().join(to).join("data")).unwrap();
            fs::write(folder.path().join(to).join(name), bytes).unwrap();
        }
    };
    run();
    copy("first");
    write(&season, "sheet.csv", &sheet.replace("oak", "hickory").replace("10:30:00Z", "10:00:00Z"));
    run();
    copy("card");
    let log = fs::read_to_string(season.join("logs/one.csv")).unwrap();
    write(&season, "logs/one.csv", &log.replace("120.0,", "121.0,"));
    run();
    copy("log");
    write(
        &season,
        "season.toml",
        "team = \"Test\"\ntime_zone = \"UTC\"\n[phases]\nstall_fraction = 0.45\n",
    );
    run();
    copy("settings");
    let diff = |before: &str, after: &str| {
        let [before, after] = [before, after].map(|name| format!("{name}/study.json"));
        let output = cookstudy(folder.path(), &["diff", &before, &after, "--format", "csv"]);
        expect_exit(&output, 0);
        (stdout(&output), stderr(&output))
    };
    let (rows, said) = diff("first", "card");
    assert!(said.contains("sheet.csv has changed") && said.contains("one, card: "), "{said}");
    assert!(said.contains("wood oak → hickory"), "{said}");
    let pull = "pull_at 2025-05-01T10:30:00Z → 2025-05-01T10:00:00Z";
    assert!(said.contains(pull), "{said}");
    assert!(rows.contains("one: wood oak → hickory"), "{rows}");
    let (_, said) = diff("card", "log");
    assert!(said.contains("logs/one.csv has changed"), "{said}");
    assert!(said.contains("one, its marks, log, events or settings gave: "), "{said}");
    let (_, said) = diff("log", "settings");
    assert!(said.contains("season.toml: phases.stall_fraction 0.4 → 0.45"), "{said}");
}
