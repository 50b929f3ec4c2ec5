//! What every line and cell of a written log truly is.

use cook::season::TemperatureUnit;
use std::ops::Range;

/// A log as bytes, with the truth beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenLog {
    /// File name; its ending says the container.
    pub name: String,
    /// The file.
    pub bytes: Vec<u8>,
    /// The truth.
    pub truth: LogTruth,
}

/// What a reader should make of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogTruth {
    /// The channels, in the order of the columns (wide) or of their first rows (long).
    pub channels: Vec<ChannelTruth>,
    /// The names of the header's columns as they are written, channels or not; empty where
    /// there is no header. Of two header rows, the one with the names.
    pub header: Vec<String>,
    /// Every physical line, in order.
    pub lines: Vec<LineTruth>,
    /// Instant from which times count, ms UTC, where the file does not say it.
    pub zero_ms: Option<i64>,
    /// What the file leaves open.
    pub questions: Vec<Question>,
}

/// A channel of a written log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChannelTruth {
    /// The name it was recorded under.
    pub name: String,
    /// The name as it stands in the header, unit and all; in the long form as in the rows.
    pub written: String,
    /// Its unit.
    pub unit: TemperatureUnit,
}

/// What a line is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// Before the header.
    Preamble,
    /// Names, first time or again.
    Header,
    /// Units of columns.
    Units,
    /// Readings.
    Data,
    /// Nothing, or only delimiters.
    Blank,
    /// After the readings.
    Footer,
    /// Bytes of value zero.
    Padding,
    /// Neither readings nor anything else that a logger means to write.
    Noise,
}

/// What a reader may do with a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It holds no readings and must give none.
    NoReadings,
    /// Its readings must be read.
    Read,
    /// Its readings may be read or the line rejected, with its reason.
    ReadOrReject,
    /// It must be rejected.
    Reject,
}

/// One physical line.
#[derive(Debug, Clone, PartialEq)]
pub struct LineTruth {
    /// Its text, without the line end.
    pub text: String,
    /// The line end.
    pub end: &'static str,
    /// What it is.
    pub kind: LineKind,
    /// What a reader may do with it.
    pub verdict: Verdict,
    /// Its cells that hold, or should hold, a temperature.
    pub cells: Vec<CellTruth>,
}

/// One temperature cell.
#[derive(Debug, Clone, PartialEq)]
pub struct CellTruth {
    /// Index of its channel.
    pub channel: usize,
    /// Instant that the text says, ms UTC, read with full knowledge of the dialect.
    pub written_ms: i64,
    /// True instant, ms UTC.
    pub true_ms: i64,
    /// Which of the two is right.
    pub instant: Instant,
    /// What the cell says.
    pub content: Content,
    /// Where its text stands in the line, bytes, quotes not included.
    pub place: Range<usize>,
}

/// Which instant is right for a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Instant {
    /// The one that is written.
    Written,
    /// The true one, as well as it can be told from the rows around: the clock was put
    /// wrong in a way that shows.
    Mended {
        /// How far it may be off, ms.
        within_ms: i64,
    },
    /// Either: the clock was put wrong in a way that may show.
    Either {
        /// How far it may be off from the true one, ms.
        within_ms: i64,
    },
}

/// What a cell says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Content {
    /// A temperature, °C, to the last digit written.
    Celsius(f64),
    /// No value.
    Missing,
    /// Text that is no value and stands for none, where this temperature should stand, °C.
    Spoilt(Option<f64>),
}

/// Something that a file leaves open, so that a reader has to ask.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question {
    /// What.
    pub about: Open,
    /// The file hints at the answer strongly enough that a careful reader may take the hint.
    pub hinted: bool,
}

