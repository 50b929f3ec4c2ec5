//! The season sheet: one row a cook.

use super::cell::{Cell, NOT_AVAILABLE};
use super::code::SheetCode;
use super::grid::{GridRow, Wanted};
use super::stated::{self, Time};
use super::table::Sheet;
use super::vocabulary::SEASON_COLUMNS;
use super::{CardRow, SheetReading};
use crate::error::{IngestError, Place};
use crate::number;
use cook::{
    Card, Celsius, CelsiusDifference, CookKind, EndReason, Kilograms, Metres, Millimetres,
    PROBE_TEST_WITHIN_C, RejectedRow, WrapMethod,
};
use jiff::tz::TimeZone;
use physics::water;
use std::path::Path;

/// A column's number in two units must agree this closely, as a share: both are rounded.
const AGREEMENT: f64 = 0.01;
/// Two temperatures that are to be one must agree this closely, °C.
const TEMPERATURE_AGREEMENT_C: f64 = 0.6;

/// A season sheet has a `cook` column; a worksheet that has these is one of events.
const SEASON_SHEET: Wanted = Wanted { columns: &["cook"], unless: &["cook", "time", "event"] };

/// Reads a season sheet from CSV (comma, semicolon or tab), XLSX or ODS. `shown_as` and
/// `path` may name a worksheet behind `#`; else it is the visible one with a `cook` column.
///
/// A row without a name is rejected. A value that cannot be is rejected with its column,
/// and the card has `None` there. Columns that are not known pass through in
/// [`Card::extra`].
///
/// # Errors
/// [`IngestError::Unreadable`], [`IngestError::NotText`], [`IngestError::BadContainer`] (a
/// workbook that is damaged, encrypted or too large), [`IngestError::NoTable`] (no `cook`
/// column), [`IngestError::NeedsAnswer`] (two worksheets with one),
/// [`IngestError::Contradiction`] (two columns of one name), [`IngestError::DuplicateCook`].
pub fn read_season_sheet(
    path: &Path,
    shown_as: &str,
    zone: &TimeZone,
) -> Result<SheetReading, IngestError> {
    let mut sheet = Sheet::read(path, shown_as, SEASON_SHEET, SEASON_COLUMNS)?;
    let mut reading = SheetReading::default();
    for row in std::mem::take(&mut sheet.rows) {
        let mut cells = CellReader::new(&sheet, &row);
        let Some(name) = cells.text("cook") else {
            let rejected = cells.rejected;
            sheet.rejected.extend(rejected);
            sheet.account.data -= row.lines;
            sheet.reject_row(&row, SheetCode::NoCook);
            continue;
        };
        if let Some(first) = reading.cards.iter().position(|card: &Card| card.cook == name) {
            return Err(IngestError::DuplicateCook {
                place: Place::cell(&sheet.shown_as, row.line, "cook", name.as_bytes()).into(),
                first_path: sheet.shown_as.clone(),
                first_line: reading.rows[first].line,
                try_this: "give each cook a name of its own".to_owned(),
            });
        }
        let (mut card, card_row) = card(name, &mut cells, zone);
        card.extra = cells.unused();
        let rejected = cells.rejected;
        sheet.account.rejected_cells += rejected.len() as u64;
        sheet.rejected.extend(rejected);
        reading.cards.push(card);
        reading.rows.push(card_row);
    }
    reading.headers = vec![sheet.header()];
    reading.rejected = sheet.rejected;
    reading.account = sheet.account;
    reading.content_hash = sheet.content_hash;
    reading.evidence = sheet.evidence;
    reading.warnings = sheet.warnings;
    for (card, row) in reading.cards.iter_mut().zip(&reading.rows) {
        super::marks::resolve_card(card, row, zone, None, false, None);
    }
    Ok(reading)
}

