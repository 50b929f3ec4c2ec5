//! Forecasts of cooks that are on, from a team's past.

use super::CAUTION;
use super::asked::{self, Logs};
use super::page::Drawn;
use super::past::{self, Which};
use super::rows::{self, Row};
use super::told::{Context, Told};
use super::typed::{self, TypedReadings};
use super::words::{self, ToCome, usage};
use crate::QUESTIONS;
use crate::error::StageError;
use cook::{Questions, Season};
use outlook::{WhatIf, WrapClass};
use report::OutlookPage;
use std::collections::BTreeSet;
use std::path::PathBuf;
use store::Table;

/// What to forecast.
#[derive(Debug, Clone)]
pub struct ForecastRequest {
    /// Folder that sheets are relative to: the season's, with the past in its store.
    pub folder: PathBuf,
    /// Its settings.
    pub season: Season,
    /// Logs of cooks that are on.
    pub logs: Vec<PathBuf>,
    /// Season sheets; the cooks' cards.
    pub sheets: Vec<String>,
    /// Events sheets.
    pub events: Vec<String>,
    /// Readings typed in place of logs.
    pub typed: Option<TypedReadings>,
    /// Level of the ranges, per cent.
    pub level: u8,
    /// A wrap to come: `foil@165F`, `foil@6:30`.
    pub wrap: Option<String>,
    /// Whether the bundled simulated cooks stand in.
    pub bundled: bool,
    /// Changes to try: `foil-now`, `paper-now`, `setpoint+25F`.
    pub what_ifs: Vec<String>,
    /// When it is turned in.
    pub turn_in: Option<String>,
    /// The moment asked about; else each log's last reading.
    pub now: Option<String>,
    /// The computer's clock, ms UTC.
    pub clock_ms: i64,
    /// Whether to say which past cooks count how much.
    pub explain: bool,
    /// Whether to draw a page.
    pub page: bool,
}

/// The forecasts.
#[derive(Debug, Clone)]
pub struct ForecastSummary {
    /// One row a cook and a what-if; SI, instants UTC.
    pub table: Table,
    /// The same for people.
    pub people: Table,
    /// What is to be said beside them.
    pub notes: Vec<String>,
    /// Cooks asked about.
    pub asked: usize,
    /// How many of them were answered.
    pub answered: usize,
    /// The page, where one was asked for: one HTML file.
    pub page: Option<String>,
    pub(super) said: Vec<Said>,
}

/// A forecast has moved when an instant of it has by so much, ms (5 min).
const MOVED_MS: i64 = 5 * 60_000;

impl ForecastSummary {
    /// Whether an answer is another than it was: an instant moved by five minutes, or what is said of a cook
    /// changed. That the clock went on is none.
    pub fn has_moved_from(&self, before: &Self) -> bool {
        self.said.len() != before.said.len()
            || self.said.iter().zip(&before.said).any(|(now, then)| {
                let differ = |(a, b): (&Option<i64>, &Option<i64>)| match (a, b) {
                    (Some(a), Some(b)) => (a - b).abs() >= MOVED_MS,
                    (a, b) => a != b,
                };
                now.words != then.words || now.instants.iter().zip(&then.instants).any(differ)
            })
    }
}

/// What one row says, for telling whether it has moved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Said {
    pub(super) words: Vec<String>,
    pub(super) instants: Vec<Option<i64>>,
}

/// A change to try, as typed.
fn what_if(text: &str) -> Result<WhatIf, StageError> {
    match text.trim() {
        "foil-now" => Ok(WhatIf::Wrap(WrapClass::Foil)),
        "paper-now" => Ok(WhatIf::Wrap(WrapClass::Paper)),
        other => match other.strip_prefix("setpoint") {
            Some(by) => Ok(WhatIf::Raise(words::difference(by)?)),
            None => Err(usage(format!(
                "`{other}` is nothing to try; write foil-now, paper-now or setpoint+25F"
            ))),
        },
    }
}

/// Forecasts cooks that are on.
///
/// # Errors
/// What is typed cannot be read; a sheet, a layout or the store cannot. A log or a cook that has no
/// answer is no error: its row says why.
pub fn forecast(request: &ForecastRequest) -> Result<ForecastSummary, StageError> {
    let folder = std::path::absolute(&request.folder)
        .map_err(|error| StageError::io(&request.folder, error))?;
    let answers = Questions::read(&folder.join(QUESTIONS))?.answers();
    let (season, zone, zone_note) = words::zoned(&request.season, &answers);
    let season = &season;
    if !(50..=99).contains(&request.level) {
        return Err(usage(format!("--level {} must lie between 50 and 99", request.level)));
    }
    let now_ms = request
        .now
        .as_deref()
        .map(|text| words::instant(text, &zone, request.clock_ms))
        .transpose()?;
    let wrap = request.wrap.as_deref().map(ToCome::parse).transpose()?;
    let what_ifs = request
        .what_ifs
        .iter()
        .map(|text| Ok((text.clone(), what_if(text)?)))
        .collect::<Result<Vec<_>, StageError>>()?;
    if let Some(text) = &request.turn_in {
        words::instant(text, &zone, now_ms.unwrap_or(request.clock_ms))?;
    }
    let (asked, mut notes) = match &request.typed {
        Some(typed) => {
            let at_ms = now_ms.unwrap_or(request.clock_ms);
            (vec![typed::of_typed(typed, season, at_ms)?], Vec::new())
        }
        None => asked::of_logs(&Logs {
            base: &folder,
            logs: &request.logs,
            sheets: &request.sheets,
            events: &request.events,
            season,
            zone: &zone,
            answers: &answers,
            now_ms,
            clock_ms: request.clock_ms,
        })?,
    };
    let names: BTreeSet<String> = asked.iter().map(|asked| asked.cook.clone()).collect();
    // What runs beside the cooks asked about, or is one of them by another name, is no past.
    let ended_by_ms = asked.iter().map(|asked| asked.first_ms).min().unwrap_or(i64::MAX);
    let which = Which { asked: &names, ended_by_ms };
    let past = past::past(&request.folder, season, &which, request.bundled)?;
    let turn_in = request.turn_in.as_deref();
    let context = Context {
        season,
        zone,
        level: f64::from(request.level) / 100.0,
        wrap,
        what_ifs,
        turn_in,
        past,
    };
    let mut rows = Vec::new();
    let mut answered = 0;
    let drawn = Drawn {
        past: &context.past,
        zone: &context.zone,
        level: request.level,
        finish_c: season.phases.finish_c,
    };
    let mut cooks = Vec::new();
    for asked in &asked {
        let Told { rows: of_cook, notes: more, answer } = context.told(asked, request.explain);
        if request.page {
            cooks.push(drawn.cook(asked, &of_cook, answer.as_ref()));
        }
        answered += usize::from(of_cook.iter().any(|row| row.finish.is_some()));
        rows.extend(of_cook);
        notes.extend(more);
    }
    notes.extend(zone_note);
    notes.push(context.on_what());
    notes.push(CAUTION.into());
    let page = request.page.then(|| {
        let page = OutlookPage {
            team: season.team.clone(),
            cooks,
            notes: notes.clone(),
            version: env!("CARGO_PKG_VERSION").into(),
        };
        report::render_outlook(&page, season.units)
    });
    Ok(ForecastSummary {
        page,
        table: rows::table(&rows, request.level),
        people: rows::people(&rows, &context.zone, request.level),
        notes,
        asked: asked.len(),
        answered,
        said: rows.iter().map(Row::said).collect(),
    })
}
