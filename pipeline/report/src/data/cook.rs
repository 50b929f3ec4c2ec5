//! One cook: its curve, phases, marks, events, card and numbers.

use cook::PhaseKind;
use serde::Serialize;

use super::account::Counted;
use super::cleaning::Cleaning;
use super::probe::{ProbePanel, WetBulb};
use crate::units::Quantity;

/// One cook as the report shows it.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct CookReport {
    /// The cook's id, unique in the report.
    pub id: String,
    /// Its season.
    pub season: String,
    /// The fire it was cooked on.
    pub fire: String,
    /// `practice`, `contest` or whatever the card says.
    pub kind: Option<String>,
    /// The contest's name.
    pub contest: Option<String>,
    /// Where it was cooked.
    pub place: Option<String>,
    /// The cut.
    pub cut: Option<String>,
    /// Which pit.
    pub pit: Option<String>,
    /// The pit's type.
    pub cooker: Option<String>,
    /// Meat-on, ms UTC: zero of the `_min` times below.
    pub meat_on_ms: i64,
    /// Local date of meat-on, `2026-03-14`.
    pub day: String,
    /// Local date and time of meat-on, for instance `2026-03-14 22:05`.
    pub meat_on_local: String,
    /// The rest of the card, in the order to show it.
    pub card: Vec<CardEntry>,
    /// The numbers of the cook.
    pub measures: Measures,
    /// What its probe tells of times and temperatures that food rules speak of.
    pub probe: ProbePanel,
    /// The wet bulb of the pit's air, where its humidity is measured or assumed.
    pub wet_bulb: Option<WetBulb>,
    /// The phases, in order, without gap or overlap.
    pub phases: Vec<PhaseSpan>,
    /// The marks, in time order.
    pub marks: Vec<Mark>,
    /// The events, in time order.
    pub events: Vec<EventNote>,
    /// The readings; `None` where no curve can be drawn.
    pub curve: Option<Curve>,
    /// Minutes since meat-on and heating coefficient, 1/h, in steps of ten minutes on the study clock.
    pub heating: Vec<(f64, f64)>,
    /// Readings kept, over all channels.
    pub readings: usize,
    /// Readings flagged while they were read, by flag, for instance `reordered`.
    pub flags: Vec<Counted>,
    /// What was done to the readings.
    pub cleaning: Cleaning,
    /// Rows of its logs that were rejected.
    pub rejected_rows: usize,
    /// What to be careful about in this cook, one sentence each.
    pub cautions: Vec<String>,
    /// The cook's own page, relative to the season report, where one was written.
    pub page: Option<String>,
}

/// One phase with its ends.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PhaseSpan {
    /// Which phase.
    pub phase: PhaseKind,
    /// Start, minutes since meat-on.
    pub start_min: f64,
    /// End, minutes since meat-on.
    pub end_min: f64,
    /// Local clock time of the start.
    pub start_local: String,
    /// Local clock time of the end.
    pub end_local: String,
    /// Core temperature at the start, °C.
    pub start_core_c: Option<f64>,
    /// Core temperature at the end, °C.
    pub end_core_c: Option<f64>,
    /// False where the log ends before the phase does.
    pub complete: bool,
    /// Why nothing could be judged; for `unknown` only.
    pub reason: Option<String>,
}

impl Default for PhaseSpan {
    fn default() -> Self {
        Self {
            phase: PhaseKind::Unknown,
            start_min: 0.0,
            end_min: 0.0,
            start_local: String::new(),
            end_local: String::new(),
            start_core_c: None,
            end_core_c: None,
            complete: true,
            reason: None,
        }
    }
}

/// An instant that the card names or the log shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum MarkKind {
    /// The meat goes on.
    #[default]
    MeatOn,
    /// The meat is wrapped; may repeat.
    Wrap,
    /// The wrap is opened.
    Unwrap,
    /// The meat leaves the pit.
    Pull,
    /// The meat is sliced.
    Slice,
}

/// One mark.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Mark {
    /// Which mark.
    pub kind: MarkKind,
    /// Minutes since meat-on.
    pub at_min: f64,
    /// Local clock time.
    pub at_local: String,
    /// Core temperature then, °C.
    pub core_c: Option<f64>,
    /// Where it comes from: `card`, `events`, or `found in the log`.
    pub from: String,
    /// More, for instance the wrap method.
    pub detail: Option<String>,
}

/// One row of the events sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct EventNote {
    /// Minutes since meat-on (negative before it).
    pub at_min: f64,
    /// Local clock time.
    pub at_local: String,
    /// What happened, for instance `spritz`.
    pub event: String,
    /// Its value as a card value, where it has one.
    pub value: Option<CardValue>,
    /// The note.
    pub note: Option<String>,
}

/// One entry of the card.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct CardEntry {
    /// What it is, in words.
    pub name: String,
    /// Its value; `None` where the card leaves it empty.
    pub value: Option<CardValue>,
}

