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
    assert!(stderr(&output).contains("Nothing to do"), "{}", stderr(&output));
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

/// A claim on the total time, under a name and with the smallest difference that matters.
fn claim(id: &str, matters: u32) -> String {
    format!(
        "[[claim]]\nid = \"{id}\"\nsays = \"Heavier takes longer\"\nkind = \"trend\"\n\
         outcome = \"total_min\"\nbetter = \"higher\"\nby = \"trimmed_weight_kg\"\nper = 1\n\
         matters = {matters}\n"
    )
}

/// The families of a lock: ids of their claims, and the cooks known.
fn families(folder: &Path) -> Vec<(Vec<String>, Vec<String>)> {
    let text = fs::read_to_string(folder.join("claims.lock")).unwrap();
    let mut families: Vec<(Vec<String>, Vec<String>)> = Vec::new();
    let mut in_known = false;
    for line in text.lines().map(str::trim) {
        let quoted = line.split('"').nth(1).map(str::to_owned);
        match line {
            "[[family]]" => families.push(Default::default()),
            _ if line.starts_with("known_cooks = [") => in_known = !line.ends_with(']'),
            "]" => in_known = false,
            _ if in_known => families.last_mut().unwrap().1.extend(quoted),
            _ if line.starts_with("id = ") => families.last_mut().unwrap().0.extend(quoted),
            _ => {}
        }
    }
    families
}

#[test]
fn a_merge_is_a_season_folder_with_the_claims_and_what_was_known() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for (name, team, claims) in
        [("a", "Oak", claim("shared", 5) + &claim("own", 7)), ("b", "River", claim("shared", 5))]
    {
        season(&at(name), team);
        write(&at(name), "claims.toml", &claims);
        let settings = fs::read_to_string(at(name).join("season.toml")).unwrap();
        let scale =
            "units = \"metric\"\n[scores.taste]\nlowest = 0\nhighest = 10\nbetter = \"higher\"\n";
        write(&at(name), "season.toml", &(settings + scale));
        expect_exit(&cookstudy(&at(name), &["run"]), 0);
    }
    // A cook that came after the claims were written down.
    let sheet = fs::read_to_string(at("a/sheet.csv")).unwrap();
    let card = sheet.lines().nth(1).unwrap().replace("zz-one", "zz-new").replace("one.csv", "");
    let card = card.replace("2025-05-01", "2025-06-01");
    write(&at("a"), "sheet.csv", &format!("{sheet}{card}\n"));
    cookstudy(&at("a"), &["run"]);

    let merge = ["merge", "a", "b", "--out", "both"];
    let output = cookstudy(folder.path(), &merge);
    expect_exit(&output, 0);
    let said = stderr(&output);
    assert!(said.contains("next: cookstudy run both"), "{said}");
    let settings = fs::read_to_string(at("both/season.toml")).unwrap();
    for line in ["team = \"Oak, River\"", "units = \"metric\"", "logs = []", "[scores.taste]"] {
        assert!(settings.contains(line), "`{line}` is missing from {settings}");
    }
    let ids = |folder: &str| {
        let claims = fs::read_to_string(at(folder).join("claims.toml")).unwrap();
        let ids = claims.lines().filter_map(|line| line.strip_prefix("id = "));
        ids.map(|id| id.trim_matches('"').to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(ids("both"), ["shared", "own"]);
    // Claims of families that share one make one family. River's lock has not all of them, so that
    // all of River's cooks count as known; of Oak's count those that its lock knew.
    let known = ["Oak.zz-late", "Oak.zz-one", "River.zz-late", "River.zz-one"];
    let locked = families(&at("both"));
    assert_eq!(locked.len(), 1);
    assert_eq!(locked[0].0, ["shared", "own"]);
    assert_eq!(locked[0].1, known);

    // It runs like any season, from phases on, and then has nothing to do.
    let output = cookstudy(folder.path(), &["run", "both"]);
    expect_exit(&output, 0);
    assert!(stderr(&output).contains("the cooks were merged"), "{}", stderr(&output));
    assert!(at("both/out/report.html").is_file());
    let output = cookstudy(folder.path(), &["run", "both"]);
    assert!(stderr(&output).contains("Nothing to do"), "{}", stderr(&output));
    assert_eq!(families(&at("both")), locked);

    // Merging again leaves what was edited or taken out here.
    write(&at("both"), "season.toml", &settings.replace("Oak, River", "Both"));
    write(&at("both"), "claims.toml", &claim("shared", 5));
    let before = files_below(&at("both"));
    let output = cookstudy(folder.path(), &merge);
    expect_exit(&output, 0);
    assert!(stderr(&output).contains("Nothing to do"), "{}", stderr(&output));
    assert!(before == files_below(&at("both")), "a second merge changed files");
    // Logs and sheets belong to the seasons.
    let own = settings.replace("logs = []", "logs = [\"logs\"]");
    write(&at("both"), "season.toml", &own);
    let output = cookstudy(folder.path(), &["run", "both"]);
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("takes no logs or sheets"), "{}", stderr(&output));

    // Two claims of one name that say different things both stay, the second as a new claim.
    write(&at("b"), "claims.toml", &(claim("shared", 5) + &claim("own", 9)));
    expect_exit(&cookstudy(&at("b"), &["run"]), 0);
    let output = cookstudy(folder.path(), &["merge", "a", "b", "--out", "other"]);
    expect_exit(&output, 0);
    let said = stderr(&output);
    assert!(said.contains("claim `own` of b says something else"), "{said}");
    assert_eq!(ids("other"), ["shared", "own", "River.own"]);
    let output = cookstudy(folder.path(), &["run", "other"]);
    expect_exit(&output, 0);
    // What was renamed is first seen now, when every cook is known.
    let locked = families(&at("other"));
    assert_eq!(locked.last().unwrap().0, ["River.own"]);
    assert_eq!(locked.last().unwrap().1.len(), 5);
}
