//! Instants as text.

use super::style::{
    ClockStyle, DateOrder, DateStyle, ElapsedStyle, EpochUnit, TimeStyle, ZoneStyle,
};
use crate::error::WriteError;
use jiff::{Timestamp, ZonedDateTime, civil, tz::TimeZone};

const DAY_MS: f64 = 86_400_000.0;

/// Day 0 of a spreadsheet's calendar. ISO/IEC 29500-1, 18.17.4.1 (the 1900 date system has a
/// 29 February 1900 that never was, so from March 1900 its days count from here); the
/// default null date of ISO/IEC 26300-4, 3.4 is the same.
const SERIAL_ZERO: civil::Date = civil::date(1899, 12, 30);

const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// An instant in a zone.
pub(crate) fn local(at_ms: i64, zone: &TimeZone) -> Result<ZonedDateTime, WriteError> {
    Timestamp::from_millisecond(at_ms)
        .map(|instant| instant.to_zoned_datetime(zone.clone()))
        .map_err(|error| WriteError::Instant { at_ms, reason: error.to_string() })
}

/// The cells of an instant, and the instant that they say, ms UTC.
pub(super) struct TimeText {
    pub(super) cells: Vec<String>,
    pub(super) written_ms: i64,
}

impl TimeStyle {
    /// Writes an instant; `first_ms` is that of the first row.
    pub(super) fn write(
        self,
        at_ms: i64,
        first_ms: i64,
        zone: &TimeZone,
        decimal_comma: bool,
    ) -> Result<TimeText, WriteError> {
        let one = |text: String, written_ms: i64| TimeText { cells: vec![text], written_ms };
        Ok(match self {
            Self::Calendar { date, clock, zone: zone_style, joint } => {
                let utc = TimeZone::UTC;
                let zone = if zone_style == ZoneStyle::Utc { &utc } else { zone };
                let at = local(at_ms, zone)?;
                let date_text = date.write(at.date());
                let offset = match zone_style {
                    ZoneStyle::Local => String::new(),
                    ZoneStyle::Offset => at.strftime("%:z").to_string(),
                    ZoneStyle::Utc => "Z".to_owned(),
                };
                let clock_text = format!("{}{offset}", clock.write(at.time()));
                let cells = match joint {
                    Some(joint) => vec![format!("{date_text}{joint}{clock_text}")],
                    None => vec![date_text, clock_text],
                };
                TimeText { cells, written_ms: clock.resolved(at_ms) }
            }
            Self::ClockOnly { clock, .. } => {
                one(clock.write(local(at_ms, zone)?.time()), clock.resolved(at_ms))
            }
            Self::Epoch(unit) => {
                let text = match unit {
                    EpochUnit::Seconds => at_ms.div_euclid(1_000),
                    EpochUnit::Milliseconds => at_ms,
                    EpochUnit::Microseconds => at_ms * 1_000,
                };
                let written_ms = match unit {
                    EpochUnit::Seconds => at_ms.div_euclid(1_000) * 1_000,
                    _ => at_ms,
                };
                one(text.to_string(), written_ms)
            }
            Self::Serial => {
                let at = local(at_ms, zone)?;
                let days =
                    f64::from(SERIAL_ZERO.until(at.date()).map_or(0, |span| span.get_days()));
                let midnight = at.date().at(0, 0, 0, 0);
                let into_day = midnight
                    .until(at.datetime())
                    .map_or(0.0, |span| span.total(jiff::Unit::Millisecond).unwrap_or(0.0));
                // Six decimals are a tenth of a second: the text says the instant to within
                // a twentieth.
                let text = decimal(format!("{:.6}", days + into_day / DAY_MS), decimal_comma);
                one(text, at_ms)
            }
            Self::Elapsed { unit, .. } => {
                let since_ms = at_ms - first_ms;
                let seconds = since_ms.div_euclid(1_000);
                let (text, said_ms) = match unit {
                    ElapsedStyle::Hms => (
                        format!("{}:{:02}:{:02}", seconds / 3_600, seconds / 60 % 60, seconds % 60),
                        seconds * 1_000,
                    ),
                    ElapsedStyle::Seconds => (seconds.to_string(), seconds * 1_000),
                    ElapsedStyle::Minutes => {
                        let text = format!("{:.2}", since_ms as f64 / 60_000.0);
                        (decimal(text, decimal_comma), since_ms)
                    }
                };
                one(text, first_ms + said_ms)
            }
        })
    }
}

fn decimal(text: String, comma: bool) -> String {
    if comma { text.replace('.', ",") } else { text }
}

