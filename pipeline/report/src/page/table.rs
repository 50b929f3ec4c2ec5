//! Tables with caption, scoped heads, units, and footnotes for what is missing.

use std::cell::RefCell;

use maud::{Markup, html};

use super::Numbering;
use crate::units::count;

/// Rows shown before the rest of a long table goes into closed parts.
pub(super) const ROWS_PER_PART: usize = 100;

/// Tables of more columns than this may be broader than the column of text.
const BROAD_FROM: usize = 6;

/// A column head: name, unit, and whether its cells are numbers.
pub(super) struct Head {
    name: String,
    unit: String,
    number: bool,
}

/// A head over text.
pub(super) fn text(name: impl Into<String>) -> Head {
    Head { name: name.into(), unit: String::new(), number: false }
}

/// A head over numbers, with their unit (empty for none).
pub(super) fn numbers(name: impl Into<String>, unit: &str) -> Head {
    Head { name: name.into(), unit: unit.to_owned(), number: true }
}

/// Why cells are empty: each different reason gets a letter, told under the table.
#[derive(Default)]
pub(super) struct Notes {
    reasons: RefCell<Vec<String>>,
}

impl Notes {
    /// The mark of a missing value, with the letter of its reason where one is given.
    pub(super) fn missing(&self, reason: Option<&str>) -> Markup {
        let Some(reason) = reason.filter(|r| !r.is_empty()) else {
            return html! { "–" };
        };
        let mut reasons = self.reasons.borrow_mut();
        let place = reasons.iter().position(|r| r == reason).unwrap_or_else(|| {
            reasons.push(reason.to_owned());
            reasons.len() - 1
        });
        html! { "–" sup { (letters(place)) } }
    }

    /// The value, or the mark of a missing one.
    pub(super) fn or_missing(&self, value: Option<String>, reason: Option<&str>) -> Markup {
        match value {
            Some(value) => html! { (value) },
            None => self.missing(reason),
        }
    }

    fn list(&self) -> Vec<(String, String)> {
        let reasons = self.reasons.borrow();
        reasons.iter().enumerate().map(|(i, r)| (letters(i), r.clone())).collect()
    }
}

/// `a` … `z`, `aa`, `ab` …
fn letters(place: usize) -> String {
    let letter = char::from(b'a' + (place % 26) as u8);
    match place / 26 {
        0 => letter.to_string(),
        more => letters(more - 1) + &letter.to_string(),
    }
}

/// A table in its own scrolling box. Each row is its cells; the first cell heads the row. Rows
/// beyond [`ROWS_PER_PART`] follow in closed parts with the same heads. `remark` stands under the
/// table.
pub(super) fn table(
    numbering: &Numbering,
    caption: &str,
    heads: &[Head],
    rows: &[Vec<Markup>],
    notes: &Notes,
    remark: Option<&str>,
) -> Markup {
    let number = numbering.table();
    let reasons = notes.list();
    let parts = rows.chunks(ROWS_PER_PART).collect::<Vec<_>>();
    let (first, rest) = match parts.split_first() {
        Some((first, rest)) => (*first, rest),
        None => (&[][..], &[][..]),
    };
    html! {
        (part(&html! { b { "Table " (number) "." } " " (caption) }, &format!("Table {number}: {caption}"), heads, first))
        @for (i, rows) in rest.iter().enumerate() {
            @let from = (i + 1) * ROWS_PER_PART + 1;
            @let range = format!("Rows {} to {}", count(from), count(from + rows.len() - 1));
            details {
                summary { (range) " of table " (number) }
                (part(&html! { b { "Table " (number) ", continued." } " " (range) }, &format!("Table {number}, {range}"), heads, rows))
            }
        }
        @if remark.is_some() || !reasons.is_empty() {
            div.tablenotes {
                @if let Some(remark) = remark { p { (remark) } }
                @if !reasons.is_empty() {
                    ul { @for (letter, reason) in &reasons { li { sup { (letter) } " " (reason) } } }
                }
            }
        }
    }
}

fn part(caption: &Markup, label: &str, heads: &[Head], rows: &[Vec<Markup>]) -> Markup {
    html! {
        div.scroll.broad[heads.len() > BROAD_FROM] tabindex="0" role="region" aria-label=(label) {
            table class=[(heads.len() > 10).then_some("wide")] {
                caption { (caption) }
                thead { tr {
                    @for head in heads {
                        th scope="col" class=[head.number.then_some("num")] {
                            (head.name)
                            @if !head.unit.is_empty() { " " span.unit { (head.unit) } }
                        }
                    }
                } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @let class = heads.get(i).filter(|h| h.number).map(|_| "num");
                                @if i == 0 { th scope="row" class=[class] { (cell) } }
                                @else { td class=[class] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_reasons_share_a_letter_and_letters_go_on_after_z() {
        let notes = Notes::default();
        assert_eq!(notes.missing(Some("late log")).into_string(), "–<sup>a</sup>");
        assert_eq!(notes.missing(Some("no pit")).into_string(), "–<sup>b</sup>");
        assert_eq!(notes.missing(Some("late log")).into_string(), "–<sup>a</sup>");
        assert_eq!(notes.missing(None).into_string(), "–");
        assert_eq!((letters(25), letters(26), letters(27)), ("z".into(), "aa".into(), "ab".into()));
    }
}