fn card(cook: String, cells: &mut CellReader<'_>, zone: &TimeZone) -> (Card, CardRow) {
    let mut row = CardRow {
        sheet: cells.sheet.shown_as.clone(),
        line: cells.row.line,
        byte: cells.row.byte,
        day: None,
        stated: Vec::new(),
    };
    for column in super::marks::COLUMNS {
        let Some(text) = cells.time_text(column) else { continue };
        match stated::parse(&text, zone, &cells.sheet.writing) {
            Ok(time) => row.stated.push((column, time, text)),
            Err(code) => cells.reject(column, code, &text),
        }
    }
    let written_day = cells.day("date");
    let marked_day = row.stated.iter().find_map(|(column, time, _)| match time {
        Time::Instant(ms) if *column == "meat_on" => {
            Some(crate::zone::local_ms(zone, *ms).div_euclid(crate::time::DAY_MS))
        }
        _ => None,
    });
    if let (Some(written), Some(marked)) = (written_day, marked_day)
        && written != marked
    {
        cells.reject("date", SheetCode::DateDisagreesWithMeatOn, &stated::date_text(written));
    }
    row.day = marked_day.or(written_day);
    let date = row.day.map(stated::date_text);
    let season = cells.text("season").or_else(|| Some(date.as_ref()?[..4].to_owned()));
    let positive = |value: f64| value > 0.0;
    let altitude = cells
        .either(
            "altitude_m",
            "altitude_ft",
            |ft| Metres::from_feet(ft).value(),
            |m| (-450.0..6000.0).contains(&m),
            |a, b| (a - b).abs() <= 5.0,
        )
        .map(Metres);
    let boils = water::boiling_point_at(altitude.unwrap_or(Metres(0.0))).unwrap_or(Celsius(100.0));
    let card = Card {
        cook,
        season: season.unwrap_or_else(|| "undated".to_owned()),
        logs: cells.text("logs").map(|text| names_of_logs(&text)).unwrap_or_default(),
        date,
        kind: cells.parsed("kind", SheetCode::BadValue, |text| {
            match text.to_lowercase().as_str() {
                "practice" => Some(CookKind::Practice),
                "contest" => Some(CookKind::Contest),
                _ => None,
            }
        }),
        contest: cells.text("contest"),
        place: cells.text("place"),
        pit: cells.text("pit"),
        cooker: cells.text("cooker"),
        fire: cells.text("fire").unwrap_or_default(),
        cut: cells.text("cut"),
        grade: cells.text("grade"),
        supplier: cells.text("supplier"),
        lot: cells.text("lot"),
        cost: cells.number("cost", |value| value >= 0.0),
        raw_weight: cells.weight("raw_weight", positive),
        trimmed_weight: cells.weight("trimmed_weight", positive),
        cooked_weight: cells.weight("cooked_weight", positive),
        served_weight: cells.weight("served_weight", positive),
        thickness: cells
            .either(
                "thickness_mm",
                "thickness_in",
                |i| Millimetres::from_inches(i).value(),
                positive,
                relative,
            )
            .map(Millimetres),
        lead_channel: cells.text("lead_channel"),
        meat_offset: cells.offset("meat_offset"),
        pit_offset: cells.offset("pit_offset"),
        meat_ice: cells.probe_test("meat_ice", Celsius(0.0)),
        meat_boiling: cells.probe_test("meat_boiling", boils),
        pit_ice: cells.probe_test("pit_ice", Celsius(0.0)),
        pit_boiling: cells.probe_test("pit_boiling", boils),
        pit_setpoint: cells.temperature("pit_setpoint", (20.0, 400.0)),
        pit_dew_point: cells.temperature("pit_dew_point", (5.0, 95.0)),
        wood: cells.text("wood"),
        fuel: cells.weight("fuel", |value| value >= 0.0),
        water_pan: cells.parsed("water_pan", SheetCode::BadValue, |text| {
            match text.to_lowercase().as_str() {
                "yes" | "y" | "true" | "1" | "x" => Some(true),
                "no" | "n" | "false" | "0" => Some(false),
                _ => None,
            }
        }),
        altitude,
        weather: cells.text("weather"),
        wrap_method: cells.text("wrap_method").and_then(|text| WrapMethod::parse(&text)),
        hold_kind: cells.text("hold_kind"),
        target_core: cells.temperature("target_core", (30.0, 120.0)),
        scores: cells.scores(),
        arm: cells.text("arm"),
        block: cells.text("block"),
        end_reason: cells.parsed("end_reason", SheetCode::BadValue, EndReason::parse),
        exclude: cells.text("exclude"),
        ..Card::default()
    };
    (card, row)
}

