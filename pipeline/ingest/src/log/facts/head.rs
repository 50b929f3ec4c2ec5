//! What the first lines of a log show.

use super::{names, preamble};
use crate::error::Place;
use crate::layout::Layout;
use crate::log::grid::cells::HeadRow;
use crate::log::grid::find::Grid;
use crate::text::Text;

/// A log before anything is decided of it.
pub(crate) struct Facts<'t> {
    pub(crate) text: &'t Text<'t>,
    pub(crate) grid: &'t Grid<'t>,
    pub(crate) shown_as: &'t str,
    /// The layout by which the table was found, or one that says nothing.
    pub(crate) layout: Layout,
    /// One name a column.
    pub(crate) names: Vec<String>,
    /// Indices of the lines of names, in the order of the file.
    pub(crate) header_rows: Vec<usize>,
    /// Index of the line of units.
    pub(crate) units_row: Option<usize>,
    /// Index of the first record of the table.
    pub(crate) first_row: usize,
    /// Rows of the table among the first lines.
    pub(crate) rows: Vec<&'t HeadRow<'t>>,
    /// Lines before the table, as key and value.
    pub(crate) preamble: Vec<(String, String)>,
}

impl<'t> Facts<'t> {
    /// Gathers them.
    pub(crate) fn of(text: &'t Text<'t>, grid: &'t Grid<'t>, shown_as: &'t str) -> Self {
        let layout = grid.layout.clone().unwrap_or_default();
        let header = names::header(grid, &layout);
        let last = header.units.max(header.rows.last().copied());
        let first_row = last.map_or(grid.first, |at| at + 1);
        let named: &[String] = grid.header.map_or(&[], |at| &grid.head[at].cells);
        let rows = grid.head[first_row.min(grid.head.len())..]
            .iter()
            .filter(|row| !row.blank && row.cells != named)
            .collect();
        let preamble = grid
            .head
            .iter()
            .take(header.rows.first().copied().unwrap_or(grid.first))
            .filter(|row| !row.blank)
            .map(|row| {
                preamble::key_and_value(row.record.raw, row.record.line, grid.delimiter.byte())
            })
            .collect();
        Self {
            text,
            grid,
            shown_as,
            layout,
            names: header.names,
            header_rows: header.rows,
            units_row: header.units,
            first_row,
            rows,
            preamble,
        }
    }

    /// The header's place, for messages.
    pub(crate) fn place(&self) -> Place {
        self.grid.header.map_or_else(
            || Place::file(self.shown_as),
            |at| {
                let record = &self.grid.head[at].record;
                Place::line(self.shown_as, record.line.into(), record.raw)
            },
        )
    }

    /// What the units line says below a column's name.
    pub(crate) fn below(&self, column: usize) -> Option<&'t String> {
        self.units_row.and_then(|at| self.grid.head[at].cells.get(column))
    }
}
