//! Worksheets of an ODS workbook (OASIS Open Document Format 1.3, part 3).
//!
//! Read from the XML itself: a cell's format decides whether `6:30` is a time of the day
//! or a duration, and repeated cells have to be counted before they are multiplied. The
//! library that reads XLSX gives neither.

use super::{Budget, Unreadable, Worksheet};
use crate::sheet::cell::Cell;
use crate::time::{self, DAY_MS};
use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};
use std::collections::HashMap;
use std::io::{BufRead, BufReader, Read, Seek};
use zip::ZipArchive;

/// Styles inherit from styles; a chain longer than this is a ring.
const LONGEST_CHAIN: usize = 16;

/// What a format says of a time.
#[derive(Debug, Clone, Copy, Default)]
struct Format {
    shows_hours: bool,
    /// Hours beyond 24 are shown as such: a duration.
    elapsed: bool,
}

/// Names of styles to what they say.
#[derive(Debug, Default)]
struct Styles {
    /// Of data styles.
    formats: HashMap<String, Format>,
    /// Of cell styles: their data style and their parent.
    cells: HashMap<String, (Option<String>, Option<String>)>,
    /// Of hidden tables.
    hidden: Vec<String>,
}

impl Styles {
    fn format(&self, style: Option<&str>) -> Format {
        let mut name = style.unwrap_or("Default");
        for _ in 0..LONGEST_CHAIN {
            match self.cells.get(name) {
                Some((Some(data), _)) => {
                    return self.formats.get(data).copied().unwrap_or_default();
                }
                Some((None, Some(parent))) => name = parent,
                _ => break,
            }
        }
        Format::default()
    }
}

pub(super) fn worksheets<R: Read + Seek>(
    archive: &mut ZipArchive<R>,
    budget: &mut Budget,
) -> Result<Vec<Worksheet>, Unreadable> {
    if archive.index_for_name("META-INF/manifest.xml").is_some() {
        let mut manifest = Xml::new(archive.by_name("META-INF/manifest.xml"))?;
        while let Some(event) = manifest.next()? {
            if matches!(&event, Event::Start(e) if local(e) == "encryption-data") {
                return Err(Unreadable {
                    what: "the workbook is protected by a password".to_owned(),
                    try_this: "save it without the password, or export the worksheet as CSV",
                });
            }
        }
    }
    let mut styles = Styles::default();
    if archive.index_for_name("styles.xml").is_some() {
        let mut xml = Xml::new(archive.by_name("styles.xml"))?;
        let mut reading = StyleReading::default();
        while let Some(event) = xml.next()? {
            reading.take(&event, &mut styles)?;
        }
    }
    let mut xml = Xml::new(archive.by_name("content.xml"))?;
    let mut reading = StyleReading::default();
    let mut worksheets = Vec::new();
    while let Some(event) = xml.next()? {
        match &event {
            // Deleted cells are kept there, and copies of other workbooks' tables.
            Event::Start(e) if ["tracked-changes", "dde-links"].contains(&local(e)) => {
                xml.skip()?;
            }
            Event::Start(e) if local(e) == "table" => {
                let style = attribute(e, "style-name")?;
                let mut worksheet = Worksheet {
                    name: attribute(e, "name")?.unwrap_or_default(),
                    hidden: style.is_some_and(|style| styles.hidden.contains(&style)),
                    ..Worksheet::default()
                };
                Table { xml: &mut xml, styles: &styles, budget }.read(&mut worksheet)?;
                worksheets.push(worksheet);
            }
            other => reading.take(other, &mut styles)?,
        }
    }
    Ok(worksheets)
}

/// A stream of XML events whose memory is used again.
struct Xml<R: BufRead> {
    reader: Reader<R>,
    buffer: Vec<u8>,
    /// Open elements.
    depth: usize,
}

impl<R: Read> Xml<BufReader<R>> {
    fn new(part: zip::result::ZipResult<R>) -> Result<Self, Unreadable> {
        let mut reader = Reader::from_reader(BufReader::new(part.map_err(Unreadable::because)?));
        reader.config_mut().expand_empty_elements = true;
        Ok(Self { reader, buffer: Vec::new(), depth: 0 })
    }
}

impl<R: BufRead> Xml<R> {
    /// The next event; `None` at the end. An end within an element is an error.
    fn next(&mut self) -> Result<Option<Event<'static>>, Unreadable> {
        self.buffer.clear();
        let event = self.reader.read_event_into(&mut self.buffer).map_err(Unreadable::because)?;
        match &event {
            Event::Start(_) => self.depth += 1,
            Event::End(_) => self.depth = self.depth.saturating_sub(1),
            Event::Eof if self.depth > 0 => {
                return Err(Unreadable::new("its XML ends before its last element does"));
            }
            Event::Eof => return Ok(None),
            _ => {}
        }
        Ok(Some(event.into_owned()))
    }

    /// Skips the rest of the element that has just begun.
    fn skip(&mut self) -> Result<(), Unreadable> {
        let outside = self.depth - 1;
        while self.depth > outside {
            self.next()?;
        }
        Ok(())
    }
}

