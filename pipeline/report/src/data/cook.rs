//! One cook: its curve, phases, marks, events, card and numbers.

use super::account::Counted;
use super::cleaning::Cleaning;
use columns::measures::Measures;
use cook::{Card, Event, PhaseKind};

/// One cook as the report shows it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CookReport {
    /// Its card, with its name, which is unique in the report.
    pub card: Card,
    /// Meat-on, ms UTC: zero of the `_min` times below.
    pub meat_on_ms: i64,
    /// Local date of meat-on, `2026-03-14`.
    pub day: String,
    /// Local date and time of meat-on, for instance `2026-03-14 22:05`.
    pub meat_on_local: String,
    /// The numbers of the cook.
    pub measures: Measures,
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

impl CookReport {
    /// The cook's name.
    pub fn id(&self) -> &str {
        &self.card.cook
    }
}

/// One phase with its ends.
#[derive(Debug, Clone, PartialEq)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
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
#[derive(Debug, Clone, PartialEq, Default)]
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

/// One row of the events sheet, and when it was.
#[derive(Debug, Clone, PartialEq)]
pub struct EventNote {
    /// What happened.
    pub event: Event,
    /// Minutes since meat-on (negative before it).
    pub at_min: f64,
    /// Local clock time.
    pub at_local: String,
}

impl EventNote {
    /// What happened, as people say it.
    pub(crate) fn name(&self) -> String {
        self.event.kind.as_str().replace('_', " ")
    }
}

/// The readings of a cook that were used, thinned for drawing; those that were left out are in
/// [`Cleaning`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curve {
    /// One series per channel; the lead meat channel first.
    pub series: Vec<CurveSeries>,
}

/// The role of a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
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
#[derive(Debug, Clone, PartialEq, Default)]
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
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CurvePoint {
    /// Minutes since meat-on.
    pub min: f64,
    /// Temperature, °C; `None` breaks the line (a gap in the log).
    pub temp_c: Option<f64>,
}
