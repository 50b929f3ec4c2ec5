//! Questions in SQL over the tables of a store, or of a folder of tables.

mod describe;
mod people;
mod source;

use crate::error::StageError;
use columns::{Column, Table, names};
use cook::Season;
use query::{Answer, Question};
use std::path::{Path, PathBuf};

/// What is asked.
#[derive(Debug, Clone)]
pub enum QuerySource {
    /// A store, or a season folder that holds one.
    Store(PathBuf),
    /// A folder of Parquet and CSV files, a table each.
    Data(PathBuf),
}

/// The answer to a question.
#[derive(Debug, Clone)]
pub struct QueryAnswer {
    answer: Answer,
}

impl QueryAnswer {
    /// The rows: SI, instants in UTC.
    pub fn table(&self) -> &Table {
        &self.answer.table
    }

    /// The rows as people are shown them: in their units and by their clock. A column that is no
    /// table's own (`STDDEV(pit_mean_c)`) stays as it is.
    pub fn for_people(&self, season: &Season) -> Table {
        people::shown(&self.answer, season)
    }
}

/// Answers a question; the tables are only read.
///
/// # Errors
/// A store or folder that is not there; a table that is not made yet; a question that is no
/// SELECT, or names what is not there.
pub fn query(source: &QuerySource, sql: &str) -> Result<QueryAnswer, StageError> {
    let source = source::open(source)?;
    let names = source.names();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let question = Question::parse(sql, &names)?;
    let tables = source.read(&question)?;
    Ok(QueryAnswer { answer: question.ask(&tables)? })
}

/// One row a column of every table that is there: kind, unit and meaning.
///
/// # Errors
/// As [`query()`].
pub fn query_tables(source: &QuerySource) -> Result<Table, StageError> {
    let [mut tables, mut listed, mut kinds, mut units, mut meanings]: [Vec<Option<String>>; 5] =
        Default::default();
    for (table, columns) in source::open(source)?.columns()? {
        for (name, kind) in columns {
            let about = describe::description(&table, &name);
            let unit = about.map_or_else(|| names::unit(&name), |about| about.unit());
            tables.push(Some(table.clone()));
            kinds.push(Some(kind.to_owned()));
            units.push(Some(unit.to_owned()).filter(|unit| !unit.is_empty()));
            meanings.push(about.map(|about| about.meaning.to_owned()));
            listed.push(Some(name));
        }
    }
    Ok(Table::new()
        .with("table", Column::Text(tables))
        .with("column", Column::Text(listed))
        .with("kind", Column::Text(kinds))
        .with("unit", Column::Text(units))
        .with("meaning", Column::Text(meanings)))
}

/// The settings that belong to a store or folder of tables: those of the season folder that it
/// lies in, `None` where it lies in none.
///
/// # Errors
/// Settings that cannot be read.
pub fn settings_beside(source: &QuerySource) -> Result<Option<Season>, StageError> {
    let (QuerySource::Store(path) | QuerySource::Data(path)) = source;
    let path = std::fs::canonicalize(path).unwrap_or_else(|_| path.clone());
    // `SEASON/store` and `SEASON/out/data`.
    let season = path.ancestors().take(3).find(|folder| folder.join("season.toml").is_file());
    season.map(|folder: &Path| crate::folder::read_season(folder)).transpose()
}

#[cfg(test)]
mod tests;
