//! An orderly team's years, which measurements are made of: nothing is rejected, nothing asked.

mod support;

use simulate::TeamModel;
use std::collections::BTreeSet;
use std::fs;
use support::{cookstudy, expect_exit, stderr};

#[test]
fn nothing_is_amiss_in_an_orderly_season() {
    let folder = tempfile::tempdir().unwrap();
    let team = TeamModel { fires: 9, ..TeamModel::middling() };
    let written = samples::write_orderly(folder.path(), &team, (7, 24), "").unwrap();
    assert!((24..=26).contains(&written.cooks), "{written:?}");
    let sheet = fs::read_to_string(folder.path().join("sheet.csv")).unwrap();
    let cooks: Vec<&str> =
        sheet.lines().skip(1).filter_map(|line| line.split(',').next()).collect();
    assert_eq!(cooks.iter().collect::<BTreeSet<_>>().len(), written.cooks);
    // Nine fires are a year of this team; the years before are cooked too.
    assert!(cooks.iter().any(|cook| cook.starts_with("2025")));
    assert!(cooks.iter().any(|cook| cook.starts_with("2024")));

    let output = cookstudy(folder.path(), &["run"]);
    expect_exit(&output, 0);
    let said = stderr(&output);
    let read = format!("{0} of {0} cooks read", written.cooks);
    assert!(said.contains(&read) && said.contains("0 rejected rows and cells"), "{said}");
    assert!(!folder.path().join("questions.toml").exists(), "{said}");
}
