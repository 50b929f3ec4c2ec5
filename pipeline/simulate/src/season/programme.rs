//! What the team sets out to cook: the fixed part of the sample seasons.

use crate::dialect::{
    Absent, Delimiter, Dialect, LineEnds, NumberStyle, Shape, TimeStyle, UnitPlace,
};
use crate::measured::Sentinel;
use cook::season::TemperatureUnit;

/// One of the team's pits, with the logger that hangs on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TeamPit {
    /// A long offset.
    LongTom,
    /// A drum.
    Rumble,
    /// A cabinet.
    Pantry,
}

impl TeamPit {
    /// Its name in the sheet.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::LongTom => "Long Tom",
            Self::Rumble => "Rumble",
            Self::Pantry => "Pantry",
        }
    }

    /// Its kind in the sheet.
    pub(crate) fn cooker(self) -> &'static str {
        match self {
            Self::LongTom => "offset",
            Self::Rumble => "drum",
            Self::Pantry => "cabinet",
        }
    }

    /// Part of the names of its logs.
    pub(crate) fn slug(self) -> &'static str {
        match self {
            Self::LongTom => "long-tom",
            Self::Rumble => "rumble",
            Self::Pantry => "pantry",
        }
    }

    /// Ripple and wander, K, and convective coefficient, W/(m²·K): an offset is run by hand,
    /// a cabinet by itself.
    pub(crate) fn manners(self) -> (f64, f64, f64) {
        match self {
            Self::LongTom => (3.5, 4.0, 10.0),
            Self::Rumble => (1.5, 2.5, 9.2),
            Self::Pantry => (0.8, 1.0, 9.5),
        }
    }

    /// How its logger writes in a season, and how it records: interval (s), jitter (s),
    /// unit, quantum.
    pub(crate) fn dialect(self, season: i16) -> (Dialect, f64, f64, TemperatureUnit, f64) {
        let plain = Dialect::default();
        match (self, season) {
            (Self::LongTom, 2024) => (plain, 60.0, 2.0, TemperatureUnit::Fahrenheit, 1.0),
            (Self::LongTom, _) => (
                Dialect { shape: Shape::Long, time: TimeStyle::ISO_OFFSET, ..plain },
                90.0,
                4.0,
                TemperatureUnit::Fahrenheit,
                0.1,
            ),
            (Self::Rumble, 2024) => (
                Dialect {
                    delimiter: Delimiter::Semicolon,
                    number: NumberStyle { decimal_comma: true, thousands: None },
                    time: TimeStyle::ELAPSED,
                    preamble: vec!["temperature log".into(), "interval;120 s".into()],
                    line_ends: LineEnds::CrLf,
                    absent: written("---"),
                    ..plain
                },
                120.0,
                0.0,
                TemperatureUnit::Celsius,
                0.1,
            ),
            (Self::Rumble, _) => (
                Dialect { delimiter: Delimiter::Tab, time: TimeStyle::DATE_AND_TIME, ..plain },
                45.0,
                3.0,
                TemperatureUnit::Celsius,
                0.5,
            ),
            (Self::Pantry, 2024) => (
                Dialect {
                    time: TimeStyle::ISO_ZULU,
                    unit: UnitPlace::Row,
                    preamble: vec!["cabinet log".into()],
                    absent: written("-999.9"),
                    line_ends: LineEnds::CrLf,
                    ..plain
                },
                60.0,
                0.0,
                TemperatureUnit::Celsius,
                0.1,
            ),
            (Self::Pantry, _) => (
                Dialect {
                    delimiter: Delimiter::Semicolon,
                    time: TimeStyle::ISO_LOCAL,
                    preamble: vec!["cabinet log".into(), String::new()],
                    absent: written("NaN"),
                    ..plain
                },
                30.0,
                1.0,
                TemperatureUnit::Fahrenheit,
                0.5,
            ),
        }
    }
}

/// A text where nothing was read.
fn written(text: &str) -> Absent {
    Absent { nothing: Some(Sentinel::text(text)), ..Absent::default() }
}

/// How a piece of meat is to be wrapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum WrapHabit {
    /// Not at all.
    Bare,
    /// In paper when the bark is there.
    Paper,
    /// In foil when the bark is there.
    Foil,
    /// Foil below, open above, when the bark is there.
    Boat,
    /// By the toss of a coin paper or foil, at 160 °F.
    Arm,
}

/// What goes wrong, or is otherwise worth having in a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Quirk {
    /// Nothing.
    Plain,
    /// The fire sags for two and a half hours.
    Sag,
    /// The set-point is raised late in the stall.
    Bump,
    /// The first cook has to come off before it is done.
    OutOfTime,
    /// The logger stops in the stall.
    LogEndsInStall,
    /// The logger is switched on two and a half hours late.
    LogStartsLate,
    /// The logger loses forty minutes.
    Gap,
    /// The first cook's probe fails after four hours.
    ProbeFails,
    /// Nobody wrote down when the first cook was wrapped.
    WrapTimeUnknown,
    /// The lid is left open for six minutes.
    LidLeftOpen,
    /// The logger records spikes.
    Spikes,
}

/// One fire as planned.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FirePlan {
    /// Year, month and day of meat-on.
    pub(crate) date: (i16, i8, i8),
    /// Which pit.
    pub(crate) pit: TeamPit,
    /// Local hour of meat-on, about.
    pub(crate) hour: f64,
    /// Set-point, °F.
    pub(crate) setpoint_f: f64,
    /// Which contest, if any.
    pub(crate) contest: Option<&'static str>,
    /// Trimmed pounds and wrap of every cut.
    pub(crate) cuts: &'static [(f64, WrapHabit)],
    /// What is odd about it.
    pub(crate) quirk: Quirk,
}

