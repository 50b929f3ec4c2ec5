//! A season sheet in CSV, written in place: cells and rows are put in, every other byte stays.

use crate::error::StageError;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// The sheet's text and where its cells are.
#[derive(Debug)]
pub(crate) struct CsvSheet {
    path: PathBuf,
    text: String,
    delimiter: char,
    records: Vec<Vec<Range<usize>>>,
    /// The record with the headings.
    header: usize,
}

/// A heading as it is compared: lower case, `_` between words.
fn normal(text: &str) -> String {
    let text = text.trim_start_matches('\u{feff}').trim().trim_matches('"');
    text.to_lowercase().split(|c: char| !c.is_alphanumeric()).collect::<Vec<_>>().join("_")
}

impl CsvSheet {
    /// Reads a sheet; `None` where it is no UTF-8 text with a column `cook`: then cells are printed for a hand to fill in.
    pub(crate) fn read(path: PathBuf) -> Result<Option<Self>, StageError> {
        let bytes = std::fs::read(&path).map_err(|error| StageError::io(&path, error))?;
        Ok(String::from_utf8(bytes).ok().and_then(|text| Self::of(path, text)))
    }

    /// The same of a text.
    pub(crate) fn of(path: PathBuf, text: String) -> Option<Self> {
        for delimiter in [',', ';', '\t'] {
            let records = records(&text, delimiter);
            let header = records.iter().take(50).position(|record| {
                record.len() > 1 && record.iter().any(|cell| normal(&text[cell.clone()]) == "cook")
            });
            if let Some(header) = header {
                return Some(Self { path, text, delimiter, records, header });
            }
        }
        None
    }

    /// The file.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// The columns, as headings are compared.
    pub(crate) fn columns(&self) -> Vec<String> {
        self.records[self.header].iter().map(|cell| normal(&self.text[cell.clone()])).collect()
    }

    /// The cells of each row, without their quotes.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Vec<String>> + '_ {
        (self.header + 1..self.records.len())
            .map(|row| (0..self.records[row].len()).map(|column| self.cell(row, column)).collect())
    }

    fn column(&self, name: &str) -> Option<usize> {
        self.records[self.header].iter().position(|cell| normal(&self.text[cell.clone()]) == name)
    }

    /// What a cell says, without its quotes.
    fn cell(&self, record: usize, column: usize) -> String {
        let cell = self.records[record].get(column).map_or("", |cell| &self.text[cell.clone()]);
        let cell = cell.trim();
        match cell.strip_prefix('"').and_then(|inner| inner.strip_suffix('"')) {
            Some(inner) => inner.replace("\"\"", "\""),
            None => cell.to_owned(),
        }
    }

    fn row_of(&self, cook: &str) -> Option<usize> {
        let column = self.column("cook")?;
        (self.header + 1..self.records.len()).find(|row| self.cell(*row, column) == cook)
    }

    pub(crate) fn has(&self, cook: &str) -> bool {
        self.row_of(cook).is_some()
    }

    fn line_end(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }

    fn written(&self, value: &str) -> String {
        if value.contains([self.delimiter, '"', '\n', '\r']) {
            format!("\"{}\"", value.replace('"', "\"\""))
        } else {
            value.to_owned()
        }
    }

    /// Adds a row with these cells by column, and gives its line; columns that the sheet has not are left out.
    pub(crate) fn append(&mut self, cells: &[(&str, &str)]) -> String {
        let mut row = vec![String::new(); self.records[self.header].len()];
        for (column, value) in cells {
            if let Some(place) = self.column(column) {
                row[place] = self.written(value);
            }
        }
        let line = row.join(&self.delimiter.to_string());
        if !self.text.ends_with('\n') {
            self.text.push_str(self.line_end());
        }
        self.text.push_str(&line);
        self.text.push_str(self.line_end());
        self.records = records(&self.text, self.delimiter);
        line
    }

    /// Adds a column behind the others; a row without the cell would be one cut short.
    ///
    /// # Errors
    /// A row with more cells than there are columns: what they are of, nobody knows.
    pub(crate) fn add_column(&mut self, name: &str) -> Result<(), StageError> {
        let last = self.records[self.header].len();
        if let Some(long) = self.records[self.header..].iter().find(|record| record.len() > last) {
            let line = self.text[..long[0].start].matches('\n').count() + 1;
            return Err(StageError::Usage {
                message: format!(
                    "{}:{line}: {} cells, but the sheet has {last} columns, and a column `{name}` is to be added; take out what is too many",
                    self.path.display(),
                    long.len()
                ),
            });
        }
        // From the end, so that the places before stay.
        for record in (self.header..self.records.len()).rev() {
            self.put(record, last, if record == self.header { name } else { "" });
        }
        Ok(())
    }

    /// Puts a value into a cook's cell, in a column of its own behind the others where there is none.
    ///
    /// # Errors
    /// As [`add_column`](Self::add_column).
    pub(crate) fn set(&mut self, cook: &str, column: &str, value: &str) -> Result<(), StageError> {
        let place = if let Some(place) = self.column(column) {
            place
        } else {
            self.add_column(column)?;
            self.records[self.header].len() - 1
        };
        if let Some(row) = self.row_of(cook) {
            self.put(row, place, &self.written(value));
        }
        Ok(())
    }

    fn put(&mut self, record: usize, place: usize, cell: &str) {
        let cells = &self.records[record];
        if let Some(range) = cells.get(place) {
            self.text.replace_range(range.clone(), cell);
        } else {
            // The row is shorter than the header.
            let gap = self.delimiter.to_string().repeat(place + 1 - cells.len());
            let end = cells.last().map_or(0, |cell| cell.end);
            self.text.insert_str(end, &(gap + cell));
        }
        self.records = records(&self.text, self.delimiter);
    }

    pub(crate) fn write(&self) -> Result<(), StageError> {
        store::write_input(&self.path, self.text.as_bytes())?;
        Ok(())
    }
}

