//! One of the two studies, with the measures that lie beside it.

use crate::error::StageError;
use rows::hash::sha256;
use std::path::Path;
use store::{Table, read_parquet_table};
use study::result::StudyResult;

/// A study and its measures.
#[derive(Debug)]
pub(super) struct Side {
    pub(super) study: StudyResult,
    /// The measures that it was made of; `None` where they do not lie beside it.
    pub(super) measures: Option<Table>,
    /// Its cards, with the marks as they were used; `None` where they do not lie beside it.
    pub(super) cooks: Option<Table>,
    /// Why there are none.
    pub(super) note: Option<String>,
}

impl Side {
    /// Reads a `study.json`, and `data/measures.parquet` beside it if it is of that study.
    pub(super) fn read(path: &Path) -> Result<Self, StageError> {
        let text = std::fs::read_to_string(path).map_err(|e| StageError::io(path, e))?;
        let study: StudyResult = serde_json::from_str(&text).map_err(|e| StageError::Usage {
            message: format!(
                "{}: not a study.json of this version ({e}); make it anew with `cookstudy study`",
                path.display()
            ),
        })?;
        let beside = path.parent().unwrap_or(Path::new("")).join("data/measures.parquet");
        let Ok(bytes) = std::fs::read(&beside) else {
            let note = format!(
                "{}: not there, so that changed cooks cannot be named; keep `data` beside study.json",
                beside.display()
            );
            return Ok(Self { study, measures: None, cooks: None, note: Some(note) });
        };
        if study.provenance.measures_hash != sha256(&bytes) {
            let note = format!(
                "{}: not the measures of that study; changed cooks cannot be named",
                beside.display()
            );
            return Ok(Self { study, measures: None, cooks: None, note: Some(note) });
        }
        let cards = beside.with_file_name("cooks.parquet");
        let cooks = cards.is_file().then(|| read_parquet_table(&cards)).transpose()?;
        Ok(Self { study, measures: Some(read_parquet_table(&beside)?), cooks, note: None })
    }
}
