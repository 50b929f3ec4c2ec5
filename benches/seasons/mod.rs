//! Seasons of many cooks, and what a command needs for them.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What one run of the command took.
pub(crate) struct Run {
    /// Wall-clock seconds.
    pub seconds: f64,
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
    let mut peak_kib = None;
    let status = loop {
        peak_kib = peak_memory_kib(child.id()).or(peak_kib);
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let seconds = start.elapsed().as_secs_f64();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(status.success(), "{said}");
    Run { seconds, peak_kib, said }
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

/// Copies of the first bundled season (its sheet is CSV) in one folder. Returns cooks and
/// bytes of logs.
pub(crate) fn write_season(folder: &Path, copies: usize) -> (usize, u64) {
    let sample = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("sample-data");
    let logs = folder.join("logs");
    fs::create_dir_all(&logs).unwrap();
    fs::copy(sample.join("claims.toml"), folder.join("claims.toml")).unwrap();
    let settings = fs::read_to_string(sample.join("season.toml")).unwrap();
    let settings: Vec<&str> = settings
        .lines()
        .map(|line| if line.starts_with("sheets") { "sheets = [\"sheet-2024.csv\"]" } else { line })
        .collect();
    fs::write(folder.join("season.toml"), settings.join("\n")).unwrap();
    let (mut cooks, mut bytes) = (0, 0);
    for name in ["sheet-2024.csv", "events.csv"] {
        let text = fs::read_to_string(sample.join(name)).unwrap();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().unwrap().clone();
        let at = |column: &str| header.iter().position(|h| h == column);
        let (cook, log, pit) = (at("cook").unwrap(), at("logs"), at("pit"));
        // A cook's name begins with its date.
        let rows: Vec<csv::StringRecord> = reader
            .records()
            .map(Result::unwrap)
            .filter(|row| row[cook].starts_with("2024"))
            .collect();
        let mut writer = csv::Writer::from_path(folder.join(name)).unwrap();
        writer.write_record(&header).unwrap();
        for copy in 0..copies {
            for row in &rows {
                let cells = row.iter().enumerate().map(|(column, cell)| {
                    if column == cook || Some(column) == pit {
                        format!("{cell}-{copy}")
                    } else if Some(column) == log {
                        cell.split(';')
                            .filter(|log| !log.is_empty())
                            .map(|log| format!("{copy}-{log}"))
                            .collect::<Vec<_>>()
                            .join(";")
                    } else {
                        cell.to_owned()
                    }
                });
                writer.write_record(cells).unwrap();
            }
        }
        writer.flush().unwrap();
        if log.is_some() {
            cooks = rows.len() * copies;
        }
    }
    for entry in fs::read_dir(sample.join("logs")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if !name.starts_with("2024") {
            continue;
        }
        for copy in 0..copies {
            bytes += fs::copy(&path, logs.join(format!("{copy}-{name}"))).unwrap();
        }
    }
    (cooks, bytes)
}
