//! The events sheet as text, so that what people wrote in it stays as they wrote it.

use super::season::NotedSeason;
use crate::error::StageError;
use std::collections::HashMap;
use std::fs;
use std::path::PathBuf;

/// One row of the sheet, as text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Row {
    pub(super) cook: String,
    pub(super) time: String,
    pub(super) event: &'static str,
    pub(super) value: String,
    pub(super) note: String,
    pub(super) id: String,
}

impl Row {
    fn cell(&self, column: &str) -> &str {
        match column {
            "cook" => &self.cook,
            "time" => &self.time,
            "event" => self.event,
            "value" => &self.value,
            "note" => &self.note,
            "id" => &self.id,
            _ => "",
        }
    }
}

/// A row that is there, its cells by column.
#[derive(Debug, Default)]
pub(super) struct Standing(HashMap<String, String>);

impl Standing {
    /// Whether it says the same as another of its id, note aside.
    pub(super) fn says(&self, row: &Row) -> bool {
        ["cook", "time", "event", "value"]
            .into_iter()
            .all(|column| self.0.get(column).map_or("", |cell| cell.trim()) == row.cell(column))
    }
}

pub(super) struct EventsSheet {
    path: PathBuf,
    text: String,
    columns: Vec<String>,
    by_id: HashMap<String, Standing>,
}

/// Whether a sheet's name is that of a workbook; it may name a worksheet behind `#`.
pub(crate) fn is_spreadsheet(name: &str) -> bool {
    name.to_lowercase()
        .split('#')
        .filter_map(|part| part.rsplit_once('.'))
        .any(|(_, ending)| matches!(ending, "xlsx" | "ods" | "xls"))
}

impl EventsSheet {
    pub(super) fn read(season: &NotedSeason) -> Result<Self, StageError> {
        let name = &season.events_name;
        if is_spreadsheet(name) {
            return Err(StageError::Usage {
                message: format!(
                    "{name} is a spreadsheet, which only a spreadsheet program should write; use a CSV events sheet to note from the command line"
                ),
            });
        }
        let path = season.folder.join(name);
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                include_str!("../templates/events.csv").to_owned()
            }
            Err(e) => return Err(StageError::io(&path, e)),
        };
        let mut records = reader(&text).into_records();
        let header = records.next().and_then(Result::ok).unwrap_or_default();
        let columns: Vec<String> = header
            .iter()
            .map(|column| column.trim_start_matches('\u{feff}').trim().to_lowercase())
            .collect();
        let mut by_id = HashMap::new();
        for record in records.filter_map(Result::ok) {
            let cells = columns.iter().cloned().zip(record.iter().map(str::to_owned));
            let row = Standing(cells.collect());
            let id = row.0.get("id").map(|id| id.trim().to_owned());
            by_id.extend(id.filter(|id| !id.is_empty()).map(|id| (id, row)));
        }
        Ok(Self { path, text, columns, by_id })
    }

    pub(super) fn of_id(&self, id: &str) -> Option<&Standing> {
        self.by_id.get(id)
    }

    /// Adds a row and returns its line.
    pub(super) fn append(&mut self, row: &Row) -> Result<String, StageError> {
        if !row.id.is_empty() && !self.columns.iter().any(|column| column == "id") {
            self.add_column("id");
        }
        let needed = [
            ("cook", true),
            ("time", true),
            ("event", true),
            ("value", !row.value.is_empty()),
            ("note", !row.note.is_empty()),
        ];
        let missing = needed
            .iter()
            .find(|(wanted, is)| *is && !self.columns.iter().any(|column| column == wanted));
        if let Some((missing, _)) = missing {
            return Err(StageError::Table {
                path: self.path.clone(),
                line: 1,
                column: (*missing).to_owned(),
                message: "the header has no such column; it should read cook,time,event,value,note"
                    .into(),
            });
        }
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer
            .write_record(self.columns.iter().map(|column| row.cell(column)))
            .map_err(|e| StageError::Usage { message: e.to_string() })?;
        let line = String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default();
        if !self.text.is_empty() && !self.text.ends_with('\n') {
            self.text.push('\n');
        }
        self.text.push_str(&line);
        if !row.id.is_empty() {
            let cells = self.columns.iter().map(|c| (c.clone(), row.cell(c).to_owned())).collect();
            self.by_id.insert(row.id.clone(), Standing(cells));
        }
        Ok(line.trim_end().to_owned())
    }

    /// Adds a column behind the others; every row keeps its own writing.
    fn add_column(&mut self, name: &str) {
        let mut starts: Vec<(usize, usize)> = Vec::new();
        let mut reader = reader(&self.text);
        for record in reader.records().filter_map(Result::ok) {
            let start = record.position().map_or(0, csv::Position::byte);
            starts.push((usize::try_from(start).unwrap_or(0), record.len()));
        }
        let mut text = String::with_capacity(self.text.len() + starts.len() + name.len());
        for (place, (start, cells)) in starts.iter().enumerate() {
            let end = starts.get(place + 1).map_or(self.text.len(), |next| next.0);
            let record = &self.text[*start..end];
            let line = record.trim_end_matches(['\r', '\n']);
            text.push_str(line);
            text.push_str(&",".repeat((self.columns.len() + 1).saturating_sub(*cells)));
            if place == 0 {
                text.push_str(name);
            }
            text.push_str(&record[line.len()..]);
        }
        self.text = text;
        self.columns.push(name.to_owned());
    }

    pub(super) fn write(&self) -> Result<(), StageError> {
        store::write_atomically(&self.path, self.text.as_bytes())?;
        Ok(())
    }
}

fn reader(text: &str) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes())
}
