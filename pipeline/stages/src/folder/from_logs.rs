//! A sheet filled with what logs show: a row a cook, with the meat-on and the pull of its curve as
//! guesses to correct.

use super::{MadeSeason, read_season};
use crate::QUESTIONS;
use crate::derive_stage::{Asked, derive};
use crate::error::StageError;
use crate::ingest_stage::{IngestRequest, Subject, ingest};
use crate::progress::Progress;
use crate::report_data::local;
use cook::{Answers, Questions};
use ingest::{GUESSED, TakenNames};
use jiff::tz::TimeZone;
use phases::MarkSource;
use rows::CookPhases;
use std::collections::{BTreeMap, HashMap};
use std::fs;
use std::path::{Path, PathBuf};
use store::{CookRecord, Store, write_atomically};

/// Where copied logs lie.
const LOGS: &str = "logs";
/// How a mark is written: to the minute, as somebody writes it down.
const MINUTE: &str = "%Y-%m-%d %H:%M";

/// A log to copy, and its name in the season's folder of logs.
pub(super) struct Copied {
    from: PathBuf,
    name: String,
}

/// The files that logs named on the command line are, with the names that they get.
pub(super) fn copies(logs: &[PathBuf], folder: &Path) -> Result<Vec<Copied>, StageError> {
    if logs.is_empty() {
        return Ok(Vec::new());
    }
    let list = ingest::list_logs(logs, Path::new(""))?;
    let mut copies: BTreeMap<String, Copied> = BTreeMap::new();
    for file in list.files {
        let from = file.path;
        let name = from.file_name().map(|name| name.to_string_lossy().into_owned());
        let Some(name) = name else { continue };
        match copies.get(&ingest::folded(&name)) {
            // The files of one archive.
            Some(known) if known.from == from => {}
            Some(known) => {
                return Err(StageError::Usage {
                    message: format!(
                        "{} and {} have one name, and both would become {}\n  try: rename one of them",
                        known.from.display(),
                        from.display(),
                        folder.join(LOGS).join(&name).display()
                    ),
                });
            }
            None => {
                copies.insert(ingest::folded(&name), Copied { from, name });
            }
        }
    }
    if copies.is_empty() {
        let shown: Vec<String> = logs.iter().map(|path| path.display().to_string()).collect();
        return Err(StageError::Usage {
            message: format!("{}: there is no file in it", shown.join(", ")),
        });
    }
    Ok(copies.into_values().collect())
}

/// Copies the logs, reads them, and writes a row a cook into the sheet.
pub(super) fn fill(
    folder: &Path,
    copies: &[Copied],
    made: &mut MadeSeason,
    progress: &dyn Progress,
) -> Result<(), StageError> {
    for Copied { from, name } in copies {
        let to = folder.join(LOGS).join(name);
        fs::copy(from, &to).map_err(|error| StageError::io(from, error))?;
    }
    let season = read_season(folder)?;
    let request = IngestRequest {
        base: folder.to_owned(),
        logs: season.logs.clone(),
        sheets: season.sheets.clone(),
        events: Vec::new(),
        score_sheets: Vec::new(),
        layouts: Vec::new(),
        store: folder.join("store"),
        season: season.clone(),
        answers: Answers::default(),
        whole: true,
        prune: false,
    };
    let read = ingest(&request, progress)?;
    let store = Store::open(&request.store)?;
    let records = store.read_cooks()?;
    let found = if records.is_empty() {
        Vec::new()
    } else {
        derive(&store, &season, Asked::Phases, progress)?.all_phases
    };
    let found: HashMap<&str, &CookPhases> =
        found.iter().map(|cook| (cook.cook.as_str(), cook)).collect();
    let zone = season.time_zone.as_deref().and_then(|zone| TimeZone::get(zone).ok());
    let mut rows: Vec<HashMap<&str, String>> = records
        .iter()
        .map(|record| row(record, found.get(record.card.cook.as_str()).copied(), zone.as_ref()))
        .collect();
    let mut taken = TakenNames::new(records.iter().map(|record| record.card.cook.clone()));
    for refusal in &read.refusals {
        let Subject::Log(log) = &refusal.subject else { continue };
        if refusal.waits_for.is_some() {
            rows.push(waiting(log, &mut taken));
        } else {
            made.notes.push(format!("a log that has no row: {}", refusal.message));
        }
    }
    let path = folder.join("sheet.csv");
    write_atomically(&path, sheet(&rows).as_bytes())?;
    let mut questions = Questions::read(&folder.join(QUESTIONS))?;
    if questions.add(&read.questions) {
        write_atomically(questions.path(), questions.text().as_bytes())?;
        made.files.push(questions.path().to_owned());
    }
    let guessed = rows.iter().filter(|row| row.contains_key(GUESSED)).count();
    if guessed > 0 {
        made.notes.push(format!(
            "{guessed} of {} rows have a meat-on or a pull as the curve shows it; the column `{GUESSED}` names what was guessed",
            rows.len()
        ));
    }
    made.notes.extend(records.iter().filter_map(several_meats(&store)));
    made.is_whole = read.refusals.is_empty() && read.questions.is_empty();
    made.questions = read.questions;
    Ok(())
}

