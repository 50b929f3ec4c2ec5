//! Where the tables lie, and which of them a question needs.

use super::QuerySource;
use crate::error::StageError;
use crate::export::read_csv;
use crate::folder::open_store;
use crate::stamps::expect_whole;
use crate::study_stage::kind_of;
use columns::{Column, Table};
use cook::{ChannelReadings, CookReadings};
use jiff::Timestamp;
use query::{Question, Tables};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use store::{Store, TableName, read_parquet_table};

/// The table of readings, which is no single file.
const READINGS: &str = "readings";
/// Readings that a question may hold in memory: some 100 bytes each where few columns are asked for
/// and added up, 1 kB where all columns of all rows are the answer.
const MOST_READINGS: usize = 1_000_000;

/// Tables that can be asked.
#[derive(Debug)]
pub(super) enum Source {
    Store(Store),
    /// Paths by the name of the table.
    Data(BTreeMap<String, PathBuf>),
}

/// Opens a source.
pub(super) fn open(source: &QuerySource) -> Result<Source, StageError> {
    match source {
        QuerySource::Store(path) => Ok(Source::Store(open_store(path)?.0)),
        QuerySource::Data(path) => {
            let inside = path.join("out/data");
            let tables = files(if inside.is_dir() { &inside } else { path })?;
            if tables.is_empty() {
                return Err(StageError::Usage {
                    message: format!(
                        "{}: no .parquet or .csv here; `cookstudy run` writes them to out/data",
                        path.display()
                    ),
                });
            }
            Ok(Source::Data(tables))
        }
    }
}

/// Tables of a folder by name; a Parquet file before a CSV file of the same name, which says less.
fn files(folder: &Path) -> Result<BTreeMap<String, PathBuf>, StageError> {
    let io = |e| StageError::io(folder, e);
    let mut tables = BTreeMap::new();
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .map_err(io)?
        .map(|entry| entry.map(|entry| entry.path()).map_err(io))
        .collect::<Result<_, _>>()?;
    paths.sort_by_key(|path| ending(path) == Some("parquet"));
    for path in paths {
        if let (Some("parquet" | "csv"), Some(name)) = (ending(&path), path.file_stem()) {
            tables.insert(name.to_string_lossy().into_owned(), path);
        }
    }
    Ok(tables)
}

fn ending(path: &Path) -> Option<&str> {
    path.extension().and_then(|ending| ending.to_str())
}

fn read_file(path: &Path) -> Result<Table, StageError> {
    if ending(path) == Some("parquet") {
        return Ok(read_parquet_table(path)?);
    }
    let mut table = read_csv(path, kind_of)?;
    for (name, column) in table.clone().columns() {
        if let Some(instants) = instants(column) {
            table.set(name, instants);
        }
    }
    Ok(table)
}

/// Texts that are all instants, as instants.
fn instants(column: &Column) -> Option<Column> {
    let Column::Text(texts) = column else { return None };
    let at = texts.iter().map(|text| match text {
        Some(text) => text.parse::<Timestamp>().ok().map(|at| Some(at.as_millisecond())),
        None => Some(None),
    });
    let at: Vec<Option<i64>> = at.collect::<Option<_>>()?;
    at.iter().any(Option::is_some).then_some(Column::Instant(at))
}

