//! Workbooks, XLSX and ODS, as worksheets of typed cells.
//!
//! Both are ZIP archives of XML. What they may inflate to is bounded before any of it is
//! kept, so that a small file cannot fill the memory.

mod ods;
mod xlsx;

use super::cell::Cell;
use crate::container::Capped;
use crate::error::{IngestError, Place};
use std::borrow::Cow;
use std::fmt::Display;
use std::io::{Cursor, Read};
use zip::ZipArchive;

/// All XML of a workbook together, inflated: 2,000 cooks take about 5 MB.
const LARGEST_XML: u64 = 64 << 20;
/// Cells that are not empty, over all worksheets.
const MOST_CELLS: usize = 1_000_000;
/// Bytes of text in them.
const MOST_TEXT: usize = 64 << 20;
/// Columns of a worksheet.
const MOST_COLUMNS: u32 = 2_048;

/// One worksheet.
#[derive(Debug, Default)]
pub(super) struct Worksheet {
    pub(super) name: String,
    pub(super) hidden: bool,
    /// Whether bare numbers can be serial dates, and if so, of the 1904 system.
    pub(super) serial_1904: Option<bool>,
    /// Rows that have a cell that is not empty, by number.
    pub(super) rows: Vec<WorksheetRow>,
}

/// The cells of one row that are not empty.
#[derive(Debug, Default)]
pub(super) struct WorksheetRow {
    /// From 1.
    pub(super) number: u32,
    /// Column, from 0, and cell; in the order of columns.
    pub(super) cells: Vec<(u32, Cell)>,
}

/// Why a workbook cannot be read, in words.
struct Unreadable {
    what: String,
    try_this: &'static str,
}

const SAVE_AGAIN: &str = "open it in a spreadsheet program and save it again, or export CSV";
const SMALLER: &str = "delete what is not the table of cooks, or export that worksheet as CSV";

impl Unreadable {
    fn new(what: impl Into<Cow<'static, str>>) -> Self {
        Self { what: what.into().into_owned(), try_this: SAVE_AGAIN }
    }

    /// What a library says.
    fn because(error: impl Display) -> Self {
        Self::new(format!("it is damaged: {error}"))
    }

    fn too_large(what: &str) -> Self {
        Self { what: format!("{what}: this is no sheet that people write"), try_this: SMALLER }
    }
}

/// What is still allowed.
struct Budget {
    cells: usize,
    text: usize,
}

impl Budget {
    /// Takes a cell into account before it is copied.
    fn take(&mut self, column: u32, text: usize) -> Result<(), Unreadable> {
        if column >= MOST_COLUMNS {
            return Err(Unreadable::too_large(&format!("more than {MOST_COLUMNS} columns")));
        }
        let cells = self.cells.checked_sub(1);
        self.cells =
            cells.ok_or_else(|| Unreadable::too_large(&format!("more than {MOST_CELLS} cells")))?;
        let text = self.text.checked_sub(text);
        self.text = text.ok_or_else(|| Unreadable::too_large("more than 64 MiB of text"))?;
        Ok(())
    }
}

impl Worksheet {
    /// Adds a cell; rows and columns may come in any order.
    fn push(&mut self, row: u32, column: u32, cell: Cell) {
        match self.rows.last_mut() {
            Some(last) if last.number == row => last.cells.push((column, cell)),
            _ => self.rows.push(WorksheetRow { number: row, cells: vec![(column, cell)] }),
        }
    }

    /// Brings rows and columns into order; of two cells at one place the later one stays.
    fn order(&mut self) {
        if !self.rows.is_sorted_by(|a, b| a.number < b.number) {
            self.rows.sort_by_key(|row| row.number);
            self.rows.dedup_by(|later, kept| {
                let same = later.number == kept.number;
                if same {
                    kept.cells.append(&mut later.cells);
                }
                same
            });
        }
        for row in &mut self.rows {
            if !row.cells.is_sorted_by(|a, b| a.0 < b.0) {
                row.cells.sort_by_key(|cell| cell.0);
                row.cells.dedup_by(|later, kept| {
                    let same = later.0 == kept.0;
                    if same {
                        kept.1 = std::mem::take(&mut later.1);
                    }
                    same
                });
            }
        }
    }
}

/// Whether bytes are a ZIP archive, as all workbooks are that this crate reads.
pub(super) fn is_zip(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

/// Reads every worksheet of a workbook.
///
/// # Errors
/// [`IngestError::BadContainer`]: no workbook, a corrupt or encrypted or oversized one.
pub(super) fn read(bytes: &[u8], shown_as: &str) -> Result<Vec<Worksheet>, IngestError> {
    parts(bytes).map_err(|error| IngestError::BadContainer {
        place: Place::file(shown_as).into(),
        what: error.what,
        try_this: error.try_this.to_owned(),
    })
}

fn parts(bytes: &[u8]) -> Result<Vec<Worksheet>, Unreadable> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(Unreadable::because)?;
    let has = |name: &str| archive.index_for_name(name).is_some();
    let (xlsx, ods) = (has("xl/workbook.xml"), has("content.xml"));
    if has("xl/workbook.bin") {
        return Err(Unreadable::new("this is a binary workbook (XLSB), which is not read"));
    }
    if !xlsx && !ods {
        return Err(Unreadable {
            what: "this is an archive, but no workbook (XLSX or ODS) and no CSV".to_owned(),
            try_this: "unpack it and name the sheet inside",
        });
    }
    let mut left = LARGEST_XML;
    for index in 0..archive.len() {
        let part = archive.by_index(index).map_err(Unreadable::because)?;
        let name = part.name().map_err(Unreadable::because)?.to_ascii_lowercase();
        if [".xml", ".rels", ".vml"].iter().any(|ending| name.ends_with(ending)) {
            left -= inflated_size(part, left)?;
        }
    }
    let mut budget = Budget { cells: MOST_CELLS, text: MOST_TEXT };
    let mut worksheets = if xlsx {
        xlsx::worksheets(bytes, &mut budget)?
    } else {
        ods::worksheets(&mut archive, &mut budget)?
    };
    worksheets.iter_mut().for_each(Worksheet::order);
    Ok(worksheets)
}

/// How many bytes a part inflates to, which may be other than it says.
fn inflated_size(part: impl Read, most: u64) -> Result<u64, Unreadable> {
    std::io::copy(&mut Capped::new(part, most), &mut std::io::sink()).map_err(|error| {
        if Capped::<&[u8]>::is_over(&error) {
            Unreadable::too_large("it inflates to more than 64 MiB")
        } else {
            Unreadable::because(error)
        }
    })
}
