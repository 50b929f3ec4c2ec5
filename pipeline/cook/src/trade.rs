//! Words of the trade: which spellings mean one thing. Common practice, no source.

/// A text without regard to capitals, signs and blanks: `Post-Oak ` is `post oak`.
pub fn fold(text: &str) -> String {
    let lower = text.to_lowercase().replace(['\'', '’'], "");
    let words = lower.split(|c: char| !c.is_alphanumeric() && c != '%' && c != '/' && c != '&');
    words.filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Whether a text says that nothing is known: `-`, `n/a`, `?`.
pub fn is_missing(text: &str) -> bool {
    let bare = text.trim();
    if bare.chars().all(|c| !c.is_alphanumeric()) {
        return true;
    }
    matches!(
        fold(bare).as_str(),
        "n/a"
            | "na"
            | "n a"
            | "unknown"
            | "unk"
            | "not known"
            | "dont know"
            | "not noted"
            | "not recorded"
            | "forgot"
            | "no idea"
            | "missing"
            | "tbd"
            | "null"
            | "nil"
            | "nan"
    )
}

/// `true` for a text that says yes, `false` for one that says no.
pub fn yes_or_no(text: &str) -> Option<bool> {
    match fold(text).as_str() {
        "yes" | "y" | "true" | "1" | "x" | "yep" | "yeah" | "yup" | "with" | "ja" | "si"
        | "oui" | "full" | "filled" => Some(true),
        "no" | "n" | "false" | "0" | "nope" | "without" | "none" | "never" | "nein" | "non"
        | "empty" => Some(false),
        _ => matches!(text.trim(), "✓" | "✔").then_some(true),
    }
}

/// Whether a text says that nobody has made up their mind: `maybe`, `not sure`.
pub fn is_unsure(text: &str) -> bool {
    matches!(
        fold(text).as_str(),
        "maybe"
            | "may be"
            | "perhaps"
            | "possibly"
            | "unsure"
            | "not sure"
            | "undecided"
            | "to decide"
            | "to be decided"
            | "decide later"
            | "ask"
            | "check"
            | "to check"
            | "dunno"
            | "half"
            | "partly"
            | "both"
            | "yes/no"
            | "y/n"
            | "maybe not"
            | "probably"
            | "probably not"
    )
}

/// Words of one meaning, the usual one first.
const ALIKE: &[&[&str]] = &[
    // Cuts.
    &[
        "brisket",
        "briskets",
        "whole brisket",
        "full brisket",
        "packer",
        "packers",
        "full packer",
        "whole packer",
        "packer brisket",
        "full packer brisket",
        "whole packer brisket",
        "beef brisket",
    ],
    &["brisket flat", "flat", "flats", "brisket flats"],
    &["brisket point", "point", "points", "brisket points"],
    &["pork butt", "pork butts", "butt", "butts", "boston butt", "boston butts"],
    &["pork shoulder", "pork shoulders", "shoulder", "shoulders"],
    &["spare ribs", "spare rib", "spareribs", "sparerib", "spares", "pork spare ribs"],
    &[
        "st louis ribs",
        "st louis rib",
        "saint louis ribs",
        "st louis",
        "st louis cut",
        "st louis style ribs",
        "st louis spare ribs",
    ],
    &["baby back ribs", "baby backs", "baby back", "babybacks", "back ribs", "loin back ribs"],
    &["beef ribs", "beef rib", "beef short ribs", "short ribs", "short rib", "dino ribs"],
    &["chuck roast", "chuck roasts", "chuckie", "chuck", "beef chuck"],
    &["tri tip", "tritip", "tri tips"],
    &["chicken", "chickens", "whole chicken", "whole chickens"],
    &["turkey", "turkeys", "whole turkey"],
    &["turkey breast", "turkey breasts"],
    // Woods.
    &["oak", "oak wood", "oakwood", "oaks"],
    &["post oak", "postoak", "post oak wood"],
    &["red oak", "red oak wood"],
    &["white oak", "white oak wood"],
    &["hickory", "hickory wood"],
    &["pecan", "pecan wood", "pecans", "pecanwood"],
    &["mesquite", "mesquite wood"],
    &["apple", "apple wood", "applewood", "apples"],
    &["cherry", "cherry wood", "cherrywood", "cherries"],
    &["peach", "peach wood", "peachwood"],
    &["maple", "maple wood", "maplewood"],
    &["beech", "beech wood", "beechwood"],
    &["alder", "alder wood", "alderwood"],
    &["birch", "birch wood", "birchwood"],
    &["plum", "plum wood"],
    &["pear", "pear wood"],
    &["walnut", "walnut wood"],
    // Cookers.
    &["offset", "offset smoker", "offset pit", "stick burner", "stickburner"],
    &["pellet grill", "pellet", "pellet smoker", "pellets", "pellet pit"],
    &["kettle", "kettle grill", "charcoal kettle"],
    &["drum", "drum smoker", "barrel smoker", "ugly drum"],
    &["kamado", "kamado grill", "ceramic", "ceramic cooker", "ceramic grill"],
    &["cabinet", "cabinet smoker"],
    &["gravity fed", "gravity feed", "gravity fed smoker"],
    // Holds.
    &["cooler", "coolers", "faux cambro", "ice chest", "cool box", "esky"],
    &["oven", "kitchen oven", "warm oven"],
    &["counter", "on the counter", "countertop", "bench"],
    &["warmer", "hot box", "hotbox", "holding cabinet", "holding oven"],
    // Grades.
    &["prime", "usda prime"],
    &["choice", "usda choice", "upper choice"],
    &["select", "usda select"],
];

/// What a text means among words of the trade; of a text that is none of them, the text itself, so
/// that two spellings have one meaning where this is equal.
pub fn meaning(text: &str) -> String {
    let folded = fold(text);
    let known = ALIKE.iter().find(|words| words.contains(&folded.as_str()));
    known.map_or(folded, |words| words[0].to_owned())
}

/// Whether a text is a word of the trade.
pub fn is_known(text: &str) -> bool {
    let folded = fold(text);
    ALIKE.iter().any(|words| words.contains(&folded.as_str()))
}

/// The word of the trade that a text, which is none, may be a misspelling of.
pub fn meant(text: &str) -> Option<&'static str> {
    let folded = fold(text);
    if is_known(text) {
        return None;
    }
    let is_near = |words: &&&[&str]| words.iter().any(|word| are_near_twins(&folded, word));
    ALIKE.iter().find(is_near).map(|words| words[0])
}

