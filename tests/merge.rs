//! Stores of several teams in one, and one to give away.

mod support;

use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, files_below, rows, small_season, stderr, stdout, write};

/// A season of one team whose words can all be told by their beginning.
fn season(folder: &Path, team: &str) {
    small_season(folder);
    write(folder, "season.toml", &format!("team = \"{team}\"\ntime_zone = \"UTC\"\n"));
    // A second cook of the same fire that begins warm: it needs another cook's reference.
    let log = fs::read_to_string(folder.join("logs/one.csv")).unwrap();
    let late: Vec<&str> = log
        .lines()
        .enumerate()
        .filter(|(line, _)| !(1..=240).contains(line))
        .map(|(_, l)| l)
        .collect();
    write(folder, "logs/zz-late.csv", &(late.join("\n") + "\nzz-broken,1,2\n"));
    let card = |cook: &str, log: &str| {
        format!(
            "{cook},2025-05-01,{log},zz-pit,brisket,zz-place,5.5,2025-05-01T00:00:00Z,2025-05-01T10:30:00Z,zz-remark,40.5\n"
        )
    };
    let header = "cook,date,logs,pit,cut,place,trimmed_weight_kg,meat_on,pull,zz_remark,rub_g\n";
    let sheet = header.to_owned() + &card("zz-one", "one.csv") + &card("zz-late", "zz-late.csv");
    write(folder, "sheet.csv", &sheet);
    write(
        folder,
        "events.csv",
        "cook,time,event,value,note\nzz-one,2025-05-01T02:00:00Z,spritz,,zz-note\n",
    );
    expect_exit(&cookstudy(folder, &["run"]), 0);
}

fn through_all_stages(folder: &Path, store: &str, out: &str) -> (String, String) {
    let phases = cookstudy(folder, &["phases", "--store", store, "--format", "csv"]);
    expect_exit(&phases, 0);
    let measures = cookstudy(folder, &["measures", "--store", store, "--format", "csv"]);
    expect_exit(&measures, 0);
    let claims = "[[claim]]\nid = \"heavier\"\nsays = \"Heavier stalls longer\"\nkind = \"trend\"\n\
        outcome = \"total_min\"\nbetter = \"higher\"\nby = \"trimmed_weight_kg\"\nper = 1\n\
        group = [\"team\", \"fire\"]\nmatters = 5\n";
    write(folder, "claims.toml", claims);
    let arguments = ["study", "--store", store, "--claims", "claims.toml", "--out", out];
    expect_exit(&cookstudy(folder, &arguments), 0);
    let study = format!("{out}/study.json");
    let arguments = ["report", "--store", store, "--study", &study, "--out", out];
    expect_exit(&cookstudy(folder, &arguments), 0);
    (stdout(&phases), stdout(&measures))
}

#[test]
fn two_teams_become_one_store_that_every_stage_reads() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    season(&at("a"), "Oak Hill");
    season(&at("b"), "Unnamed team");
    let output = cookstudy(folder.path(), &["merge", "a", "b", "--out", "both"]);
    expect_exit(&output, 2);
    assert!(
        stderr(&output).contains("whose cooks are these? Write `TEAM=b`"),
        "{}",
        stderr(&output)
    );
    assert!(!at("both").exists());

    let merge = ["merge", "a", "river=b/store", "--out", "both", "--format", "csv"];
    let output = cookstudy(folder.path(), &merge);
    expect_exit(&output, 0);
    let teams = rows(&stdout(&output));
    assert_eq!((teams[0]["team"].as_str(), teams[1]["team"].as_str()), ("Oak Hill", "river"));
    assert_eq!((teams[0]["cooks"].as_str(), teams[0]["fires"].as_str()), ("2", "1"));
    let (_, measures) = through_all_stages(folder.path(), "both", "out");
    let measured = rows(&measures);
    let of = |cook: &str| measured.iter().find(|row| row["cook"] == cook).unwrap();
    assert_eq!(of("Oak Hill.zz-one")["team"], "Oak Hill");
    assert_eq!(of("river.zz-one")["pit"], "river.zz-pit");
    assert_ne!(of("river.zz-one")["fire"], of("Oak Hill.zz-one")["fire"]);
    // Every cook came out as it did at home.
    let home = cookstudy(folder.path(), &["measures", "--store", "b/store", "--format", "csv"]);
    let home = rows(&stdout(&home));
    for name in ["k_ref_per_h", "stall_delay_min", "clock_to_finish_min", "total_min"] {
        assert_eq!(of("river.zz-one")[name], home[1][name], "{name}");
    }
    assert_eq!(home[1]["cook"], "zz-one");
    // Again: nothing to do, not a byte changed.
    let before = files_below(&at("both"));
    let output = cookstudy(folder.path(), &merge);
    expect_exit(&output, 0);
    assert!(stderr(&output).contains("nothing changed"), "{}", stderr(&output));
    assert!(before == files_below(&at("both")), "a second merge changed files");
    // What was merged is stale once a season changes, and is taken up by merging again.
    let sheet = fs::read_to_string(at("a/sheet.csv")).unwrap().replace("5.5", "6.5");
    write(&at("a"), "sheet.csv", &sheet);
    expect_exit(&cookstudy(&at("a"), &["run"]), 0);
    expect_exit(&cookstudy(folder.path(), &merge), 0);
    let output = cookstudy(folder.path(), &["measures", "--store", "both"]);
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("cookstudy phases --store both"), "{}", stderr(&output));
    // A season of its own is never written over.
    let output = cookstudy(folder.path(), &["merge", "a", "--out", "b"]);
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("is there already"), "{}", stderr(&output));
}

#[test]
fn what_is_given_away_holds_none_of_the_teams_words() {
    let folder = tempfile::tempdir().unwrap();
    season(&folder.path().join("a"), "zz-team");
    let arguments =
        ["merge", "--anonymise", "a", "--keep", "rub_g", "--out", "gift", "--key", "key.json"];
    expect_exit(&cookstudy(folder.path(), &arguments), 0);
    let key = fs::read_to_string(folder.path().join("key.json")).unwrap();
    assert!(key.contains("zz-one") && key.contains("zz-pit"), "{key}");
    let (phases, measures) = through_all_stages(folder.path(), "gift", "out");
    assert!(measures.contains("40.5") && measures.contains("rub_g"), "{measures}");
    let mut files = files_below(&folder.path().join("gift"));
    files.extend(files_below(&folder.path().join("out")));
    files.push(("phases".into(), phases.into_bytes()));
    files.push(("measures".into(), measures.into_bytes()));
    for (name, bytes) in &files {
        for word in ["zz-", "zz_", "one.csv", "2025-05-01"] {
            let found = bytes.windows(word.len()).any(|part| part == word.as_bytes());
            assert!(!found && !name.contains(word), "`{word}` is in {name}");
        }
    }
    // The same without a key gives no file that tells.
    let arguments = ["merge", "--anonymise", "a", "--out", "other"];
    expect_exit(&cookstudy(folder.path(), &arguments), 0);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 6);
    let output = cookstudy(folder.path(), &["merge", "a", "--out", "x", "--key", "k"]);
    expect_exit(&output, 2);
}
