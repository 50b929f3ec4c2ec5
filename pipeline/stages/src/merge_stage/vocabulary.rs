//! Words that say nothing of who cooked: what the trade calls its cuts, grades, woods and cookers.
//!
//! Common practice, no source. A value all of whose words are among them is kept when a store is
//! anonymised; any other is replaced by a code.

use columns::card;

/// What a wrap was made with, as events and cards name it.
const WRAP: &str = "wrap";

/// Columns of text with what may stand in them.
const WORDS: [(&str, &[&str]); 7] = [
    (
        card::CUT.column.name,
        &[
            "brisket", "packer", "whole", "flat", "point", "pork", "butt", "shoulder", "picnic",
            "ribs", "rib", "beef", "short", "plate", "spare", "chuck", "roast", "turkey", "breast",
            "chicken", "lamb", "leg", "ham", "belly", "cheek",
        ],
    ),
    (
        card::GRADE.column.name,
        &["prime", "choice", "select", "standard", "wagyu", "organic", "commodity"],
    ),
    (
        card::WOOD.column.name,
        &[
            "oak",
            "post",
            "red",
            "white",
            "hickory",
            "mesquite",
            "pecan",
            "apple",
            "cherry",
            "maple",
            "peach",
            "plum",
            "pear",
            "olive",
            "beech",
            "birch",
            "ash",
            "alder",
            "walnut",
            "almond",
            "juniper",
            "charcoal",
            "briquettes",
            "lump",
            "pellets",
            "none",
            "and",
            "mix",
        ],
    ),
    (
        card::COOKER.column.name,
        &[
            "offset",
            "pellet",
            "kamado",
            "kettle",
            "drum",
            "cabinet",
            "barrel",
            "gravity",
            "ceramic",
            "vertical",
            "horizontal",
            "electric",
            "gas",
            "water",
            "smoker",
            "grill",
            "reverse",
            "flow",
            "rotisserie",
            "pit",
            "brick",
        ],
    ),
    (
        card::HOLD_KIND.column.name,
        &[
            "cooler", "counter", "oven", "warmer", "cabinet", "box", "hot", "warm", "none", "sous",
            "vide", "towel", "towels",
        ],
    ),
    (card::ARM.column.name, ARM),
    (WRAP, ARM),
];

const ARM: &[&str] = &[
    "foil",
    "paper",
    "boat",
    "none",
    "never",
    "naked",
    "wrap",
    "wrapped",
    "unwrapped",
    "early",
    "late",
    "hot",
    "low",
    "high",
    "control",
    "treatment",
    "a",
    "b",
    "c",
    "d",
    "at",
    "f",
];

/// Scores that any judge may give.
const SCORES: [&str; 12] = [
    "appearance",
    "aroma",
    "bark",
    "flavor",
    "flavour",
    "juiciness",
    "moisture",
    "overall",
    "smoke",
    "taste",
    "tenderness",
    "texture",
];

/// Longest number that may stand among the words (a temperature).
const LONGEST_NUMBER: usize = 3;

/// Whether a value of a column says nothing but what the trade's own words say.
pub(super) fn is_plain(column: &str, value: &str) -> bool {
    let Some((_, known)) = WORDS.iter().find(|(name, _)| *name == column) else { return false };
    let lower = value.trim().to_lowercase();
    let mut words =
        lower.split([' ', '-', '_', '/', '+']).filter(|word| !word.is_empty()).peekable();
    words.peek().is_some()
        && words.all(|word| {
            let is_number =
                word.len() <= LONGEST_NUMBER && word.bytes().all(|byte| byte.is_ascii_digit());
            known.contains(&word)
                || (is_number && (column == WRAP || column == card::ARM.column.name))
        })
}

/// Whether a score's column has a name that says nothing of who judged.
pub(super) fn is_plain_score(column: &str) -> bool {
    columns::names::score(column).is_some_and(|name| SCORES.contains(&name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_trades_words_stay_and_names_do_not() {
        assert!(is_plain("cut", "Brisket flat"));
        assert!(is_plain("arm", "foil-160"));
        assert!(is_plain("wood", "post oak + hickory"));
        assert!(!is_plain("cut", "Ann's brisket"));
        assert!(!is_plain("wood", "oak 42"));
        assert!(!is_plain("arm", "foil-2026"));
        assert!(!is_plain("weather", "clear"));
        assert!(!is_plain("cut", " "));
        assert!(is_plain_score("score_taste") && !is_plain_score("score_aunt_may"));
    }
}