/// The names in a `logs` cell: `;` between them, except within double quotes.
fn names_of_logs(text: &str) -> Vec<String> {
    let mut names = vec![String::new()];
    let mut quoted = false;
    for symbol in text.chars() {
        quoted ^= symbol == '"';
        match names.last_mut() {
            Some(name) if quoted || !matches!(symbol, ';' | '\n') => name.push(symbol),
            _ => names.push(String::new()),
        }
    }
    names.iter().map(|name| name.trim()).filter(|n| !n.is_empty()).map(str::to_owned).collect()
}

/// A number's text without the unit behind it, if it is this one.
fn strip_unit<'t>(text: &'t str, unit: &str) -> Option<&'t str> {
    let written: &[&str] = match unit {
        "kg" => &["kg"],
        "lb" => &["lbs", "lb"],
        "mm" => &["mm"],
        "in" => &["in", "\""],
        "m" => &["m"],
        "ft" => &["ft", "'"],
        "c" => &["°C", "C"],
        "f" => &["°F", "F"],
        _ => &[],
    };
    let bare = written.iter().find_map(|unit| text.strip_suffix(unit))?.trim_end();
    bare.ends_with(|c: char| c.is_ascii_digit()).then_some(bare)
}

fn relative(a: f64, b: f64) -> bool {
    (a - b).abs() <= AGREEMENT * a.abs().max(b.abs())
}

/// The cells of one row, read by name.
struct CellReader<'s> {
    sheet: &'s Sheet,
    row: &'s GridRow,
    used: Vec<bool>,
    rejected: Vec<RejectedRow>,
}

impl<'s> CellReader<'s> {
    fn new(sheet: &'s Sheet, row: &'s GridRow) -> Self {
        Self { sheet, row, used: vec![false; sheet.names.len()], rejected: Vec::new() }
    }

    /// A cell's text; `None` where it is empty, not available (`#N/A`), or there is no such
    /// column. Another formula's error is rejected.
    fn text(&mut self, column: &str) -> Option<String> {
        let at = self.sheet.names.iter().position(|name| name == column)?;
        let again = std::mem::replace(&mut self.used[at], true);
        match self.row.cells.get(at)? {
            Cell::Empty => None,
            Cell::Error(error) if error == NOT_AVAILABLE => None,
            Cell::Error(error) => {
                if !again {
                    self.reject(column, SheetCode::FormulaError, error);
                }
                None
            }
            cell => Some(cell.text()),
        }
    }

    /// As [`Self::text`], of a cell with a date or time: a bare number that can only be a
    /// serial date of this century is taken as one.
    fn time_text(&mut self, column: &str) -> Option<String> {
        let text = self.text(column)?;
        match self.sheet.cell(self.row, column) {
            Some(Cell::Number(value)) => {
                Some(self.sheet.serial(*value).map_or(text, |cell| cell.text()))
            }
            _ => Some(text),
        }
    }

    /// A date, as days since 1970-01-01.
    fn day(&mut self, column: &str) -> Option<i64> {
        let text = self.time_text(column)?;
        match self.sheet.writing.date(&text) {
            Ok(day) => Some(day),
            Err(code) => {
                self.reject(column, code, &text);
                None
            }
        }
    }

    fn reject(&mut self, column: &str, code: SheetCode, text: &str) {
        self.rejected.push(RejectedRow {
            source: self.sheet.shown_as.clone(),
            line: self.row.line,
            byte: self.row.byte,
            column: Some(column.to_owned()),
            code: code.as_str().to_owned(),
            text: text.to_owned(),
        });
    }

    fn parsed<T>(
        &mut self,
        column: &str,
        code: SheetCode,
        parse: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        let text = self.text(column)?;
        let value = parse(&text);
        if value.is_none() {
            self.reject(column, code, &text);
        }
        value
    }

    /// A number with either decimal sign, in its range.
    fn number(&mut self, column: &str, fits: impl Fn(f64) -> bool) -> Option<f64> {
        let text = self.text(column)?;
        if number::is_missing(text.as_bytes(), &[]) {
            return None;
        }
        // The currency before a cost, and the column's own unit behind a number.
        let currency = |c: char| matches!(c, '$' | '€' | '£' | '¥' | '₹');
        let unit = column.rsplit('_').next().unwrap_or_default();
        let mut bare = text.as_str();
        if column == "cost" {
            bare = bare.trim_start_matches(currency).trim_end_matches(currency).trim();
        } else if let Some(before) = strip_unit(bare, unit) {
            bare = before;
        }
        match self.sheet.writing.number(bare) {
            Ok(value) if fits(value) => Some(value),
            Ok(_) => {
                self.reject(column, SheetCode::OutOfRange, &text);
                None
            }
            Err(code) => {
                self.reject(column, code, &text);
                None
            }
        }
    }

