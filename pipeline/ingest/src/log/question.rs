//! Questions that only the user can answer, as data; what they say to people is made here and
//! nowhere else.

use super::grid::score::Score;
use super::shown::{date, instant, letter, span};
use crate::error::{IngestError, Place};
use crate::layout::Delimiter;
use crate::question::QuestionCode;
use crate::time::TimeFormat;
use cook::Celsius;
use cook::season::TemperatureUnit;

/// A question: where it arose, and what is asked.
pub(crate) struct Question {
    /// The first line on which the readings of the log differ.
    pub(crate) place: Place,
    /// What is asked.
    pub(crate) asks: Asks,
}

/// A line of the log as a delimiter parts it.
pub(crate) struct Parted {
    pub(crate) delimiter: Delimiter,
    /// Its numbers without its time.
    pub(crate) values: Vec<f64>,
    /// How well the delimiter fits the log.
    pub(crate) score: Score,
}

/// What is asked, with the readings that are open; the likeliest first.
pub(crate) enum Asks {
    /// Two delimiters fit alike and give different numbers.
    Delimiter([Parted; 2]),
    /// A mark in numbers that are times: the readings with a decimal point and a comma.
    MarkInTimes { mark: u8, point: Option<f64>, comma: Option<f64> },
    /// A mark in temperatures: the readings with a decimal comma and a point.
    MarkInTemperatures { comma: f64, point: f64 },
    /// Numbers that are times, of no unit.
    UnitOfTimes { cell: String },
    /// Times without a date.
    ClockOrElapsed { cell: String },
    /// Elapsed times of two parts.
    PartsOfElapsed { cell: String },
    /// A date under two orders: ms on the clock of each.
    DateOrder([(TimeFormat, i64); 2]),
    /// A log without dates, by its file name.
    FirstDay { file: String },
    /// A clock that was never set: the earliest time that it shows, ms.
    ClockNeverSet { first_ms: i64 },
    /// A clock that was put back while the log ran on: the instant of the line by the clock
    /// after it, and how far it goes back, ms.
    ClockPutBack { at_ms: i64, back_ms: i64 },
    /// An hour that the clock showed twice: the two instants, ms UTC.
    HourTwice([i64; 2]),
    /// An hour that the clock skipped and the log runs through.
    HourSkipped,
    /// Temperatures of no unit: the value on the line, the likelier unit, and the greatest
    /// value, which makes it likelier.
    UnitOfTemperatures { value: f64, likely: TemperatureUnit, greatest: f64 },
}

impl Asks {
    /// The code.
    fn code(&self) -> QuestionCode {
        match self {
            Self::Delimiter(_) => QuestionCode::Delimiter,
            Self::MarkInTimes { .. } => QuestionCode::MarkInTimes,
            Self::MarkInTemperatures { .. } => QuestionCode::MarkInTemperatures,
            Self::UnitOfTimes { .. } => QuestionCode::UnitOfTimes,
            Self::ClockOrElapsed { .. } => QuestionCode::ClockOrElapsed,
            Self::PartsOfElapsed { .. } => QuestionCode::PartsOfElapsed,
            Self::DateOrder(_) => QuestionCode::DateOrder,
            Self::FirstDay { .. } => QuestionCode::FirstDay,
            Self::ClockNeverSet { .. } => QuestionCode::ClockNeverSet,
            Self::ClockPutBack { .. } => QuestionCode::ClockPutBack,
            Self::HourTwice(_) => QuestionCode::HourTwice,
            Self::HourSkipped => QuestionCode::HourSkipped,
            Self::UnitOfTemperatures { .. } => QuestionCode::UnitOfTemperatures,
        }
    }

    /// The question in words.
    fn question(&self) -> String {
        match self {
            Self::Delimiter(_) => "two delimiters give different numbers".to_owned(),
            Self::MarkInTimes { mark, .. } => {
                format!("`{}` can mark thousands or decimals", char::from(*mark))
            }
            Self::MarkInTemperatures { .. } => {
                "its mark can stand between thousands or before decimals".to_owned()
            }
            Self::UnitOfTimes { .. } => {
                "the times are numbers, and nothing says of what".to_owned()
            }
            Self::ClockOrElapsed { .. } => {
                "the log has no date: its times can be of the day or since the log began".to_owned()
            }
            Self::PartsOfElapsed { .. } => "elapsed times of two parts".to_owned(),
            Self::DateOrder(_) => "the order of day and month cannot be told".to_owned(),
            Self::FirstDay { .. } => "the log has times of day and no date".to_owned(),
            Self::ClockNeverSet { first_ms } => format!(
                "all its dates are of {} and after: the logger's clock was never set",
                date(*first_ms, "%Y")
            ),
            Self::ClockPutBack { back_ms, .. } => {
                format!("the clock goes back by {} here and the log runs on", span(*back_ms))
            }
            Self::HourTwice(_) => {
                "the clock showed this hour twice, and the rows around it do not tell which is meant"
                    .to_owned()
            }
            Self::HourSkipped => {
                "the log runs through an hour that the clock skipped: it does not follow daylight saving"
                    .to_owned()
            }
            Self::UnitOfTemperatures { likely, greatest, .. } => format!(
                "the log does not say the unit of its temperatures (°{likely} is likelier: they reach {greatest})",
                likely = letter(*likely)
            ),
        }
    }

