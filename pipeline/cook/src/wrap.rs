//! What the meat was wrapped in.

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// The method of a wrap. Teams also wrap in other things; their own word is kept.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, JsonSchema)]
#[schemars(with = "String")]
pub enum WrapMethod {
    /// Never wrapped.
    None,
    /// Unwaxed butcher paper.
    Paper,
    /// Aluminium foil, closed.
    Foil,
    /// Foil below and around, open above.
    Boat,
    /// Another method, in the team's own word (lower case).
    Other(String),
}

impl WrapMethod {
    /// Reads a method; the word is trimmed and compared in lower case. An empty text is
    /// no statement at all: `None`.
    pub fn parse(text: &str) -> Option<Self> {
        let word = text.trim().to_lowercase();
        Some(match word.as_str() {
            "" => return None,
            "none" | "no" | "naked" | "unwrapped" => Self::None,
            "paper" | "butcher paper" => Self::Paper,
            "foil" => Self::Foil,
            "boat" | "foil boat" => Self::Boat,
            _ => Self::Other(word),
        })
    }

    /// The method's name in files and listings.
    pub fn as_str(&self) -> &str {
        match self {
            Self::None => "none",
            Self::Paper => "paper",
            Self::Foil => "foil",
            Self::Boat => "boat",
            Self::Other(word) => word,
        }
    }
}

impl fmt::Display for WrapMethod {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl Serialize for WrapMethod {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.as_str())
    }
}

impl<'de> Deserialize<'de> for WrapMethod {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).ok_or_else(|| serde::de::Error::custom("a wrap method cannot be empty"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_the_words_people_write() {
        assert_eq!(WrapMethod::parse(" Butcher Paper "), Some(WrapMethod::Paper));
        assert_eq!(WrapMethod::parse("FOIL"), Some(WrapMethod::Foil));
        assert_eq!(WrapMethod::parse("cabbage"), Some(WrapMethod::Other("cabbage".into())));
        assert_eq!(WrapMethod::parse("  "), None);
    }
}
