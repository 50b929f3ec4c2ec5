//! One page to print for the closing meeting: settled, dropped, still open, what to try next.

use cook::Units;
use maud::{Markup, html};

use super::{cautions, shell, with_code};
use crate::agenda::{Agenda, answer};
use crate::data::{ClaimReport, ReportData};
use crate::words;

/// Things to try that are printed; the report has the reasons behind all of them.
const MOST_TO_TRY: usize = 8;

/// The page as one complete HTML file.
pub(crate) fn closing_page(data: &ReportData, units: Units) -> String {
    let agenda = Agenda::new(data, units);
    let seasons = words::listed(&data.seasons);
    let s = &data.summary;
    let header = html! {
        p.kicker { "For the closing meeting" @if !seasons.is_empty() { ", " (seasons) } }
        h1 { (data.team) }
        p.subtitle {
            (words::cooks_on_fires(s.cooks, s.fires))
            @if let Some(dates) = words::dates(s.first_day.as_deref(), s.last_day.as_deref()) { " · " (dates) }
        }
        (cautions::short(None))
    };
    let more = agenda.next.len().saturating_sub(MOST_TO_TRY);
    let main = html! {
        div.closing {
            section aria-labelledby="h-settled" {
                h2 id="h-settled" { "Settled" }
                (claims(&agenda.settled, units, "Nothing is settled yet: a verdict settles once it is judged on cooks that came after the claim was written down."))
            }
            section aria-labelledby="h-dropped" {
                h2 id="h-dropped" { "Dropped" }
                (claims(&agenda.dropped, units, "Nothing to drop."))
            }
            section aria-labelledby="h-open" {
                h2 id="h-open" { "Still open" }
                (claims(&agenda.open, units, "Nothing is open."))
            }
            section aria-labelledby="h-next" {
                h2 id="h-next" { "What to try next" }
                @if agenda.next.is_empty() { p { "The season leaves no gap that the program could name." } } @else {
                    ul.agenda {
                        @for line in agenda.next.iter().take(MOST_TO_TRY) { li { (with_code(line)) } }
                        @if more > 0 { li { (words::plural(more, "further suggestion")) " in the season report’s Markdown form." } }
                    }
                }
                p.decided { "Decided at the meeting:" }
            }
        }
    };
    shell(&format!("{}: closing meeting", data.team), &header, &main, &data.stamp, false)
}

fn claims(claims: &[&ClaimReport], units: Units, none: &str) -> Markup {
    html! {
        @if claims.is_empty() { p { (none) } } @else {
            ul.agenda {
                @for claim in claims {
                    li { b { "“" (claim.says) "”" } " " (with_code(&answer(claim, units))) }
                }
            }
        }
    }
}
