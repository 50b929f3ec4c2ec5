//! Seasons of many cooks, and what a command needs for them.
#![allow(dead_code, reason = "each benchmark uses its own parts")]

use cook::{Celsius, WrapMethod};
use samples::{Written, write_orderly};
use simulate::team::Randomised;
use simulate::{Strategy, TeamModel};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Some 330 cooks a year: a busy club.
const FIRES_A_YEAR: usize = 200;
const SEED: u64 = 20_260_101;

/// The arguments of a season ingested by itself.
pub(crate) const INGEST: [&str; 11] = [
    "ingest",
    "--logs",
    "logs",
    "--sheet",
    "sheet.csv",
    "--events",
    "events.csv",
    "--settings",
    "season.toml",
    "--store",
    "store",
];

/// What one run of the command took.
pub(crate) struct Run {
    /// Wall-clock seconds.
    pub seconds: f64,
    /// Processor seconds, to a hundredth; known on Linux alone, else not a number.
    pub cpu_seconds: f64,
    /// Peak memory, KiB; known on Linux alone.
    pub peak_kib: Option<u64>,
    /// What it said.
    pub said: String,
}

impl Run {
    /// Peak memory for people.
    pub(crate) fn peak(&self) -> String {
        self.peak_kib.map_or("not known".into(), |kib| format!("{:.0} MB", kib as f64 / 1000.0))
    }
}

/// Runs the command in a folder.
///
/// # Panics
/// Where it fails.
pub(crate) fn run(folder: &Path, arguments: &[&str]) -> Run {
    let start = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_cookstudy"))
        .args(arguments)
        .current_dir(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let (mut peak_kib, mut cpu_seconds) = (None, f64::NAN);
    let status = loop {
        peak_kib = peak_memory_kib(child.id()).or(peak_kib);
        cpu_seconds = processor_seconds(child.id()).unwrap_or(cpu_seconds);
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let seconds = start.elapsed().as_secs_f64();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    // Something may be asked about (exit 1); all else is done.
    assert!(matches!(status.code(), Some(0 | 1)), "{said}");
    Run { seconds, cpu_seconds, peak_kib, said }
}

/// Seconds that a process spent in user and system mode: `proc_pid_stat(5)`, fields 14 and 15, in ticks of
/// a hundredth.
fn processor_seconds(process: u32) -> Option<f64> {
    let stat = fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    // The name, in parentheses, may hold blanks.
    let (_, fields) = stat.rsplit_once(')')?;
    let ticks: Vec<f64> =
        fields.split_whitespace().skip(11).take(2).filter_map(|t| t.parse().ok()).collect();
    (ticks.len() == 2 && ticks[0] + ticks[1] > 0.0).then(|| (ticks[0] + ticks[1]) / 100.0)
}

/// Writes one cell of the sheet's first cook anew.
pub(crate) fn edit_cell(sheet: &Path, column: &str, edit: impl Fn(&str) -> String) {
    let mut reader = csv::Reader::from_path(sheet).unwrap();
    let header = reader.headers().unwrap().clone();
    let at = header.iter().position(|name| name == column).unwrap();
    let mut rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let cells = rows[0].iter().enumerate();
    rows[0] =
        cells.map(|(place, cell)| if place == at { edit(cell) } else { cell.to_owned() }).collect();
    let mut writer = csv::Writer::from_path(sheet).unwrap();
    writer.write_record(&header).unwrap();
    for row in &rows {
        writer.write_record(row).unwrap();
    }
    writer.flush().unwrap();
}

/// The readings that a run says it read.
pub(crate) fn readings_of(run: &Run) -> f64 {
    let before = run.said.split(" readings").next();
    before
        .and_then(|before| before.rsplit(' ').next())
        .and_then(|number| number.parse().ok())
        .unwrap()
}

fn peak_memory_kib(process: u32) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// Years of a simulated team, no cook like another, in one folder.
pub(crate) fn write_season(folder: &Path, cooks: usize) -> Written {
    let arms = [WrapMethod::Foil, WrapMethod::Paper]
        .map(|method| Strategy::wrap(method, Celsius::from_fahrenheit(160.0), 20.0));
    let team = TeamModel {
        fires: FIRES_A_YEAR,
        randomised: Some(Randomised { share: 0.3, arms: arms.to_vec() }),
        ..TeamModel::middling()
    };
    write_orderly(folder, &team, (SEED, cooks), include_str!("claims.toml")).unwrap()
}
