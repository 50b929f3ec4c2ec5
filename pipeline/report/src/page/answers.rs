//! The verdicts first: every claim with its verdict, one sentence and one figure.

use cook::Units;
use maud::{Markup, html};

use super::{claims, with_code};
use crate::agenda;
use crate::data::{ClaimReport, Standing, Verdict};
use crate::figure::{answer_interval, reach};
use crate::units::count;
use crate::words;

/// What is decided comes before what is open, and that before what could not be asked.
fn rank(claim: &ClaimReport) -> usize {
    match (claim.verdict, claim.standing) {
        (Verdict::Refused, _) => 4,
        (Verdict::Open, _) => 3,
        (Verdict::Yes | Verdict::Reverse, Standing::Confirmed) => 0,
        (_, Standing::Confirmed) => 1,
        (_, Standing::AfterTheFact { .. }) => 2,
    }
}

/// The list, in the order of what it settles; each entry leads to the claim in full.
pub(super) fn answers(claims: &[ClaimReport], units: Units) -> Markup {
    let mut order: Vec<(usize, &ClaimReport)> = claims.iter().enumerate().collect();
    order.sort_by_key(|(place, claim)| (rank(claim), *place));
    let reach = reach(claims);
    html! {
        section.answers id="answers" aria-labelledby="h-answers" {
            h2 id="h-answers" {
                "Verdicts"
                @if claims.iter().any(|claim| claim.effect.is_some()) {
                    span.scale aria-hidden="true" { span { "against" } span { "for the claim" } }
                }
            }
            @if claims.is_empty() { p { "No claim was written down for these cooks." } } @else {
                ol {
                    @for (place, claim) in order { (entry(place, claim, units, reach)) }
                }
                p.note {
                    "Bars: intervals, all on one scale, the claim’s own side at the right. Hatched: differences too small to matter. \
                     Dashed: no difference."
                }
            }
        }
    }
}

fn entry(place: usize, claim: &ClaimReport, units: Units, reach: f64) -> Markup {
    let id = claims::anchor(place, claim);
    html! {
        li class=(words::verdict_class(claim.verdict)) {
            strong { (words::verdict(claim.verdict)) }
            div.said {
                a href={ "#" (id) } { (claim.says) }
                p {
                    @if claim.verdict == Verdict::Refused { (with_code(&first_clause(claim))) }
                    @else { (words::plain_finding(claim, units)) (standing(claim)) }
                }
            }
            @if claim.verdict != Verdict::Refused {
                @if let Some(drawing) = answer_interval(&format!("{id}-answer"), claim, reach) {
                    div.bar { (drawing) }
                }
            }
        }
    }
}

/// The beginning of why a claim was refused; all of it stands with the claim in full.
fn first_clause(claim: &ClaimReport) -> String {
    let reason = agenda::refusal(claim);
    match reason.split_once("; ").or_else(|| reason.split_once(": ")) {
        Some((first, _)) => format!("{first} …"),
        None => reason,
    }
}

/// What a verdict is worth where nothing has confirmed it yet.
fn standing(claim: &ClaimReport) -> Markup {
    html! {
        @match claim.standing {
            Standing::AfterTheFact { confirming, needed } if claim.verdict != Verdict::Refused => {
                " Not confirmed yet: " (count(confirming)) " of " (count(needed)) " cooks."
            },
            _ => {},
        }
    }
}
