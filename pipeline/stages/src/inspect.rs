//! How logs would be read; writes nothing.

use crate::error::StageError;
use crate::ingest_stage::siblings;
use cook::{Answers, Question, Season};
use ingest::{IngestError, Layout, LogFile, ReadOptions, SiblingOrders};
use jiff::tz::TimeZone;
use std::path::{Path, PathBuf};

/// How a log would be read.
pub struct Inspection {
    /// The log, read; or why it cannot be.
    pub outcome: Result<ingest::Log, IngestError>,
    /// The path as shown.
    pub shown_as: String,
    /// For a log that waits for an answer, the layout that the likeliest answers give.
    pub likeliest: Option<Layout>,
    /// For a log that is refused and asks nothing, a layout to fill in, as TOML.
    pub to_fill_in: Option<String>,
    /// What it will ask once its first question is answered.
    pub further: Vec<Question>,
    zone: TimeZone,
}

impl Inspection {
    /// How the log would be read, in words, with the season's clock times; `None` where it
    /// cannot be.
    pub fn describe(&self) -> Option<String> {
        Some(self.outcome.as_ref().ok()?.describe(&self.zone))
    }
}

/// Reads logs (files, folders, globs; those inside archives among them) as `ingest` would,
/// and writes nothing. Logs of one layout among them prove the order of day and month for
/// each other.
pub fn inspect(
    logs: &[PathBuf],
    season: &Season,
    layouts: &[PathBuf],
    answers: &Answers,
) -> Result<Vec<Inspection>, StageError> {
    let zone = season.zone(answers);
    let layouts = layouts.iter().map(|path| Layout::read(path)).collect::<Result<_, _>>()?;
    let options = ReadOptions {
        answers: answers.clone(),
        units: season.units,
        zone_known: zone.is_some(),
        ..ReadOptions::new(zone.unwrap_or(TimeZone::UTC), &season.log, layouts)
    };
    let mut files = Vec::new();
    let mut inspections = Vec::new();
    for path in logs {
        let written = path.display().to_string();
        match ingest::list_logs(std::slice::from_ref(path), Path::new("")) {
            Ok(list) => {
                for file in list.files {
                    inspections.push(inspection(&file, &options, None));
                    files.push(Some(file));
                }
            }
            Err(error) => {
                let zone = options.zone.clone();
                inspections.push(Inspection {
                    outcome: Err(error),
                    shown_as: written,
                    likeliest: None,
                    to_fill_in: None,
                    further: Vec::new(),
                    zone,
                });
                files.push(None);
            }
        }
    }
    let mut orders = SiblingOrders::default();
    inspections.iter().filter_map(|i| i.outcome.as_ref().ok()).for_each(|log| orders.add(log));
    for (file, inspected) in files.iter().zip(&mut inspections) {
        let asks = inspected.outcome.as_ref().is_err_and(IngestError::asks_siblings);
        if let Some(file) = file.as_ref().filter(|_| asks) {
            *inspected = inspection(file, &options, Some(&orders));
        }
    }
    Ok(inspections)
}

fn inspection(file: &LogFile, options: &ReadOptions, orders: Option<&SiblingOrders>) -> Inspection {
    let outcome = siblings::read(file, options, orders).map(|reading| reading.log);
    let waits = outcome.as_ref().is_err_and(IngestError::needs_answer);
    let bytes = outcome.is_err().then(|| file.read().ok()).flatten();
    let likeliest = bytes.as_ref().filter(|_| waits).and_then(|bytes| {
        let log = bytes.read_likeliest(options)?;
        Some(log.suggested_layout())
    });
    let further = outcome.as_ref().err().map(|error| siblings::further(file, options, error));
    let to_fill_in = bytes.filter(|_| !waits).map(|bytes| blank_layout(&bytes.first(8_192)));
    Inspection {
        outcome,
        likeliest,
        to_fill_in,
        further: further.unwrap_or_default(),
        shown_as: file.shown_as.clone(),
        zone: options.zone.clone(),
    }
}

/// Lines of a refused log that a layout to fill in shows.
const LINES_SHOWN: usize = 12;

/// A layout to fill in for a log of which nothing could be made out: its first lines stand above, each
/// with its number.
fn blank_layout(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    let mut layout = String::from("# The log could not be read by itself. Its first lines:\n#\n");
    for (number, line) in text.lines().take(LINES_SHOWN).enumerate() {
        let shown: String =
            line.chars().filter(|c| !c.is_control() || *c == '\t').take(160).collect();
        layout += &format!("#   {}: {shown}\n", number + 1);
    }
    layout += "#\n# Fill in what fits and take the `#` away; `schemas/layout.json` and `cookstudy inspect` of a log that is read show how.\n\
               name = \"my-logger\"\n\
               header = []                      # names of its header, such as [\"Time\", \"Pit*\", \"Meat*\"]\n\
               columns = [\"time\", \"pit\"]      # names for its columns where it has no header\n\
               # preamble_lines = 2            # lines above the header\n\
               # delimiter = \"semicolon\"       # comma, semicolon, tab, pipe, spaces\n\
               # decimal = \"comma\"\n\
               # unit = \"F\"                    # or \"C\"\n\n\
               [time]\n\
               # format = \"month-first\"        # iso, day-first, month-first, unix-s, elapsed-minutes, clock …\n\
               # start = \"2026-05-02T06:00:00\" # where its times count from zero\n";
    layout
}
