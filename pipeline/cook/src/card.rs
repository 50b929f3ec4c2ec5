//! The card: what is known of one cook besides its log. One row of the season sheet.

use crate::units::{Celsius, CelsiusDifference, Kilograms, Metres, Millimetres};
use crate::wrap::WrapMethod;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Furthest that a usable probe is off in an ice or boiling test, °C: beyond that the test was
/// made wrongly, or the cell holds another unit. Common practice, no source.
pub const PROBE_TEST_WITHIN_C: f64 = 8.0;

/// What a cook was for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum CookKind {
    /// At home or in the yard.
    Practice,
    /// With judges and a turn-in time.
    Contest,
}

impl CookKind {
    /// The word in the sheet.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Practice => "practice",
            Self::Contest => "contest",
        }
    }

    /// Reads the word of a card.
    pub fn parse(text: &str) -> Option<Self> {
        let word = text.trim().to_lowercase();
        [Self::Practice, Self::Contest].into_iter().find(|kind| kind.as_str() == word)
    }
}

/// Why a cook ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EndReason {
    /// The core reached the finish temperature of the study clock.
    Finish,
    /// Pulled because it was probe-tender.
    Tender,
    /// Pulled because time was up.
    OutOfTime,
    /// The fire ended it.
    Fire,
    /// The log ends before the pull.
    LogEnd,
    /// Nobody said.
    Unstated,
}

impl EndReason {
    /// The word in files and listings.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Finish => "finish",
            Self::Tender => "tender",
            Self::OutOfTime => "out-of-time",
            Self::Fire => "fire",
            Self::LogEnd => "log-end",
            Self::Unstated => "unstated",
        }
    }

    /// Reads the word of a card.
    pub fn parse(text: &str) -> Option<Self> {
        let word = text.trim().to_lowercase().replace([' ', '_'], "-");
        [Self::Finish, Self::Tender, Self::OutOfTime, Self::Fire, Self::LogEnd, Self::Unstated]
            .into_iter()
            .find(|reason| reason.as_str() == word)
    }
}

/// The longest hold, overnight, ms (16 h); common practice, no source.
pub const LONGEST_REST_MS: i64 = 16 * 3_600_000;

/// The marks of a cook as instants, ms UTC.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MarkTimes {
    /// Meat on.
    pub meat_on_ms: Option<i64>,
    /// First wrap.
    pub wrap_ms: Option<i64>,
    /// Pull.
    pub pull_ms: Option<i64>,
    /// Slice.
    pub slice_ms: Option<i64>,
}

/// One row of the season sheet, normalised to SI units and resolved instants.
///
/// `None` means the sheet does not say. Columns that the sheet's layout does not know
/// pass through in `extra`, in the sheet's order and as written.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Card {
    /// Unique name of the cook.
    pub cook: String,
    /// Season; the year of `date` unless the sheet says otherwise.
    pub season: String,
    /// Log files or globs as written; `file#Channel` picks a meat channel.
    pub logs: Vec<String>,
    /// Local date of meat-on, ISO 8601.
    pub date: Option<String>,
    /// Practice or contest.
    pub kind: Option<CookKind>,
    /// Which contest.
    pub contest: Option<String>,
    /// Turn-in time, ms UTC.
    pub turn_in_ms: Option<i64>,
    /// Planned pull, ms UTC.
    pub planned_pull_ms: Option<i64>,
    /// Where.
    pub place: Option<String>,
    /// Which pit.
    pub pit: Option<String>,
    /// Type of cooker.
    pub cooker: Option<String>,
    /// One lighting of one pit; cooks of one fire are not independent.
    pub fire: String,
    /// Cut of meat.
    pub cut: Option<String>,
    /// Quality grade.
    pub grade: Option<String>,
    /// Supplier.
    pub supplier: Option<String>,
    /// Lot.
    pub lot: Option<String>,
    /// Cost of the meat, in the season's currency.
    pub cost: Option<f64>,
    /// Weight as bought.
    pub raw_weight: Option<Kilograms>,
    /// Weight as it goes on.
    pub trimmed_weight: Option<Kilograms>,
    /// Weight as it comes off.
    pub cooked_weight: Option<Kilograms>,
    /// Weight as served.
    pub served_weight: Option<Kilograms>,
    /// Thickness at the thickest part.
    pub thickness: Option<Millimetres>,
    /// The meat channel that is the core.
    pub lead_channel: Option<String>,
    /// Added to every meat reading; goes before what the tests below say.
    pub meat_offset: Option<CelsiusDifference>,
    /// Added to every pit reading; goes before what the tests below say.
    pub pit_offset: Option<CelsiusDifference>,
    /// What the meat probe read in melting ice.
    pub meat_ice: Option<Celsius>,
    /// What the meat probe read in boiling water at the card's altitude.
    pub meat_boiling: Option<Celsius>,
    /// What the pit probe read in melting ice.
    pub pit_ice: Option<Celsius>,
    /// What the pit probe read in boiling water at the card's altitude.
    pub pit_boiling: Option<Celsius>,
    /// Set-point of the pit.
    pub pit_setpoint: Option<Celsius>,
    /// Dew point of the pit's air, measured.
    pub pit_dew_point: Option<Celsius>,
    /// Wood.
    pub wood: Option<String>,
    /// Fuel burnt.
    pub fuel: Option<Kilograms>,
    /// A water pan was in the pit.
    pub water_pan: Option<bool>,
    /// Altitude of the place.
    pub altitude: Option<Metres>,
    /// Weather in words.
    pub weather: Option<String>,
    /// What it was wrapped in (the first wrap).
    pub wrap_method: Option<WrapMethod>,
    /// How it was held.
    pub hold_kind: Option<String>,
    /// The marks, from the card or else the events sheet.
    pub marks: MarkTimes,
    /// Core temperature at which it was to be pulled.
    pub target_core: Option<Celsius>,
    /// Placing in the contest; 1 is first.
    pub contest_rank: Option<f64>,
    /// Points that the contest gave in all.
    pub contest_points: Option<f64>,
    /// Scores by their column name (`score_taste`, …).
    pub scores: Vec<(String, f64)>,
    /// Arm of a randomised trial.
    pub arm: Option<String>,
    /// Block of a randomised trial.
    pub block: Option<String>,
    /// Its place on the pit, as drawn or as it was.
    pub pit_position: Option<String>,
    /// Why the cook ended.
    pub end_reason: Option<EndReason>,
    /// Why the cook is left out of the analysis.
    pub exclude: Option<String>,
    /// Result of the last `probe_test` event: tender or not.
    pub last_probe_test_tender: Option<bool>,
    /// Columns this vocabulary does not know, as written.
    pub extra: Vec<(String, String)>,
}
