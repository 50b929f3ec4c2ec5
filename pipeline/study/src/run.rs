//! The whole study.

use crate::analysis::teams::TEAM;
use crate::analysis::{self, Definition, Evidence};
use crate::claims::Claims;
use crate::cost_side::{ScoreScales, cost_side};
use crate::degrees::Degrees;
use crate::drivers::{drivers, whether_stalled};
use crate::error::StudyError;
use crate::flow;
use crate::groups::groups;
use crate::history::History;
use crate::lock::Lock;
use crate::result::effects::Effects;
use crate::result::pool::Pool;
use crate::result::{Provenance, STUDY_SCHEMA, StudyResult};
use crate::scores::{Entries, scores};
use crate::season::{courses, season};
use crate::summary::summary;
use crate::table::MeasureTable;
use serde::Serialize;
use std::collections::BTreeSet;
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
    let evidence = question.evidence();
    let Question {
        claims, claims_path, lock, history, scores: scales, entries, provenance, ..
    } = question;
    claims.check_columns(table, claims_path)?;
    let seed = provenance.seed;
    let lock = Lock::update(lock, claims, table.cooks());
    let before = flow::of_cards(table, entries.cards);
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
            .map(|claim| {
                let mut found = analysis::judge(table, claim, &lock, evidence)?;
                found.flow.splice(0..0, before.iter().cloned());
                Ok(found)
            })
            .collect::<Result<_, StudyError>>()?,
    })
}

/// What a team gives away of its claims: effects with errors and counts, and nothing of any cook. The team is
/// that of the table's `team` column where it has one.
///
/// # Errors
/// As [`study`]; cooks of several teams, and no name for one.
pub fn effects(
    table: &MeasureTable,
    question: &Question<'_>,
    team: Option<&str>,
) -> Result<Effects, StudyError> {
    question.claims.check_columns(table, question.claims_path)?;
    if question.claims.claims.is_empty() {
        let message = "there is no claim to give effects of: name --claims FILE".to_owned();
        return Err(StudyError::Argument { message });
    }
    let named: BTreeSet<String> = table.texts_or_missing(TEAM)?.into_iter().flatten().collect();
    let mut named = named.iter().map(String::as_str);
    let team = match (named.next(), named.next()) {
        (Some(one), Some(other)) => {
            return Err(StudyError::Argument {
                message: format!(
                    "the cooks are of several teams (`{one}`, `{other}`), and effects are those of one: study each \
                     team's own season, or read `teams` in the study.json of all of them"
                ),
            });
        }
        (Some(one), None) => Some(one),
        _ => team,
    };
    let team = team.ok_or_else(|| StudyError::Argument {
        message: "nobody says whose effects these are: write `team` into season.toml and name it with --settings"
            .into(),
    })?;
    let lock = Lock::update(question.lock, question.claims, table.cooks());
    let version = &question.provenance.version;
    analysis::effects(table, question.claims, &lock, question.evidence(), (team, version))
}

impl<'a> Question<'a> {
    fn evidence(&self) -> Evidence<'a> {
        Evidence {
            history: self.history,
            degrees: self.degrees,
            definitions: self.definitions,
            seed: self.provenance.seed,
            horizon_min: self.horizon_min,
            definition: self.definition,
        }
    }
}

impl Effects {
    /// The text of the file: indented, with a line end at the end.
    ///
    /// # Errors
    /// [`StudyError::Write`], which only a fault of the serialiser can cause.
    pub fn to_json(&self) -> Result<String, StudyError> {
        written("effects", self)
    }
}

impl Pool {
    /// The text of `pool.json`: indented, with a line end at the end.
    ///
    /// # Errors
    /// [`StudyError::Write`], which only a fault of the serialiser can cause.
    pub fn to_json(&self) -> Result<String, StudyError> {
        written("pool", self)
    }
}

fn written(what: &'static str, result: &impl Serialize) -> Result<String, StudyError> {
    let mut text = serde_json::to_string_pretty(result)
        .map_err(|error| StudyError::Write { what, message: error.to_string() })?;
    text.push('\n');
    Ok(text)
}

impl StudyResult {
    /// The text of `study.json`: indented, with a line end at the end.
    ///
    /// # Errors
    /// [`StudyError::Write`], which only a fault of the serialiser can cause.
    pub fn to_json(&self) -> Result<String, StudyError> {
        written("study", self)
    }
}