fn local<'e>(element: &'e BytesStart<'_>) -> &'e str {
    element.name().local_name().into_inner()
}

/// An attribute by its name without prefix.
fn attribute(element: &BytesStart<'_>, name: &str) -> Result<Option<String>, Unreadable> {
    for attribute in element.attributes() {
        let attribute = attribute.map_err(Unreadable::because)?;
        if attribute.key.local_name().into_inner() == name {
            let value = attribute.normalized_value(XmlVersion::Explicit1_0);
            return Ok(Some(value.map_err(Unreadable::because)?.into_owned()));
        }
    }
    Ok(None)
}

/// How often an element stands for itself.
fn repeats(element: &BytesStart<'_>, name: &str) -> Result<u32, Unreadable> {
    Ok(attribute(element, name)?.and_then(|text| text.parse().ok()).unwrap_or(1))
}

/// Gathers styles from a stream of events.
#[derive(Default)]
struct StyleReading {
    data: Option<String>,
    table: Option<String>,
}

impl StyleReading {
    fn take(&mut self, event: &Event<'_>, styles: &mut Styles) -> Result<(), Unreadable> {
        let Event::Start(element) = event else { return Ok(()) };
        match local(element) {
            "time-style" | "date-style" => {
                let elapsed = local(element) == "time-style"
                    && attribute(element, "truncate-on-overflow")?.as_deref() == Some("false");
                if let Some(name) = attribute(element, "name")? {
                    styles.formats.insert(name.clone(), Format { shows_hours: false, elapsed });
                    self.data = Some(name);
                }
            }
            "number-style" | "text-style" | "percentage-style" | "currency-style"
            | "boolean-style" => self.data = None,
            "hours" => {
                if let Some(format) = self.data.as_ref().and_then(|n| styles.formats.get_mut(n)) {
                    format.shows_hours = true;
                }
            }
            "style" => {
                let family = attribute(element, "family")?;
                let Some(name) = attribute(element, "name")? else { return Ok(()) };
                self.table = (family.as_deref() == Some("table")).then(|| name.clone());
                if family.as_deref() == Some("table-cell") {
                    let data = attribute(element, "data-style-name")?;
                    let parent = attribute(element, "parent-style-name")?;
                    styles.cells.insert(name, (data, parent));
                }
            }
            "table-properties" if attribute(element, "display")?.as_deref() == Some("false") => {
                styles.hidden.extend(self.table.clone());
            }
            _ => {}
        }
        Ok(())
    }
}

/// The reading of one table.
struct Table<'t, R: BufRead> {
    xml: &'t mut Xml<R>,
    styles: &'t Styles,
    budget: &'t mut Budget,
}