/// The columns of a table: name and kind.
type NamesAndKinds = Vec<(String, &'static str)>;

impl Source {
    /// The names that a question can use; a store's also of tables that are not made yet, so that
    /// the command that makes them can be named.
    pub(super) fn names(&self) -> Vec<String> {
        match self {
            Self::Store(_) => TableName::ALL
                .iter()
                .map(|table| table.as_str().to_owned())
                .chain([READINGS.to_owned()])
                .collect(),
            Self::Data(tables) => tables.keys().cloned().collect(),
        }
    }

    /// Reads what a question needs.
    pub(super) fn read(&self, question: &Question) -> Result<Tables, StageError> {
        let mut tables = Tables::default();
        for name in question.tables() {
            match self {
                Self::Store(store) if name == READINGS => {
                    read_readings(store, question, &mut tables)?;
                }
                Self::Store(store) => {
                    let table = TableName::ALL.into_iter().find(|table| table.as_str() == name);
                    if let Some(table) = table {
                        expect_whole(store, &[table])?;
                        tables.add(name, &store.read_table(table)?)?;
                    }
                }
                Self::Data(files) => {
                    if let Some(path) = files.get(name) {
                        tables.add(name, &read_file(path)?)?;
                    }
                }
            }
        }
        Ok(tables)
    }

    /// Name and kind of every column of every table that is there.
    pub(super) fn columns(&self) -> Result<Vec<(String, NamesAndKinds)>, StageError> {
        let of = |table: &Table| {
            let columns = table.columns().iter();
            columns.map(|(name, column)| (name.clone(), column.kind())).collect()
        };
        match self {
            Self::Store(store) => {
                let there = TableName::ALL.into_iter().filter(|table| store.has_table(*table));
                let mut all: Vec<_> = there
                    .map(|table| Ok((table.as_str().to_owned(), of(&store.read_table(table)?))))
                    .collect::<Result<_, StageError>>()?;
                let none = no_readings();
                all.push((READINGS.to_owned(), of(&readings_table(&none, &|_| true))));
                Ok(all)
            }
            Self::Data(tables) => tables
                .iter()
                .map(|(name, path)| Ok((name.clone(), of(&read_file(path)?))))
                .collect(),
        }
    }
}

/// Reads readings cook by cook: those of the cooks and seasons that the question is about, the
/// columns that it names.
///
/// # Errors
/// More readings than memory should hold.
fn read_readings(
    store: &Store,
    question: &Question,
    tables: &mut Tables,
) -> Result<(), StageError> {
    let wanted = |only: &Option<BTreeSet<String>>, value: &String| {
        only.as_ref().is_none_or(|values| values.contains(value))
    };
    let (cooks, seasons) = (question.only(READINGS, "cook"), question.only(READINGS, "season"));
    let needed = |column: &str| question.may_read(column);
    // So that a question finds the columns where no cook is meant.
    tables.add(READINGS, &readings_table(&no_readings(), &needed))?;
    let mut read = 0;
    for (season, cook) in store.cooks_with_readings()? {
        if !wanted(&cooks, &cook) || !wanted(&seasons, &season) {
            continue;
        }
        let readings = store.read_readings(&season, &cook)?;
        read += readings.len();
        if read > MOST_READINGS {
            return Err(StageError::Usage {
                message: format!(
                    "the question reads more than {MOST_READINGS} readings; name cooks or a season beside it: WHERE season = '{season}', or WHERE cook IN ('{cook}', …)"
                ),
            });
        }
        tables.add(READINGS, &readings_table(&readings, &needed))?;
    }
    Ok(())
}

fn no_readings() -> CookReadings {
    let (cook, season) = (String::new(), String::new());
    CookReadings { cook, season, channels: Vec::new(), sources: Vec::new() }
}

/// One cook's readings as a table of the columns needed; of one at least, which counts the rows.
fn readings_table(readings: &CookReadings, needed: &dyn Fn(&str) -> bool) -> Table {
    fn each<T>(
        readings: &CookReadings,
        of: impl Fn(&ChannelReadings, usize) -> T,
    ) -> Vec<Option<T>> {
        let channels = readings.channels.iter();
        let rows = channels.flat_map(|channel| (0..channel.len()).map(move |row| (channel, row)));
        rows.map(|(channel, row)| Some(of(channel, row))).collect()
    }
    let zero = readings.first_ms().unwrap_or(0);
    let source = |place: u32| readings.sources.get(place as usize).cloned().unwrap_or_default();
    let mut table = Table::new();
    let mut add = |name: &str, column: &dyn Fn() -> Column| {
        if needed(name) {
            table.push(name, column());
        }
    };
    add("season", &|| Column::Text(each(readings, |_, _| readings.season.clone())));
    add("cook", &|| Column::Text(each(readings, |_, _| readings.cook.clone())));
    add("channel", &|| Column::Text(each(readings, |channel, _| channel.name.clone())));
    add("role", &|| Column::Text(each(readings, |channel, _| channel.role.as_str().to_owned())));
    add("at", &|| Column::Instant(each(readings, |channel, row| channel.at_ms[row])));
    add("elapsed_ms", &|| Column::Int(each(readings, |channel, row| channel.at_ms[row] - zero)));
    add("temp_c", &|| Column::Float(each(readings, |channel, row| f64::from(channel.temp_c[row]))));
    add("flag", &|| Column::Text(each(readings, |c, row| c.flag[row].as_str().to_owned())));
    add("source", &|| Column::Text(each(readings, |channel, row| source(channel.source[row]))));
    let line = || Column::Int(each(readings, |channel, row| i64::from(channel.line[row])));
    add("line", &line);
    if table.columns().is_empty() {
        table.push("line", line());
    }
    table
}
