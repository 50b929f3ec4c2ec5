//! The sheets of a request, read and held against each other.

use super::{IngestRequest, scores};
use crate::error::StageError;
use ingest::{EventsReading, ScoresReading, SheetOptions, SheetReading};
use jiff::tz::TimeZone;
use std::collections::BTreeSet;

/// Sheets, read and checked; nothing is written yet.
#[derive(Clone)]
pub(crate) struct Sheets {
    pub(crate) zone: TimeZone,
    /// Whether anybody said the zone.
    pub(crate) zone_known: bool,
    pub(crate) cards: SheetReading,
    pub(crate) events: Vec<EventsReading>,
    pub(crate) scores: Vec<ScoresReading>,
    /// What came of cards and scores together.
    pub(super) scored: scores::Scored,
    /// What was read before and is not there any more.
    pub(super) told: Vec<String>,
    /// Cooks that are all of a log which no row names.
    pub(super) lone: BTreeSet<String>,
}

impl Sheets {
    /// Whether a cook is all of a log that no row names.
    pub(super) fn is_lone(&self, cook: &str) -> bool {
        self.lone.contains(cook)
    }

    /// What is to be told of how the sheets were read.
    pub(super) fn notes(&self) -> Vec<String> {
        let evidence = self.events.iter().flat_map(|e| &e.evidence);
        let evidence = evidence.chain(self.scores.iter().flat_map(|s| &s.evidence));
        let warnings = self.events.iter().flat_map(|e| &e.warnings);
        let warnings = warnings.chain(self.scores.iter().flat_map(|s| &s.warnings));
        self.cards
            .evidence
            .iter()
            .chain(evidence)
            .map(|e| {
                format!(
                    "{}: {} ({}; to decide otherwise: {})",
                    e.what, e.taken_as, e.because, e.setting
                )
            })
            .chain(self.cards.warnings.iter().chain(warnings).cloned())
            .chain(self.scored.warnings.iter().cloned())
            .collect()
    }
}

/// Reads the sheets of a request.
pub(crate) fn read_sheets(request: &IngestRequest) -> Result<Sheets, StageError> {
    if let Some(name) = &request.season.time_zone {
        TimeZone::get(name).map_err(|e| StageError::Usage {
            message: format!(
                "`{name}` is no IANA time zone ({e}); write one such as America/Chicago or UTC"
            ),
        })?;
    }
    let known = request.season.zone(&request.answers);
    let zone_known = known.is_some();
    let zone = known.unwrap_or(TimeZone::UTC);
    let options = SheetOptions {
        zone: zone.clone(),
        zone_known,
        answers: request.answers.clone(),
        units: request.season.units,
    };
    let mut cards = SheetReading::default();
    for name in &request.sheets {
        cards.append(ingest::read_season_sheet(&request.base.join(name), name, &options)?)?;
    }
    cards.settle_spellings(&request.answers);
    let mut events = Vec::new();
    for name in &request.events {
        let path = request.base.join(name);
        events.push(ingest::read_events_sheet(&path, name, &options, &cards.cards)?);
    }
    let mut scores = Vec::new();
    let codes = crate::trial_stage::codes(&request.base, !request.score_sheets.is_empty())?;
    for name in &request.score_sheets {
        let path = request.base.join(name);
        let scales = &request.season.scores;
        scores.push(ingest::read_scores_sheet(
            &path,
            name,
            &options,
            &cards.cards,
            scales,
            &codes,
        )?);
    }
    let warnings = scores::count_once(&mut scores);
    let before = scores::Scored::new(warnings);
    let scored = scores::complete_cards(&mut cards, &scores, &request.season, &before);
    Ok(Sheets {
        zone,
        zone_known,
        cards,
        events,
        scores,
        scored,
        told: Vec::new(),
        lone: BTreeSet::new(),
    })
}
