//! Stores of several teams in one, and one to give away.

mod support;

use std::fmt::Write;
use std::fs;
use std::path::Path;
use support::{
    cookstudy, expect_exit, files_below, rows, small_season, stderr, stdout, steady_log,
    steady_log_of, write,
};

/// A season of one team whose words can all be told by their beginning.
fn season(folder: &Path, team: &str) {
    small_season(folder);
    write(folder, "season.toml", &format!("team = \"{team}\"\ntime_zone = \"UTC\"\n"));
    // Every team has cooks of its own.
    let log = steady_log_of(660, 0.16 + 0.01 * (team.len() % 7) as f64);
    write(folder, "logs/one.csv", &log);
    // A second cook of the same fire that begins warm: it needs another cook's reference.
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
            "[family.known]" => in_known = true,
            "" => in_known = false,
            // A name stands in quotes where it is no bare key.
            _ if in_known => {
                let name = line.rsplit_once(" = ").unwrap().0.trim_matches('"');
                families.last_mut().unwrap().1.push(name.to_owned());
            }
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

/// The log of a season as another team would have it: of another logger, in °F, by a clock in another zone.
fn in_fahrenheit(log: &str) -> String {
    let mut text = String::from("Local time;Grate (F);Point (F)\n");
    for line in log.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let at: jiff::Timestamp = cells[0].parse().unwrap();
        let at = at.checked_add(jiff::Span::new().hours(3)).unwrap();
        let fahrenheit = |cell: &str| (cell.parse::<f64>().unwrap() * 1.8 + 32.0).round();
        writeln!(text, "{at};{};{}", fahrenheit(cells[1]), fahrenheit(cells[2])).unwrap();
    }
    text
}

#[test]
fn a_cook_that_lies_in_two_stores_counts_once() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    season(&at("a"), "Oak");
    season(&at("b"), "River");
    // River has a cook of Oak's as well: its log as it is, and as another logger has it.
    let oak = fs::read_to_string(at("a/logs/one.csv")).unwrap();
    let header = "cook,date,logs\n";
    for (name, log) in [("copy", oak.clone()), ("other", in_fahrenheit(&oak))] {
        let there = at(name);
        small_season(&there);
        write(&there, "season.toml", "team = \"River\"\ntime_zone = \"UTC\"\n");
        write(&there, "logs/one.csv", &log);
        write(&there, "sheet.csv", &format!("{header}zz-same,2025-05-01,one.csv\n"));
        expect_exit(&cookstudy(&there, &["run"]), 0);
        let merge = ["merge", "a", name, "--out", "both", "--format", "csv"];
        let output = cookstudy(folder.path(), &merge);
        expect_exit(&output, 0);
        let said = stderr(&output);
        let how = if name == "copy" { "the same readings" } else { "the same curve, 3 h 00 apart" };
        let line = format!("`Oak.zz-one` and `River.zz-same` are one cook ({how})");
        assert!(said.contains(&line), "{said}");
        let cooks: Vec<String> =
            rows(&stdout(&output)).into_iter().map(|row| row["cooks"].clone()).collect();
        assert_eq!(cooks, ["2"], "{said}");
        // Where they are two after all.
        let output = cookstudy(folder.path(), &[&merge[..], &["--twice"]].concat());
        expect_exit(&output, 0);
        assert_eq!(rows(&stdout(&output)).len(), 2);
        assert!(!stderr(&output).contains("one cook"));
        fs::remove_dir_all(at("both")).unwrap();
    }
    // Cooks of two teams that are two are never said to be one.
    let output = cookstudy(folder.path(), &["merge", "a", "b", "--out", "both"]);
    expect_exit(&output, 0);
    assert!(!stderr(&output).contains("one cook"), "{}", stderr(&output));
}

#[test]
fn a_season_that_was_edited_since_its_run_is_run_before_it_is_merged() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    season(&at("a"), "Oak");
    for name in ["sheet.csv", "events.csv", "logs/one.csv"] {
        let path = at("a").join(name);
        let text = fs::read_to_string(&path).unwrap();
        let fewer: Vec<&str> = text.lines().take(text.lines().count() - 1).collect();
        fs::write(&path, fewer.join("\n") + "\n").unwrap();
        let output = cookstudy(folder.path(), &["merge", "a", "--out", "both"]);
        expect_exit(&output, 2);
        let said = format!("a: {name} changed since its last run: run `cookstudy run a`");
        assert!(stderr(&output).contains(&said), "{}", stderr(&output));
        assert!(!at("both").exists());
        fs::write(&path, text).unwrap();
    }
    expect_exit(&cookstudy(folder.path(), &["merge", "a", "--out", "both"]), 0);
    // A log that is new, and one that was seen and could not be used.
    write(&at("a"), "logs/later.csv", &steady_log(400).replace("2025-05-", "2025-07-"));
    write(&at("a"), "logs/none.csv", "nothing\n");
    let output = cookstudy(folder.path(), &["merge", "a", "--out", "both"]);
    expect_exit(&output, 2);
    let said = "a: logs/later.csv and 1 more of its files changed since its last run";
    assert!(stderr(&output).contains(said), "{}", stderr(&output));
    expect_exit(&cookstudy(folder.path(), &["run", "a"]), 1);
    expect_exit(&cookstudy(folder.path(), &["merge", "a", "--out", "both"]), 0);
    // An edit that was run is merged.
    let text = fs::read_to_string(at("a/sheet.csv")).unwrap().replace(",5.5,", ",5.6,");
    fs::write(at("a/sheet.csv"), text).unwrap();
    cookstudy(folder.path(), &["run", "a"]);
    expect_exit(&cookstudy(folder.path(), &["merge", "a", "--out", "both"]), 0);
}

