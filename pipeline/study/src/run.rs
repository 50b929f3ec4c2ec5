//! The whole study.

use crate::analysis::{self, Definition, Evidence};
use crate::claims::Claims;
use crate::cost_side::{ScoreScales, cost_side};
use crate::degrees::Degrees;
use crate::drivers::{drivers, whether_stalled};
use crate::error::StudyError;
use crate::groups::groups;
use crate::history::History;
use crate::lock::Lock;
use crate::result::{Provenance, STUDY_SCHEMA, StudyResult};
use crate::scores::{Entries, scores};
use crate::season::{courses, season};
use crate::summary::summary;
use crate::table::MeasureTable;
use std::path::Path;

/// What to ask of the measure table.
#[derive(Debug, Clone)]
pub struct Question<'a> {
    /// The claims.
    pub claims: &'a Claims,
    /// The claims file, for messages.
    pub claims_path: &'a Path,
    /// The lock, if there is one. Claims that it does not know count as first seen now;
    /// without one, all of them do.
    pub lock: Option<&'a Lock>,
    /// The history of each cook on the study clock, which claims about wrap timing need.
    pub history: Option<&'a History>,
    /// Each cook degree by degree, which they are answered from.
    pub degrees: Option<&'a Degrees>,
    /// The same cooks under other stall definitions; may be empty.
    pub definitions: &'a [Definition],
    /// How far the study clock runs for claims that do not say, min.
    pub horizon_min: f64,
    /// Hash of the phase definition behind the table; `None` where nobody knows it.
    pub definition: Option<&'a str>,
    /// Scales of the scores.
    pub scores: &'a ScoreScales,
    /// All cards, and the scores sheets; may be empty.
    pub entries: Entries<'a>,
    /// Where the table comes from.
    pub provenance: Provenance,
}

/// Asks everything: drivers, groups, summary and claims.
///
/// # Errors
/// Claims that name columns which the table does not have or which hold no numbers; columns
/// that hold something else than their name promises. What the data cannot answer is a
/// refusal inside the result.
pub fn study(table: &MeasureTable, question: Question<'_>) -> Result<StudyResult, StudyError> {
    let Question {
        claims,
        claims_path,
        lock,
        history,
        degrees,
        definitions,
        horizon_min,
        definition,
        scores: scales,
        entries,
        provenance,
    } = question;
    let evidence =
        Evidence { history, degrees, definitions, seed: provenance.seed, horizon_min, definition };
    claims.check_columns(table, claims_path)?;
    let seed = provenance.seed;
    let lock = Lock::update(lock, claims, table.cooks());
    Ok(StudyResult {
        schema: STUDY_SCHEMA.to_owned(),
        provenance,
        drivers: drivers(table)?,
        whether_stalled: whether_stalled(table)?,
        groups: groups(table)?,
        summary: summary(table)?,
        season: season(table, seed)?,
        scores: scores(table, entries, scales)?,
        cost_side: cost_side(table, claims, scales, seed)?,
        courses: history.map_or(Ok(Vec::new()), |history| courses(table, history, claims))?,
        levers: history.map_or(Ok(Vec::new()), |history| analysis::levers(table, history, seed))?,
        forecast_backtest: None,
        trials: Vec::new(),
        claims: claims
            .claims
            .iter()
            .map(|claim| analysis::judge(table, claim, &lock, evidence))
            .collect::<Result<_, _>>()?,
    })
}

impl StudyResult {
    /// The text of `study.json`: indented, with a line end at the end.
    ///
    /// # Errors
    /// [`StudyError::Write`], which only a fault of the serialiser can cause.
    pub fn to_json(&self) -> Result<String, StudyError> {
        let mut text = serde_json::to_string_pretty(self)
            .map_err(|error| StudyError::Write { what: "study", message: error.to_string() })?;
        text.push('\n');
        Ok(text)
    }
}