/// The cells of each record as ranges of bytes, line ends left out; empty lines are no records.
fn records(text: &str, delimiter: char) -> Vec<Vec<Range<usize>>> {
    let mut records: Vec<Vec<Range<usize>>> = Vec::new();
    let mut cells: Vec<Range<usize>> = Vec::new();
    let (mut from, mut is_quoted) = (0, false);
    for (at, sign) in text.char_indices() {
        match sign {
            '"' => is_quoted = !is_quoted,
            _ if is_quoted => {}
            '\n' => {
                let end = if text[from..at].ends_with('\r') { at - 1 } else { at };
                if !cells.is_empty() || end > from {
                    cells.push(from..end);
                    records.push(std::mem::take(&mut cells));
                }
                from = at + 1;
            }
            _ if sign == delimiter => {
                cells.push(from..at);
                from = at + sign.len_utf8();
            }
            _ => {}
        }
    }
    if from < text.len() || !cells.is_empty() {
        cells.push(from..text.len());
        records.push(cells);
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(text: &str) -> CsvSheet {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.csv");
        std::fs::write(&path, text).unwrap();
        CsvSheet::read(path).unwrap().unwrap()
    }

    #[test]
    fn cells_are_put_in_and_every_other_byte_stays() {
        let text = "# ours\r\nCook;\"note; long\";arm\r\none;\"said \"\"so\"\"\r\ntwice\";\r\n\r\ntwo;x\r\n";
        let mut own = sheet(text);
        assert!(own.has("one") && !own.has("three"));
        own.set("one", "arm", "foil").unwrap();
        own.set("two", "arm", "a;b").unwrap();
        assert_eq!(
            own.text,
            "# ours\r\nCook;\"note; long\";arm\r\none;\"said \"\"so\"\"\r\ntwice\";foil\r\n\r\ntwo;x;\"a;b\"\r\n"
        );
        own.set("two", "block", "p1").unwrap();
        assert!(own.text.contains("arm;block\r\n") && own.text.contains("\";foil;\r\n"));
        assert!(own.text.ends_with("\"a;b\";p1\r\n"), "{}", own.text);
        own.append(&[("cook", "three"), ("nothing", "x")]);
        assert!(own.text.ends_with("\r\nthree;;;\r\n"), "{}", own.text);
    }

    #[test]
    fn a_row_with_cells_too_many_is_named_and_left_alone() {
        let mut own = sheet("cook,note\none,x\ntwo,x,y\n");
        let error = own.set("one", "arm", "foil").unwrap_err().to_string();
        assert!(error.contains("sheet.csv:3: 3 cells, but the sheet has 2 columns"), "{error}");
        assert_eq!(own.text, "cook,note\none,x\ntwo,x,y\n");
    }

    #[test]
    fn what_is_no_sheet_is_left_to_a_hand() {
        let folder = tempfile::tempdir().unwrap();
        for bytes in [&b"name,weight\na,1\n"[..], b"cook,n\xe9e\na,1\n"] {
            let path = folder.path().join("sheet.csv");
            std::fs::write(&path, bytes).unwrap();
            assert!(CsvSheet::read(path).unwrap().is_none());
        }
    }

    #[test]
    fn a_last_line_without_its_end_is_kept_whole() {
        let mut own = sheet("cook,arm\none,");
        own.set("one", "arm", "foil").unwrap();
        own.append(&[("cook", "two")]);
        assert_eq!(own.text, "cook,arm\none,foil\ntwo,\n");
    }
}