/// Whether two meanings may be one that was misspelt: they differ by a letter, or by two in a
/// long word, not in a number, and are not both words of the trade.
pub fn are_near_twins(one: &str, other: &str) -> bool {
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    if one == other || digits(one) != digits(other) || (is_known(one) && is_known(other)) {
        return false;
    }
    let shorter = one.chars().count().min(other.chars().count());
    let most = match shorter {
        0..=4 => 0,
        5..=8 => 1,
        _ => 2,
    };
    // `old iron` and `oldiron`; `pit a` and `pit b` are two.
    let joined = |text: &str| text.replace(' ', "");
    joined(one) == joined(other)
        || (last_word_is_long(one, other) && strsim::osa_distance(one, other) <= most)
}

/// A single letter at the end is a label: another is another thing.
fn last_word_is_long(one: &str, other: &str) -> bool {
    [one, other]
        .iter()
        .all(|text| text.split(' ').next_back().is_some_and(|word| word.chars().count() > 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn spellings_of_one_word_mean_it() {
        for text in ["Oak", "oak ", "OAK", "Oak wood", "oak-wood"] {
            assert_eq!(meaning(text), "oak", "{text}");
        }
        assert_eq!(meaning("Boston Butt"), "pork butt");
        assert_eq!(meaning("St. Louis ribs"), "st louis ribs");
        assert_eq!(meaning("Old  Iron"), meaning("old iron"));
        assert_ne!(meaning("post oak"), meaning("oak"));
        assert_ne!(meaning("brisket flat"), meaning("brisket"));
    }

    #[test]
    fn no_word_means_two_things() {
        let mut seen = BTreeSet::new();
        for word in ALIKE.iter().flat_map(|words| words.iter()) {
            assert!(seen.insert(word), "{word} stands twice");
            assert_eq!(fold(word), *word, "{word} is not folded");
        }
    }

    #[test]
    fn what_says_nothing_is_missing() {
        for text in ["", " ", "-", "--", "–", "n/a", "N/A", "NA", "?", "??", "unknown", "tbd"] {
            assert!(is_missing(text), "{text}");
        }
        for text in ["none", "no", "0", "oak", "naked"] {
            assert!(!is_missing(text), "{text}");
        }
    }

    #[test]
    fn near_twins() {
        for (one, other) in [
            ("hickory", "hickery"),
            ("old iron", "old irom"),
            ("oldiron", "old iron"),
            ("mesquite", "mesquit"),
        ] {
            assert!(are_near_twins(one, other), "{one} {other}");
        }
        for (one, other) in [
            ("pit 1", "pit 2"),
            ("pit a", "pit b"),
            ("oak", "ok"),
            ("peach", "pecan"),
            ("beech", "peach"),
            ("lot a17", "lot a18"),
            ("plum", "pear"),
            ("red oak", "red oak"),
        ] {
            assert!(!are_near_twins(one, other), "{one} {other}");
        }
    }

    #[test]
    fn yes_and_no() {
        assert_eq!(
            (yes_or_no("Yes"), yes_or_no(" nope"), yes_or_no("✓")),
            (Some(true), Some(false), Some(true))
        );
        assert_eq!(yes_or_no("half"), None);
    }
}
