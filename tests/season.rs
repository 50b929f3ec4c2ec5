//! The bundled season through the whole pipeline, and what a second run does.

mod support;

use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, files_below, rows, small_season, stderr, stdout, write};

#[test]
fn the_demo_is_the_sample_data_and_runs_to_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["one", "two"] {
        let output = cookstudy(folder.path(), &["demo", "--out", name]);
        expect_exit(&output, 0);
        let report = stdout(&output).trim().to_owned();
        assert!(report.ends_with("out/report.html") && Path::new(&report).is_file(), "{report}");
    }
    assert!(
        files_below(&folder.path().join("one/out")) == files_below(&folder.path().join("two/out")),
        "two demos differ"
    );

    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data");
    for (name, bytes) in files_below(&sample) {
        if name == "claims.lock" {
            continue; // The run that follows may add to it.
        }
        let written = fs::read(folder.path().join("one").join(&name));
        assert!(
            written.is_ok_and(|written| written == bytes),
            "sample-data/{name} is not what the demo unpacks"
        );
    }

    // The demo shows what a verdict can be, and both standings.
    let study = fs::read_to_string(folder.path().join("one/out/study.json")).unwrap();
    let study: serde_json::Value = serde_json::from_str(&study).unwrap();
    let words = |key: &str| -> Vec<String> {
        let claims = study["claims"].as_array().unwrap();
        claims.iter().map(|claim| claim[key].as_str().unwrap().to_owned()).collect()
    };
    for verdict in ["yes", "too-small-to-matter", "open", "refused"] {
        assert!(words("verdict").iter().any(|v| v == verdict), "no verdict `{verdict}`");
    }
    for standing in ["confirmed", "after-the-fact"] {
        assert!(words("standing").iter().any(|s| s == standing), "no standing `{standing}`");
    }

    what_the_arms_cost_is_what_the_simulator_was_told(&study, &sample);

    let again = cookstudy(folder.path(), &["run", "one"]);
    expect_exit(&again, 0);
    assert!(stderr(&again).contains("Nothing to do"), "{}", stderr(&again));
}

/// Foil against paper at 160 °F, drawn by lots. The truth: minutes of each cook under both arms in
/// `truth/arms.csv`; by the simulator's arithmetic of scores foil softens the bark by 1.1 points and
/// paper by 0.3, and neither touches the taste.
fn what_the_arms_cost_is_what_the_simulator_was_told(study: &serde_json::Value, sample: &Path) {
    let arms = rows(&fs::read_to_string(sample.join("truth/arms.csv")).unwrap());
    let minutes = arms.iter().filter_map(|row| {
        let of = |column: &str| row[column].parse::<f64>().ok();
        Some(of("foil_clock_to_finish_min")? - of("paper_clock_to_finish_min")?)
    });
    let minutes: Vec<f64> = minutes.collect();
    let sooner = minutes.iter().sum::<f64>() / minutes.len() as f64;
    let answers = study["cost_side"]["answers"].as_array().unwrap();
    for (outcome, truth, finding) in [
        ("clock_to_finish_min", sooner, "better"),
        ("score_bark", -0.8, "worse"),
        ("score_taste", 0.0, "cannot-tell"),
    ] {
        let mut answers = answers.iter();
        let answer =
            answers.find(|own| own["treatment"] == "arm" && own["outcome"] == outcome).unwrap();
        assert_eq!(
            (&answer["standing"], &answer["base"]),
            (&"randomised".into(), &"paper-160".into())
        );
        let effect = &answer["effects"][0];
        let (lo, hi) = (effect["lo"].as_f64().unwrap(), effect["hi"].as_f64().unwrap());
        assert!(lo < truth && truth < hi, "{outcome}: {truth} not within {lo} to {hi}");
        assert_eq!(effect["finding"], finding, "{outcome}");
    }
}

#[test]
fn study_json_obeys_its_schema() {
    let folder = tempfile::tempdir().unwrap();
    expect_exit(&cookstudy(folder.path(), &["demo", "--out", "d"]), 0);
    let read = |path: &Path| -> serde_json::Value {
        serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
    };
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let validator = jsonschema::validator_for(&read(&root.join("schemas/study.json"))).unwrap();
    let study = read(&folder.path().join("d/out/study.json"));
    let errors: Vec<String> = validator.iter_errors(&study).map(|e| e.to_string()).collect();
    assert!(errors.is_empty(), "{errors:#?}");
    assert_eq!(study["schema"], "cookstudy/study/1");

    // What the report tables of the other levers is in the data folder too.
    let table = rows(&fs::read_to_string(folder.path().join("d/out/data/levers.csv")).unwrap());
    let levers = study["levers"].as_array().unwrap();
    assert!(!levers.is_empty());
    for lever in levers {
        let mut own = table.iter().filter(|row| lever["lever"] == row["lever"].as_str());
        let row = own.find(|row| row["quantity"] == "minutes a dose").unwrap();
        assert_eq!(row["estimate"].parse().ok(), lever["per_dose_min"]["estimate"].as_f64());
        assert_eq!(row["reason"], lever["per_dose_reason"].as_str().unwrap_or_default());
    }
}

