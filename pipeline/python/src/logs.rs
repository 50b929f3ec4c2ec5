//! One log, read.

use crate::errors::{guarded, log as log_error, of_log};
use crate::given::{self, Written};
use crate::interruptibly;
use crate::table::Table;
use columns::Column;
use cook::{Answers, ChannelReadings, CookReadings};
use ingest::{IngestError, Layout, Log, ReadOptions, TimeBase};
use jiff::tz::TimeZone;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;

/// Reads a log and says how; `cook` is the name that its readings get.
#[pyfunction]
#[pyo3(signature = (log, cook, settings, layouts, answers))]
pub(crate) fn read_log(
    py: Python<'_>,
    log: PathBuf,
    cook: String,
    settings: Option<Written>,
    layouts: Vec<PathBuf>,
    answers: Vec<(String, String)>,
) -> PyResult<Bound<'_, PyDict>> {
    guarded(|| read(py, log, cook, settings, layouts, answers.into_iter().collect()))
}

fn read(
    py: Python<'_>,
    log: PathBuf,
    cook: String,
    settings: Option<Written>,
    layouts: Vec<PathBuf>,
    answers: Answers,
) -> PyResult<Bound<'_, PyDict>> {
    let named = log.display().to_string();
    let season = given::season(settings)?;
    let zone = season.zone(&answers);
    let shown = zone.clone().unwrap_or(TimeZone::UTC);
    let found = interruptibly(py, move || -> Result<Result<Log, usize>, IngestError> {
        let layouts = layouts.iter().map(|path| Layout::read(path)).collect::<Result<_, _>>()?;
        let options = ReadOptions {
            answers,
            units: season.units,
            zone_known: zone.is_some(),
            asks_start: true,
            ..ReadOptions::new(zone.unwrap_or(TimeZone::UTC), &season.log, layouts)
        };
        let listed = ingest::list_logs(&[&log], std::path::Path::new(""))?;
        match &listed.files[..] {
            [file] => Ok(Ok(file.read_log(&options)?)),
            files => Ok(Err(files.len())),
        }
    })?
    .map_err(|error| of_log(&error))?;
    let log = found.map_err(|files| {
        log_error(&named, format!("{named}: {files} logs are called so; name one"))
    })?;
    let out = PyDict::new(py);
    let record = &log.record;
    out.set_item("path", &record.path)?;
    out.set_item("layout", &record.layout)?;
    out.set_item("content_hash", &record.content_hash)?;
    out.set_item("evidence", Table::of(&evidence(&log))?)?;
    out.set_item("rejected", Table::of(&store::rejected_to_table(&log.rejected))?)?;
    let account = PyDict::new(py);
    let lines = &record.account;
    for (name, count) in [
        ("lines", lines.lines),
        ("preamble", lines.preamble),
        ("header", lines.header),
        ("blank", lines.blank),
        ("data", lines.data),
        ("rejected", lines.rejected),
        ("footer", lines.footer),
        ("readings", lines.readings),
        ("missing", lines.missing),
        ("rejected_cells", lines.rejected_cells),
    ] {
        account.set_item(name, count)?;
    }
    out.set_item("account", account)?;
    out.set_item("warnings", &log.warnings)?;
    out.set_item("metadata", &log.metadata)?;
    out.set_item("layout_toml", log.suggested_layout().to_toml())?;
    out.set_item("description", log.describe(&shown))?;
    if log.time == TimeBase::Elapsed {
        let message =
            "its times count from its own zero: say when it began, with an answer or a layout";
        return Err(log_error(&record.path, format!("{}: {message}", record.path)));
    }
    let batch = rows::readings::to_batch(&[readings(log, cook)])
        .map_err(|error| crate::errors::fault(&error.to_string()))?;
    out.set_item("readings", Table::of_batch(batch))?;
    Ok(out)
}

/// What was decided, a row a decision.
fn evidence(log: &Log) -> columns::Table {
    let evidence = &log.record.evidence;
    columns::Table::new()
        .with("what", evidence.iter().map(|e| &e.what).collect::<Column>())
        .with("taken_as", evidence.iter().map(|e| &e.taken_as).collect::<Column>())
        .with("because", evidence.iter().map(|e| &e.because).collect::<Column>())
        .with("setting", evidence.iter().map(|e| &e.setting).collect::<Column>())
}

fn readings(log: Log, cook: String) -> CookReadings {
    let channels = log.channels.into_iter().map(|channel| ChannelReadings {
        source: vec![0; channel.len()],
        name: channel.name,
        role: channel.role,
        at_ms: channel.at_ms.into_vec(),
        temp_c: channel.temp_c.into_vec(),
        flag: channel.flag.into_vec(),
        line: channel.line.into_vec(),
    });
    CookReadings {
        cook,
        season: String::new(),
        channels: channels.collect(),
        sources: vec![log.record.path],
    }
}
