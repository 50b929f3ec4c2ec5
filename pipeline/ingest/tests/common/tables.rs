//! Writers of the same table as CSV, XLSX and ODS.

use crate::archives::archive;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};
use std::fmt::Write as _;

/// A cell as a person would make it in a spreadsheet program.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Empty,
    Text(String),
    Number(f64),
    /// Year, month, day.
    Date(u16, u8, u8),
    /// Year, month, day, seconds of the day.
    DateTime(u16, u8, u8, u32),
    /// Seconds of the day.
    Clock(u32),
    /// Seconds, in a format that counts hours beyond 24.
    Duration(u32),
    Yes(bool),
}

pub(crate) type Rows = Vec<Vec<Value>>;

pub(crate) fn text(text: &str) -> Value {
    if text.is_empty() { Value::Empty } else { Value::Text(text.to_owned()) }
}

/// Rows of texts, separated by `|`.
pub(crate) fn texts(lines: &str) -> Rows {
    lines.lines().map(|line| line.split('|').map(text).collect()).collect()
}

fn hms(seconds: u32) -> String {
    format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

/// A time of the day, without seconds where there are none.
fn clock(seconds: u32) -> String {
    let text = hms(seconds);
    text.strip_suffix(":00").unwrap_or(&text).to_owned()
}

/// What a person types for a cell.
fn typed(value: &Value) -> String {
    match value {
        Value::Empty => String::new(),
        Value::Text(text) => text.clone(),
        Value::Number(number) => number.to_string(),
        Value::Date(y, m, d) => format!("{y:04}-{m:02}-{d:02}"),
        Value::DateTime(y, m, d, s) => format!("{y:04}-{m:02}-{d:02} {}", clock(*s)),
        Value::Clock(s) => clock(*s),
        Value::Duration(s) => format!("+{}:{}", s / 3600, &hms(s % 3600)[3..]),
        Value::Yes(yes) => yes.to_string(),
    }
}

pub(crate) fn csv(rows: &Rows) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for row in rows {
        writer.write_record(row.iter().map(typed)).unwrap();
    }
    writer.into_inner().unwrap()
}

/// A worksheet's name, rows, and whether it is hidden.
pub(crate) type Worksheet<'r> = (&'r str, &'r Rows, bool);

pub(crate) fn xlsx(worksheets: &[Worksheet<'_>]) -> Vec<u8> {
    let mut workbook = Workbook::new();
    let format = |code: &str| Format::new().set_num_format(code);
    for &(name, rows, hidden) in worksheets {
        let sheet = workbook.add_worksheet();
        sheet.set_name(name).unwrap().set_hidden(hidden);
        for (r, row) in rows.iter().enumerate() {
            for (c, value) in row.iter().enumerate() {
                let (r, c) = (r as u32, c as u16);
                let day = |y: u16, m: u8, d: u8| ExcelDateTime::from_ymd(y, m, d).unwrap();
                match value {
                    Value::Empty => sheet.write_blank(r, c, &Format::new().set_bold()),
                    Value::Text(text) => sheet.write_string(r, c, text),
                    Value::Number(number) => sheet.write_number(r, c, *number),
                    Value::Date(y, m, d) => sheet.write_datetime_with_format(
                        r,
                        c,
                        day(*y, *m, *d),
                        &format("d mmm yyyy"),
                    ),
                    Value::DateTime(y, m, d, s) => sheet.write_datetime_with_format(
                        r,
                        c,
                        day(*y, *m, *d)
                            .and_hms((s / 3600) as u16, (s / 60 % 60) as u8, s % 60)
                            .unwrap(),
                        &format("m/d/yyyy h:mm:ss AM/PM"),
                    ),
                    Value::Clock(s) => sheet.write_number_with_format(
                        r,
                        c,
                        f64::from(*s) / 86_400.0,
                        &format("h:mm"),
                    ),
                    Value::Duration(s) => sheet.write_number_with_format(
                        r,
                        c,
                        f64::from(*s) / 86_400.0,
                        &format("[h]:mm:ss"),
                    ),
                    Value::Yes(yes) => sheet.write_boolean(r, c, *yes),
                }
                .unwrap();
            }
        }
    }
    workbook.save_to_buffer().unwrap()
}

/// Text in XML.
pub(crate) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;")
}

