//! Questions asked of the measures.

use crate::cards;
use crate::errors::{fault, guarded, of_store, of_study, of_table};
use crate::given::{self, Written};
use crate::interruptibly;
use crate::table::Table;
use cook::{Card, Season};
use pyo3::prelude::*;
use rows::hash::sha256;
use rows::{MovedSeason, moved_seasons};
use std::path::{Path, PathBuf};
use store::TableFile;
use store::stamps::{definition_hash, settings_hash};
use study::analysis::Definition;
use study::scores::Entries;
use study::{
    Claims, Degrees, History, Lock, MeasureTable, Provenance, Question, StudyError, StudyResult,
};

/// The whole study as JSON, and its tables by name.
#[pyfunction(name = "study")]
#[pyo3(signature = (measures, history, degrees, moved, moved_history, cooks, scores, claims, lock, settings))]
pub(crate) fn studied(
    py: Python<'_>,
    measures: &Bound<'_, PyAny>,
    history: Option<&Bound<'_, PyAny>>,
    degrees: Option<&Bound<'_, PyAny>>,
    moved: Option<&Bound<'_, PyAny>>,
    moved_history: Option<&Bound<'_, PyAny>>,
    cooks: Option<&Bound<'_, PyAny>>,
    scores: Option<&Bound<'_, PyAny>>,
    claims: Option<Written>,
    lock: Option<Written>,
    settings: Option<Written>,
) -> PyResult<(String, Vec<(&'static str, Table)>)> {
    guarded(|| {
        let season = given::season(settings)?;
        let measures = given::table(py, measures, "measures")?;
        let optional = |value: Option<&Bound<'_, PyAny>>, name| {
            value.map(|value| given::table(py, value, name)).transpose()
        };
        let history = optional(history, "history")?;
        let degrees = optional(degrees, "degrees")?;
        let (moved, moved_history) =
            (optional(moved, "moved")?, optional(moved_history, "moved_history")?);
        let moved = match (&history, moved, moved_history) {
            (Some(history), Some(moved), Some(moved_history)) => {
                moved_seasons(&measures, history, &moved, &moved_history)
                    .map_err(|error| of_table("moved", &error.into()))?
            }
            _ => Vec::new(),
        };
        let cards = optional(cooks, "cooks")?.map_or(Ok(Vec::new()), |cooks| {
            let records = cards::records(&cooks).map_err(|e| of_table("cooks", &e.into()))?;
            Ok::<_, PyErr>(records.into_iter().map(|record| record.card).collect())
        })?;
        let scores = optional(scores, "scores")?.map_or(Ok(Vec::new()), |scores| {
            store::scores_from_table(&scores, Path::new("scores")).map_err(|e| of_store(&e))
        })?;
        let (claims, claims_path, is_mapping) = match claims {
            Some(written) => {
                let (text, name, is_mapping) = given::toml_text(written)?;
                let claims = Claims::parse(&text, Path::new(&name));
                let claims = claims.map_err(|error| of_study(&error, "claims", is_mapping))?;
                (claims, name, is_mapping)
            }
            None => (Claims::default(), "claims".to_owned(), true),
        };
        let lock = lock.map(|(text, name, _)| Lock::parse(&text, Path::new(&name))).transpose();
        let lock = lock.map_err(|error| of_study(&error, "lock", false))?;
        let claims_path = PathBuf::from(claims_path);
        let asked = Asked {
            season,
            measures,
            history,
            degrees,
            moved,
            cards,
            scores,
            claims,
            claims_path,
            lock,
        };
        let result = interruptibly(py, move || asked.studied())?;
        let result = result.map_err(|(table, error)| of_study(&error, table, is_mapping))?;
        let json = result.to_json().map_err(|error| fault(&error.to_string()))?;
        Ok((json, Table::named(result.tables())?))
    })
}

/// All that a study is made from.
struct Asked {
    season: Season,
    measures: columns::Table,
    history: Option<columns::Table>,
    degrees: Option<columns::Table>,
    moved: Vec<MovedSeason>,
    cards: Vec<Card>,
    scores: Vec<cook::Score>,
    claims: Claims,
    claims_path: PathBuf,
    lock: Option<Lock>,
}

impl Asked {
    /// The study, or which table cannot be studied and why.
    fn studied(&self) -> Result<StudyResult, (&'static str, Box<StudyError>)> {
        let of = |table: &'static str| move |error| (table, Box::new(error));
        let measures = MeasureTable::new(&self.measures).map_err(of("measures"))?;
        let history = self.history.as_ref().map(History::new).transpose();
        let history = history.map_err(of("history"))?;
        let degrees = self.degrees.as_ref().map(Degrees::new).transpose();
        let degrees = degrees.map_err(of("degrees"))?;
        let definitions = self.moved.iter().map(|moved| {
            Ok(Definition {
                name: moved.name.clone(),
                measures: MeasureTable::new(&moved.measures)?,
                history: Some(History::new(&moved.history)?),
            })
        });
        let definitions = definitions.collect::<Result<Vec<_>, _>>().map_err(of("moved"))?;
        let season = &self.season;
        let definition = definition_hash(season);
        let bytes = self.measures.to_parquet(Path::new("measures.parquet")).map_err(|error| {
            of("measures")(StudyError::Unexpected { message: error.to_string() })
        })?;
        let question = Question {
            claims: &self.claims,
            claims_path: &self.claims_path,
            lock: self.lock.as_ref(),
            history: history.as_ref(),
            degrees: degrees.as_ref(),
            definitions: &definitions,
            horizon_min: season.study.horizon_min,
            // A table that came alone does not say by which definition it was made.
            definition: history.is_some().then_some(definition.as_str()),
            scores: &season.scores,
            entries: Entries { cards: &self.cards, scores: &self.scores },
            provenance: Provenance {
                version: env!("CARGO_PKG_VERSION").into(),
                settings_hash: settings_hash(season),
                settings: serde_json::json!({
                    "phases": season.phases,
                    "study": season.study,
                    "assume": season.assume,
                }),
                measures_hash: sha256(&bytes),
                seed: season.study.seed,
                ..Provenance::default()
            },
        };
        study::study(&measures, question).map_err(of("measures"))
    }
}
