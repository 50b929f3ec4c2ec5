//! What a question is about.

use std::fmt;

/// What is asked. The word of a code stays what it is, whatever becomes of the question's text:
/// an answer is known again by it, and no code is ever used for another question.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum QuestionCode {
    /// Which delimiter parts the cells: two give different numbers.
    Delimiter,
    /// Whether a mark stands between thousands or before decimals, in times.
    MarkInTimes,
    /// Whether a mark stands between thousands or before decimals, in temperatures.
    MarkInTemperatures,
    /// What times that are numbers count.
    UnitOfTimes,
    /// Whether times without a date are of the day or elapsed.
    ClockOrElapsed,
    /// Whether elapsed times of two parts are hours and minutes, or minutes and seconds.
    PartsOfElapsed,
    /// Which number of a date is the day.
    DateOrder,
    /// The day on which a log without dates begins.
    FirstDay,
    /// When a log was kept whose clock was never set.
    ClockNeverSet,
    /// Which clock was right where one was put back.
    ClockPutBack,
    /// Which of the two passes of an hour is meant that the clock showed twice.
    HourTwice,
    /// What a log means that runs through an hour which the clock skipped.
    HourSkipped,
    /// The unit of temperatures.
    UnitOfTemperatures,
    /// Which of several logs of one name a card means.
    LogOfName,
    /// Which log is a cook's.
    LogOfCook,
    /// Which of several worksheets is meant.
    Worksheet,
}

impl QuestionCode {
    /// The code's word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Delimiter => "delimiter",
            Self::MarkInTimes => "mark-in-times",
            Self::MarkInTemperatures => "mark-in-temperatures",
            Self::UnitOfTimes => "unit-of-times",
            Self::ClockOrElapsed => "clock-or-elapsed",
            Self::PartsOfElapsed => "parts-of-elapsed",
            Self::DateOrder => "date-order",
            Self::FirstDay => "first-day",
            Self::ClockNeverSet => "clock-never-set",
            Self::ClockPutBack => "clock-put-back",
            Self::HourTwice => "hour-twice",
            Self::HourSkipped => "hour-skipped",
            Self::UnitOfTemperatures => "unit-of-temperatures",
            Self::LogOfName => "log-of-name",
            Self::LogOfCook => "log-of-cook",
            Self::Worksheet => "worksheet",
        }
    }
}

impl fmt::Display for QuestionCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}
