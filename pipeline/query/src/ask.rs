//! The answer to a question.

use crate::error::{QueryError, nearest};
use crate::frame::{Tables, to_table};
use crate::order::{By, Key, is_hidden};
use crate::question::{Question, for_engine};
use columns::Table;
use polars::prelude::{Column, DataFrame, IntoLazy, PolarsError, SortMultipleOptions};
use polars::sql::SQLContext;
use polars::sql::keywords::all_functions;

/// What was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The rows, in order.
    pub table: Table,
    /// For each column, the column of a table whose values it holds, in that column's unit; `None`
    /// where it is computed in another way.
    pub sources: Vec<Option<String>>,
}

impl Tables {
    /// Answers a question over these tables.
    ///
    /// # Errors
    /// As [`Question::parse`] and [`Question::ask`].
    pub fn ask(&self, sql: &str) -> Result<Table, QueryError> {
        let names: Vec<&str> = self.frames.keys().map(String::as_str).collect();
        Ok(Question::parse(sql, &names)?.ask(self)?.table)
    }
}

impl Question {
    /// Answers the question over tables, which must hold those that it reads.
    ///
    /// # Errors
    /// A column or function that is not there; values that cannot be set against each other.
    pub fn ask(&self, tables: &Tables) -> Result<Answer, QueryError> {
        let mut context = SQLContext::new();
        for name in self.tables() {
            if let Some(frame) = tables.frames.get(name) {
                context.register(name, frame.clone().lazy());
            }
        }
        let explained = |error: PolarsError| self.explain(tables, &error);
        let mut query = self.query.clone();
        for_engine(&mut query, &|name| {
            self.columns(tables).any(|column| column.name() == name && column.dtype().is_datetime())
        });
        let frame = context
            .execute(&query.to_string())
            .and_then(polars::prelude::LazyFrame::collect)
            .map_err(explained)?;
        let frame = self.ordered(frame)?;
        let table = to_table(&frame)?;
        let names = frame.columns().iter().map(|column| column.name().as_str());
        let sources = names.map(|name| self.source(name)).collect();
        Ok(Answer { table, sources })
    }

    /// The columns of the tables that the question reads.
    fn columns<'a>(&'a self, tables: &'a Tables) -> impl Iterator<Item = &'a Column> {
        let frames = self.tables().iter().filter_map(|table| tables.frames.get(table));
        frames.flat_map(polars::prelude::DataFrame::columns)
    }

    /// The rows in the order asked for, then by all columns; the hidden columns taken away.
    fn ordered(&self, frame: DataFrame) -> Result<DataFrame, QueryError> {
        let failed = |error: PolarsError| QueryError::Failed(error.to_string());
        let all: Vec<String> =
            frame.columns().iter().map(|column| column.name().to_string()).collect();
        let shown = all.iter().filter(|name| !is_hidden(name));
        let mut by: Vec<(String, &Key)> = Vec::new();
        for key in &self.order.keys {
            match &key.by {
                By::All => by.extend(shown.clone().map(|name| (name.clone(), key))),
                By::Name(name) if all.contains(name) => by.push((name.clone(), key)),
                By::Name(name) => {
                    return Err(QueryError::Unknown {
                        what: "column of the answer",
                        name: name.clone(),
                        nearest: nearest(name, shown.map(String::as_str)),
                    });
                }
                By::Place(place) => match shown.clone().nth(place.wrapping_sub(1)) {
                    Some(name) => by.push((name.clone(), key)),
                    None => {
                        return Err(QueryError::Refused(format!(
                            "ORDER BY {place}: the answer has {} columns",
                            shown.count()
                        )));
                    }
                },
            }
        }
        let ties = shown.clone().filter(|name| !by.iter().any(|(key, _)| key == *name));
        let ties: Vec<String> = ties.cloned().collect();
        let descending = by.iter().map(|(_, key)| key.descending);
        let nulls_last = by.iter().map(|(_, key)| key.nulls_last);
        let options = SortMultipleOptions::default()
            .with_order_descending_multi(descending.chain(ties.iter().map(|_| false)))
            .with_nulls_last_multi(nulls_last.chain(ties.iter().map(|_| true)));
        let names: Vec<String> = by.into_iter().map(|(name, _)| name).chain(ties.clone()).collect();
        let frame =
            if names.is_empty() { frame } else { frame.sort(names, options).map_err(failed)? };
        let limit = self.slice.limit.unwrap_or(frame.height());
        let frame = frame.slice(self.slice.offset as i64, limit);
        frame.select(shown.map(String::as_str)).map_err(failed)
    }

    /// What the engine says, in words of the question.
    fn explain(&self, tables: &Tables, error: &PolarsError) -> QueryError {
        let message = error.to_string();
        let message = message.split("\n\n").next().unwrap_or_default();
        let quoted = message.split(['\'', '"']).nth(1).unwrap_or_default();
        let name = quoted.rsplit('.').next().unwrap_or_default().to_owned();
        // By its words: on its way the engine wraps an error in others, which hides its kind.
        let says = |words: &str| message.contains(words) && !name.is_empty();
        let failed = |text: String| QueryError::Failed(text);
        if says("unable to find column") || says("no column named") {
            let columns = || self.columns(tables).map(|column| column.name().as_str());
            if columns().any(|column| column == name) {
                return failed(format!(
                    "column `{name}` is not known where it is named; select it too, or name its table"
                ));
            }
            let text = || format!("the text '{name}', in single quotes");
            let nearest =
                nearest(&name, columns()).or_else(|| self.quoted.contains(&name).then(text));
            return QueryError::Unknown { what: "column", nearest, name };
        }
        if says("no table or struct column named") {
            let nearest = nearest(&name, self.tables().iter().map(String::as_str));
            return QueryError::Unknown { what: "table", nearest, name };
        }
        if says("unsupported function") {
            let nearest = nearest(&name, all_functions());
            return QueryError::Unknown { what: "function", nearest, name };
        }
        if says("duplicate") || says("more than one occurrence") {
            return failed(format!(
                "two columns are named `{name}`; name one of them otherwise, by AS"
            ));
        }
        if message.contains("subquery comparisons") {
            return failed(
                "a value is not compared with a SELECT; join it: FROM measures CROSS JOIN (SELECT AVG(stall_min) AS mean FROM measures) AS every WHERE stall_min > mean".into(),
            );
        }
        // What follows these are the engine's own types.
        let end = ["Ident {", "Identifier(", "; found:\n", "ValueWithSpan"]
            .iter()
            .filter_map(|sign| message.find(sign))
            .min();
        match end {
            Some(end) => {
                let known =
                    message[..end].rsplit_once(['(', '[', ' ']).map_or("", |(left, _)| left);
                failed(format!(
                    "this form of SQL is not known here: {}",
                    known.trim_end_matches(['(', '['])
                ))
            }
            None => failed(message.to_owned()),
        }
    }
}
