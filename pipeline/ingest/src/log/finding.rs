//! What was found out about a log, as data; what it says to people is made here and in
//! [`Reason`], and nowhere else.

use super::reason::Reason;
use super::shown::{instant, letter, span};
use crate::layout::Delimiter;
use crate::time::TimeFormat;
use cook::season::TemperatureUnit;
use cook::{Evidence, Role};
use std::fmt;

/// Something that was decided, and what decided it.
#[derive(Debug, Clone)]
pub(crate) enum Finding {
    /// How the cells are parted, and the line that names the columns.
    Table { cells: usize, delimiter: Delimiter, header: Option<u32>, because: Reason },
    /// How the bytes are read, where they are no plain UTF-8.
    Encoding { name: &'static str, because: Reason },
    /// Names of columns in two lines.
    NamesInTwoLines([u32; 2]),
    /// The time's columns and format.
    Time { columns: Vec<String>, format: TimeFormat, because: Reason },
    /// Long or wide.
    Form { long: bool, because: Reason },
    /// The unit of temperatures that nothing near them gives one for.
    DefaultUnit { unit: TemperatureUnit, because: Reason },
    /// A column that holds no temperatures.
    NoTemperature { header: String, because: Reason },
    /// The unit of a channel.
    Unit { name: String, header: String, unit: TemperatureUnit, because: Reason },
    /// The role of a channel.
    Role { name: String, header: String, role: Role, because: Reason },
    /// What stands before decimals.
    DecimalSign { comma: bool, because: Reason },
    /// Cells without a value, by their words; and how many cells of the same numbers are
    /// temperatures.
    Missing { words: Option<String>, temperatures: u64 },
    /// Lines that lack their last cells.
    ShortLines { lines: u64 },
    /// The newest line stands first.
    NewestFirst,
    /// The instant of elapsed zero, ms UTC.
    ElapsedZero { ms: i64, because: Reason },
    /// The day on which the clock times begin, as a date.
    FirstDay { date: String, because: Reason },
    /// A clock that was never set, and the first line's time by the layout.
    ClockNeverSet { start: String },
    /// A clock that was put back at a line, by ms, and which clock was right.
    ClockPutBack { line: u32, back_ms: i64, first_is_right: bool },
    /// A clock that was put forward at a line, by ms, and which clock was right.
    ClockPutOn { line: u32, on_ms: i64, first_is_right: bool },
    /// The zone of times without an offset.
    Zone { name: String, because: Reason },
    /// Lines that were put in order.
    OutOfOrder { lines: usize },
    /// A pit that reads like meat, and meat that reads like a pit.
    SwappedProbes { pit: String, meat: String },
}

impl Finding {
    /// Whether it takes the place of an earlier one: what readings show of a role that no
    /// name says.
    fn replaces(&self, earlier: &Self) -> bool {
        match (self, earlier) {
            (Self::Role { name, because, .. }, Self::Role { name: other, .. }) => {
                because.is_guess() && name == other
            }
            _ => false,
        }
    }

