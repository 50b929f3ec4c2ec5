//! The vocabulary of a cook.
//!
//! Every other room of the house speaks in these types: units that cannot be mixed up,
//! channel roles, marks and phases, the card (one row of the season sheet), events, the
//! season's settings and the raw readings with their line account. This crate computes
//! nothing beyond unit conversion and knows no file format but TOML settings.
//!
//! Conventions: temperatures in °C, masses in kg, lengths in mm (thickness) or m
//! (altitude), instants in integer milliseconds UTC (`*_ms`), durations in the unit that
//! the name ends in.

pub mod card;
pub mod cleaned;
pub mod definition;
pub mod event;
pub mod phase;
pub mod question;
pub mod readings;
pub mod role;
pub mod score;
pub mod season;
pub mod settings;
pub mod spot;
pub mod trade;
pub mod units;
pub mod wrap;

pub use card::{Card, CookKind, EndReason, LONGEST_REST_MS, MarkTimes, PROBE_TEST_WITHIN_C};
pub use cleaned::{CalibrationSource, ChannelPart, FlagKind, LeadReason, Unlike};
pub use definition::PhaseDefinition;
pub use event::{Event, EventKind};
pub use phase::{Mark, PhaseKind, PhaseSpan};
pub use question::{Answer, Answers, Question, QuestionCode, Questions};
pub use readings::{
    ChannelReadings, CookReadings, Evidence, Flag, LineAccount, RejectedRow, SourceRecord,
};
pub use role::Role;
pub use score::{Panel, Score};
pub use season::{Season, Units};
pub use settings::SettingsError;
pub use spot::{Bark, SpotReading, is_place};
pub use units::{
    Celsius, CelsiusDifference, CelsiusPerHour, Kilograms, Metres, Millimetres, PerHour, Seconds,
};
pub use wrap::WrapMethod;
