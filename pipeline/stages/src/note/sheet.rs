//! The events sheet as text, so that what people wrote in it stays as they wrote it.

use super::season::NotedSeason;
use crate::csv_sheet::CsvSheet;
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
    sheet: CsvSheet,
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
        let sheet = CsvSheet::of(path.clone(), text).ok_or_else(|| without(path, "cook"))?;
        let columns = sheet.columns();
        let mut by_id = HashMap::new();
        for row in sheet.rows() {
            let row = Standing(columns.iter().cloned().zip(row).collect());
            let id = row.0.get("id").map(|id| id.trim().to_owned());
            by_id.extend(id.filter(|id| !id.is_empty()).map(|id| (id, row)));
        }
        Ok(Self { sheet, by_id })
    }

    pub(super) fn of_id(&self, id: &str) -> Option<&Standing> {
        self.by_id.get(id)
    }

    /// Adds a row and returns its line.
    pub(super) fn append(&mut self, row: &Row) -> Result<String, StageError> {
        let mut columns = self.sheet.columns();
        if !row.id.is_empty() && !columns.iter().any(|column| column == "id") {
            self.sheet.add_column("id")?;
            columns.push("id".to_owned());
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
            .find(|(wanted, is)| *is && !columns.iter().any(|column| column == wanted));
        if let Some((missing, _)) = missing {
            return Err(without(self.sheet.path().to_owned(), missing));
        }
        let cells: Vec<(&str, &str)> =
            columns.iter().map(|column| (column.as_str(), row.cell(column))).collect();
        let line = self.sheet.append(&cells);
        if !row.id.is_empty() {
            let cells = cells.iter().map(|(c, cell)| ((*c).to_owned(), (*cell).to_owned()));
            self.by_id.insert(row.id.clone(), Standing(cells.collect()));
        }
        Ok(line)
    }

    pub(super) fn write(&self) -> Result<(), StageError> {
        self.sheet.write()
    }
}

fn without(path: PathBuf, column: &str) -> StageError {
    StageError::Table {
        path,
        line: 1,
        column: column.to_owned(),
        message: "the header has no such column; it should read cook,time,event,value,note".into(),
    }
}
