//! What a hand and an eye find between two looks at the logger: a core read by hand, and the bark.

use crate::units::Celsius;
use std::fmt;

/// Name of the channel of readings by hand whose place nobody wrote down.
pub const ANYWHERE: &str = "anywhere";
/// What the names of channels of readings by hand begin with.
const CHANNEL: &str = "spot:";

/// The core, read by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotReading {
    /// What the thermometer showed.
    pub temp: Celsius,
    /// Where it was put in, such as `flat` or `point`.
    pub place: Option<String>,
}

impl SpotReading {
    /// Reads `165F`, `165 F flat`, `74 °C`: a temperature with C or F, and perhaps the place
    /// behind it. `None` for anything else: a bare number could be either unit.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let end = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-')))
            .unwrap_or(text.len());
        let (number, rest) = text.split_at(end);
        let degrees: f64 = number.replace(',', ".").parse().ok()?;
        let rest = rest.trim_start().trim_start_matches('°').trim_start();
        let unit = rest.chars().next()?;
        let place = &rest[unit.len_utf8()..];
        if place.starts_with(char::is_alphanumeric) {
            return None;
        }
        let temp = match unit {
            'c' | 'C' => Celsius(degrees),
            'f' | 'F' => Celsius::from_fahrenheit(degrees),
            _ => return None,
        };
        let place = place.trim();
        let place = (!place.is_empty()).then(|| place.to_lowercase());
        (temp.value().is_finite()).then_some(Self { temp, place })
    }

    /// The name of the channel that it is a reading of: `spot:flat`.
    pub fn channel(&self) -> String {
        format!("{CHANNEL}{}", self.place.as_deref().unwrap_or(ANYWHERE))
    }
}

/// Words for where in the meat a thermometer is put. Common practice, no source.
const PLACES: &[&str] = &[
    "flat",
    "point",
    "middle",
    "center",
    "centre",
    "core",
    "thick",
    "thickest",
    "thin",
    "thinnest",
    "deep",
    "deepest",
    "shallow",
    "end",
    "part",
    "side",
    "left",
    "right",
    "front",
    "back",
    "top",
    "bottom",
    "upper",
    "lower",
    "edge",
    "corner",
    "bone",
    "fat",
    "deckle",
    "seam",
    "muscle",
    "money",
    "horn",
    "breast",
    "thigh",
    "leg",
    "wing",
    "drum",
    "drumstick",
    "shoulder",
    "butt",
    "rib",
    "ribs",
    "loin",
    "brisket",
    "near",
    "by",
    "at",
    "in",
    "of",
    "on",
    "the",
    "between",
    "and",
    "small",
    "big",
    "first",
    "second",
];

/// Whether a text is made of words for a place in the meat, and perhaps a number of one digit: `flat`,
/// `near the bone`, `butt 2`.
pub fn is_place(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let is_number = |word: &str| word.len() == 1 && word.as_bytes()[0].is_ascii_digit();
    words.all(|word| PLACES.contains(&word) || is_number(word))
        && lower.contains(char::is_alphabetic)
}

/// Whether a channel holds readings by hand.
pub fn is_spot_channel(name: &str) -> bool {
    name.starts_with(CHANNEL)
}

/// What the bark looked like. It is no judged score: nobody tasted it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bark {
    /// Wet or soft.
    NotYet,
    /// Nearly set.
    Nearly,
    /// Set.
    Set,
}

impl Bark {
    /// Reads `not-yet`, `nearly`, `set`, or a number from 1 to 5: 1 and 2 are not yet, 3 is nearly,
    /// 4 and 5 are set.
    pub fn parse(text: &str) -> Option<Self> {
        match text.trim().to_lowercase().replace(['_', ' '], "-").as_str() {
            "not-yet" | "not" | "1" | "2" => Some(Self::NotYet),
            "nearly" | "3" => Some(Self::Nearly),
            "set" | "4" | "5" => Some(Self::Set),
            _ => None,
        }
    }

    /// Its word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::NotYet => "not-yet",
            Self::Nearly => "nearly",
            Self::Set => "set",
        }
    }
}

impl fmt::Display for Bark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_by_hand_needs_its_unit() {
        let read = |text: &str| {
            SpotReading::parse(text)
                .map(|spot| ((spot.temp.value() * 10.0).round() / 10.0, spot.channel()))
        };
        assert_eq!(read("165F"), Some((73.9, "spot:anywhere".into())));
        assert_eq!(read(" 165 °F  Flat "), Some((73.9, "spot:flat".into())));
        assert_eq!(read("74,5C point"), Some((74.5, "spot:point".into())));
        assert_eq!(read("74 c near bone"), Some((74.0, "spot:near bone".into())));
        for none in ["165", "165 flat", "74 cold", "F", "hot", "", "165Fflat", "1.2.3C"] {
            assert_eq!(read(none), None, "{none}");
        }
        assert!(is_spot_channel("spot:flat") && !is_spot_channel("flat"));
    }

    #[test]
    fn places_in_the_meat() {
        for place in ["flat", "near the bone", "Point end", "butt 2"] {
            assert!(is_place(place), "{place}");
        }
        for none in ["wrap foil", "fuel 2 kg", "flat 25", "", "2", "spritz"] {
            assert!(!is_place(none), "{none}");
        }
    }

    #[test]
    fn bark_in_words_and_numbers() {
        for (text, bark) in [
            ("not-yet", Bark::NotYet),
            ("Not yet", Bark::NotYet),
            ("2", Bark::NotYet),
            ("3", Bark::Nearly),
            ("SET", Bark::Set),
            ("5", Bark::Set),
        ] {
            assert_eq!(Bark::parse(text), Some(bark), "{text}");
            assert_eq!(Bark::parse(bark.as_str()), Some(bark));
        }
        for none in ["", "0", "6", "black", "4.5"] {
            assert_eq!(Bark::parse(none), None, "{none}");
        }
    }
}
