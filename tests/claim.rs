//! `claim new`, as a team without a terminal uses it.

mod support;

use std::fs;
use support::{cookstudy, expect_exit, stderr, stdout};

#[test]
fn an_argument_becomes_a_claim_beside_those_that_are_there() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    expect_exit(&cookstudy(folder, &["new", ".", "--tz", "UTC"]), 0);
    let before = fs::read_to_string(folder.join("claims.toml")).unwrap();

    let hotter = ["claim", "new", "--argument", "hotter-pit", "--matters", "10"];
    let output = cookstudy(folder, &hotter);
    expect_exit(&output, 0);
    assert!(stdout(&output).contains("by      = \"pit_early_f\"\nper     = 10.0"));
    assert!(stderr(&output).contains("How likely it is to be answered is not known"));
    let after = fs::read_to_string(folder.join("claims.toml")).unwrap();
    assert!(after.starts_with(&before) && after.ends_with(&stdout(&output)));

    let wrap =
        ["--argument", "wrap-sooner", "--between", "foil@160F,paper@160F", "--matters", "20"];
    expect_exit(&cookstudy(folder, &[&["claim", "new"], &wrap[..]].concat()), 0);

    // The same name again is told, and nothing changes.
    let whole = fs::read_to_string(folder.join("claims.toml")).unwrap();
    let again = cookstudy(folder, &hotter);
    expect_exit(&again, 2);
    assert!(stderr(&again).contains("hotter-pit"), "{}", stderr(&again));
    assert_eq!(fs::read_to_string(folder.join("claims.toml")).unwrap(), whole);
    let named = [&hotter[..], &["--id", "hotter-pit-2"]].concat();
    expect_exit(&cookstudy(folder, &named), 0);
}

#[test]
fn without_a_terminal_what_is_missing_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    expect_exit(&cookstudy(folder, &["new", ".", "--tz", "UTC"]), 0);
    let before = fs::read_to_string(folder.join("claims.toml")).unwrap();
    for (words, said) in [
        (&["claim", "new"][..], "--argument is missing"),
        (&["claim", "new", "--argument", "hotter-pit"], "How many minutes shorter"),
        (&["claim", "new", "--argument", "wood-taste", "--matters", "1"], "--between A,B"),
        (
            &["claim", "new", "--argument", "wood-taste", "--between", "oak", "--matters", "1"],
            "`oak` are not two sides",
        ),
        (
            &["claim", "new", "--argument", "hotter-pit", "--matters", "-4"],
            "no difference to act on",
        ),
    ] {
        let output = cookstudy(folder, words);
        expect_exit(&output, 2);
        assert!(stderr(&output).contains(said), "{words:?}: {}", stderr(&output));
    }
    assert_eq!(fs::read_to_string(folder.join("claims.toml")).unwrap(), before);
    let nowhere = cookstudy(
        folder,
        &["claim", "new", "--season", "none", "--argument", "hotter-pit", "--matters", "9"],
    );
    expect_exit(&nowhere, 2);
}
