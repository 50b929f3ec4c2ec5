//! What happened during a cook, and when.

use crate::spot::{Bark, SpotReading};
use crate::units::Celsius;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// The kind of an event in the events sheet.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum EventKind {
    /// The fire is lit.
    Lit,
    /// Meat goes on.
    MeatOn,
    /// The meat is sprayed.
    Spritz,
    /// Wrapped (value: the method).
    Wrap,
    /// Unwrapped.
    Unwrap,
    /// The pit's set-point is changed (value: a temperature with C or F).
    Setpoint,
    /// The lid is opened (value: `open`, `close` or seconds).
    Lid,
    /// Fuel is added (value: a mass with its unit).
    Fuel,
    /// A probe is moved.
    ProbeMoved,
    /// Tenderness is felt with a probe (value: `tender` or `not`).
    ProbeTest,
    /// Meat comes off.
    Pull,
    /// Meat is sliced.
    Slice,
    /// The core is read by hand (value: a temperature with C or F, and perhaps the place).
    Core,
    /// The bark is looked at (value: `not-yet`, `nearly`, `set`, or 1 to 5).
    Bark,
}

impl EventKind {
    /// Every kind, in the order of a cook.
    pub const ALL: [Self; 14] = [
        Self::Lit,
        Self::MeatOn,
        Self::Spritz,
        Self::Wrap,
        Self::Unwrap,
        Self::Setpoint,
        Self::Lid,
        Self::Fuel,
        Self::ProbeMoved,
        Self::ProbeTest,
        Self::Pull,
        Self::Slice,
        Self::Core,
        Self::Bark,
    ];

    /// The event's word in the sheet.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Lit => "lit",
            Self::MeatOn => "meat_on",
            Self::Spritz => "spritz",
            Self::Wrap => "wrap",
            Self::Unwrap => "unwrap",
            Self::Setpoint => "setpoint",
            Self::Lid => "lid",
            Self::Fuel => "fuel",
            Self::ProbeMoved => "probe_moved",
            Self::ProbeTest => "probe_test",
            Self::Pull => "pull",
            Self::Slice => "slice",
            Self::Core => "core",
            Self::Bark => "bark",
        }
    }
}

impl EventKind {
    /// Whether the event notes a mark of the cook.
    pub fn is_mark(self) -> bool {
        matches!(self, Self::MeatOn | Self::Wrap | Self::Pull | Self::Slice)
    }

    /// Whether the event says something by its value.
    pub fn takes_value(self) -> bool {
        matches!(
            self,
            Self::Wrap
                | Self::Setpoint
                | Self::Lid
                | Self::Fuel
                | Self::ProbeTest
                | Self::Core
                | Self::Bark
        )
    }
}

impl fmt::Display for EventKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl FromStr for EventKind {
    type Err = String;

    /// The error is the list of the words that are events.
    fn from_str(text: &str) -> Result<Self, String> {
        let word = text.trim().to_lowercase().replace([' ', '-'], "_");
        Self::ALL
            .into_iter()
            .find(|kind| kind.as_str() == word)
            .ok_or_else(|| Self::ALL.map(Self::as_str).join(", "))
    }
}

/// One row of the events sheet, its time resolved.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// The cook it belongs to.
    pub cook: String,
    /// When, ms UTC.
    pub at_ms: i64,
    /// What.
    pub kind: EventKind,
    /// The value as written (a method, a temperature, a mass, `tender`, …).
    pub value: Option<String>,
    /// A free remark.
    pub note: Option<String>,
}

impl Event {
    /// The temperature of a set-point: a number with `C` or `F` behind it, in either case
    /// and with or without a degree sign. `None` for anything else, since a bare number
    /// could be either.
    pub fn temperature(&self) -> Option<Celsius> {
        let text = self.value.as_deref()?.trim();
        let unit = text.chars().last()?;
        let number = text[..text.len() - unit.len_utf8()].trim_end().trim_end_matches('°');
        let degrees: f64 = number.trim().parse().ok().filter(|x: &f64| x.is_finite())?;
        match unit {
            'c' | 'C' => Some(Celsius(degrees)),
            'f' | 'F' => Some(Celsius::from_fahrenheit(degrees)),
            _ => None,
        }
    }

    /// What a `core` event read; `None` for other events and for values that are none.
    pub fn spot_reading(&self) -> Option<SpotReading> {
        (self.kind == EventKind::Core).then(|| SpotReading::parse(self.value.as_deref()?))?
    }

    /// What a `bark` event saw; `None` for other events and for values that are none.
    pub fn bark(&self) -> Option<Bark> {
        (self.kind == EventKind::Bark).then(|| Bark::parse(self.value.as_deref()?))?
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn set_points_need_their_unit() {
        let of = |value: &str| {
            let event = Event {
                cook: "a".into(),
                at_ms: 0,
                kind: EventKind::Setpoint,
                value: Some(value.into()),
                note: None,
            };
            event.temperature().map(|t| (t.value() * 10.0).round() / 10.0)
        };
        assert_eq!(of("275F"), Some(135.0));
        assert_eq!(of(" 275 °f "), Some(135.0));
        assert_eq!(of("120 C"), Some(120.0));
        assert_eq!(of("120"), None);
        assert_eq!(of("hotter"), None);
        assert_eq!(of(""), None);
    }

    #[test]
    fn events_read_back_and_an_unknown_one_lists_the_known() {
        for kind in EventKind::ALL {
            assert_eq!(kind.as_str().parse(), Ok(kind));
        }
        assert_eq!("Probe Test".parse(), Ok(EventKind::ProbeTest));
        assert!("flip".parse::<EventKind>().unwrap_err().contains("spritz"));
    }
}
