//! The choices that make up a dialect.

use cook::season::TemperatureUnit;
use simulate::measured::Sentinel;

/// What stands between two cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tab.
    Tab,
    /// `|`
    Pipe,
    /// Aligned columns, at least two spaces between them.
    Spaces,
}

impl Delimiter {
    /// Every delimiter.
    pub const ALL: [Self; 5] = [Self::Comma, Self::Semicolon, Self::Tab, Self::Pipe, Self::Spaces];

    /// The text between two cells.
    pub fn text(self) -> &'static str {
        match self {
            Self::Comma => ",",
            Self::Semicolon => ";",
            Self::Tab => "\t",
            Self::Pipe => "|",
            Self::Spaces => "  ",
        }
    }
}

/// Which cells stand in quotes. A cell that could not be read without always does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quotes {
    /// Those that need it.
    WhenNeeded,
    /// Every cell that is no number.
    Texts,
    /// Every cell.
    All,
}

/// How a quote inside quotes is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Escape {
    /// Twice (RFC 4180).
    Doubled,
    /// With a backslash before it.
    Backslash,
}

/// How rows are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// One row an instant, one column a channel.
    Wide,
    /// One row a reading: time, channel, value.
    Long,
}

/// How numbers are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct NumberStyle {
    /// A comma before decimals.
    pub decimal_comma: bool,
    /// What stands between groups of three digits.
    pub thousands: Option<char>,
}

/// The order of a date's parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// `2024-05-04`
    YearMonthDay,
    /// `04/05/2024` is the fourth of May.
    DayMonthYear,
    /// `05/04/2024` is the fourth of May.
    MonthDayYear,
    /// `4 May 2024`
    DayMonthName,
    /// `May 4, 2024`
    MonthNameDay,
}

/// How dates are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DateStyle {
    /// Order of the parts.
    pub order: DateOrder,
    /// What stands between them.
    pub separator: char,
    /// `24` rather than `2024`.
    pub two_digit_year: bool,
    /// `04` rather than `4`.
    pub padded: bool,
}

impl DateStyle {
    /// ISO 8601.
    pub const ISO: Self = Self {
        order: DateOrder::YearMonthDay,
        separator: '-',
        two_digit_year: false,
        padded: true,
    };
}

/// How clock times are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockStyle {
    /// `22:10:00`
    TwentyFour,
    /// `22:10`; the instants written are whole minutes.
    TwentyFourMinutes,
    /// `10:10:00 PM`
    Twelve,
    /// `10:10:00pm`
    TwelveLower,
}

impl ClockStyle {
    /// Whether seconds are lost.
    pub fn whole_minutes(self) -> bool {
        self == Self::TwentyFourMinutes
    }
}

/// What a date and clock time say of their zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ZoneStyle {
    /// Local, and nothing said.
    Local,
    /// Local, with its offset from UTC.
    Offset,
    /// UTC, with a `Z`.
    Utc,
}

/// How instants are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeStyle {
    /// Date and clock time.
    Calendar {
        /// The date.
        date: DateStyle,
        /// The clock time.
        clock: ClockStyle,
        /// The zone.
        zone: ZoneStyle,
        /// What stands between date and clock time; `None` for two columns.
        joint: Option<char>,
    },
    /// Clock time alone, over midnight if need be.
    ClockOnly {
        /// The clock time.
        clock: ClockStyle,
        /// A line before the header says the date of the first row.
        date_told: bool,
    },
    /// Whole units since 1970-01-01T00:00:00Z.
    Epoch(EpochUnit),
    /// Days and their fraction since 1899-12-30 in local time, as spreadsheets count them.
    Serial,
    /// Since the first row.
    Elapsed {
        /// How.
        unit: ElapsedStyle,
        /// The column's name says what it is.
        told: bool,
        /// A line before the header says the local time of the first row.
        start_told: bool,
    },
}

/// Unit of time since 1970.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EpochUnit {
    /// Seconds.
    Seconds,
    /// Milliseconds.
    Milliseconds,
    /// Microseconds.
    Microseconds,
}

/// How elapsed times are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ElapsedStyle {
    /// `h:mm:ss`
    Hms,
    /// Minutes with two decimals: the instants written are off by 0.3 s at most.
    Minutes,
    /// Whole seconds.
    Seconds,
}

