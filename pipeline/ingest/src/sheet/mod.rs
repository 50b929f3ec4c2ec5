//! Season sheets and events sheets.

mod cell;
mod code;
mod events;
mod grid;
mod halves;
mod headings;
mod marks;
mod noted;
mod quantity;
mod row;
mod scores;
mod season;
mod spellings;
mod stated;
mod table;
pub mod vocabulary;
mod workbook;
mod writing;

use crate::error::{IngestError, Place};
use crate::folded::{folded, remedy};
use cook::{Answers, Card, Event, EventKind, Evidence, LineAccount, Question, RejectedRow, Units};
use jiff::tz::TimeZone;
use serde::Serialize;
use std::collections::HashMap;

pub use code::SheetCode;
pub use events::{event_value, read_events_sheet};
pub use halves::Logged;
pub use marks::{Seen, place_again, resolve_marks};
pub use noted::WrittenTime;
pub use scores::{ScoresReading, read_scores_sheet};
pub use season::{GUESSED, read_season_sheet};
pub(crate) use stated::date_text;
pub use vocabulary::{events_sheet_schema, scores_sheet_schema, season_sheet_schema};

/// What is known of a sheet from outside it.
#[derive(Debug, Clone)]
pub struct SheetOptions {
    /// Time zone of times without an offset.
    pub zone: TimeZone,
    /// Whether anybody said that it is; else times that hang on it are not used, and asked about.
    pub zone_known: bool,
    /// What was answered to questions.
    pub answers: Answers,
    /// Units in which answers are told.
    pub units: Units,
}

impl From<&TimeZone> for SheetOptions {
    /// The zone, and no answer.
    fn from(zone: &TimeZone) -> Self {
        Self {
            zone: zone.clone(),
            zone_known: true,
            answers: Answers::default(),
            units: Units::default(),
        }
    }
}

/// Where a card came from, and its times as the sheet states them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardRow {
    /// The sheet, as shown: of a workbook, `file#Worksheet`.
    pub sheet: String,
    /// Line of the row, from 1.
    pub line: u64,
    byte: u64,
    /// Local date of meat-on, in days since 1970-01-01.
    day: Option<i64>,
    /// Column, time and text of each stated time.
    stated: Vec<(&'static str, stated::Time, String)>,
    /// The cells that state a time or a quantity, as they are written.
    cells: Vec<StatedCell>,
    /// How clock times without am or pm can be read, where that is in doubt.
    halves: Option<halves::Halves>,
    /// Whether a time of its sheet is one that only a 24-hour clock writes.
    of_24_hours: bool,
    /// Whether no time of its sheet is of a 24-hour clock for certain, nor says its half: a zero before an hour then
    /// says neither.
    padded_too: bool,
}

/// A cell of a row that states a time or a quantity, as it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedCell {
    /// The column that the vocabulary knows it by; of a quantity, that of the store.
    pub field: &'static str,
    /// The heading, as written.
    pub column: String,
    /// The column that the heading was read as, with the unit at its end: `pit_setpoint_f`.
    pub read_as: String,
    /// The text.
    pub text: String,
}

impl CardRow {
    /// The cells that state a time or a quantity, as they are written.
    pub fn cells(&self) -> &[StatedCell] {
        &self.cells
    }

    /// Takes out the times that hang on a zone which nobody said; says where the first stands.
    fn drop_local_times(&mut self, writing: &writing::Writing) -> Option<String> {
        let is_local = |text: &str| stated::is_local(text, writing);
        let (column, ..) = self.stated.iter().find(|(_, _, text)| is_local(text))?;
        let place = format!("{}:{} {column}", self.sheet, self.line);
        self.stated.retain(|(_, _, text)| !is_local(text));
        self.halves = None;
        Some(place)
    }
}

/// What is kept of a sheet's header, to name its cells.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct SheetHeader {
    source: String,
    names: Vec<String>,
    has_letters: bool,
}

