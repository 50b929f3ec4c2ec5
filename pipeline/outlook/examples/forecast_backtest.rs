//! How far off forecasts are on cooks of another generator, beside rules of thumb.
//!
//! `forecast_backtest SEED TEAM [FOLDER]` tries one team and prints its figures; with a folder it keeps the
//! single forecasts there. `forecast_backtest table FOLDER` prints the tables of all that lie there.
#[path = "../tests/backtest/mod.rs"]
mod backtest;

use backtest::score::{Changed, Scored};
use backtest::{profiled, profiles, score};
use cook::PhaseDefinition;
use outlook::{Course, Past, prior};
use std::path::Path;

/// Own past cooks that a forecast may stand on.
const SIZES: [usize; 5] = [0, 5, 15, 60, 300];
/// Fires of a team that are forecast; its past are others.
const TRIED: std::ops::Range<u64> = 1_000..1_020;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let text = |at: usize| arguments.get(at).map(String::as_str);
    if text(0) == Some("table") {
        let folder = text(1).expect("a folder of kept forecasts");
        print!("{}", tables(&read(Path::new(folder))));
        return;
    }
    let number = |at: usize, default: u64| text(at).and_then(|t| t.parse().ok()).unwrap_or(default);
    let (seed, team) = (number(0, 1), number(1, 0));
    let kept = tried(seed, team);
    if let Some(folder) = text(2) {
        let path = Path::new(folder).join(format!("forecasts-{seed}-{team}.txt"));
        std::fs::write(path, kept.join("\n")).expect("a folder that can be written to");
    }
    print!("{}", tables(&kept));
}

/// Every forecast of a team's cooks, a line each.
fn tried(seed: u64, number: u64) -> Vec<String> {
    let definition = PhaseDefinition::default();
    let bundle = prior::bundled(&definition);
    let team = profiles::Team::new(seed, number);
    let most = SIZES[SIZES.len() - 1];
    let pool: Vec<Course> =
        profiled(&team, 0..most as u64).into_iter().map(|cook| cook.0).take(most).collect();
    let cooks = profiled(&team, TRIED);
    let mut lines = Vec::new();
    for size in SIZES {
        let own = &pool[..size];
        let past = Past::new(own, &bundle, &definition);
        for (course, finish_min) in &cooks {
            for planned in [false, true] {
                for scored in score::score(&past, course, *finish_min, 30.0, planned, own) {
                    lines.push(format!("forecast {size} {planned} {}", scored.line()));
                }
            }
        }
        for (course, finish_min) in &cooks {
            for scored in score::score_typed(&past, course, *finish_min, 60.0) {
                lines.push(format!("typed {size} {}", scored.line()));
            }
            let plan = score::planned(&past, course, *finish_min);
            lines.extend(plan.map(|(took, by)| format!("plan {size} {number} {took:.3} {by:.3}")));
        }
        for fire in TRIED {
            for core_c in [64.0, 69.0] {
                let found = score::changes(&past, &team, fire, core_c);
                for (name, changed) in ["foil", "paper", "raise"].iter().zip(found) {
                    lines.extend(changed.map(|c| format!("change {size} {name} {}", c.line())));
                }
            }
        }
    }
    lines
}

fn read(folder: &Path) -> Vec<String> {
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .expect("a folder")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| {
            path.file_name().is_some_and(|n| n.to_string_lossy().starts_with("forecasts-"))
        })
        .collect();
    paths.sort();
    let text = |path| std::fs::read_to_string(path).expect("a text");
    paths
        .iter()
        .flat_map(|path| text(path).lines().map(str::to_owned).collect::<Vec<_>>())
        .collect()
}

fn tables(lines: &[String]) -> String {
    let mut out = String::from(
        "| own cooks | forecasts | mid-cook | with the planned wrap | all moments | in the stall | in the push | same core and wrap, mid-cook | last hour's slope, mid-cook | 80 % range: all | ramp | stall | push |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|\n",
    );
    for size in SIZES {
        let of = |planned: bool| -> Vec<Scored> {
            let start = format!("forecast {size} {planned} ");
            lines.iter().filter_map(|line| Scored::parse(line.strip_prefix(&start)?)).collect()
        };
        out.push_str(&score::row(size, &of(false), &of(true)));
    }
    out.push_str("\n| asked, own cooks | forecasts | mid-cook | all moments | 80 % range holds |\n|---|---|---|---|---|\n");
    for (name, start) in [("typed readings", "typed"), ("unlike the past", "forecast")] {
        for size in SIZES {
            let start = if start == "typed" {
                format!("typed {size} ")
            } else {
                format!("forecast {size} false ")
            };
            let of: Vec<Scored> = lines
                .iter()
                .filter_map(|line| Scored::parse(line.strip_prefix(&start)?))
                .filter(|scored| name != "unlike the past" || scored.unlike)
                .collect();
            if !of.is_empty() {
                out.push_str(&score::apart_row(name, size, &of));
            }
        }
    }
    out.push_str("\n| plans at 90 %, own cooks | plans | on time | worst team | median wait |\n|---|---|---|---|---|\n");
    for size in SIZES {
        let start = format!("plan {size} ");
        let plan = |line: &String| {
            let mut cells = line.strip_prefix(&start)?.split(' ');
            let (team, took, by) = (cells.next()?, cells.next()?, cells.next()?);
            Some((team.parse().ok()?, took.parse().ok()?, by.parse().ok()?))
        };
        let plans: Vec<(u64, f64, f64)> = lines.iter().filter_map(plan).collect();
        out.push_str(&score::plan_row(size, &plans));
    }
    out.push_str("\n| change, own cooks | asked | finish off | told | effect off | 80 % range holds | claims over 20 min |\n|---|---|---|---|---|---|---|\n");
    for name in ["foil", "raise", "paper"] {
        for size in SIZES {
            let start = format!("change {size} {name} ");
            let found = |line: &String| Changed::parse(line.strip_prefix(&start)?);
            let changed: Vec<Changed> = lines.iter().filter_map(found).collect();
            out.push_str(&score::change_row(name, size, &changed));
        }
    }
    out
}