/// A value of a card: text, or a number that follows the reader's units.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CardValue {
    /// Text as written.
    Text(String),
    /// A number in SI.
    Number {
        /// In the SI unit of `quantity`.
        value: f64,
        /// What it is a number of.
        quantity: Quantity,
    },
}

/// The readings of a cook that were used, thinned for drawing; those that were left out are in
/// [`Cleaning`].
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Curve {
    /// One series per channel; the lead meat channel first.
    pub series: Vec<CurveSeries>,
}

/// The role of a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum ChannelRole {
    /// The lead meat channel: the core.
    #[default]
    Core,
    /// Another meat channel.
    Meat,
    /// The pit.
    Pit,
    /// The air outside.
    Ambient,
    /// Anything else.
    Other,
}

/// One thinned series. Build it with [`CurveSeries::thinned`].
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct CurveSeries {
    /// The channel's name.
    pub name: String,
    /// Its role.
    pub role: ChannelRole,
    /// The points to draw, in time order.
    pub points: Vec<CurvePoint>,
    /// How many readings the series has in all (of which `points` shows some).
    pub of: usize,
}

/// One point of a curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct CurvePoint {
    /// Minutes since meat-on.
    pub min: f64,
    /// Temperature, °C; `None` breaks the line (a gap in the log).
    pub temp_c: Option<f64>,
}

/// The numbers of one cook: the principal columns of the measure table. `None` is "not stated, not
/// measured or not judged", with a reason beside it where there is one to give.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Measures {
    /// Weight as bought, kg.
    pub raw_weight_kg: Option<f64>,
    /// Weight after trimming, kg.
    pub trimmed_weight_kg: Option<f64>,
    /// Thickness, mm.
    pub thickness_mm: Option<f64>,
    /// Pit set-point, °C.
    pub pit_setpoint_c: Option<f64>,
    /// Mean pit temperature from meat-on to the core's first 55 °C, °C.
    pub pit_early_c: Option<f64>,
    /// Mean pit temperature from meat-on to pull, °C.
    pub pit_mean_c: Option<f64>,
    /// Standard deviation of the pit temperature from meat-on to pull, °C.
    pub pit_sd_c: Option<f64>,
    /// Wrap method, `none` for unwrapped; `None` where not stated.
    pub wrap_method: Option<String>,
    /// Core temperature at the (first) wrap, °C.
    pub wrap_at_core_c: Option<f64>,
    /// False where the cook was wrapped and nobody wrote when.
    pub wrap_time_known: Option<bool>,
    /// From the core's first 55 °C to the wrap, min.
    pub clock_to_wrap_min: Option<f64>,
    /// From the core's first 55 °C to its first 88 °C, or to the last observation, min.
    pub clock_to_finish_min: Option<f64>,
    /// Whether 88 °C was reached.
    pub finish_reached: Option<bool>,
    /// Why the cook ended.
    pub end_reason: Option<String>,
    /// First core temperature, °C.
    pub start_core_c: Option<f64>,
    /// Ramp, min.
    pub ramp_min: Option<f64>,
    /// Reference heating coefficient, 1/h.
    pub k_ref_per_h: Option<f64>,
    /// Whether it was borrowed from this team's other cooks of the same cut and pit.
    pub k_ref_borrowed: Option<bool>,
    /// How many stalls.
    pub stalls: Option<usize>,
    /// Minutes in stalls inside the log, min.
    pub stall_min: Option<f64>,
    /// Whether the log ends in a stall: `stall_min` is then a lower bound.
    pub stall_min_censored: bool,
    /// Lower end of the 90 % interval of the stall length, min.
    pub stall_min_lo90: Option<f64>,
    /// Upper end, min; `None` with `stall_min_censored` is an open end.
    pub stall_min_hi90: Option<f64>,
    /// Core temperature where the first stall begins, °C.
    pub stall_start_core_c: Option<f64>,
    /// Core temperature where the last stall ends, °C.
    pub stall_end_core_c: Option<f64>,
    /// Why no stall was judged.
    pub stall_reason: Option<String>,
    /// Stall delay, min.
    pub stall_delay_min: Option<f64>,
    /// Whether the stall delay is a lower bound.
    pub stall_delay_censored: bool,
    /// Why there is no stall delay.
    pub stall_delay_reason: Option<String>,
    /// Sum of the pushes, min.
    pub push_min: Option<f64>,
    /// Meat-on to pull, min.
    pub total_min: Option<f64>,
    /// Whether the log ends before the pull: `total_min` is then a lower bound.
    pub total_min_censored: bool,
    /// `total_min` by the weight, min/kg.
    pub min_per_kg: Option<f64>,
    /// Core temperature at the pull, °C.
    pub pull_core_c: Option<f64>,
    /// Rise of the core after the pull, °C.
    pub carryover_c: Option<f64>,
    /// Pull to slice, min.
    pub rest_min: Option<f64>,
    /// Cooked weight by the weight it went on with, 0 to 1.
    pub yield_fraction: Option<f64>,
    /// Further numbers, for instance scores, in the order to show them.
    pub other: Vec<CardEntry>,
}