#[test]
fn only_what_changed_is_done_again_and_the_result_is_that_of_a_fresh_run() {
    let folder = tempfile::tempdir().unwrap();
    let (grown, fresh) = (folder.path().join("grown"), folder.path().join("fresh"));
    for season in [&grown, &fresh] {
        fs::create_dir(season).unwrap();
        small_season(season);
    }
    expect_exit(&cookstudy(&grown, &["run"]), 0);
    let second = "two,2025-05-03,two.csv,big,5.0,2025-05-03T00:00:00Z,2025-05-03T10:00:00Z\n";
    for season in [&grown, &fresh] {
        let log = support::steady_log(640).replace("2025-05-0", "2025-06-0");
        write(season, "logs/two.csv", &log.replace("2025-06-01", "2025-05-03"));
        let sheet = fs::read_to_string(season.join("sheet.csv")).unwrap();
        write(season, "sheet.csv", &(sheet + second));
    }
    let output = cookstudy(&grown, &["run"]);
    expect_exit(&output, 0);
    assert!(stderr(&output).contains("1 of 2 cooks"), "{}", stderr(&output));
    expect_exit(&cookstudy(&fresh, &["run"]), 0);
    for part in ["out", "store"] {
        let names = |files: Vec<(String, Vec<u8>)>| -> Vec<String> {
            files.into_iter().map(|(name, _)| name).collect()
        };
        assert_eq!(names(files_below(&grown.join(part))), names(files_below(&fresh.join(part))));
        for ((name, one), (_, other)) in
            files_below(&grown.join(part)).into_iter().zip(files_below(&fresh.join(part)))
        {
            assert!(one == other, "{part}/{name} differs");
        }
    }
}

/// Files are listed in the order in which they were made or as the file system likes, and are
/// named in any order; what is written is the same to the byte.
#[test]
fn the_order_of_input_files_changes_no_byte() {
    let folder = tempfile::tempdir().unwrap();
    let names = ["a", "b", "c", "d", "e", "f", "g"];
    let orders = [
        names.to_vec(),
        names.iter().rev().copied().collect(),
        vec!["d", "g", "a", "f", "b", "e", "c"],
    ];
    let stores = orders.iter().enumerate().map(|(i, order)| {
        let season = folder.path().join(format!("season-{i}"));
        fs::create_dir(&season).unwrap();
        for name in order {
            let day = 1 + names.iter().position(|other| other == name).unwrap();
            let log = support::steady_log(600).replace("2025-05-0", &format!("2025-0{day}-0"));
            write(&season, &format!("logs/{name}.csv"), &log.replacen("120.0", "12x.0", 2));
        }
        let rows = names.iter().enumerate().map(|(i, name)| {
            let at = format!("2025-0{}-01", i + 1);
            // Every other one is found by its time.
            let log = if i % 2 == 0 { format!("{name}.csv") } else { String::new() };
            format!("{name},{at},{log},big,{at}T00:00:00Z,{at}T09:50:00Z\n")
        });
        let sheet = format!("cook,date,logs,pit,meat_on,pull\n{}", rows.collect::<String>());
        write(&season, "sheet.csv", &sheet);
        let logs: Vec<String> = order.iter().map(|name| format!("logs/{name}.csv")).collect();
        let mut arguments =
            vec!["ingest", "--tz", "UTC", "--sheet", "sheet.csv", "--store", "s", "--logs"];
        arguments.extend(logs.iter().map(String::as_str));
        let output = cookstudy(&season, &arguments);
        expect_exit(&output, 0);
        assert!(stderr(&output).contains("7 read now"), "{}", stderr(&output));
        (files_below(&season.join("s")), stderr(&output), stdout(&output))
    });
    let stores: Vec<_> = stores.collect();
    assert_eq!(stores[0].0.iter().filter(|(name, _)| name.starts_with("readings")).count(), 1);
    for other in &stores[1..] {
        assert!(stores[0] == *other, "another order of files gives another store or listing");
    }
}

#[test]
fn stages_run_alone_give_what_run_gives() {
    let folder = tempfile::tempdir().unwrap();
    let season = folder.path();
    small_season(season);
    expect_exit(&cookstudy(season, &["run"]), 0);
    let steps: [&[&str]; 5] = [
        &[
            "ingest",
            "--logs",
            "logs",
            "--sheet",
            "sheet.csv",
            "--events",
            "events.csv",
            "--store",
            "s",
            "--settings",
            "season.toml",
        ],
        &["phases", "--store", "s", "--settings", "season.toml"],
        &["measures", "--store", "s", "--settings", "season.toml"],
        &[
            "study",
            "--store",
            "s",
            "--claims",
            "claims.toml",
            "--out",
            "o",
            "--settings",
            "season.toml",
        ],
        &[
            "report",
            "--store",
            "s",
            "--study",
            "o/study.json",
            "--out",
            "o",
            "--settings",
            "season.toml",
        ],
    ];
    for arguments in steps {
        expect_exit(&cookstudy(season, arguments), 0);
    }
    for table in [
        "cooks",
        "events",
        "phases",
        "flags",
        "channels",
        "warnings",
        "measures",
        "history",
        "moved",
        "moved_history",
        "degrees",
        "rejected",
        "sources",
    ] {
        let name = format!("{table}.parquet");
        assert!(
            fs::read(season.join("s").join(&name)).unwrap()
                == fs::read(season.join("store").join(&name)).unwrap(),
            "{name} differs"
        );
    }
}

