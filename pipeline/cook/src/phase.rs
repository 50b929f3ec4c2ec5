//! Marks (instants of a cook) and phases (what lies between them).

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// An instant that the cook's card, its events or its log gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Meat goes on the pit.
    MeatOn,
    /// First wrap.
    Wrap,
    /// Meat comes off the pit.
    Pull,
    /// Meat is sliced; the rest ends.
    Slice,
}

impl Mark {
    /// The mark's name in files and listings.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::MeatOn => "meat_on",
            Self::Wrap => "wrap",
            Self::Pull => "pull",
            Self::Slice => "slice",
        }
    }
}

/// The kind of a phase. Phases cover a cook from meat-on to its end without gap or overlap.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum PhaseKind {
    /// Meat-on to the first stall (or the pull).
    Ramp,
    /// The meat takes up heat at less than the set share of its reference coefficient.
    Stall,
    /// A stall's end to the next stall or the pull.
    Push,
    /// Pull to slice or the end of the log.
    Rest,
    /// Nothing can be judged here.
    Unknown,
}

impl PhaseKind {
    /// The phase's name in files and listings.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Ramp => "ramp",
            Self::Stall => "stall",
            Self::Push => "push",
            Self::Rest => "rest",
            Self::Unknown => "unknown",
        }
    }
}

impl fmt::Display for PhaseKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl FromStr for PhaseKind {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "ramp" => Ok(Self::Ramp),
            "stall" => Ok(Self::Stall),
            "push" => Ok(Self::Push),
            "rest" => Ok(Self::Rest),
            "unknown" => Ok(Self::Unknown),
            _ => Err(format!("`{text}` is no phase (ramp, stall, push, rest, unknown)")),
        }
    }
}

/// One phase of one cook: the half-open span `[start_ms, end_ms)`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PhaseSpan {
    /// What kind of phase.
    pub kind: PhaseKind,
    /// First instant, ms UTC.
    pub start_ms: i64,
    /// First instant after it, ms UTC.
    pub end_ms: i64,
    /// False where the log ends before the phase does.
    pub complete: bool,
}

impl PhaseSpan {
    /// Length in minutes.
    pub fn minutes(&self) -> f64 {
        (self.end_ms - self.start_ms) as f64 / 60_000.0
    }
}
