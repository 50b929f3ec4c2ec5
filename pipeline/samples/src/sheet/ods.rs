//! A sheet as an ODF spreadsheet (ISO/IEC 26300).
//!
//! Part numbers are those of ISO/IEC 26300:2015 (ODF 1.2): part 1 the schema,
//! part 3 the package.

use super::Cell;
use crate::archive::{add, finish};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use std::io::{self, Cursor};
use zip::{CompressionMethod, ZipWriter};

const MEDIA_TYPE: &str = "application/vnd.oasis.opendocument.spreadsheet";
const VERSION: (&str, &str) = ("office:version", "1.2");
const NAMESPACES: [(&str, &str); 6] = [
    ("xmlns:office", "urn:oasis:names:tc:opendocument:xmlns:office:1.0"),
    ("xmlns:table", "urn:oasis:names:tc:opendocument:xmlns:table:1.0"),
    ("xmlns:text", "urn:oasis:names:tc:opendocument:xmlns:text:1.0"),
    ("xmlns:style", "urn:oasis:names:tc:opendocument:xmlns:style:1.0"),
    ("xmlns:number", "urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0"),
    ("xmlns:fo", "urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0"),
];

type Xml = Writer<Cursor<Vec<u8>>>;

/// The sheet as an ODS document with one table. Readers take a run of spaces in a text for
/// one (part 1, 6.1.2).
pub fn sheet_as_ods(rows: &[Vec<Cell>]) -> Vec<u8> {
    let content = document(|xml| content(xml, rows));
    let manifest = document(manifest);
    // The first file is the media type, stored as it is (part 3, 3.3).
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    add(&mut archive, "mimetype", MEDIA_TYPE.as_bytes(), CompressionMethod::Stored);
    add(&mut archive, "META-INF/manifest.xml", &manifest, CompressionMethod::Deflated);
    add(&mut archive, "content.xml", &content, CompressionMethod::Deflated);
    finish(archive)
}

fn document(write: impl FnOnce(&mut Xml) -> io::Result<()>) -> Vec<u8> {
    let mut xml = Writer::new(Cursor::new(Vec::new()));
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))
        .and_then(|()| write(&mut xml))
        .expect("a vector takes all bytes");
    xml.into_inner().into_inner()
}

/// The files of the package (part 3, 3.2).
fn manifest(xml: &mut Xml) -> io::Result<()> {
    let namespace = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0";
    xml.create_element("manifest:manifest")
        .with_attributes([("xmlns:manifest", namespace), ("manifest:version", "1.2")])
        .write_inner_content(|xml| {
            for (path, kind) in [("/", MEDIA_TYPE), ("content.xml", "text/xml")] {
                xml.create_element("manifest:file-entry")
                    .with_attributes([("manifest:full-path", path), ("manifest:media-type", kind)])
                    .write_empty()?;
            }
            Ok(())
        })
        .map(drop)
}

fn content(xml: &mut Xml, rows: &[Vec<Cell>]) -> io::Result<()> {
    xml.create_element("office:document-content")
        .with_attributes(NAMESPACES)
        .with_attribute(VERSION)
        .write_inner_content(|xml| {
            xml.create_element("office:automatic-styles").write_inner_content(styles)?;
            xml.create_element("office:body").write_inner_content(|xml| {
                xml.create_element("office:spreadsheet").write_inner_content(|xml| {
                    xml.create_element("table:table")
                        .with_attribute(("table:name", "Sheet1"))
                        .write_inner_content(|xml| table(xml, rows))?;
                    Ok(())
                })?;
                Ok(())
            })?;
            Ok(())
        })
        .map(drop)
}

