//! The tree as HTML, complete in one file: style, patterns of the drawings, and the script of its
//! tables where it has one to sort.

use std::cell::Cell as Counter;

use maud::{DOCTYPE, Markup, PreEscaped, Render, html};

use super::{
    Answer, Block, Caution, Cell, Column, Contents, Document, Drawing, Figure, FigureForm, Inline,
    Inlines, List, Mark, ROWS_PER_PART, Role, Section, Table,
};
use crate::figure::PATTERNS;
use crate::units::count;

const STYLE: &str = include_str!("style.css");
/// Sorting and filtering of tables; the page is whole without it.
const SCRIPT: &str = include_str!("table.js");

/// Tables of more columns than this may be broader than the column of text.
const BROAD_FROM: usize = 6;
/// Tables of more columns than this are set smaller on paper.
const WIDE_FROM: usize = 10;

/// Numbers of figures and tables, given out in the order of the page.
#[derive(Default)]
pub(super) struct Numbering {
    figures: Counter<usize>,
    tables: Counter<usize>,
}

impl Numbering {
    fn figure(&self) -> usize {
        self.figures.set(self.figures.get() + 1);
        self.figures.get()
    }

    fn table(&self) -> usize {
        self.tables.set(self.tables.get() + 1);
        self.tables.get()
    }
}

/// The document as one complete file: head, skip link, the patterns of the figures, header, main part,
/// footer, and the script of its tables where it has one to sort.
pub(crate) fn page(document: &Document) -> String {
    let numbering = Numbering::default();
    // Numbers are given out in the order of the page: what opens it comes first.
    let opening = html! {
        @for section in &document.opening { (self::section(section, None, &numbering)) }
    };
    let sections = html! {
        @for (place, section) in document.sections.iter().enumerate() {
            (self::section(section, document.contents.is_some().then_some(place + 1), &numbering))
        }
    };
    let sorts = document.opening.iter().chain(&document.sections).any(|s| sorts(&s.blocks));
    let main = html! {
        (opening)
        @if let Some(own) = &document.contents { (contents(own, &document.sections)) }
        (sections)
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (document.title) }
                style { (PreEscaped(STYLE)) }
            }
            body class=[document.is_two_pages.then_some("two-pages")] {
                a.skip href="#main" { "Skip to the report" }
                (patterns())
                header.page { (header(document)) }
                main id="main" { (main) }
                footer.page {
                    p {
                        "Made by cookstudy"
                        @if !document.version.is_empty() { " " (document.version) }
                        " from the team's own logs and cards. Nothing in this file is fetched from anywhere."
                    }
                }
                @if sorts { script { (PreEscaped(SCRIPT)) } }
            }
        }
    }
    .into_string()
}

/// Whether there is a table to sort among the blocks.
fn sorts(blocks: &[Block]) -> bool {
    blocks.iter().any(|block| match block {
        Block::Table(table) => table.is_sortable,
        Block::Details { blocks, .. } | Block::Article { blocks, .. } => sorts(blocks),
        Block::Beside(columns) => columns.iter().any(|blocks| sorts(blocks)),
        _ => false,
    })
}

fn patterns() -> Markup {
    PreEscaped(PATTERNS.trim_end().replace('\n', "").replace("  ", ""))
}

fn header(document: &Document) -> Markup {
    html! {
        @if !document.kicker.is_empty() { p.kicker { (document.kicker) } }
        h1 { (document.name) }
        @if !document.subtitle.is_empty() { p.subtitle { (document.subtitle) } }
        @if !document.trail.parts().is_empty() { p.trail { (text(&document.trail)) } }
        @if let Some(own) = &document.caution { (caution(own)) }
    }
}

fn contents(contents: &Contents, sections: &[Section]) -> Markup {
    html! {
        nav aria-label="Contents" {
            @if let Some(lead) = &contents.lead { p { (text(lead)) } }
            ol.contents {
                @for section in sections { li { a href={ "#" (section.id) } { (section.heading) } } }
            }
        }
    }
}

fn section(section: &Section, place: Option<usize>, numbering: &Numbering) -> Markup {
    let heading = format!("h-{}", section.id);
    let scale = section.blocks.iter().find_map(|block| match block {
        Block::Answers { scale, .. } => Some(*scale),
        _ => None,
    });
    let class = match (section.is_sheet, section.is_folded) {
        (true, _) => Some("sheet"),
        (false, true) => Some("folded"),
        (false, false) => None,
    };
    html! {
        section class=[class] id=(section.id) aria-labelledby=(heading) {
            h2 id=(heading) {
                @if let Some(place) = place { span.no { (place) } " " }
                (section.heading)
                @if let Some([left, right]) = scale.flatten() {
                    span.scale aria-hidden="true" { span { (left) } span { (right) } }
                }
            }
            @if section.is_folded {
                details {
                    summary { "Open: " (section.heading.to_lowercase()) }
                    (blocks(&section.blocks, numbering))
                }
            } @else {
                (blocks(&section.blocks, numbering))
            }
        }
    }
}

