//! What answers say of a log.

use super::physics::Scale;
use crate::layout::{Decimal, Delimiter};
use crate::question::Setting;
use crate::time::TimeFormat;
use cook::season::{ClockJump, DateOrder, TemperatureUnit};
use jiff::civil::Date;
use serde::de::value::{Error, StrDeserializer};
use serde::de::{DeserializeOwned, IntoDeserializer};

/// What answers say of a log: each stands where the log was asked about.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Answered {
    pub(crate) delimiter: Option<Delimiter>,
    pub(crate) decimal_of_times: Option<Decimal>,
    pub(crate) decimal: Option<Decimal>,
    pub(crate) time: Option<TimeFormat>,
    pub(crate) order: Option<DateOrder>,
    pub(crate) day: Option<Date>,
    pub(crate) start: Option<String>,
    pub(crate) as_dated: bool,
    pub(crate) jump: Option<ClockJump>,
    /// Instants before which the clock seems to have been put forward, ms, and what was answered of each.
    pub(crate) put_on: Vec<(i64, String)>,
    pub(crate) offset: Option<String>,
    pub(crate) unit: Option<TemperatureUnit>,
    pub(crate) scale: Option<Scale>,
    /// Instants from which on the numbers are in another unit, ms, and the unit; `None` where
    /// they are as they stand.
    pub(crate) changes: Vec<(i64, Option<TemperatureUnit>)>,
}

impl Answered {
    /// With a setting that was answered.
    #[must_use]
    pub(crate) fn with(mut self, setting: Setting, value: &str) -> Self {
        match setting {
            Setting::Delimiter => self.delimiter = word(value),
            Setting::DecimalOfTimes => self.decimal_of_times = word(value),
            Setting::Decimal => self.decimal = word(value),
            Setting::TimeFormat => self.time = word(value),
            Setting::DateOrder => self.order = word(value),
            Setting::FirstDay => self.day = value.parse().ok(),
            Setting::Start => self.start = Some(value.replace(' ', "T")),
            Setting::AsDated => self.as_dated = true,
            Setting::ClockJump => self.jump = word(value),
            Setting::ClockPutOn => {
                let (at, answer) = value.split_once(' ').unwrap_or((value, ""));
                self.put_on.extend(at.parse().ok().map(|at| (at, answer.to_owned())));
            }
            Setting::UtcOffset => self.offset = Some(value.to_owned()),
            Setting::Unit => self.unit = word(value),
            Setting::Scale => self.scale = Scale::of(value),
            Setting::UnitChange => {
                let (at, unit) = value.split_once(' ').unwrap_or((value, ""));
                self.changes.extend(at.parse().ok().map(|at| (at, word(unit))));
            }
            Setting::Elsewhere => {}
        }
        self
    }
}

/// A word as a layout or season.toml has it.
fn word<T: DeserializeOwned>(word: &str) -> Option<T> {
    let from: StrDeserializer<'_, Error> = word.into_deserializer();
    T::deserialize(from).ok()
}