/// A row of the programme.
const fn plan(
    date: (i16, i8, i8),
    pit: TeamPit,
    hour: f64,
    setpoint_f: f64,
    contest: Option<&'static str>,
    cuts: &'static [(f64, WrapHabit)],
    quirk: Quirk,
) -> FirePlan {
    FirePlan { date, pit, hour, setpoint_f, contest, cuts, quirk }
}

/// A cut below this many pounds is a chuck roast, not a brisket.
pub(crate) const CHUCK_BELOW_LB: f64 = 7.5;

const FAIR: Option<&str> = Some("Pinewhistle Fair");
const BEND: Option<&str> = Some("Tallow Bend Cook-Off");
const FORD: Option<&str> = Some("Old Ford Harvest Days");

use Quirk as Q;
use TeamPit::{LongTom, Pantry, Rumble};
use WrapHabit::{Arm, Bare, Boat, Foil, Paper};

/// Every fire of both seasons, in order of time.
pub(crate) const FIRES: [FirePlan; 32] = [
    plan((2024, 4, 6), LongTom, 6.0, 250.0, None, &[(12.4, Paper)], Q::Plain),
    plan((2024, 4, 13), Rumble, 6.5, 290.0, None, &[(10.1, Foil)], Q::Plain),
    plan((2024, 4, 20), Pantry, 5.5, 225.0, None, &[(11.2, Bare), (8.6, Paper)], Q::Plain),
    plan((2024, 4, 27), LongTom, 6.0, 270.0, None, &[(13.6, Paper)], Q::Sag),
    plan((2024, 5, 3), LongTom, 21.5, 250.0, FAIR, &[(13.1, Paper), (12.0, Foil)], Q::Plain),
    plan((2024, 5, 11), Pantry, 6.0, 230.0, None, &[(9.4, Bare)], Q::Gap),
    plan((2024, 5, 18), Rumble, 7.0, 300.0, None, &[(11.6, Foil)], Q::Plain),
    plan(
        (2024, 5, 25),
        LongTom,
        5.0,
        250.0,
        None,
        &[(14.2, Paper), (12.7, Bare), (6.8, Foil)],
        Q::Plain,
    ),
    plan((2024, 6, 8), Pantry, 6.0, 225.0, None, &[(10.6, Paper)], Q::WrapTimeUnknown),
    plan((2024, 6, 22), Rumble, 6.5, 275.0, None, &[(9.0, Bare)], Q::LidLeftOpen),
    plan((2024, 7, 5), LongTom, 22.0, 250.0, BEND, &[(12.9, Paper), (11.8, Paper)], Q::Bump),
    plan((2024, 7, 20), Pantry, 6.0, 285.0, None, &[(13.0, Foil)], Q::Plain),
    plan((2024, 8, 3), Rumble, 6.0, 300.0, None, &[(12.2, Paper)], Q::Plain),
    plan((2024, 8, 17), LongTom, 6.5, 240.0, None, &[(10.3, Bare)], Q::LogEndsInStall),
    plan((2024, 8, 31), Pantry, 5.5, 235.0, None, &[(14.8, Paper), (7.1, Bare)], Q::Plain),
    plan((2024, 9, 13), LongTom, 3.0, 240.0, FORD, &[(13.8, Bare), (12.3, Paper)], Q::OutOfTime),
    plan((2024, 9, 28), Rumble, 7.0, 265.0, None, &[(11.0, Boat)], Q::Spikes),
    plan((2025, 4, 5), Pantry, 6.0, 250.0, None, &[(12.1, Arm), (12.6, Arm)], Q::Plain),
    plan((2025, 4, 12), Rumble, 6.5, 300.0, None, &[(10.8, Bare)], Q::Plain),
    plan((2025, 4, 26), LongTom, 6.0, 240.0, None, &[(11.4, Arm), (11.9, Arm)], Q::Plain),
    plan((2025, 5, 2), LongTom, 21.5, 250.0, FAIR, &[(13.2, Arm), (13.0, Arm)], Q::Plain),
    plan((2025, 5, 10), Rumble, 6.0, 290.0, None, &[(9.6, Arm), (10.2, Arm)], Q::Plain),
    plan((2025, 5, 24), Pantry, 5.5, 225.0, None, &[(11.3, Bare)], Q::ProbeFails),
    plan((2025, 5, 31), LongTom, 6.0, 265.0, None, &[(12.8, Arm), (12.2, Arm)], Q::Gap),
    plan((2025, 6, 14), Pantry, 6.0, 300.0, None, &[(13.4, Foil)], Q::Plain),
    plan((2025, 6, 28), Rumble, 6.5, 280.0, None, &[(10.5, Arm), (11.1, Arm)], Q::Plain),
    plan((2025, 7, 4), LongTom, 22.0, 255.0, BEND, &[(12.5, Arm), (13.5, Arm)], Q::Sag),
    plan((2025, 7, 26), Pantry, 6.0, 250.0, None, &[(9.8, Bare)], Q::LogStartsLate),
    plan((2025, 8, 9), Pantry, 5.5, 295.0, None, &[(14.4, Arm), (13.7, Arm)], Q::Plain),
    plan((2025, 8, 23), Rumble, 7.0, 300.0, None, &[(8.4, Bare)], Q::Plain),
    plan((2025, 9, 6), LongTom, 6.0, 225.0, None, &[(11.7, Arm), (10.9, Arm)], Q::Plain),
    plan((2025, 9, 20), Pantry, 6.0, 225.0, None, &[(10.0, Paper)], Q::Plain),
];