/// A rejected row or cell of a sheet in words: sheet, row, column, value, the rule, and the
/// nearest right spelling; `None` for a row of another file.
fn explain(
    headers: &[SheetHeader],
    cooks: &[String],
    event: Option<EventKind>,
    row: &RejectedRow,
) -> Option<String> {
    let header = headers.iter().find(|header| header.source == row.source)?;
    let mut place = format!("{}:{}", row.source, row.line);
    if let Some(column) = &row.column {
        let at = header.names.iter().position(|name| name == column).filter(|_| header.has_letters);
        let letters = at.map_or_else(String::new, |at| format!(" ({})", cell::column_letters(at)));
        place = format!("{place}, column `{column}`{letters}");
    }
    let code = SheetCode::parse(&row.code)?;
    let column = row.column.as_deref().unwrap_or_default();
    let allowed =
        vocabulary::allowed(column).map_or_else(String::new, |words| format!(" (one of {words})"));
    let nearest = match code {
        SheetCode::BadTime => stated::meant(&row.text),
        SheetCode::BadValue => {
            let word = vocabulary::meant_word(column, &row.text).map(|word| format!("{word}`"));
            word.or_else(|| meant_value(event?, &row.text))
        }
        SheetCode::AmbiguousDate => {
            writing::both_dates(&row.text).map(|[one, other]| format!("{one}` or `{other}`"))
        }
        SheetCode::UnknownCook => {
            cook::settings::nearest(&row.text, cooks.iter().map(String::as_str))
                .map(|cook| format!("{cook}`"))
        }
        SheetCode::UnknownEvent => {
            cook::settings::nearest(&row.text.to_lowercase(), EventKind::ALL.map(EventKind::as_str))
                .map(|event| format!("{event}`"))
        }
        _ => None,
    };
    let try_this = nearest.map_or_else(String::new, |nearest| format!("\n  try: `{nearest}"));
    Some(format!("{place}: `{}`: {}{allowed} ({code}){try_this}", row.text, code.rule()))
}

/// How the value of an event may have been meant that is none.
fn meant_value(event: EventKind, text: &str) -> Option<String> {
    let text = text.trim();
    let end =
        text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(text.len());
    let (number, rest) = text.split_at(end);
    let either = |units: [&str; 2]| {
        let [one, other] = units.map(|unit| format!("{number}{unit}{rest}"));
        (!number.is_empty()).then(|| format!("{one}` or `{other}`"))
    };
    match event {
        EventKind::Core if rest.is_empty() || cook::is_place(rest) => either(["F", "C"]),
        EventKind::Setpoint if rest.is_empty() => either(["F", "C"]),
        EventKind::Fuel if rest.is_empty() => either([" lb", " kg"]),
        EventKind::Fuel => Some("4 lb` or `2 kg` (what is counted goes into `note`)".to_owned()),
        EventKind::Lid => Some("open`, `close` or `5 min`".to_owned()),
        EventKind::ProbeTest => Some("tender` or `not`".to_owned()),
        EventKind::Bark => Some("not-yet`, `nearly` or `set`".to_owned()),
        _ => None,
    }
}

/// One or more season sheets, read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SheetReading {
    /// One card a cook, in the sheet's order.
    pub cards: Vec<Card>,
    /// Where each card came from; parallel to `cards`.
    pub rows: Vec<CardRow>,
    /// Rows and cells that could not be used.
    pub rejected: Vec<RejectedRow>,
    /// What became of the sheet's lines.
    pub account: LineAccount,
    /// SHA-256 of the sheet's bytes, hexadecimal.
    pub content_hash: String,
    /// What was decided: which worksheet, how dates are to be understood.
    pub evidence: Vec<Evidence>,
    /// What a reader should be told although the sheet was read.
    pub warnings: Vec<String>,
    /// What it leaves open and nobody answered yet.
    pub questions: Vec<Question>,
    headers: Vec<SheetHeader>,
}

/// An events sheet, read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct EventsReading {
    /// Events whose time is known, in the order of cook and time.
    pub events: Vec<Event>,
    /// Rows that could not be used.
    pub rejected: Vec<RejectedRow>,
    /// What became of the sheet's lines.
    pub account: LineAccount,
    /// SHA-256 of the sheet's bytes, hexadecimal.
    pub content_hash: String,
    /// What was decided: which worksheet, how dates are to be understood.
    pub evidence: Vec<Evidence>,
    /// What a reader should be told although the sheet was read.
    pub warnings: Vec<String>,
    /// What it leaves open and nobody answered yet.
    pub questions: Vec<Question>,
    /// Where marks are noted: the cook, the mark's event, and `events.csv:4 time`; of several rows the first.
    pub marks_at: Vec<(String, EventKind, String)>,
    headers: Vec<SheetHeader>,
    /// Names of the season sheet's cooks.
    cooks: Vec<String>,
    /// Events that wait for a meat-on, in the sheet's order.
    waiting: Vec<events::Waiting>,
    /// The kind of event of each line whose value is none.
    bad_values: HashMap<u64, EventKind>,
}

impl EventsReading {
    /// As [`SheetReading::explain`].
    pub fn explain(&self, row: &RejectedRow) -> Option<String> {
        let kind =
            self.bad_values.get(&row.line).filter(|_| row.column.as_deref() == Some("value"));
        explain(&self.headers, &self.cooks, kind.copied(), row)
    }

