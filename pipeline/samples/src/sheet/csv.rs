//! A sheet as RFC 4180 text.

use super::{Cell, hours_minutes_seconds};

/// The sheet as CSV, UTF-8, line feeds: dates as `2024-05-04`, times as `22:10` or
/// `22:10:05`, spans as `6:30:00`, booleans as `yes` and `no`.
pub fn sheet_as_csv(rows: &[Vec<Cell>]) -> Vec<u8> {
    let mut text = String::new();
    for row in rows {
        for (index, cell) in row.iter().enumerate() {
            if index > 0 {
                text.push(',');
            }
            let cell = written(cell);
            if cell.contains([',', '"', '\n', '\r']) {
                text.push('"');
                text.push_str(&cell.replace('"', "\"\""));
                text.push('"');
            } else {
                text.push_str(&cell);
            }
        }
        text.push('\n');
    }
    text.into_bytes()
}

fn written(cell: &Cell) -> String {
    let time = |time: jiff::civil::Time| {
        time.strftime(if time.second() == 0 { "%H:%M" } else { "%H:%M:%S" }).to_string()
    };
    match cell {
        Cell::Empty => String::new(),
        Cell::Text(text) => text.clone(),
        Cell::Number(number) => number.to_string(),
        Cell::Date(date) => date.strftime("%Y-%m-%d").to_string(),
        Cell::Time(at) => time(*at),
        Cell::DateTime(at) => format!("{} {}", at.date().strftime("%Y-%m-%d"), time(at.time())),
        Cell::Duration(seconds) => hours_minutes_seconds(*seconds),
        Cell::Boolean(yes) => if *yes { "yes" } else { "no" }.to_owned(),
    }
}
