//! Worksheets of an XLSX workbook, read by `calamine`.

use super::{Budget, Unreadable, Worksheet};
use crate::sheet::cell::Cell;
use calamine::{DataRef, Reader as _, SheetType, SheetVisible, Xlsx};
use std::io::Cursor;

pub(super) fn worksheets(bytes: &[u8], budget: &mut Budget) -> Result<Vec<Worksheet>, Unreadable> {
    let mut workbook = Xlsx::new(Cursor::new(bytes)).map_err(Unreadable::because)?;
    let is_1904 = workbook.has_1904_epoch();
    let sheets: Vec<(String, bool)> = workbook
        .sheets_metadata()
        .iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet)
        .map(|sheet| (sheet.name.clone(), sheet.visible != SheetVisible::Visible))
        .collect();
    let mut worksheets = Vec::new();
    for (name, hidden) in sheets {
        let mut worksheet =
            Worksheet { name, hidden, serial_1904: Some(is_1904), rows: Vec::new() };
        let mut cells =
            workbook.worksheet_cells_reader(&worksheet.name).map_err(Unreadable::because)?;
        while let Some((read, style)) =
            cells.next_cell_with_style_id().map_err(Unreadable::because)?
        {
            let (row, column) = read.get_position();
            let value = read.get_value();
            let length = match value {
                DataRef::Empty => continue,
                DataRef::SharedString(text) => text.len(),
                DataRef::String(text) => text.len(),
                _ => 0,
            };
            // Shared text is counted before it is copied: a short file can name a long
            // text a million times.
            budget.take(column, length)?;
            let format = cells.styles().get(style).and_then(|style| style.number_format.as_ref());
            let shows_hours = format.is_some_and(|format| shows_hours(&format.format_code));
            let cell = convert(value, is_1904, shows_hours);
            if !cell.is_empty() {
                worksheet.push(row.saturating_add(1), column, cell);
            }
        }
        worksheets.push(worksheet);
    }
    Ok(worksheets)
}

fn convert(value: &DataRef<'_>, is_1904: bool, shows_hours: bool) -> Cell {
    match value {
        DataRef::Empty => Cell::Empty,
        DataRef::Int(value) => Cell::Number(*value as f64),
        DataRef::Float(value) => Cell::Number(*value),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            Cell::from_text(text)
        }
        DataRef::SharedString(text) => Cell::from_text(text),
        DataRef::Bool(value) => Cell::Boolean(*value),
        DataRef::Error(error) => Cell::Error(error.to_string()),
        DataRef::DateTime(time) if time.is_duration() => Cell::from_days(time.as_f64()),
        DataRef::DateTime(time) => Cell::from_serial(time.as_f64(), is_1904, shows_hours)
            .unwrap_or(Cell::Number(time.as_f64())),
    }
}

/// Whether a number format (ECMA-376 part 1, 18.8.31) shows a time of the day.
fn shows_hours(format: &str) -> bool {
    let (mut quoted, mut bracketed, mut literal) = (false, false, false);
    for symbol in format.chars() {
        if std::mem::take(&mut literal) {
            continue;
        }
        match symbol {
            '"' => quoted = !quoted,
            _ if quoted => {}
            '\\' | '_' | '*' => literal = true,
            '[' => bracketed = true,
            ']' => bracketed = false,
            'h' | 'H' | 's' | 'S' if !bracketed => return true,
            _ => {}
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    // The formats are those of ECMA-376 part 1, 18.8.30, and common variants of them.
    #[test]
    fn formats_with_and_without_a_clock() {
        for clock in ["h:mm", "m/d/yy h:mm", "yyyy\\-mm\\-dd\\ hh:mm", "h:mm AM/PM", "mm:ss"] {
            assert!(shows_hours(clock), "{clock}");
        }
        for date in ["mm-dd-yy", "d-mmm", "yyyy\"h\"mm", "[$-409]d mmmm", "[h]:mm", "General"] {
            assert!(!shows_hours(date), "{date}");
        }
    }
}
