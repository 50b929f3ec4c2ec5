//! Tables as CSV and JSON text, and CSV files as tables.

use crate::error::StageError;
use columns::iso_instant;
use serde_json::{Map, Number, Value};
use std::path::Path;
use store::{Column, Table};

/// A table as CSV (RFC 4180, `\n` line ends): missing values are empty, instants ISO 8601 UTC.
/// Text that a spreadsheet would run as a formula is defused with an apostrophe.
pub fn to_csv(table: &Table) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing into memory cannot fail, and what is written is text.
    let _ = writer.write_record(table.columns().iter().map(|(name, _)| defused(name.clone())));
    for row in 0..table.rows() {
        let cells = table.columns().iter().map(|(_, column)| match column {
            Column::Text(_) => defused(cell(column, row)),
            _ => cell(column, row),
        });
        let _ = writer.write_record(cells);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// A table as a JSON array of objects, one a row; missing values are null.
pub fn to_json(table: &Table) -> String {
    let rows: Vec<Value> = (0..table.rows())
        .map(|row| {
            let cells = table.columns().iter().map(|(name, column)| {
                let value = match column {
                    Column::Text(v) => v[row].clone().map_or(Value::Null, Value::String),
                    Column::Float(v) => {
                        v[row].and_then(Number::from_f64).map_or(Value::Null, Value::Number)
                    }
                    Column::Int(v) => v[row].map_or(Value::Null, |n| Value::Number(n.into())),
                    Column::Bool(v) => v[row].map_or(Value::Null, Value::Bool),
                    Column::Instant(v) => {
                        v[row].map_or(Value::Null, |ms| Value::String(iso_instant(ms)))
                    }
                };
                (name.clone(), value)
            });
            Value::Object(cells.collect::<Map<_, _>>())
        })
        .collect();
    serde_json::to_string_pretty(&rows).unwrap_or_default() + "\n"
}

/// Text that a spreadsheet would take for a formula, with an apostrophe before it; numbers
/// and all other text as they are. The signs are those of OWASP, "CSV Injection": `=`, `+`,
/// `-`, `@`, tab, carriage return, line feed, and the full-width forms of the first four.
/// Text that begins with an apostrophe before such a sign gets another, so that
/// [`restored`] gives back every text.
fn defused(text: String) -> String {
    let is_number = text.parse::<f64>().is_ok_and(f64::is_finite);
    if is_number || !begins_formula(text.trim_start_matches('\'')) {
        return text;
    }
    format!("'{text}")
}

/// What [`defused`] was made of.
fn restored(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if begins_formula(rest.trim_start_matches('\'')) => rest,
        _ => text,
    }
}

fn begins_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'])
}

/// One cell as text; empty where the value is missing.
pub fn cell(column: &Column, row: usize) -> String {
    match column {
        Column::Text(v) => v[row].clone().unwrap_or_default(),
        Column::Float(v) => v[row].map_or(String::new(), |x| x.to_string()),
        Column::Int(v) => v[row].map_or(String::new(), |x| x.to_string()),
        Column::Bool(v) => v[row].map_or(String::new(), |x| x.to_string()),
        Column::Instant(v) => v[row].map_or(String::new(), iso_instant),
    }
}

/// What a column of a CSV file is to be read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CsvKind {
    Text,
    Number,
    YesNo,
}

