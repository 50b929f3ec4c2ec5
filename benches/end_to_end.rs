//! What a run costs: every stage of a season and of one eight times as large, then what an edit costs.
//!
//! `cargo bench --bench end_to_end` (release), or with `--profile dev` for the build that the README's
//! commands make; `-- 40 80` for other sizes than 1,000 and 8,000 cooks. The seasons are a simulated team's, no
//! cook like another. Processor seconds and peak memory are read from `/proc` (Linux); elsewhere they are not
//! known. An exponent of 1 is twice the time for twice the cooks.

mod seasons;

use seasons::{INGEST, Run, edit_cell, run, write_season};
use std::fs;
use std::path::Path;

const COOKS: [usize; 2] = [1_000, 8_000];
const PHASES: [&str; 5] = ["phases", "--store", "store", "--settings", "season.toml"];
const MEASURES: [&str; 5] = ["measures", "--store", "store", "--settings", "season.toml"];

fn main() {
    let asked: Vec<usize> = std::env::args().filter_map(|word| word.parse().ok()).collect();
    let sizes = if asked.is_empty() { COOKS.to_vec() } else { asked };
    let mut before: Option<(usize, Vec<f64>)> = None;
    for (place, cooks) in sizes.into_iter().enumerate() {
        let folder = tempfile::tempdir().unwrap();
        let written = write_season(folder.path(), cooks);
        println!("{} cooks, {:.0} MB of logs", written.cooks, written.log_bytes as f64 / 1e6);
        let stages: [(&str, &[&str]); 3] =
            [("ingest", &INGEST), ("phases", &PHASES), ("measures", &MEASURES)];
        let mut seconds = Vec::new();
        for (stage, arguments) in stages {
            let run = run(folder.path(), arguments);
            print(stage, &run);
            seconds.push(run.cpu_seconds);
        }
        if let Some((fewer, quicker)) = &before {
            for ((stage, _), (slow, quick)) in stages.iter().zip(seconds.iter().zip(quicker)) {
                let exponent = (slow / quick).ln() / (written.cooks as f64 / *fewer as f64).ln();
                println!("  {stage}: exponent {exponent:.2}");
            }
        }
        before = Some((written.cooks, seconds));
        if place == 0 {
            edits(folder.path());
        }
    }
}

/// What each edit of a finished season costs.
fn edits(folder: &Path) {
    let again = |what: &str| {
        let run = run(folder, &["run"]);
        print(what, &run);
        for line in run.said.lines().filter(|line| !line.starts_with(' ')).take(6) {
            println!("      {line}");
        }
    };
    again("study and report");
    again("nothing changed");
    let replace = |name: &str, from: &str, to: &str| {
        let path = folder.join(name);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from));
        fs::write(path, text.replacen(from, to, 1)).unwrap();
    };
    replace("claims.toml", "matters = 10", "matters = 11");
    again("a claim edited");
    edit_cell(&folder.join("sheet.csv"), "weather", |cell| format!("{cell} and a gust of wind"));
    again("a card's weather edited");
    edit_cell(&folder.join("sheet.csv"), "trimmed_weight_kg", |cell| format!("{cell}1"));
    again("a card's weight edited");
    let log = fs::read_dir(folder.join("logs")).unwrap().next().unwrap().unwrap().path();
    let text = fs::read_to_string(&log).unwrap();
    // The first hours of a cook twenty years before, which no row names.
    let head: Vec<String> =
        text.lines().take(200).map(|line| line.replacen("202", "200", 1)).collect();
    fs::write(folder.join("logs/one-more.csv"), head.join("\n")).unwrap();
    again("a log added");
    replace("season.toml", "team =", "units = \"metric\"\nteam =");
    again("other units");
}

fn print(what: &str, run: &Run) {
    println!(
        "  {what}: {:.2} s of processors, {:.2} s by the clock, peak {}",
        run.cpu_seconds,
        run.seconds,
        run.peak()
    );
}
