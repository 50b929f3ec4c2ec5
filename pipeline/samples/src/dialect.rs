//! Readings as text, in generic dialects, with the truth beside it.
//!
//! A [`Dialect`] is a set of choices: delimiter, quotes, decimal sign, encoding, how
//! instants are written, where the unit stands, what stands above and below the readings.
//! [`Dialect::write`] writes a [`ReadingSet`] in it and gives a [`WrittenLog`]: the bytes,
//! and a [`LogTruth`] that says of every line what it is and of every cell which channel,
//! instant and temperature it holds, so that a reader can be judged cell by cell. What a
//! file leaves open is named with the setting that answers it ([`Open`]).
//!
//! | module | its one job |
//! |---|---|
//! | [`style`] | the choices |
//! | `words` | header words in some languages |
//! | `time` | instants as text |
//! | `page` | a log as lines of cells |
//! | `render` | lines of cells as text, line by line with its truth |
//! | `open` | what a file leaves open |
//! | `draw` | any dialect, by chance |
//! | [`truth`] | what every line and cell truly is |

mod draw;
mod open;
mod page;
mod render;
pub mod style;
mod time;
pub mod truth;
mod words;

pub use style::{
    Absent, ClockStyle, DateOrder, DateStyle, Delimiter, ElapsedStyle, EpochUnit, Escape,
    ExtraColumn, FileEnd, Header, Language, LineEnds, NumberStyle, Quotes, RowEnd, Shape,
    TimeStyle, UnitForm, UnitPlace, UnitWord, ZoneStyle,
};
pub use truth::{
    CellTruth, ChannelTruth, Content, Expected, Instant, LineKind, LineTruth, LogTruth, Open,
    Question, Verdict, WrittenLog,
};

pub(crate) use draw::one_of;
pub(crate) use page::{Body, Page, PageLine};
pub(crate) use time::local;

use crate::archive::Container;
use crate::encoding::Encoding;
use crate::error::WriteError;
use jiff::tz::TimeZone;
use simulate::measured::ReadingSet;

/// A dialect.
#[derive(Debug, Clone, PartialEq)]
pub struct Dialect {
    /// Between cells.
    pub delimiter: Delimiter,
    /// Which cells stand in quotes.
    pub quotes: Quotes,
    /// How a quote inside quotes is written.
    pub escape: Escape,
    /// How numbers are written.
    pub number: NumberStyle,
    /// Layout of rows.
    pub shape: Shape,
    /// How instants are written.
    pub time: TimeStyle,
    /// Where the unit stands.
    pub unit: UnitPlace,
    /// How it is spelt.
    pub unit_word: UnitWord,
    /// How it stands behind a name.
    pub unit_form: UnitForm,
    /// The header.
    pub header: Header,
    /// The header comes again after so many instants.
    pub header_every: Option<usize>,
    /// Language of the header's own words.
    pub language: Language,
    /// Whether these begin with a capital letter.
    pub capitals: bool,
    /// Lines before the header.
    pub preamble: Vec<String>,
    /// Lines after the readings.
    pub footer: Vec<String>,
    /// Averages and maxima below the readings; wide form only.
    pub totals: bool,
    /// What stands for readings that are none.
    pub absent: Absent,
    /// Columns that hold no temperature.
    pub extras: Vec<ExtraColumn>,
    /// How rows end.
    pub row_end: RowEnd,
    /// How lines end.
    pub line_ends: LineEnds,
    /// How the file ends.
    pub file_end: FileEnd,
    /// How the text becomes bytes.
    pub encoding: Encoding,
    /// What the file stands in.
    pub container: Container,
}

impl Default for Dialect {
    /// Comma, wide, local ISO time, units in the header, empty where nothing was read.
    fn default() -> Self {
        Self {
            delimiter: Delimiter::Comma,
            quotes: Quotes::WhenNeeded,
            escape: Escape::Doubled,
            number: NumberStyle::default(),
            shape: Shape::Wide,
            time: TimeStyle::ISO_LOCAL,
            unit: UnitPlace::Header,
            unit_word: UnitWord::Degree,
            unit_form: UnitForm::Round,
            header: Header::One,
            header_every: None,
            language: Language::English,
            capitals: false,
            preamble: Vec::new(),
            footer: Vec::new(),
            totals: false,
            absent: Absent::default(),
            extras: Vec::new(),
            row_end: RowEnd::Plain,
            line_ends: LineEnds::Lf,
            file_end: FileEnd::LineEnd,
            encoding: Encoding::Utf8,
            container: Container::None,
        }
    }
}

impl Dialect {
    /// The set as a file; local times are in `zone`. The file is called `log` and has the
    /// dialect's [`Dialect::ending`].
    ///
    /// # Errors
    /// [`WriteError::RowLength`] for a row that does not fit the channels,
    /// [`WriteError::Instant`] for an instant outside the calendar.
    pub fn write(&self, set: &ReadingSet, zone: &TimeZone) -> Result<WrittenLog, WriteError> {
        let mut page = self.page(set, zone)?;
        self.cut(&mut page);
        Ok(self.finish(&page, set, zone))
    }

    /// The file of a page of this dialect.
    pub(crate) fn finish(&self, page: &Page, set: &ReadingSet, zone: &TimeZone) -> WrittenLog {
        let truth = LogTruth {
            channels: page.channels.clone(),
            header: page.header.clone(),
            lines: self.render(page),
            zero_ms: self.unsaid_zero(set),
            questions: self.questions(page, set, zone),
        };
        let inner = format!("log{}", self.text_ending());
        let bytes = self.encoding.encode(&truth.text());
        WrittenLog {
            name: format!("{inner}{}", self.container.ending()),
            bytes: self.container.pack(&inner, bytes),
            truth,
        }
    }

    /// Cuts the last line where the file ends in one.
    pub(crate) fn cut(&self, page: &mut Page) {
        if let (FileEnd::Lost(count), Some(last)) = (self.file_end, page.lines.last_mut()) {
            last.lost += count;
        }
    }

    fn text_ending(&self) -> &'static str {
        match self.delimiter {
            Delimiter::Comma | Delimiter::Semicolon => ".csv",
            Delimiter::Tab => ".tsv",
            Delimiter::Pipe | Delimiter::Spaces => ".txt",
        }
    }

    /// The ending of a file name: `.csv`, `.tsv.gz` …
    pub fn ending(&self) -> String {
        format!("{}{}", self.text_ending(), self.container.ending())
    }
}

#[cfg(test)]
pub(crate) mod tests;