/// Reads a CSV file with a header, delimited by comma, semicolon, tab or pipe: whichever its header
/// has most of. Where that is not the comma, numbers may have a decimal comma. `kind_of` names the
/// kind of a known column; any other is numeric or yes/no where every value is, and text otherwise.
///
/// # Errors
/// An unreadable file; a row of another length than the header; a value of a known column
/// that is not of its kind: with file, line, column and text.
pub(crate) fn read_csv(
    path: &Path,
    kind_of: impl Fn(&str) -> Option<CsvKind>,
) -> Result<Table, StageError> {
    let bytes = std::fs::read(path).map_err(|e| StageError::io(path, e))?;
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
    let unreadable =
        |message: &str| StageError::Usage { message: format!("{}: {message}", path.display()) };
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) || bytes.contains(&0) {
        return Err(unreadable("this is no UTF-8 text (UTF-16?); save it as CSV in UTF-8"));
    }
    if bytes.trim_ascii().is_empty() {
        return Err(unreadable("the file is empty; a table has a header and one row a cook"));
    }
    // The reader counts a line end of two bytes one record late.
    let text = String::from_utf8_lossy(bytes).replace("\r\n", "\n");
    let delimiter = delimiter_of(&text);
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).from_reader(text.as_bytes());
    let bad = |e: &csv::Error| StageError::Table {
        path: path.to_owned(),
        line: e.position().map_or(1, csv::Position::line),
        column: String::new(),
        message: e.to_string(),
    };
    let names: Vec<String> = reader
        .headers()
        .map_err(|e| bad(&e))?
        .iter()
        .map(|n| restored(n.trim()).to_owned())
        .collect();
    let mut cells: Vec<Vec<(u64, String)>> = vec![Vec::new(); names.len()];
    for record in reader.records() {
        let record = record.map_err(|e| bad(&e))?;
        let line = record.position().map_or(0, csv::Position::line);
        for (column, value) in cells.iter_mut().zip(record.iter()) {
            let value = restored(value.trim());
            column.push((line, with_point(value, delimiter)));
        }
    }
    let mut table = Table::new();
    for (name, values) in names.iter().zip(cells) {
        if table.column(name).is_some() {
            return Err(StageError::Table {
                path: path.to_owned(),
                line: 1,
                column: name.clone(),
                message: "the header names this column twice".into(),
            });
        }
        let kind = kind_of(name).unwrap_or_else(|| guess(&values));
        table.push(name, typed(path, name, kind, &values)?);
    }
    Ok(table)
}

/// The delimiter that the header has most of; the comma where it has none.
fn delimiter_of(text: &str) -> u8 {
    let header = text.lines().next().unwrap_or_default();
    let count = |delimiter: u8| header.bytes().filter(|byte| *byte == delimiter).count();
    // The first of equals: a comma before the others.
    [b'|', b'\t', b';', b','].into_iter().max_by_key(|&delimiter| count(delimiter)).unwrap_or(b',')
}

/// A number with a decimal comma, written with a point; anything else as it is. Between commas
/// there is no decimal comma.
fn with_point(value: &str, delimiter: u8) -> String {
    let pointed = value.replacen(',', ".", 1);
    if delimiter != b',' && !value.contains('.') && number(&pointed).is_some() {
        pointed
    } else {
        value.to_owned()
    }
}

fn guess(values: &[(u64, String)]) -> CsvKind {
    let mut present = values.iter().map(|(_, v)| v.as_str()).filter(|v| !is_missing(v)).peekable();
    if present.peek().is_none() {
        CsvKind::Text
    } else if present.clone().all(|v| number(v).is_some()) {
        CsvKind::Number
    } else if present.all(|v| yes_no(v).is_some()) {
        CsvKind::YesNo
    } else {
        CsvKind::Text
    }
}

fn is_missing(value: &str) -> bool {
    matches!(value, "" | "NA" | "null" | "NaN")
}

fn number(value: &str) -> Option<f64> {
    value.parse::<f64>().ok().filter(|x| x.is_finite())
}

fn yes_no(value: &str) -> Option<bool> {
    match value.to_ascii_lowercase().as_str() {
        "true" | "yes" => Some(true),
        "false" | "no" => Some(false),
        _ => None,
    }
}

