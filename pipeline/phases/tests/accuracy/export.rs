//! True and measured curves as CSV, for segmenters outside of this crate.

use super::cooks::{Category, STEP_MS, true_cook};
use super::logger::log;
use cook::PhaseKind;
use std::fmt::Write as _;
use std::io;
use std::path::Path;

/// Writes `truth.csv` (one row a stall of the definition, or an empty one), `curves.csv` (the
/// undisturbed curves, one row a minute) and `logs.csv` (the readings) of `count` cooks of each
/// category, from number `first` on, to `folder`.
pub fn export(folder: &Path, categories: &[Category], first: u64, count: u64) -> io::Result<()> {
    let mut truth_csv = String::from("category,index,meat_on_s,pull_s,stall_start_s,stall_end_s\n");
    let mut curves_csv = String::from("category,index,elapsed_s,core_c,pit_c\n");
    let mut logs_csv = String::from("category,index,elapsed_s,core_c,pit_c\n");
    for &category in categories {
        for index in first..first + count {
            let truth = true_cook(category, index);
            let seconds = |ms: i64| ms / 1000;
            let (on, pull) = (seconds(truth.bounds.meat_on_ms), seconds(truth.bounds.pull_ms));
            let mut stalls: Vec<String> = truth
                .judgement
                .phases_of(PhaseKind::Stall)
                .map(|span| format!("{},{}", seconds(span.start_ms), seconds(span.end_ms)))
                .collect();
            if stalls.is_empty() {
                stalls.push(",".into());
            }
            for stall in stalls {
                writeln!(truth_csv, "{category},{index},{on},{pull},{stall}").expect("a string");
            }
            let curves = truth.core_c.iter().zip(&truth.pit_c).enumerate().step_by(6);
            for (place, (core, pit)) in curves {
                let at = place as i64 * STEP_MS / 1000;
                writeln!(curves_csv, "{category},{index},{at},{core:.4},{pit:.4}")
                    .expect("a string");
            }
            let logged = log(category, &truth, index);
            let of = |name: &str| {
                logged.readings.channels.iter().find(|channel| channel.name == name).expect("made")
            };
            let (pit, core) = (of("Pit"), of("Flat"));
            for (at, (core, pit)) in core.at_ms.iter().zip(core.temp_c.iter().zip(&pit.temp_c)) {
                let at = *at as f64 / 1000.0;
                writeln!(logs_csv, "{category},{index},{at},{core},{pit}").expect("a string");
            }
        }
    }
    std::fs::create_dir_all(folder)?;
    std::fs::write(folder.join("truth.csv"), truth_csv.replace(", ", " "))?;
    std::fs::write(folder.join("curves.csv"), curves_csv.replace(", ", " "))?;
    std::fs::write(folder.join("logs.csv"), logs_csv.replace(", ", " "))
}
