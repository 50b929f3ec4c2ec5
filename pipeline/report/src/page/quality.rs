//! What the readings of all cooks were like: cleaning over the cooks, and the cooks to check.

use maud::{Markup, html};

use super::table::{Notes, numbers, table, text};
use super::{Anchors, Numbering, with_code};
use crate::data::{CookReport, Stretch, StretchKind};
use crate::units::{count, number};
use crate::words::{self, plural};

/// Lists of cooks longer than this are closed at first.
const MAX_OPEN: usize = 12;

/// The section of the season report.
pub(super) fn of_season(cooks: &[CookReport], anchors: &Anchors, numbering: &Numbering) -> Markup {
    let to_check: Vec<&CookReport> =
        cooks.iter().filter(|cook| !cook.cleaning.to_check.is_empty()).collect();
    html! {
        p {
            "What was done to the readings before anything was computed from them, over all cooks; each cook’s page has its own, with \
             every stretch drawn. The store keeps every reading as it was logged."
        }
        (actions(cooks, numbering))
        @if to_check.is_empty() { p { "No cook’s log gave reason to ask its team." } } @else {
            details open[to_check.len() <= MAX_OPEN] {
                summary { (plural(to_check.len(), "cook")) " with something for a person to check" }
                ul {
                    @for cook in to_check {
                        li {
                            a href={ "#" (anchors.of(&cook.id)) } { (cook.id) } ": "
                            @for (place, sentence) in cook.cleaning.to_check.iter().enumerate() {
                                @if place > 0 { " " }
                                (with_code(sentence))
                            }
                        }
                    }
                }
            }
        }
    }
}

fn actions(cooks: &[CookReport], numbering: &Numbering) -> Markup {
    let heads = [
        text("Action"),
        numbers("Cooks", ""),
        numbers("Times", ""),
        numbers("Readings", ""),
        numbers("Longest", "min"),
    ];
    let mut rows: Vec<Vec<Markup>> = Vec::new();
    for kind in StretchKind::ALL {
        let of_cook = |cook: &&CookReport| cook.cleaning.stretches.iter().any(|s| s.kind == kind);
        let of_it: Vec<&Stretch> = cooks
            .iter()
            .flat_map(|cook| &cook.cleaning.stretches)
            .filter(|stretch| stretch.kind == kind)
            .collect();
        if of_it.is_empty() {
            continue;
        }
        let longest = of_it.iter().map(|s| s.end_min - s.start_min).fold(0.0, f64::max);
        rows.push(vec![
            html! { (words::stretch_action(kind)) },
            html! { (count(cooks.iter().filter(of_cook).count())) },
            html! { (count(of_it.len())) },
            html! { (count(of_it.iter().map(|s| s.readings).sum())) },
            html! { (number(longest, 0)) },
        ]);
    }
    html! {
        @if rows.is_empty() { p { "No reading was left out, no lid was seen open, and nothing was missing." } } @else {
            (table(
                numbering,
                "What cleaning did, over all cooks",
                &heads,
                &rows,
                &Notes::default(),
                Some("Cooks that share a pit’s log share its stretches, and each counts them."),
            ))
        }
    }
}
