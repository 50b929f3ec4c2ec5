//! Why something was decided as it was, as data; the words are made here.

use super::grid::score::Score;
use jiff::civil::Date;
use std::fmt;

/// Why.
#[derive(Debug, Clone)]
pub(crate) enum Reason {
    /// The layout says so.
    Layout,
    /// It was answered.
    Answer,
    /// The season's settings say so.
    Settings,
    /// The settings or the layout say so.
    SettingsOrLayout,
    /// `[log.dates]` of the settings says so.
    DatesOfSettings,
    /// `[log] date_order` of the settings says so.
    OrderOfSettings,
    /// A line of the preamble.
    Preamble { key: String, value: String },
    /// A line of the preamble with a clock time, and another with a date.
    PreambleDateAnd { key: String, value: String },
    /// The day that the preamble names, by its line.
    PreambleDay { line: String },
    /// The column's name has the unit.
    Header,
    /// The units line has it.
    UnitsLine,

    /// The header has every name that a layout asks for.
    HeaderHas(Vec<String>),
    /// No line names columns; how well the cells fit.
    NoHeaderLine(Score),
    /// A line names columns; how well the cells fit.
    NamesColumns { line: u32, score: Score },
    /// Bytes that are no UTF-8.
    NoUtf8 { bytes: usize },
    /// The file begins with a byte order mark.
    ByteOrderMark,
    /// Every other byte is zero.
    EveryOtherByteZero,
    /// Two lines of names.
    WordsInBoth,
    /// The columns of names and numbers of a long log.
    LongColumns { channel: String, value: String },
    /// A column a channel.
    ColumnAChannel,

    /// A word of the column's name.
    Word(String),
    /// No word of the name says anything.
    NoWord,
    /// The column is another time.
    AnotherTime,
    /// Whole numbers that step by one.
    CountsLines,
    /// Only cells of other columns carry units.
    UnitsElsewhere,
    /// Nothing in it.
    NeitherNameNorValues,
    /// Words for the most part.
    NoNumbers,