/// The row of a cook: what its log says, and of its marks what the curve shows.
fn row(
    record: &CookRecord,
    found: Option<&CookPhases>,
    zone: Option<&TimeZone>,
) -> HashMap<&'static str, String> {
    let card = &record.card;
    let mut row = HashMap::from([("cook", card.cook.clone()), ("logs", logs(&card.logs))]);
    // Without a zone the local day of an instant is not known.
    if let (Some(date), Some(_)) = (&card.date, zone) {
        row.insert("date", date.clone());
    }
    let said = |ms| match zone {
        Some(zone) => local(ms, zone, MINUTE),
        None => local(ms, &TimeZone::UTC, "%Y-%m-%dT%H:%MZ"),
    };
    let is_seen = |from: &str| from == MarkSource::Log.as_str();
    let mut guessed = Vec::new();
    if let Some(found) = found {
        if is_seen(&found.meat_on_from) {
            row.insert("meat_on", said(found.meat_on_ms));
            guessed.push("meat_on");
        }
        if let (Some(pull_ms), true) = (found.pull_ms, is_seen(&found.pull_from)) {
            row.insert("pull", said(pull_ms));
            guessed.push("pull");
        }
    }
    if !guessed.is_empty() {
        row.insert(GUESSED, guessed.join("; "));
    }
    row
}

/// The row of a log that cannot be read before a question is answered.
fn waiting(log: &str, taken: &mut TakenNames) -> HashMap<&'static str, String> {
    let name = log.strip_prefix("logs/").unwrap_or(log);
    HashMap::from([("cook", taken.take(ingest::stem_of(name))), ("logs", name.to_owned())])
}

/// Logs as a sheet names them, from the season's folder of logs.
fn logs(logs: &[String]) -> String {
    let names: Vec<&str> =
        logs.iter().map(|log| log.strip_prefix("logs/").unwrap_or(log)).collect();
    names.join("; ")
}

/// A note of a cook whose log has several meat channels: only its team knows whether they are parts
/// of one piece.
fn several_meats(store: &Store) -> impl Fn(&CookRecord) -> Option<String> + '_ {
    |record| {
        let card = &record.card;
        let readings = store.read_readings(&card.season, &card.cook).ok()?;
        let meats: Vec<&str> = readings
            .channels
            .iter()
            .filter(|channel| channel.role == cook::Role::Meat)
            .map(|channel| channel.name.as_str())
            .collect();
        let [first, _, ..] = meats[..] else { return None };
        Some(format!(
            "cook `{}`: {} meat channels ({}) are taken as parts of one piece\n  try: for pieces of their own give each a row, its log written as `{}#{first}`",
            card.cook,
            meats.len(),
            meats.join(", "),
            logs(&card.logs)
        ))
    }
}

/// The sheet: the columns of the template, and the one of what was guessed.
fn sheet(rows: &[HashMap<&str, String>]) -> String {
    let template = include_str!("../templates/sheet.csv").trim_end();
    let columns: Vec<&str> = template.split(',').chain([GUESSED]).collect();
    let mut text = columns.join(",") + "\n";
    for row in rows {
        let cells = columns
            .iter()
            .map(|column| row.get(column).map_or_else(String::new, |cell| quoted(cell)));
        text += &(cells.collect::<Vec<_>>().join(",") + "\n");
    }
    text
}

/// A cell of CSV (RFC 4180).
fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}
