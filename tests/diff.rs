//! Two studies side by side.

mod support;

use std::fs;
use support::{cookstudy, expect_exit, stderr, stdout};

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
    assert!(rows.contains("values of the cooks changed"), "{rows}");
    assert!(stderr(&output).contains("table.csv has changed"), "{}", stderr(&output));

    let output = cookstudy(folder.path(), &["diff", json[1], json[2], "--format", "csv"]);
    expect_exit(&output, 0);
    assert_eq!(stdout(&output).lines().count(), 1, "nothing changed: {}", stdout(&output));

    let output = cookstudy(folder.path(), &["diff", json[0], "claims.toml"]);
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("claims.toml: not a study.json"), "{}", stderr(&output));
}
