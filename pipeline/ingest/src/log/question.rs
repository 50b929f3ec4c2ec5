//! Questions that only the user can answer, as data; what they say to people is made here and
//! nowhere else.

use super::grid::score::Score;
use super::shown::{date, instant, letter, span};
use crate::error::{IngestError, Place};
use crate::layout::Delimiter;
use crate::question::{Asked, Setting, Settles};
use crate::time::TimeFormat;
use cook::season::TemperatureUnit;
use cook::{Celsius, QuestionCode};
use jiff::civil::Date;

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
    /// A log without dates, by its file name: the days on which the sheet has its cooks.
    FirstDay { file: String, days: Vec<Date> },
    /// A clock that was never set: the earliest time that it shows, ms.
    ClockNeverSet { first_ms: i64 },
    /// Times since the log's own zero, of which no card will say when it was.
    StartOfElapsed,
    /// A clock that was put back while the log ran on: the instant of the line by the clock
    /// after it, and how far it goes back, ms.
    ClockPutBack { at_ms: i64, back_ms: i64 },
    /// An hour that the clock showed twice: the two instants, ms UTC, each with the offset by
    /// which it is.
    HourTwice([(i64, String); 2]),
    /// An hour that the clock skipped and the log runs through: the offsets before and after.
    HourSkipped([String; 2]),
    /// Temperatures of no unit: the value on the line, the likelier unit, and the greatest
    /// value, which makes it likelier.
    UnitOfTemperatures { value: f64, likely: TemperatureUnit, greatest: f64 },
    /// Temperatures that no cook has: the scale by which they were read, and those by which they
    /// would be a cook.
    UnitAgainstPhysics { as_read: &'static str, likely: Vec<&'static str> },
    /// All channels step at once as from one unit to the other: the instant, ms, and the unit
    /// from there on.
    UnitChanges { at_ms: i64, to: TemperatureUnit },
    /// Times without an offset, in a season of which nobody says the zone.
    TimeZone,
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
            Self::StartOfElapsed => QuestionCode::StartOfElapsed,
            Self::ClockPutBack { .. } => QuestionCode::ClockPutBack,
            Self::HourTwice(_) => QuestionCode::HourTwice,
            Self::HourSkipped(_) => QuestionCode::HourSkipped,
            Self::UnitOfTemperatures { .. } => QuestionCode::UnitOfTemperatures,
            Self::UnitAgainstPhysics { .. } => QuestionCode::UnitAgainstPhysics,
            Self::UnitChanges { .. } => QuestionCode::UnitChanges,
            Self::TimeZone => QuestionCode::TimeZone,
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
            Self::StartOfElapsed => {
                "its times count from its own zero: when did it begin?".to_owned()
            }
            Self::ClockPutBack { back_ms, .. } => {
                format!("the clock goes back by {} here and the log runs on", span(*back_ms))
            }
            Self::HourTwice(_) => {
                "the clock showed this hour twice, and the rows around it do not tell which is meant"
                    .to_owned()
            }
            Self::HourSkipped(_) => {
                "the log runs through an hour that the clock skipped: it does not follow daylight saving"
                    .to_owned()
            }
            Self::UnitOfTemperatures { likely, greatest, .. } => format!(
                "the log does not say the unit of its temperatures (°{likely} is likelier: they reach {greatest})",
                likely = letter(*likely)
            ),
            Self::UnitAgainstPhysics { as_read, likely } => format!(
                "read as {as_read}, these are the temperatures of no cook; as {} they would be",
                likely.join(" or ")
            ),
            Self::UnitChanges { to, .. } => format!(
                "all channels step at once here, as if the logger were switched to °{}",
                letter(*to)
            ),
            Self::TimeZone => cook::Question::time_zone().asks,
        }
    }

    /// What can be answered: its word, what it makes of the place, and what it settles.
    fn answers(&self) -> Vec<(String, String, Settles)> {
        let of = |take: &str, then: String, settles: Settles| (take.to_owned(), then, settles);
        match self {
            Self::Delimiter(both) => both
                .iter()
                .map(|parted| {
                    let values: Vec<String> =
                        parted.values.iter().map(ToString::to_string).collect();
                    let then = format!("{} ({})", values.join(" | "), parted.score);
                    of(parted.delimiter.as_str(), then, Settles::by_answer(Setting::Delimiter))
                })
                .collect(),
            Self::MarkInTimes { point, comma, .. } => {
                let shown = |value: &Option<f64>| value.map_or(String::new(), |v| v.to_string());
                vec![
                    of("point", shown(point), Settles::by_answer(Setting::DecimalOfTimes)),
                    of("comma", shown(comma), Settles::by_answer(Setting::DecimalOfTimes)),
                ]
            }
            Self::MarkInTemperatures { comma, point } => vec![
                of("comma", comma.to_string(), Settles::by_answer(Setting::Decimal)),
                of("point", point.to_string(), Settles::by_answer(Setting::Decimal)),
            ],
            Self::UnitOfTimes { cell } => [
                ("seconds", TimeFormat::ElapsedSeconds),
                ("minutes", TimeFormat::ElapsedMinutes),
                ("hours", TimeFormat::ElapsedHours),
                ("days", TimeFormat::ElapsedDays),
            ]
            .map(|(unit, format)| {
                of(
                    unit,
                    format!("{cell} {unit} since the log began"),
                    Settles::to(Setting::TimeFormat, format.as_str()),
                )
            })
            .into(),
            Self::ClockOrElapsed { cell } => vec![
                of("clock", format!("{cell} of some day"), Settles::by_answer(Setting::TimeFormat)),
                of(
                    "elapsed",
                    format!("{cell} after the log began"),
                    Settles::to(Setting::TimeFormat, TimeFormat::ElapsedHms.as_str()),
                ),
            ],
            Self::PartsOfElapsed { cell } => vec![
                of(
                    "hours-and-minutes",
                    format!("{cell} are hours and minutes"),
                    Settles::to(Setting::TimeFormat, TimeFormat::ElapsedHm.as_str()),
                ),
                of(
                    "minutes-and-seconds",
                    format!("{cell} are minutes and seconds"),
                    Settles::to(Setting::TimeFormat, TimeFormat::ElapsedMs.as_str()),
                ),
            ],
            Self::DateOrder(both) => both
                .iter()
                .map(|(format, ms)| {
                    of(
                        format.as_str(),
                        date(*ms, "%-d %B %Y"),
                        Settles::by_answer(Setting::DateOrder),
                    )
                })
                .collect(),
            Self::FirstDay { days, .. } => {
                let mut answers: Vec<_> = days
                    .iter()
                    .map(|day| {
                        let then = "the sheet has a cook then".to_owned();
                        of(&day.to_string(), then, Settles::by_answer(Setting::FirstDay))
                    })
                    .collect();
                let any = "times of the day that you write, such as 2026-05-02".to_owned();
                answers.push(of("<date>", any, Settles::by_answer(Setting::FirstDay)));
                let then = "times since the log began".to_owned();
                answers.push(of(
                    "elapsed",
                    then,
                    Settles::to(Setting::TimeFormat, TimeFormat::ElapsedHms.as_str()),
                ));
                answers
            }
            Self::ClockNeverSet { first_ms } => vec![
                of(
                    "<time>",
                    "the local date and time of its first line, such as 2026-05-02 06:00"
                        .to_owned(),
                    Settles::by_answer(Setting::Start),
                ),
                of(
                    "as-dated",
                    format!("it is of {}", date(*first_ms, "%Y")),
                    Settles::by_answer(Setting::AsDated),
                ),
            ],
            Self::StartOfElapsed => vec![of(
                "<time>",
                "the local date and time of its zero, such as 2026-05-02 06:00".to_owned(),
                Settles::by_answer(Setting::Start),
            )],
            Self::ClockPutBack { at_ms, back_ms, .. } => vec![
                of(
                    "last-is-right",
                    format!("this line is of {}: earlier lines are moved", instant(*at_ms)),
                    Settles::by_answer(Setting::ClockJump),
                ),
                of(
                    "first-is-right",
                    format!("this line is of {}: later lines are moved", instant(at_ms + back_ms)),
                    Settles::by_answer(Setting::ClockJump),
                ),
            ],
            Self::HourTwice(both) => both
                .iter()
                .map(|(at_ms, offset)| {
                    let then = format!(
                        "the logger's clock keeps {offset}: this line is of {}",
                        instant(*at_ms)
                    );
                    of(offset, then, Settles::by_answer(Setting::UtcOffset))
                })
                .collect(),
            Self::HourSkipped(both) => both
                .iter()
                .map(|offset| {
                    let then = format!("the logger's clock keeps {offset} throughout");
                    of(offset, then, Settles::by_answer(Setting::UtcOffset))
                })
                .collect(),
            Self::UnitOfTemperatures { value, likely, .. } => {
                let fahrenheit = of(
                    "F",
                    format!(
                        "{value} °F, which is {:.1} °C",
                        Celsius::from_fahrenheit(*value).value()
                    ),
                    Settles::by_answer(Setting::Unit),
                );
                let celsius = of(
                    "C",
                    format!("{value} °C, which is {:.1} °F", Celsius(*value).fahrenheit()),
                    Settles::by_answer(Setting::Unit),
                );
                match likely {
                    TemperatureUnit::Fahrenheit => vec![fahrenheit, celsius],
                    TemperatureUnit::Celsius => vec![celsius, fahrenheit],
                }
            }
            Self::UnitAgainstPhysics { as_read, likely } => likely
                .iter()
                .chain([as_read])
                .map(|scale| of(scale, String::new(), Settles::by_answer(Setting::Scale)))
                .collect(),
            Self::UnitChanges { at_ms, to } => {
                let to = letter(*to);
                let change = Settles::to(Setting::UnitChange, &format!("{at_ms} {to}"));
                let none = Settles::to(Setting::UnitChange, &at_ms.to_string());
                vec![
                    of(&format!("{to}-from-here"), String::new(), change),
                    of("as-read", "one unit throughout".to_owned(), none),
                ]
            }
            Self::TimeZone => cook::Question::time_zone()
                .answers
                .into_iter()
                .map(|answer| (answer.take, answer.then, Settles::elsewhere()))
                .collect(),
        }
    }

    /// What the answer hangs on, besides the kind of log.
    fn evidence(&self, place: &Place) -> Vec<String> {
        let file = place.path.rsplit('/').next().unwrap_or(&place.path).to_owned();
        match self {
            Self::FirstDay { .. } | Self::ClockNeverSet { .. } | Self::StartOfElapsed => {
                vec![file, place.text.clone()]
            }
            Self::ClockPutBack { at_ms, .. } | Self::UnitChanges { at_ms, .. } => {
                vec![file, at_ms.to_string()]
            }
            Self::HourTwice(_) | Self::HourSkipped(_) => vec![file],
            Self::UnitOfTemperatures { likely, .. } => vec![letter(*likely).to_owned()],
            Self::UnitAgainstPhysics { as_read, .. } => vec![(*as_read).to_owned()],
            _ => Vec::new(),
        }
    }

    /// The setting that decides.
    fn setting(&self) -> String {
        let fixed = match self {
            Self::Delimiter([first, _]) => {
                return format!("a layout with delimiter = \"{}\"", first.delimiter.as_str());
            }
            Self::FirstDay { file, .. } => {
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
            Self::ClockNeverSet { .. } | Self::StartOfElapsed => {
                "a layout with time.start, the instant of its first line"
            }
            Self::ClockPutBack { .. } => "`[log] clock_jump` in season.toml",
            Self::UnitAgainstPhysics { .. } => "an export in the unit that its header says",
            Self::UnitChanges { .. } => "a file for each unit",
            Self::TimeZone => "`time_zone` in season.toml, or --tz",
            Self::HourTwice(_) | Self::HourSkipped(_) => {
                "a layout with time.utc_offset = \"-05:00\" (the offset that the logger's clock keeps), or an export with offsets"
            }
        };
        fixed.to_owned()
    }
}

impl From<Question> for IngestError {
    fn from(Question { place, asks }: Question) -> Self {
        let evidence = asks.evidence(&place);
        let (question, answers, setting) = (asks.question(), asks.answers(), asks.setting());
        let asked = Asked::new(asks.code(), &place, evidence, question, answers, setting);
        Self::NeedsAnswer { place: place.into(), asked: asked.into() }
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
        let answers = asks.answers();
        let told = |at: usize| (answers[at].0.as_str(), answers[at].1.as_str());
        let ((first, one), (second, other)) = (told(0), told(1));
        assert_eq!((first, second), ("semicolon", "comma"));
        assert!(one.starts_with("103.5 | 4 (of its lines"), "{one}");
        assert!(other.starts_with("103 | 5 ("), "{other}");
        assert_eq!(asks.setting(), "a layout with delimiter = \"semicolon\"");
    }
}
