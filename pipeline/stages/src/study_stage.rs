//! The study: the measure table in, `study.json` and its tables out.

use crate::error::StageError;
use crate::export::{CsvKind, read_csv, to_csv};
use crate::hash::{Fingerprint, sha256};
use crate::measures_stage::{MovedMeasures, measures_under_moved_constants};
use crate::progress::Silent;
use crate::stamps::check_measures;
use crate::{cost_tables, lever_tables, season_tables};
use columns::Kind;
use cook::Season;
use std::path::{Path, PathBuf};
use store::{Store, StoreError, Table, TableFile, TableName, read_parquet_table, write_atomically};
use study::analysis::Definition;
use study::result::{ClaimResult, InputHash};
use study::{Claims, History, Lock, MeasureTable, Provenance, Question};

/// Where the measure table comes from.
#[derive(Debug, Clone)]
pub enum StudySource {
    /// A store's measures.
    Store(PathBuf),
    /// A CSV or Parquet file with one row a cook.
    Table(PathBuf),
}

/// What to study.
#[derive(Debug, Clone)]
pub struct StudyRequest {
    /// The measures.
    pub source: StudySource,
    /// Claims to judge.
    pub claims: Option<PathBuf>,
    /// When they were first written down.
    pub lock: Option<PathBuf>,
    /// Folder to write to.
    pub out: PathBuf,
    /// Seed and other settings.
    pub season: Season,
    /// Folder that the paths of inputs are shown from.
    pub shown_from: PathBuf,
}

/// What the study wrote.
#[derive(Debug, Clone)]
pub struct StudySummary {
    /// `study.json`.
    pub path: PathBuf,
    /// One row a claim.
    pub table: Table,
    /// Things to know.
    pub notes: Vec<String>,
    /// Every file written.
    pub files: Vec<PathBuf>,
}

/// Studies a table of measures.
///
/// # Errors
/// A missing or unreadable table, claims that contradict themselves or name columns that
/// the table does not have, a lock that cannot be read: nothing is written then.
pub fn study(request: &StudyRequest) -> Result<StudySummary, StageError> {
    let mut history = None;
    let (table_path, table, definitions) = match &request.source {
        StudySource::Store(store) => {
            let store = Store::open(store)?;
            let table = store.read_table(TableName::Measures)?;
            check_measures(&store)?;
            let path = store.table_path(TableName::History);
            history = Some((store.read_table(TableName::History)?, path));
            let moved = if request.claims.is_some() {
                measures_under_moved_constants(&store, &request.season, &Silent)?
            } else {
                Vec::new()
            };
            (store.table_path(TableName::Measures), table, moved)
        }
        StudySource::Table(path) => (path.clone(), read_table(path)?, Vec::new()),
    };
    let mut inputs = vec![(shown(&table_path, &request.shown_from), table_path)];
    let history_path = history.as_ref().map(|(_, path)| path);
    for path in request.claims.iter().chain(&request.lock).chain(history_path) {
        inputs.push((shown(path, &request.shown_from), path.clone()));
    }
    let history = history.as_ref().map(|(table, _)| table);
    study_table(request, &table, history, &definitions, inputs)
}

/// Studies a table of measures and, for claims about wrap timing, of the history; its claims
/// under other `definitions` too. `inputs` (shown path, path) are hashed into the result.
pub(crate) fn study_table(
    request: &StudyRequest,
    table: &Table,
    history: Option<&Table>,
    definitions: &[MovedMeasures],
    inputs: Vec<(String, PathBuf)>,
) -> Result<StudySummary, StageError> {
    let (claims, claims_path) = read_claims(request.claims.as_deref())?;
    let lock = request.lock.as_deref().map(read_lock).transpose()?;
    let measures = MeasureTable::new(table)?;
    let history = history.map(History::new).transpose()?;
    let definitions = definitions
        .iter()
        .map(|moved| {
            Ok(Definition {
                name: moved.name.clone(),
                measures: MeasureTable::new(&moved.measures)?,
                history: Some(History::new(&moved.history)?),
            })
        })
        .collect::<Result<Vec<_>, StageError>>()?;
    let mut hashes: Vec<InputHash> = inputs
        .into_iter()
        .map(|(path, file)| {
            let bytes = std::fs::read(&file).map_err(|e| StageError::io(&file, e))?;
            Ok(InputHash { path, sha256: sha256(&bytes) })
        })
        .collect::<Result<_, StageError>>()?;
    hashes.sort_by(|a, b| a.path.cmp(&b.path));
    let question = Question {
        claims: &claims,
        claims_path: &claims_path,
        lock: lock.as_ref(),
        history: history.as_ref(),
        definitions: &definitions,
        scores: &request.season.scores,
        provenance: Provenance {
            version: env!("CARGO_PKG_VERSION").into(),
            settings_hash: settings_hash(&request.season),
            settings: serde_json::json!({
                "phases": request.season.phases,
                "study": request.season.study,
                "assume": request.season.assume,
            }),
            measures_hash: sha256(&table.to_parquet(Path::new("measures.parquet"))?),
            inputs: hashes,
            seed: request.season.study.seed,
        },
    };
    let result = study::study(&measures, question)?;
    let json = request.out.join("study.json");
    write_atomically(&json, result.to_json()?.as_bytes())?;
    let data = request.out.join("data");
    let mut files = vec![json.clone()];
    // Beside the study, so that another one can be set against it cook by cook.
    let measures = [("measures", table.clone())];
    let others = [
        ("comparisons", season_tables::comparisons(&result)),
        ("costs", cost_tables::costs(&result)),
        ("tender", cost_tables::tender(&result)),
        ("levers", lever_tables::levers(&result)),
    ];
    for (name, table) in result.tables().chain(measures).chain(others) {
        files.extend(write_both(&data, name, &table)?);
    }
    let mut notes = Vec::new();
    if request.lock.is_none() && !claims.claims.is_empty() {
        notes.push("no --lock: every verdict is after the fact".to_owned());
    }
    Ok(StudySummary { path: json, table: ClaimResult::rows(&result.claims), notes, files })
}

