//! Text within a block: words, with marks on some of them, and links.

/// A run of text.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Inlines(Vec<Inline>);

/// A part of a run of text.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Inline {
    Plain(String),
    Marked(Mark, Inlines),
    /// Leads to a place in the page (`#…`) or to a file beside it.
    Link {
        to: String,
        text: Inlines,
        /// Left out on paper where room is short.
        is_aside: bool,
    },
}

/// What a mark says of the words it is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// Stands out.
    Bold,
    /// Matters more than what is around it.
    Strong,
    Emphasis,
    /// A term where it is defined.
    Term,
    Code,
    /// A content hash: it may break anywhere.
    Hash,
    Subscript,
    /// Said more quietly.
    Quiet,
    /// How many readings a curve shows.
    Shown,
    /// A date: not broken over lines.
    Date,
    /// The range behind a median: on a line of its own in a table, in brackets elsewhere.
    Range,
    /// A sign that a reader need not hear.
    Sign,
}

impl Inlines {
    pub(crate) fn parts(&self) -> &[Inline] {
        &self.0
    }

    /// Adds something to the end.
    pub(crate) fn push(&mut self, more: impl Into<Self>) {
        self.0.extend(more.into().0);
    }

    /// Text in which the study sets names of columns and models between backticks.
    pub(crate) fn with_code(text: &str) -> Self {
        let parts: Vec<&str> = text.split('`').collect();
        // An odd backtick is one that somebody wrote: the text stays as it is.
        if parts.len().is_multiple_of(2) {
            return text.into();
        }
        let marked = |(place, part): (usize, &str)| match place % 2 {
            1 => code(part),
            _ => part.into(),
        };
        parts.into_iter().enumerate().map(marked).collect()
    }
}

impl FromIterator<Inlines> for Inlines {
    fn from_iter<I: IntoIterator<Item = Self>>(parts: I) -> Self {
        Self(parts.into_iter().flat_map(|part| part.0).collect())
    }
}

impl From<&str> for Inlines {
    fn from(text: &str) -> Self {
        text.to_owned().into()
    }
}

impl From<&String> for Inlines {
    fn from(text: &String) -> Self {
        text.clone().into()
    }
}

impl From<String> for Inlines {
    fn from(text: String) -> Self {
        if text.is_empty() { Self::default() } else { Self(vec![Inline::Plain(text)]) }
    }
}

impl<T: Into<Self>> From<Option<T>> for Inlines {
    fn from(text: Option<T>) -> Self {
        text.map(Into::into).unwrap_or_default()
    }
}

/// Parts in a row, each a text, a marked text or an optional one.
macro_rules! inlines {
    ($($part:expr),* $(,)?) => {{
        let mut text = $crate::document::Inlines::default();
        $(text.push($part);)*
        text
    }};
}
pub(crate) use inlines;

/// Text with a mark on it.
pub(crate) fn marked(mark: Mark, text: impl Into<Inlines>) -> Inlines {
    Inlines(vec![Inline::Marked(mark, text.into())])
}

pub(crate) fn bold(text: impl Into<Inlines>) -> Inlines {
    marked(Mark::Bold, text)
}

pub(crate) fn strong(text: impl Into<Inlines>) -> Inlines {
    marked(Mark::Strong, text)
}

pub(crate) fn emphasis(text: impl Into<Inlines>) -> Inlines {
    marked(Mark::Emphasis, text)
}

pub(crate) fn term(text: impl Into<Inlines>) -> Inlines {
    marked(Mark::Term, text)
}

pub(crate) fn code(text: impl Into<Inlines>) -> Inlines {
    marked(Mark::Code, text)
}

pub(crate) fn hash(text: impl Into<Inlines>) -> Inlines {
    marked(Mark::Hash, text)
}

pub(crate) fn subscript(text: impl Into<Inlines>) -> Inlines {
    marked(Mark::Subscript, text)
}

pub(crate) fn quiet(text: impl Into<Inlines>) -> Inlines {
    marked(Mark::Quiet, text)
}

/// A link to a place in the page or to a file beside it; to any other address it is the text alone.
pub(crate) fn link(to: impl Into<String>, text: impl Into<Inlines>) -> Inlines {
    let (to, text) = (to.into(), text.into());
    if stays_here(&to) { Inlines(vec![Inline::Link { to, text, is_aside: false }]) } else { text }
}

/// A link beside what it is about, left out on paper; none where it would lead elsewhere.
pub(crate) fn link_aside(to: &str, text: impl Into<Inlines>) -> Option<Inlines> {
    let link = Inline::Link { to: to.to_owned(), text: text.into(), is_aside: true };
    stays_here(to).then(|| Inlines(vec![link]))
}

/// Whether an address stays within the folder of the report.
pub(crate) fn stays_here(address: &str) -> bool {
    address.starts_with('#')
        || !(address.starts_with('/') || address.contains(':') || address.contains("//"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_addresses_within_the_folder_become_links() {
        for here in ["cooks/a.html", "#cook-a"] {
            assert!(matches!(link(here, "x").parts(), [Inline::Link { .. }]), "{here}");
        }
        for elsewhere in [
            "https://example.invalid/a",
            "//example.invalid/a",
            "/etc/passwd",
            "javascript:alert(1)",
        ] {
            assert_eq!(link(elsewhere, "x"), "x".into(), "{elsewhere}");
        }
    }

    #[test]
    fn names_between_backticks_are_code_and_an_odd_backtick_is_itself() {
        assert_eq!(Inlines::with_code("by `pit` alone"), inlines!["by ", code("pit"), " alone"]);
        assert_eq!(Inlines::with_code("an odd ` one"), "an odd ` one".into());
    }
}