#[test]
fn a_table_of_measures_can_be_studied_without_a_store() {
    let folder = tempfile::tempdir().unwrap();
    expect_exit(&cookstudy(folder.path(), &["demo", "--out", "d"]), 0);
    let run = |table: &str, out: &str| {
        let output = cookstudy(
            folder.path(),
            &[
                "study",
                "--table",
                table,
                "--claims",
                "d/claims.toml",
                "--out",
                out,
                "--format",
                "csv",
            ],
        );
        expect_exit(&output, 0);
        rows(&stdout(&output))
    };
    let from_csv = run("d/out/data/measures.csv", "csv");
    let from_parquet = run("d/store/measures.parquet", "parquet");
    assert!(!from_csv.is_empty());
    assert_eq!(from_csv, from_parquet);
}

#[test]
fn listings_go_to_stdout_as_data() {
    let folder = tempfile::tempdir().unwrap();
    small_season(folder.path());
    expect_exit(&cookstudy(folder.path(), &["run"]), 0);
    let json = cookstudy(folder.path(), &["phases", "--store", "store", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&stdout(&json)).unwrap();
    assert_eq!(json[0]["cook"], "one");
    assert_eq!(json[0]["phase"], "ramp");
    assert_eq!(json[0]["start_s"], 0.0);
    let csv = rows(&stdout(&cookstudy(
        folder.path(),
        &["phases", "--store", "store", "--format", "csv"],
    )));
    let columns = [
        "cook",
        "phase",
        "start_s",
        "end_s",
        "start_at",
        "end_at",
        "start_core_c",
        "end_core_c",
        "complete",
    ];
    assert!(columns.iter().all(|column| csv[0].contains_key(*column)), "{csv:?}");
}

#[test]
fn a_cook_that_changes_season_or_leaves_the_sheet_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let season = folder.path();
    small_season(season);
    expect_exit(&cookstudy(season, &["run"]), 0);
    let sheet = fs::read_to_string(season.join("sheet.csv")).unwrap();
    let moved = sheet.replace("cook,date", "season,cook,date").replace("\none,", "\nspring,one,");
    write(season, "sheet.csv", &moved);
    expect_exit(&cookstudy(season, &["run"]), 0);
    let readings = |season: &Path| -> Vec<String> {
        files_below(&season.join("store/readings")).into_iter().map(|(name, _)| name).collect()
    };
    assert_eq!(readings(season), ["season=spring/part-00001.parquet"]);
    write(season, "sheet.csv", moved.lines().next().unwrap());
    expect_exit(&cookstudy(season, &["run"]), 0);
    // Its log is still there: it is kept as a cook without a card, in the year of its readings.
    assert_eq!(readings(season), ["season=2025/part-00001.parquet"]);
    write(season, "logs/two.csv", &support::steady_log(640).replace("2025-05-0", "2025-06-0"));
    fs::remove_file(season.join("logs/one.csv")).unwrap();
    expect_exit(&cookstudy(season, &["run", "--prune"]), 0);
    assert_eq!(readings(season), ["season=2025/part-00001.parquet"]);
    assert_eq!(
        files_below(&season.join("out/cooks"))
            .into_iter()
            .map(|(name, _)| name)
            .collect::<Vec<_>>(),
        ["two.html"]
    );
}

#[test]
fn another_cook_of_the_same_name_is_a_clash_and_nothing_is_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let season = folder.path();
    small_season(season);
    let ingest = |sheet: &str| {
        let arguments =
            ["ingest", "--logs", "logs", "--sheet", sheet, "--store", "s", "--tz", "UTC"];
        cookstudy(season, &arguments)
    };
    expect_exit(&ingest("sheet.csv"), 0);
    let before = files_below(&season.join("s"));
    let log = support::steady_log(640).replace("2025-05-0", "2025-07-0");
    write(season, "logs/other.csv", &log);
    write(
        season,
        "july.csv",
        "cook,date,logs,meat_on\none,2025-07-01,other.csv,2025-07-01T00:00:00Z\n",
    );
    let output = ingest("july.csv");
    expect_exit(&output, 2);
    assert!(stderr(&output).contains("cook `one` is already in the store"), "{}", stderr(&output));
    assert!(files_below(&season.join("s")) == before, "the store changed");
}