/// What a file can leave open, with the answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Open {
    /// The order of day, month and year.
    DateOrder(super::DateOrder),
    /// The unit of temperatures.
    Unit(TemperatureUnit),
    /// The unit of elapsed times.
    ElapsedUnit(super::ElapsedStyle),
    /// Whether `h:mm:ss` is a time of the day or elapsed.
    ClockOrElapsed {
        /// It is elapsed.
        elapsed: bool,
    },
    /// The date of clock times, or of a clock that was never set.
    Date,
    /// The clock's offset from UTC, which does not follow daylight saving.
    UtcOffset {
        /// Minutes east of UTC.
        minutes: i16,
    },
    /// Whether a clock that goes back was put back, or another log begins.
    ClockBack,
    /// Whether a clock was put forward, or nothing was logged.
    ClockForward,
    /// Whether a comma or point stands before decimals or between thousands.
    Decimal {
        /// A comma stands before decimals.
        comma: bool,
    },
}

impl Open {
    /// The setting that answers it: key and value of a layout. `None` where only the file
    /// itself can be changed. The value of `time.start` is an instant that only the truth
    /// knows: [`LogTruth::first_ms`].
    pub fn setting(self) -> Option<(&'static str, String)> {
        use super::{DateOrder, ElapsedStyle};
        let (key, value) = match self {
            Self::UtcOffset { minutes } => {
                let sign = if minutes < 0 { '-' } else { '+' };
                let (hours, minutes) = (minutes.abs() / 60, minutes.abs() % 60);
                return Some(("time.utc_offset", format!("{sign}{hours:02}:{minutes:02}")));
            }
            Self::ClockBack | Self::ClockForward => return None,
            Self::DateOrder(DateOrder::DayMonthYear) => ("time.format", "day-first"),
            Self::DateOrder(DateOrder::MonthDayYear) => ("time.format", "month-first"),
            Self::DateOrder(DateOrder::YearMonthDay) => ("time.format", "year-first"),
            Self::DateOrder(_) => ("time.format", "month-name"),
            Self::Unit(TemperatureUnit::Celsius) => ("unit", "C"),
            Self::Unit(TemperatureUnit::Fahrenheit) => ("unit", "F"),
            Self::ElapsedUnit(ElapsedStyle::Hms) | Self::ClockOrElapsed { elapsed: true } => {
                ("time.format", "elapsed-hms")
            }
            Self::ElapsedUnit(ElapsedStyle::Minutes) => ("time.format", "elapsed-minutes"),
            Self::ElapsedUnit(ElapsedStyle::Seconds) => ("time.format", "elapsed-seconds"),
            Self::ClockOrElapsed { elapsed: false } => ("time.format", "clock"),
            Self::Date => ("time.start", ""),
            Self::Decimal { comma: true } => ("decimal", "comma"),
            Self::Decimal { comma: false } => ("decimal", "point"),
        };
        Some((key, value.to_owned()))
    }
}

/// What is right for a whole file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expected {
    /// It can be read without asking.
    Read,
    /// It hints at an answer: reading it and asking are both right.
    ReadOrAsk,
    /// It is ambiguous by construction: asking is the only right answer.
    Ask,
}

impl LogTruth {
    /// What is right for the whole file.
    pub fn expected(&self) -> Expected {
        if self.questions.is_empty() {
            Expected::Read
        } else if self.questions.iter().all(|question| question.hinted) {
            Expected::ReadOrAsk
        } else {
            Expected::Ask
        }
    }

    /// The text of the file, before it was encoded.
    pub fn text(&self) -> String {
        self.lines.iter().flat_map(|line| [line.text.as_str(), line.end]).collect()
    }

    /// True instant of the first cell, ms UTC.
    pub fn first_ms(&self) -> Option<i64> {
        self.lines.iter().flat_map(|line| &line.cells).map(|cell| cell.true_ms).next()
    }

    /// Cells with a value, over all lines.
    pub fn values(&self) -> usize {
        let value = |cell: &&CellTruth| matches!(cell.content, Content::Celsius(_));
        self.lines.iter().map(|line| line.cells.iter().filter(value).count()).sum()
    }
}