/// The automatic styles of [`ods`]: `day`, `moment`, `clock`, `elapsed` for cells,
/// `unseen` for tables.
const ODS_STYLES: &str = r#"<number:date-style style:name="N1"><number:day/><number:text>h</number:text><number:year/></number:date-style>
<number:date-style style:name="N2"><number:day/><number:hours/></number:date-style>
<number:time-style style:name="N3"><number:hours/></number:time-style>
<number:time-style style:name="N4" number:truncate-on-overflow="false"><number:hours/></number:time-style>
<style:style style:name="day" style:family="table-cell" style:data-style-name="N1"/>
<style:style style:name="moment" style:family="table-cell" style:data-style-name="N2"/>
<style:style style:name="clock" style:family="table-cell" style:data-style-name="N3"/>
<style:style style:name="counted" style:family="table-cell" style:data-style-name="N4"/>
<style:style style:name="elapsed" style:family="table-cell" style:parent-style-name="counted"/>
<style:style style:name="unseen" style:family="table"><style:table-properties table:display="false"/></style:style>"#;

/// `content.xml` around tables.
pub(crate) fn ods_content(tables: &str) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0">
<office:automatic-styles>{ODS_STYLES}</office:automatic-styles>
<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"#
    )
}

/// An ODS archive around `content.xml`.
pub(crate) fn ods_archive(content: &str) -> Vec<u8> {
    archive(&[
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("content.xml", content.as_bytes()),
    ])
}

/// An ODS workbook as spreadsheet programs write it: runs of equal empty cells and rows
/// are repeated ones, and the sheet is filled up to its last row.
pub(crate) fn ods(worksheets: &[Worksheet<'_>]) -> Vec<u8> {
    let mut tables = String::new();
    for (name, rows, hidden) in worksheets {
        let style = if *hidden { r#" table:style-name="unseen""# } else { "" };
        let _ = write!(tables, r#"<table:table table:name="{}"{style}>"#, escaped(name));
        for row in *rows {
            tables.push_str("<table:table-row>");
            let mut blank = 0;
            for value in row {
                if *value == Value::Empty {
                    blank += 1;
                    continue;
                }
                if blank > 0 {
                    let _ = write!(
                        tables,
                        r#"<table:table-cell table:number-columns-repeated="{blank}"/>"#
                    );
                    blank = 0;
                }
                tables.push_str(&ods_cell(value));
            }
            tables.push_str(
                r#"<table:table-cell table:number-columns-repeated="16000"/></table:table-row>"#,
            );
        }
        tables.push_str(r#"<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>"#);
    }
    ods_archive(&ods_content(&tables))
}

fn ods_cell(value: &Value) -> String {
    let shown = escaped(&typed(value));
    let attributes = match value {
        Value::Empty => String::new(),
        Value::Text(_) => r#"office:value-type="string""#.to_owned(),
        Value::Number(number) => format!(r#"office:value-type="float" office:value="{number}""#),
        Value::Date(..) => {
            format!(
                r#"table:style-name="day" office:value-type="date" office:date-value="{shown}""#
            )
        }
        Value::DateTime(y, m, d, s) => format!(
            r#"table:style-name="moment" office:value-type="date" office:date-value="{y:04}-{m:02}-{d:02}T{}""#,
            hms(*s)
        ),
        Value::Clock(s) | Value::Duration(s) => format!(
            r#"table:style-name="{}" office:value-type="time" office:time-value="PT{:02}H{:02}M{:02}S""#,
            if matches!(value, Value::Clock(_)) { "clock" } else { "elapsed" },
            s / 3600,
            s / 60 % 60,
            s % 60
        ),
        Value::Yes(yes) => {
            format!(r#"office:value-type="boolean" office:boolean-value="{yes}""#)
        }
    };
    let paragraphs = shown.replace('\n', "</text:p><text:p>");
    format!(
        r"<table:table-cell {attributes}><office:annotation><text:p>a remark</text:p></office:annotation><text:p>{paragraphs}</text:p></table:table-cell>"
    )
}
