//! What a page says before it is HTML, Markdown or plain text: a small tree of sections, headings,
//! paragraphs, lists, tables, figures and cautions.
//!
//! A section builds its part of the tree once, from the finished results; [`html`], [`markdown`] and
//! [`terminal`] print the same tree, and each escapes for its own contexts. No node holds markup: what
//! is drawn comes as a [`Drawing`], which only the figures make.

pub(crate) mod html;
mod inline;
pub(crate) mod markdown;
mod table;
pub(crate) mod terminal;
#[cfg(test)]
mod tests;

pub(crate) use inline::{
    Inline, Inlines, Mark, bold, code, emphasis, hash, inlines, link, link_aside, marked, quiet,
    stays_here, strong, subscript, term,
};
pub(crate) use table::{Cell, Column, ROWS_PER_PART, Table, numbers, text};

/// A whole page.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Document {
    /// The title of the file.
    pub(crate) title: String,
    /// What kind of page it is, above its name; empty for none.
    pub(crate) kicker: String,
    /// The one heading of the first level.
    pub(crate) name: String,
    /// A line under the name; empty for none.
    pub(crate) subtitle: String,
    /// Links to the pages before, behind and above this one; on a screen alone.
    pub(crate) trail: Inlines,
    /// The caution near the top.
    pub(crate) caution: Option<Caution>,
    /// Sections before the contents; they carry no number.
    pub(crate) opening: Vec<Section>,
    /// Whether there is a list of contents, and what stands above it. Sections then have numbers.
    pub(crate) contents: Option<Contents>,
    /// The sections.
    pub(crate) sections: Vec<Section>,
    /// Whether what is not folded prints on two pages: the first section on one, the others on the next.
    pub(crate) is_two_pages: bool,
    /// The version of the program that made it; empty where unknown.
    pub(crate) version: String,
}

/// What stands above the list of contents.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Contents {
    pub(crate) lead: Option<Inlines>,
}

/// A part of a page under a heading of the second level.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Section {
    /// Its address in the page; empty where nothing leads to it.
    pub(crate) id: String,
    pub(crate) heading: String,
    pub(crate) blocks: Vec<Block>,
    /// Whether it is one printed page.
    pub(crate) is_sheet: bool,
    /// Whether it is folded away at first, and printed only where it was opened.
    pub(crate) is_folded: bool,
}

impl Section {
    /// A section from its blocks, one or several of each of the parts that it is made of.
    pub(crate) fn new(
        id: impl Into<String>,
        heading: impl Into<String>,
        blocks: Vec<Block>,
    ) -> Self {
        Self { id: id.into(), heading: heading.into(), blocks, ..Self::default() }
    }

    /// A section that is folded away at first.
    pub(crate) fn folded(
        id: impl Into<String>,
        heading: impl Into<String>,
        blocks: Vec<Block>,
    ) -> Self {
        Self { is_folded: true, ..Self::new(id, heading, blocks) }
    }

    /// A section that is one printed page.
    pub(crate) fn sheet(
        id: impl Into<String>,
        heading: impl Into<String>,
        blocks: Vec<Block>,
    ) -> Self {
        Self { is_sheet: true, ..Self::new(id, heading, blocks) }
    }
}

/// One block of a section.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Block {
    /// A heading of the third level, with its address where something leads to it.
    Heading {
        id: Option<String>,
        text: Inlines,
    },
    Paragraph(Role, Inlines),
    List(List),
    /// Names with what is to be said of each, one line or several.
    Facts(Vec<(&'static str, Vec<Inlines>)>),
    Table(Table),
    Figure(Figure),
    /// Small figures beside each other.
    Gallery(Vec<Figure>),
    /// Columns beside each other where there is room, the first one broader.
    Beside(Vec<Vec<Block>>),
    /// What the signs of the drawings that follow stand for.
    Key {
        label: &'static str,
        signs: Vec<(Drawing, String)>,
    },
    /// Something with an address and a heading of its own, for instance one claim.
    Article {
        id: String,
        heading: String,
        blocks: Vec<Block>,
    },
    /// Answers in short, on one scale.
    Answers {
        /// What the two ends of the scale stand for; none where nothing is drawn.
        scale: Option<[&'static str; 2]>,
        answers: Vec<Answer>,
    },
    /// What is folded away at first, where the format can.
    Details {
        summary: Inlines,
        open: bool,
        blocks: Vec<Block>,
    },
}

/// What a paragraph is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Role {
    #[default]
    Plain,
    /// A remark beside the matter.
    Note,
    /// The sources of a method.
    Sources,
    /// A claim's verdict.
    Verdict,
}

/// Items, each a line of text.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct List {
    pub(crate) numbered: bool,
    /// For a printed sheet: closer together.
    pub(crate) is_agenda: bool,
    pub(crate) items: Vec<Inlines>,
}

