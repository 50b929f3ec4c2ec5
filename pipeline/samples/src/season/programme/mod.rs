//! What the team sets out to cook: the fixed part of the sample seasons.

mod first_season;
mod pits;
mod second_season;
mod third_season;

pub(crate) use pits::TeamPit;

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
    /// The fire goes out and is lit again an hour and a half later.
    FireOut,
    /// The first cook's probe sticks at one value for fifty minutes.
    ProbeSticks,
    /// Two probes are plugged in the wrong way round when the meat is wrapped.
    ProbesSwapped,
    /// The logger is started anew half way through: one cook, two logs.
    TwoLogs,
    /// The log is not closed before the next fire on the same pit: two cooks, one log.
    SharesLog,
    /// Pit and meat hang on different loggers.
    TwoLoggers,
    /// The log was lost: cards only.
    NoLog,
    /// Nobody filled in a card.
    NoCard,
}

impl Quirk {
    /// It in a few words; empty where nothing is odd.
    pub(crate) fn in_words(self) -> &'static str {
        match self {
            Self::Plain => "",
            Self::Sag => "the fire sags",
            Self::Bump => "the set-point is raised late",
            Self::OutOfTime => "the first cook comes off before it is done",
            Self::LogEndsInStall => "the log ends in the stall",
            Self::LogStartsLate => "the log starts late",
            Self::Gap => "the log has a gap",
            Self::ProbeFails => "the first probe fails",
            Self::WrapTimeUnknown => "nobody noted when the first was wrapped",
            Self::LidLeftOpen => "the lid is left open",
            Self::Spikes => "the log has spikes",
            Self::FireOut => "the fire goes out",
            Self::ProbeSticks => "the first probe sticks",
            Self::ProbesSwapped => "two probes are swapped",
            Self::TwoLogs => "the cooks are in two logs",
            Self::SharesLog => "the log holds the next cook as well",
            Self::TwoLoggers => "pit and meat hang on two loggers",
            Self::NoLog => "the log was lost",
            Self::NoCard => "a guest's cook without a card",
        }
    }
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
pub(crate) const fn plan(
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

const FAIR: Option<&str> = Some("Pinewhistle Fair");
const BEND: Option<&str> = Some("Tallow Bend Cook-Off");
const FORD: Option<&str> = Some("Old Ford Harvest Days");

/// Every fire of all seasons, in order of time.
pub(crate) fn fires() -> impl Iterator<Item = &'static FirePlan> {
    first_season::FIRES.iter().chain(&second_season::FIRES).chain(&third_season::FIRES)
}

/// A cut below this many pounds is a chuck roast, not a brisket.
pub(crate) const CHUCK_BELOW_LB: f64 = 7.5;