    /// The part of each of so many groups of cooks: their events, those included that wait
    /// for a meat-on; no rejections, and of the account the lines of those that wait. `group_of` has the cooks that are in one.
    #[must_use]
    pub fn parted(&self, group_of: &HashMap<&str, usize>, groups: usize) -> Vec<Self> {
        let mut parts = vec![Self::default(); groups];
        for event in &self.events {
            if let Some(group) = group_of.get(event.cook.as_str()) {
                parts[*group].events.push(event.clone());
            }
        }
        for waiting in &self.waiting {
            if let Some(group) = group_of.get(waiting.event().cook.as_str()) {
                let part = &mut parts[*group];
                part.account.data += waiting.lines();
                part.waiting.push(waiting.clone());
            }
        }
        parts
    }

    /// The cooks whose core was read by hand; one may be named more than once.
    pub fn cooks_read_by_hand(&self) -> impl Iterator<Item = &str> {
        let waiting = self.waiting.iter().map(events::Waiting::event);
        let read = self.events.iter().chain(waiting).filter(|e| e.kind == EventKind::Core);
        read.map(|event| event.cook.as_str())
    }

    /// As [`SheetReading::content`].
    pub fn content(&self) -> impl Serialize + '_ {
        let waiting: Vec<_> = self.waiting.iter().map(events::Waiting::content).collect();
        (&self.events, waiting)
    }
}

/// Where the zero of a cook's elapsed logs lies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ElapsedAnchor {
    /// The instant of elapsed zero, ms UTC.
    pub zero_ms: i64,
    /// By which rule, in words.
    pub because: String,
    /// Whether the zero is taken to be the stated meat-on, for want of anything better.
    pub is_meat_on: bool,
    /// Whether neither a meat-on nor a start is stated, so that no instant is known.
    pub is_assumed: bool,
}

impl SheetReading {
    /// A rejected row or cell of one of these sheets in words: sheet, row, column (with its
    /// letters in a workbook), value, the rule, and the nearest right spelling. `None` for
    /// a row of another file.
    pub fn explain(&self, row: &RejectedRow) -> Option<String> {
        explain(&self.headers, &[], None, row)
    }

    /// The part of each of so many groups of cooks, so that they can be read on their own:
    /// their cards and rows, no rejections, no account. `group_of` has the cooks that are in
    /// one.
    #[must_use]
    pub fn parted(&self, group_of: &HashMap<&str, usize>, groups: usize) -> Vec<Self> {
        let mut parts = vec![Self::default(); groups];
        for (card, row) in self.cards.iter().zip(&self.rows) {
            if let Some(group) = group_of.get(card.cook.as_str()) {
                parts[*group].cards.push(card.clone());
                parts[*group].rows.push(row.clone());
            }
        }
        parts
    }

    /// What the rows say, wherever in the sheet they stand: two readings of equal content give
    /// the same cooks, though rejected cells have other places.
    pub fn content(&self) -> impl Serialize + '_ {
        let stated: Vec<_> =
            self.rows.iter().map(|row| (row.day, &row.stated, &row.halves)).collect();
        (&self.cards, stated)
    }

    /// Adds the card of a cook that no sheet has.
    pub fn add_without_row(&mut self, card: Card) {
        self.cards.push(card);
        self.rows.push(CardRow {
            sheet: String::new(),
            line: 0,
            byte: 0,
            day: None,
            stated: Vec::new(),
            cells: Vec::new(),
            halves: None,
            of_24_hours: false,
            padded_too: false,
        });
    }

    /// Appends another sheet's cards, rejections and account; the content hash stays that
    /// of the first.
    ///
    /// # Errors
    /// [`IngestError::DuplicateCook`] where both name one cook.
    pub fn append(&mut self, other: Self) -> Result<(), IngestError> {
        let known: HashMap<String, usize> =
            self.cards.iter().enumerate().map(|(at, card)| (folded(&card.cook), at)).collect();
        for (card, row) in other.cards.iter().zip(&other.rows) {
            if let Some(&first) = known.get(&folded(&card.cook)) {
                return Err(IngestError::DuplicateCook {
                    place: Place::cell(&row.sheet, row.line, "cook", card.cook.as_bytes()).into(),
                    first_path: self.rows[first].sheet.clone(),
                    first_line: self.rows[first].line,
                    try_this: remedy(&card.cook, &self.cards[first].cook),
                });
            }
        }
        self.cards.extend(other.cards);
        self.rows.extend(other.rows);
        self.rejected.extend(other.rejected);
        self.evidence.extend(other.evidence);
        self.warnings.extend(other.warnings);
        self.questions.extend(other.questions);
        self.headers.extend(other.headers);
        let (sum, more) = (&mut self.account, other.account);
        sum.lines += more.lines;
        sum.preamble += more.preamble;
        sum.header += more.header;
        sum.blank += more.blank;
        sum.data += more.data;
        sum.rejected += more.rejected;
        sum.footer += more.footer;
        sum.rejected_cells += more.rejected_cells;
        Ok(())
    }
}