    /// One quantity from either of two columns; both given must agree.
    fn either(
        &mut self,
        si: &str,
        other: &str,
        convert: impl Fn(f64) -> f64,
        fits: impl Fn(f64) -> bool,
        agree: impl Fn(f64, f64) -> bool,
    ) -> Option<f64> {
        let direct = self.number(si, &fits);
        let converted = self.number(other, |value| fits(convert(value))).map(&convert);
        match (direct, converted) {
            (Some(a), Some(b)) if !agree(a, b) => {
                let (a, b) = (self.text(si)?, self.text(other)?);
                self.reject(si, SheetCode::UnitsDisagree, &a);
                self.reject(other, SheetCode::UnitsDisagree, &b);
                None
            }
            (direct, converted) => direct.or(converted),
        }
    }

    fn weight(&mut self, stem: &str, fits: impl Fn(f64) -> bool) -> Option<Kilograms> {
        let pounds = |value: f64| Kilograms::from_pounds(value).value();
        self.either(&format!("{stem}_kg"), &format!("{stem}_lb"), pounds, fits, relative)
            .map(Kilograms)
    }

    fn temperature(&mut self, stem: &str, range_c: (f64, f64)) -> Option<Celsius> {
        let celsius = |value: f64| Celsius::from_fahrenheit(value).value();
        let fits = |value: f64| (range_c.0..=range_c.1).contains(&value);
        let agree = |a: f64, b: f64| (a - b).abs() <= TEMPERATURE_AGREEMENT_C;
        self.either(&format!("{stem}_c"), &format!("{stem}_f"), celsius, fits, agree).map(Celsius)
    }

    /// What a probe read where the truth is known; further off than a probe can be, the test is
    /// rejected.
    fn probe_test(&mut self, stem: &str, truth: Celsius) -> Option<Celsius> {
        let read = self.temperature(stem, (-60.0, 160.0))?;
        if (read.value() - truth.value()).abs() <= PROBE_TEST_WITHIN_C {
            return Some(read);
        }
        for column in [format!("{stem}_c"), format!("{stem}_f")] {
            if let Some(text) = self.text(&column) {
                self.reject(&column, SheetCode::ProbeTestFarOff, &text);
            }
        }
        None
    }

    fn offset(&mut self, stem: &str) -> Option<CelsiusDifference> {
        let kelvins = |value: f64| CelsiusDifference::from_fahrenheit(value).value();
        let fits = |value: f64| value.abs() <= 30.0;
        let agree = |a: f64, b: f64| (a - b).abs() <= TEMPERATURE_AGREEMENT_C;
        self.either(&format!("{stem}_c"), &format!("{stem}_f"), kelvins, fits, agree)
            .map(CelsiusDifference)
    }

    fn scores(&mut self) -> Vec<(String, f64)> {
        let columns: Vec<String> =
            self.sheet.names.iter().filter(|name| name.starts_with("score_")).cloned().collect();
        columns
            .into_iter()
            .filter_map(|column| Some((column.clone(), self.number(&column, f64::is_finite)?)))
            .collect()
    }

    /// The columns that nobody asked for, as written.
    fn unused(&mut self) -> Vec<(String, String)> {
        let mut found = Vec::new();
        for i in 0..self.used.len() {
            if self.used[i] {
                continue;
            }
            let name = &self.sheet.written[i];
            let name = if name.is_empty() { format!("column-{}", i + 1) } else { name.clone() };
            match self.row.cells.get(i) {
                None | Some(Cell::Empty) => {}
                Some(Cell::Error(error)) if error == NOT_AVAILABLE => {}
                Some(Cell::Error(error)) => self.reject(&name, SheetCode::FormulaError, error),
                Some(cell) => found.push((name, cell.text())),
            }
        }
        found
    }
}