    /// The two readings, each with what makes it so.
    fn readings(&self) -> [String; 2] {
        match self {
            Self::Delimiter(both) => both.each_ref().map(|parted| {
                let values: Vec<String> = parted.values.iter().map(ToString::to_string).collect();
                format!(
                    "{} (delimiter = \"{}\"; {})",
                    values.join(" | "),
                    parted.delimiter.as_str(),
                    parted.score
                )
            }),
            Self::MarkInTimes { point, comma, .. } => {
                let shown = |value: &Option<f64>| value.map_or(String::new(), |v| v.to_string());
                [
                    format!("{} (decimal = \"point\")", shown(point)),
                    format!("{} (decimal = \"comma\")", shown(comma)),
                ]
            }
            Self::MarkInTemperatures { comma, point } => {
                [format!("{comma} (decimal = \"comma\")"), format!("{point} (decimal = \"point\")")]
            }
            Self::UnitOfTimes { cell } => [
                format!("{cell} seconds since the log began"),
                format!("{cell} minutes since the log began"),
            ],
            Self::ClockOrElapsed { cell } => {
                [format!("{cell} of some day"), format!("{cell} after the log began")]
            }
            Self::PartsOfElapsed { cell } => {
                [format!("{cell} are hours and minutes"), format!("{cell} are minutes and seconds")]
            }
            Self::DateOrder(both) => both.map(|(order, ms)| {
                format!("{} (time.format = \"{}\")", date(ms, "%-d %B %Y"), order.as_str())
            }),
            Self::FirstDay { .. } => [
                "times of a day that neither the log nor the sheet names".to_owned(),
                "times since the log began (a layout with time.format = \"elapsed-hms\")"
                    .to_owned(),
            ],
            Self::ClockNeverSet { first_ms } => [
                "its times count from when the logger was switched on, an unknown instant"
                    .to_owned(),
                format!("it is of {}", date(*first_ms, "%Y")),
            ],
            Self::ClockPutBack { at_ms, back_ms } => [
                format!(
                    "this line is of {} (clock_jump = \"last-is-right\": earlier lines are moved)",
                    instant(*at_ms)
                ),
                format!(
                    "this line is of {} (clock_jump = \"first-is-right\": later lines are moved)",
                    instant(at_ms + back_ms)
                ),
            ],
            Self::HourTwice([first, second]) => [
                format!("the first time, {}", instant(*first)),
                format!("the second time, {}", instant(*second)),
            ],
            Self::HourSkipped => [
                "the logger's clock kept the old offset from here on".to_owned(),
                "the logger's clock was an hour ahead before this line".to_owned(),
            ],
            Self::UnitOfTemperatures { value, likely, .. } => {
                let fahrenheit = format!(
                    "{value} °F, which is {:.1} °C (`unit = \"F\"`)",
                    Celsius::from_fahrenheit(*value).value()
                );
                let celsius = format!(
                    "{value} °C, which is {:.1} °F (`unit = \"C\"`)",
                    Celsius(*value).fahrenheit()
                );
                match likely {
                    TemperatureUnit::Fahrenheit => [fahrenheit, celsius],
                    TemperatureUnit::Celsius => [celsius, fahrenheit],
                }
            }
        }
    }

    /// The setting that decides.
    fn setting(&self) -> String {
        let fixed = match self {
            Self::Delimiter([first, _]) => {
                return format!("a layout with delimiter = \"{}\"", first.delimiter.as_str());
            }
            Self::FirstDay { file } => {
                return format!(
                    "`[log.dates] \"{file}\" = \"2026-05-02\"` in season.toml, the day on which it begins"
                );
            }
            Self::UnitOfTemperatures { likely, .. } => {
                return format!(
                    "[log] unit = \"{}\" in season.toml, or `unit` in a layout",
                    letter(*likely)
                );
            }
            Self::MarkInTimes { .. } => "an export without marks between thousands",
            Self::MarkInTemperatures { .. } => "a layout with decimal = \"comma\" or \"point\"",
            Self::UnitOfTimes { .. } => {
                "a layout with time.format = \"elapsed-seconds\" or \"elapsed-minutes\""
            }
            Self::ClockOrElapsed { .. } => {
                "a layout with time.format = \"clock\" or \"elapsed-hms\""
            }
            Self::PartsOfElapsed { .. } => {
                "a layout with time.format = \"elapsed-hm\" or \"elapsed-ms\""
            }
            Self::DateOrder(_) => {
                "`[log] date_order = \"day-first\"` (or \"month-first\") in season.toml, or time.format in a layout"
            }
            Self::ClockNeverSet { .. } => "a layout with time.start, the instant of its first line",
            Self::ClockPutBack { .. } => "`[log] clock_jump` in season.toml",
            Self::HourTwice(_) | Self::HourSkipped => {
                "a layout with time.utc_offset = \"-05:00\" (the offset that the logger's clock keeps), or an export with offsets"
            }
        };
        fixed.to_owned()
    }
}

impl From<Question> for IngestError {
    fn from(Question { place, asks }: Question) -> Self {
        Self::NeedsAnswer {
            place: place.into(),
            code: asks.code(),
            question: asks.question(),
            readings: asks.readings(),
            setting: asks.setting(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::grid::score;
    use super::*;

    #[test]
    fn two_delimiters_are_told_with_the_numbers_that_each_gives() {
        let parted = |delimiter, values: &[f64]| Parted {
            delimiter,
            values: values.to_vec(),
            score: score::of(&[], None, 2),
        };
        let asks = Asks::Delimiter([
            parted(Delimiter::Semicolon, &[103.5, 4.0]),
            parted(Delimiter::Comma, &[103.0, 5.0]),
        ]);
        let [first, second] = asks.readings();
        assert!(first.starts_with("103.5 | 4 (delimiter = \"semicolon\"; of its lines"), "{first}");
        assert!(second.starts_with("103 | 5 (delimiter = \"comma\"; "), "{second}");
        assert_eq!(asks.setting(), "a layout with delimiter = \"semicolon\"");
    }
}
