//! The loggers that hang on the team's pits, and how each of them exports.

use crate::archive::Container;
use crate::dialect::{
    Absent, ClockStyle, DateOrder, DateStyle, Delimiter, Dialect, EpochUnit, Header, LineEnds,
    NumberStyle, Quotes, Shape, TimeStyle, UnitPlace, UnitWord, ZoneStyle,
};
use crate::encoding::Encoding;
use crate::season::draw::SampleFire;
use crate::season::programme::{Quirk, TeamPit};
use cook::season::TemperatureUnit::{self, Celsius, Fahrenheit};
use simulate::measured::{Logger, Sentinel};

/// A logger and the dialect that it exports in.
#[derive(Debug, Clone)]
pub(crate) struct TeamLogger {
    pub(crate) dialect: Dialect,
    interval_s: f64,
    jitter_s: f64,
    unit: TemperatureUnit,
    quantum: f64,
}

impl TeamLogger {
    /// The logger of a fire's pit. The team changed loggers every winter.
    pub(crate) fn of(fire: &SampleFire) -> Self {
        if fire.quirk() == Quirk::NoCard {
            return Self::visitors();
        }
        match (fire.team_pit(), fire.season()) {
            (TeamPit::LongTom, 2024) => Self::new(Dialect::default(), (60.0, 2.0), Fahrenheit, 1.0),
            (TeamPit::LongTom, 2025) => Self::new(
                Dialect { shape: Shape::Long, time: TimeStyle::ISO_OFFSET, ..Dialect::default() },
                (90.0, 4.0),
                Fahrenheit,
                0.1,
            ),
            (TeamPit::LongTom, _) => Self::new(
                Dialect {
                    encoding: Encoding::Utf16Le,
                    quotes: Quotes::Texts,
                    header: Header::Two,
                    time: calendar(DateOrder::MonthDayYear, '/', ClockStyle::Twelve),
                    line_ends: LineEnds::CrLf,
                    capitals: true,
                    ..Dialect::default()
                },
                (60.0, 0.0),
                Fahrenheit,
                0.5,
            ),
            (TeamPit::Rumble, 2024) => Self::new(
                Dialect {
                    delimiter: Delimiter::Semicolon,
                    number: NumberStyle { decimal_comma: true, thousands: None },
                    time: TimeStyle::ELAPSED,
                    preamble: vec!["temperature log".into(), "interval;120 s".into()],
                    line_ends: LineEnds::CrLf,
                    absent: written("---"),
                    ..Dialect::default()
                },
                (120.0, 0.0),
                Celsius,
                0.1,
            ),
            (TeamPit::Rumble, 2025) => Self::new(
                Dialect {
                    delimiter: Delimiter::Tab,
                    time: TimeStyle::DATE_AND_TIME,
                    ..Dialect::default()
                },
                (45.0, 3.0),
                Celsius,
                0.5,
            ),
            (TeamPit::Rumble, _) => Self::new(
                Dialect {
                    delimiter: Delimiter::Pipe,
                    time: TimeStyle::Epoch(EpochUnit::Seconds),
                    unit: UnitPlace::Value,
                    unit_word: UnitWord::Letter,
                    absent: written("OPEN"),
                    container: Container::Gzip,
                    ..Dialect::default()
                },
                (15.0, 0.0),
                Fahrenheit,
                0.1,
            ),
            (TeamPit::Pantry, 2024) => Self::new(
                Dialect {
                    time: TimeStyle::ISO_ZULU,
                    unit: UnitPlace::Row,
                    preamble: vec!["cabinet log".into()],
                    absent: written("-999.9"),
                    line_ends: LineEnds::CrLf,
                    ..Dialect::default()
                },
                (60.0, 0.0),
                Celsius,
                0.1,
            ),
            (TeamPit::Pantry, 2025) => Self::new(
                Dialect {
                    delimiter: Delimiter::Semicolon,
                    preamble: vec!["cabinet log".into(), String::new()],
                    absent: written("NaN"),
                    header_every: Some(500),
                    ..Dialect::default()
                },
                (30.0, 1.0),
                Fahrenheit,
                0.5,
            ),
            (TeamPit::Pantry, _) => Self::new(
                Dialect {
                    delimiter: Delimiter::Spaces,
                    encoding: Encoding::Windows1252,
                    time: calendar(DateOrder::DayMonthName, ' ', ClockStyle::TwentyFour),
                    absent: written("n/a"),
                    footer: vec!["end of log".into()],
                    totals: true,
                    ..Dialect::default()
                },
                (60.0, 0.0),
                Celsius,
                1.0,
            ),
        }
    }

    /// A second logger, borrowed for one cook.
    pub(crate) fn borrowed() -> Self {
        Self::new(
            Dialect { time: TimeStyle::Serial, quotes: Quotes::All, ..Dialect::default() },
            (20.0, 0.0),
            Celsius,
            0.1,
        )
    }

    /// The logger of a guest who cooked on the team's pit and left no card.
    fn visitors() -> Self {
        Self::new(
            Dialect {
                time: TimeStyle::Epoch(EpochUnit::Milliseconds),
                container: Container::Zip,
                ..Dialect::default()
            },
            (30.0, 0.0),
            Fahrenheit,
            0.1,
        )
    }

    fn new(
        dialect: Dialect,
        (interval_s, jitter_s): (f64, f64),
        unit: TemperatureUnit,
        quantum: f64,
    ) -> Self {
        Self { dialect, interval_s, jitter_s, unit, quantum }
    }

    /// It, recording from ten minutes after the lighting until `until_s`.
    pub(crate) fn logger(&self, until_s: i64) -> Logger {
        Logger {
            jitter_s: self.jitter_s,
            noise_c: 0.12,
            from_s: 600,
            ..Logger::sound(self.interval_s, self.unit, self.quantum, until_s)
        }
    }
}

fn calendar(order: DateOrder, separator: char, clock: ClockStyle) -> TimeStyle {
    let date = DateStyle { order, separator, two_digit_year: false, padded: true };
    TimeStyle::Calendar { date, clock, zone: ZoneStyle::Local, joint: Some(' ') }
}

/// A text where nothing was read.
fn written(text: &str) -> Absent {
    Absent { nothing: Some(Sentinel::text(text)), ..Absent::default() }
}
