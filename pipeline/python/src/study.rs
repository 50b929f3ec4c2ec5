//! Questions asked of the measures.

use crate::errors::{fault, of_study, of_table};
use crate::given::{self, Written};
use crate::interruptibly;
use crate::table::Table;
use pyo3::prelude::*;
use rows::hash::sha256;
use rows::{MovedSeason, moved_seasons};
use std::path::Path;
use store::TableFile;
use study::analysis::Definition;
use study::scores::Entries;
use study::{Claims, History, MeasureTable, Provenance, Question, StudyError, StudyResult};

/// The whole study as JSON, and its tables by name.
#[pyfunction(name = "study")]
#[pyo3(signature = (measures, history, moved, moved_history, claims, settings))]
pub(crate) fn studied(
    py: Python<'_>,
    measures: &Bound<'_, PyAny>,
    history: Option<&Bound<'_, PyAny>>,
    moved: Option<&Bound<'_, PyAny>>,
    moved_history: Option<&Bound<'_, PyAny>>,
    claims: Option<Written>,
    settings: Option<Written>,
) -> PyResult<(String, Vec<(&'static str, Table)>)> {
    let season = given::season(settings)?;
    let measures = given::table(py, measures, "measures")?;
    let optional = |value: Option<&Bound<'_, PyAny>>, name| {
        value.map(|value| given::table(py, value, name)).transpose()
    };
    let history = optional(history, "history")?;
    let (moved, moved_history) =
        (optional(moved, "moved")?, optional(moved_history, "moved_history")?);
    let seasons: Vec<MovedSeason> = match (&history, moved, moved_history) {
        (Some(history), Some(moved), Some(moved_history)) => {
            moved_seasons(&measures, history, &moved, &moved_history)
                .map_err(|error| of_table("moved", &error.into()))?
        }
        _ => Vec::new(),
    };
    let (claims, name) = match claims {
        Some(written) => {
            let (text, name) = given::toml_text(written)?;
            let claims = Claims::parse(&text, Path::new(&name));
            (claims.map_err(|error| of_study(&error))?, name)
        }
        None => (Claims::default(), "claims".to_owned()),
    };
    let result = interruptibly(py, move || -> Result<StudyResult, StudyError> {
        let table = MeasureTable::new(&measures)?;
        let history = history.as_ref().map(History::new).transpose()?;
        let definitions = seasons
            .iter()
            .map(|moved| {
                Ok(Definition {
                    name: moved.name.clone(),
                    measures: MeasureTable::new(&moved.measures)?,
                    history: Some(History::new(&moved.history)?),
                })
            })
            .collect::<Result<Vec<_>, StudyError>>()?;
        let bytes = measures.to_parquet(Path::new("measures")).unwrap_or_default();
        let question = Question {
            claims: &claims,
            claims_path: Path::new(&name),
            lock: None,
            history: history.as_ref(),
            degrees: None,
            definitions: &definitions,
            horizon_min: season.study.horizon_min,
            definition: None,
            scores: &season.scores,
            entries: Entries::default(),
            provenance: Provenance {
                version: env!("CARGO_PKG_VERSION").into(),
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
        study::study(&table, question)
    })?;
    let result = result.map_err(|error| of_study(&error))?;
    let json = result.to_json().map_err(|error| fault(&error.to_string()))?;
    Ok((json, Table::named(result.tables())?))
}
