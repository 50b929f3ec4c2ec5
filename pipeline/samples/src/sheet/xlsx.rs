//! A sheet as an Office Open XML workbook (ISO/IEC 29500).

use super::Cell;
use jiff::civil::Date;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

/// The sheet as an XLSX workbook with one worksheet, its first row bold. The workbook says
/// it was made on 2000-01-01, so that the same sheet gives the same bytes.
///
/// # Panics
/// On a text longer than a cell may be (32 767 characters), or on more rows or columns than
/// a worksheet has.
pub fn sheet_as_xlsx(rows: &[Vec<Cell>]) -> Vec<u8> {
    workbook(rows).expect("the sheet fits into a worksheet")
}

struct Formats {
    heading: Format,
    date: Format,
    time: Format,
    date_time: Format,
    duration: Format,
}

fn workbook(rows: &[Vec<Cell>]) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(&DocProperties::new().set_creation_datetime(&made));
    let sheet = workbook.add_worksheet();
    sheet.set_name("Sheet1")?;
    let format = |code: &str| Format::new().set_num_format(code);
    let formats = Formats {
        heading: Format::new().set_bold(),
        date: format("yyyy-mm-dd"),
        time: format("hh:mm"),
        date_time: format("yyyy-mm-dd hh:mm"),
        duration: format("[h]:mm:ss"),
    };
    for (line, row) in rows.iter().enumerate() {
        for (column, cell) in row.iter().enumerate() {
            let column = u16::try_from(column).map_err(|_| XlsxError::RowColumnLimitError)?;
            write(sheet, line as u32, column, cell, &formats)?;
        }
    }
    workbook.save_to_buffer()
}

fn write(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    cell: &Cell,
    formats: &Formats,
) -> Result<(), XlsxError> {
    let day =
        |at: Date| ExcelDateTime::from_ymd(at.year() as u16, at.month() as u8, at.day() as u8);
    match cell {
        Cell::Empty => {}
        Cell::Text(text) if row == 0 => {
            sheet.write_string_with_format(row, column, text, &formats.heading)?;
        }
        Cell::Text(text) => {
            sheet.write_string(row, column, text)?;
        }
        Cell::Number(number) => {
            sheet.write_number(row, column, *number)?;
        }
        Cell::Date(at) => {
            sheet.write_datetime_with_format(row, column, &day(*at)?, &formats.date)?;
        }
        Cell::Time(at) => {
            let at =
                ExcelDateTime::from_hms(at.hour() as u16, at.minute() as u8, at.second() as u8)?;
            sheet.write_datetime_with_format(row, column, &at, &formats.time)?;
        }
        Cell::DateTime(at) => {
            let (clock, second) = (at.time(), at.second() as u8);
            let at = day(at.date())?.and_hms(clock.hour() as u16, clock.minute() as u8, second)?;
            sheet.write_datetime_with_format(row, column, &at, &formats.date_time)?;
        }
        Cell::Duration(seconds) => {
            let days = *seconds as f64 / 86_400.0;
            sheet.write_number_with_format(row, column, days, &formats.duration)?;
        }
        Cell::Boolean(yes) => {
            sheet.write_boolean(row, column, *yes)?;
        }
    }
    Ok(())
}