#[test]
fn a_team_withdraws_and_the_verdicts_that_change_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    // Oak's heavier cooks take 10 min more a kilogram; River's, of which there are more, take less.
    let wanted = "[[claim]]\nid = \"heavier\"\nsays = \"Heavier takes longer\"\nkind = \"trend\"\n\
        outcome = \"total_min\"\nbetter = \"higher\"\nby = \"trimmed_weight_kg\"\nper = 1\nmatters = 5\n";
    for (name, team, cooks, slope) in [("a", "Oak", 8, 20), ("b", "River", 24, -40)] {
        let place = at(name);
        small_season(&place);
        write(&place, "season.toml", &format!("team = \"{team}\"\ntime_zone = \"UTC\"\n"));
        write(&place, "claims.toml", wanted);
        let mut sheet = String::from("cook,date,logs,pit,trimmed_weight_kg,meat_on,pull\n");
        for cook in 0..cooks {
            let (month, day) = (4 + cook / 12, 1 + cook % 12);
            let pace = if team == "Oak" { 0.2 } else { 0.1 } + 0.003 * f64::from(cook);
            let log = shifted(&steady_log_of(800, pace), month, day);
            write(&place, &format!("logs/c{cook}.csv"), &log);
            let weight = 5.0 + 0.25 * f64::from(cook % 8);
            let pull = 600.0 + f64::from(slope) * (weight - 5.0) + f64::from(cook % 3);
            let (hour, minute) = ((pull / 60.0) as u32, (pull % 60.0) as u32);
            writeln!(
                sheet,
                "c{cook},2025-0{month}-{day:02},c{cook}.csv,big,{weight},2025-0{month}-{day:02}T00:00:00Z,2025-0{month}-{day:02}T{hour:02}:{minute:02}:00Z"
            )
            .unwrap();
        }
        write(&place, "sheet.csv", &sheet);
        let output = cookstudy(&place, &["run"]);
        assert!(output.status.code() != Some(2), "{}", stderr(&output));
    }
    let output = cookstudy(folder.path(), &["merge", "a", "b", "--out", "all"]);
    expect_exit(&output, 0);
    expect_exit(&cookstudy(folder.path(), &["run", "all"]), 0);
    let verdict = |folder: &str| {
        let text = fs::read_to_string(at(folder).join("out/study.json")).unwrap();
        let study: serde_json::Value = serde_json::from_str(&text).unwrap();
        study["claims"][0]["verdict"].as_str().unwrap().to_owned()
    };
    let before = verdict("all");
    let withdraw = |out: &str| {
        let arguments = ["merge", "a", "b", "--out", out, "--without", "River"];
        let output = cookstudy(folder.path(), &arguments);
        expect_exit(&output, 0);
        stderr(&output)
    };
    // In the season that has them, and in one that never had.
    for out in ["all", "new"] {
        let said = withdraw(out);
        assert_ne!(verdict(out), before, "{said}");
        assert!(
            said.contains("without River: `heavier` is ") && said.contains("with them it was"),
            "{said}"
        );
        // Nothing there names its cooks any more.
        for (name, bytes) in files_below(&at(out)) {
            assert!(!bytes.windows(6).any(|part| part == b"River."), "{name} names them: {said}");
        }
    }
    // Should they come back, they confirm nothing: the lock knows them by what they hold, the one without a
    // card too.
    let lock = fs::read_to_string(at("all/claims.lock")).unwrap();
    assert_eq!(lock.matches("withdrawn-").count(), 25, "{lock}");
    let entries = fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(entries, 4, "something is left over");
    // Again: the same verdicts, and nothing changes.
    let before = files_below(&at("new"));
    withdraw("new");
    assert!(before == files_below(&at("new")), "withdrawing again changed files");
    let output =
        cookstudy(folder.path(), &["merge", "a", "b", "--out", "new", "--without", "Rivr"]);
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("did you mean `River`"), "{}", stderr(&output));
}

/// A log of May 1st and 2nd, moved to another day.
fn shifted(log: &str, month: u32, day: u32) -> String {
    log.replace("2025-05-01", &format!("2025-0{month}-{day:02}"))
        .replace("2025-05-02", &format!("2025-0{month}-{:02}", day + 1))
}
