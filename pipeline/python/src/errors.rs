//! Errors as the exceptions of `cookstudy.errors`.

use crate::given::Problem;
use cook::{Question, SettingsError};
use ingest::IngestError;
use pyo3::exceptions::PyException;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use rows::RowsError;
use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
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

/// Runs what Python called: a panic is an exception like any other, since none may cross into Python.
pub(crate) fn guarded<T>(work: impl FnOnce() -> PyResult<T>) -> PyResult<T> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|panic| Err(fault(&said(&*panic))))
}

/// What a panic said.
pub(crate) fn said(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<String>().map(String::as_str);
    text.or_else(|| panic.downcast_ref::<&str>().copied()).unwrap_or("no word").to_owned()
}

/// A mistake of this program.
pub(crate) fn fault(message: &str) -> PyErr {
    let message = format!("a fault of cookstudy, please report: {message}");
    raised("CookstudyError", message, Where::default(), None)
}

/// An argument that is no table.
pub(crate) fn no_table(message: impl Into<String>) -> PyErr {
    raised("TableError", message.into(), Where::default(), None)
}

/// Whoever sent a table failed at it. An interrupt is nobody's failure.
pub(crate) fn of_sender(py: Python<'_>, table: &str, error: PyErr) -> PyErr {
    let is_ours = error.get_type(py).module().is_ok_and(|module| module == "cookstudy.errors");
    if is_ours || !error.is_instance_of::<PyException>(py) {
        return error;
    }
    // Some senders give their sentence in parts.
    let args = error.value(py).getattr("args").and_then(|args| args.extract::<Vec<String>>());
    let said = args.map_or_else(|_| error.value(py).to_string(), |parts| parts.join("; "));
    let raised = no_table(format!("{table}: {said}"));
    raised.set_cause(py, Some(error));
    raised
}

/// A mapping that cannot be settings or claims.
pub(crate) fn mapping(name: &str, message: &dyn std::fmt::Display) -> PyErr {
    raised("SettingsError", format!("{name}: {message}"), Where::default(), None)
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

/// Settings that cannot be used. Those of a mapping have neither file nor line that anybody could look at.
pub(crate) fn of_settings(error: &SettingsError, is_mapping: bool) -> PyErr {
    if is_mapping {
        let message = match error {
            SettingsError::Text { path, message, text, suggestion, .. } => {
                let known = suggestion.as_ref();
                let known = known.map_or(String::new(), |key| format!("; did you mean `{key}`?"));
                format!("{}: {message}: {}{known}", path.display(), text.trim())
            }
            error => error.to_string(),
        };
        return raised("SettingsError", message, Where::default(), None);
    }
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
    let (message, place) = match problem {
        Problem::Rows(RowsError::Column { column, row, message }) => {
            let row_said = row.map_or(String::new(), |row| format!(", row {row}:"));
            let message = format!("{table}: column `{column}`{row_said} {message}");
            (message, Where { column: Some(column.clone()), line: *row, file: None })
        }
        Problem::Stream(error) => (format!("{table}: {error}"), Where::default()),
    };
    raised("TableError", message, place, None)
}

/// A store that cannot be read or written.
pub(crate) fn of_store(error: &StoreError) -> PyErr {
    let place = match error {
        StoreError::Missing { path }
        | StoreError::MissingTable { path, .. }
        | StoreError::Locked { path }
        | StoreError::Io { path, .. }
        | StoreError::Damaged { path, .. }
        | StoreError::WrittenMeanwhile { path }
        | StoreError::Parquet { path, .. } => Where::file(path),
        StoreError::Column { path, column, .. } => {
            Where { column: Some(column.clone()), ..Where::file(path) }
        }
        StoreError::NoReadings { folder, .. } => Where::file(folder),
        StoreError::Clash { .. } => Where::default(),
    };
    raised("StoreError", error.to_string(), place, None)
}

/// A study of a table, which is the argument's name, that cannot be made; `is_mapping`: the claims have no file.
pub(crate) fn of_study(error: &StudyError, table: &str, is_mapping: bool) -> PyErr {
    match error {
        StudyError::Settings(error) => of_settings(error, is_mapping),
        StudyError::Claims { path, .. } | StudyError::Lock { path, .. } => {
            let place = if is_mapping { Where::default() } else { Where::file(path) };
            raised("SettingsError", error.to_string(), place, None)
        }
        StudyError::MissingColumn { column, .. } | StudyError::ColumnType { column, .. } => {
            let place = Where { column: Some(column.clone()), ..Where::default() };
            raised("TableError", format!("{table}: {error}"), place, None)
        }
        StudyError::ColumnValue { column, row, .. } => {
            let place =
                Where { column: Some(column.clone()), line: Some(*row as u64), ..Where::default() };
            raised("TableError", format!("{table}: {error}"), place, None)
        }
        StudyError::UnnamedCook { row } => {
            let place = Where { column: Some("cook".into()), line: Some(*row as u64), file: None };
            raised("TableError", format!("{table}: {error}"), place, None)
        }
        StudyError::DuplicateCook { second, .. } => {
            let place =
                Where { column: Some("cook".into()), line: Some(*second as u64), file: None };
            raised("TableError", format!("{table}: {error}"), place, None)
        }
        error => raised("TableError", format!("{table}: {error}"), Where::default(), None),
    }
}

/// There is nothing that a forecast could be made from.
pub(crate) fn no_past() -> PyErr {
    let message = "past: no past cook can be used: none has a pit, a core and a finish; with `bundled=True` simulated cooks stand in";
    raised("CookstudyError", message.to_owned(), Where::default(), None)
}
