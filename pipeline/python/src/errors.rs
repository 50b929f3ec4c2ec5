//! Errors as the exceptions of `cookstudy.errors`.

use crate::given::Problem;
use cook::{Question, SettingsError};
use ingest::IngestError;
use outlook::OutlookError;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use rows::RowsError;
use std::path::Path;
use store::StoreError;
use study::StudyError;

/// Where an error was found.
#[derive(Debug, Default)]
struct Where {
    file: Option<String>,
    line: Option<u64>,
    column: Option<String>,
}

impl Where {
    fn file(path: &Path) -> Self {
        Self { file: Some(path.display().to_string()), ..Self::default() }
    }
}

fn raised(class: &str, message: String, place: Where, question: Option<&Question>) -> PyErr {
    Python::attach(|py| {
        let made = || -> PyResult<Bound<'_, PyAny>> {
            let class = py.import("cookstudy.errors")?.getattr(class)?;
            let about = PyDict::new(py);
            about.set_item("file", place.file)?;
            about.set_item("line", place.line)?;
            about.set_item("column", place.column)?;
            if let Some(question) = question {
                let asked = PyDict::new(py);
                asked.set_item("id", &question.id)?;
                asked.set_item("asks", &question.asks)?;
                asked.set_item("because", &question.because)?;
                let answers = PyDict::new(py);
                for answer in &question.answers {
                    answers.set_item(&answer.take, &answer.then)?;
                }
                asked.set_item("answers", answers)?;
                about.set_item("question", asked)?;
            }
            class.call((message,), Some(&about))
        };
        made().map_or_else(|error| error, PyErr::from_value)
    })
}

/// A mistake of this program.
pub(crate) fn fault(message: &str) -> PyErr {
    raised("CookstudyError", format!("a fault of cookstudy: {message}"), Where::default(), None)
}

/// An argument that is not what it must be.
pub(crate) fn argument(message: impl Into<String>) -> PyErr {
    raised("TableError", message.into(), Where::default(), None)
}

/// A log that cannot be read.
pub(crate) fn of_log(error: &IngestError) -> PyErr {
    let place = error.place().map(|place| Where {
        file: Some(place.path.clone()),
        line: (place.line > 0).then_some(place.line),
        column: place.column.clone(),
    });
    let class = if error.needs_answer() { "NeedsAnswer" } else { "LogError" };
    raised(class, error.to_string(), place.unwrap_or_default(), error.question())
}

/// Something of a log that only this package asks for.
pub(crate) fn log(path: &str, message: String) -> PyErr {
    raised("LogError", message, Where::file(Path::new(path)), None)
}

/// Settings that cannot be used.
pub(crate) fn of_settings(error: &SettingsError) -> PyErr {
    let place = match error {
        SettingsError::Unreadable { path, .. } | SettingsError::Value { path, .. } => {
            Where::file(path)
        }
        SettingsError::Text { path, line, column, .. } => Where {
            line: Some(*line as u64),
            column: Some(column.to_string()),
            ..Where::file(path)
        },
    };
    raised("SettingsError", error.to_string(), place, None)
}

/// A table that does not hold what it must; `table` is the argument's name.
pub(crate) fn of_table(table: &str, problem: &Problem) -> PyErr {
    let (message, column) = match problem {
        Problem::Rows(RowsError::Column { column, message }) => {
            (format!("{table}: column `{column}` {message}"), Some(column.clone()))
        }
        Problem::Stream(error) => (format!("{table}: {error}"), None),
    };
    raised("TableError", message, Where { column, ..Where::default() }, None)
}

/// A store that cannot be read or written.
pub(crate) fn of_store(error: &StoreError) -> PyErr {
    let place = match error {
        StoreError::Missing { path }
        | StoreError::MissingTable { path, .. }
        | StoreError::Locked { path }
        | StoreError::Io { path, .. }
        | StoreError::Parquet { path, .. } => Where::file(path),
        StoreError::Column { path, column, .. } => {
            Where { column: Some(column.clone()), ..Where::file(path) }
        }
        StoreError::NoReadings { folder, .. } => Where::file(folder),
        StoreError::Clash { .. } => Where::default(),
    };
    raised("StoreError", error.to_string(), place, None)
}

/// A study that cannot be made.
pub(crate) fn of_study(error: &StudyError) -> PyErr {
    match error {
        StudyError::Settings(error) => of_settings(error),
        StudyError::Claims { path, .. } | StudyError::Lock { path, .. } => {
            raised("SettingsError", error.to_string(), Where::file(path), None)
        }
        StudyError::MissingColumn { column, .. } | StudyError::ColumnType { column, .. } => {
            let place = Where { column: Some(column.clone()), ..Where::default() };
            raised("TableError", format!("measures: {error}"), place, None)
        }
        StudyError::ColumnValue { column, row, .. } => {
            let place =
                Where { column: Some(column.clone()), line: Some(*row as u64), ..Where::default() };
            raised("TableError", format!("measures: {error}"), place, None)
        }
        error => raised("TableError", format!("measures: {error}"), Where::default(), None),
    }
}

/// Why there is no forecast at all.
pub(crate) fn of_outlook(error: &OutlookError) -> PyErr {
    raised("CookstudyError", error.to_string(), Where::default(), None)
}
