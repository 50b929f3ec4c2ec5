//! What was done to the readings of one cook, channel by channel and stretch by stretch.

use super::cook::CurvePoint;

/// What is to be known of a stretch of readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum StretchKind {
    /// Left out: colder or hotter than the channel can have been.
    #[default]
    Impossible,
    /// Left out: a number that stands for "no reading".
    NoReading,
    /// Left out: a lone spike.
    Spike,
    /// Left out: the edge of a sudden fall, of the pit under an opened lid or of a pulled probe.
    Edge,
    /// Left out: the probe was moved near a stated wrap and reads low.
    WrapDip,
    /// Left out: the probe was pulled or moved and reads low.
    Dip,
    /// Left out: the probe stuck.
    Stuck,
    /// Used for the channel that it was exchanged with.
    Exchanged,
    /// Used; the lid stood open.
    LidOpen,
    /// Nothing was logged.
    Gap,
    /// Nothing was logged of this channel while others went on.
    Unplugged,
}

impl StretchKind {
    /// Every kind, in the order to list them.
    pub const ALL: [Self; 11] = [
        Self::Impossible,
        Self::NoReading,
        Self::Spike,
        Self::Edge,
        Self::WrapDip,
        Self::Dip,
        Self::Stuck,
        Self::Exchanged,
        Self::LidOpen,
        Self::Gap,
        Self::Unplugged,
    ];

    /// Its word in the data files.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Impossible => "impossible",
            Self::NoReading => "no-reading",
            Self::Spike => "spike",
            Self::Edge => "edge",
            Self::WrapDip => "wrap-dip",
            Self::Dip => "dip",
            Self::Stuck => "stuck",
            Self::Exchanged => "exchanged",
            Self::LidOpen => "lid-open",
            Self::Gap => "gap",
            Self::Unplugged => "unplugged",
        }
    }

    /// Reads the word of a data file.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.as_str() == word)
    }
}

/// One stretch of one channel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stretch {
    /// What is to be known.
    pub kind: StretchKind,
    /// The channel that its readings stand in.
    pub channel: String,
    /// The channel that they were used for.
    pub used_as: String,
    /// Its first reading, minutes since meat-on.
    pub start_min: f64,
    /// Its last reading, minutes since meat-on.
    pub end_min: f64,
    /// Local clock time of the first.
    pub start_local: String,
    /// Readings in it.
    pub readings: usize,
    /// How far they lie off their course, °C.
    pub size_c: Option<f64>,
    /// Readings to draw where they were left out: all, or some evenly spaced.
    pub points: Vec<CurvePoint>,
}

/// Why a meat channel leads.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum LeadReason {
    /// The card names it.
    #[default]
    ByCard,
    /// There is no other meat channel.
    OnlyOne,
    /// It is the last to arrive at the finish.
    LastToArrive,
    /// None arrives, and it is the farthest from it.
    Farthest {
        /// Its highest reading, °C.
        highest_c: f64,
    },
}

/// What a probe's correction rests on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Correction {
    /// The card states neither an offset nor a test.
    #[default]
    None,
    /// The card states the offset.
    Stated {
        /// Added to every reading, °C.
        offset_c: f64,
    },
    /// Tests in ice, in boiling water, or in both.
    Tested {
        /// Correction of a reading of 0 °C, °C.
        offset_c: f64,
        /// Change of the correction per °C of reading.
        slope: f64,
        /// What it read in melting ice, °C.
        ice_c: Option<f64>,
        /// What it read in boiling water, °C, and where water boils at the card's altitude, °C.
        boiling_c: Option<(f64, f64)>,
    },
}

/// How a meat probe reads unlike one in the lead's meat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unlike {
    /// It follows the pit.
    InAir,
    /// It begins this much hotter than the lead, °C.
    BeginsApart(f64),
    /// It hardly warms while the lead does.
    HardlyWarms,
    /// It reads this much higher than the lead all along, °C.
    SteadyDifference(f64),
    /// It does not warm when the lead does.
    OtherCourse,
}

/// The part that a channel plays.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ChannelPart {
    /// The core.
    Lead(LeadReason),
    /// The pit.
    Pit,
    /// Another meat channel, compared with the lead.
    OtherMeat,
    /// Drawn, and nothing else.
    #[default]
    NotUsed,
}

/// One channel of a cook.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ChannelNote {
    /// Its name in the log.
    pub name: String,
    /// Its part.
    pub part: ChannelPart,
    /// Readings in the store.
    pub readings: usize,
    /// Readings left out by cleaning.
    pub removed: usize,
    /// Its correction.
    pub correction: Correction,
    /// Mean of this channel less the lead, °C.
    pub mean_difference_c: Option<f64>,
    /// This channel less the lead where the lead reaches the finish, °C.
    pub difference_at_finish_c: Option<f64>,
    /// When it reaches the finish, minutes after the lead.
    pub finish_after_lead_min: Option<f64>,
    /// How it reads unlike the lead.
    pub unlike: Option<Unlike>,
}

/// What was done to the readings of one cook.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cleaning {
    /// Its channels, in the log's order.
    pub channels: Vec<ChannelNote>,
    /// Every stretch of which there is something to know.
    pub stretches: Vec<Stretch>,
    /// What a person should check, one or two sentences each.
    pub to_check: Vec<String>,
}