/// A caution. It starts with the word itself.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Caution {
    /// One line alone.
    pub(crate) is_brief: bool,
    pub(crate) text: Inlines,
}

/// One answer in short.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Answer {
    /// The answer in a word or two.
    pub(crate) word: &'static str,
    /// Whether it decides anything.
    pub(crate) is_decided: bool,
    /// What was asked, and where it is told in full, if anywhere.
    pub(crate) asked: String,
    pub(crate) to: Option<String>,
    /// What was found, in a sentence.
    pub(crate) found: Inlines,
    /// What that rests on.
    pub(crate) rests_on: Inlines,
    pub(crate) drawing: Option<Drawing>,
}

/// A drawing with the sentence that says what to see in it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Figure {
    pub(crate) form: FigureForm,
    /// Its address, where something leads to it.
    pub(crate) id: Option<String>,
    /// None where a cook has no curve: the sentence stands alone.
    pub(crate) drawing: Option<Drawing>,
    pub(crate) caption: Inlines,
}

impl Figure {
    pub(crate) fn block(form: FigureForm, drawing: Drawing, caption: impl Into<Inlines>) -> Block {
        Block::Figure(Self { form, id: None, drawing: Some(drawing), caption: caption.into() })
    }
}

/// How much room a figure takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum FigureForm {
    Bars,
    Large,
    Plot,
    /// As broad as its column, whatever that is.
    Column,
    Interval,
    /// One of a gallery: it carries no number.
    Curve,
}

/// A finished drawing: SVG with the title and description that it holds for those who cannot see it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Drawing {
    svg: String,
    title: String,
    description: String,
    /// Whether parts of it lead elsewhere.
    has_links: bool,
    /// Its breadth in points, at which its text has its own size.
    breadth: u32,
}

impl Drawing {
    /// For the figures alone: `svg` is printed as it is.
    pub(crate) fn new(svg: String, title: &str, description: &str) -> Self {
        let (title, description) = (title.to_owned(), description.to_owned());
        Self { svg, title, description, has_links: false, breadth: 0 }
    }

    /// The same with or without links in it, of a breadth in points.
    pub(crate) fn of(self, breadth: u32, has_links: bool) -> Self {
        Self { has_links, breadth, ..self }
    }
}

/// A paragraph.
pub(crate) fn paragraph(text: impl Into<Inlines>) -> Block {
    Block::Paragraph(Role::Plain, text.into())
}

/// A remark beside the matter.
pub(crate) fn note(text: impl Into<Inlines>) -> Block {
    Block::Paragraph(Role::Note, text.into())
}

/// The sources of a method.
pub(crate) fn sources(text: impl Into<Inlines>) -> Block {
    Block::Paragraph(Role::Sources, text.into())
}

/// A heading within a section.
pub(crate) fn heading(text: impl Into<Inlines>) -> Block {
    Block::Heading { id: None, text: text.into() }
}

/// A heading within a section that something leads to.
pub(crate) fn heading_at(id: impl Into<String>, text: impl Into<Inlines>) -> Block {
    Block::Heading { id: Some(id.into()), text: text.into() }
}

/// Items for a printed sheet, closer together; a sentence where there are none.
pub(crate) fn agenda<T: Into<Inlines>>(
    items: impl IntoIterator<Item = T>,
    none: &'static str,
) -> Block {
    let items: Vec<Inlines> = items.into_iter().map(Into::into).collect();
    if items.is_empty() {
        return paragraph(none);
    }
    Block::List(List { items, is_agenda: true, ..List::default() })
}

/// A list without numbers; nothing where it has no items.
pub(crate) fn list<T: Into<Inlines>>(items: impl IntoIterator<Item = T>) -> Option<Block> {
    let items: Vec<Inlines> = items.into_iter().map(Into::into).collect();
    (!items.is_empty()).then(|| Block::List(List { items, ..List::default() }))
}
