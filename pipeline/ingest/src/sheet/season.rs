//! The season sheet: one row a cook.

use super::cell::{Cell, NOT_AVAILABLE};
use super::code::SheetCode;
use super::grid::Wanted;
use super::quantity;
use super::row::GridRow;
use super::stated::{self, Time};
use super::table::Sheet;
use super::vocabulary::SEASON_COLUMNS;
use super::{CardRow, SheetOptions, SheetReading, StatedCell};
use crate::error::{IngestError, Place};
use crate::folded::{folded, remedy};
use crate::number;
use columns::card::{self, CardField};
use columns::sheet::{Stated, american};
use columns::{Quantity, Value};
use cook::{
    Answer, Answers, Card, Celsius, Metres, PROBE_TEST_WITHIN_C, Question, QuestionCode,
    RejectedRow, trade,
};
use jiff::tz::TimeZone;
use physics::water;
use std::collections::HashMap;
use std::path::Path;

/// Column of a season sheet that names the cells of its row which the program filled in, as guesses
/// from the curve: they are used, and told for as long as they are named there.
pub const GUESSED: &str = "guessed";

/// A column's number in two units must agree this closely, as a share: both are rounded.
const AGREEMENT: f64 = 0.01;
/// Two temperatures that are to be one must agree this closely, °C.
const TEMPERATURE_AGREEMENT_C: f64 = 0.6;
/// Two altitudes that are to be one must agree this closely, m.
const ALTITUDE_AGREEMENT_M: f64 = 5.0;

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
    options: &SheetOptions,
) -> Result<SheetReading, IngestError> {
    let zone = &options.zone;
    let mut sheet = Sheet::read(path, shown_as, SEASON_SHEET, &SEASON_COLUMNS, options)?;
    let mut reading = SheetReading::default();
    let mut line_of: HashMap<String, (u64, String)> = HashMap::new();
    let mut guessed: Vec<String> = Vec::new();
    for row in std::mem::take(&mut sheet.rows) {
        let mut cells = CellReader::new(&sheet, &row);
        let Some(name) = cells.text(card::COOK.stated_as()) else {
            let rejected = cells.rejected;
            sheet.rejected.extend(rejected);
            sheet.account.data -= row.lines;
            sheet.reject_row(&row, SheetCode::NoCook);
            continue;
        };
        let known = line_of.insert(folded(&name), (row.line, name.clone()));
        if let Some((first_line, first_name)) = known {
            return Err(IngestError::DuplicateCook {
                place: Place::cell(
                    &sheet.shown_as,
                    row.line,
                    card::COOK.stated_as(),
                    name.as_bytes(),
                )
                .into(),
                first_path: sheet.shown_as.clone(),
                first_line,
                try_this: remedy(&name, &first_name),
            });
        }
        let (mut card, card_row) = read_card(name, &mut cells, zone);
        card.extra = cells.unused();
        let is_guessed = |(column, _): &(String, String)| folded(column) == GUESSED;
        if let Some(at) = card.extra.iter().position(is_guessed) {
            card.extra.remove(at);
            guessed.push(card.cook.clone());
        }
        let (rejected, told) = (cells.rejected, cells.told);
        reading.questions.extend(settle_exclude(&mut card, &card_row, &options.answers));
        sheet.warnings.extend(told);
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
    reading.warnings.extend(told_guesses(&sheet.shown_as, &guessed));
    reading.questions.extend(sheet.questions);
    let cooks: Vec<&str> = reading.cards.iter().map(|card| card.cook.as_str()).collect();
    super::halves::settle(&mut reading.rows, &cooks, zone, &options.answers);
    if !options.zone_known {
        for row in &mut reading.rows {
            if let Some(place) = row.drop_local_times(&sheet.writing) {
                reading.questions.push(Question::time_zone().at(place));
            }
        }
    }
    for (card, row) in reading.cards.iter_mut().zip(&reading.rows) {
        super::marks::resolve_card(card, row, zone, None, false, None);
    }
    Ok(reading)
}

/// Whether a cook is left out, where the cell that should say why says neither yes nor no.
fn settle_exclude(card: &mut Card, row: &CardRow, answers: &Answers) -> Option<Question> {
    const LEAVE_OUT: &str = "leave-out";
    let text = card.exclude.as_deref().filter(|text| trade::is_unsure(text))?;
    let column = card::EXCLUDE.column.name;
    let question = Question::new(
        QuestionCode::LeftOutOrNot,
        &[&row.sheet, &card.cook, text],
        format!("{}:{} {column}: is cook `{}` to be left out?", row.sheet, row.line, card.cook),
        format!("`{text}` is no reason and no `no`. Until this is answered, the cook is used"),
        vec![
            Answer::new("use", "the cook is used"),
            Answer::new(LEAVE_OUT, format!("the cook is left out: {text}")),
        ],
    )
    .at(format!("{}:{} {column}", row.sheet, row.line));
    let answer = answers.to(&question);
    if !answer.is_some_and(|answer| answer.eq_ignore_ascii_case(LEAVE_OUT)) {
        card.exclude = None;
    }
    let is_open = answer.is_none();
    is_open.then(|| Question { used: Some("use".to_owned()), ..question })
}

/// That marks of these cooks were guessed and nobody has looked at them yet.
fn told_guesses(sheet: &str, cooks: &[String]) -> Option<String> {
    let (first, rest) = cooks.split_first()?;
    let whose = match rest.len() {
        0 => format!("cook `{first}` has"),
        more => format!("cook `{first}` and {more} more have"),
    };
    Some(format!(
        "{sheet}: {whose} marks that were guessed from the curve and that nobody has confirmed; correct what is wrong and take it out of the column `{GUESSED}`"
    ))
}

fn read_card(cook: String, cells: &mut CellReader<'_>, zone: &TimeZone) -> (Card, CardRow) {
    let mut row = CardRow {
        sheet: cells.sheet.shown_as.clone(),
        line: cells.row.line,
        byte: cells.row.byte,
        day: None,
        stated: Vec::new(),
        cells: Vec::new(),
        halves: None,
        of_24_hours: false,
        padded_too: false,
    };
    for column in super::marks::COLUMNS {
        let Some(text) = cells.time_text(column) else { continue };
        match stated::parse(&text, zone, &cells.sheet.writing) {
            Ok(time) => {
                cells.note(column, column, &text);
                row.stated.push((column, time, text));
            }
            Err(code) => cells.reject(column, code, &text),
        }
    }
    let written_day = cells.day(card::DATE.stated_as());
    let marked_day = row.stated.iter().find_map(|(column, time, _)| match time {
        Time::Instant(ms) if *column == card::MEAT_ON_AT.stated_as() => {
            Some(crate::zone::local_ms(zone, *ms).div_euclid(crate::time::DAY_MS))
        }
        _ => None,
    });
    // After midnight, or copied from the row above; what is further apart is held against the log.
    let is_far = written_day.zip(marked_day).is_some_and(|(day, other)| (day - other).abs() > 1);
    if let (Some(written), Some(marked)) = (written_day, marked_day)
        && written != marked
        && !is_far
    {
        cells.reject(
            card::DATE.stated_as(),
            SheetCode::DateDisagreesWithMeatOn,
            &stated::date_text(written),
        );
    }
    row.day = marked_day.or(written_day);
    let date = written_day.filter(|_| is_far).or(row.day).map(stated::date_text);
    let season =
        cells.text(card::SEASON.stated_as()).or_else(|| Some(date.as_ref()?[..4].to_owned()));
    let mut stated = Card {
        cook,
        season: season.unwrap_or_else(|| "undated".to_owned()),
        date,
        ..Card::default()
    };
    // What boiling water should have read depends on the altitude.
    cells.field(&card::ALTITUDE_M, &mut stated);
    stated.logs = cells.text(card::LOGS.stated_as()).map(|t| names_of_logs(&t)).unwrap_or_default();
    for field in card::FIELDS.iter().filter(|field| !BY_HAND.contains(&field.column.name)) {
        cells.field(field, &mut stated);
    }
    stated.scores = cells.scores();
    row.cells = std::mem::take(&mut cells.stated);
    (stated, row)
}

/// Fields that are read before the others, each by a rule of its own.
const BY_HAND: [&str; 5] = [
    card::COOK.column.name,
    card::SEASON.column.name,
    card::DATE.column.name,
    card::LOGS.column.name,
    card::ALTITUDE_M.column.name,
];

/// What a probe should have read in the test that a field states.
fn truth(field: &CardField, card: &Card) -> Option<Celsius> {
    const MEAT_ICE: &str = card::MEAT_ICE_C.column.name;
    const PIT_ICE: &str = card::PIT_ICE_C.column.name;
    const MEAT_BOILING: &str = card::MEAT_BOILING_C.column.name;
    const PIT_BOILING: &str = card::PIT_BOILING_C.column.name;
    match field.column.name {
        MEAT_ICE | PIT_ICE => Some(Celsius(0.0)),
        MEAT_BOILING | PIT_BOILING => {
            let altitude = card.altitude.unwrap_or(Metres(0.0));
            Some(water::boiling_point_at(altitude).unwrap_or(Celsius(100.0)))
        }
        _ => None,
    }
}

/// Whether what stands in two units is one quantity: both are rounded.
fn agree(quantity: Option<Quantity>, a: f64, b: f64) -> bool {
    (a - b).abs()
        <= match quantity {
            Some(Quantity::Temperature | Quantity::TemperatureDifference) => {
                TEMPERATURE_AGREEMENT_C
            }
            Some(Quantity::Altitude) => ALTITUDE_AGREEMENT_M,
            _ => AGREEMENT * a.abs().max(b.abs()),
        }
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

/// The word of a list that is written, in capitals or with spaces.
fn word_of(words: &[&str], text: &str) -> Option<String> {
    let written = text.trim().to_lowercase().replace([' ', '_'], "-");
    words.iter().find(|word| **word == written).map(|word| (*word).to_owned())
}

/// The cells of one row, read by name.
struct CellReader<'s> {
    sheet: &'s Sheet,
    row: &'s GridRow,
    used: Vec<bool>,
    rejected: Vec<RejectedRow>,
    stated: Vec<StatedCell>,
    /// Cells that were read by a unit of their own, in words.
    told: Vec<String>,
}

impl<'s> CellReader<'s> {
    fn new(sheet: &'s Sheet, row: &'s GridRow) -> Self {
        let used = vec![false; sheet.names.len()];
        let (rejected, stated, told) = (Vec::new(), Vec::new(), Vec::new());
        Self { sheet, row, used, rejected, stated, told }
    }

    /// Keeps a cell that states a field as it is written.
    fn note(&mut self, field: &'static str, column: &str, text: &str) {
        let at = self.sheet.names.iter().position(|name| name == column);
        let written = at.map_or(column, |at| self.sheet.written[at].as_str()).to_owned();
        self.stated.push(StatedCell {
            field,
            column: written,
            read_as: column.to_owned(),
            text: text.trim().to_owned(),
        });
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
        let text = self.text(column).filter(|text| !trade::is_missing(text))?;
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
        // It waits for the answer.
        if code == SheetCode::AmbiguousDate && self.sheet.asks_date_order() {
            return;
        }
        self.rejected.push(RejectedRow {
            source: self.sheet.shown_as.clone(),
            line: self.row.line,
            byte: self.row.byte,
            column: Some(column.to_owned()),
            code: code.as_str().to_owned(),
            text: text.to_owned(),
        });
    }

    /// Reads a field as the sheet states it; what cannot be is rejected.
    fn field(&mut self, field: &CardField, card: &mut Card) {
        let column = field.stated_as();
        let value = match field.stated {
            // Resolved once all marks of a cook are known.
            Stated::Nowhere | Stated::Date { .. } | Stated::Time { .. } => None,
            Stated::Text { .. } => {
                let text = self.text(column).filter(|text| !trade::is_missing(text));
                // A column of reasons that is filled in for every cook says `no` for most.
                let says_no = |text: &String| {
                    field.column.name == card::EXCLUDE.column.name
                        && trade::yes_or_no(text) == Some(false)
                };
                text.filter(|text| !says_no(text)).map(Value::Text)
            }
            Stated::YesNo { .. } => self.parsed(column, trade::yes_or_no).map(Value::Bool),
            Stated::Words { words, .. } => {
                self.parsed(column, |text| word_of(words, text)).map(Value::Text)
            }
            Stated::Number { fits, .. } => self.number(column, fits).map(Value::Float),
            Stated::Either { american, fits, .. } => {
                self.either(field, american, fits, truth(field, card)).map(Value::Float)
            }
        };
        if let Some(value) = value {
            field.set(card, value);
        }
    }

    fn parsed<T>(&mut self, column: &str, parse: impl Fn(&str) -> Option<T>) -> Option<T> {
        let text = self.text(column).filter(|text| !trade::is_missing(text))?;
        let value = parse(&text);
        if value.is_none() {
            self.reject(column, SheetCode::BadValue, &text);
        }
        value
    }

    /// A number with either decimal sign, in its range.
    fn number(&mut self, column: &str, fits: impl Fn(f64) -> bool) -> Option<f64> {
        let text = self.text(column)?;
        if number::is_missing(text.as_bytes(), &[]) {
            return None;
        }
        let whole = text;
        let text = super::stated::without_remark(&whole).to_owned();
        // The currency before a cost.
        let currency = |c: char| matches!(c, '$' | '€' | '£' | '¥' | '₹');
        let unit = column.rsplit('_').next().unwrap_or_default();
        let writing = &self.sheet.writing;
        let read = if column == card::COST.stated_as() {
            let bare = text.trim_start_matches(currency).trim_end_matches(currency).trim();
            writing.number(bare)
        } else if column.starts_with("score_") {
            quantity::score(&text, writing)
        } else {
            quantity::read(&text, unit, writing)
        };
        match read {
            Ok(value) if fits(value) => {
                if let Some(own) = quantity::other_unit(&text, unit) {
                    self.told.push(format!(
                        "{}:{}, column `{column}`: `{text}` is read in {own}, as the cell says, not as the heading",
                        self.sheet.shown_as, self.row.line
                    ));
                }
                Some(value)
            }
            Ok(_) => {
                self.reject(column, SheetCode::OutOfRange, &whole);
                None
            }
            Err(code) => {
                self.reject(column, code, &whole);
                None
            }
        }
    }

    /// One quantity from either of two columns; both given must agree. Further off the truth than
    /// a probe can be, a test is rejected.
    fn either(
        &mut self,
        field: &CardField,
        other: &str,
        fits: fn(f64) -> bool,
        truth: Option<Celsius>,
    ) -> Option<f64> {
        let (own, quantity) = (field.column.name, field.column.quantity);
        let (_, _, convert) = quantity.and_then(american)?;
        let direct = self.number(own, fits);
        let converted = self.number(other, |value| fits(convert(value))).map(convert);
        let code = match (direct, converted) {
            (Some(a), Some(b)) if !agree(quantity, a, b) => SheetCode::UnitsDisagree,
            (direct, converted) => {
                let read = direct.or(converted)?;
                if truth.is_none_or(|truth| (read - truth.value()).abs() <= PROBE_TEST_WITHIN_C) {
                    let column = if direct.is_some() { own } else { other };
                    if let Some(text) = self.text(column) {
                        self.note(own, column, &text);
                    }
                    return Some(read);
                }
                SheetCode::ProbeTestFarOff
            }
        };
        for column in [own, other] {
            if let Some(text) = self.text(column) {
                self.reject(column, code, &text);
            }
        }
        None
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