/// Blocks in a row.
pub(super) fn blocks(blocks: &[Block], numbering: &Numbering) -> Markup {
    html! { @for own in blocks { (block(own, numbering)) } }
}

fn block(block: &Block, numbering: &Numbering) -> Markup {
    match block {
        Block::Heading { id, text: own } => html! { h3 id=[id.as_ref()] { (text(own)) } },
        Block::Paragraph(role, own) => {
            let class = match role {
                Role::Plain => None,
                Role::Note => Some("note"),
                Role::Sources => Some("sources"),
                Role::Verdict => Some("verdict"),
            };
            html! { p class=[class] { (text(own)) } }
        }
        Block::List(own) => list(own),
        Block::Facts(facts) => html! {
            dl.facts {
                @for (name, lines) in facts {
                    dt { (name) }
                    dd {
                        @for (place, line) in lines.iter().enumerate() {
                            @if place > 0 { br; }
                            (text(line))
                        }
                    }
                }
            }
        },
        Block::Table(own) if own.is_sortable => {
            html! { div data-sortable="" { (table(own, numbering)) } }
        }
        Block::Table(own) => table(own, numbering),
        Block::Figure(own) => figure(own, numbering),
        Block::Gallery(figures) => html! {
            div.curves { @for own in figures { (figure(own, numbering)) } }
        },
        Block::Beside(columns) => html! {
            div.beside { @for own in columns { div { (self::blocks(own, numbering)) } } }
        },
        Block::Key { label, signs } => html! {
            ul.key aria-label=(label) {
                @for (sign, name) in signs { li { (sign) (name) } }
            }
        },
        Block::Article { id, heading, blocks } => html! {
            article.claim id=(id) aria-labelledby={ (id) "-says" } {
                h3 id={ (id) "-says" } { (heading) }
                (self::blocks(blocks, numbering))
            }
        },
        Block::Answers { answers, .. } => html! {
            @if !answers.is_empty() { ol.verdicts { @for own in answers { (answer(own)) } } }
        },
        Block::Details { summary, open, blocks } => html! {
            details open[*open] {
                summary { (text(summary)) }
                (self::blocks(blocks, numbering))
            }
        },
    }
}

fn list(list: &List) -> Markup {
    let items = html! { @for item in &list.items { li { (text(item)) } } };
    let class = list.is_agenda.then_some("agenda");
    if list.numbered {
        html! { ol class=[class] { (items) } }
    } else {
        html! { ul class=[class] { (items) } }
    }
}

fn caution(caution: &Caution) -> Markup {
    html! {
        aside.caution.brief[caution.is_brief] aria-label="Caution" {
            p { strong { "Caution." } " " (text(&caution.text)) }
        }
    }
}

fn answer(answer: &Answer) -> Markup {
    let class = if answer.is_decided { "answered" } else { "undecided" };
    html! {
        li class=(class) {
            strong { (answer.word) }
            div.said {
                @match &answer.to {
                    Some(to) => a href=(to) { (answer.asked) },
                    None => b { (answer.asked) },
                }
                p {
                    (text(&answer.found))
                    @if !answer.rests_on.parts().is_empty() { " " span.rests { (text(&answer.rests_on)) } }
                }
            }
            @if let Some(own) = &answer.drawing { div.bar { (own) } }
        }
    }
}

/// The one thing that is printed as it stands.
impl Render for Drawing {
    fn render(&self) -> Markup {
        PreEscaped(self.svg.clone())
    }
}

/// A figure in its own scrolling box: number, drawing, and the sentence that says what to see.
fn figure(figure: &Figure, numbering: &Numbering) -> Markup {
    let class = match figure.form {
        FigureForm::Bars => "bars",
        FigureForm::Large => "large",
        FigureForm::Plot => "plot",
        FigureForm::Column => "column",
        FigureForm::Interval => "interval",
        FigureForm::Curve => "curve",
    };
    let drawn = html! { @if let Some(own) = &figure.drawing { (own) } };
    if figure.form == FigureForm::Curve {
        return html! {
            figure class=(class) id=[figure.id.as_ref()] {
                (drawn)
                figcaption { (text(&figure.caption)) }
            }
        };
    }
    let number = numbering.figure();
    // On a phone a drawing rather scrolls than that its text gets smaller than nine tenths of its size.
    let breadth = figure.drawing.as_ref().map(|drawing| drawing.breadth).filter(|own| *own > 0);
    let least = breadth
        .filter(|_| figure.form == FigureForm::Column)
        .map(|points| format!("--least: {}px", points * 9 / 10));
    let skips = figure.drawing.as_ref().is_some_and(|drawing| drawing.has_links);
    html! {
        @if skips { a.skip.inner href={ "#after-figure-" (number) } { "Skip the links in figure " (number) } }
        figure class=(class) id=[figure.id.as_ref()] {
            div.drawing style=[least] tabindex="0" role="group" aria-label={ "Figure " (number) ", scrolls sideways on a narrow screen" } {
                (drawn)
            }
            figcaption id=[skips.then(|| format!("after-figure-{number}"))] {
                b { "Figure " (number) "." } " " (text(&figure.caption))
            }
        }
    }
}