/// How dates, times and spans are shown (part 1, 16.27): without a style a spreadsheet shows
/// bare numbers.
fn styles(xml: &mut Xml) -> io::Result<()> {
    const DATE: [&str; 5] = ["year", "-", "month", "-", "day"];
    const TIME: [&str; 3] = ["hours", ":", "minutes"];
    let parts = |xml: &mut Xml, parts: &[&str]| -> io::Result<()> {
        for &part in parts {
            if part.chars().all(char::is_alphabetic) {
                xml.create_element(format!("number:{part}").as_str())
                    .with_attribute(("number:style", "long"))
                    .write_empty()?;
            } else {
                xml.create_element("number:text").write_text_content(BytesText::new(part))?;
            }
        }
        Ok(())
    };
    let named = |name| ("style:name", name);
    xml.create_element("number:date-style")
        .with_attribute(named("date-format"))
        .write_inner_content(|xml| parts(xml, &DATE))?;
    xml.create_element("number:date-style")
        .with_attribute(named("instant-format"))
        .write_inner_content(|xml| {
            parts(xml, &DATE)?;
            parts(xml, &[" "])?;
            parts(xml, &TIME)
        })?;
    xml.create_element("number:time-style")
        .with_attribute(named("time-format"))
        .write_inner_content(|xml| parts(xml, &TIME))?;
    xml.create_element("number:time-style")
        .with_attributes([named("span-format"), ("number:truncate-on-overflow", "false")])
        .write_inner_content(|xml| {
            parts(xml, &TIME)?;
            parts(xml, &[":", "seconds"])
        })?;
    for kind in ["date", "instant", "time", "span"] {
        xml.create_element("style:style")
            .with_attributes([
                named(kind),
                ("style:family", "table-cell"),
                ("style:data-style-name", format!("{kind}-format").as_str()),
            ])
            .write_empty()?;
    }
    xml.create_element("style:style")
        .with_attributes([named("heading"), ("style:family", "table-cell")])
        .write_inner_content(|xml| {
            xml.create_element("style:text-properties")
                .with_attribute(("fo:font-weight", "bold"))
                .write_empty()?;
            Ok(())
        })?;
    Ok(())
}

fn table(xml: &mut Xml, rows: &[Vec<Cell>]) -> io::Result<()> {
    let width = rows.iter().map(Vec::len).max().unwrap_or(0).max(1).to_string();
    xml.create_element("table:table-column")
        .with_attribute(("table:number-columns-repeated", width.as_str()))
        .write_empty()?;
    for (index, row) in rows.iter().enumerate() {
        xml.create_element("table:table-row").write_inner_content(|xml| {
            row.iter().try_for_each(|value| cell(xml, value, index == 0))?;
            if row.is_empty() {
                cell(xml, &Cell::Empty, false)?;
            }
            Ok(())
        })?;
    }
    Ok(())
}

/// One cell: its type and value (part 1, 19.385), and the text that is shown.
fn cell(xml: &mut Xml, cell: &Cell, heading: bool) -> io::Result<()> {
    let element = xml.create_element("table:table-cell");
    let typed = |kind| ("office:value-type", kind);
    let style = |name| ("table:style-name", name);
    let (element, shown) = match cell {
        Cell::Empty => return element.write_empty().map(drop),
        Cell::Text(text) => {
            let element = if heading { element.with_attribute(style("heading")) } else { element };
            (element.with_attribute(typed("string")), text.clone())
        }
        Cell::Number(number) => {
            let text = number.to_string();
            let value = ("office:value", text.as_str());
            (element.with_attributes([typed("float"), value]), text.clone())
        }
        Cell::Date(at) => {
            let text = at.strftime("%Y-%m-%d").to_string();
            let value = ("office:date-value", text.as_str());
            (element.with_attributes([style("date"), typed("date"), value]), text.clone())
        }
        Cell::DateTime(at) => {
            let text = at.strftime("%Y-%m-%dT%H:%M:%S").to_string();
            let value = ("office:date-value", text.as_str());
            let shown = at.strftime("%Y-%m-%d %H:%M").to_string();
            (element.with_attributes([style("instant"), typed("date"), value]), shown)
        }
        Cell::Time(at) => {
            let text = at.strftime("PT%HH%MM%SS").to_string();
            let value = ("office:time-value", text.as_str());
            let shown = at.strftime("%H:%M").to_string();
            (element.with_attributes([style("time"), typed("time"), value]), shown)
        }
        Cell::Duration(seconds) => {
            let sign = if *seconds < 0 { "-" } else { "" };
            let whole = seconds.abs();
            let (hours, minutes) = (whole / 3_600, whole / 60 % 60);
            let text = format!("{sign}PT{hours:02}H{minutes:02}M{:02}S", whole % 60);
            let value = ("office:time-value", text.as_str());
            let shown = super::hours_minutes_seconds(*seconds);
            (element.with_attributes([style("span"), typed("time"), value]), shown)
        }
        Cell::Boolean(yes) => {
            let value = ("office:boolean-value", if *yes { "true" } else { "false" });
            let shown = if *yes { "TRUE" } else { "FALSE" }.to_owned();
            (element.with_attributes([typed("boolean"), value]), shown)
        }
    };
    element
        .write_inner_content(|xml| {
            // A line break ends a paragraph (part 1, 5.1.3).
            for line in shown.split('\n') {
                xml.create_element("text:p").write_text_content(BytesText::new(line))?;
            }
            Ok(())
        })
        .map(drop)
}
