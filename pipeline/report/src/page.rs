//! The pages: HTML around figures and tables, complete in one file each.

mod account;
mod answers;
mod cautions;
mod claims;
mod cleaning;
mod closing;
mod compare;
mod cook;
mod cooks;
mod cost;
mod levers;
mod methods;
mod probe;
mod quality;
mod season;
mod study;
mod table;
mod whole;
mod wrap_timing;

pub(crate) use closing::closing_page;
pub(crate) use cook::cook_page;
pub(crate) use season::season_page;

use std::cell::Cell;
use std::collections::{HashMap, HashSet};

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::data::{CookReport, Stamp};
use crate::figure::pattern_definitions;

const STYLE: &str = include_str!("page/style.css");
/// Sorting and filtering of tables; the page is whole without it.
const SCRIPT: &str = include_str!("page/table.js");

/// Numbers of figures and tables, given out in the order of the page.
#[derive(Default)]
struct Numbering {
    figures: Cell<usize>,
    tables: Cell<usize>,
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

/// Addresses within a page, one per cook: made of the id's letters and digits, and told apart where
/// two ids give the same.
struct Anchors {
    by_cook: HashMap<String, String>,
}

impl Anchors {
    fn new(cooks: &[CookReport]) -> Self {
        let mut taken = HashSet::new();
        let mut by_cook = HashMap::new();
        for cook in cooks {
            let slug = slug(&cook.id);
            let mut anchor = format!("cook-{slug}");
            let mut next = 2;
            while !taken.insert(anchor.clone()) {
                anchor = format!("cook-{slug}-{next}");
                next += 1;
            }
            by_cook.entry(cook.id.clone()).or_insert(anchor);
        }
        Self { by_cook }
    }

    fn of(&self, cook: &str) -> &str {
        self.by_cook.get(cook).map_or("cooks", String::as_str)
    }
}

/// Lower-case ASCII letters and digits with single hyphens between.
fn slug(text: &str) -> String {
    let mut slug = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_ascii_alphanumeric() {
            slug.push(letter.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let trimmed = slug.trim_end_matches('-');
    if trimmed.is_empty() { "unnamed".to_owned() } else { trimmed.to_owned() }
}

/// A whole page: head, skip link, the patterns of the figures, header, main part, footer, and the
/// script of its tables where it has one to sort.
fn shell(title: &str, header: &Markup, main: &Markup, stamp: &Stamp, with_script: bool) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                a.skip href="#main" { "Skip to the report" }
                (pattern_definitions())
                header.page { (header) }
                main id="main" { (main) }
                footer.page {
                    p {
                        "Made by cookstudy"
                        @if !stamp.version.is_empty() { " " (stamp.version) }
                        " from the team's own logs and cards. Nothing in this file is fetched from anywhere."
                    }
                }
                @if with_script { script { (PreEscaped(SCRIPT)) } }
            }
        }
    }
    .into_string()
}

/// Text in which the study sets names of columns and models between backticks.
fn with_code(text: &str) -> Markup {
    let parts: Vec<&str> = text.split('`').collect();
    // An odd backtick is one that somebody wrote: the text stays as it is.
    if parts.len().is_multiple_of(2) {
        return html! { (text) };
    }
    html! {
        @for (place, part) in parts.iter().enumerate() {
            @if place % 2 == 1 { code { (part) } } @else { (part) }
        }
    }
}

/// A figure in its own scrolling box: number, drawing, and the sentence that says what to see.
fn figure(numbering: &Numbering, class: &str, drawing: &Markup, caption: &Markup) -> Markup {
    let number = numbering.figure();
    html! {
        figure class=(class) {
            div.drawing tabindex="0" role="group" aria-label={ "Figure " (number) ", scrolls sideways on a narrow screen" } {
                (drawing)
            }
            figcaption { b { "Figure " (number) "." } " " (caption) }
        }
    }
}
