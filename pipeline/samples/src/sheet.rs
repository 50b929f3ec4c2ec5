//! Sheets as people keep them: typed cells, as CSV, XLSX or ODS, the same bytes every time.
//!
//! | module | its one job |
//! |---|---|
//! | `csv` | RFC 4180 text |
//! | `xlsx` | Office Open XML (ISO/IEC 29500) |
//! | `ods` | ODF (ISO/IEC 26300) |

mod csv;
mod ods;
mod xlsx;

pub use csv::sheet_as_csv;
pub use ods::sheet_as_ods;
pub use xlsx::sheet_as_xlsx;

use jiff::civil::{Date, DateTime, Time};

/// One cell of a sheet, typed as a spreadsheet types it.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Cell {
    /// Nothing.
    #[default]
    Empty,
    /// A text.
    Text(String),
    /// A number.
    Number(f64),
    /// A date.
    Date(Date),
    /// A time of the day.
    Time(Time),
    /// A date and time.
    DateTime(DateTime),
    /// A span of time, whole seconds.
    Duration(i64),
    /// Yes or no.
    Boolean(bool),
}

impl Cell {
    /// A text; nothing where it is empty.
    pub fn text(text: impl Into<String>) -> Self {
        let text = text.into();
        if text.is_empty() { Self::Empty } else { Self::Text(text) }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::text(text)
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::text(text)
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

/// `h:mm:ss`, hours beyond a day included.
fn hours_minutes_seconds(seconds: i64) -> String {
    let sign = if seconds < 0 { "-" } else { "" };
    let seconds = seconds.abs();
    format!("{sign}{}:{:02}:{:02}", seconds / 3_600, seconds / 60 % 60, seconds % 60)
}

#[cfg(test)]
mod tests;