impl<R: BufRead> Table<'_, R> {
    fn read(&mut self, worksheet: &mut Worksheet) -> Result<(), Unreadable> {
        let outside = self.xml.depth - 1;
        // Styles of columns, each with the first column after it.
        let mut columns: Vec<(u32, Option<String>)> = Vec::new();
        let mut row = 0_u32;
        while self.xml.depth > outside {
            let Some(Event::Start(element)) = self.xml.next()? else { continue };
            match local(&element) {
                "table-column" => {
                    let from = columns.last().map_or(0, |column| column.0);
                    let count = repeats(&element, "number-columns-repeated")?;
                    let style = attribute(&element, "default-cell-style-name")?;
                    if columns.len() < super::MOST_COLUMNS as usize {
                        columns.push((from.saturating_add(count), style));
                    }
                }
                "table-row" => {
                    let count = repeats(&element, "number-rows-repeated")?;
                    let style = attribute(&element, "default-cell-style-name")?;
                    let cells = self.row(&columns, style.as_deref())?;
                    if !cells.is_empty() {
                        for repeat in 0..count {
                            for (column, cell) in &cells {
                                if repeat > 0 {
                                    self.budget.take(*column, text_length(cell))?;
                                }
                                let number = row.saturating_add(repeat).saturating_add(1);
                                worksheet.push(number, *column, cell.clone());
                            }
                        }
                    }
                    row = row.saturating_add(count);
                }
                // Drawings and forms may hold tables and text of their own.
                "shapes" | "forms" | "table" => self.xml.skip()?,
                _ => {}
            }
        }
        Ok(())
    }

    fn row(
        &mut self,
        columns: &[(u32, Option<String>)],
        row_style: Option<&str>,
    ) -> Result<Vec<(u32, Cell)>, Unreadable> {
        let outside = self.xml.depth - 1;
        let mut cells = Vec::new();
        let mut column = 0_u32;
        while self.xml.depth > outside {
            let Some(Event::Start(element)) = self.xml.next()? else { continue };
            if !["table-cell", "covered-table-cell"].contains(&local(&element)) {
                self.xml.skip()?;
                continue;
            }
            let count = repeats(&element, "number-columns-repeated")?;
            let own = attribute(&element, "style-name")?;
            let of_column = columns.iter().find(|(after, _)| column < *after);
            let style =
                own.as_deref().or(row_style).or_else(|| of_column.and_then(|c| c.1.as_deref()));
            let cell = self.cell(&element, style)?;
            if !cell.is_empty() {
                for repeat in 0..count {
                    let at = column.saturating_add(repeat);
                    self.budget.take(at, text_length(&cell))?;
                    cells.push((at, cell.clone()));
                }
            }
            column = column.saturating_add(count);
        }
        Ok(cells)
    }

    fn cell(&mut self, element: &BytesStart<'_>, style: Option<&str>) -> Result<Cell, Unreadable> {
        let text = self.text()?;
        let format = self.styles.format(style);
        let is_error = element.attributes().flatten().any(|attribute| {
            attribute.key.into_inner() == "calcext:value-type" && &*attribute.value == "error"
        });
        if is_error {
            return Ok(Cell::Error(text));
        }
        let get = |name: &str| attribute(element, name);
        let number =
            |text: String| text.trim().parse().ok().filter(|value: &f64| value.is_finite());
        Ok(match get_value_type(element)?.as_deref() {
            None | Some("void") => Cell::Empty,
            Some("float" | "percentage" | "currency") => {
                get("value")?.and_then(number).map_or_else(|| Cell::from_text(&text), Cell::Number)
            }
            Some("boolean") => Cell::Boolean(get("boolean-value")?.as_deref() == Some("true")),
            Some("date") => get("date-value")?
                .and_then(|written| date(&written, format.shows_hours))
                .unwrap_or_else(|| Cell::from_text(&text)),
            Some("time") => get("time-value")?
                .and_then(|written| written.parse::<jiff::SignedDuration>().ok())
                .and_then(|duration| i64::try_from(duration.as_millis()).ok())
                .map_or_else(|| Cell::from_text(&text), |ms| clock_or_duration(ms, format.elapsed)),
            Some(_) => Cell::from_text(&get("string-value")?.unwrap_or(text)),
        })
    }

    /// The text of a cell: its paragraphs, without remarks and drawings.
    fn text(&mut self) -> Result<String, Unreadable> {
        let outside = self.xml.depth - 1;
        let mut text = String::new();
        let mut paragraphs = 0;
        while self.xml.depth > outside {
            match self.xml.next()? {
                Some(Event::Start(element)) => match local(&element) {
                    "p" => {
                        if paragraphs > 0 {
                            text.push('\n');
                        }
                        paragraphs += 1;
                    }
                    "s" => {
                        let count = repeats(&element, "c")?.min(1024);
                        text.extend(std::iter::repeat_n(' ', count as usize));
                    }
                    "tab" => text.push('\t'),
                    "line-break" => text.push('\n'),
                    "span" | "a" => {}
                    _ => self.xml.skip()?,
                },
                Some(Event::Text(written)) if paragraphs > 0 => {
                    text.push_str(&written.xml10_content());
                }
                Some(Event::CData(written)) if paragraphs > 0 => {
                    text.push_str(&written.xml10_content());
                }
                Some(Event::GeneralRef(entity)) if paragraphs > 0 => {
                    let meant = quick_xml::escape::resolve_predefined_entity(&entity);
                    match (meant, entity.resolve_char_ref().map_err(Unreadable::because)?) {
                        (Some(meant), _) => text.push_str(meant),
                        (None, Some(symbol)) => text.push(symbol),
                        (None, None) => {
                            return Err(Unreadable::new(format!(
                                "its XML has an unknown entity, `{}`",
                                &*entity
                            )));
                        }
                    }
                }
                _ => {}
            }
        }
        Ok(text)
    }
}

/// `office:value-type`, not that of an extension.
fn get_value_type(element: &BytesStart<'_>) -> Result<Option<String>, Unreadable> {
    for attribute in element.attributes() {
        let attribute = attribute.map_err(Unreadable::because)?;
        let (name, prefix) = attribute.key.decompose();
        let is_extension = prefix.is_some_and(|prefix| prefix.into_inner() == "calcext");
        if name.into_inner() == "value-type" && !is_extension {
            return Ok(Some(attribute.value.into_owned()));
        }
    }
    Ok(None)
}

fn text_length(cell: &Cell) -> usize {
    match cell {
        Cell::Text(text) | Cell::Error(text) => text.len(),
        _ => 0,
    }
}

/// `2025-05-04` or `2025-05-04T22:10:00`.
fn date(written: &str, shows_hours: bool) -> Option<Cell> {
    if let Some(stamp) = time::parse_iso(written.as_bytes()) {
        return stamp.offset.is_none().then_some(Cell::DateTime(stamp.ms));
    }
    let day = time::parse_iso_date(written.as_bytes())?;
    Some(if shows_hours { Cell::DateTime(day * DAY_MS) } else { Cell::Date(day) })
}

/// A time cell: a duration where its format counts hours beyond 24, a time of the day
/// where it is one; else the number of days that it is.
fn clock_or_duration(ms: i64, elapsed: bool) -> Cell {
    if elapsed {
        Cell::Duration(ms)
    } else if (0..DAY_MS).contains(&ms) {
        Cell::Clock(ms)
    } else {
        Cell::Number(ms as f64 / DAY_MS as f64)
    }
}