/// Writes a table as Parquet and as CSV; gives the paths.
pub(crate) fn write_both(
    folder: &Path,
    name: &str,
    table: &Table,
) -> Result<[PathBuf; 2], StageError> {
    let parquet = folder.join(format!("{name}.parquet"));
    let csv = folder.join(format!("{name}.csv"));
    table.write(&parquet)?;
    write_atomically(&csv, to_csv(table).as_bytes())?;
    Ok([parquet, csv])
}

pub(crate) fn settings_hash(season: &Season) -> String {
    let mut hash = Fingerprint::new("settings");
    hash.json(season);
    hash.finish()
}

/// Reads claims; without a file there are none.
pub(crate) fn read_claims(path: Option<&Path>) -> Result<(Claims, PathBuf), StageError> {
    let Some(path) = path else { return Ok((Claims::default(), PathBuf::from("claims.toml"))) };
    let text = std::fs::read_to_string(path).map_err(|e| StageError::io(path, e))?;
    Ok((Claims::parse(&text, path)?, path.to_owned()))
}

pub(crate) fn read_lock(path: &Path) -> Result<Lock, StageError> {
    let text = std::fs::read_to_string(path).map_err(|e| StageError::io(path, e))?;
    Ok(Lock::parse(&text, path)?)
}

fn shown(path: &Path, from: &Path) -> String {
    path.strip_prefix(from).unwrap_or(path).display().to_string()
}

/// Reads a foreign table by its ending, with the known columns under their own names.
fn read_table(path: &Path) -> Result<Table, StageError> {
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase();
    let table = match ending.as_str() {
        "parquet" => read_parquet_table(path).map_err(|error| match error {
            StoreError::Parquet { path, message } => StageError::Usage {
                message: format!("{}: not a readable Parquet file ({message})", path.display()),
            },
            other => other.into(),
        })?,
        "csv" | "tsv" | "txt" => read_csv(path, |column| kind_of(&known_name(column)))?,
        _ => {
            return Err(StageError::Usage {
                message: format!(
                    "{}: a table is read from .csv, .tsv or .parquet; save it as one of these",
                    path.display()
                ),
            });
        }
    };
    let mut named = Table::new();
    for (own, column) in table.columns() {
        let known = known_name(own);
        // Two columns that would bear one name both keep their own.
        let others = table.columns().iter().filter(|(other, _)| known_name(other) == known);
        let name = if others.count() == 1 { known } else { own.clone() };
        named.push(name, column.clone());
    }
    Ok(named)
}

/// The name of a known column however it is spelt: `Raw Weight kg` is `raw_weight_kg`; scores are
/// known by their beginning. Any other name stays as it is.
fn known_name(column: &str) -> String {
    let spelt = column.trim().to_lowercase().replace([' ', '-'], "_");
    let is_known =
        spelt == "meat_on" || spelt.starts_with("score_") || columns::names::is_measure(&spelt);
    if is_known { spelt } else { column.to_owned() }
}

/// Kinds of the columns whose names are known.
fn kind_of(column: &str) -> Option<CsvKind> {
    columns::measures::columns().find(|known| known.name == column).map(|known| match known.kind {
        Kind::Bool => CsvKind::YesNo,
        Kind::Int | Kind::Float => CsvKind::Number,
        Kind::Text | Kind::Instant => CsvKind::Text,
    })
}

pub(crate) fn word<T: serde::Serialize>(value: &T) -> Option<String> {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => Some(word),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_columns_are_known_however_they_are_spelt() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.tsv");
        std::fs::write(&path, "Cook\tRaw Weight kg\tScore-Taste\tMy Rub\na\t5,5\t7\tx\n").unwrap();
        let table = read_table(&path).unwrap();
        let names: Vec<&str> = table.columns().iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["cook", "raw_weight_kg", "score_taste", "My Rub"]);
        std::fs::write(&path, "cook\tpit\tPit\na\tb\tc\n").unwrap();
        let table = read_table(&path).unwrap();
        let names: Vec<&str> = table.columns().iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["cook", "pit", "Pit"]);
    }
}