fn typed(
    path: &Path,
    name: &str,
    kind: CsvKind,
    values: &[(u64, String)],
) -> Result<Column, StageError> {
    let wrong = |line: u64, text: &str, wanted: &str| StageError::Table {
        path: path.to_owned(),
        line,
        column: name.to_owned(),
        message: format!("`{text}` is not {wanted}; leave the cell empty where nothing is known"),
    };
    let present = |value: &str| !is_missing(value);
    Ok(match kind {
        CsvKind::Text => {
            Column::Text(values.iter().map(|(_, v)| (!v.is_empty()).then(|| v.clone())).collect())
        }
        CsvKind::Number => Column::Float(
            values
                .iter()
                .map(|(line, v)| {
                    present(v)
                        .then(|| number(v).ok_or_else(|| wrong(*line, v, "a number")))
                        .transpose()
                })
                .collect::<Result<_, _>>()?,
        ),
        CsvKind::YesNo => Column::Bool(
            values
                .iter()
                .map(|(line, v)| {
                    present(v)
                        .then(|| yes_no(v).ok_or_else(|| wrong(*line, v, "true or false")))
                        .transpose()
                })
                .collect::<Result<_, _>>()?,
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn csv_is_typed_by_its_values_and_wrong_cells_are_placed() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.csv");
        std::fs::write(&path, "cook,w,wet,note\n7,5.5,true,a\n8,,false,\n").unwrap();
        let kind = |name: &str| (name == "cook").then_some(CsvKind::Text);
        let table = read_csv(&path, kind).unwrap();
        assert_eq!(
            table.column("cook"),
            Some(&Column::Text(vec![Some("7".into()), Some("8".into())]))
        );
        assert_eq!(table.column("w"), Some(&Column::Float(vec![Some(5.5), None])));
        assert_eq!(table.column("wet"), Some(&Column::Bool(vec![Some(true), Some(false)])));
        assert_eq!(to_csv(&table), "cook,w,wet,note\n7,5.5,true,a\n8,,false,\n");

        let kind = |name: &str| (name == "note").then_some(CsvKind::Number);
        let error = read_csv(&path, kind).unwrap_err().to_string();
        assert!(
            error.contains("t.csv:2") && error.contains("`note`") && error.contains("`a`"),
            "{error}"
        );
    }

    #[test]
    fn other_delimiters_decimal_commas_and_what_is_no_csv() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.csv");
        let read = |bytes: &[u8]| {
            std::fs::write(&path, bytes).unwrap();
            read_csv(&path, |_| None)
        };
        for (delimiter, numbers) in [(";", "5,5"), ("\t", "5,5"), ("|", "5.5"), (",", "5.5")] {
            let text = format!("cook,w,note\na,{numbers},b c\n").replace(numbers, "#");
            let text = text.replace(',', delimiter).replace('#', numbers);
            let table = read(text.as_bytes()).unwrap();
            assert_eq!(table.column("w"), Some(&Column::Float(vec![Some(5.5)])), "{text}");
        }
        // Between commas, a quoted decimal comma is no number that we would guess at.
        let table = read(b"cook,w\na,\"5,5\"\n").unwrap();
        assert_eq!(table.column("w"), Some(&Column::Text(vec![Some("5,5".into())])));
        let error = |bytes: &[u8]| read(bytes).unwrap_err().to_string();
        assert!(error(b"").contains("empty"));
        assert!(error(b"\xff\xfec\0o\0").contains("UTF-8"));
    }

    #[test]
    fn formulas_are_defused_and_come_back() {
        for formula in ["=1+1", "+6:30", "-cmd", "@SUM(A1)", "\t=1", "\r=1", "＝1", "'=1", "''+x"]
        {
            let written = defused(formula.to_owned());
            assert_eq!(written, format!("'{formula}"));
            assert_eq!(restored(&written), formula);
        }
        for harmless in ["-5", "+2.5e3", "a=b", "", "'tis", "don't", "1-2", "ünd"] {
            assert_eq!(defused(harmless.to_owned()), harmless);
            assert_eq!(restored(harmless), harmless);
        }
        let table = Table::new()
            .with("=x", Column::Text(vec![Some("=HYPERLINK(\"a\",\"b\")".into()), None]))
            .with("y", Column::Float(vec![Some(-1.5), None]));
        assert_eq!(to_csv(&table), "'=x,y\n\"'=HYPERLINK(\"\"a\"\",\"\"b\"\")\",-1.5\n,\n");
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.csv");
        std::fs::write(&path, to_csv(&table)).unwrap();
        let back = read_csv(&path, |_| None).unwrap();
        assert_eq!(back.column("=x"), table.column("=x"));
    }

    #[test]
    fn json_has_nulls_and_iso_instants() {
        let table = Table::new()
            .with("at", Column::Instant(vec![Some(0), None]))
            .with("x", Column::Float(vec![None, Some(1.5)]));
        let json: Value = serde_json::from_str(&to_json(&table)).unwrap();
        assert_eq!(json[0]["at"], "1970-01-01T00:00:00Z");
        assert_eq!(json[0]["x"], Value::Null);
        assert_eq!(json[1]["x"], 1.5);
    }
}
