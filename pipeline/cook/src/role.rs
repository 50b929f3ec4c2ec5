//! What a temperature channel measures.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// The role of one temperature channel.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Air at the grate.
    Pit,
    /// A probe in a piece of meat.
    Meat,
    /// Air outside the cooker.
    Ambient,
    /// Anything else.
    Other,
}

impl Role {
    /// The role's name in files and listings.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Pit => "pit",
            Self::Meat => "meat",
            Self::Ambient => "ambient",
            Self::Other => "other",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl FromStr for Role {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "pit" => Ok(Self::Pit),
            "meat" => Ok(Self::Meat),
            "ambient" => Ok(Self::Ambient),
            "other" => Ok(Self::Other),
            _ => Err(format!("`{text}` is no channel role (pit, meat, ambient, other)")),
        }
    }
}