impl TimeStyle {
    /// `2024-05-04 22:10:00` in the zone, no offset.
    pub const ISO_LOCAL: Self = Self::iso(ZoneStyle::Local, Some(' '));
    /// `2024-05-04T22:10:00-05:00`
    pub const ISO_OFFSET: Self = Self::iso(ZoneStyle::Offset, Some('T'));
    /// `2024-05-05T03:10:00Z`
    pub const ISO_ZULU: Self = Self::iso(ZoneStyle::Utc, Some('T'));
    /// Local date and local clock time in two columns.
    pub const DATE_AND_TIME: Self = Self::iso(ZoneStyle::Local, None);
    /// `h:mm:ss` since the first row; a line before the header says when that was.
    pub const ELAPSED: Self =
        Self::Elapsed { unit: ElapsedStyle::Hms, told: true, start_told: true };

    const fn iso(zone: ZoneStyle, joint: Option<char>) -> Self {
        Self::Calendar { date: DateStyle::ISO, clock: ClockStyle::TwentyFour, zone, joint }
    }

    /// Columns that it takes.
    pub fn columns(self) -> usize {
        match self {
            Self::Calendar { joint: None, .. } => 2,
            _ => 1,
        }
    }
}

/// Where a log says the unit of its temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitPlace {
    /// Behind each channel's name in the header.
    Header,
    /// In a row of its own under the header.
    Row,
    /// Behind every value.
    Value,
    /// In a column of its own; long form only.
    Column,
    /// Nowhere.
    Nowhere,
}

/// How a unit is spelt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitWord {
    /// `°F`
    Degree,
    /// `F`
    Letter,
    /// `deg F`
    Deg,
    /// `Fahrenheit`
    Word,
}

impl UnitWord {
    /// The unit.
    pub fn of(self, unit: TemperatureUnit) -> &'static str {
        use TemperatureUnit::{Celsius, Fahrenheit};
        match (self, unit) {
            (Self::Degree, Celsius) => "°C",
            (Self::Degree, Fahrenheit) => "°F",
            (Self::Letter, Celsius) => "C",
            (Self::Letter, Fahrenheit) => "F",
            (Self::Deg, Celsius) => "deg C",
            (Self::Deg, Fahrenheit) => "deg F",
            (Self::Word, Celsius) => "Celsius",
            (Self::Word, Fahrenheit) => "Fahrenheit",
        }
    }
}

/// How a unit stands behind a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitForm {
    /// `Pit (°F)`
    Round,
    /// `Pit [°F]`
    Square,
    /// `Pit °F`
    Bare,
    /// `Pit_°F`
    Underscore,
}

impl UnitForm {
    /// A name and its unit.
    pub(super) fn join(self, name: &str, unit: &str) -> String {
        match self {
            Self::Round => format!("{name} ({unit})"),
            Self::Square => format!("{name} [{unit}]"),
            Self::Bare => format!("{name} {unit}"),
            Self::Underscore => format!("{name}_{unit}"),
        }
    }
}

/// The header.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Header {
    /// None: the first line holds readings.
    None,
    /// One row of names.
    One,
    /// A row of socket numbers above the row of names.
    Two,
}

/// Language of a header's own words. Channels are named by whoever named them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Language {
    /// English.
    English,
    /// German.
    German,
    /// French.
    French,
    /// Spanish.
    Spanish,
    /// Italian.
    Italian,
    /// Dutch.
    Dutch,
}

/// A column that holds no temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExtraColumn {
    /// The number of the row, before the time.
    RowNumber,
    /// The fan's duty, percent, behind the channels.
    Fan,
    /// The battery, volt, behind the channels.
    Battery,
    /// A remark now and then, behind all others.
    Note,
}

/// How lines end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineEnds {
    /// A line feed.
    Lf,
    /// Carriage return and line feed.
    CrLf,
    /// A carriage return.
    Cr,
    /// Now this, now that.
    Mixed,
}

/// How rows end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowEnd {
    /// With the last column.
    Plain,
    /// With the last cell that is not empty.
    Ragged,
    /// With so many empty columns, the header too.
    Empty(usize),
}

/// How a file ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileEnd {
    /// With a line end.
    LineEnd,
    /// Without one.
    NoLineEnd,
    /// In the middle of its last line, so many characters before its end.
    Lost(usize),
    /// With a line end, and so many bytes (UTF-16: pairs) of value zero behind it.
    Zeros(usize),
}

/// What stands for a reading that is none; see [`Sentinel`].
#[derive(Debug, Clone, PartialEq)]
pub struct Absent {
    /// Where nothing was read; `None` for the logger's own.
    pub nothing: Option<Sentinel>,
    /// Above the logger's range.
    pub too_high: Sentinel,
    /// Below the logger's range.
    pub too_low: Sentinel,
}

impl Default for Absent {
    fn default() -> Self {
        Self { nothing: None, too_high: Sentinel::text("HI"), too_low: Sentinel::text("LO") }
    }
}
