//! A sheet as rows of named cells.

use crate::error::{IngestError, Place, shown};
use crate::layout::Delimiter;
use crate::text::{Splitter, Text};
use cook::{LineAccount, RejectedRow};
use std::path::Path;

/// One row of a sheet.
pub(super) struct Row {
    pub(super) line: u64,
    pub(super) byte: u64,
    pub(super) lines: u64,
    /// Cells by column.
    pub(super) cells: Vec<String>,
    /// The row as written.
    pub(super) text: String,
}

/// A sheet's rows, and what was not one.
pub(super) struct Sheet {
    pub(super) shown_as: String,
    /// Column names: lower case, `_` between words.
    pub(super) names: Vec<String>,
    /// Column names as written.
    pub(super) written: Vec<String>,
    pub(super) header_line: u64,
    pub(super) rows: Vec<Row>,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) account: LineAccount,
    pub(super) content_hash: String,
}

fn normal(name: &str) -> String {
    name.trim().to_lowercase().replace([' ', '-'], "_")
}

impl Sheet {
    /// Reads a sheet whose header has every name in `needed`. Lines before the header
    /// are preamble, lines that begin with `#` remarks.
    pub(super) fn read(path: &Path, shown_as: &str, needed: &[&str]) -> Result<Self, IngestError> {
        let bytes = crate::text::read_bytes(path, shown_as)?;
        let text = Text::decode(&bytes, shown_as)?;
        let (delimiter, header, names) = find_header(&text, shown_as, needed)?;
        let mut sheet = Self {
            shown_as: shown_as.to_owned(),
            written: names.clone(),
            names: names.iter().map(|name| normal(name)).collect(),
            header_line: 0,
            rows: Vec::new(),
            rejected: Vec::new(),
            account: LineAccount::default(),
            content_hash: crate::text::content_hash(&bytes),
        };
        let mut splitter = Splitter::new(delimiter.byte());
        for (index, record) in text.records(delimiter.byte()).enumerate() {
            let lines = u64::from(record.lines);
            sheet.account.lines += lines;
            let row = Row {
                line: record.line.into(),
                byte: text.file_offset(record.start),
                lines,
                cells: Vec::new(),
                text: shown(record.raw),
            };
            if record.is_blank(delimiter.byte()) {
                sheet.account.blank += lines;
            } else if index < header {
                sheet.account.preamble += lines;
            } else if index == header {
                sheet.account.header += lines;
                sheet.header_line = record.line.into();
                sheet.refuse_doubles()?;
            } else if record.raw.trim_ascii_start().starts_with(b"#") {
                sheet.account.footer += lines;
            } else if record.unclosed {
                sheet.reject_row(&row, "unclosed-quote");
            } else {
                let cells = splitter.split(&record);
                if (sheet.names.len()..cells.len()).any(|c| !cells.get(c).is_empty()) {
                    sheet.reject_row(&row, "too-many-cells");
                } else {
                    sheet.account.data += lines;
                    sheet.rows.push(Row { cells: cells.texts(), ..row });
                }
            }
        }
        Ok(sheet)
    }

    fn refuse_doubles(&self) -> Result<(), IngestError> {
        for (i, name) in self.names.iter().enumerate() {
            if !name.is_empty() && self.names[..i].contains(name) {
                return Err(IngestError::Contradiction {
                    place: Place::cell(&self.shown_as, self.header_line, name, b"").into(),
                    what: format!("two columns are called `{name}`"),
                    try_this: "rename or delete one of them".to_owned(),
                });
            }
        }
        Ok(())
    }

    /// Rejects a row that is not among [`Self::rows`] (or is about to leave them).
    pub(super) fn reject_row(&mut self, row: &Row, code: &str) {
        self.account.rejected += row.lines;
        self.rejected.push(RejectedRow {
            source: self.shown_as.clone(),
            line: row.line,
            byte: row.byte,
            column: None,
            code: code.to_owned(),
            text: row.text.clone(),
        });
    }
}

fn find_header(
    text: &Text<'_>,
    shown_as: &str,
    needed: &[&str],
) -> Result<(Delimiter, usize, Vec<String>), IngestError> {
    let mut first: Option<(u64, Vec<String>)> = None;
    for delimiter in Delimiter::ALL {
        let mut splitter = Splitter::new(delimiter.byte());
        for (index, record) in text.records(delimiter.byte()).take(50).enumerate() {
            let mut names = splitter.split(&record).texts();
            while names.last().is_some_and(String::is_empty) {
                names.pop();
            }
            if needed.iter().all(|wanted| names.iter().any(|name| normal(name) == *wanted)) {
                return Ok((delimiter, index, names));
            }
            let longer = first.as_ref().is_none_or(|(_, other)| names.len() > other.len());
            if !names.is_empty() && !record.raw.starts_with(b"#") && longer {
                first = Some((record.line.into(), names));
            }
        }
    }
    let (line, names) = first.unwrap_or((0, Vec::new()));
    let normal_names: Vec<String> = names.iter().map(|name| normal(name)).collect();
    let missing =
        needed.iter().find(|w| !normal_names.iter().any(|n| n == *w)).copied().unwrap_or("cook");
    let near = cook::settings::nearest(missing, normal_names.iter().map(String::as_str));
    Err(IngestError::NoTable {
        place: Place::cell(shown_as, line, missing, names.join(", ").as_bytes()).into(),
        what: format!("the sheet has no column `{missing}`"),
        try_this: match near {
            Some(near) => format!("rename the column `{near}` to `{missing}`"),
            None => format!("a header line with the columns {}", needed.join(", ")),
        },
    })
}
