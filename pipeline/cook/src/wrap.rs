//! What the meat was wrapped in.

use crate::trade;
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
    /// Reads a method as people write it, without regard to capitals, signs and blanks. A text
    /// that says that nothing is known is no statement at all: `None`.
    pub fn parse(text: &str) -> Option<Self> {
        if trade::is_missing(text) {
            return None;
        }
        let folded = trade::fold(text);
        let bare = ["wrapped in ", "wrap in ", "in "]
            .iter()
            .find_map(|begins| folded.strip_prefix(begins))
            .unwrap_or(&folded);
        let bare = [" wrapped", " wrap"]
            .iter()
            .find_map(|ends| bare.strip_suffix(ends))
            .filter(|bare| *bare != "no" && *bare != "not")
            .unwrap_or(bare);
        Some(match bare {
            "none" | "no" | "naked" | "unwrapped" | "no wrap" | "not wrapped" | "nowrap"
            | "never" | "never wrapped" | "without" | "without wrap" | "no wrapping"
            | "didnt wrap" | "did not wrap" | "not" | "bare" | "nothing" | "false" | "w/o"
            | "w/o wrap" => Self::None,
            "paper"
            | "butcher paper"
            | "butchers paper"
            | "pink paper"
            | "peach paper"
            | "pink butcher paper"
            | "peach butcher paper"
            | "brown paper"
            | "bp"
            | "papers" => Self::Paper,
            "foil" | "tin foil" | "tinfoil" | "aluminium foil" | "aluminum foil" | "alu foil"
            | "al foil" | "heavy duty foil" | "double foil" | "foil double" | "foiled"
            | "crutch" | "texas crutch" | "foils" => Self::Foil,
            "boat" | "foil boat" | "foilboat" | "foil boated" | "boated" => Self::Boat,
            _ => Self::Other(text.trim().to_lowercase()),
        })
    }

    /// The known method that a team's own word may be a misspelling of: one letter off, two in a long word.
    pub fn meant(&self) -> Option<Self> {
        const USUAL: [&str; 9] = [
            "foil",
            "tin foil",
            "tinfoil",
            "aluminum foil",
            "paper",
            "butcher paper",
            "pink paper",
            "boat",
            "foil boat",
        ];
        let Self::Other(word) = self else { return None };
        let word = trade::fold(word);
        let most = if word.chars().count() > 8 { 2 } else { 1 };
        let off = |usual: &&str| strsim::osa_distance(&word, usual);
        let nearest = USUAL.iter().min_by_key(|usual| off(usual))?;
        (off(nearest) <= most).then(|| Self::parse(nearest)).flatten()
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
    fn a_misspelt_method_is_told_and_a_word_of_its_own_is_not() {
        let meant = |word: &str| WrapMethod::parse(word).unwrap().meant();
        assert_eq!(meant("foyl"), Some(WrapMethod::Foil));
        assert_eq!(meant("bucher papr"), Some(WrapMethod::Paper));
        assert_eq!(meant("cabbage"), None);
        assert_eq!(meant("banana leaf"), None);
        assert_eq!(meant("foil"), None);
    }

    #[test]
    fn reads_the_words_people_write() {
        assert_eq!(WrapMethod::parse(" Butcher Paper "), Some(WrapMethod::Paper));
        assert_eq!(WrapMethod::parse("FOIL"), Some(WrapMethod::Foil));
        assert_eq!(WrapMethod::parse("cabbage"), Some(WrapMethod::Other("cabbage".into())));
        assert_eq!(WrapMethod::parse("  "), None);
        for none in ["no wrap", "Not wrapped", "none", "naked", "No", "unwrapped", "no-wrap"] {
            assert_eq!(WrapMethod::parse(none), Some(WrapMethod::None), "{none}");
        }
        for missing in ["-", "n/a", "N/A", "?", "unknown"] {
            assert_eq!(WrapMethod::parse(missing), None, "{missing}");
        }
        for foil in ["tin foil", "Tinfoil", "aluminum foil", "wrapped in foil", "foil wrap"] {
            assert_eq!(WrapMethod::parse(foil), Some(WrapMethod::Foil), "{foil}");
        }
        for paper in ["pink paper", "Pink Butcher Paper", "paper wrapped", "butcher's paper"] {
            assert_eq!(WrapMethod::parse(paper), Some(WrapMethod::Paper), "{paper}");
        }
    }
}