    /// The time column's name says the unit.
    NameSaysUnit { name: String },
    /// The numbers are decades as elapsed time, and a date since 1970.
    SinceEpoch { cell: String, unit: &'static str },
    /// The numbers are days of a spreadsheet's calendar.
    SpreadsheetDays { cell: String, step_s: f64 },
    /// The name says that times are elapsed.
    NameSaysElapsed { name: String },
    /// Elapsed times beyond a day.
    BeyondADay,
    /// The first time is zero, and there is no date.
    FromZero,
    /// The header spells the format.
    Spelt(&'static str),
    /// Times with AM or PM.
    HalvesOfDay,
    /// The name says a clock.
    NameSaysClock { name: String },
    /// A step back past midnight.
    PastMidnight,
    /// The first time is hours from zero.
    FarFromZero { cell: String },
    /// The date is known from elsewhere.
    DateKnown,

    /// ISO dates.
    YearFirst,
    /// Months as words.
    MonthWords,
    /// Dates that only one order reads.
    OnlyOrder { alone: u64, lines: u64 },
    /// Only one order reads nearly all dates.
    NoOtherOrder,
    /// No date differs between the orders.
    SameDates,
    /// Only one order keeps the steps short.
    ShortSteps,
    /// Dates with dots.
    Dots,
    /// The date of one of the sheet's cooks.
    SheetDate(Date),
    /// Logs of the same layout.
    Siblings,

    /// The only marked number is none when read otherwise.
    CodeOtherwise,
    /// Cells of either decimal sign.
    Signs { commas: u64, points: u64 },
    /// Most numbers have the mark.
    MostHaveMark { either: u64, numbers: u64 },

    /// The season's zone.
    SeasonZone,
    /// The time column's name says the zone.
    NameSaysZone { name: String },
    /// All other columns of the log have this unit.
    OtherColumns,
    /// Every time has its offset.
    OwnOffsets,
    /// The sheet has its cook on one day only.
    SheetHasCook,

    /// Readings like a pit's.
    LikePit,
    /// Readings like meat's.
    LikeMeat,
    /// Readings like those of the air outside.
    LikeAir,
}

impl Reason {
    /// Whether it is what the readings show and no name says.
    pub(crate) fn is_guess(&self) -> bool {
        matches!(self, Self::LikePit | Self::LikeMeat | Self::LikeAir)
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fixed = match self {
            Self::Preamble { key, value } => {
                return write!(f, "the preamble says `{key}: {value}`");
            }
            Self::PreambleDateAnd { key, value } => {
                return write!(f, "the preamble gives a date and `{key}: {value}`");
            }
            Self::PreambleDay { line } => return write!(f, "the preamble says `{line}`"),
            Self::HeaderHas(names) => return write!(f, "the header has {}", names.join(", ")),
            Self::NoHeaderLine(score) => return write!(f, "the log has no header line; {score}"),
            Self::NamesColumns { line, score } => {
                return write!(f, "line {line} names columns; {score}");
            }
            Self::NoUtf8 { bytes } => return write!(f, "{bytes} bytes are no UTF-8"),
            Self::LongColumns { channel, value } => {
                return write!(f, "`{channel}` names channels and `{value}` holds numbers");
            }
            Self::Word(word) => return write!(f, "its name has `{word}`"),
            Self::NameSaysUnit { name } => {
                return write!(f, "the column's name `{name}` says its unit");
            }
            Self::SinceEpoch { cell, unit } => {
                return write!(f, "{cell} {unit} are decades, but a date since 1970");
            }
            Self::SpreadsheetDays { cell, step_s } => {
                return write!(
                    f,
                    "{cell} days since 1899-12-30 are a date, and its steps are {step_s:.1} s of a day"
                );
            }
            Self::NameSaysElapsed { name } => {
                return write!(f, "the column's name `{name}` says elapsed");
            }
            Self::NameSaysZone { name } => {
                return write!(f, "the column's name `{name}` says it");
            }
            Self::Spelt(format) => return write!(f, "the header spells `{format}`"),
            Self::NameSaysClock { name } => {
                return write!(f, "the column's name `{name}` says a clock");
            }
            Self::FarFromZero { cell } => {
                return write!(f, "it begins at {cell}, and an elapsed time would begin at zero");
            }
            Self::OnlyOrder { alone, lines } => {
                return write!(
                    f,
                    "{alone} of {lines} lines have dates that no other order can read"
                );
            }
            Self::SheetDate(date) => return write!(f, "the sheet has its cook on {date}"),
            Self::Signs { commas, points } => {
                return write!(f, "{commas} cells have a decimal comma, {points} a decimal point");
            }
            Self::MostHaveMark { either, numbers } => {
                return write!(
                    f,
                    "{either} of {numbers} numbers have it; between thousands, most of the log were hotter than 1000 degrees"
                );
            }
            Self::Layout => "the layout says so",
            Self::Answer => "it is the answer in questions.toml",
            Self::Settings => "the settings say so",
            Self::SettingsOrLayout => "the settings or the layout say so",
            Self::DatesOfSettings => "`[log.dates]` says so",
            Self::OrderOfSettings => "`[log] date_order` says so",
            Self::Header => "the header says so",
            Self::UnitsLine => "the units line says so",
            Self::ByteOrderMark => "its byte order mark",
            Self::EveryOtherByteZero => "every other byte is zero",
            Self::WordsInBoth => "both have words over most columns",
            Self::ColumnAChannel => "one column a channel",
            Self::NoWord => "no word of its name says what it measures",
            Self::AnotherTime => "it is another time column",
            Self::CountsLines => "it counts the lines",
            Self::UnitsElsewhere => "its cells have no unit, and those of others have",
            Self::NeitherNameNorValues => "it has neither name nor values",
            Self::NoNumbers => "most of its cells are no numbers",
            Self::BeyondADay => "it runs beyond 24 hours",
            Self::FromZero => "it begins at zero and the log has no date",
            Self::HalvesOfDay => "its times have AM or PM",
            Self::PastMidnight => "it goes back past midnight",
            Self::DateKnown => "the settings, the sheet or the preamble give the log's date",
            Self::YearFirst => "its dates are written year first",
            Self::MonthWords => "its months are written as words",
            Self::NoOtherOrder => "no other order reads nine tenths of the dates",
            Self::SameDates => "both orders give the same dates",
            Self::ShortSteps => "its steps are of hours at most; under another order, of weeks",
            Self::Dots => "dates with dots are written day first (Unicode CLDR)",
            Self::Siblings => "other logs of the same layout prove it",
            Self::CodeOtherwise => {
                "the only marked number is \"no value\" if its mark stands between thousands"
            }
            Self::SeasonZone => "times have no offset; the season's zone",
            Self::OwnOffsets => "every time has its offset",
            Self::LikePit => {
                "no name says it; it is hot and turns with the fire, ahead of the meat"
            }
            Self::LikeMeat => "no name says it; it begins cold and rises without turning",
            Self::LikeAir => "no name says it; it stays within the air's narrow band",
            Self::OtherColumns => "all columns with a unit have this one",
            Self::SheetHasCook => "the sheet has its cook then",
        };
        f.write_str(fixed)
    }
}