    /// What it says, with the setting that decides otherwise.
    fn evidence(&self) -> Evidence {
        let of = |what: &str, taken_as: &str, because: &dyn fmt::Display, setting: &str| Evidence {
            what: what.to_owned(),
            taken_as: taken_as.to_owned(),
            because: because.to_string(),
            setting: setting.to_owned(),
        };
        match self {
            Self::Table { cells, delimiter, header, because } => {
                let header =
                    header.map_or("no header".to_owned(), |line| format!("header on line {line}"));
                of(
                    "table",
                    &format!("{cells} cells parted by {}, {header}", delimiter.as_str()),
                    because,
                    "layout `header`, `columns`, `delimiter`, `preamble_lines`",
                )
            }
            Self::Encoding { name, because } => {
                of("encoding", name, because, "save the file as UTF-8")
            }
            Self::NamesInTwoLines([first, last]) => of(
                "names",
                &format!("in two lines, {first} and {last}"),
                &Reason::WordsInBoth,
                "layout `header_rows` = 1",
            ),
            Self::Time { columns, format, because } => of(
                "time",
                &format!("column `{}`, {}", columns.join("` and `"), format.as_str()),
                because,
                "layout `time.columns`, `time.format`",
            ),
            Self::Form { long, because } => {
                of("form", if *long { "long" } else { "wide" }, because, "layout `form`")
            }
            Self::DefaultUnit { unit, because } => of(
                "unit where a column names none",
                letter(*unit),
                because,
                "`[log] unit` in season.toml, layout `unit` or `units`",
            ),
            Self::NoTemperature { header, because } => of(
                &format!("column `{header}`"),
                "no temperature",
                because,
                "`[log.roles]` in season.toml or layout `roles`, `ignore`",
            ),
            Self::Unit { name, header, unit, because } => of(
                &format!("unit of `{name}`"),
                letter(*unit),
                because,
                &format!("layout [units] \"{header}\""),
            ),
            Self::Role { name, header, role, because } => {
                let guess = if because.is_guess() { " (a guess)" } else { "" };
                of(
                    &format!("role of `{name}`"),
                    &format!("{role}{guess}"),
                    because,
                    &format!("`[log.roles] \"{header}\"` in season.toml, or layout `roles`"),
                )
            }
            Self::DecimalSign { comma, because } => of(
                "decimal sign",
                if *comma { "comma" } else { "point" },
                because,
                "layout `decimal`",
            ),
            Self::Missing { words: Some(words), temperatures: 0 } => of(
                "missing values",
                words,
                &"words for no value or beyond the range, and numbers that loggers write for them",
                "layout `sentinels` adds words, `measured` keeps numbers",
            ),
            Self::Missing { words: Some(words), temperatures } => of(
                "missing values",
                words,
                &format!(
                    "they are no temperatures; {temperatures} cells of the same numbers are, by the readings around them"
                ),
                "layout `sentinels` adds words, `measured` keeps numbers",
            ),
            Self::Missing { words: None, temperatures } => of(
                "missing values",
                "none",
                &format!(
                    "{temperatures} cells could be \"no value\" and are temperatures, by the readings around them"
                ),
                "layout `sentinels`",
            ),
            Self::ShortLines { lines } => of(
                "short lines",
                "trailing values missing",
                &format!("{lines} lines end early, as usual in this log"),
                "export the log with all cells",
            ),
            Self::NewestFirst => of(
                "order of lines",
                "newest first",
                &"nine tenths of its steps in time go back",
                "none; lines are put in order of time",
            ),
            Self::ElapsedZero { ms, because } => {
                of("elapsed zero", &instant(*ms), because, "layout `time.start`")
            }
            Self::FirstDay { date, because } => {
                of("first day", date, because, "`[log.dates]` in season.toml, layout `time.start`")
            }
            Self::ClockNeverSet { start } => of(
                "clock",
                &format!("never set; its first line is {start}"),
                &Reason::Layout,
                "layout `time.start`",
            ),
            Self::ClockPutBack { line, back_ms, first_is_right } => of(
                "clock",
                &format!("put back by {} at line {line}", span(*back_ms)),
                if *first_is_right {
                    &"`[log] clock_jump`: the clock before was right, and later lines are moved"
                } else {
                    &"`[log] clock_jump`: the clock after was right, and earlier lines are moved"
                },
                "`[log] clock_jump` in season.toml",
            ),
            Self::ClockPutOn { line, on_ms, first_is_right } => of(
                "clock",
                &format!("put forward by {} at line {line}", span(*on_ms)),
                if *first_is_right {
                    &"the answer: the clock before was right, and later lines are moved"
                } else {
                    &"the answer: the clock after was right, and earlier lines are moved"
                },
                "the answer in questions.toml",
            ),
            Self::Zone { name, because } => of(
                "time zone",
                name,
                because,
                "`time_zone` in season.toml, layout `time.utc_offset`",
            ),
            Self::OutOfOrder { lines } => of(
                "lines out of order",
                &format!("{lines} put in their place"),
                &"their times are before those of lines above",
                "none; the readings are flagged `reordered`",
            ),
            Self::SwappedProbes { pit, meat } => of(
                "swapped probes",
                &format!("`{pit}` and `{meat}`, left as named"),
                &format!("`{pit}` rises like meat and `{meat}` ripples like a pit"),
                "`[log.roles]` in season.toml",
            ),
        }
    }
}

/// What a reader should be told although the log was read.
#[derive(Debug, Clone)]
pub(crate) enum Warning {
    /// As [`Finding::SwappedProbes`].
    SwappedProbes { pit: String, meat: String },
    /// Lines of a wrong clock that were put right.
    Retimed { lines: usize },
    /// Nothing is known as pit or meat; the channels.
    NoRoles { headers: Vec<String> },
    /// No channel has this role.
    NoChannel(Role),
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SwappedProbes { pit, meat } => write!(
                f,
                "`{pit}` reads like meat and `{meat}` like a pit: were the probes swapped? `[log.roles]` in season.toml can say so"
            ),
            Self::Retimed { lines } => write!(
                f,
                "the clock was wrong on {lines} lines and was put right; their readings are flagged `retimed`"
            ),
            Self::NoRoles { headers } => write!(
                f,
                "nothing says which channel is the pit and which is meat ({}): `[log.roles] \"{}\" = \"pit\"` (or \"meat\") in season.toml says it",
                headers.join(", "),
                headers[0]
            ),
            Self::NoChannel(role) => write!(
                f,
                "no channel is known as {role}; `[log.roles]` in season.toml can name one"
            ),
        }
    }
}

/// Findings and warnings in the order in which they arose.
#[derive(Debug, Clone, Default)]
pub(crate) struct Findings {
    decided: Vec<Finding>,
    warnings: Vec<Warning>,
}

impl Findings {
    /// Takes note of a finding.
    pub(crate) fn note(&mut self, finding: Finding) {
        self.decided.retain(|earlier| !finding.replaces(earlier));
        self.decided.push(finding);
    }

    /// Takes note of a warning.
    pub(crate) fn warn(&mut self, warning: Warning) {
        self.warnings.push(warning);
    }

    /// Takes note of what was found later.
    pub(crate) fn extend(&mut self, later: Self) {
        later.decided.into_iter().for_each(|finding| self.note(finding));
        self.warnings.extend(later.warnings);
    }

    /// What is recorded of the log.
    pub(crate) fn evidence(&self) -> Vec<Evidence> {
        self.decided.iter().map(Finding::evidence).collect()
    }

    /// What is told.
    pub(crate) fn warnings(&self) -> Vec<String> {
        self.warnings.iter().map(ToString::to_string).collect()
    }
}

impl From<Finding> for Findings {
    fn from(finding: Finding) -> Self {
        Self { decided: vec![finding], warnings: Vec::new() }
    }
}
