//! One row of a sheet, wherever it stands.

use super::cell::Cell;

/// One row: a line of a CSV file (several where a quoted cell holds line ends) or a row of
/// a worksheet.
#[derive(Debug, Default)]
pub(super) struct GridRow {
    /// First line, or number of the row, from 1.
    pub(super) line: u64,
    /// Lines that it takes.
    pub(super) lines: u64,
    /// Offset in the file; 0 in a workbook.
    pub(super) byte: u64,
    pub(super) cells: Vec<Cell>,
    /// The row as it can be shown.
    pub(super) text: String,
    /// Whether a quote in it is never closed.
    pub(super) unclosed: bool,
    /// Whether it is a remark: a line that begins with `#`; in a workbook, a row with one
    /// cell that does (a row with more is a cook whose name begins so).
    pub(super) remark: bool,
}