impl DateStyle {
    /// A date.
    pub(super) fn write(self, date: civil::Date) -> String {
        let year = if self.two_digit_year {
            format!("{:02}", date.year().rem_euclid(100))
        } else {
            format!("{:04}", date.year())
        };
        let pad = |number: i8| {
            if self.padded { format!("{number:02}") } else { number.to_string() }
        };
        let (day, month) = (pad(date.day()), pad(date.month()));
        let name = MONTHS[(date.month() - 1) as usize];
        let s = self.separator;
        match self.order {
            DateOrder::YearMonthDay => format!("{year}{s}{month}{s}{day}"),
            DateOrder::DayMonthYear => format!("{day}{s}{month}{s}{year}"),
            DateOrder::MonthDayYear => format!("{month}{s}{day}{s}{year}"),
            DateOrder::DayMonthName => format!("{day}{s}{name}{s}{year}"),
            DateOrder::MonthNameDay => format!("{name} {day}, {year}"),
        }
    }
}

impl ClockStyle {
    /// A time of the day.
    pub(super) fn write(self, time: civil::Time) -> String {
        let half = |am: &str, pm: &str| {
            let hour = (time.hour() + 11) % 12 + 1;
            let word = if time.hour() < 12 { am } else { pm };
            format!("{hour}:{:02}:{:02}{word}", time.minute(), time.second())
        };
        match self {
            Self::TwentyFour => {
                format!("{:02}:{:02}:{:02}", time.hour(), time.minute(), time.second())
            }
            Self::TwentyFourMinutes => format!("{:02}:{:02}", time.hour(), time.minute()),
            Self::Twelve => half(" AM", " PM"),
            Self::TwelveLower => half("am", "pm"),
        }
    }

    /// The instant that it says: offsets from UTC are whole minutes since 1972.
    fn resolved(self, at_ms: i64) -> i64 {
        let step = if self.whole_minutes() { 60_000 } else { 1_000 };
        at_ms.div_euclid(step) * step
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use DateOrder as D;

    fn text(style: TimeStyle, at: &str) -> String {
        let zone = TimeZone::get("America/Chicago").unwrap();
        let at_ms = at.parse::<Timestamp>().unwrap().as_millisecond();
        style.write(at_ms, at_ms - 5_405_000, &zone, false).unwrap().cells.join("|")
    }

    #[test]
    fn every_style_of_one_instant() {
        let calendar = |order, separator, clock| TimeStyle::Calendar {
            date: DateStyle { order, separator, two_digit_year: false, padded: true },
            clock,
            zone: ZoneStyle::Local,
            joint: Some(' '),
        };
        for (style, expected) in [
            (TimeStyle::ISO_LOCAL, "2024-05-04 22:10:05"),
            (TimeStyle::ISO_OFFSET, "2024-05-04T22:10:05-05:00"),
            (TimeStyle::ISO_ZULU, "2024-05-05T03:10:05Z"),
            (TimeStyle::DATE_AND_TIME, "2024-05-04|22:10:05"),
            (TimeStyle::ELAPSED, "1:30:05"),
            (calendar(D::DayMonthYear, '/', ClockStyle::Twelve), "04/05/2024 10:10:05 PM"),
            (calendar(D::MonthDayYear, '-', ClockStyle::TwentyFourMinutes), "05-04-2024 22:10"),
            (calendar(D::DayMonthName, ' ', ClockStyle::TwelveLower), "04 May 2024 10:10:05pm"),
            (calendar(D::MonthNameDay, ' ', ClockStyle::TwentyFour), "May 04, 2024 22:10:05"),
            (TimeStyle::Epoch(EpochUnit::Seconds), "1714878605"),
            (TimeStyle::Epoch(EpochUnit::Microseconds), "1714878605000000"),
            // Common practice: 2024-05-04 is day 45416; 22:10:05 is 0.923669 of a day.
            (TimeStyle::Serial, "45416.923669"),
            (
                TimeStyle::Elapsed { unit: ElapsedStyle::Minutes, told: true, start_told: false },
                "90.08",
            ),
        ] {
            assert_eq!(text(style, "2024-05-05T03:10:05Z"), expected);
        }
        let short =
            DateStyle { two_digit_year: true, padded: false, separator: '.', ..DateStyle::ISO };
        let short = DateStyle { order: D::DayMonthYear, ..short };
        assert_eq!(short.write(civil::date(2007, 3, 9)), "9.3.07");
    }

    #[test]
    fn twelve_hour_clocks_at_midnight_and_noon() {
        for (hour, expected) in [(0, "12:05:00 AM"), (12, "12:05:00 PM"), (13, "1:05:00 PM")] {
            assert_eq!(ClockStyle::Twelve.write(civil::time(hour, 5, 0, 0)), expected);
        }
    }
}