/// A table in its own scrolling box. Rows beyond [`ROWS_PER_PART`] follow in closed parts with the
/// same heads.
fn table(table: &Table, numbering: &Numbering) -> Markup {
    let number = numbering.table();
    let reasons = table.reasons();
    let letter = |cell: &Cell| {
        let reason = cell.reason()?;
        reasons.iter().find(|(_, known)| *known == reason).map(|(letter, _)| letter.as_str())
    };
    let part = |caption: Markup, label: &str, rows: &[Vec<Cell>]| {
        part(&caption, label, &table.columns, rows, &letter)
    };
    let (first, rest) = table.rows.split_at(table.rows.len().min(ROWS_PER_PART));
    let label = format!("Table {number}: {}", table.caption);
    html! {
        (part(html! { b { "Table " (number) "." } " " (table.caption) }, &label, first))
        @for (place, rows) in rest.chunks(ROWS_PER_PART).enumerate() {
            @let from = (place + 1) * ROWS_PER_PART + 1;
            @let range = format!("Rows {} to {}", count(from), count(from + rows.len() - 1));
            @let label = format!("Table {number}, {range}");
            details {
                summary { (range) " of table " (number) }
                (part(html! { b { "Table " (number) ", continued." } " " (range) }, &label, rows))
            }
        }
        @if !table.remark.is_empty() || !reasons.is_empty() {
            div.tablenotes {
                @if !table.remark.is_empty() { p { (table.remark) } }
                @if !reasons.is_empty() {
                    ul { @for (letter, reason) in &reasons { li { sup { (letter) } " " (reason) } } }
                }
            }
        }
    }
}

fn part<'a>(
    caption: &Markup,
    label: &str,
    columns: &[Column],
    rows: &[Vec<Cell>],
    letter: &dyn Fn(&Cell) -> Option<&'a str>,
) -> Markup {
    html! {
        div.scroll.broad[columns.len() > BROAD_FROM] tabindex="0" role="region" aria-label=(label) {
            table class=[(columns.len() > WIDE_FROM).then_some("wide")] {
                caption { (caption) }
                thead { tr {
                    @for column in columns {
                        th scope="col" class=[column.is_number.then_some("num")] {
                            (column.name)
                            @if !column.unit.is_empty() { " " span.unit { (column.unit) } }
                        }
                    }
                } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (place, own) in row.iter().enumerate() {
                                @let class = columns.get(place).filter(|c| c.is_number).map(|_| "num");
                                @if place == 0 { th scope="row" class=[class] { (cell(own, letter)) } }
                                @else { td class=[class] { (cell(own, letter)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn cell<'a>(cell: &Cell, letter: &dyn Fn(&Cell) -> Option<&'a str>) -> Markup {
    html! {
        @match (&cell.drawing, &cell.text) {
            (Some(own), _) => { (own) },
            (None, Some(own)) => { (text(own)) },
            (None, None) => { "–" @if let Some(letter) = letter(cell) { sup { (letter) } } },
        }
        (text(&cell.after))
    }
}

/// A run of text.
fn text(text: &Inlines) -> Markup {
    html! { @for own in text.parts() { (inline(own)) } }
}

fn inline(inline: &Inline) -> Markup {
    match inline {
        Inline::Plain(text) => html! { (text) },
        Inline::Link { to, text: own, is_aside } => {
            html! { a class=[is_aside.then_some("to-page")] href=(to) { (text(own)) } }
        }
        Inline::Marked(mark, own) => {
            let own = text(own);
            match mark {
                Mark::Bold => html! { b { (own) } },
                Mark::Strong => html! { strong { (own) } },
                Mark::Emphasis => html! { em { (own) } },
                Mark::Term => html! { dfn { (own) } },
                Mark::Code => html! { code { (own) } },
                Mark::Hash => html! { code.hash { (own) } },
                Mark::Subscript => html! { sub { (own) } },
                Mark::Quiet => html! { span.note { (own) } },
                Mark::Shown => html! { span.shown { (own) } },
                Mark::Date => html! { span.date { (own) } },
                Mark::Range => html! { span.range { (own) } },
                Mark::Sign => html! { span aria-hidden="true" { (own) } },
            }
        }
    }
}
