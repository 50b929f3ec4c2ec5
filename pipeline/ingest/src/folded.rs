//! Names as a file system that folds them sees them.

use unicode_normalization::UnicodeNormalization;

/// A name without regard to capitals and to the form of its letters (Unicode Standard Annex 15, NFKC):
/// two names that come to the same lie in one file on macOS and Windows.
pub fn folded(name: &str) -> String {
    let small: String = name.trim().nfkc().flat_map(char::to_lowercase).collect();
    small.nfkc().collect()
}

/// What to try where two names come to the same.
pub(crate) fn remedy(one: &str, other: &str) -> String {
    let mut remedy = "give each cook a name of its own".to_owned();
    if one != other {
        remedy.push_str(&format!(
            "; `{other}` differs by capitals or accents alone, which not every computer tells apart"
        ));
    }
    remedy
}

#[cfg(test)]
mod tests {
    use super::folded;

    #[test]
    fn capitals_and_forms_of_letters_do_not_tell_names_apart() {
        assert_eq!(folded("May-Contest"), folded("may-contest"));
        // One letter, and a letter with a mark behind it (UAX 15, figure 1).
        assert_eq!(folded("caf\u{e9}"), folded("cafe\u{301}"));
        assert_eq!(folded("CAF\u{c9}"), folded("cafe\u{301}"));
        assert_ne!(folded("a"), folded("b"));
    }
}
